//! A made-up loader for the tests of the report: not the project's plant, but signals of the same size, shape
//! and number as a real record has.

use super::*;

const PERIOD: f64 = 0.01;
const TRACK: f64 = 2.1;

/// What the operator does from a time on: drive, steer, boom, bucket.
type Step = (f64, [f64; 4]);

const CYCLE: [Step; 16] = [
    (0.0, [0.0, 0.0, 0.0, 0.0]),
    (2.5, [0.75, 0.0, 0.0, 0.0]),
    (7.0, [0.4, 0.12, 0.0, -0.3]),
    (10.0, [0.25, 0.0, 0.2, -0.9]),
    (13.0, [0.0, 0.0, 0.5, 0.0]),
    (14.5, [-0.6, 0.0, 0.4, 0.0]),
    (18.0, [-0.4, -0.42, 0.3, 0.0]),
    (21.0, [0.0, -0.8, 0.0, 0.0]),
    (23.0, [0.7, 0.0, 0.6, 0.0]),
    (28.0, [0.2, 0.0, 0.3, 0.0]),
    (31.0, [0.0, 0.0, 0.0, 0.95]),
    (34.0, [-0.5, 0.0, 0.0, -0.2]),
    (38.0, [-0.3, 0.5, -0.7, -0.4]),
    (42.0, [0.55, 0.2, -0.5, 0.0]),
    (49.0, [0.15, 0.0, 0.0, 0.0]),
    (52.0, [0.0, 0.0, 0.0, 0.0]),
];

const SCENARIOS: [(&str, &str, f64, f64); 10] = [
    ("Working cycle", "Drive in, fill, back out, spin, raise, dump, return.", 58.0, 0.0),
    (
        "Power-up with a lever held",
        "Nothing moves until every lever was neutral and the operator asked.",
        20.0,
        4.0,
    ),
    ("Pattern change while moving", "The rocker is flipped at speed, then again at rest.", 30.0, 9.0),
    ("Lever unplugged at speed", "The left lever's cable parts at full travel; both sides stop.", 25.0, 11.0),
    ("Open coil", "The left forward coil opens under current.", 25.0, 8.0),
    ("Seat left while driving", "The operator stands up, sits down again with a lever held.", 40.0, 15.0),
    ("Pattern request during a ramp", "Dropped, not queued.", 25.0, 12.0),
    ("Reversal while steering, path-following", "Yaw flips with travel, not with the command.", 40.0, 0.0),
    ("Reversal while steering, yaw-fixed", "Right stays clockwise in reverse.", 40.0, 0.0),
    ("Engine stall in the pile", "The engine is pulled down and stops; everything is withdrawn.", 35.0, 16.0),
];

/// Columns by name, filled row by row.
#[derive(Default)]
struct Record {
    columns: Vec<Column>,
    next: usize,
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

struct Machine {
    levers: [f64; 4],
    command: [f64; 2],
    independent: [f64; 2],
    work: [f64; 2],
    currents: [f64; 8],
    speeds: [f64; 2],
    engine: f64,
    pose: (f64, f64, f64),
    noise: u64,
}

impl Machine {
    fn noise(&mut self, size: f64) -> f64 {
        self.noise =
            self.noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.noise >> 33) as f64 / (1u64 << 31) as f64 - 0.5) * size
    }

    fn step(&mut self, wanted: [f64; 4], permitted: bool) -> [f64; 2] {
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
fn mix(drive: f64, steer: f64) -> [f64; 2] {
    let inner = drive * (1.0 - 2.0 * steer.abs());
    if drive.abs() < 0.03 {
        [steer, -steer]
    } else if steer >= 0.0 {
        [drive, inner]
    } else {
        [inner, drive]
    }
}

fn run(index: usize) -> RunReport {
    let (title, about, duration, trouble) = SCENARIOS[index];
    let rows = (duration / PERIOD) as usize;
    let mut machine = Machine {
        levers: [0.0; 4],
        command: [0.0; 2],
        independent: [0.0; 2],
        work: [0.0; 2],
        currents: [0.0; 8],
        speeds: [0.0; 2],
        engine: 2350.0,
        pose: (0.0, 0.0, 0.0),
        noise: index as u64 + 1,
    };
    let mut record = Record::default();
    let (mut x, mut y, mut yaw) = (Vec::new(), Vec::new(), Vec::new());
    for row in 0..rows {
        let at = row as f64 * PERIOD;
        let wanted = CYCLE.iter().rev().find(|step| step.0 <= at).map_or([0.0; 4], |step| step.1);
        let permitted = at > 2.2 && !(trouble > 0.0 && (trouble..trouble + 4.0).contains(&at));
        let asked = machine.step(wanted, permitted);
        record.next = 0;
        record_row(&mut record, &mut machine, asked, at, permitted);
        x.push(machine.pose.0);
        y.push(machine.pose.1);
        yaw.push(machine.pose.2);
    }
    let footprint = Footprint { length: 3.5, width: 1.8, ahead: 2.0 };
    let marks = [(10.0, "fill"), (21.0, "spin"), (31.0, "dump"), (42.0, "return")];
    let marks = marks.into_iter().filter(|mark| mark.0 < duration);
    RunReport {
        title: title.into(),
        about: about.into(),
        duration,
        hash: format!("{:016x}", (index as u64 + 3).wrapping_mul(0x9e37_79b9_7f4a_7c15)).repeat(4),
        parity: Parity::BitForBit {
            controller: "Cortex-M4 image in QEMU, over UART".into(),
            ticks: rows as u64,
        },
        requirements: requirements(index, duration, trouble),
        faults: faults(index, trouble),
        why_not: why_not(trouble),
        time: (0..rows).map(|row| row as f64 * PERIOD).collect(),
        columns: record.columns,
        plots: plots(),
        path: Some(Path {
            x,
            y,
            yaw,
            footprint,
            marks: marks.map(|(at, label)| Mark { at, label: label.into() }).collect(),
        }),
        log: vec![LogLine {
            at: Some(0.02),
            source: "firmware".into(),
            text: "start: reset cause power-on, parameters default".into(),
        }],
    }
}

fn record_row(record: &mut Record, machine: &mut Machine, asked: [f64; 2], at: f64, permitted: bool) {
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
    record.put("engine_speed", "rpm", "Engine speed from the pickup", (machine.engine * 8.0).round() / 8.0);
    record.put("true_engine_speed", "rpm", "Engine speed of the plant", machine.engine);
    for (index, side) in ["left", "right"].into_iter().enumerate() {
        let pressure =
            22.0 + 140.0 * (machine.command[index] - machine.speeds[index] / 3.1).abs() + machine.noise(2.0);
        record.put(&format!("true_pressure_{side}"), "bar", "Pressure of the loop", pressure);
    }
    record.put("supply", "mV", "Supply voltage", (27_600.0 + machine.noise(60.0)).round());
    record.put("oil_temperature", "°C", "Oil temperature", ((31.0 + at * 0.05) * 10.0).round() / 10.0);
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

fn plots() -> Vec<PlotGroup> {
    let lanes = vec![
        Lane::new("Levers", "%")
            .line("lever_left_y", "drive")
            .line("lever_left_x", "steer")
            .line("lever_right_y", "boom")
            .line("lever_right_x", "bucket")
            .between(-105.0, 105.0),
        Lane::new("Permission and pattern", "")
            .line("drive_permission", "drive permission")
            .line("pattern", "lever pattern")
            .line("motion", "motion state"),
        Lane::new("Commands and ramps", "%")
            .styled("mix_left", "left asked", 0, Stroke::Dashed)
            .styled("ramp_left", "left ramped", 0, Stroke::Solid)
            .styled("mix_right", "right asked", 1, Stroke::Dashed)
            .styled("ramp_right", "right ramped", 1, Stroke::Solid),
        Lane::new("Drive coil currents", "mA")
            .line("current_left_forward", "left forward")
            .line("current_right_forward", "right forward")
            .line("current_left_reverse", "left reverse")
            .line("current_right_reverse", "right reverse")
            .limit(330.0, "threshold"),
        Lane::new("Speed over ground", "m/s")
            .line("true_speed_left", "left")
            .line("true_speed_right", "right"),
        Lane::new("Engine", "rpm").line("engine_speed", "pickup").styled(
            "true_engine_speed",
            "plant",
            2,
            Stroke::Dotted,
        ),
    ];
    let work = vec![
        Lane::new("Work commands", "%").line("work_boom", "boom").line("work_bucket", "bucket"),
        Lane::new("Work coil currents", "mA")
            .line("current_boom_raise", "boom raise")
            .line("current_boom_lower", "boom lower")
            .line("current_dump", "dump")
            .line("current_curl", "curl"),
        Lane::new("Loop pressures", "bar")
            .line("true_pressure_left", "left")
            .line("true_pressure_right", "right"),
    ];
    vec![
        PlotGroup {
            title: "Drive: levers to motion".into(),
            caption: "From top to bottom the path of a signal: what the operator asks, what is permitted, \
                      what the mixing law makes of it, what the pair ramp lets through, what flows in the coils, what the machine does."
                .into(),
            lanes,
        },
        PlotGroup { title: "Work functions and hydraulics".into(), caption: String::new(), lanes: work },
    ]
}

fn requirements(index: usize, duration: f64, trouble: f64) -> Vec<Requirement> {
    let row = |id: &str, sentence: &str, hazard: &str, margin: f64, unit: &str, at: f64| Requirement {
        id: id.into(),
        sentence: sentence.into(),
        hazard: hazard.into(),
        verdict: if margin < 0.0 { Verdict::Violated } else { Verdict::Held },
        margin: Some(margin),
        unit: unit.into(),
        at: Some(at),
        explanation: String::new(),
    };
    let k = index as f64;
    let mut rows = vec![
        row(
            "R-01",
            "No coil carries current before permission was given.",
            "Unexpected start-up",
            33.0 - k,
            "mA",
            2.21,
        ),
        row(
            "R-02",
            "After a withdrawal both sides come to rest monotonically within 1.2 s.",
            "Machine spins when one side stops",
            0.14 + 0.02 * k,
            "s",
            if trouble > 0.0 { trouble + 1.0 } else { 22.9 },
        ),
        row(
            "R-03",
            "The turn shape is kept within 0.01 while the sum of both sides is at least 0.1.",
            "Machine hooks while stopping",
            0.0063 - 0.0004 * k,
            "",
            18.42,
        ),
        row(
            "R-04",
            "Opposite coils of a pump never carry current together.",
            "Loss of control of the pump",
            28.0,
            "mA",
            14.61,
        ),
        row("R-05", "Duty is zero in the tick of an emergency stop.", "Run-over", 0.0, "%", 0.0),
        row(
            "R-06",
            "Engine speed stays above 900 rpm while permission is given.",
            "Loss of steering with a stalled engine",
            412.0 - 30.0 * k,
            "rpm",
            duration * 0.6,
        ),
    ];
    rows[4].verdict = Verdict::Inconclusive;
    rows[4].margin = None;
    rows[4].at = None;
    rows[4].explanation = "No emergency stop in this run.".into();
    if index == 9 {
        rows[5] = row(
            "R-06",
            "Engine speed stays above 900 rpm while permission is given.",
            "Loss of steering with a stalled engine",
            -85.5,
            "rpm",
            16.07,
        );
        rows[5].explanation = "814.5 rpm at 16.07 s, permission withdrawn 0.03 s later.".into();
    }
    rows
}

fn faults(index: usize, trouble: f64) -> Vec<FaultEvent> {
    if trouble == 0.0 {
        return Vec::new();
    }
    vec![FaultEvent {
        at: trouble,
        until: (index != 4).then_some(trouble + 4.0),
        code: "SPN 2661 FMI 9".into(),
        text: "left lever Y: no valid frame".into(),
        reaction: "drive: controlled stop of both sides; lamp 2-3".into(),
    }]
}

fn why_not(trouble: f64) -> Vec<WhyNot> {
    let span = |from: f64, until: f64, group: &str, reasons: &[&str]| WhyNot {
        from,
        until,
        group: group.into(),
        reasons: reasons.iter().map(|reason| (*reason).to_owned()).collect(),
    };
    let mut spans = vec![
        span(0.0, 0.9, "drive", &["seat open", "bar up"]),
        span(0.9, 2.2, "drive", &["press enable"]),
        span(0.0, 2.2, "work", &["press enable"]),
    ];
    if trouble > 0.0 {
        spans.push(span(trouble, trouble + 2.5, "drive", &["left lever missing"]));
        spans.push(span(trouble + 2.5, trouble + 4.0, "drive", &["lever not neutral", "press enable"]));
    }
    spans
}

/// Pair ramp beside independent ramps, and two mixing laws beside each other.
fn comparisons(runs: &[RunReport]) -> Vec<Comparison> {
    let curve = |label: &str, column: &str| Curve::of_run(label, &runs[0], column).unwrap();
    let ramps = CurveLane {
        title: "Sides".into(),
        unit: "%".into(),
        curves: vec![
            curve("left, pair", "ramp_left").styled(0, Stroke::Solid),
            curve("left, independent", "independent_left").styled(0, Stroke::Dashed),
            curve("right, pair", "ramp_right").styled(1, Stroke::Solid),
            curve("right, independent", "independent_right").styled(1, Stroke::Dashed),
        ],
        ..CurveLane::default()
    };
    let x: Vec<f64> = (0..=2000).map(|step| f64::from(step) / 20.0).collect();
    let common = x
        .iter()
        .map(|drive| if (drive - 3.0).abs() < 0.03 { f64::NAN } else { mix(drive / 100.0, 0.6)[1] * 100.0 });
    let blended = x.iter().map(|drive| {
        let share = (drive / 30.0).min(1.0);
        -60.0 * (1.0 - share) + mix(drive.max(3.1) / 100.0, 0.6)[1] * 100.0 * share
    });
    let laws = CurveLane {
        title: "Inner side at 60 % steer".into(),
        unit: "%".into(),
        curves: vec![
            Curve::new("common law", x.clone(), common.collect()).styled(1, Stroke::Dashed),
            Curve::new("continuous law", x.clone(), blended.collect()).styled(0, Stroke::Solid),
        ],
        ..CurveLane::default()
    };
    vec![
        Comparison {
            title: "Pair ramp beside independent ramps".into(),
            caption: "Independent ramps let the inner side arrive first: the machine hooks.".into(),
            x_label: "time".into(),
            x_unit: "s".into(),
            lanes: vec![ramps],
        },
        Comparison {
            title: "The jump of the common mixing law".into(),
            caption:
                "Between almost no drive and no drive the common law jumps; the continuous one does not."
                    .into(),
            x_label: "drive lever".into(),
            x_unit: "%".into(),
            lanes: vec![laws],
        },
    ]
}

/// A report of ten runs.
pub(super) fn report() -> ReportData {
    let runs: Vec<RunReport> = (0..SCENARIOS.len()).map(run).collect();
    let wiring = [
        ("lever_left", "X1-7/8", "CAN", "J1939 BJM1, address 0x33"),
        ("seat", "X1-12", "switch to supply", "open / occupied"),
        ("engine_pickup", "X2-3", "pulse", "135 teeth"),
        ("coil_left_forward", "X3-1", "proportional, high side", "0–900 mA"),
    ];
    ReportData {
        machine: "Brenner K34 skid-steer loader".into(),
        title: "Working cycle, faults and misuse".into(),
        about:
            "Ten scenarios driven against the simulated machine, on the host and as the controller's image."
                .into(),
        comparisons: comparisons(&runs),
        runs,
        parity: Parity::BitForBit { controller: "Cortex-M4 image in QEMU, over UART".into(), ticks: 33_800 },
        provenance: vec![
            Fact::new("Program", "loader 0.1.0"),
            Fact::new("Toolchain", "rustc 1.95.0"),
            Fact::new("Declaration", "5b1f0c9e2ad7443b91c0"),
            Fact::new("Parameters", "default set, 9c01d2aa17f3"),
        ],
        tables: vec![Table {
            title: "Wiring list".into(),
            caption: "Every signal that has a pin.".into(),
            head: ["Signal", "Pin", "Kind", "Range"].map(String::from).to_vec(),
            rows: wiring.iter().map(|row| [row.0, row.1, row.2, row.3].map(String::from).to_vec()).collect(),
        }],
        cautions: vec!["The drawing of this machine is made up.".into()],
        log: Vec::new(),
    }
}
