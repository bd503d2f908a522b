//! Auxiliary flow that goes on without a hand on the wheel.

use core::fmt;

use crate::quantity::{Permille, Ratio};

/// Rules of a [`ContinuousFlow`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ContinuousFlowConfig {
    /// Flow when started with the wheel neutral, 10 to 1000 ‰, positive direction.
    pub flow: Permille,
    /// Wheel positions within this are neutral, 10 to 300 ‰.
    pub neutral: Permille,
}

/// Why a [`ContinuousFlowConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ContinuousFlowConfigError {
    /// The flow is outside 10 to 1000 ‰.
    Flow(Permille),
    /// The neutral band is outside 10 to 300 ‰.
    Neutral(Permille),
}

impl fmt::Display for ContinuousFlowConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Flow(given) => {
                write!(formatter, "continuous flow of {} ‰: set 10 ‰ to 1000 ‰", given.raw())
            }
            Self::Neutral(given) => {
                write!(formatter, "neutral band of the wheel of {} ‰: set 10 ‰ to 300 ‰", given.raw())
            }
        }
    }
}

impl core::error::Error for ContinuousFlowConfigError {}

/// What a [`ContinuousFlow`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ContinuousFlowInputs {
    /// The button was pressed now: its rising edge.
    pub toggle: bool,
    /// Position of the wheel.
    pub wheel: Ratio,
    /// The auxiliary group is permitted.
    pub permitted: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Mode {
    /// The wheel is to come to neutral before it counts.
    Waiting,
    /// The wheel decides.
    Proportional,
    /// The flow goes on.
    Continuous(Ratio),
}

/// Auxiliary flow by the wheel, or going on by itself.
///
/// The button, while permitted, makes the present flow go on; with the wheel neutral, the configured one. It ends with the
/// button, with the wheel turned beyond neutral against the flow, and with the permission: then, as after construction,
/// nothing flows until the wheel was neutral with permission. A button press without permission is dropped.
///
#[doc = include_str!("../../docs/work-continuous_flow.svg")]
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::work::{ContinuousFlow, ContinuousFlowConfig, ContinuousFlowInputs};
///
/// let config = ContinuousFlowConfig { flow: Permille::new(800).unwrap(), neutral: Permille::new(50).unwrap() };
/// let mut auxiliary = ContinuousFlow::new(config).unwrap();
/// let neutral = ContinuousFlowInputs { permitted: true, ..Default::default() };
///
/// assert_eq!(auxiliary.step(neutral), Ratio::ZERO);
/// auxiliary.step(ContinuousFlowInputs { toggle: true, ..neutral });
/// assert_eq!(auxiliary.step(neutral).to_permille().raw(), 800);
/// assert_eq!(auxiliary.step(ContinuousFlowInputs { permitted: false, ..neutral }), Ratio::ZERO);
/// assert_eq!(auxiliary.step(neutral), Ratio::ZERO); // does not come back by itself
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ContinuousFlow {
    flow: Ratio,
    neutral: Ratio,
    mode: Mode,
}

impl ContinuousFlow {
    /// No flow. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`ContinuousFlowConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: ContinuousFlowConfig) -> Result<Self, ContinuousFlowConfigError> {
        if config.flow.raw() < 10 {
            return Err(ContinuousFlowConfigError::Flow(config.flow));
        }
        if config.neutral.raw() < 10 || config.neutral.raw() > 300 {
            return Err(ContinuousFlowConfigError::Neutral(config.neutral));
        }
        Ok(Self {
            flow: Ratio::from_quotient(config.flow.raw() as i64, 1000),
            neutral: Ratio::from_quotient(config.neutral.raw() as i64, 1000),
            mode: Mode::Waiting,
        })
    }

    /// Other values for the next start; a flow that goes on stays.
    ///
    /// # Errors
    ///
    /// [`ContinuousFlowConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ContinuousFlowConfig) -> Result<(), ContinuousFlowConfigError> {
        *self = Self { mode: self.mode, ..Self::new(config)? };
        Ok(())
    }

    /// No flow until the wheel was neutral.
    pub fn reset(&mut self) {
        self.mode = Mode::Waiting;
    }

    /// One period: the intent of the auxiliary spool, [-1, 1], zero within the neutral band of the wheel.
    pub fn step(&mut self, inputs: ContinuousFlowInputs) -> Ratio {
        let neutral = inputs.wheel.magnitude() <= self.neutral;
        let wheel = if neutral { Ratio::ZERO } else { inputs.wheel };
        self.mode = if !inputs.permitted {
            Mode::Waiting
        } else {
            match self.mode {
                Mode::Continuous(flow) if inputs.toggle || wheel.opposite_direction(flow) => Mode::Waiting,
                Mode::Continuous(flow) => Mode::Continuous(flow),
                Mode::Proportional if inputs.toggle && neutral => Mode::Continuous(self.flow),
                Mode::Proportional if inputs.toggle => Mode::Continuous(wheel),
                Mode::Waiting | Mode::Proportional if neutral => Mode::Proportional,
                waiting_or_proportional => waiting_or_proportional,
            }
        };
        match self.mode {
            Mode::Waiting => Ratio::ZERO,
            Mode::Proportional => wheel,
            Mode::Continuous(flow) => flow,
        }
    }

    /// True while the flow goes on by itself.
    pub const fn is_continuous(&self) -> bool {
        matches!(self.mode, Mode::Continuous(_))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const CONFIG: ContinuousFlowConfig =
        ContinuousFlowConfig { flow: Permille::new(800).unwrap(), neutral: Permille::new(50).unwrap() };

    fn stream() -> impl Strategy<Value = Vec<ContinuousFlowInputs>> {
        let wheel = prop_oneof![Just(0i32), -60i32..=60, -1000i32..=1000];
        let inputs = (prop::bool::weighted(0.2), wheel, prop::bool::weighted(0.9)).prop_map(
            |(toggle, wheel, permitted)| ContinuousFlowInputs {
                toggle,
                wheel: Ratio::from_permille(wheel).unwrap(),
                permitted,
            },
        );
        proptest::collection::vec(inputs, 1..80)
    }

    fn is_neutral(wheel: Ratio) -> bool {
        wheel.to_permille().raw().abs() <= 50
    }

    proptest! {
        #[test]
        fn without_permission_nothing_flows_and_nothing_comes_back_before_the_wheel_was_neutral(stream in stream()) {
            let mut auxiliary = ContinuousFlow::new(CONFIG).unwrap();
            let mut was_neutral = false;
            for inputs in stream {
                let flow = auxiliary.step(inputs);
                was_neutral = inputs.permitted && (was_neutral || is_neutral(inputs.wheel));
                prop_assert!(was_neutral || flow.is_zero());
                prop_assert!(inputs.permitted || !auxiliary.is_continuous());
            }
        }

        #[test]
        fn flow_goes_on_only_from_a_button_press_until_the_button_or_the_wheel_against_it(stream in stream()) {
            let mut auxiliary = ContinuousFlow::new(CONFIG).unwrap();
            let mut last = Ratio::ZERO;
            for inputs in stream {
                let before = auxiliary.is_continuous();
                let flow = auxiliary.step(inputs);
                let against = !is_neutral(inputs.wheel) && inputs.wheel.opposite_direction(last);
                if before {
                    prop_assert_eq!(auxiliary.is_continuous(), inputs.permitted && !inputs.toggle && !against);
                    prop_assert_eq!(flow, if auxiliary.is_continuous() { last } else { Ratio::ZERO });
                } else {
                    prop_assert!(!auxiliary.is_continuous() || inputs.toggle);
                    let wheel = if is_neutral(inputs.wheel) { Ratio::ZERO } else { inputs.wheel };
                    prop_assert!(auxiliary.is_continuous() || flow == wheel || flow.is_zero());
                }
                last = flow;
            }
        }
    }

    #[test]
    fn the_button_keeps_the_flow_that_the_wheel_gives() {
        let mut auxiliary = ContinuousFlow::new(CONFIG).unwrap();
        let neutral = ContinuousFlowInputs { permitted: true, ..Default::default() };
        auxiliary.step(neutral);
        let wheel = Ratio::from_permille(-300).unwrap();
        auxiliary.step(ContinuousFlowInputs { wheel, toggle: true, ..neutral });
        assert_eq!(auxiliary.step(neutral), wheel);
        auxiliary.reset();
        assert_eq!(auxiliary.step(ContinuousFlowInputs { wheel, ..neutral }), Ratio::ZERO);
    }

    #[test]
    fn with_the_wheel_neutral_the_button_starts_the_configured_flow() {
        let mut auxiliary = ContinuousFlow::new(CONFIG).unwrap();
        let neutral = ContinuousFlowInputs { permitted: true, ..Default::default() };
        auxiliary.step(neutral);
        assert_eq!(auxiliary.step(ContinuousFlowInputs { toggle: true, ..neutral }), CONFIG.flow.into());
        assert_eq!(auxiliary.step(neutral), CONFIG.flow.into());
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let neutral = Permille::new(301).unwrap();
        let error = ContinuousFlow::new(ContinuousFlowConfig { neutral, ..CONFIG }).unwrap_err();
        assert_eq!(error, ContinuousFlowConfigError::Neutral(neutral));
        assert_eq!(std::format!("{error}"), "neutral band of the wheel of 301 ‰: set 10 ‰ to 300 ‰");
    }

    four_verbs! {
        new: ContinuousFlow::new,
        configs: (CONFIG, ContinuousFlowConfig { flow: Permille::new(500).unwrap(), neutral: Permille::new(120).unwrap() }),
        accepted: [
            ContinuousFlowConfig { flow: Permille::new(10).unwrap(), neutral: Permille::new(10).unwrap() },
            ContinuousFlowConfig { flow: Permille::new(1000).unwrap(), neutral: Permille::new(300).unwrap() },
        ],
        refused: [
            ContinuousFlowConfig { flow: Permille::new(9).unwrap(), neutral: Permille::new(10).unwrap() } => "continuous flow of 9 ‰: set 10 ‰ to 1000 ‰",
            ContinuousFlowConfig { flow: Permille::new(10).unwrap(), neutral: Permille::new(9).unwrap() } => "neutral band of the wheel of 9 ‰: set 10 ‰ to 300 ‰",
            ContinuousFlowConfig { flow: Permille::new(10).unwrap(), neutral: Permille::new(301).unwrap() } => "neutral band of the wheel of 301 ‰: set 10 ‰ to 300 ‰",
        ],
        inputs: (prop::bool::weighted(0.2), prop_oneof![Just(0), -130..=130, -1000..=1000], prop::bool::weighted(0.9)).prop_map(
            |(toggle, wheel, permitted)| ContinuousFlowInputs { toggle, wheel: Ratio::from_permille(wheel).unwrap(), permitted }
        ),
        step: |block, inputs| (block.step(inputs), block.is_continuous()),
        reset: |block| block.reset(),
    }
}
