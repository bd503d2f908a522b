//! The controller on the bus: who it is there, what a tester reads, and what becomes of what a tester asks.

mod shown;

use heapless::Vec;
use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::fault::LogEntry;
use trunnion::machine::Boot;
use trunnion_can::bus_slot::BusSlot;
use trunnion_can::frame::Frame;
use trunnion_can::name::{MayMove, Name, NameFields};
use trunnion_service::access::AccessBoot;
use trunnion_service::level::Standing;
use trunnion_service::log_keeper::LogKeeper;
use trunnion_service::negative::Negative;
use trunnion_service::routine::TrimInUse;
use trunnion_service::served::{Action, BoxOrder};
use trunnion_service::station::{Arrived, Station, StationConfig};
use trunnion_service::work::WorkDone;

use super::{Control, PERIOD};
use crate::declaration::{Fault, Inputs, Outputs, Parameter, Parameters};

use self::shown::{Decimal, Shown};

/// Bytes of a request: 16 identifiers, or an access code.
const REQUEST: usize = 64;
/// Bytes of an answer: the list of all faults.
const ANSWER: usize = 3 + 4 * Fault::COUNT;
/// Bytes of DM1: twenty codes, more of which nobody reads at once.
const MESSAGE: usize = 2 + 4 * 20;

/// Words of 32 faults.
const FAULT_WORDS: usize = Fault::COUNT.div_ceil(32);

/// The station, and the parameters as they are.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Bus {
    station: Station<Parameters, REQUEST, ANSWER, MESSAGE, FAULT_WORDS>,
    /// In effect.
    parameters: Parameters,
    box_order: Option<BoxOrder>,
    serial: u32,
    serial_text: Decimal,
    keeper: LogKeeper<{ Fault::COUNT }>,
}

fn station(parameters: &Parameters, serial: u32) -> Result<StationConfig, Refusal> {
    let name = Name::new(NameFields {
        identity: serial & 0x1F_FFFF,
        // An invented maker has no code.
        manufacturer: 0x7FF,
        controller_instance: 0,
        function_instance: 0,
        // The first of those that an industry group and vehicle system give a meaning to.
        function: 128,
        vehicle_system: 0,
        vehicle_system_instance: 0,
        industry_group: 3,
        may_move: MayMove::Yes,
    })
    .map_err(|_| refuse(parameters))?;
    Ok(StationConfig { name, address: parameters.controller_address() })
}

fn refuse(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::controller_address, "is no address")
}

impl Bus {
    /// Before the first step.
    pub fn new(boot: &Boot<Parameters>) -> Result<Self, Refusal> {
        let parameters = boot.parameters;
        let access = AccessBoot { attempts: boot.wrong_codes, start: boot.starts };
        Ok(Self {
            station: Station::new(station(&parameters, boot.serial)?, access, PERIOD)
                .map_err(|_| refuse(&parameters))?,
            parameters,
            box_order: None,
            serial: boot.serial,
            serial_text: Decimal::of(boot.serial),
            keeper: LogKeeper::new(PERIOD),
        })
    }

    /// Takes new parameters; conversation and session go on unless the address changes.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let config = station(parameters, self.serial)?;
        self.station.reconfigure(config).map_err(|_| refuse(parameters))?;
        self.parameters = *parameters;
        Ok(())
    }

    /// In effect.
    pub const fn parameters(&self) -> &Parameters {
        &self.parameters
    }

    /// What a tester asked of the black box in the last period, once.
    pub const fn take_box_order(&mut self) -> Option<BoxOrder> {
        self.box_order.take()
    }

    /// What the black box gives.
    pub fn answer_box(&mut self, bytes: Result<&[u8], Negative>) {
        self.station.server_mut().answer_box(bytes);
    }

    /// The set that a tester committed in the last period, once.
    pub const fn take_committed(&mut self) -> Option<Parameters> {
        self.station.take_committed()
    }
}

impl Control {
    /// The last thing in a period: what came over the bus is answered, and begins to count in the next one.
    pub(super) fn talk(&mut self, inputs: &Inputs, outputs: &mut Outputs, standing: Standing) {
        let frames;
        let came = Arrived {
            frames: if has_arrived(inputs) {
                frames = arrived(inputs);
                &frames
            } else {
                &[]
            },
            bus_off: inputs.bus_off,
            work: WorkDone {
                report: inputs.work_report,
                number: inputs.work_report_number,
                item: inputs.work_report_item,
            },
            entropy: inputs.entropy,
        };
        let shown = Shown {
            parameters: &self.bus.parameters,
            diagnostics: &self.diagnostics,
            inputs,
            outputs,
            faults: &self.faults,
            log: &self.log,
            keeper: &self.bus.keeper,
            motion: &self.motion,
            serial: self.bus.serial_text.bytes(),
            standing,
        };
        let mut outbox = Vec::<Frame, 4>::new();
        if let (Some(own), false) = (self.bus.station.address(), inputs.bus_off)
            && let Some(frame) = self.engine_request.frame(self.bus.parameters.engine_address(), own)
        {
            // The outbox is empty: the engine comes before the station.
            let _ = outbox.push(frame);
        }
        let action = self.bus.station.step(&shown, &came, &mut outbox);
        if action != Action::None {
            self.act(action);
        }
        self.bus.keeper.step(&mut self.log, standing.at_rest, self.bus.station.server_mut());
        let order = self.bus.station.server().order();
        outputs.work_kind = order.kind;
        outputs.work_number = order.number;
        outputs.work_place = order.place;
        outputs.work_item = order.item;
        send(&outbox, outputs);
    }

    /// Seldom: kept out of the way of the period in which nothing is asked.
    #[cold]
    #[inline(never)]
    fn act(&mut self, action: Action) {
        match action {
            // The set waits in the station until it is taken.
            Action::None | Action::Commit => {}
            Action::ClearFaults(Some(place)) => self.clear_fault(place),
            Action::ClearFaults(None) => (0..Fault::COUNT as u16).for_each(|place| self.clear_fault(place)),
            Action::ClearPreviousFaults => {
                for place in 0..Fault::COUNT as u16 {
                    if !self.faults.is_place_active(place) {
                        self.clear_fault(place);
                    }
                }
            }
            Action::Start(id) => {
                let parameters = &self.bus.parameters;
                let trims = TrimInUse { left: parameters.left_trim(), right: parameters.right_trim() };
                self.motion.start(id, trims);
            }
            Action::Stop(_) => self.motion.stop(),
            Action::Control { id, value } => self.motion.control(id, value),
            Action::Release(_) => self.motion.release(),
            Action::Box(order) => self.bus.box_order = Some(order),
        }
    }
}

impl Control {
    fn clear_fault(&mut self, place: u16) {
        self.bus.keeper.clear(&mut self.log, place);
    }

    /// First, last and count of a fault, as far as the stored log reaches back.
    pub fn fault_entry(&self, place: u16) -> LogEntry {
        self.bus.keeper.entry(&self.log, place)
    }
}

/// Something came that is no declared message.
fn has_arrived(inputs: &Inputs) -> bool {
    let heads = [
        inputs.bus_in_1_head,
        inputs.bus_in_2_head,
        inputs.bus_in_3_head,
        inputs.bus_in_4_head,
        inputs.bus_in_5_head,
        inputs.bus_in_6_head,
        inputs.bus_in_7_head,
        inputs.bus_in_8_head,
    ];
    heads.iter().fold(0, |any, head| any | head) != 0
}

/// Seldom: kept out of the way of the period in which nothing comes.
#[cold]
#[inline(never)]
fn arrived(inputs: &Inputs) -> [Option<Frame>; 8] {
    let slots = [
        (inputs.bus_in_1_head, inputs.bus_in_1_data),
        (inputs.bus_in_2_head, inputs.bus_in_2_data),
        (inputs.bus_in_3_head, inputs.bus_in_3_data),
        (inputs.bus_in_4_head, inputs.bus_in_4_data),
        (inputs.bus_in_5_head, inputs.bus_in_5_data),
        (inputs.bus_in_6_head, inputs.bus_in_6_data),
        (inputs.bus_in_7_head, inputs.bus_in_7_data),
        (inputs.bus_in_8_head, inputs.bus_in_8_data),
    ];
    let mut frames = [None; 8];
    for (frame, (head, data)) in frames.iter_mut().zip(slots) {
        *frame = BusSlot { head, data }.frame();
    }
    frames
}

fn send(outbox: &Vec<Frame, 4>, outputs: &mut Outputs) {
    let slot = |place: usize| BusSlot::of(outbox.get(place));
    let [a, b, c, d] = [slot(0), slot(1), slot(2), slot(3)];
    (outputs.bus_out_1_head, outputs.bus_out_1_data) = (a.head, a.data);
    (outputs.bus_out_2_head, outputs.bus_out_2_data) = (b.head, b.data);
    (outputs.bus_out_3_head, outputs.bus_out_3_data) = (c.head, c.data);
    (outputs.bus_out_4_head, outputs.bus_out_4_data) = (d.head, d.data);
}
