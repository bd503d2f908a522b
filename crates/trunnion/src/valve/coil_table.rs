//! Coils: one row each, from which set-points, measured currents and duties follow.

/// Declares the proportional coils of a machine: the records that pass between its two loops.
///
/// A row is `/// text`, then `name: "pin", sense "pin of the current sense"`. It gives an enum of the coils and
/// three records with a field of the same name each: set-points, measured currents, duties. In traces
/// they are told apart by `_set_point`, `_current` and `_duty`. Their indices are the enums `SetPointIndex`, `CurrentIndex`
/// and `DutyIndex`: two tables need two modules, and no coil is called `supply`.
///
/// ```
/// use trunnion::declare::Record;
/// use trunnion::quantity::Milliamps;
///
/// trunnion::coils! {
///     /// The drum's coils.
///     pub enum Coil, pub struct SetPoints, pub struct Currents, pub struct Duties {
///         /// Vibration at large amplitude.
///         vibration_large: "X4:1", sense "X4:2";
///         /// Vibration at small amplitude.
///         vibration_small: "X4:3", sense "X4:4";
///     }
/// }
///
/// let mut currents = [Milliamps::ZERO; Coil::COUNT];
/// currents[Coil::vibration_small as usize] = Milliamps::saturating(640);
/// let set_points = SetPoints::from_currents(currents);
/// assert_eq!(set_points.vibration_small, Milliamps::saturating(640));
/// assert_eq!(Currents::FIELDS[0].name, "vibration_large_current");
/// ```
#[macro_export]
macro_rules! coils {
    (
        $(#[$meta:meta])*
        $vis:vis enum $coil:ident, $set_points_vis:vis struct $set_points:ident, $currents_vis:vis struct $currents:ident,
        $duties_vis:vis struct $duties:ident {
            $( $(#[doc = $doc:literal])+ $field:ident : $pin:literal, sense $sense:literal ; )*
        }
    ) => {
        $(#[$meta])*
        #[allow(non_camel_case_types)]
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(u8)]
        $vis enum $coil { $( $(#[doc = $doc])+ $field, )* }

        impl $coil {
            /// All, in the order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$field),*];
            /// Number of coils.
            pub const COUNT: usize = Self::ALL.len();
        }

        $crate::signals! {
            /// Current asked of each coil, latched for a period.
            $set_points_vis struct $set_points, $set_points_vis enum SetPointIndex {
                $( $(#[doc = $doc])+ $field: $crate::quantity::Milliamps = $crate::quantity::Milliamps::ZERO,
                    named concat!(stringify!($field), "_set_point"), in 0..=3000; )*
                /// Supply that the coils are assumed to have.
                supply: $crate::quantity::Millivolts = $crate::quantity::Millivolts::MAX, named "assumed_coil_supply";
            }
        }

        $crate::signals! {
            /// Current measured in each coil.
            $currents_vis struct $currents, $currents_vis enum CurrentIndex {
                $( $(#[doc = $doc])+ $field: $crate::quantity::Milliamps = $crate::quantity::Milliamps::ZERO,
                    named concat!(stringify!($field), "_current"), in 0..=4095, at $sense, $crate::declare::Wire::CurrentSense; )*
            }
        }

        $crate::signals! {
            /// Duty of each coil.
            $duties_vis struct $duties, $duties_vis enum DutyIndex {
                $( $(#[doc = $doc])+ $field: $crate::quantity::Duty = $crate::quantity::Duty::ZERO,
                    named concat!(stringify!($field), "_duty"), in 0..=10_000, at $pin, $crate::declare::Wire::ProportionalCoil; )*
            }
        }

        impl $set_points {
            /// Set-points in the order of declaration; the supply is the safe one.
            pub fn from_currents(currents: [$crate::quantity::Milliamps; $coil::COUNT]) -> Self {
                let [$($field),*] = currents;
                Self { $($field,)* ..Self::default() }
            }

            /// In the order of declaration.
            pub fn currents(&self) -> [$crate::quantity::Milliamps; $coil::COUNT] {
                [$(self.$field),*]
            }
        }

        impl $crate::valve::CoilRecords<{ $coil::COUNT }> for $coil {
            type SetPoints = $set_points;
            type Currents = $currents;
            type Duties = $duties;

            fn asked(
                set_points: &$set_points,
            ) -> ([$crate::quantity::Milliamps; $coil::COUNT], $crate::quantity::Millivolts) {
                (set_points.currents(), set_points.supply)
            }

            fn measured(currents: &$currents) -> [$crate::quantity::Milliamps; $coil::COUNT] {
                currents.currents()
            }

            fn driven(duties: [$crate::quantity::Duty; $coil::COUNT]) -> $duties {
                $duties::from_duties(duties)
            }
        }

        impl $currents {
            /// In the order of declaration.
            pub fn currents(&self) -> [$crate::quantity::Milliamps; $coil::COUNT] {
                [$(self.$field),*]
            }
        }

        impl $duties {
            /// From the order of declaration.
            pub fn from_duties(duties: [$crate::quantity::Duty; $coil::COUNT]) -> Self {
                let [$($field),*] = duties;
                Self { $($field),* }
            }

            /// In the order of declaration.
            pub fn duties(&self) -> [$crate::quantity::Duty; $coil::COUNT] {
                [$(self.$field),*]
            }
        }
    };
}
