//! The float of the boom.

use core::fmt;

use crate::quantity::{Permille, Ratio};

/// Rules of a [`Float`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FloatConfig {
    /// Raise beyond this ends float, and float does not begin beyond it, 10 to 500 ‰.
    pub raise: Permille,
}

/// Why a [`FloatConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FloatConfigError {
    /// The raise is outside 10 to 500 ‰.
    Raise(Permille),
}

impl fmt::Display for FloatConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Raise(given) = self;
        write!(formatter, "float ends at a raise of {} ‰: set 10 ‰ to 500 ‰", given.raw())
    }
}

impl core::error::Error for FloatConfigError {}

/// What a [`Float`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FloatInputs {
    /// The button was pressed now: its rising edge.
    pub request: bool,
    /// Boom intent, raise positive.
    pub lever: Ratio,
    /// The work group is permitted.
    pub permitted: bool,
}

/// Lets the boom follow the ground until it is raised.
///
/// On with the button while permitted and the lever is neutral or lowering; off with the button, with the lever
/// raising, or with the permission, and then it stays off: it needs the button again. Off at construction.
///
#[doc = include_str!("../../docs/work-float.svg")]
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::work::{Float, FloatConfig, FloatInputs};
///
/// let mut float = Float::new(FloatConfig { raise: Permille::new(100).unwrap() }).unwrap();
/// let neutral = FloatInputs { permitted: true, ..Default::default() };
///
/// assert!(float.step(FloatInputs { request: true, ..neutral }));
/// assert!(float.step(neutral));
/// assert!(!float.step(FloatInputs { lever: Ratio::ONE, ..neutral }));
/// assert!(!float.step(neutral));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Float {
    raise: Ratio,
    on: bool,
}

impl Float {
    /// Off. Refuses a raise outside 10 to 500 ‰.
    ///
    /// # Errors
    ///
    /// [`FloatConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: FloatConfig) -> Result<Self, FloatConfigError> {
        if config.raise.raw() < 10 || config.raise.raw() > 500 {
            return Err(FloatConfigError::Raise(config.raise));
        }
        Ok(Self { raise: Ratio::from_quotient(config.raise.raw() as i64, 1000), on: false })
    }

    /// Another raise; float stays as it is until the next step.
    ///
    /// # Errors
    ///
    /// [`FloatConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: FloatConfig) -> Result<(), FloatConfigError> {
        *self = Self { on: self.on, ..Self::new(config)? };
        Ok(())
    }

    /// Off.
    pub fn reset(&mut self) {
        self.on = false;
    }

    /// One period: true while the boom floats.
    pub fn step(&mut self, inputs: FloatInputs) -> bool {
        let may_float = inputs.permitted && inputs.lever <= self.raise;
        self.on = may_float && (self.on != inputs.request);
        self.on
    }

    /// True while the boom floats.
    pub const fn is_on(&self) -> bool {
        self.on
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CONFIG: FloatConfig = FloatConfig { raise: Permille::new(100).unwrap() };

    fn inputs() -> impl Strategy<Value = FloatInputs> {
        (any::<bool>(), -1000i32..=1000, prop::bool::weighted(0.9)).prop_map(|(request, lever, permitted)| {
            FloatInputs { request, lever: Ratio::from_permille(lever).unwrap(), permitted }
        })
    }

    proptest! {
        #[test]
        fn float_needs_permission_and_no_raise_and_begins_only_with_the_button(
            stream in proptest::collection::vec(inputs(), 1..60)
        ) {
            let mut float = Float::new(CONFIG).unwrap();
            for inputs in stream {
                let before = float.is_on();
                let on = float.step(inputs);
                prop_assert!(!on || (inputs.permitted && inputs.lever.to_permille().raw() <= 100));
                prop_assert!(!on || before != inputs.request);
                let undisturbed = inputs.permitted && inputs.lever.to_permille().raw() <= 100;
                prop_assert!(!undisturbed || on == (before != inputs.request));
            }
        }
    }

    #[test]
    fn a_raise_outside_its_range_is_refused_with_the_range() {
        let raise = Permille::new(9).unwrap();
        let error = Float::new(FloatConfig { raise }).unwrap_err();
        assert_eq!(std::format!("{error}"), "float ends at a raise of 9 ‰: set 10 ‰ to 500 ‰");
    }

    four_verbs! {
        new: Float::new,
        configs: (CONFIG, FloatConfig { raise: Permille::new(300).unwrap() }),
        accepted: [
            FloatConfig { raise: Permille::new(10).unwrap() },
            FloatConfig { raise: Permille::new(500).unwrap() },
        ],
        refused: [
            FloatConfig { raise: Permille::new(9).unwrap() } => "float ends at a raise of 9 ‰: set 10 ‰ to 500 ‰",
            FloatConfig { raise: Permille::new(501).unwrap() } => "float ends at a raise of 501 ‰: set 10 ‰ to 500 ‰",
        ],
        inputs: inputs(),
        step: |block, inputs| (block.step(inputs), block.is_on()),
        reset: |block| block.reset(),
    }
}
