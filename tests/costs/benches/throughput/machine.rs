//! A skid-steer drive on a kinematic plant, and the script of its operator.

use trunnion::guard::{NeutralStart, NeutralStartConfig, NeutralStartInputs, StartPhase};
use trunnion::lever::{Axis, AxisConfig};
use trunnion::propel::{MixLaw, Mixer, MixerConfig, ReverseConvention, Sides};
use trunnion::quantity::{Milliamps, Millis, Period, Permille, Ratio, Rpm};
use trunnion::ramp::{RateLimit, RateLimitConfig};
use trunnion::sense::{DebounceBank, DebounceConfig, PulseSpeed, PulseSpeedConfig};
use trunnion::valve::{CurrentMap, CurrentMapConfig};

/// The control period.
pub const TICK_SECONDS: f64 = 0.01;
const TICK: Period = Period::from_micros(10_000).unwrap();
const THRESHOLD: u16 = 220;
const END: u16 = 780;
/// Full speed of a side, its lag, and half the track: invented.
const FULL_SPEED: f64 = 3.0;
const LAG: f64 = 0.15;
const HALF_TRACK: f64 = 0.75;
const TEETH: u16 = 60;
/// Radius of a wheel with its gear: metres of travel for a tooth.
const METRES_A_TOOTH: f64 = 0.01;

const fn permille(value: i16) -> Permille {
    Permille::new(value).unwrap()
}

/// A lever that goes to and fro over `period` ticks, let go of for a quarter of them: thousandths.
const fn lever(tick: u32, period: u32, offset: u32) -> i32 {
    let place = tick.wrapping_add(offset) % period;
    let quarter = period / 4;
    if place < quarter {
        0
    } else {
        let part = (place - quarter) as i32 * 4000 / (3 * quarter) as i32;
        if part < 2000 { part - 1000 } else { 3000 - part }
    }
}

/// The drive and where the machine is.
pub struct Machine {
    axis: Axis,
    start: NeutralStart,
    mixer: Mixer,
    ramps: [RateLimit; 2],
    pump: CurrentMap,
    pickup: PulseSpeed,
    contacts: DebounceBank<32>,
    travel: Ratio,
    speeds: [f64; 2],
    turned: f64,
    position: (f64, f64),
    heading: f64,
    sum: u64,
}

impl Machine {
    /// At the origin.
    pub fn new() -> Self {
        let axis =
            AxisConfig { deadband: permille(80), saturation: permille(980), progression: permille(300) };
        let mixer = MixerConfig {
            law: MixLaw::Banded,
            pivot_point: permille(500),
            pivot_band: permille(100),
            sensitivity: permille(700),
            blend_drive: permille(200),
            convention: ReverseConvention::PathFollowing,
            reverse_blend: permille(100),
        };
        let ramp = RateLimitConfig { rise: Millis::millis(1_800), fall: Millis::millis(900) };
        let ramp = RateLimit::new(ramp, TICK).unwrap();
        let pump = CurrentMapConfig {
            threshold: Milliamps::new(THRESHOLD).unwrap(),
            end: Milliamps::new(END).unwrap(),
        };
        let pickup = PulseSpeedConfig {
            teeth: TEETH,
            zero_speed_after: Millis::millis(300),
            fastest: Rpm::from_whole(4_000),
        };
        let times = |channel: u32| DebounceConfig {
            set_after: Millis::millis(20 + 10 * channel),
            clear_after: Millis::millis(10 * channel),
        };
        Self {
            axis: Axis::new(axis).unwrap(),
            start: NeutralStart::new(NeutralStartConfig { hold: Millis::millis(100), frames: 3 }, TICK)
                .unwrap(),
            mixer: Mixer::new(mixer).unwrap(),
            ramps: [ramp; 2],
            pump: CurrentMap::new(pump).unwrap(),
            pickup: PulseSpeed::new(pickup, TICK).unwrap(),
            contacts: DebounceBank::new(core::array::from_fn(|channel| times(channel as u32)), TICK).unwrap(),
            travel: Ratio::ZERO,
            speeds: [0.0; 2],
            turned: 0.0,
            position: (0.0, 0.0),
            heading: 0.0,
            sum: 0,
        }
    }

    /// One period: script, control, plant.
    pub fn step(&mut self, tick: u32) {
        let position =
            |period, offset| Ratio::from_permille(lever(tick, period, offset)).unwrap_or(Ratio::ZERO);
        let levers = [position(800, 0), position(1_200, 300), position(700, 100), position(900, 500)];
        let bounce = if tick % 16 < 3 { 1_u32 << (tick / 16 % 32) } else { 0 };
        let contacts = self.contacts.step(0xffff_fff7 ^ bounce);

        let [drive, steer, boom, bucket] = levers.map(|lever| self.axis.step(lever));
        let phase = self.start.step(NeutralStartInputs {
            conditions: contacts & 0b111 == 0b111,
            neutral: drive.is_zero() && steer.is_zero(),
            new_frame: tick.is_multiple_of(2),
            ask: tick % 50 > 40,
            ask_required: false,
        });
        let asked = if phase == StartPhase::Permitted {
            self.mixer.step(drive, steer, self.travel)
        } else {
            Sides::ZERO
        };
        let [left, right] = &mut self.ramps;
        let sides = Sides { left: left.step(asked.left), right: right.step(asked.right) };
        self.travel = sides.mean();
        let currents = [
            self.pump.step(sides.left.magnitude()),
            self.pump.step(sides.right.magnitude()),
            self.pump.step(boom),
            self.pump.step(bucket),
        ];
        let (edges, stamp) = self.pulses(tick);
        let speed = self.pickup.step(edges, stamp).or(Rpm::MIN);

        self.plant([(currents[0], sides.left), (currents[1], sides.right)]);
        let [a, b, c, d] = currents.map(|current| u64::from(current.raw()));
        self.sum = self
            .sum
            .wrapping_mul(31)
            .wrapping_add(a + 3 * b + 5 * c + 7 * d)
            .wrapping_add(u64::from(contacts))
            .wrapping_add(i64::from(speed.raw()).cast_unsigned());
    }

    /// The left wheel's teeth that have passed, and when the last one did: at the begin of this period.
    fn pulses(&self, tick: u32) -> (u16, u32) {
        ((self.turned / METRES_A_TOOTH) as u64 as u16, tick.wrapping_mul(10_000))
    }

    fn plant(&mut self, sides: [(Milliamps, Ratio); 2]) {
        for (speed, (current, side)) in self.speeds.iter_mut().zip(sides) {
            let share = f64::from(current.raw().saturating_sub(THRESHOLD)) / f64::from(END - THRESHOLD);
            let aim = if side < Ratio::ZERO { -share * FULL_SPEED } else { share * FULL_SPEED };
            *speed += (aim - *speed) * (TICK_SECONDS / LAG);
        }
        let [left, right] = self.speeds;
        self.turned += left.abs() * TICK_SECONDS;
        self.heading += (right - left) / (2.0 * HALF_TRACK) * TICK_SECONDS;
        let way = (left + right) / 2.0 * TICK_SECONDS;
        self.position.0 += way * self.heading.cos();
        self.position.1 += way * self.heading.sin();
    }

    /// Over all currents, contacts and measured speeds.
    pub const fn sum(&self) -> u64 {
        self.sum
    }

    /// Metres.
    pub const fn x(&self) -> f64 {
        self.position.0
    }

    /// Metres.
    pub const fn y(&self) -> f64 {
        self.position.1
    }

    /// Radians, anticlockwise.
    pub const fn heading(&self) -> f64 {
        self.heading
    }
}
