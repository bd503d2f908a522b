//! The board's end: takes a request, steps the machine, gives the answer.

use trunnion::machine::{FastInputs, FastOutputs, Machine, Stepper};

use crate::delta::{DeltaReader, DeltaWriter};
use crate::frame::Damage;
use crate::layout::layout;
use crate::message::{Kind, LONGEST, MOST_FAST_STEPS, Reason, fast_steps};
use crate::record::{put_history, put_record, take_boot, take_history, take_parameters, take_record};

/// A machine that a host steps.
pub struct Target<M: Machine> {
    run: Option<Run<M>>,
    message: [u8; LONGEST],
}

/// A started machine, and the last values that both ends know.
struct Run<M: Machine> {
    stepper: Stepper<M>,
    sequence: u8,
    parameters: M::Parameters,
    fast_inputs: FastInputs<M>,
    inputs: M::Inputs,
    fast_outputs: FastOutputs<M>,
    outputs: M::Outputs,
    diagnostics: M::Diagnostics,
}

impl<M: Machine> Default for Target<M> {
    fn default() -> Self {
        Self::new()
    }
}

impl<M: Machine> Target<M> {
    /// Nothing is started yet.
    pub const fn new() -> Self {
        Self { run: None, message: [0; LONGEST] }
    }

    /// The machine, when one is started.
    pub fn machine(&self) -> Option<&M> {
        self.run.as_ref().map(|run| run.stepper.machine())
    }

    /// Takes what was received and gives the answer. After a refusal nothing is started any more.
    pub fn answer(&mut self, request: Result<&[u8], Damage>) -> &[u8] {
        let sequence = match request {
            Ok([_, sequence, ..]) => *sequence,
            _ => 0,
        };
        let [kind_place, sequence_place, body_places @ ..] = &mut self.message;
        *sequence_place = sequence;
        let (kind, length) = match take(&mut self.run, request, body_places) {
            Ok(answered) => answered,
            Err(reason) => {
                self.run = None;
                for (place, byte) in body_places.iter_mut().zip(reason.to_bytes()) {
                    *place = byte;
                }
                (Kind::Refused, 2)
            }
        };
        *kind_place = kind as u8;
        self.message.get(..usize::from(length).saturating_add(2)).unwrap_or(&[])
    }
}

/// Carries out one request; gives the kind of the answer and the length of its body.
fn take<M: Machine>(
    run: &mut Option<Run<M>>,
    request: Result<&[u8], Damage>,
    body_places: &mut [u8],
) -> Result<(Kind, u16), Reason> {
    let [kind, sequence, body @ ..] = request.map_err(Reason::Damaged)? else {
        return Err(Reason::Damaged(Damage::TooShort));
    };
    let kind = Kind::from_byte(*kind).ok_or(Reason::UnknownKind(*kind))?;
    if kind == Kind::Start {
        *run = Some(Run::start(body, *sequence)?);
        return Ok((Kind::Started, 0));
    }
    let run = run.as_mut().ok_or(Reason::NotStarted)?;
    run.sequence = run.sequence.wrapping_add(1);
    if *sequence != run.sequence {
        return Err(Reason::OutOfSequence { expected: run.sequence });
    }
    match kind {
        Kind::Period => run.period(body, body_places).map(|length| (Kind::Driven, length)),
        Kind::Reconfigure => run.reconfigure(body, body_places).map(|length| (Kind::Reconfigured, length)),
        other => Err(Reason::UnknownKind(other as u8)),
    }
}

impl<M: Machine> Run<M> {
    fn start(body: &[u8], sequence: u8) -> Result<Self, Reason> {
        let (host_layout, body) = body.split_first_chunk::<8>().ok_or(Reason::Content)?;
        if u64::from_le_bytes(*host_layout) != const { layout::<M>() } {
            return Err(Reason::OtherLayout);
        }
        let mut reader = DeltaReader::new(body);
        let boot = take_boot::<M::Parameters>(&mut reader).ok_or(Reason::Content)?;
        if !reader.is_finished() {
            return Err(Reason::Content);
        }
        Ok(Self {
            stepper: Stepper::start(&boot),
            sequence,
            parameters: boot.parameters,
            fast_inputs: Default::default(),
            inputs: Default::default(),
            fast_outputs: Default::default(),
            outputs: Default::default(),
            diagnostics: Default::default(),
        })
    }

    fn period(&mut self, body: &[u8], body_places: &mut [u8]) -> Result<u16, Reason> {
        let mut reader = DeltaReader::new(body);
        let mut fast_inputs = [FastInputs::<M>::default(); MOST_FAST_STEPS as usize];
        let mut fast_outputs = [FastOutputs::<M>::default(); MOST_FAST_STEPS as usize];
        let steps = usize::from(fast_steps::<M>());
        let (Some(fast_inputs), Some(fast_outputs)) =
            (fast_inputs.get_mut(..steps), fast_outputs.get_mut(..steps))
        else {
            return Err(Reason::Content);
        };
        let whole = take_history(&mut reader, &self.fast_inputs, fast_inputs);
        let inputs = take_record(&mut reader, &self.inputs).ok_or(Reason::Content)?;
        if !whole || !reader.is_finished() {
            return Err(Reason::Content);
        }
        for (outputs, inputs) in fast_outputs.iter_mut().zip(&*fast_inputs) {
            *outputs = self.stepper.fast_step(inputs);
        }
        let outputs = self.stepper.step(&inputs);
        let diagnostics = self.stepper.machine().diagnostics();

        let mut writer = DeltaWriter::new(body_places);
        put_history(&mut writer, &self.fast_outputs, fast_outputs);
        put_record(&mut writer, &self.outputs, &outputs);
        put_record(&mut writer, &self.diagnostics, &diagnostics);
        self.fast_inputs = fast_inputs.last().copied().unwrap_or_default();
        self.inputs = inputs;
        self.fast_outputs = fast_outputs.last().copied().unwrap_or_default();
        self.outputs = outputs;
        self.diagnostics = diagnostics;
        writer.finish().ok_or(Reason::AnswerTooLong)
    }

    fn reconfigure(&mut self, body: &[u8], body_places: &mut [u8]) -> Result<u16, Reason> {
        let mut reader = DeltaReader::new(body);
        let parameters = take_parameters(&mut reader, &self.parameters).ok_or(Reason::Content)?;
        if !reader.is_finished() {
            return Err(Reason::Content);
        }
        self.parameters = parameters;
        let accepted = self.stepper.reconfigure(&parameters).is_ok();
        let place = body_places.first_mut().ok_or(Reason::AnswerTooLong)?;
        *place = u8::from(accepted);
        Ok(1)
    }
}
