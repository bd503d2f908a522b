use proptest::prelude::*;
use std::vec::Vec;
use trunnion_can::id::Id29;
use trunnion_can::iso_tp::Addressing;

use super::*;
use crate::access::CODE_BYTES;
use crate::level::Standing;
use crate::served::{BoxOrder, Progress};
use crate::test_machine::{Board, COIL_SWEEP, Few, HORN, KEY, MEASUREMENT, Machine, TICK};

/// A tester, the bus, the server, its machine and its board.
struct Bench {
    tester: Link<600, 600>,
    server: Server<Few, 64, 512>,
    machine: Machine,
    board: Board,
    done: WorkDone,
    actions: Vec<Action>,
    /// Takes what is committed.
    takes: bool,
    periods: u32,
}

fn config(address: u8) -> LinkConfig {
    let separation = Millis::millis(0);
    LinkConfig { addressing: Addressing::Fixed { address }, block: 8, separation, fill: 0xCC }
}

fn bench() -> Bench {
    let mut tester = Link::new(config(0xF9), TICK).unwrap();
    // The tester's first words go to whoever spoke to it: that is how it knows the address.
    tester.take(&Frame::group(Id29::from_raw(0x18DA_F927).unwrap(), [1, 0, 0, 0, 0, 0, 0, 0]));
    Bench {
        tester,
        server: Server::new(config(0x27), AccessBoot { attempts: 0, start: 1 }, TICK).unwrap(),
        machine: Machine::new(),
        board: Board::default(),
        done: WorkDone::default(),
        actions: Vec::new(),
        takes: true,
        periods: 0,
    }
}

impl Bench {
    fn period(&mut self) {
        self.periods += 1;
        let mut frame = self.tester.step();
        while let Some(sent) = frame {
            self.server.take(&sent);
            frame = self.tester.more();
        }
        let action = self.server.step(&self.machine, self.done, self.periods);
        match action {
            Action::Commit if self.takes => self.machine.parameters = self.server.take_committed().unwrap(),
            Action::Start(id) => self.machine.running = Some(id),
            Action::Stop(_) => self.machine.running = None,
            _ => {}
        }
        if action != Action::None {
            self.actions.push(action);
        }
        self.done = self.board.step(self.server.order());
        while let Some(sent) = self.server.frame() {
            self.tester.take(&sent);
        }
    }

    /// Sends a request and gives the final answer, and how many "pending" came before it.
    fn ask_patiently(&mut self, request: &[u8]) -> (Vec<u8>, u32) {
        self.tester.answer(request).unwrap();
        self.tester.release();
        let mut pending = 0;
        for _ in 0..2_000 {
            self.period();
            if let Some(answer) = self.tester.request().map(|answer| answer.bytes.to_vec()) {
                if answer[0] == 0x7F && answer[2] == 0x78 {
                    pending += 1;
                    self.tester.release();
                    continue;
                }
                return (answer, pending);
            }
        }
        (Vec::new(), pending)
    }

    fn ask(&mut self, request: &[u8]) -> Vec<u8> {
        self.ask_patiently(request).0
    }

    fn wait(&mut self, periods: u32) {
        for _ in 0..periods {
            self.period();
        }
    }

    fn seed(&mut self, level: u8) -> Vec<u8> {
        self.ask(&[0x27, level * 2 - 1])
    }

    fn code(seed: &[u8], level: u64) -> [u8; CODE_BYTES] {
        let word = |bytes: &[u8]| u64::from_be_bytes(bytes.try_into().unwrap());
        let words = [word(&seed[..8]) ^ KEY[0] ^ level, word(&seed[8..]) ^ KEY[1]];
        let mut code = [0; CODE_BYTES];
        code[..8].copy_from_slice(&words[0].to_be_bytes());
        code[8..].copy_from_slice(&words[1].to_be_bytes());
        code
    }

    fn send_code(&mut self, level: u8, code: &[u8]) -> Vec<u8> {
        self.ask(&[&[0x27, level * 2], code].concat())
    }

    fn unlock(&mut self, level: u8) {
        assert_eq!(self.ask(&[0x10, 0x03])[0], 0x50);
        let seed = self.seed(level);
        assert_eq!(seed[..2], [0x67, level * 2 - 1]);
        let code = Self::code(&seed[2..], u64::from(level));
        assert_eq!(self.send_code(level, &code), [0x67, level * 2]);
    }
}

fn write(id: u16, raw: i32) -> Vec<u8> {
    [&[0x2E], &id.to_be_bytes()[..], &raw.to_be_bytes()].concat()
}

const COMMIT_NOW: [u8; 4] = [0x31, 0x01, 0x02, 0x01];

#[test]
fn reading_is_free() {
    let mut bench = bench();
    assert_eq!(bench.ask(&[0x22, 0x01, 0x01]), [0x62, 0x01, 0x01, 0, 0, 0x01, 0xF4]);
    assert_eq!(
        bench.ask(&[0x22, 0x90, 0x00, 0x77, 0x77, 0xF1, 0x86]),
        [0x62, 0x90, 0, 0xFF, 0xFE, 0xF1, 0x86, 1]
    );
    assert_eq!(bench.ask(&[0x22, 0xF1, 0x95]), [&[0x62, 0xF1, 0x95][..], b"0.1.0"].concat());
    assert_eq!(bench.ask(&[0x22, 0x77, 0x77]), [0x7F, 0x22, 0x31]);
    assert_eq!(bench.ask(&[0x22, 0x77]), [0x7F, 0x22, 0x13]);
    assert_eq!(bench.ask(&[0x85, 0x01]), [0x7F, 0x85, 0x11]);
}

#[test]
fn faults_are_read_with_status_and_history() {
    let mut bench = bench();
    assert_eq!(bench.ask(&[0x19, 0x01, 0xFF]), [0x59, 0x01, 0x29, 0x02, 0, 1]);
    assert_eq!(bench.ask(&[0x19, 0x02, 0x01]), [0x59, 0x02, 0x29, 0x65, 0x0A, 0x09, 0x29]);
    assert_eq!(bench.ask(&[0x19, 0x0A]).len(), 3 + 2 * 4);
    let history = bench.ask(&[0x19, 0x06, 0x65, 0x0A, 0x09, 0x01]);
    assert_eq!(history, [0x59, 0x06, 0x65, 0x0A, 0x09, 0x29, 0x01, 0, 0, 0, 7, 0, 0, 0, 9, 2]);
    assert_eq!(bench.ask(&[0x19, 0x06, 0, 0, 0, 0x01]), [0x7F, 0x19, 0x31]);
    assert_eq!(bench.ask(&[0x19, 0x03]), [0x7F, 0x19, 0x12]);
}

#[test]
fn nothing_is_written_without_session_level_rest_and_neutral() {
    let mut bench = bench();
    assert_eq!(bench.ask(&write(0x0101, 700)), [0x7F, 0x2E, 0x7F], "default session");
    bench.ask(&[0x10, 0x03]);
    assert_eq!(bench.ask(&write(0x0101, 700)), [0x7F, 0x2E, 0x33], "locked");
    bench.unlock(1);
    assert_eq!(
        bench.ask(&write(0x0103, 700)),
        [0x7F, 0x2E, 0x33],
        "a safety parameter needs the higher level"
    );
    assert_eq!(bench.ask(&write(0x0104, 61)), [0x7F, 0x2E, 0x33], "a constant is never written");
    assert_eq!(bench.ask(&write(0x0101, 1001)), [0x7F, 0x2E, 0x31]);
    assert_eq!(bench.ask(&write(0x7777, 1)), [0x7F, 0x2E, 0x31]);
    assert_eq!(bench.ask(&[0x2E, 0x01, 0x01, 0]), [0x7F, 0x2E, 0x13]);
    for (at_rest, neutral) in [(false, true), (true, false)] {
        bench.machine.standing = Standing { at_rest, neutral, permitted: true, withheld: false };
        assert_eq!(bench.ask(&write(0x0101, 700)), [0x7F, 0x2E, 0x22]);
        assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x22]);
        assert_eq!(bench.ask(&[0x14, 0xFF, 0xFF, 0xFF]), [0x7F, 0x14, 0x22]);
        assert_eq!(bench.ask(&[0x11, 0x01]), [0x7F, 0x11, 0x22]);
    }
    assert_eq!(bench.machine.parameters, Few::default());
    assert!(bench.actions.is_empty());
}

#[test]
fn the_black_box_is_frozen_at_any_time_and_armed_at_rest_in_neutral() {
    const FREEZE: [u8; 4] = [0x31, 0x01, 0x02, 0x03];
    const ARM: [u8; 4] = [0x31, 0x01, 0x02, 0x04];
    let mut bench = bench();
    bench.ask(&[0x10, 0x03]);
    assert_eq!([FREEZE, ARM].map(|order| bench.ask(&order)), [[0x7F, 0x31, 0x33]; 2], "locked");
    bench.unlock(1);
    for (at_rest, neutral) in [(false, true), (true, false)] {
        bench.machine.standing = Standing { at_rest, neutral, permitted: true, withheld: false };
        assert_eq!(bench.ask(&ARM), [0x7F, 0x31, 0x22]);
        assert_eq!(bench.ask(&FREEZE), [0x71, 0x01, 0x02, 0x03]);
    }
    bench.machine.standing = Standing { at_rest: true, neutral: true, permitted: true, withheld: false };
    assert_eq!(bench.ask(&ARM), [0x71, 0x01, 0x02, 0x04]);
    let orders = [BoxOrder::Freeze, BoxOrder::Freeze, BoxOrder::Arm];
    assert_eq!(bench.actions, orders.map(Action::Box));
}

#[test]
fn a_commit_takes_all_staged_values_or_none() {
    let mut bench = bench();
    bench.unlock(2);
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x24], "nothing is staged");
    assert_eq!(bench.ask(&write(0x0101, 300)), [0x6E, 0x01, 0x01]);
    assert_eq!(bench.ask(&write(0x0102, 400)), [0x6E, 0x01, 0x02]);
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x31], "they contradict each other");
    assert_eq!(bench.ask(&write(0x0102, 200)), [0x6E, 0x01, 0x02]);
    assert_eq!(bench.ask(&write(0x0103, 1500)), [0x6E, 0x01, 0x03]);
    assert_eq!(bench.ask(&[0x31, 0x03, 0x02, 0x01]), [0x71, 0x03, 0x02, 0x01, 0, 3]);
    assert_eq!(bench.machine.parameters, Few::default(), "staged is not in effect");
    bench.board.delay = 20;
    let (answer, pending) = bench.ask_patiently(&COMMIT_NOW);
    assert_eq!((answer, pending), (std::vec![0x71, 0x01, 0x02, 0x01], 1));
    let set = bench.machine.parameters;
    assert_eq!((set.speed().raw(), set.creep().raw(), set.stop_time()), (300, 200, 1500));
    assert_eq!(bench.board.saved, [(0x0101, 300), (0x0102, 200), (0x0103, 1500), (0x0104, 60)]);
}

#[test]
fn a_committed_set_is_given_once_and_not_after_the_next_step_began() {
    for taken in [true, false] {
        let mut bench = bench();
        bench.takes = taken;
        bench.unlock(1);
        bench.ask(&write(0x0101, 300));
        assert_eq!(bench.server.take_committed(), None, "staged is not committed");
        assert_eq!(bench.ask(&COMMIT_NOW), [0x71, 0x01, 0x02, 0x01]);
        assert_eq!(bench.actions, [Action::Commit]);
        assert_eq!(
            bench.machine.parameters.speed().raw(),
            if taken { 300 } else { Few::default().speed().raw() }
        );
        bench.period();
        assert_eq!(bench.server.take_committed(), None);
        assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x24], "nothing is staged any more");
    }
}

#[test]
fn a_flash_that_fails_changes_nothing() {
    let mut bench = bench();
    bench.unlock(1);
    bench.ask(&write(0x0101, 300));
    bench.board.flash_fails = true;
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x72]);
    assert_eq!(bench.machine.parameters, Few::default());
    assert!(bench.board.saved.is_empty());
}

#[test]
fn pending_is_said_in_time_and_again() {
    let mut bench = bench();
    bench.unlock(1);
    bench.ask(&write(0x0101, 300));
    bench.board.delay = 150;
    let began = bench.periods;
    let (_, pending) = bench.ask_patiently(&COMMIT_NOW);
    let took = bench.periods - began;
    assert!(pending >= took / 500, "{pending} in {took} periods: at least one each 5 s");
    // The first one within P2 = 50 ms.
    bench.ask(&write(0x0101, 310));
    bench.tester.answer(&COMMIT_NOW).unwrap();
    bench.tester.release();
    let first = (1..).find(|_| {
        bench.period();
        bench.tester.request().is_some()
    });
    assert!(first.unwrap() <= 5, "{first:?}");
}

#[test]
fn wrong_codes_are_counted_before_they_are_compared_and_lock_out() {
    let mut bench = bench();
    bench.ask(&[0x10, 0x03]);
    for attempt in 1..=3 {
        bench.seed(1);
        let reason = if attempt < 3 { 0x35 } else { 0x36 };
        assert_eq!(bench.send_code(1, &[0; CODE_BYTES]), [0x7F, 0x27, reason]);
        assert_eq!(bench.board.attempts, (1..=attempt).collect::<Vec<u64>>());
    }
    assert_eq!(bench.seed(1), [0x7F, 0x27, 0x37]);
    // The lock-out of 10 s outlasts a restart.
    bench.server = Server::new(config(0x27), AccessBoot { attempts: 3, start: 2 }, TICK).unwrap();
    bench.ask(&[0x10, 0x03]);
    assert_eq!(bench.seed(1), [0x7F, 0x27, 0x37]);
    for _ in 0..11 {
        bench.wait(95);
        bench.ask(&[0x3E, 0x00]);
    }
    bench.unlock(1);
    assert_eq!(bench.board.attempts, [1, 2, 3, 4, 0], "a right code wipes the slate");
}

#[test]
fn a_code_is_good_for_one_challenge_of_its_level() {
    let mut bench = bench();
    bench.ask(&[0x10, 0x03]);
    let seed = bench.seed(1);
    let code = Bench::code(&seed[2..], 1);
    assert_eq!(bench.send_code(2, &code), [0x7F, 0x27, 0x24], "of another level");
    assert_eq!(bench.send_code(1, &code), [0x7F, 0x27, 0x24], "that spoilt the challenge");
    let seed = bench.seed(1);
    let code = Bench::code(&seed[2..], 1);
    assert_eq!(bench.send_code(1, &code), [0x67, 0x02]);
    assert_eq!(bench.send_code(1, &code), [0x7F, 0x27, 0x24], "replayed");
    assert_eq!(bench.seed(1)[2..], [0; CODE_BYTES], "open already");
    bench.board.no_key = true;
    let seed = bench.seed(2);
    let code = Bench::code(&seed[2..], 2);
    assert_eq!(bench.send_code(2, &code), [0x7F, 0x27, 0x22], "a unit without a key opens nothing");
    assert_eq!(bench.server.level(), Level::Locked);
}

#[test]
fn silence_ends_the_session_locks_and_drops() {
    let mut bench = bench();
    bench.unlock(1);
    bench.ask(&write(0x0101, 300));
    bench.wait(499);
    assert_eq!((bench.server.session(), bench.server.level()), (Session::Extended, Level::Tune));
    bench.wait(3);
    assert_eq!((bench.server.session(), bench.server.level()), (Session::Default, Level::Locked));
    bench.unlock(1);
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x24], "what was staged is gone");
}

#[test]
fn a_routine_starts_only_as_it_may_and_ends_within_300_ms_of_silence() {
    let mut bench = bench();
    let start = [0x31, 0x01, 0x03, 0x01];
    bench.ask(&[0x10, 0x03]);
    assert_eq!(bench.ask(&start), [0x7F, 0x31, 0x33]);
    bench.unlock(1);
    bench.machine.standing.permitted = false;
    assert_eq!(bench.ask(&start), [0x7F, 0x31, 0x22]);
    bench.machine.standing.permitted = true;
    assert_eq!(bench.ask(&start), [0x71, 0x01, 0x03, 0x01, 0, 1, 2, 3, 4, 0xFF, 0xFF, 0, 0]);
    // Heard every 200 ms it goes on, at rest or not.
    bench.machine.standing.at_rest = false;
    for _ in 0..10 {
        bench.wait(18);
        assert_eq!(bench.ask(&[0x31, 0x03, 0x03, 0x01])[4], 1);
    }
    bench.wait(30);
    assert_eq!(bench.actions, [Action::Start(COIL_SWEEP), Action::Stop(COIL_SWEEP)]);
    assert_eq!(bench.ask(&[0x31, 0x02, 0x03, 0x01]), [0x7F, 0x31, 0x24], "nothing to stop");
    assert_eq!(bench.ask(&[0x31, 0x01, 0x77, 0x77]), [0x7F, 0x31, 0x31]);
}

/// Begins a measurement with nothing permitted, and has it end so.
fn measured(bench: &mut Bench, end: Progress) {
    bench.machine.standing = Standing { at_rest: true, neutral: true, permitted: false, withheld: true };
    bench.machine.progress = Progress::Running;
    assert_eq!(bench.ask(&[0x31, 0x01, 0x03, 0x02])[0], 0x71);
    bench.wait(5);
    bench.machine.progress = end;
    assert_eq!(bench.ask(&[0x31, 0x03, 0x03, 0x02])[4], end as u8);
}

#[test]
fn what_a_routine_has_learnt_is_staged_and_takes_effect_with_a_commit() {
    let mut bench = bench();
    bench.unlock(1);
    bench.machine.standing.permitted = true;
    let start = [0x31, 0x01, 0x03, 0x02];
    assert_eq!(bench.ask(&start), [0x7F, 0x31, 0x22], "something is permitted");
    bench.machine.learnt = [Some((0x0101, 300)), Some((0x0102, 20)), None];
    measured(&mut bench, Progress::Done);
    assert_eq!(bench.ask(&[0x31, 0x02, 0x03, 0x02]), [0x7F, 0x31, 0x24], "it has ended by itself");
    assert_eq!(bench.ask(&[0x31, 0x03, 0x02, 0x01]), [0x71, 0x03, 0x02, 0x01, 0, 2]);
    assert_eq!(bench.machine.parameters, Few::default(), "staged is not in effect");
    assert_eq!(bench.ask(&COMMIT_NOW), [0x71, 0x01, 0x02, 0x01]);
    assert_eq!((bench.machine.parameters.speed().raw(), bench.machine.parameters.creep().raw()), (300, 20));
}

#[test]
fn nothing_is_learnt_from_a_routine_that_failed_was_stopped_or_was_not_heard() {
    let mut bench = bench();
    bench.unlock(1);
    bench.machine.learnt = [Some((0x0101, 300)), Some((0x0102, 20)), None];
    measured(&mut bench, Progress::Failed);
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x24], "failed: nothing is staged");
    bench.machine.progress = Progress::Running;
    bench.ask(&[0x31, 0x01, 0x03, 0x02]);
    bench.ask(&write(0x0101, 400));
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x22], "no commit while it runs");
    bench.ask(&[0x31, 0x02, 0x03, 0x02]);
    bench.machine.progress = Progress::Done;
    bench.wait(5);
    assert_eq!(bench.ask(&[0x31, 0x03, 0x02, 0x01])[5], 1, "stopped: only what was written");
    bench.machine.progress = Progress::Running;
    bench.ask(&[0x31, 0x01, 0x03, 0x02]);
    bench.wait(31);
    assert_eq!(bench.actions.last(), Some(&Action::Stop(MEASUREMENT)));
    bench.machine.progress = Progress::Done;
    bench.wait(5);
    assert_eq!(bench.ask(&[0x31, 0x03, 0x02, 0x01])[5], 1, "silent: likewise");
}

#[test]
fn what_was_learnt_is_taken_as_a_whole_or_not_at_all_and_goes_with_the_session() {
    let mut bench = bench();
    bench.unlock(1);
    bench.ask(&write(0x0101, 400));
    // The second value is out of range, then one of a higher level.
    for learnt in [(0x0102, 5000), (0x0103, 1500)] {
        bench.machine.learnt = [Some((0x0101, 300)), Some(learnt), None];
        measured(&mut bench, Progress::Done);
        assert_eq!(bench.ask(&COMMIT_NOW), [0x71, 0x01, 0x02, 0x01]);
        assert_eq!(bench.machine.parameters.speed().raw(), 400, "what was written before stays as it was");
        bench.ask(&write(0x0101, 400));
    }
    bench.machine.learnt = [Some((0x0101, 300)), None, None];
    measured(&mut bench, Progress::Done);
    bench.wait(510);
    bench.unlock(1);
    assert_eq!(bench.ask(&COMMIT_NOW), [0x7F, 0x31, 0x24], "the session has ended");
}

/// A request of another tester, in one frame.
fn of_another(request: &[u8]) -> Frame {
    let mut data = [0xCC; 8];
    data[0] = request.len() as u8;
    data[1..=request.len()].copy_from_slice(request);
    Frame::group(Id29::from_raw(0x18DA_27F1).unwrap(), data)
}

#[test]
fn another_tester_neither_keeps_a_motion_going_nor_takes_it_over() {
    for (begin, began, request) in [
        (&[0x31, 0x01, 0x03, 0x01][..], Action::Start(COIL_SWEEP), &[0x3E, 0x00][..]),
        (&[0x2F, 0x04, 0x01, 0x03, 0, 0, 0, 1], Action::Control { id: HORN, value: 1 }, &[0x3E, 0x00]),
    ] {
        let mut bench = bench();
        bench.unlock(1);
        bench.ask(begin);
        for _ in 0..6 {
            bench.server.take(&of_another(request));
            bench.wait(5);
        }
        let ended = match began {
            Action::Start(id) => Action::Stop(id),
            _ => Action::Release(HORN),
        };
        assert_eq!(bench.actions, [began, ended], "{request:02x?}");
    }
}

#[test]
fn another_tester_may_not_drive_an_output_that_is_driven_but_may_stop_what_moves() {
    let mut bench = bench();
    bench.unlock(1);
    // The other one's value does not fit one frame: it comes in two.
    let value = [0x10, 0x08, 0x2F, 0x04, 0x01, 0x03, 0, 0];
    bench.ask(&[0x2F, 0x04, 0x01, 0x03, 0, 0, 0, 1]);
    for data in [value, [0x21, 0, 9, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC]] {
        bench.server.take(&Frame::group(Id29::from_raw(0x18DA_27F1).unwrap(), data));
        bench.wait(1);
    }
    assert_eq!(bench.actions, [Action::Control { id: HORN, value: 1 }]);
    bench.ask(&[0x2F, 0x04, 0x01, 0x00]);
    bench.ask(&[0x31, 0x01, 0x03, 0x01]);
    bench.server.take(&of_another(&[0x31, 0x02, 0x03, 0x01]));
    bench.wait(1);
    assert_eq!(bench.actions.last(), Some(&Action::Stop(COIL_SWEEP)));
}

#[test]
fn a_session_is_its_testers_own() {
    let mut bench = bench();
    bench.unlock(1);
    // To another one it is the default session: nothing is written, nothing keeps it alive, and it cannot be taken over.
    for request in [&[0x11, 0x01][..], &[0x10, 0x03], &[0x14, 0xFF, 0xFF, 0xFF], &[0x31, 0x01, 0x02, 0x01]] {
        bench.server.take(&of_another(request));
        bench.wait(2);
        assert_eq!((bench.server.session(), bench.server.level()), (Session::Extended, Level::Tune));
    }
    assert!(bench.actions.is_empty() && bench.board.resets == 0);
    let machine = Machine::new();
    assert_eq!(bench.server.may_clear(&machine, 0xF9), Ok(()));
    assert_eq!(bench.server.may_clear(&machine, 0xF1), Err(Negative::AccessDenied));
    for _ in 0..6 {
        bench.server.take(&of_another(&[0x3E, 0x00]));
        bench.wait(100);
    }
    assert_eq!((bench.server.session(), bench.server.level()), (Session::Default, Level::Locked));
    bench.unlock(1);
    bench.server.take(&of_another(&[0x10, 0x01]));
    bench.wait(2);
    assert_eq!(bench.server.session(), Session::Default, "anyone may end it: that is the safe way");
}

#[test]
fn an_output_is_given_back_when_asked_and_when_the_session_ends() {
    let mut bench = bench();
    bench.unlock(1);
    let on = [0x2F, 0x04, 0x01, 0x03, 0, 0, 0, 1];
    assert_eq!(bench.ask(&on), [0x6F, 0x04, 0x01, 0x03, 0, 0, 0, 1]);
    assert_eq!(bench.ask(&[0x31, 0x01, 0x03, 0x01]), [0x7F, 0x31, 0x22], "one motion at a time");
    assert_eq!(bench.ask(&[0x2F, 0x04, 0x01, 0x00]), [0x6F, 0x04, 0x01, 0x00]);
    bench.ask(&on);
    bench.ask(&[0x10, 0x01]);
    let control = Action::Control { id: HORN, value: 1 };
    assert_eq!(bench.actions, [control, Action::Release(HORN), control, Action::Release(HORN)]);
}

#[test]
fn a_positive_answer_that_is_not_wanted_is_not_given_and_all_are_not_told_what_we_lack() {
    let mut bench = bench();
    assert!(bench.ask(&[0x3E, 0x80]).is_empty());
    bench.tester.answer(&[0x10, 0x83]).unwrap();
    bench.tester.release();
    bench.wait(10);
    assert_eq!(bench.tester.request(), None);
    assert_eq!(bench.server.session(), Session::Extended);
    let to_all = Id29::from_raw(0x18DB_33F9).unwrap();
    bench.server.take(&Frame::group(to_all, [2, 0x85, 1, 0, 0, 0, 0, 0]));
    bench.tester.release();
    bench.wait(10);
    assert_eq!(bench.tester.request(), None);
    bench.server.take(&Frame::group(to_all, [2, 0x3E, 0, 0, 0, 0, 0, 0]));
    bench.wait(10);
    assert_eq!(bench.tester.request().unwrap().bytes, [0x7E, 0]);
}

#[test]
fn a_restart_is_ordered_after_its_answer() {
    let mut bench = bench();
    bench.unlock(1);
    assert_eq!(bench.ask(&[0x11, 0x01]), [0x51, 0x01]);
    bench.wait(3);
    assert!(bench.board.resets > 0);
}

/// Whatever bytes come as requests: no level without a right code, no motion, no write.
fn request() -> impl Strategy<Value = Vec<u8>> {
    let byte =
        prop::sample::select(std::vec![0_u8, 1, 2, 3, 4, 6, 0x0A, 0x80, 0x81, 0x83, 0x90, 0xF1, 0x86, 0xFF]);
    let service =
        prop::sample::select(std::vec![0x10_u8, 0x11, 0x14, 0x19, 0x22, 0x27, 0x2E, 0x2F, 0x31, 0x3E, 0x85]);
    (service, proptest::collection::vec(byte, 0..20)).prop_map(|(service, mut rest)| {
        rest.insert(0, service);
        rest
    })
}

proptest! {
    #[test]
    fn no_level_opens_and_nothing_happens_without_a_right_code(
        requests in proptest::collection::vec((request(), 1_u32..8), 0..60)
    ) {
        let mut bench = bench();
        bench.ask(&[0x10, 0x03]);
        for (request, periods) in requests {
            bench.tester.reset();
            bench.tester.take(&Frame::group(Id29::from_raw(0x18DA_F927).unwrap(), [1, 0, 0, 0, 0, 0, 0, 0]));
            bench.tester.answer(&request).unwrap();
            bench.tester.release();
            bench.wait(periods);
            prop_assert_eq!(bench.server.level(), Level::Locked);
        }
        prop_assert!(bench.actions.is_empty());
        prop_assert!(bench.board.saved.is_empty() && bench.board.resets == 0);
        prop_assert_eq!(bench.machine.parameters, Few::default());
        // It still listens.
        bench.wait(600);
        prop_assert_eq!(bench.ask(&[0x3E, 0x00]), [0x7E, 0x00]);
    }
}

#[test]
fn a_motion_that_was_asked_for_behind_a_held_up_answer_does_not_begin() {
    for (periods, begins) in [(3, true), (40, false)] {
        let mut bench = bench();
        bench.unlock(1);
        // Another tester asks for a long answer and does not say "go on".
        bench.server.take(&of_another(&[0x22, 0xF1, 0x95]));
        bench.server.step(&bench.machine, WorkDone::default(), 0);
        assert_eq!(bench.server.frame().map(|frame| frame.bytes()[0]), Some(0x10), "a first frame");
        let start = [4, 0x31, 0x01, 0x03, 0x01, 0xCC, 0xCC, 0xCC];
        bench.server.take(&Frame::group(Id29::from_raw(0x18DA_27F9).unwrap(), start));
        for _ in 0..periods {
            let action = bench.server.step(&bench.machine, WorkDone::default(), 0);
            assert_eq!(action, Action::None);
            assert_eq!(bench.server.frame(), None);
        }
        let go_on = [0x30, 0, 0, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC];
        bench.server.take(&Frame::group(Id29::from_raw(0x18DA_27F1).unwrap(), go_on));
        let mut actions = Vec::new();
        for _ in 0..5 {
            while bench.server.frame().is_some() {}
            actions.push(bench.server.step(&bench.machine, WorkDone::default(), 0));
        }
        assert_eq!(actions.contains(&Action::Start(COIL_SWEEP)), begins, "{periods}: {actions:?}");
    }
}
