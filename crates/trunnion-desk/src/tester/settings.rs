//! A parameter set in a text file, and what it would change.

use trunnion::declare::{Access, ParameterSet};

use super::values::{Scale, read};

/// A value that a file sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// Place of the parameter in the declaration.
    pub place: u16,
    /// Raw value.
    pub raw: i32,
}

/// What is wrong with a file: a line from 1, and what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// Line, from 1.
    pub line: usize,
    /// What is wrong and what was expected.
    pub what: String,
}

/// Writes a set, a line a parameter, with its range behind it.
pub fn written<P: ParameterSet>(heading: &str, set: &P) -> String {
    let mut text: String = heading.lines().map(|line| format!("# {line}\n")).collect();
    for (place, (rule, info)) in (0..).zip(P::RULES.iter().zip(P::INFO)) {
        let scale = Scale::from(info);
        let fixed = if rule.access == Access::Constant { ", fixed by the maker" } else { "" };
        let ends = (scale.shown(rule.low.into()), scale.shown(rule.high.into()));
        let value = scale.shown(set.raw(place).into());
        text += &format!("{} = {value}  # {} to {}{fixed}\n", info.name, ends.0, ends.1);
    }
    text
}

/// Names and values, as they are typed in a scenario.
pub fn typed<P: ParameterSet>(settings: &[Setting]) -> Vec<(String, String)> {
    let row = |setting: &Setting| {
        let info = P::INFO.get(usize::from(setting.place))?;
        Some((info.name.to_owned(), Scale::from(info).shown(setting.raw.into())))
    };
    settings.iter().filter_map(row).collect()
}

/// Reads a file: every flaw of it, or every setting.
///
/// # Errors
/// All lines that are wrong, and names that come twice.
pub fn parse<P: ParameterSet>(text: &str) -> Result<Vec<Setting>, Vec<Flaw>> {
    let (mut settings, mut flaws) = (Vec::<Setting>::new(), Vec::new());
    for (index, line) in text.lines().enumerate() {
        let content = line.split('#').next().unwrap_or_default().trim();
        if content.is_empty() {
            continue;
        }
        match setting::<P>(content) {
            Ok(setting) if settings.iter().any(|known| known.place == setting.place) => {
                flaws.push(Flaw { line: index + 1, what: "this parameter was set before".into() });
            }
            Ok(setting) => settings.push(setting),
            Err(what) => flaws.push(Flaw { line: index + 1, what }),
        }
    }
    if flaws.is_empty() { Ok(settings) } else { Err(flaws) }
}

/// Reads `name = value`.
///
/// # Errors
/// What is wrong and what was expected.
pub fn setting<P: ParameterSet>(content: &str) -> Result<Setting, String> {
    let (name, value) =
        content.split_once('=').ok_or_else(|| format!("expected `name = value`, found `{content}`"))?;
    let place = place_of_name::<P>(name.trim())?;
    let row = P::RULES.get(usize::from(place)).zip(P::INFO.get(usize::from(place)));
    let (rule, info) = row.ok_or("there is no such parameter")?;
    let raw = read(value, info, rule).map_err(|flaw| format!("{}: {flaw}", info.name))?;
    Ok(Setting { place, raw })
}

/// The place of a parameter by its name.
///
/// # Errors
/// There is none; the nearest name is told.
pub fn place_of_name<P: ParameterSet>(name: &str) -> Result<u16, String> {
    (0..).zip(P::INFO).find(|(_, info)| info.name == name).map(|(place, _)| place).ok_or_else(|| {
        let names = P::INFO.iter().map(|info| info.name);
        format!("there is no parameter `{name}`; {}", nearest(name, names))
    })
}

/// "did you mean" the name that shares the longest beginning and end.
pub fn nearest<'a>(name: &str, names: impl Iterator<Item = &'a str>) -> String {
    let shared = |other: &str| {
        let ahead = name.bytes().zip(other.bytes()).take_while(|(a, b)| a == b).count();
        let behind = name.bytes().rev().zip(other.bytes().rev()).take_while(|(a, b)| a == b).count();
        ahead + behind
    };
    match names.max_by_key(|other| shared(other)) {
        Some(best) => format!("did you mean `{best}`?"),
        None => "it has none".into(),
    }
}

/// Those settings that differ from what is in effect.
pub fn differing<P: ParameterSet>(settings: &[Setting], now: &P) -> Vec<Setting> {
    settings.iter().filter(|setting| now.raw(setting.place) != setting.raw).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::quantity::{Millis, Permille};

    trunnion::parameters! {
        /// Three.
        struct Set, enum SetIndex {
            /// A time.
            0x0101 rise: Millis = 1500, in 300..=10_000, Access::Tune;
            /// A share.
            0x0102 creep: Permille = 100, in 0..=1000, Access::Safety;
            /// Fixed.
            0x0103 teeth: u8 = 60, in 1..=200, Access::Constant;
        }
    }

    #[test]
    fn what_is_written_reads_back_and_differs_in_nothing() {
        let text = written("A machine\nprogram 1", &Set::default());
        assert!(
            text.starts_with("# A machine\n# program 1\nrise = 1500 ms  # 300 ms to 10000 ms\n"),
            "{text}"
        );
        let settings = parse::<Set>(&text).unwrap();
        assert_eq!(settings.len(), 3);
        assert_eq!(differing(&settings, &Set::default()), []);
        let changed = parse::<Set>(&text.replace("1500", "2000")).unwrap();
        assert_eq!(differing(&changed, &Set::default()), [Setting { place: 0, raw: 2000 }]);
    }

    #[test]
    fn every_wrong_line_is_told_with_its_number() {
        let text = "\nrise = 20 ms\ncreeep = 1 ‰\ncreep\nrise = 400 ms\nrise = 500 ms\n";
        let flaws = parse::<Set>(text).unwrap_err();
        let lines: Vec<usize> = flaws.iter().map(|flaw| flaw.line).collect();
        assert_eq!(lines, [2, 3, 4, 6], "{flaws:?}");
        assert!(flaws[1].what.contains("did you mean `creep`?"), "{flaws:?}");
    }
}
