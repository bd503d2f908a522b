//! Scenarios by name, and with another parameter.

use trunnion_rig::language::{Complaint, Complaints, Span};
use trunnion_rig::scenario::Scenario;

use crate::bench::Bench;
use crate::comparison::ComparisonError;

/// A scenario of the machine itself. The outer error: there is no such name.
pub(crate) fn built_in<B: Bench>(name: &str) -> Result<Result<Scenario, Complaints>, ComparisonError> {
    match B::SCENARIOS.iter().find(|(known, _)| *known == name) {
        Some((name, text)) => Ok(Scenario::parse(&origin(name), text)),
        None => Err(ComparisonError::NoSuchScenario { name: name.to_owned(), expected: nearest::<B>(name) }),
    }
}

/// What errors call the text of a scenario that is part of the program.
pub(crate) fn origin(name: &str) -> String {
    format!("{name}.scenario")
}

/// The nearest name of a scenario, or what names there are.
pub(crate) fn nearest<B: Bench>(name: &str) -> String {
    let known = B::SCENARIOS.iter().map(|(name, _)| *name);
    Complaint::unknown(Span::default(), "scenario", name, known).expected
}

/// The scenario with a stored parameter of another value: as if its writer had written it so.
///
/// `value` is written as in a scenario: `300 ‰`, `blended`. Errors point into the changed text.
pub(crate) fn with_parameter(scenario: &Scenario, name: &str, value: &str) -> Result<Scenario, Complaints> {
    let stated = scenario.parameters.iter().find(|setting| setting.name.value == name);
    let text = match stated.map(|setting| setting.value.span()) {
        Some(span) => {
            let (before, behind) = (Span::new(0, span.start), Span::new(span.end, scenario.text.len()));
            format!("{}{value}{}", before.of(&scenario.text), behind.of(&scenario.text))
        }
        None => format!("{}\nparameter {name} = {value}\n", scenario.text.trim_end()),
    };
    let changed = Scenario::parse(&scenario.origin, &text)?;
    Ok(Scenario { seed: scenario.seed, ..changed })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str =
        "scenario  A drive\nlength    9 s\nparameter pivot_point = 500 ‰, trim = 3 % # as delivered\n";

    fn parameters(name: &str, value: &str) -> Vec<String> {
        let scenario = Scenario::parse("a.scenario", TEXT).unwrap();
        let changed = with_parameter(&scenario, name, value).unwrap();
        changed.parameters.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_parameter_that_the_scenario_sets_is_replaced_and_another_is_added() {
        assert_eq!(parameters("pivot_point", "300 ‰"), ["pivot_point = 300 ‰", "trim = 3 %"]);
        assert_eq!(parameters("trim", "4 %"), ["pivot_point = 500 ‰", "trim = 4 %"]);
        assert_eq!(
            parameters("mix_law", "blended"),
            ["pivot_point = 500 ‰", "trim = 3 %", "mix_law = blended"]
        );
    }

    #[test]
    fn a_value_that_makes_no_sense_is_refused_where_it_stands() {
        let scenario = Scenario::parse("a.scenario", TEXT).unwrap();
        let error = with_parameter(&scenario, "mix_law", "= 3").unwrap_err().to_string();
        assert!(error.starts_with("a.scenario:4:21: "), "{error}");
    }
}
