//! A tester on the machine bus that a scenario puts to work.

use loader::control::PERIOD;
use loader::control::measuring::{LeverAxis, STRAIGHT_LINE};
use loader::control::motion::FIRST_SWEEP;
use loader::declaration::Coil;
use trunnion_can::frame::Frame;
use trunnion_can::id::Id29;
use trunnion_rig::plant::ServiceTool;

use super::KEY;

/// Where the controller is on the bus unless somebody takes its address.
const CONTROLLER: u8 = 0x27;
/// Frames that a flood brings in every millisecond: as many as the bus carries (250 kbit/s, 160 bits each).
const FLOOD: usize = 2;

/// The tester, and whether it only makes noise.
#[derive(Debug, Clone)]
pub struct Tester {
    tool: Option<ServiceTool>,
    floods: bool,
}

impl Tester {
    pub fn new() -> Self {
        Self { tool: ServiceTool::new(CONTROLLER, KEY, PERIOD), floods: false }
    }

    /// By the place of the action's choice.
    pub fn put_to_work(&mut self, choice: f64) {
        let sweep = |coil: Coil| Some(FIRST_SWEEP + coil as u16);
        let routine = match choice as u16 {
            1 => sweep(Coil::boom_raise),
            2 => sweep(Coil::left_pump_forward),
            _ => None,
        };
        self.floods = choice as u16 == 3;
        let Some(tool) = &mut self.tool else { return };
        match choice as u16 {
            4 => tool.learn(LeverAxis::LeftY.routine()),
            5 => tool.learn(STRAIGHT_LINE),
            _ => tool.hold(routine),
        }
    }

    /// A frame of the controller.
    pub fn take(&mut self, frame: &Frame) {
        if let Some(tool) = &mut self.tool {
            tool.take(frame);
        }
    }

    /// What it sends in a millisecond.
    pub fn step(&mut self) -> Vec<Frame> {
        if self.floods {
            // First frames of long messages to the controller, none of which is ever finished.
            let id = Id29::from_raw(0x18DA_0000 | (u32::from(CONTROLLER) << 8) | 0xF1);
            return id
                .map(|id| vec![Frame::group(id, [0x10, 0x30, 0x22, 0, 0, 0, 0, 0]); FLOOD])
                .unwrap_or_default();
        }
        self.tool.as_mut().map(|tool| tool.step(1)).unwrap_or_default()
    }
}
