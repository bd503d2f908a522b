//! Examples that the help shows.

/// Verb, what is typed, what it does. `FIRST` stands for the machine's first scenario, `ID` for its first requirement.
/// Those without a verb teach the whole program.
const EXAMPLES: &[(&str, &str, &str)] = &[
    ("", "list", "what there is"),
    ("", "run FIRST", "run one scenario"),
    ("", "run --all --quiet", "run them all, one line each"),
    ("", "explain ID", "what a requirement, a signal, a parameter or a fault means"),
    ("list", "list", "everything but the columns"),
    ("list", "list scenarios", "what can be run by name"),
    ("list", "list columns", "what formulas and plots can name"),
    ("run", "run FIRST", "a scenario of the program"),
    ("run", "run my.scenario another.scenario", "files of your own"),
    ("run", "run FIRST --parameter 'NAME = VALUE' --csv traces", "tune, and look at the trace"),
    ("run", "run --all --report all.html", "a report of everything"),
    ("run", "run --all --firmware image.elf", "host and firmware side by side"),
    ("run", "run --all --json - 2>/dev/null", "results for a script"),
    ("demo", "demo --out target/demo", "on the host alone"),
    ("demo", "demo --firmware image.elf", "and as firmware in QEMU"),
    ("sheet", "sheet wiring", "for reading"),
    ("sheet", "sheet parameters --format markdown", "for a document"),
    ("sheet", "sheet faults --format csv", "for a spreadsheet"),
    ("papers", "papers", "into target/papers"),
    ("papers", "papers --out handover", "into a folder of your own"),
    ("check", "check my.scenario", "before running it"),
    ("explain", "explain ID", "a requirement with its formula"),
    ("hunt", "hunt", "all requirements, 2000 runs"),
    ("hunt", "hunt --only ID --simulations 20000", "one of them, longer"),
    ("hunt", "hunt --hunts 8 --shard 2/4 --part 2.json", "on the second of four computers"),
    ("hunt", "hunt --merge 1.json 2.json 3.json 4.json", "what they found"),
    ("campaign", "campaign", "all cells"),
    ("campaign", "campaign --only lever --only @driving", "some of them"),
    ("campaign", "campaign --csv cells.csv --json cells.json", "every cell with what was measured"),
    ("campaign", "campaign --cell SIGNAL:WAY@STATE", "one of them, with the scenario that replays it"),
    ("campaign", "campaign --report campaign.html", "all of them, as a page"),
    ("campaign", "campaign --sample 200 --seed 7", "200 of them, drawn"),
    ("campaign", "campaign --pairs --sample 400", "two failures at once: 400 pairs of all, drawn"),
    ("campaign", "campaign --shard 2/4 --part 2.json", "on the second of four computers"),
    ("campaign", "campaign --merge 1.json 2.json 3.json 4.json", "what they found"),
    ("preview", "preview 'NAME = VALUE'", "one parameter"),
    ("preview", "preview 'NAME = VALUE' 'OTHER = VALUE' --store set.json", "a set, and its record"),
    (
        "preview",
        "preview 'NAME = VALUE' --drive bus.log --with work.scenario",
        "in a drive that a machine recorded, too",
    ),
    ("evidence", "evidence --campaign cells.json --hunt hunt.json --firmware image.elf", "all there is"),
    ("evidence", "evidence", "the scenarios alone; the rest is a gap"),
    ("serve", "serve", "a machine at rest; the port is printed"),
    ("serve", "serve FIRST --port 29536", "a story first, at a port of your choice"),
    ("serve", "serve --firmware image.elf --record bus.log", "the firmware beside the host, and a log"),
    ("unit", "unit who --at tcp:127.0.0.1:29536", "which unit is it, over TCP"),
    ("unit", "unit show --at /dev/ttyACM0", "all values, over a serial adaptor"),
    ("unit", "unit save mine.txt --at can:can0", "all parameters, over SocketCAN"),
    ("unit", "unit restore mine.txt", "what it would change; --yes --key FILE writes it"),
    ("unit", "unit faults --json", "faults for a script"),
    ("unit", "unit watch SIGNAL --every 200", "a signal with a small plot"),
    ("unit", "unit box --freeze --to last.box --arm", "keep what it recorded, read it, let it record anew"),
    ("box", "box last.box", "what happened, and the period of the fault"),
    (
        "box",
        "box last.box --scenario last.scenario",
        "told for the simulated machine: to be run, changed, kept",
    ),
    ("box", "box last.box --step", "forward and back by hand"),
    ("box", "box last.box --at 120 --csv last.csv", "one period, and all of them as a table"),
    ("replay", "replay bus.log", "what follows from the bus alone"),
    ("replay", "replay bus.log --with FIRST", "all of it, the wires as a story tells them"),
    (
        "replay",
        "replay bus.log --with work.scenario --settings unit.txt",
        "with the parameters that `unit save` has written",
    ),
    ("replay", "replay bus.log --with FIRST --without DM2 --json", "but for one message; for a script"),
    ("replay", "run FIRST --log logs", "a log of a story, to try it with"),
    ("completions", "completions bash", "to be sourced from your .bashrc"),
];

/// The examples of a verb, or of the whole program when the verb is empty.
pub(super) fn of(program: &str, first_scenario: &str, first_requirement: &str, verb: &str) -> String {
    let filled = |typed: &str| typed.replace("FIRST", first_scenario).replace("ID", first_requirement);
    let lines: Vec<(String, &str)> = EXAMPLES
        .iter()
        .filter(|(of, _, _)| *of == verb)
        .map(|(_, typed, does)| (filled(typed), *does))
        .collect();
    let width = lines.iter().map(|(typed, _)| typed.len()).max().unwrap_or(0);
    let line = |(typed, does): &(String, &str)| format!("  {program} {typed:<width$}  {does}\n");
    format!("Examples:\n{}", lines.iter().map(line).collect::<String>())
}
