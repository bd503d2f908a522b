//! All proportional coils of a machine as its fast loop.

use core::fmt;
use core::marker::PhantomData;

use super::{
    Coil, CoilConfig, CoilConfigError, CoilReport, CurrentLoopConfig, DitherConfig, PairExclusion,
    PairExclusionConfig, PairExclusionConfigError,
};
use crate::declare::Record;
use crate::machine::FastLoop;
use crate::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period, Permille};

/// The records that [`coils!`](crate::coils) declares, as a [`CoilBank`] handles them.
pub trait CoilRecords<const N: usize>: 'static {
    /// What is asked of each coil.
    type SetPoints: Record;
    /// What is measured in each coil.
    type Currents: Record;
    /// What each coil is driven with.
    type Duties: Record;

    /// Set-points in the order of declaration, and the supply that the coils are assumed to have.
    fn asked(set_points: &Self::SetPoints) -> ([Milliamps; N], Millivolts);
    /// Measured currents in the order of declaration.
    fn measured(currents: &Self::Currents) -> [Milliamps; N];
    /// From duties in the order of declaration.
    fn driven(duties: [Duty; N]) -> Self::Duties;
}

/// Why the settings of a [`CoilBank`] were refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoilBankError {
    /// A coil's config.
    Coil {
        /// Place of the coil in the declaration.
        place: u8,
        /// What is wrong with it.
        error: CoilConfigError,
    },
    /// The exclusion of the pairs.
    Pairs(PairExclusionConfigError),
    /// A pair names a coil that there is not, or the same coil twice.
    Pair {
        /// Place of the one.
        one: u8,
        /// Place of the other.
        other: u8,
    },
}

impl fmt::Display for CoilBankError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Coil { place, error } => write!(formatter, "coil {place}: {error}"),
            Self::Pairs(error) => error.fmt(formatter),
            Self::Pair { one, other } => {
                write!(formatter, "coils {one} and {other} are no pair: name two coils of the declaration")
            }
        }
    }
}

impl core::error::Error for CoilBankError {}

/// The fast loop of a machine whose only fast outputs are its proportional coils.
///
/// Each step holds the opposite coils of every pair apart ([`PairExclusion`]), then controls and watches each coil
/// ([`Coil`]). `C` is the enum that [`coils!`](crate::coils) declares, `N` its number of coils, `P` the number of pairs.
/// Coils that belong to no pair are driven as they are asked.
///
/// ```
/// use trunnion::machine::FastLoop;
/// use trunnion::quantity::*;
/// use trunnion::valve::*;
///
/// trunnion::coils! {
///     /// The coils of a steering spool.
///     pub enum Steer, pub struct SetPoints, pub struct Currents, pub struct Duties {
///         /// To the left.
///         left: "X4:1", sense "X4:2";
///         /// To the right.
///         right: "X4:3", sense "X4:4";
///     }
/// }
///
/// let ma = |raw| Milliamps::new(raw).unwrap();
/// let coil = CoilConfig {
///     control: CurrentLoopConfig {
///         resistance: Centiohms::new(530).unwrap(),
///         time_constant: Millis::millis(4),
///         proportional: Centiohms::new(530).unwrap(),
///         integral_time: Millis::millis(6),
///         lowest_supply: Millivolts::new(7_000).unwrap(),
///         highest_supply: Millivolts::new(16_500).unwrap(),
///         largest: ma(1_600),
///     },
///     dither: DitherConfig { amplitude: ma(40), cycle: Millis::millis(10) },
///     averaging: Millis::millis(10),
///     tolerance: Permille::new(120).unwrap(),
///     offset: ma(40),
///     stray: ma(150),
/// };
/// let apart = PairExclusionConfig { released: ma(80), pause: Millis::millis(20) };
/// let tick = Period::from_micros(1_000).unwrap();
/// const PAIRS: [(u8, u8); 1] = [(Steer::left as u8, Steer::right as u8)];
/// let mut bank = CoilBank::<Steer, 2, 1>::new([coil; 2], PAIRS, apart, tick)?;
///
/// let both = SetPoints { left: ma(600), right: ma(600), ..SetPoints::default() };
/// for _ in 0..100 {
///     let duties = bank.step(&both, &Currents::default());
///     assert_eq!(duties.duties(), [Duty::ZERO; 2]); // never both
/// }
/// # Ok::<(), CoilBankError>(())
/// ```
#[derive(Debug)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct CoilBank<C, const N: usize, const P: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    coils: [Coil; N],
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    apart: [PairExclusion; P],
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pairs: [(u8, u8); P],
    records: PhantomData<fn() -> C>,
}

// Derived, it would ask the names of the coils to be cloneable.
impl<C, const N: usize, const P: usize> Clone for CoilBank<C, N, P> {
    fn clone(&self) -> Self {
        Self { coils: self.coils, apart: self.apart, pairs: self.pairs, records: PhantomData }
    }
}

const IDLE_CONFIG: CoilConfig = CoilConfig {
    control: CurrentLoopConfig {
        resistance: Centiohms::saturating(530),
        time_constant: Millis::millis(4),
        proportional: Centiohms::saturating(530),
        integral_time: Millis::millis(6),
        lowest_supply: Millivolts::saturating(7_000),
        highest_supply: Millivolts::saturating(16_500),
        largest: Milliamps::saturating(1_600),
    },
    dither: DitherConfig { amplitude: Milliamps::ZERO, cycle: Millis::millis(10) },
    averaging: Millis::millis(10),
    tolerance: Permille::saturating(120),
    offset: Milliamps::saturating(40),
    stray: Milliamps::saturating(150),
};

const IDLE_PERIOD: Period = match Period::from_micros(1_000) {
    Some(period) => period,
    None => panic!("the idle period is out of range"),
};

const IDLE_COIL: Coil = match Coil::new(IDLE_CONFIG, IDLE_PERIOD) {
    Ok(coil) => coil,
    Err(_) => panic!("the idle coil is refused"),
};

const IDLE_APART: PairExclusion = match PairExclusion::new(
    PairExclusionConfig { released: Milliamps::saturating(80), pause: Millis::millis(0) },
    IDLE_PERIOD,
) {
    Ok(pair) => pair,
    Err(_) => panic!("the idle pair is refused"),
};

impl<C, const N: usize, const P: usize> CoilBank<C, N, P> {
    /// All coils off. Refuses what a coil or an exclusion refuses, and pairs that are none.
    ///
    /// # Errors
    ///
    /// [`CoilBankError`]: which coil or pair, and which rule it breaks.
    pub fn new(
        coils: [CoilConfig; N],
        pairs: [(u8, u8); P],
        apart: PairExclusionConfig,
        period: Period,
    ) -> Result<Self, CoilBankError> {
        let mut bank = Self::idle();
        for (place, (coil, config)) in (0..N as u8).zip(bank.coils.iter_mut().zip(coils)) {
            *coil = Coil::new(config, period).map_err(|error| CoilBankError::Coil { place, error })?;
        }
        for (one, other) in pairs {
            if one == other || usize::from(one) >= N || usize::from(other) >= N {
                return Err(CoilBankError::Pair { one, other });
            }
        }
        bank.apart = [PairExclusion::new(apart, period).map_err(CoilBankError::Pairs)?; P];
        bank.pairs = pairs;
        Ok(bank)
    }

    /// A bank that nobody asks for anything: the machine's control program was refused. More than 255 coils do not compile.
    pub const fn idle() -> Self {
        const { assert!(N <= 255, "a bank has at most 255 coils") };
        Self { coils: [IDLE_COIL; N], apart: [IDLE_APART; P], pairs: [(0, 0); P], records: PhantomData }
    }

    /// Other settings as a whole, or a refusal that changes nothing; currents and estimates go on.
    ///
    /// # Errors
    ///
    /// [`CoilBankError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(
        &mut self,
        coils: [CoilConfig; N],
        apart: PairExclusionConfig,
    ) -> Result<(), CoilBankError> {
        let mut next = self.clone();
        for (place, (coil, config)) in (0..N as u8).zip(next.coils.iter_mut().zip(coils)) {
            coil.reconfigure(config).map_err(|error| CoilBankError::Coil { place, error })?;
        }
        for pair in &mut next.apart {
            pair.reconfigure(apart).map_err(CoilBankError::Pairs)?;
        }
        *self = next;
        Ok(())
    }
}

impl<C: CoilRecords<N>, const N: usize, const P: usize> FastLoop for CoilBank<C, N, P>
where
    [CoilReport; N]: Default,
{
    type SetPoints = C::SetPoints;
    type Inputs = C::Currents;
    type Outputs = C::Duties;
    type Report = [CoilReport; N];

    fn step(&mut self, set_points: &C::SetPoints, inputs: &C::Currents) -> C::Duties {
        let (mut asked, supply) = C::asked(set_points);
        let measured = C::measured(inputs);
        for (exclusion, (one, other)) in self.apart.iter_mut().zip(self.pairs) {
            let (one, other) = (usize::from(one), usize::from(other));
            // A pair was checked when it was built: it always has both.
            if let (Some(first), Some(second)) = (measured.get(one), measured.get(other))
                && let Ok([a, b]) = asked.get_disjoint_mut([one, other])
            {
                (*a, *b) = exclusion.step(*a, *b, *first, *second);
            }
        }
        let mut duties = [Duty::ZERO; N];
        let lines = self.coils.iter_mut().zip(asked).zip(measured).zip(duties.iter_mut());
        for (((coil, asked), measured), duty) in lines {
            *duty = coil.step(asked, measured, Some(supply));
        }
        C::driven(duties)
    }

    fn report(&mut self) -> [CoilReport; N] {
        let mut reports = [CoilReport::default(); N];
        for (report, coil) in reports.iter_mut().zip(&mut self.coils) {
            *report = coil.take_report();
        }
        reports
    }
}

#[cfg(test)]
mod tests;
