//! From what is true to what the controller's inputs read.

use core::marker::PhantomData;

use trunnion::declare::{Failure, FieldInfo, Record};

use crate::plant::{
    Actuation, AnalogSensor, AnalogSensorConfig, ContactKind, Level, Pickup, PickupConfig, PlantConfigError,
    SplitMix64, Switch, SwitchConfig,
};

/// A voltage that a drifting measurement runs away in a second, mV: engineering judgement.
const DRIFT_MV_PER_SECOND: f64 = 200.0;

/// What a divider reads that touches something else, mV: the range of the declaration ends it.
const BEYOND_MV: f64 = 1.0e6;

/// All wired inputs of a controller. Signals are named by their place in the record `R`.
///
/// A contact is told by [`actuate`](Self::actuate), a sensor or a voltage by [`measure`](Self::measure), a toothed wheel by
/// [`turn`](Self::turn); what they keep being told stays. A place that has no wire of the kind is a mistake of the plant and is
/// ignored, as is a failure that the wire of a place does not know.
///
/// What is random, bounce and noise, comes from a stream of its own for each signal, by the signal's name: another wire more
/// changes nothing of the others.
#[derive(Debug, Clone)]
pub struct InputWires<R> {
    seed: u64,
    contacts: Vec<(u16, Switch)>,
    sensors: Vec<Sensor>,
    pickups: Vec<Wheel>,
    voltages: Vec<(u16, Voltage)>,
    record: PhantomData<R>,
}

#[derive(Debug, Clone)]
struct Sensor {
    place: u16,
    part: AnalogSensor,
    truth: f64,
}

#[derive(Debug, Clone)]
struct Wheel {
    edges: u16,
    stamp: u16,
    part: Pickup,
    speed_rad_s: f64,
}

/// A voltage behind a divider.
#[derive(Debug, Clone, Copy, Default)]
struct Voltage {
    failure: Option<Failure>,
    true_mv: f64,
    last_mv: f64,
    drift_mv: f64,
}

impl Voltage {
    fn read(&mut self, dt_s: f64) -> f64 {
        self.last_mv = match self.failure {
            None => self.true_mv,
            Some(Failure::Stuck) => self.last_mv,
            Some(Failure::OutOfRange) => BEYOND_MV,
            Some(Failure::Drift) => {
                self.drift_mv += DRIFT_MV_PER_SECOND * dt_s;
                self.true_mv + self.drift_mv
            }
            Some(_) => 0.0,
        };
        self.last_mv
    }
}

fn field<R: Record>(place: u16) -> Option<&'static FieldInfo> {
    R::FIELDS.get(usize::from(place))
}

fn stream<R: Record>(seed: u64, place: u16) -> SplitMix64 {
    SplitMix64::for_part(seed, field::<R>(place).map_or("", |field| field.name))
}

impl<R: Record> InputWires<R> {
    /// No wire yet; `seed` is the scenario's.
    pub fn new(seed: u64) -> Self {
        Self {
            seed,
            contacts: Vec::new(),
            sensors: Vec::new(),
            pickups: Vec::new(),
            voltages: Vec::new(),
            record: PhantomData,
        }
    }

    /// Adds a contact, released, that bounces for a time in ms after each change.
    pub fn contact(
        mut self,
        place: u16,
        kind: ContactKind,
        bounce_ms: f64,
    ) -> Result<Self, PlantConfigError> {
        let switch = Switch::new(SwitchConfig { kind, bounce_ms }, stream::<R>(self.seed, place))?;
        self.contacts.push((place, switch));
        Ok(self)
    }

    /// Adds a ratiometric sensor, which measures zero until it is told.
    pub fn sensor(mut self, place: u16, config: AnalogSensorConfig) -> Result<Self, PlantConfigError> {
        self.sensors.push(Sensor { place, part: AnalogSensor::new(config)?, truth: 0.0 });
        Ok(self)
    }

    /// Adds a pickup with its count of edges and the stamp of the last one.
    pub fn pickup(mut self, edges: u16, stamp: u16, config: PickupConfig) -> Result<Self, PlantConfigError> {
        let part = Pickup::new(config, stream::<R>(self.seed, edges))?;
        self.pickups.push(Wheel { edges, stamp, part, speed_rad_s: 0.0 });
        Ok(self)
    }

    /// Adds a measured voltage, 0 mV until it is told.
    pub fn voltage(mut self, place: u16) -> Self {
        self.voltages.push((place, Voltage::default()));
        self
    }

    /// Presses a contact's switch or lets it go.
    pub fn actuate(&mut self, place: u16, actuated: bool) {
        for (own, switch) in &mut self.contacts {
            if *own == place {
                switch.actuate(if actuated { Actuation::Actuated } else { Actuation::Released });
            }
        }
    }

    /// What a sensor measures from now on in its unit, or what a voltage is in mV.
    pub fn measure(&mut self, place: u16, truth: f64) {
        for sensor in &mut self.sensors {
            if sensor.place == place {
                sensor.truth = truth;
            }
        }
        for (own, voltage) in &mut self.voltages {
            if *own == place {
                voltage.true_mv = truth;
            }
        }
    }

    /// How fast the wheel of a pickup turns from now on, rad/s, by the place of its edges.
    pub fn turn(&mut self, edges: u16, speed_rad_s: f64) {
        for wheel in &mut self.pickups {
            if wheel.edges == edges {
                wheel.speed_rad_s = speed_rad_s;
            }
        }
    }

    /// Passes one fast step of the controller: pickups count.
    pub fn advance(&mut self, dt_us: u32) {
        for wheel in &mut self.pickups {
            wheel.part.step(dt_us, wheel.speed_rad_s);
        }
    }

    /// What the inputs read at the end of a period, each within the range of its declaration; sensors on a supply in mV.
    pub fn read(&mut self, dt_us: u32, sensor_supply_mv: f64) -> R {
        let dt_s = f64::from(dt_us) * 1.0e-6;
        let mut inputs = R::default();
        for (place, switch) in &mut self.contacts {
            inputs.set(*place, i64::from(switch.step(dt_us) == Level::High));
        }
        for sensor in &mut self.sensors {
            sensor.part.step(dt_s, sensor.truth, sensor_supply_mv);
            set_within(&mut inputs, sensor.place, i64::from(sensor.part.millivolts()));
        }
        for wheel in &self.pickups {
            inputs.set(wheel.edges, i64::from(wheel.part.count()));
            inputs.set(wheel.stamp, i64::from(wheel.part.stamp_us()));
        }
        for (place, voltage) in &mut self.voltages {
            let millivolts = voltage.read(dt_s) as i64;
            set_within(&mut inputs, *place, millivolts);
        }
        inputs
    }

    /// Breaks the wire of a place, or mends it with `None`.
    pub fn set_failure(&mut self, place: u16, failure: Option<Failure>) {
        for (own, switch) in &mut self.contacts {
            if *own == place {
                switch.set_failure(failure);
            }
        }
        for sensor in &mut self.sensors {
            if sensor.place == place {
                sensor.part.set_failure(failure);
            }
        }
        for wheel in &mut self.pickups {
            if wheel.edges == place {
                wheel.part.set_failure(failure);
            }
        }
        for (own, voltage) in &mut self.voltages {
            if *own == place {
                voltage.failure = failure;
                voltage.drift_mv = 0.0;
            }
        }
    }
}

fn set_within<R: Record>(inputs: &mut R, place: u16, raw: i64) {
    if let Some(field) = field::<R>(place) {
        inputs.set(place, raw.max(field.low).min(field.high));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::Pull;
    use crate::run::Way;
    use trunnion::quantity::Millivolts;

    trunnion::signals! {
        /// A few wires.
        pub struct Wires, pub enum Place {
            /// Supply.
            supply: Millivolts = Millivolts::ZERO, in 0..=36_000, at "X1:1", trunnion::declare::Wire::VoltageSense;
            /// A seat.
            seat: bool = false, at "X1:2", trunnion::declare::Wire::SwitchToSupply;
            /// A stop.
            stop: bool = false, at "X1:3", trunnion::declare::Wire::SwitchToSupply;
            /// A pressure.
            pressure: Millivolts = Millivolts::ZERO, in 0..=6_000, at "X1:4", trunnion::declare::Wire::Ratiometric;
            /// A wheel.
            edges: u16 = 0, at "X1:5", trunnion::declare::Wire::PulseCount;
            /// Its stamp.
            stamp: u32 = 0, at "X1:5", trunnion::declare::Wire::PulseStamp;
        }
    }

    fn at(place: Place) -> u16 {
        place as u16
    }

    fn wires() -> InputWires<Wires> {
        let pressure = AnalogSensorConfig { low: 0.0, high: 40.0, time_constant_s: 1.0e-4, pull: Pull::Down };
        InputWires::new(1)
            .voltage(at(Place::supply))
            .contact(at(Place::seat), ContactKind::NormallyOpen, 0.0)
            .and_then(|wires| wires.contact(at(Place::stop), ContactKind::NormallyClosed, 0.0))
            .and_then(|wires| wires.sensor(at(Place::pressure), pressure))
            .and_then(|wires| {
                let wheel = PickupConfig { teeth: 10, lowest_hz: 0.0 };
                wires.pickup(at(Place::edges), at(Place::stamp), wheel)
            })
            .unwrap()
    }

    fn read(wires: &mut InputWires<Wires>) -> Wires {
        for _ in 0..10 {
            wires.advance(1_000);
        }
        wires.read(10_000, 5_000.0)
    }

    #[test]
    fn the_inputs_read_what_is_true() {
        let mut wires = wires();
        wires.measure(at(Place::supply), 12_600.0);
        wires.measure(at(Place::pressure), 20.0);
        wires.actuate(at(Place::seat), true);
        // Ten turns a second on ten teeth: one edge a period of 10 ms.
        wires.turn(at(Place::edges), 10.0 * core::f64::consts::TAU);
        let inputs = (0..100).map(|_| read(&mut wires)).last().unwrap();
        assert_eq!((inputs.supply.raw(), inputs.pressure.raw()), (12_600, 2_500));
        assert!(inputs.seat && inputs.stop);
        assert!((98..=100).contains(&inputs.edges), "{}", inputs.edges);
        assert!(inputs.stamp > 970_000);
    }

    #[test]
    fn every_failure_of_every_wire_shows_and_goes_when_it_is_mended() {
        for (place, field) in (0_u16..).zip(Wires::FIELDS) {
            let ways = field.wire.failures().iter().copied();
            for failure in ways.chain(Way::beyond(field.wire).iter().filter_map(|way| way.steady())) {
                let mut wires = wires();
                wires.measure(at(Place::supply), 12_600.0);
                wires.measure(at(Place::pressure), 20.0);
                wires.turn(at(Place::edges), 10.0 * core::f64::consts::TAU);
                let mut sound = wires.clone();
                let (mut broken, mut differs) = (wires, false);
                broken.set_failure(place, Some(failure));
                for period in 0..50 {
                    // Something changes: what is stuck shows.
                    for wires in [&mut broken, &mut sound] {
                        wires.actuate(at(Place::seat), period > 10 && period < 30);
                        wires.actuate(at(Place::stop), period > 10 && period < 30);
                        wires.measure(at(Place::pressure), 20.0 + f64::from(period) / 5.0);
                        wires.measure(at(Place::supply), 12_600.0 + f64::from(period));
                    }
                    differs |= read(&mut broken) != read(&mut sound);
                }
                assert!(differs, "{} {failure:?} does not show", field.name);
                broken.set_failure(place, None);
                let (last_broken, last_sound) = (read(&mut broken), read(&mut sound));
                assert_eq!(
                    Wires { edges: 0, stamp: 0, ..last_broken },
                    Wires { edges: 0, stamp: 0, ..last_sound },
                    "{} {failure:?} does not go",
                    field.name
                );
            }
        }
    }

    #[test]
    fn a_voltage_beyond_its_declared_range_reads_as_its_end() {
        let mut wires = wires();
        wires.measure(at(Place::supply), 90_000.0);
        assert_eq!(read(&mut wires).supply.raw(), 36_000);
        wires.measure(at(Place::supply), -5.0);
        assert_eq!(read(&mut wires).supply.raw(), 0);
    }
}
