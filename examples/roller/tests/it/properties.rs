//! What must hold over arbitrary input streams.

use proptest::prelude::*;
use roller::declaration::{Diagnostics, Inputs, Parameters};
use trunnion::declare::Record;
use trunnion::guard::GateState;
use trunnion::machine::Machine;
use trunnion::quantity::Ratio;
use trunnion::valve::StartUpState;

use crate::cab::{Cab, Hand};

/// Something that happens to the controller.
#[derive(Debug, Clone)]
enum Happening {
    Hands([Hand; 2]),
    Seats(bool, bool),
    Vibration,
    Travel(f64),
    Wire { index: u16, raw: i64 },
    Garbage { index: u16, raw: i64, periods: u8 },
    Enable,
}

fn hand() -> impl Strategy<Value = Hand> {
    let position = || prop_oneof![2 => Just(0), 3 => -1000..=1000];
    (position(), position()).prop_map(|(drive, steer)| Hand { drive, steer })
}

fn happening() -> impl Strategy<Value = Happening> {
    let wires = 0..Inputs::FIELDS.len() as u16;
    let raw = prop_oneof![Just(0_i64), Just(1), 0..36_000_i64, any::<i64>()];
    prop_oneof![
        6 => [hand(), hand()].prop_map(Happening::Hands),
        2 => any::<(bool, bool)>().prop_map(|(left, right)| Happening::Seats(left, right)),
        2 => Just(Happening::Vibration),
        3 => (-2_000.0..2_000.0).prop_map(Happening::Travel),
        2 => Just(Happening::Travel(0.0)),
        2 => (wires.clone(), raw.clone()).prop_map(|(index, raw)| Happening::Wire { index, raw }),
        2 => (wires, raw, 1..40_u8).prop_map(|(index, raw, periods)| Happening::Garbage { index, raw, periods }),
        4 => Just(Happening::Enable),
    ]
}

fn story() -> impl Strategy<Value = Vec<(Happening, u8)>> {
    proptest::collection::vec((happening(), 1..100_u8), 1..14)
}

/// Remembers what the rules look back at.
struct Watch {
    neutral_for: u32,
    before: Diagnostics,
    emergency_stop_for: u32,
}

impl Watch {
    fn new(cab: &Cab) -> Self {
        let before = cab.stepper.machine().diagnostics();
        Self { neutral_for: if before.drive_neutral { 1_000 } else { 0 }, before, emergency_stop_for: 0 }
    }

    fn check(&mut self, cab: &Cab) -> Result<(), TestCaseError> {
        let now = cab.stepper.machine().diagnostics();
        self.currents(cab, &now)?;
        self.permission(&now)?;
        self.stop(cab)?;
        prop_assert!(now.station == self.before.station || now.may_hand_over && self.before.standstill);
        prop_assert!(
            now.vibration_command.magnitude() <= self.before.vibration_command.magnitude()
                || now.permission_drive && now.vibration_on
        );
        prop_assert!(now.steer_asked.magnitude() <= now.steer_intent.magnitude());
        self.before = now;
        Ok(())
    }

    fn currents(&self, cab: &Cab, now: &Diagnostics) -> Result<(), TestCaseError> {
        let set = cab.set_points().currents();
        let pulse = now.self_test == StartUpState::Coils;
        let gates = [now.gate_drive, now.gate_steer, now.gate_vibration];
        for (pair, gate) in set.chunks(2).zip(gates) {
            let most = match (gate, pulse) {
                (GateState::Open, _) => 1_500,
                (_, true) => 300,
                _ => 0,
            };
            prop_assert!(pair.iter().all(|current| current.raw() <= most), "{pair:?} behind {gate:?}");
        }
        let drives =
            set.iter().take(2).any(|current| current.raw() > 0) && now.self_test == StartUpState::Done;
        prop_assert!(!drives || cab.outputs.park_brake_valve, "drives against its brake");
        for pair in cab.fast_outputs.duties().chunks(2) {
            prop_assert!(pair.iter().any(|duty| duty.raw() == 0), "both coils of a pair");
        }
        Ok(())
    }

    fn permission(&mut self, now: &Diagnostics) -> Result<(), TestCaseError> {
        self.neutral_for = if now.drive_neutral { self.neutral_for + 1 } else { 0 };
        if now.permission_drive && !self.before.permission_drive {
            prop_assert!(self.neutral_for >= 20, "permission after {} neutral periods", self.neutral_for);
        }
        prop_assert_eq!(now.permission_drive, now.why_not_drive_all == 0);
        prop_assert_eq!(now.permission_steer, now.why_not_steer_all == 0);
        prop_assert_eq!(now.permission_vibration, now.why_not_vibration_all == 0);
        prop_assert!(
            now.permission_drive || now.drive_command.magnitude() <= self.before.drive_command.magnitude()
        );
        prop_assert!(
            now.permission_steer || now.steer_command.magnitude() <= self.before.steer_command.magnitude()
        );
        Ok(())
    }

    fn stop(&mut self, cab: &Cab) -> Result<(), TestCaseError> {
        let released = cab.inputs.emergency_stop_first && cab.inputs.emergency_stop_second;
        self.emergency_stop_for = if released { 0 } else { self.emergency_stop_for + 1 };
        if self.emergency_stop_for > 0 {
            prop_assert!(!cab.outputs.coil_supply && !cab.outputs.park_brake_valve);
            prop_assert!(cab.set_points().currents().iter().all(|current| current.raw() == 0));
        }
        Ok(())
    }
}

fn happen(cab: &mut Cab, happening: &Happening, watch: &mut Watch) -> Result<(), TestCaseError> {
    let held = |cab: &mut Cab, periods: u8, watch: &mut Watch| -> Result<(), TestCaseError> {
        for _ in 0..periods {
            cab.hold();
            cab.step();
            watch.check(cab)?;
        }
        Ok(())
    };
    match *happening {
        Happening::Hands(hands) => cab.hands = hands,
        Happening::Seats(left, right) => {
            cab.inputs.left_seat_occupied = left;
            cab.inputs.right_seat_occupied = right;
        }
        Happening::Vibration => {
            cab.inputs.vibration_button = true;
            held(cab, 8, watch)?;
            cab.inputs.vibration_button = false;
        }
        Happening::Travel(rpm) => cab.travel_rpm = rpm,
        Happening::Wire { index, raw } => {
            cab.inputs.set(index, raw);
        }
        Happening::Garbage { index, raw, periods } => {
            let good = cab.inputs.get(index);
            for period in 0..periods {
                cab.hold();
                cab.inputs.set(index, raw.wrapping_mul(i64::from(period)));
                cab.step();
                watch.check(cab)?;
            }
            cab.inputs.set(index, good);
        }
        Happening::Enable => {
            cab.inputs.enable_button = true;
            held(cab, 8, watch)?;
            cab.inputs.enable_button = false;
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn nothing_moves_without_permission_and_every_stop_is_safe(warm in any::<bool>(), story in story()) {
        let mut cab = Cab::new(Parameters::default());
        if warm {
            cab.permit();
        }
        let mut watch = Watch::new(&cab);
        for (happening, periods) in &story {
            happen(&mut cab, happening, &mut watch)?;
            for _ in 0..*periods {
                cab.hold();
                cab.step();
                watch.check(&cab)?;
            }
        }
    }

    #[test]
    fn both_stations_and_both_ways_of_steering_are_alike(drive in -1000..=1000, steer in -1000..=1000) {
        let command = |station: usize, steer: i32| {
            let mut cab = Cab::new(Parameters::default());
            cab.inputs.left_seat_occupied = station == 0;
            cab.inputs.right_seat_occupied = station == 1;
            cab.permit();
            cab.hands[station] = Hand { drive, steer };
            cab.run(1_500);
            let now = cab.stepper.machine().diagnostics();
            (now.drive_command, now.steer_command)
        };
        let (drive_left, steer_left) = command(0, steer);
        prop_assert_eq!((drive_left, steer_left), command(1, steer));
        prop_assert_eq!((drive_left, steer_left.reversed()), command(0, -steer));
        prop_assert!(steer_left == Ratio::ZERO || (steer_left > Ratio::ZERO) == (steer > 0));
    }

    #[test]
    fn the_same_inputs_give_the_same_bits(story in story()) {
        let run = || {
            let mut cab = Cab::new(Parameters::default());
            cab.permit();
            for (happening, periods) in &story {
                match happening {
                    Happening::Hands(hands) => cab.hands = *hands,
                    Happening::Travel(rpm) => cab.travel_rpm = *rpm,
                    Happening::Wire { index, raw } | Happening::Garbage { index, raw, .. } => {
                        cab.inputs.set(*index, *raw);
                    }
                    _ => cab.enable(),
                }
                cab.run(u32::from(*periods) * 10);
            }
            (cab.stepper.machine().diagnostics(), cab.set_points(), cab.outputs)
        };
        prop_assert_eq!(run(), run());
    }
}
