use proptest::prelude::*;
use trunnion_rig::scenario::Scenario;

fn parse(text: &str) -> Scenario {
    Scenario::parse("story.scenario", text).unwrap_or_else(|complaints| panic!("{complaints}\nin\n{text}"))
}

fn refused(text: &str) -> String {
    match Scenario::parse("story.scenario", text) {
        Err(complaints) => complaints.to_string(),
        Ok(_) => panic!("accepted: {text}"),
    }
}

const STORY: &str = "\
# A story with everything in it.
scenario  Lever unplugged at speed in the H pattern
about     Both sides must come to rest;
          a machine with one live side spins.   # why it matters
seed      7
length    12 s
parameter drive_forward_maximum = 800 ‰, pivot_point = 40 %
set       operator_seated = yes
at 0.5 s  restraint_bar_down = yes, park_brake = no
at 2.0 s  left_lever_y moves to -80 % over 0.4 s

at 6.0 s  break left_lever: lost
after 1 s parameter pivot_point = 45 %
at 9.0 s  mend left_lever
require   S-01 (H-02 spin) both tracks come to rest: from 8 s
          abs(true_left_speed) < 0.05 m/s
require   S-02 it is told: always (fault_left_lever_lost rises implies lamp)
";

#[test]
fn a_story_is_printed_in_its_usual_form() {
    assert_eq!(
        parse(STORY).to_string(),
        "\
scenario  Lever unplugged at speed in the H pattern
about     Both sides must come to rest; a machine with one live side spins.
seed      7
length    12 s
parameter drive_forward_maximum = 800 ‰
parameter pivot_point = 40 %
set       operator_seated = yes
at 0.5 s  restraint_bar_down = yes, park_brake = no
at 2 s    left_lever_y moves to -80 % over 0.4 s
at 6 s    break left_lever: lost
after 1 s parameter pivot_point = 45 %
at 9 s    mend left_lever
require   S-01 (H-02 spin) both tracks come to rest: from 8 s abs(true_left_speed) < 0.05 m/s
require   S-02 it is told: always (fault_left_lever_lost rises implies lamp)
"
    );
}

#[test]
fn complaints_point_at_line_and_column_and_say_what_belongs_there() {
    let with = |line: &str| refused(&format!("scenario x\nlength 1 s\n{line}\n"));
    for (line, complaint) in [
        ("sed 7", "3:1: there is no statement `sed`; did you mean `seed`?"),
        ("seed x", "3:6: `x` is not expected here; expected a whole number of at most 15 digits"),
        (
            "at 2 lever = 3",
            "3:6: there is no unit `lever`; a unit behind the number, such as s, ms, mA, % or m/s",
        ),
        ("at 2 mA, lever = 3", "3:4: `2 mA` is not a time; a time such as 2.5 s"),
        (
            "at 2 s lever 3",
            "3:14: `3` is not expected here; expected `= value` or `moves to value over time`",
        ),
        (
            "at 2 s lever moves 3",
            "3:20: `3` is not expected here; expected `to` and a value, as in `moves to 80 % over 0.4 s`",
        ),
        (
            "at 2 s lever moves to 3 % in 2 s",
            "3:27: `in` is not expected here; expected `over` and how long it takes, as in `over 0.4 s`",
        ),
        ("at 2 s break lever", "3:19: the end is not expected here; expected `:`"),
        ("at 2 s lever = 3 % %", "3:20: `%` has no meaning here; a name, a number or a sign"),
        ("set a = 1, a = 2", "3:12: `a` is set twice; one value"),
        ("length 2 s", "3:1: this statement stands twice; one of them"),
        ("about", "3:1: `about` says nothing; text behind it"),
        (
            "require S-01 what it asks",
            "3:1: a requirement without a formula; `require S-01 what must hold: always (…)`",
        ),
        (
            "require S-01 asks: always (a",
            "3:29: the end is not expected here; expected `)` to close the parenthesis",
        ),
        (
            "require S-01 a: always b\nrequire S-01 b: always b",
            "4:9: the requirement `S-01` stands twice; an id of its own",
        ),
    ] {
        assert_eq!(with(line), format!("story.scenario:{complaint}"), "{line}");
    }
    assert_eq!(
        refused("# nothing\n"),
        "story.scenario:1:1: the scenario has no title; a line such as `scenario  Lever unplugged at speed`\n\
         story.scenario:1:1: the scenario has no length; a line such as `length    12 s`"
    );
}

fn number() -> impl Strategy<Value = String> {
    (any::<bool>(), 0..10_000_u32, 0..1000_u32).prop_map(|(negative, whole, thousandths)| {
        format!("{}{whole}.{thousandths:03}", if negative { "-" } else { "" })
    })
}

fn name() -> impl Strategy<Value = String> {
    "[a-z]{1,6}_[a-z0-9]{1,5}"
}

fn setting() -> impl Strategy<Value = String> {
    let unit = prop::sample::select(vec!["", "%", "‰", "mA", "rpm", "m/s²", "°C", "N·m"]);
    prop_oneof![
        (name(), number(), unit).prop_map(|(name, number, unit)| format!("{name}={number} {unit}")),
        (name(), name()).prop_map(|(name, choice)| format!("{name} = {choice}")),
    ]
}

fn deed() -> impl Strategy<Value = String> {
    prop_oneof![
        setting(),
        setting().prop_map(|setting| format!("parameter {setting}")),
        (name(), number(), 0..5000_u32)
            .prop_map(|(name, number, ms)| format!("{name} moves to {number}% over {ms} ms")),
        (name(), name()).prop_map(|(signal, failure)| format!("break {signal} :{failure}")),
        name().prop_map(|signal| format!("mend {signal}")),
    ]
}

fn line() -> impl Strategy<Value = String> {
    let event = |word: &'static str| {
        let deeds = prop::collection::vec(deed(), 1..4);
        (0..90_u32, deeds)
            .prop_map(move |(time, deeds)| format!("{word} {time}.5 s {}", deeds.join(" ,\n   ")))
    };
    let words = || "[A-Za-zäß()%.,;0-9-]{1,9}( [A-Za-zäß()%.;0-9-]{1,9}){0,6}";
    prop_oneof![
        3 => event("at"),
        1 => event("after"),
        1 => words().prop_map(|words| format!("about {words}")),
        1 => Just("# a comment: at 1 s".to_owned()),
        2 => (0..100_000_u32, words(), name()).prop_map(|(id, words, name)| {
            format!("require R-{id} (H-{id}) {words}: always ({name} implies within 2s {name}>3 mA)")
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused(text in "(?s)\\PC*") {
        let _ = Scenario::parse("x", &text);
    }

    #[test]
    fn a_damaged_story_is_read_or_refused_within_its_text(place in 0..STORY.len(), length in 0..4_usize, by in "\\PC{0,3}|[ \n#:(),]{0,2}") {
        let mut text = STORY.to_owned();
        let start = (0..=place).rev().find(|place| text.is_char_boundary(*place)).unwrap();
        let end = (place + length..).find(|place| *place >= text.len() || text.is_char_boundary(*place)).unwrap();
        text.replace_range(start..end.min(text.len()), &by);
        if let Err(complaints) = Scenario::parse("x", &text) {
            for complaint in complaints.list() {
                prop_assert!(complaint.span.end <= text.len(), "{:?}", complaint);
                prop_assert!(text.get(complaint.span.start..complaint.span.end).is_some(), "{:?}", complaint);
                let (line, _) = complaints.place(complaint);
                prop_assert!(line <= text.lines().count().max(1) + 1);
            }
        }
    }

    #[test]
    fn what_is_printed_is_read_back_the_same(lines in prop::collection::vec(line(), 0..12), seed in 0..1_000_000_u64) {
        let mut text = format!("scenario any\nlength 3 min\nseed {seed}\n");
        let mut ids = Vec::new();
        for line in lines {
            let id = line.strip_prefix("require ").and_then(|rest| rest.split(' ').next()).map(str::to_owned);
            if id.is_none() || !ids.contains(&id) {
                text.push_str(&line);
                text.push('\n');
                ids.push(id);
            }
        }
        let story = parse(&text);
        let printed = story.to_string();
        let again = parse(&printed);
        prop_assert_eq!(&again, &story, "{}", printed);
        prop_assert_eq!(again.to_string(), printed);
    }
}
