//! What the barrow is tried on: two coils with a lag, two tracks that follow them, level ground.

use trunnion::declare::Failure;
use trunnion::quantity::{Milliamps, Permille};
use trunnion_rig::run::{ActionInfo, BreakInfo, ObservationInfo, Plant, Way};

use super::{Barrow, Currents, Duties, Inputs, Outputs};

/// Metres a second at full command.
const FULL_SPEED: f64 = 1.2;
/// Metres between the tracks.
const TRACK: f64 = 0.6;
/// Seconds of a fast step.
const STEP: f64 = 0.002;

/// Its state.
#[derive(Debug, Clone, Default)]
pub struct BarrowPlant {
    random: u64,
    grips: [f64; 2],
    broken: [bool; 2],
    bar: bool,
    currents: [f64; 2],
    speeds: [f64; 2],
    place: (f64, f64, f64),
}

impl Plant<Barrow> for BarrowPlant {
    const ACTIONS: &'static [ActionInfo] = &[
        ActionInfo::number("left_grip", "Grip of the left track.", "%", -100.0, 100.0, 0.0),
        ActionInfo::number("right_grip", "Grip of the right track.", "%", -100.0, 100.0, 0.0),
        ActionInfo::switch("hold_bar_held", "A hand on the hold bar.", false),
    ];
    const BREAKS: &'static [BreakInfo] = &[
        BreakInfo::steady("left_grip_signal", "Wire of the left grip.", &[Failure::Open]),
        BreakInfo::steady("right_grip_signal", "Wire of the right grip.", &[Failure::Open]),
    ];
    const OBSERVATIONS: &'static [ObservationInfo] = &[
        ObservationInfo::number("true_left_speed", "Speed of the left track.", "m/s"),
        ObservationInfo::number("true_right_speed", "Speed of the right track.", "m/s"),
        ObservationInfo::number("true_x", "Place of its middle, east.", "m"),
        ObservationInfo::number("true_y", "Place of its middle, north.", "m"),
        ObservationInfo::number("true_heading", "Heading, counter-clockwise from east.", "°"),
    ];

    fn start(seed: u64) -> Self {
        Self { random: seed, ..Self::default() }
    }

    fn act(&mut self, action: u16, value: f64) {
        match action {
            0 => self.grips[0] = value,
            1 => self.grips[1] = value,
            _ => self.bar = value > 0.0,
        }
    }

    fn break_signal(&mut self, place: u16, _way: Way) {
        self.broken[usize::from(place.min(1))] = true;
    }

    fn mend(&mut self, place: u16) {
        self.broken[usize::from(place.min(1))] = false;
    }

    fn fast_inputs(&mut self) -> Currents {
        let [left, right] = self.currents.map(|current| Milliamps::saturating(current as i64));
        Currents { left_current: left, right_current: right }
    }

    fn advance(&mut self, fast: &Duties, _outputs: &Outputs) {
        let duties = [fast.left_duty, fast.right_duty];
        for (track, duty) in duties.into_iter().enumerate() {
            // 12 V over 8 Ω, and a lag of 20 ms.
            let steady = f64::from(duty.raw()) * 12.0 / 80.0;
            self.currents[track] += (steady - self.currents[track]) * STEP / 0.02;
            let share = ((self.currents[track] - 250.0) / 750.0).max(0.0);
            let speed = share * FULL_SPEED * self.grips[track].signum();
            self.speeds[track] += (speed - self.speeds[track]) * STEP / 0.1;
        }
        let [left, right] = self.speeds;
        let (x, y, heading) = &mut self.place;
        *heading += (right - left) / TRACK * STEP;
        *x += (left + right) / 2.0 * heading.cos() * STEP;
        *y += (left + right) / 2.0 * heading.sin() * STEP;
    }

    fn inputs(&mut self) -> Inputs {
        self.random = self.random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let tremble = (self.random >> 62) as i64;
        let signal = |track: usize| match self.broken[track] {
            true => Permille::ZERO,
            false => Permille::saturating(500 + (self.grips[track] * 4.0) as i64 + tremble),
        };
        Inputs { left_grip_signal: signal(0), right_grip_signal: signal(1), hold_bar: self.bar }
    }

    fn observe(&self, values: &mut [f64]) {
        let (x, y, heading) = self.place;
        let observed = [self.speeds[0], self.speeds[1], x, y, heading.to_degrees()];
        values.iter_mut().zip(observed).for_each(|(place, value)| *place = value);
    }
}
