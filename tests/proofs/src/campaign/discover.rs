//! Which tests are properties: functions in a `proptest!` block of the sources.

use crate::sources;

/// Packages whose properties are run, and where they lie.
pub const PACKAGES: &[(&str, &str)] =
    &[("trunnion", "crates/trunnion"), ("trunnion-can", "crates/trunnion-can")];

/// What the macro `four_verbs!` of the core makes of every use: a module of its name, and in it these properties; the
/// last where the use names a reset.
const SHARED: &str = "four_verbs";
const ALWAYS_SHARED: [&str; 2] =
    ["a_configuration_is_taken_as_a_whole_and_the_state_kept", "a_refused_configuration_changes_nothing"];
const SHARED_WITH_RESET: &str = "after_a_reset_it_is_as_new";
/// Properties of no block, behind a feature that the long run is built without; the suite runs them.
const APART: &str = "snapshot";

/// One property test.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Property {
    /// Package and test, as `trunnion guard::neutral_start::tests::…`.
    pub name: String,
    /// Its package.
    pub package: String,
    /// The folder of its package.
    pub folder: String,
    /// Its name in the test binary.
    pub test: String,
    /// The file of the block below `src`, without its ending.
    pub file: String,
    /// Room and file of the block.
    pub block: String,
    /// The name of the test as the sentence that it is.
    pub claim: String,
}

/// All properties of the core crates, in the order of their names.
pub fn properties() -> Result<Vec<Property>, String> {
    let mut found = Vec::new();
    for (package, folder) in PACKAGES {
        let source = format!("{folder}/src");
        let files = sources::files(&source).map_err(|error| format!("{source}: {error}"))?;
        for (path, text) in files {
            let file = path.trim_start_matches(&format!("{source}/")).trim_end_matches(".rs").to_owned();
            if file == SHARED || file == APART {
                continue;
            }
            for (module, function) in functions(&text) {
                found.push(property(package, folder, &file, module, &function));
            }
        }
    }
    found.sort_unstable();
    Ok(found)
}

fn property(package: &str, folder: &str, file: &str, module: Option<String>, function: &str) -> Property {
    let path = file.replace('/', "::");
    let inner = module.map(|module| format!("::{module}")).unwrap_or_default();
    let test = format!("{path}{inner}::{function}");
    let room = if package == "trunnion-can" { "can/" } else { "" };
    Property {
        name: format!("{package} {test}"),
        package: package.to_owned(),
        folder: folder.to_owned(),
        test,
        file: file.trim_end_matches("/tests").to_owned(),
        block: format!("{room}{}", file.trim_end_matches("/tests")),
        claim: function.replace('_', " "),
    }
}

/// Functions in `proptest!` blocks and those that a use of the shared macro makes, each with its module in the file.
fn functions(source: &str) -> Vec<(Option<String>, String)> {
    let mut found = Vec::new();
    // Modules that are open here, by their indentation.
    let mut open: Vec<(usize, &str)> = Vec::new();
    let mut lines = source.lines();
    while let Some(line) = lines.next() {
        let words = line.trim_start();
        let indent = line.len() - words.len();
        if words == "}" && open.last().is_some_and(|(at, _)| *at == indent) {
            open.pop();
        }
        if let Some(name) = words.strip_prefix("mod ").and_then(|rest| rest.strip_suffix(" {")) {
            open.push((indent, name));
        }
        let names: Vec<&str> = open.iter().map(|(_, name)| *name).collect();
        let module = (!names.is_empty()).then(|| names.join("::"));
        let end = format!("{}}}", " ".repeat(line.len() - words.len()));
        let body = || lines.clone().take_while(|line| *line != end).map(str::trim_start);
        if words == "proptest! {" {
            let named = body().filter_map(|line| line.strip_prefix("fn "));
            found.extend(named.map(|rest| (module.clone(), word(rest))));
        } else if words == "four_verbs! {" {
            let inner = module.as_ref().map_or(SHARED.to_owned(), |module| format!("{module}::{SHARED}"));
            let with_reset = body().any(|line| line.starts_with("reset:"));
            let names = ALWAYS_SHARED.into_iter().chain(with_reset.then_some(SHARED_WITH_RESET));
            found.extend(names.map(|name| (Some(inner.clone()), name.to_owned())));
        }
    }
    found
}

fn word(text: &str) -> String {
    text.chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_functions_of_a_block_of_properties_are_properties() {
        let source = "mod tests {\n    proptest! {\n        #[test]\n        fn it_is_bounded(x in 0..3) {\n        }\n    }\n\n    fn helper() {}\n}\n";
        assert_eq!(functions(source), [(Some("tests".to_owned()), "it_is_bounded".to_owned())]);
    }

    #[test]
    fn a_use_of_the_shared_promises_makes_properties_of_its_own() {
        let source = "mod tests {\n    four_verbs! {\n        new: x,\n        reset: y,\n    }\n}\n";
        let found = functions(source);
        assert_eq!(found.len(), 3);
        assert_eq!(found[2], (Some("tests::four_verbs".to_owned()), SHARED_WITH_RESET.to_owned()));
        assert_eq!(functions("four_verbs! {\n    new: x,\n}\n").len(), 2);
        let nested = "mod tests {\n    mod on {\n        four_verbs! {\n            new: x,\n        }\n    }\n    mod off {\n        four_verbs! {\n            new: x,\n        }\n    }\n}\n";
        let modules: Vec<_> = functions(nested).into_iter().filter_map(|(module, _)| module).collect();
        let expected = [
            "tests::on::four_verbs",
            "tests::on::four_verbs",
            "tests::off::four_verbs",
            "tests::off::four_verbs",
        ];
        assert_eq!(modules, expected);
    }

    #[test]
    fn the_core_has_properties_and_each_names_its_block() {
        let all = properties().unwrap_or_default();
        assert!(all.len() > 100, "only {}", all.len());
        assert!(all.iter().all(|property| property.block.contains('/') && property.claim.contains(' ')));
        assert!(all.windows(2).all(|pair| pair[0].name != pair[1].name));
    }
}
