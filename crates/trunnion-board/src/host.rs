//! The host's end: what to send, and what an answer says.

use trunnion::machine::{Boot, FastInputs, FastOutputs, Machine};

use crate::delta::{DeltaReader, DeltaWriter};
use crate::layout::layout;
use crate::message::{Kind, LONGEST, MOST_FAST_STEPS, Reason, fast_steps};
use crate::record::{put_boot, put_history, put_parameters, put_record, take_history, take_record};

/// The host's half of the wire: the last values that both ends know.
pub struct Host<M: Machine> {
    message: [u8; LONGEST],
    sequence: u8,
    parameters: M::Parameters,
    fast_inputs: FastInputs<M>,
    inputs: M::Inputs,
    answered: u8,
    fast_outputs: [FastOutputs<M>; MOST_FAST_STEPS as usize],
    outputs: M::Outputs,
    diagnostics: M::Diagnostics,
}

/// What the board says.
pub enum Answer<'a, M: Machine> {
    /// The machine has started.
    Started,
    /// One period is done.
    Driven {
        /// What the fast loop drove, step by step.
        fast_outputs: &'a [FastOutputs<M>],
        /// What the machine drives.
        outputs: &'a M::Outputs,
        /// Its internal points.
        diagnostics: &'a M::Diagnostics,
    },
    /// The parameter set is in effect.
    Reconfigured {
        /// False when the machine refused it as a whole.
        accepted: bool,
    },
    /// The request could not be taken, and nothing is started any more.
    Refused(Reason),
}

/// An answer that makes no sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nonsense {
    /// Too short, of no known kind, or a body that does not read.
    Unreadable,
    /// Not the answer to the oldest open request.
    OutOfSequence {
        /// Number of the oldest open request.
        expected: u8,
        /// Number of the answer.
        found: u8,
    },
}

impl<M: Machine> Host<M> {
    /// A new run, and its first request.
    pub fn start(boot: &Boot<M::Parameters>) -> Self {
        Self {
            message: [0; LONGEST],
            sequence: 0,
            parameters: boot.parameters,
            fast_inputs: Default::default(),
            inputs: Default::default(),
            answered: u8::MAX,
            fast_outputs: [Default::default(); MOST_FAST_STEPS as usize],
            outputs: Default::default(),
            diagnostics: Default::default(),
        }
    }

    /// The request that starts the machine; the first of a run.
    pub fn start_request(&mut self, boot: &Boot<M::Parameters>) -> &[u8] {
        let [kind, sequence, body @ ..] = &mut self.message;
        *kind = Kind::Start as u8;
        *sequence = self.sequence;
        let layout_bytes = const { layout::<M>() }.to_le_bytes();
        for (place, byte) in body.iter_mut().zip(layout_bytes) {
            *place = byte;
        }
        let mut writer = DeltaWriter::new(body.get_mut(layout_bytes.len()..).unwrap_or_default());
        put_boot(&mut writer, boot);
        let written = writer.finish();
        self.request(written.map(|length| length.saturating_add(8)))
    }

    /// The request for one period. Takes [`Machine::FAST_STEPS`] fast inputs; further ones are left out, missing
    /// ones are as the last.
    pub fn period_request(&mut self, fast_inputs: &[FastInputs<M>], inputs: &M::Inputs) -> &[u8] {
        let mut steps = [fast_inputs.last().copied().unwrap_or(self.fast_inputs); MOST_FAST_STEPS as usize];
        for (step, given) in steps.iter_mut().zip(fast_inputs) {
            *step = *given;
        }
        let steps = steps.get(..usize::from(fast_steps::<M>())).unwrap_or_default();
        self.sequence = self.sequence.wrapping_add(1);
        let [kind, sequence, body @ ..] = &mut self.message;
        *kind = Kind::Period as u8;
        *sequence = self.sequence;
        let mut writer = DeltaWriter::new(body);
        put_history(&mut writer, &self.fast_inputs, steps);
        put_record(&mut writer, &self.inputs, inputs);
        self.fast_inputs = steps.last().copied().unwrap_or_default();
        self.inputs = *inputs;
        let written = writer.finish();
        self.request(written)
    }

    /// The request that puts a parameter set into effect.
    pub fn reconfigure_request(&mut self, parameters: &M::Parameters) -> &[u8] {
        self.sequence = self.sequence.wrapping_add(1);
        let [kind, sequence, body @ ..] = &mut self.message;
        *kind = Kind::Reconfigure as u8;
        *sequence = self.sequence;
        let mut writer = DeltaWriter::new(body);
        put_parameters(&mut writer, &self.parameters, parameters);
        self.parameters = *parameters;
        let written = writer.finish();
        self.request(written)
    }

    /// Reads an answer.
    pub fn answer(&mut self, message: &[u8]) -> Result<Answer<'_, M>, Nonsense> {
        let [kind, found, body @ ..] = message else { return Err(Nonsense::Unreadable) };
        let kind = Kind::from_byte(*kind).ok_or(Nonsense::Unreadable)?;
        if kind == Kind::Refused {
            let reason = <[u8; 2]>::try_from(body).ok().and_then(Reason::from_bytes);
            return reason.map(Answer::Refused).ok_or(Nonsense::Unreadable);
        }
        self.answered = self.answered.wrapping_add(1);
        if *found != self.answered {
            return Err(Nonsense::OutOfSequence { expected: self.answered, found: *found });
        }
        match (kind, body) {
            (Kind::Started, []) => Ok(Answer::Started),
            (Kind::Driven, body) => self.driven(body).ok_or(Nonsense::Unreadable),
            (Kind::Reconfigured, [accepted]) => Ok(Answer::Reconfigured { accepted: *accepted != 0 }),
            _ => Err(Nonsense::Unreadable),
        }
    }

    fn driven(&mut self, body: &[u8]) -> Option<Answer<'_, M>> {
        let mut reader = DeltaReader::new(body);
        let steps = usize::from(fast_steps::<M>());
        let last = self.fast_outputs.get(steps.saturating_sub(1)).copied()?;
        let fast_outputs = self.fast_outputs.get_mut(..steps)?;
        let whole = take_history(&mut reader, &last, fast_outputs);
        self.outputs = take_record(&mut reader, &self.outputs)?;
        self.diagnostics = take_record(&mut reader, &self.diagnostics)?;
        (whole && reader.is_finished()).then_some(Answer::Driven {
            fast_outputs,
            outputs: &self.outputs,
            diagnostics: &self.diagnostics,
        })
    }

    /// The message with a body of this length. That every body fits is proven when [`fast_steps`] is built.
    fn request(&self, body_length: Option<u16>) -> &[u8] {
        let end = usize::from(body_length.unwrap_or(0)).saturating_add(2);
        self.message.get(..end).unwrap_or_default()
    }
}
