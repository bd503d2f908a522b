//! From the levers of two stations to what the one in command asks for.

use trunnion::declare::Refusal;
use trunnion::guard::{StationLatch, StationLatchConfig, StationLatchInputs, StationState};
use trunnion::lever::{Axis, AxisCalibration, AxisCalibrationConfig, AxisConfig, Neutral, NeutralConfig};
use trunnion::quantity::{Millis, Millivolts, Permille, Ratio};
use trunnion::sense::{PairValue, RatiometricSensor, Reading, RedundantPair, RedundantPairConfig};

use super::PERIOD;
use super::sensing::{SENSOR, Sensed, fixed};
use crate::declaration::{Inputs, Parameter, Parameters};

trunnion::choices! {
    /// An operator's station.
    pub enum Station {
        /// None.
        None = "none",
        /// The left one.
        Left = "left",
        /// The right one.
        Right = "right",
    }
}

impl Station {
    /// By its place in the latch.
    pub fn of(place: Option<u8>) -> Self {
        match place {
            None => Self::None,
            Some(0) => Self::Left,
            Some(_) => Self::Right,
        }
    }
}

/// A lever in one period.
#[derive(Debug, Clone, Copy)]
pub struct LeverState {
    /// Where it is, or what is wrong with its sensors.
    pub position: Reading<Ratio>,
    /// What it asks for; nothing when it is not to be believed.
    pub intent: Ratio,
    /// It was seen released.
    pub neutral: bool,
}

/// A lever with two sensors of opposite slope, calibrated.
#[derive(Debug, Clone)]
struct Lever {
    pair: RedundantPair<Ratio>,
    calibration: AxisCalibration<Ratio>,
    axis: Axis,
    neutral: Neutral,
}

fn pair(parameters: &Parameters) -> RedundantPairConfig<Ratio> {
    RedundantPairConfig {
        tolerance: parameters.lever_disagreement().into(),
        disagree_after: Millis::from_ticks(100),
        value: PairValue::Mean,
    }
}

/// Where the lever of a parameter rests in the span of its sensors; the ends are those of the span.
fn calibration(centre: Permille) -> AxisCalibrationConfig<Ratio> {
    AxisCalibrationConfig {
        low: Ratio::ZERO,
        centre: centre.into(),
        high: Ratio::ONE,
        shortest_travel: Ratio::from_quotient(3, 10),
        off_centre: Permille::saturating(250),
        overtravel: Ratio::from_quotient(5, 100),
    }
}

fn axis(parameters: &Parameters, progression: Permille) -> AxisConfig {
    AxisConfig {
        deadband: parameters.lever_deadband(),
        saturation: parameters.lever_full_travel(),
        progression,
    }
}

fn neutral(parameters: &Parameters) -> NeutralConfig {
    NeutralConfig { inside: parameters.lever_neutral(), outside: parameters.lever_deadband() }
}

impl Lever {
    fn new(parameters: &Parameters, centre: Parameter, progression: Permille) -> Result<Self, Refusal> {
        let refuse = |parameter, rule| move |_| parameters.contradiction(parameter, rule);
        let at = Permille::saturating(trunnion::declare::ParameterSet::raw(parameters, centre as u16).into());
        Ok(Self {
            pair: RedundantPair::new(pair(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::lever_disagreement, "is no tolerance"))?,
            calibration: AxisCalibration::new(calibration(at))
                .map_err(|_| parameters.contradiction(centre, "is no centre of a sound lever"))?,
            axis: Axis::new(axis(parameters, progression))
                .map_err(refuse(Parameter::lever_deadband, "leaves no travel below lever_full_travel"))?,
            neutral: Neutral::new(neutral(parameters)).map_err(|_| {
                parameters.contradiction(Parameter::lever_neutral, "is wider than lever_deadband")
            })?,
        })
    }

    /// Takes the settings of a lever that was built anew; what its sensors agreed on is kept.
    fn adopt(&mut self, next: Self, parameters: &Parameters) -> Result<(), Refusal> {
        self.pair
            .reconfigure(pair(parameters))
            .map_err(|_| parameters.contradiction(Parameter::lever_disagreement, "is no tolerance"))?;
        self.neutral.reconfigure(neutral(parameters)).map_err(|_| {
            parameters.contradiction(Parameter::lever_neutral, "is wider than lever_deadband")
        })?;
        self.calibration = next.calibration;
        self.axis = next.axis;
        Ok(())
    }

    fn step(&mut self, first: Reading<Ratio>, second: Reading<Ratio>) -> LeverState {
        let falling = second.map(|share| Ratio::ONE.minus(share));
        let share = self.pair.step(first, falling);
        let position = match share {
            Reading::Valid(share) => self.calibration.step(share),
            Reading::Faulted(flaw) => Reading::Faulted(flaw),
        };
        match position {
            Reading::Valid(at) => {
                LeverState { position, intent: self.axis.step(at), neutral: self.neutral.step(at) }
            }
            Reading::Faulted(_) => {
                self.neutral.reset();
                LeverState { position, intent: Ratio::ZERO, neutral: false }
            }
        }
    }
}

/// Both levers of a station.
#[derive(Debug, Clone, Copy)]
pub struct StationLevers {
    /// Drive lever, forward positive.
    pub drive: LeverState,
    /// Steer lever, right positive.
    pub steer: LeverState,
}

impl StationLevers {
    fn is_released(&self) -> bool {
        self.drive.neutral && self.steer.neutral
    }

    /// A broken lever asks for nothing: it must not keep the sound station from taking over.
    fn is_released_or_broken(&self) -> bool {
        let is = |lever: &LeverState| lever.neutral || !lever.position.is_valid();
        is(&self.drive) && is(&self.steer)
    }
}

/// What the station in command asks for.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// The levers of the left and the right station.
    pub levers: [StationLevers; 2],
    /// Who commands, and who waits.
    pub station: StationState,
    /// Drive of the station in command.
    pub drive: Ratio,
    /// Steer of the station in command, right positive.
    pub steer: Ratio,
    /// Its drive lever is released.
    pub drive_neutral: bool,
    /// Its steer lever is released.
    pub steer_neutral: bool,
    /// Its seat is taken.
    pub seat_occupied: bool,
    /// All levers of both stations are released; those of the other station may be known to be broken.
    pub all_neutral: bool,
    /// All levers of both stations are released or known to be broken: the command may pass.
    pub may_hand_over: bool,
}

/// The lever room of the roller.
#[derive(Debug, Clone)]
pub struct Stations {
    sensor: RatiometricSensor,
    /// Drive and steer lever of the left station, then of the right one.
    levers: [Lever; 4],
    latch: StationLatch<2>,
}

fn latch(parameters: &Parameters) -> StationLatchConfig {
    StationLatchConfig { hold: parameters.station_hold() }
}

fn levers(parameters: &Parameters) -> Result<[Lever; 4], Refusal> {
    let (drive, steer) = (parameters.drive_progression(), parameters.steer_progression());
    Ok([
        Lever::new(parameters, Parameter::left_drive_centre, drive)?,
        Lever::new(parameters, Parameter::left_steer_centre, steer)?,
        Lever::new(parameters, Parameter::right_drive_centre, drive)?,
        Lever::new(parameters, Parameter::right_steer_centre, steer)?,
    ])
}

impl Stations {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        Ok(Self {
            sensor: RatiometricSensor::new(SENSOR).map_err(|_| fixed(parameters))?,
            levers: levers(parameters)?,
            latch: StationLatch::new(latch(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::station_hold, "is no time"))?,
        })
    }

    /// Takes new parameters; who commands stays.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        for (lever, next) in self.levers.iter_mut().zip(levers(parameters)?) {
            lever.adopt(next, parameters)?;
        }
        self.latch
            .reconfigure(latch(parameters))
            .map_err(|_| parameters.contradiction(Parameter::station_hold, "is no time"))
    }

    /// Second hop: who commands, and what he asks for. `at_rest`: machine at standstill with its ramps at zero.
    pub fn step(&mut self, inputs: &Inputs, sensed: &Sensed, at_rest: bool) -> Wanted {
        let levers = self.read(inputs);
        let released = levers.map(|levers| levers.is_released_or_broken());
        let station =
            self.latch.step(StationLatchInputs { claimed: sensed.seats, neutral: released, at_rest });
        let in_command = self.latch.chosen(levers);
        Wanted {
            levers,
            station,
            drive: in_command.map_or(Ratio::ZERO, |levers| levers.drive.intent),
            steer: in_command.map_or(Ratio::ZERO, |levers| levers.steer.intent),
            drive_neutral: in_command.is_some_and(|levers| levers.drive.neutral),
            steer_neutral: in_command.is_some_and(|levers| levers.steer.neutral),
            seat_occupied: self.latch.chosen(sensed.seats).unwrap_or(false),
            all_neutral: in_command.is_none_or(|levers| levers.is_released()) && released == [true; 2],
            may_hand_over: released == [true; 2],
        }
    }

    /// All levers in this period.
    fn read(&mut self, inputs: &Inputs) -> [StationLevers; 2] {
        let sensor = self.sensor;
        let read = |lever: &mut Lever, first: Millivolts, second: Millivolts| {
            lever.step(sensor.step(first, inputs.sensor_supply), sensor.step(second, inputs.sensor_supply))
        };
        let [left_drive, left_steer, right_drive, right_steer] = &mut self.levers;
        [
            StationLevers {
                drive: read(left_drive, inputs.left_drive_first, inputs.left_drive_second),
                steer: read(left_steer, inputs.left_steer_first, inputs.left_steer_second),
            },
            StationLevers {
                drive: read(right_drive, inputs.right_drive_first, inputs.right_drive_second),
                steer: read(right_steer, inputs.right_steer_first, inputs.right_steer_second),
            },
        ]
    }
}
