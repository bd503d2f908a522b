//! What the operator hears and sees, and the on-off outputs.

use trunnion::declare::Refusal;
use trunnion::fault::{BlinkCode, BlinkCodeConfig};
use trunnion::guard::Reasons;
use trunnion::quantity::{Millis, Ratio, Rpm};
use trunnion::sense::Reading;
use trunnion::timing::{Flasher, FlasherConfig};

use super::PERIOD;
use super::reasons::Reason;
use super::sensing::fixed;
use super::stations::Station;
use crate::declaration::{Outputs, Parameters};

/// What the on-off outputs follow from.
#[derive(Debug, Clone, Copy)]
pub struct PanelInputs {
    /// Coil supply may be on.
    pub coil_supply: bool,
    /// Park brake is to be lifted.
    pub brake_open: bool,
    /// The starter may turn.
    pub crank: bool,
    /// Drive as the pump is asked.
    pub drive: Ratio,
    /// Travel motor speed.
    pub travel: Reading<Rpm>,
    /// Smallest code of an active fault, 0 without.
    pub fault_code: u8,
    /// All that keeps drive or steering from being permitted.
    pub why_not: Reasons,
    /// The station in command.
    pub station: Station,
    /// The station that waits.
    pub waiting: Station,
    /// The vibration is switched on.
    pub vibration_on: bool,
    /// The drum is asked to vibrate.
    pub vibrates: bool,
}

/// The panel of the roller.
#[derive(Debug, Clone)]
pub struct Panel {
    blink: BlinkCode,
    code: u8,
    waiting: Flasher,
    vibration: Flasher,
}

/// Travel in reverse from which the alarm sounds: engineering judgement.
const REVERSE_TRAVEL: Ratio = Ratio::from_quotient(-10, 1000);
/// Motor speed in reverse from which the alarm sounds.
const REVERSE_SPEED: Rpm = Rpm::from_whole(-30);

const BLINK: BlinkCodeConfig = BlinkCodeConfig {
    on: Millis::from_ticks(250),
    off: Millis::from_ticks(250),
    pause: Millis::from_ticks(1_500),
};
const FLASH: FlasherConfig = FlasherConfig { half: Millis::from_ticks(500) };

impl Panel {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let flasher = Flasher::new(FLASH, PERIOD).map_err(|_| fixed(parameters))?;
        let blink = BlinkCode::new(BLINK, PERIOD).map_err(|_| fixed(parameters))?;
        Ok(Self { blink, code: 0, waiting: flasher, vibration: flasher })
    }

    /// Code on the lamp, 0 when it is steady: a fault's code first, else 70 plus the first reason why not.
    pub fn code(&self) -> u8 {
        self.code
    }

    /// One period.
    pub fn step(&mut self, inputs: &PanelInputs) -> Outputs {
        self.code = if inputs.fault_code != 0 {
            inputs.fault_code
        } else if inputs.why_not.is_empty() {
            0
        } else {
            70_u8.saturating_add(Reason::first(inputs.why_not).bit())
        };
        let flash = self.waiting.step(inputs.waiting != Station::None);
        let lamp = |station: Station| {
            if inputs.waiting == station { flash } else { inputs.station == station }
        };
        Outputs {
            coil_supply: inputs.coil_supply,
            start_permit: inputs.crank,
            park_brake_valve: inputs.brake_open && inputs.coil_supply,
            reverse_alarm: inputs.drive < REVERSE_TRAVEL || inputs.travel.or(Rpm::ZERO) < REVERSE_SPEED,
            status_lamp: self.code == 0 || self.blink.step(self.code),
            left_station_lamp: lamp(Station::Left),
            right_station_lamp: lamp(Station::Right),
            vibration_lamp: self.vibration.step(!inputs.vibrates) && inputs.vibration_on || inputs.vibrates,
        }
    }
}
