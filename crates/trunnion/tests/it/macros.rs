//! Declarations take the visibility that they are given, inside of a function as well as in a module.

use trunnion::declare::{FaultSet, Field, Latch, ParameterSet, Reactions, Record, Wire};
use trunnion::quantity::{Milliamps, Millis, Rpm};

mod declared {
    use super::*;

    trunnion::choices! {
        /// A choice.
        pub(crate) enum Way {
            /// One.
            Ahead = "ahead",
            /// Other.
            Back = "back",
        }
    }

    trunnion::signals! {
        /// Some signals.
        pub(super) struct Inputs, pub(super) enum Input {
            /// A button.
            button: bool = false, at "X1:1", Wire::SwitchToSupply;
            /// A speed.
            speed: Rpm = Rpm::ZERO;
        }
    }

    trunnion::parameters! {
        /// Some parameters.
        pub(super) struct Parameters, pub(super) enum Parameter {
            /// A time.
            0x0100 ramp: Millis = 500, in 100..=1000, trunnion::declare::Access::Tune;
        }
    }

    trunnion::faults! {
        /// Some faults.
        pub(super) enum Fault {
            /// A coil is open. Check its plug.
            CoilOpen: spn 520_200, fmi 5, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 21, "coil, X2:1";
        }
    }

    trunnion::coils! {
        /// Some coils.
        pub(super) enum Coil, pub(super) struct SetPoints, pub(super) struct Currents, pub(super) struct Duties {
            /// One.
            raise: "X4:1", sense "X4:2";
        }
    }
}

#[test]
fn declarations_are_as_visible_as_they_are_asked_to_be() {
    use declared::{Coil, Fault, Input, Inputs, Parameter, Parameters, SetPoints, Way};
    assert_eq!(Way::from_raw(1), Some(Way::Back));
    assert_eq!((Inputs::FIELDS.len(), Input::speed as usize), (2, 1));
    assert_eq!(Parameters::default().raw(Parameter::ramp as u16), 500);
    assert_eq!(Fault::RULES.len(), 1);
    let asked = SetPoints::from_currents([Milliamps::saturating(400); Coil::COUNT]);
    assert_eq!(asked.raise, Milliamps::saturating(400));
}

#[test]
fn a_choice_can_be_declared_where_it_is_used() {
    trunnion::choices! {
        /// Only here.
        enum Here {
            /// One.
            One = "one",
            /// Other.
            Other = "other",
        }
    }
    assert_eq!(Here::ALL.len(), 2);
    assert_eq!(Here::held(9), Here::Other);
}
