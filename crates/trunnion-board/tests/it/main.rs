//! A host and a board joined by bytes in memory.

mod roller;

use proptest::prelude::*;
use roller::{Currents, Diagnostics, Duties, Inputs, Outputs, Parameters, Roller};
use trunnion::declare::ParameterSet;
use trunnion::machine::{Boot, ResetCause, Stepper};
use trunnion::quantity::Millivolts;
use trunnion_board::frame::{self, Damage, Receiver};
use trunnion_board::host::{Answer, Host, Nonsense};
use trunnion_board::message::{Kind, Reason};
use trunnion_board::target::Target;

/// The board behind its serial port.
struct Board {
    receiver: Receiver,
    target: Target<Roller>,
}

impl Board {
    fn new() -> Self {
        Self { receiver: Receiver::new(), target: Target::new() }
    }

    /// Takes bytes from the wire and gives the bytes of all answers.
    fn answer(&mut self, wire: &[u8]) -> Vec<u8> {
        let mut answers = Vec::new();
        for byte in wire {
            if let Some(request) = self.receiver.take(*byte) {
                frame::send(self.target.answer(request), |byte| answers.push(byte));
            }
        }
        answers
    }
}

fn wire(message: &[u8]) -> Vec<u8> {
    let mut wire = Vec::new();
    frame::send(message, |byte| wire.push(byte));
    wire
}

fn messages(wire: &[u8]) -> Vec<Vec<u8>> {
    let mut receiver = Receiver::new();
    wire.iter().filter_map(|byte| receiver.take(*byte)?.ok().map(<[u8]>::to_vec)).collect()
}

fn refusal(wire: &[u8]) -> Option<Reason> {
    match messages(wire).first()?.as_slice() {
        [kind, _, reason, detail] if *kind == Kind::Refused as u8 => Reason::from_bytes([*reason, *detail]),
        _ => None,
    }
}

fn boot() -> Boot<Parameters> {
    let mut parameters = Parameters::default();
    parameters.stage(0x0101, 5).unwrap();
    Boot {
        parameters,
        damaged: true,
        cause: ResetCause::BrownOut,
        serial: 0xFFFF_FFFF,
        entropy: 0x1234_5678,
        starts: 0x8000_0001,
        wrong_codes: u32::MAX,
    }
}

fn period() -> impl Strategy<Value = ([Currents; 10], Inputs)> {
    let currents = prop_oneof![Just([(0, 0); 10]), prop::array::uniform10((0_u16..4096, 0_u16..4)),];
    let inputs = (any::<bool>(), 0_u16..3, any::<u64>(), any::<u16>(), any::<i32>());
    (currents, inputs).prop_map(|(currents, (seat, supply, lever_frame, lever_frames, slope))| {
        let supply = Millivolts::saturating(12_000 + i64::from(supply));
        (
            currents.map(|(travel, drum)| Currents { travel_current: travel, drum_current: drum }),
            Inputs { seat, supply, lever_frame, lever_frames, slope },
        )
    })
}

/// Runs one period on both sides and gives what each drove.
type Driven = (Vec<Duties>, Outputs, Diagnostics);

fn drive(stepper: &mut Stepper<Roller>, fast_inputs: &[Currents], inputs: &Inputs) -> Driven {
    let duties = fast_inputs.iter().map(|inputs| stepper.fast_step(inputs)).collect();
    let outputs = stepper.step(inputs);
    (duties, outputs, trunnion::machine::Machine::diagnostics(stepper.machine()))
}

fn started(board: &mut Board) -> Host<Roller> {
    let mut host = Host::<Roller>::start(&boot());
    let answers = board.answer(&wire(host.start_request(&boot())));
    assert!(matches!(host.answer(&messages(&answers)[0]), Ok(Answer::Started)));
    host
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_board_drives_what_the_host_drives(
        periods in proptest::collection::vec((period(), proptest::option::of((1_i32..=9, -500_i32..=500))), 1..60)
    ) {
        let mut board = Board::new();
        let mut host = started(&mut board);
        let mut stepper = Stepper::<Roller>::start(&boot());
        let mut parameters = boot().parameters;
        for ((fast_inputs, inputs), write) in periods {
            if let Some((gain, offset)) = write {
                parameters.stage(0x0101, gain).unwrap();
                parameters.stage(0x0102, offset).unwrap();
                let expected = stepper.reconfigure(&parameters).is_ok();
                let answers = board.answer(&wire(host.reconfigure_request(&parameters)));
                let answer = messages(&answers).remove(0);
                let Ok(Answer::Reconfigured { accepted }) = host.answer(&answer) else { panic!("{answer:?}") };
                prop_assert_eq!(accepted, expected);
            }
            let expected = drive(&mut stepper, &fast_inputs, &inputs);
            let answers = board.answer(&wire(host.period_request(&fast_inputs, &inputs)));
            let answer = messages(&answers).remove(0);
            let Ok(Answer::Driven { fast_outputs, outputs, diagnostics }) = host.answer(&answer) else {
                panic!("{answer:?}")
            };
            prop_assert_eq!((fast_outputs.to_vec(), *outputs, *diagnostics), expected);
        }
    }

    #[test]
    fn requests_sent_ahead_are_answered_in_order(periods in proptest::collection::vec(period(), 1..20)) {
        let mut board = Board::new();
        let mut host = started(&mut board);
        let mut stepper = Stepper::<Roller>::start(&boot());
        let ahead: Vec<u8> =
            periods.iter().flat_map(|(fast_inputs, inputs)| wire(host.period_request(fast_inputs, inputs))).collect();
        let answers = messages(&board.answer(&ahead));
        prop_assert_eq!(answers.len(), periods.len());
        for (answer, (fast_inputs, inputs)) in answers.iter().zip(&periods) {
            let (_, expected, _) = drive(&mut stepper, fast_inputs, inputs);
            let Ok(Answer::Driven { outputs, .. }) = host.answer(answer) else { panic!("{answer:?}") };
            prop_assert_eq!(*outputs, expected);
        }
    }

    #[test]
    fn a_damaged_request_is_refused_and_a_new_start_is_taken(
        periods in proptest::collection::vec(period(), 2..6), place: prop::sample::Index, change in 1_u8..
    ) {
        let mut board = Board::new();
        let mut host = started(&mut board);
        let mut bytes: Vec<u8> =
            periods.iter().flat_map(|(fast_inputs, inputs)| wire(host.period_request(fast_inputs, inputs))).collect();
        let place = place.index(bytes.len() - 1);
        bytes[place] ^= change;
        let answers = board.answer(&bytes);
        let refused = messages(&answers).iter().any(|answer| answer[0] == Kind::Refused as u8);
        prop_assert!(refused, "{answers:?}");
        started(&mut board);
    }

    #[test]
    fn any_bytes_are_answered_without_panic(bytes in proptest::collection::vec(any::<u8>(), 0..2000)) {
        let mut board = Board::new();
        started(&mut board);
        board.answer(&bytes);
    }

    #[test]
    fn any_well_framed_body_is_answered_without_panic(
        bodies in proptest::collection::vec((1_u8..=3, proptest::collection::vec(any::<u8>(), 0..200)), 0..20)
    ) {
        let mut board = Board::new();
        started(&mut board);
        for (sequence, (kind, body)) in (1_u8..).zip(bodies) {
            let message: Vec<u8> = [kind, sequence].into_iter().chain(body).collect();
            prop_assert_eq!(messages(&board.answer(&wire(&message))).len(), 1);
        }
    }

    #[test]
    fn any_answer_is_read_without_panic(message in proptest::collection::vec(any::<u8>(), 0..300)) {
        let mut host = Host::<Roller>::start(&boot());
        let _ = host.answer(&message);
        let driven: Vec<u8> = [Kind::Driven as u8, 1].into_iter().chain(message).collect();
        let _ = host.answer(&driven);
    }
}

#[test]
fn a_period_before_the_start_is_refused() {
    let mut host = Host::<Roller>::start(&boot());
    let request = wire(host.period_request(&[Currents::default(); 10], &Inputs::default()));
    assert_eq!(refusal(&Board::new().answer(&request)), Some(Reason::NotStarted));
}

#[test]
fn a_request_that_is_missing_or_comes_twice_is_refused_with_the_expected_number() {
    let mut board = Board::new();
    let mut host = started(&mut board);
    host.period_request(&[Currents::default(); 10], &Inputs::default());
    let second = wire(host.period_request(&[Currents::default(); 10], &Inputs::default()));
    assert_eq!(refusal(&board.answer(&second)), Some(Reason::OutOfSequence { expected: 1 }));

    let mut host = started(&mut board);
    let first = wire(host.period_request(&[Currents::default(); 10], &Inputs::default()));
    assert_eq!(refusal(&board.answer(&first)), None);
    assert_eq!(refusal(&board.answer(&first)), Some(Reason::OutOfSequence { expected: 2 }));
}

#[test]
fn a_start_with_another_layout_is_refused() {
    let mut host = Host::<Roller>::start(&boot());
    let mut request = host.start_request(&boot()).to_vec();
    request[5] ^= 1;
    assert_eq!(refusal(&Board::new().answer(&wire(&request))), Some(Reason::OtherLayout));
}

#[test]
fn a_body_with_a_byte_too_many_is_refused() {
    let mut board = Board::new();
    let mut host = started(&mut board);
    let mut request = host.period_request(&[Currents::default(); 10], &Inputs::default()).to_vec();
    request.push(1);
    assert_eq!(refusal(&board.answer(&wire(&request))), Some(Reason::Content));
}

#[test]
fn a_broken_check_sum_is_named() {
    let mut board = Board::new();
    let mut host = started(&mut board);
    let mut bytes = wire(host.period_request(&[Currents::default(); 10], &Inputs::default()));
    let check = bytes.len() - 2;
    bytes[check] ^= 0x10;
    assert_eq!(refusal(&board.answer(&bytes)), Some(Reason::Damaged(Damage::CheckSum)));
}

#[test]
fn an_answer_to_another_request_is_not_taken() {
    let mut host = Host::<Roller>::start(&boot());
    let answer = [Kind::Started as u8, 7];
    assert!(matches!(host.answer(&answer), Err(Nonsense::OutOfSequence { expected: 0, found: 7 })));
}

#[test]
fn a_period_in_which_nothing_changes_takes_few_bytes() {
    let mut board = Board::new();
    let mut host = started(&mut board);
    let inputs = Inputs { seat: true, ..Inputs::default() };
    let first = wire(host.period_request(&[Currents::default(); 10], &inputs)).len();
    let second = wire(host.period_request(&[Currents::default(); 10], &inputs)).len();
    assert!(first < 20 && second <= 8, "{first} {second}");
}
