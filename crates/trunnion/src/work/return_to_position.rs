//! A cylinder that finds its position by itself.

use core::fmt;

use crate::quantity::{Divisor, Millis, Period, Permille, Ratio};
use crate::sense::Reading;

/// Rules of a [`ReturnToPosition`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ReturnToPositionConfig {
    /// Where it ends, 0 to 1000 ‰ of the stroke.
    pub position: Permille,
    /// So near counts as there, 2 to 100 ‰.
    pub window: Permille,
    /// From this distance on it slows down, above `window` up to 500 ‰.
    pub approach: Permille,
    /// Command on the way, 50 to 1000 ‰.
    pub speed: Permille,
    /// Command when it arrives, 10 ‰ to `speed`.
    pub end_speed: Permille,
    /// The lever is let go of within this band, and cancels beyond it, 10 to 300 ‰.
    pub neutral: Permille,
    /// It gives up after this time, 100 ms to 60 s.
    pub time_out: Millis,
}

/// Why a [`ReturnToPositionConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ReturnToPositionConfigError {
    /// A share is outside its range.
    Share {
        /// Which one.
        name: &'static str,
        /// What was asked for.
        given: Permille,
        /// The least that is allowed.
        least: Permille,
        /// The most that is allowed.
        most: Permille,
    },
    /// The time-out is outside 100 ms to 60 s.
    TimeOut(Millis),
}

impl fmt::Display for ReturnToPositionConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Share { name, given, least, most } => {
                write!(formatter, "{name} of {} ‰: set {} ‰ to {} ‰", given.raw(), least.raw(), most.raw())
            }
            Self::TimeOut(given) => write!(
                formatter,
                "time-out of {given}: set {} to {}",
                ReturnToPosition::SHORTEST_TIME_OUT,
                ReturnToPosition::LONGEST_TIME_OUT
            ),
        }
    }
}

impl core::error::Error for ReturnToPositionConfigError {}

/// What a [`ReturnToPosition`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ReturnInputs {
    /// The function may move.
    pub permitted: bool,
    /// The detent was reached or the button pressed: a rising edge.
    pub request: bool,
    /// What the lever asks for.
    pub lever: Ratio,
    /// Where the cylinder is, 0 to 1.
    pub position: Reading<Ratio>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Mode {
    /// The lever works the cylinder.
    Lever,
    /// On its way; the lever has not been let go of yet.
    Asked,
    /// On its way by itself.
    Returning,
}

/// Return-to-dig, return-to-carry, lift kick-out: one request, and the cylinder goes to a set position and stops there.
///
/// - It begins with a request while permitted and with a valid position, and ends there: within the window, or once it has passed it.
/// - Until the lever is first let go of, it keeps the lever of the detent from cancelling; afterwards every lever
///   beyond neutral cancels at once, and so does a new request.
/// - A loss of permission, a position without a valid reading and the time-out end it too, and nothing comes back by
///   itself. When it ends with the lever still at its detent, the lever works again only after it was let go of.
/// - The command falls on a straight line from `speed` at `approach` to `end_speed` at the window, and never points away from the position.
///
#[doc = include_str!("../../docs/work-return_to_position.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Permille, Ratio};
/// use trunnion::sense::Reading;
/// use trunnion::work::{ReturnInputs, ReturnToPosition, ReturnToPositionConfig};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let permille = |raw| Permille::new(raw).unwrap();
/// let config = ReturnToPositionConfig {
///     position: permille(800),
///     window: permille(10),
///     approach: permille(210),
///     speed: permille(900),
///     end_speed: permille(100),
///     neutral: permille(50),
///     time_out: Millis::millis(8_000),
/// };
/// let mut kick_out = ReturnToPosition::new(config, TICK).unwrap();
/// let at = |raw| ReturnInputs {
///     permitted: true,
///     request: false,
///     lever: Ratio::ZERO,
///     position: Reading::Valid(Ratio::from_permille(raw).unwrap()),
/// };
/// assert_eq!(kick_out.step(ReturnInputs { request: true, ..at(300) }).to_permille().raw(), 900);
/// assert_eq!(kick_out.step(at(690)).to_permille().raw(), 500); // half way of the approach
/// assert_eq!(kick_out.step(at(795)), Ratio::ZERO);
/// assert!(!kick_out.is_returning());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ReturnToPosition {
    rules: Rules,
    period: Period,
    mode: Mode,
    /// The direction in which it set out.
    ahead: Ratio,
    ran_for: u32,
    /// The lever is without effect until it was let go of.
    let_go_first: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Rules {
    position: Ratio,
    window: Ratio,
    slowing: Divisor,
    speed: Ratio,
    end_speed: Ratio,
    neutral: Ratio,
    time_out: u32,
}

impl ReturnToPosition {
    /// Shortest time-out.
    pub const SHORTEST_TIME_OUT: Millis = Millis::millis(100);
    /// Longest time-out.
    pub const LONGEST_TIME_OUT: Millis = Millis::millis(60_000);

    /// The lever works. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`ReturnToPositionConfigError`]: which rule the config breaks, with its value.
    pub const fn new(
        config: ReturnToPositionConfig,
        period: Period,
    ) -> Result<Self, ReturnToPositionConfigError> {
        match Rules::of(config, period) {
            Ok(rules) => Ok(Self {
                rules,
                period,
                mode: Mode::Lever,
                ahead: Ratio::ZERO,
                ran_for: 0,
                let_go_first: false,
            }),
            Err(error) => Err(error),
        }
    }

    /// Other rules, also for a return that is under way; one that is now at the other side ends.
    ///
    /// # Errors
    ///
    /// [`ReturnToPositionConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ReturnToPositionConfig) -> Result<(), ReturnToPositionConfigError> {
        self.rules = Rules::of(config, self.period)?;
        Ok(())
    }

    /// Ends a return; the lever works once it was let go of.
    pub fn reset(&mut self) {
        self.end();
    }

    /// One period: the command of the spool.
    pub fn step(&mut self, inputs: ReturnInputs) -> Ratio {
        let neutral = inputs.lever.magnitude() <= self.rules.neutral;
        self.let_go_first = self.let_go_first && !neutral;
        self.mode = match self.mode {
            Mode::Lever if inputs.request && inputs.permitted => self.set_out(neutral, inputs.position),
            Mode::Lever => Mode::Lever,
            _ if inputs.request || !inputs.permitted => self.end(),
            Mode::Returning if !neutral => Mode::Lever,
            Mode::Asked if !neutral => Mode::Asked,
            Mode::Asked | Mode::Returning => Mode::Returning,
        };
        if self.mode != Mode::Lever {
            return self.on_the_way(inputs.position);
        }
        if inputs.permitted && !self.let_go_first { inputs.lever } else { Ratio::ZERO }
    }

    /// True while it moves by itself.
    pub fn is_returning(&self) -> bool {
        self.mode != Mode::Lever
    }

    fn set_out(&mut self, neutral: bool, position: Reading<Ratio>) -> Mode {
        self.ran_for = 0;
        match position {
            Reading::Faulted(_) => self.end(),
            Reading::Valid(position) => {
                self.ahead = self.rules.position.minus(position);
                if neutral { Mode::Returning } else { Mode::Asked }
            }
        }
    }

    fn end(&mut self) -> Mode {
        self.mode = Mode::Lever;
        self.let_go_first = true;
        Mode::Lever
    }

    fn on_the_way(&mut self, position: Reading<Ratio>) -> Ratio {
        let distance = position.valid().map(|position| self.rules.position.minus(position));
        let going = distance.filter(|distance| {
            distance.magnitude() > self.rules.window && distance.same_direction(self.ahead)
        });
        self.ran_for = self.ran_for.saturating_add(1);
        match going {
            Some(distance) if self.ran_for <= self.rules.time_out => self.rules.command(distance),
            _ => {
                self.end();
                Ratio::ZERO
            }
        }
    }
}

impl Rules {
    const fn of(config: ReturnToPositionConfig, period: Period) -> Result<Self, ReturnToPositionConfigError> {
        let ReturnToPositionConfig { position, window, approach, speed, end_speed, neutral, time_out } =
            config;
        let above_window = window.raw().saturating_add(1);
        let mut shares: &[(&'static str, Permille, i16, i16)] = &[
            ("position", position, 0, 1000),
            ("window", window, 2, 100),
            ("approach", approach, above_window, 500),
            ("speed", speed, 50, 1000),
            ("end speed", end_speed, 10, speed.raw()),
            ("neutral band", neutral, 10, 300),
        ];
        while let [(name, given, least, most), rest @ ..] = shares {
            if given.raw() < *least || given.raw() > *most {
                return Err(ReturnToPositionConfigError::Share {
                    name,
                    given: *given,
                    least: Permille::saturating(*least as i64),
                    most: Permille::saturating(*most as i64),
                });
            }
            shares = rest;
        }
        if time_out.ticks() < ReturnToPosition::SHORTEST_TIME_OUT.ticks()
            || time_out.ticks() > ReturnToPosition::LONGEST_TIME_OUT.ticks()
        {
            return Err(ReturnToPositionConfigError::TimeOut(time_out));
        }
        let window = share(window);
        Ok(Self {
            position: share(position),
            window,
            slowing: Divisor::of(share(approach).minus(window).to_bits().unsigned_abs()),
            speed: share(speed),
            end_speed: share(end_speed),
            neutral: share(neutral),
            time_out: period.steps(time_out),
        })
    }

    fn command(&self, distance: Ratio) -> Ratio {
        let beyond = self.slowing.share(distance.magnitude().minus(self.window));
        self.end_speed.plus(self.speed.minus(self.end_speed).times(beyond)).directed_as(distance)
    }
}

const fn share(permille: Permille) -> Ratio {
    Ratio::from_quotient(permille.raw() as i64, 1000)
}

#[cfg(test)]
mod tests;
