//! The made-up machine and the record of it.

use super::PERIOD;
use crate::report::Column;

const TRACK: f64 = 2.1;

/// Columns by name, filled row by row.
#[derive(Default)]
pub(super) struct Record {
    pub(super) columns: Vec<Column>,
    pub(super) next: usize,
}

impl Record {
    fn put(&mut self, name: &str, unit: &str, doc: &str, value: f64) {
        if self.columns.len() == self.next {
            self.columns.push(Column {
                name: name.into(),
                unit: unit.into(),
                doc: doc.into(),
                ..Column::default()
            });
        }
        self.columns[self.next].values.push(value);
        self.next += 1;
    }

    fn state(&mut self, name: &str, choices: &[&str], doc: &str, state: usize) {
        self.put(name, "", doc, state as f64);
        self.columns[self.next - 1].choices = choices.iter().map(|choice| (*choice).to_owned()).collect();
    }
}

/// Moves towards a target by at most so much.
fn ramp(value: &mut f64, target: f64, most: f64) {
    *value += (target - *value).max(-most).min(most);
}

pub(super) struct Machine {
    levers: [f64; 4],
    command: [f64; 2],
    independent: [f64; 2],
    work: [f64; 2],
    currents: [f64; 8],
    speeds: [f64; 2],
    engine: f64,
    pub(super) pose: (f64, f64, f64),
    noise: u64,
}

impl Machine {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            levers: [0.0; 4],
            command: [0.0; 2],
            independent: [0.0; 2],
            work: [0.0; 2],
            currents: [0.0; 8],
            speeds: [0.0; 2],
            engine: 2350.0,
            pose: (0.0, 0.0, 0.0),
            noise: seed,
        }
    }

    fn noise(&mut self, size: f64) -> f64 {
        self.noise =
            self.noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.noise >> 33) as f64 / (1u64 << 31) as f64 - 0.5) * size
    }

    pub(super) fn step(&mut self, wanted: [f64; 4], permitted: bool) -> [f64; 2] {
        for (lever, wanted) in self.levers.iter_mut().zip(wanted) {
            *lever += (wanted - *lever) * 0.06;
        }
        let mut asked = mix(self.levers[0], self.levers[1]);
        if !permitted {
            asked = [0.0; 2];
        }
        let apart = (asked[0] - self.command[0]).abs().max((asked[1] - self.command[1]).abs());
        let share = if apart > 0.009 { 0.009 / apart } else { 1.0 };
        for (index, asked) in asked.iter().enumerate() {
            self.command[index] += (asked - self.command[index]) * share;
            ramp(&mut self.independent[index], *asked, 0.009);
        }
        for index in 0..2 {
            ramp(&mut self.work[index], if permitted { self.levers[2 + index] } else { 0.0 }, 0.02);
        }
        let sides = [self.command[0], self.command[1], self.work[0], self.work[1]];
        for (index, side) in sides.into_iter().enumerate() {
            for (way, value) in [(0, side), (1, -side)] {
                let target = if value > 0.01 { 330.0 + 410.0 * value } else { 0.0 };
                let noise = self.noise(6.0);
                let current = &mut self.currents[2 * index + way];
                *current += (target - *current) * 0.28 + if target > 0.0 { noise } else { 0.0 };
                *current = current.max(0.0).round();
            }
        }
        let load = self.command.iter().map(|side| side.abs()).sum::<f64>() * 60.0 + self.work[0].abs() * 90.0;
        self.engine += (2350.0 - load - self.engine) * 0.02 + self.noise(3.0);
        for index in 0..2 {
            let target = self.command[index] * 3.1;
            self.speeds[index] += (target - self.speeds[index]) * 0.05;
        }
        let forward = (self.speeds[0] + self.speeds[1]) / 2.0;
        let turn = (self.speeds[1] - self.speeds[0]) / TRACK * 0.75;
        self.pose.2 += turn * PERIOD;
        self.pose.0 += forward * self.pose.2.cos() * PERIOD;
        self.pose.1 += forward * self.pose.2.sin() * PERIOD;
        asked
    }
}

/// A mixing law good enough for a sample: the inner side slows to zero at half steer, then reverses.
pub(super) fn mix(drive: f64, steer: f64) -> [f64; 2] {
    let inner = drive * (1.0 - 2.0 * steer.abs());
    if drive.abs() < 0.03 {
        [steer, -steer]
    } else if steer >= 0.0 {
        [drive, inner]
    } else {
        [inner, drive]
    }
}

/// Adds one value to every column.
pub(super) fn record_row(
    record: &mut Record,
    machine: &mut Machine,
    asked: [f64; 2],
    at: f64,
    permitted: bool,
) {
    let names = ["lever_left_y", "lever_left_x", "lever_right_y", "lever_right_x"];
    for (name, lever) in names.into_iter().zip(machine.levers) {
        record.put(name, "%", "Lever position after the deadband", (lever * 1000.0).round() / 10.0);
    }
    for (index, side) in ["left", "right"].into_iter().enumerate() {
        record.put(&format!("mix_{side}"), "%", "What the mixing law asks of the side", asked[index] * 100.0);
        record.put(
            &format!("ramp_{side}"),
            "%",
            "After the pair ramp",
            (machine.command[index] * 1e4).round() / 100.0,
        );
        record.put(
            &format!("independent_{side}"),
            "%",
            "After a ramp of its own",
            machine.independent[index] * 100.0,
        );
        record.put(
            &format!("true_speed_{side}"),
            "m/s",
            "Speed of the side over ground",
            machine.speeds[index],
        );
    }
    record_work(record, machine, at);
    record_engine(record, machine, at);
    record_states(record, machine, at, permitted);
}

fn record_work(record: &mut Record, machine: &Machine, at: f64) {
    for (index, name) in ["boom", "bucket"].into_iter().enumerate() {
        record.put(&format!("work_{name}"), "%", "Spool command", machine.work[index] * 100.0);
    }
    let coils = [
        "left_forward",
        "left_reverse",
        "right_forward",
        "right_reverse",
        "boom_raise",
        "boom_lower",
        "dump",
        "curl",
    ];
    for (index, coil) in coils.into_iter().enumerate() {
        let current = machine.currents[index];
        record.put(&format!("current_{coil}"), "mA", "Measured coil current", current);
        record.put(
            &format!("duty_{coil}"),
            "%",
            "Duty of the output",
            (current * 0.0731 * 100.0).round() / 100.0,
        );
        record.put(
            &format!("resistance_{coil}"),
            "Ω",
            "Estimated coil resistance",
            5.2 + current * 1e-4 + at * 1e-3,
        );
    }
}

fn record_engine(record: &mut Record, machine: &mut Machine, at: f64) {
    record.put("engine_speed", "rpm", "Engine speed from the pickup", (machine.engine * 8.0).round() / 8.0);
    record.put("true_engine_speed", "rpm", "Engine speed of the plant", machine.engine);
    for (index, side) in ["left", "right"].into_iter().enumerate() {
        let pressure =
            22.0 + 140.0 * (machine.command[index] - machine.speeds[index] / 3.1).abs() + machine.noise(2.0);
        record.put(&format!("true_pressure_{side}"), "bar", "Pressure of the loop", pressure);
    }
    record.put("supply", "mV", "Supply voltage", (27_600.0 + machine.noise(60.0)).round());
    record.put("oil_temperature", "°C", "Oil temperature", ((31.0 + at * 0.05) * 10.0).round() / 10.0);
}

fn record_states(record: &mut Record, machine: &Machine, at: f64, permitted: bool) {
    let seat = usize::from(at > 0.4);
    record.state("seat", &["open", "occupied"], "Seat switch after debounce", seat);
    record.state("bar", &["up", "down"], "Restraint bar switch", usize::from(at > 0.9));
    record.state("enable_button", &["released", "pressed"], "Enable", usize::from((1.8..2.2).contains(&at)));
    let pattern = if at < 1.0 {
        0
    } else if at < 40.0 {
        2
    } else {
        1
    };
    record.state("pattern", &["none", "H", "ISO"], "Active lever pattern", pattern);
    let motion = if machine.command.iter().all(|side| side.abs() < 0.01) {
        0
    } else if machine.command[0] * machine.command[1] < 0.0 {
        3
    } else if machine.command[0] + machine.command[1] > 0.0 {
        1
    } else {
        2
    };
    record.state(
        "motion",
        &["rest", "forward", "reverse", "rotation"],
        "Motion state that chooses the ramp",
        motion,
    );
    record.state(
        "drive_permission",
        &["withheld", "given"],
        "Permission of the drive group",
        usize::from(permitted),
    );
    for index in 0..30 {
        record.state(
            &format!("fault_{index:02}_active"),
            &["no", "yes"],
            "Fault active",
            usize::from(index == 3 && !permitted),
        );
    }
}
