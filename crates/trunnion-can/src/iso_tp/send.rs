//! Taking an answer apart.

use trunnion::quantity::{Millis, Period};

/// Where the transmission stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum State {
    Idle,
    /// The only or the first frame is to be sent.
    Begin,
    /// Waiting for the tester's flow control.
    Held {
        left: u32,
    },
    /// The next frame goes out when `wait` is zero.
    Going {
        block_left: u8,
        gap: u32,
        wait: u32,
    },
}

/// What the tester says between blocks (ISO 15765-2, flow control).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct FlowControl {
    pub status: u8,
    pub block: u8,
    pub separation: u8,
}

/// Why a transmission ended early.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flaw {
    /// The tester has no room, or said something that the standard does not know.
    Refused,
    /// No flow control within N_Bs.
    Timeout,
}

#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Transmission<const S: usize> {
    state: State,
    tester: u8,
    size: u16,
    sent: u16,
    turn: u8,
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    bytes: [u8; S],
}

impl<const S: usize> Transmission<S> {
    pub const fn new() -> Self {
        Self { state: State::Idle, tester: 0, size: 0, sent: 0, turn: 0, bytes: [0; S] }
    }

    pub const fn reset(&mut self) {
        self.state = State::Idle;
    }

    pub const fn busy(&self) -> bool {
        !matches!(self.state, State::Idle)
    }

    pub const fn tester(&self) -> u8 {
        self.tester
    }

    /// Begins; false when it does not fit.
    pub fn begin(&mut self, tester: u8, bytes: &[u8]) -> bool {
        let Some(room) = self.bytes.get_mut(..bytes.len()).filter(|room| !room.is_empty()) else {
            return false;
        };
        room.iter_mut().zip(bytes).for_each(|(place, byte)| *place = *byte);
        self.state = State::Begin;
        self.tester = tester;
        self.size = bytes.len() as u16;
        self.sent = 0;
        self.turn = 1;
        true
    }

    /// The tester's word; it counts only while it is awaited.
    pub fn flow_control(&mut self, flow: FlowControl, period: Period, hold: u32) -> Result<(), Flaw> {
        if !matches!(self.state, State::Held { .. }) {
            return Ok(());
        }
        match flow.status {
            0 => {
                let gap = separation(flow.separation, period);
                self.state = State::Going { block_left: flow.block, gap, wait: 0 };
                Ok(())
            }
            1 => {
                self.state = State::Held { left: hold };
                Ok(())
            }
            _ => {
                self.state = State::Idle;
                Err(Flaw::Refused)
            }
        }
    }

    /// One period of waiting.
    pub fn wait(&mut self) -> Result<(), Flaw> {
        match &mut self.state {
            State::Held { left: 0 } => {
                self.state = State::Idle;
                return Err(Flaw::Timeout);
            }
            State::Held { left } => *left = left.saturating_sub(1),
            State::Going { wait, .. } => *wait = wait.saturating_sub(1),
            State::Idle | State::Begin => {}
        }
        Ok(())
    }

    /// The bytes of the next frame, filled up with `fill`, if one may go now.
    pub fn next(&mut self, hold: u32, fill: u8) -> Option<[u8; 8]> {
        let mut data = [fill; 8];
        match self.state {
            State::Idle | State::Held { .. } => None,
            State::Begin if self.size <= 7 => {
                let [first, content @ ..] = &mut data;
                *first = self.size as u8;
                copy(content, self.bytes.get(..usize::from(self.size)));
                self.state = State::Idle;
                Some(data)
            }
            State::Begin => {
                let [first, second, content @ ..] = &mut data;
                let [high, low] = self.size.to_be_bytes();
                (*first, *second) = (0x10 | (high & 0x0F), low);
                copy(content, self.bytes.get(..6));
                self.sent = 6;
                self.state = State::Held { left: hold };
                Some(data)
            }
            State::Going { wait: 1.., .. } => None,
            State::Going { block_left, gap, .. } => {
                let [first, content @ ..] = &mut data;
                *first = 0x20 | self.turn;
                let end = self.sent.saturating_add(7).min(self.size);
                copy(content, self.bytes.get(usize::from(self.sent)..usize::from(end)));
                self.sent = end;
                self.turn = self.turn.wrapping_add(1) % 16;
                self.state = if end == self.size {
                    State::Idle
                } else if block_left == 1 {
                    State::Held { left: hold }
                } else {
                    State::Going { block_left: block_left.saturating_sub(1), gap, wait: gap }
                };
                Some(data)
            }
        }
    }
}

fn copy(room: &mut [u8], bytes: Option<&[u8]>) {
    for (place, byte) in room.iter_mut().zip(bytes.unwrap_or_default()) {
        *place = *byte;
    }
}

/// Periods between two frames: 0 when none is asked for, else never shorter than asked. 0 to 127 are milliseconds,
/// 0xF1 to 0xF9 hundreds of microseconds, anything else counts as 127 ms (ISO 15765-2, STmin).
fn separation(byte: u8, period: Period) -> u32 {
    match byte {
        0..=127 => period.steps(Millis::from_ticks(u32::from(byte))),
        0xF1..=0xF9 => {
            let micros = u32::from(byte & 0x0F).saturating_mul(100);
            micros.div_ceil(period.micros().max(1))
        }
        _ => period.steps(Millis::from_ticks(127)),
    }
}
