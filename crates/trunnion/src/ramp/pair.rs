//! A pair of sides on the scale of a ramp, and one period of each way it can go.

use super::fine;
use super::rates::Rates;
use crate::propel::Sides;

/// Left and right in units of 2⁻⁴² of full scale.
///
/// Travel and rotation are kept doubled (sum and difference), so that nothing is lost in halving. Sides are at most 2⁴², sums
/// and doubled rates at most 2⁴³, and what is scaled is held at 2⁶¹: no sum of them wraps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Pair {
    pub left: i64,
    pub right: i64,
}

impl Pair {
    pub const ZERO: Self = Self { left: 0, right: 0 };
    const DOUBLE_ONE: i64 = 2 * fine::ONE;

    pub const fn from_sides(sides: Sides) -> Self {
        Self { left: fine::from_ratio(sides.left), right: fine::from_ratio(sides.right) }
    }

    pub const fn to_sides(self) -> Sides {
        Sides { left: fine::to_ratio(self.left), right: fine::to_ratio(self.right) }
    }

    const fn from_sum_and_difference(sum: i64, difference: i64) -> Self {
        Self { left: sum.wrapping_add(difference) / 2, right: sum.wrapping_sub(difference) / 2 }
    }

    pub const fn is_zero(self) -> bool {
        self.left == 0 && self.right == 0
    }

    /// Twice the travel.
    pub const fn sum(self) -> i64 {
        self.left.wrapping_add(self.right)
    }

    /// Twice the rotation.
    pub const fn difference(self) -> i64 {
        self.left.wrapping_sub(self.right)
    }

    fn largest(self) -> i64 {
        self.left.wrapping_abs().max(self.right.wrapping_abs())
    }

    /// Travel against travel, or spin against spin.
    pub const fn opposes(self, other: Self) -> bool {
        if self.sum() == 0 && other.sum() == 0 {
            fine::opposed(self.difference(), other.difference())
        } else {
            fine::opposed(self.sum(), other.sum())
        }
    }

    fn scaled(self, numerator: i64, denominator: i64) -> Self {
        Self {
            left: fine::scaled(self.left, numerator, denominator),
            right: fine::scaled(self.right, numerator, denominator),
        }
    }

    /// Towards zero with one factor for both sides: neither travel nor rotation falls faster than its rate.
    pub fn towards_zero(self, drive: i64, rotation: i64) -> Self {
        let (travel, turn) = (self.sum().wrapping_abs(), self.difference().wrapping_abs());
        let less_travel = travel.wrapping_sub(drive.wrapping_mul(2)).max(0);
        let less_turn = turn.wrapping_sub(rotation.wrapping_mul(2)).max(0);
        if travel == 0 || fine::scaled(turn, less_travel, travel) < less_turn {
            self.scaled(less_turn, turn)
        } else {
            self.scaled(less_travel, travel)
        }
    }

    /// Towards zero with one factor for both sides: the faster side falls at `rate`.
    pub fn stopped(self, rate: i64) -> Self {
        let largest = self.largest();
        self.scaled(largest.wrapping_sub(rate).max(0), largest)
    }

    /// The slower of two.
    pub fn at_most(self, other: Self) -> Self {
        if other.largest() < self.largest() { other } else { self }
    }

    /// Towards an asked motion that does not oppose this one.
    ///
    /// On the ray from zero to what is asked it stays on the ray; beside the ray, travel and rotation go their
    /// own ways at their own rates until it is reached.
    pub fn towards(self, asked: Self, drive: &Rates, rotation: &Rates) -> Self {
        let turned = asked.difference() < 0;
        let reversed = asked.sum() < 0 || (asked.sum() == 0 && self.sum() < 0);
        let asked_travel = mirrored(asked.sum(), reversed);
        let asked_turn = mirrored(asked.difference(), turned);
        let travel = mirrored(self.sum(), reversed);
        let turn = mirrored(self.difference(), turned);
        let on_way = OnWay { travel, turn, asked_travel, asked_turn };

        let next_travel = on_way.next_travel(drive, rotation);
        let next_turn = approach(turn, on_way.turn_goal(next_travel), rotation);
        let (next_travel, next_turn) = within_reach(next_travel, next_turn, turn);
        Self::from_sum_and_difference(mirrored(next_travel, reversed), mirrored(next_turn, turned))
    }
}

const fn mirrored(value: i64, is: bool) -> i64 {
    if is { value.wrapping_neg() } else { value }
}

/// One period of a doubled quantity.
fn approach(from: i64, goal: i64, rates: &Rates) -> i64 {
    let doubled = Rates {
        accelerate: rates.accelerate.wrapping_mul(2),
        decelerate: rates.decelerate.wrapping_mul(2),
        reverse: rates.reverse.wrapping_mul(2),
    };
    doubled.approach(from, goal)
}

/// No side above full scale: what grew gives way to what did not.
fn within_reach(travel: i64, turn: i64, turn_before: i64) -> (i64, i64) {
    if travel.wrapping_abs().wrapping_add(turn.wrapping_abs()) <= Pair::DOUBLE_ONE {
        (travel, turn)
    } else if turn.wrapping_abs() > turn_before.wrapping_abs() {
        (travel, mirrored(Pair::DOUBLE_ONE.wrapping_sub(travel.wrapping_abs()), turn < 0))
    } else {
        (Pair::DOUBLE_ONE.wrapping_sub(turn.wrapping_abs()), turn)
    }
}

/// The present and the asked motion, mirrored so that what is asked is forward and clockwise.
///
/// The ray is the line from zero to what is asked: on it, the shape of the turn is the asked one.
struct OnWay {
    travel: i64,
    turn: i64,
    asked_travel: i64,
    asked_turn: i64,
}

impl OnWay {
    fn ray(&self, travel: i64) -> i64 {
        fine::scaled(self.asked_turn, travel, self.asked_travel)
    }

    fn travel_on_ray(&self, turn: i64) -> i64 {
        fine::scaled(turn, self.asked_travel, self.asked_turn)
    }

    /// Travel after this period: at its own rate, but not so fast that rotation could not stay on the ray.
    fn next_travel(&self, drive: &Rates, rotation: &Rates) -> i64 {
        let free = approach(self.travel, self.asked_travel, drive);
        if self.asked_turn == 0 || self.asked_travel == 0 {
            free
        } else if self.travel < self.asked_travel {
            free.min(self.most_travel(rotation)).max(self.travel)
        } else if self.travel > self.asked_travel && self.turn > self.asked_turn {
            free.max(self.least_travel(rotation).min(self.travel))
        } else {
            free
        }
    }

    /// Accelerating: the travel with which rotation, growing, is still on the ray. Where rotation lags, up to half of
    /// its rate is kept for catching up.
    fn most_travel(&self, rotation: &Rates) -> i64 {
        let rate = if self.turn < 0 { rotation.reverse } else { rotation.accelerate }.wrapping_mul(2);
        let lag = self.ray(self.travel).wrapping_sub(self.turn);
        if lag <= 0 {
            self.travel_on_ray(self.turn.wrapping_add(rate))
        } else {
            self.travel.wrapping_add(self.travel_on_ray(rate.wrapping_sub(lag.min(rate / 2))))
        }
    }

    /// Decelerating: the travel with which rotation, falling, is still on the ray.
    fn least_travel(&self, rotation: &Rates) -> i64 {
        let rate = rotation.decelerate.wrapping_mul(2);
        let excess = self.turn.wrapping_sub(self.ray(self.travel));
        if excess <= 0 {
            self.travel_on_ray(self.turn.wrapping_sub(rate).max(0))
        } else {
            self.travel.wrapping_sub(self.travel_on_ray(rate.wrapping_sub(excess.min(rate / 2))))
        }
    }

    /// Where rotation shall go, given the travel after this period: never beyond the larger of what is done and what
    /// is asked.
    fn turn_goal(&self, next_travel: i64) -> i64 {
        if self.asked_turn == 0 || self.asked_travel == 0 {
            self.asked_turn
        } else if self.travel < self.asked_travel {
            self.ray(next_travel)
        } else if self.turn > self.asked_turn {
            self.ray(next_travel).min(self.turn).max(self.asked_turn)
        } else {
            self.asked_turn
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Too fast to set the pace.
    const DRIVE: Rates = Rates { accelerate: fine::ONE, decelerate: fine::ONE, reverse: fine::ONE };
    const ROTATION: Rates = Rates { accelerate: 100, decelerate: 100, reverse: 60 };

    /// Of travel and rotation, both doubled.
    fn doubled((travel, turn): (i64, i64)) -> Pair {
        Pair::from_sum_and_difference(travel, turn)
    }

    fn opposes(one: (i64, i64), other: (i64, i64)) -> bool {
        let (one, other) = (doubled(one), doubled(other));
        assert_eq!(one.opposes(other), other.opposes(one));
        one.opposes(other)
    }

    /// After one step in which rotation sets the pace, the same in all four quadrants.
    fn next(from: (i64, i64), asked: (i64, i64)) -> (i64, i64) {
        let step = |from, asked| {
            let next = doubled(from).towards(doubled(asked), &DRIVE, &ROTATION);
            (next.sum(), next.difference())
        };
        let reached = step(from, asked);
        for (forward, clockwise) in [(1, -1), (-1, 1), (-1, -1)] {
            let seen = |(travel, turn): (i64, i64)| (forward * travel, clockwise * turn);
            assert_eq!(step(seen(from), seen(asked)), seen(reached));
        }
        reached
    }

    #[test]
    fn travel_opposes_travel_and_spin_opposes_spin_but_neither_the_other() {
        assert!(opposes((8, 6), (-2, 6)) && !opposes((8, 6), (8, -6)));
        assert!(opposes((0, 6), (0, -6)) && !opposes((0, 6), (0, 8)));
        assert!(!opposes((0, 6), (8, -6)) && !opposes((0, 6), (-8, -6)));
    }

    #[test]
    fn on_the_ray_travel_keeps_pace_with_all_that_rotation_can() {
        assert_eq!(next((4_000, 2_000), (8_192, 4_096)), (4_400, 2_200));
        assert_eq!(next((8_000, 4_000), (2_048, 1_024)), (7_600, 3_800));
        assert_eq!(next((4_000, 2_000), (4_096, 2_048)), (4_096, 2_048));
        assert_eq!(next((0, 2_000), (0, 4_096)), (0, 2_200));
    }

    #[test]
    fn beside_the_ray_travel_keeps_pace_with_at_least_half_of_what_rotation_can_and_the_rest_catches_up() {
        assert_eq!(next((4_000, 0), (8_192, 4_096)), (4_200, 200));
        assert_eq!(next((4_000, 1_950), (8_192, 4_096)), (4_300, 2_150));
        assert_eq!(next((4_000, -2_000), (8_192, 4_096)), (4_120, -1_880));
        assert_eq!(next((8_000, 6_000), (2_048, 512)), (7_600, 5_800));
        assert_eq!(next((8_000, 2_050), (2_048, 512)), (7_400, 1_850));
    }

    #[test]
    fn above_full_scale_what_grew_gives_way_to_what_did_not() {
        const FULL: i64 = Pair::DOUBLE_ONE;
        assert_eq!(within_reach(FULL - 4, 10, 2), (FULL - 4, 4));
        assert_eq!(within_reach(FULL - 4, -10, -2), (FULL - 4, -4));
        assert_eq!(within_reach(FULL, 10, 10), (FULL - 10, 10));
        assert_eq!(within_reach(FULL, -10, -12), (FULL - 10, -10));
        assert_eq!(within_reach(FULL - 10, -10, 0), (FULL - 10, -10));
    }
}
