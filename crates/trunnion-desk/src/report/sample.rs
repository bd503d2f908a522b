//! A made-up loader for the tests of the report: not the project's plant, but signals of the same size, shape
//! and number as a real record has.

mod machine;

use machine::{Machine, Record, mix, record_row};

use super::*;

const PERIOD: f64 = 0.01;

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

fn run(index: usize) -> RunReport {
    let (title, about, duration, trouble) = SCENARIOS[index];
    let rows = (duration / PERIOD) as usize;
    let mut machine = Machine::new(index as u64 + 1);
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
