//! Which tests are properties: functions in a `proptest!` block of the sources.

use crate::sources;

/// Packages whose properties are run, and where they lie.
pub const PACKAGES: &[(&str, &str)] =
    &[("trunnion", "crates/trunnion"), ("trunnion-can", "crates/trunnion-can")];

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
        block: format!("{room}{}", file.trim_end_matches("/tests")),
        claim: function.replace('_', " "),
    }
}

/// Functions in `proptest!` blocks, each with the module that its file opens around it.
fn functions(source: &str) -> Vec<(Option<String>, String)> {
    let mut found = Vec::new();
    let mut module = None;
    let mut end: Option<String> = None;
    for line in source.lines() {
        let indent = line.len() - line.trim_start().len();
        let words = line.trim_start();
        if let Some(name) = line.strip_prefix("mod ").and_then(|rest| rest.strip_suffix(" {")) {
            module = Some(name.to_owned());
        }
        if words.starts_with("proptest! {") {
            end = Some(format!("{}}}", " ".repeat(indent)));
        } else if end.as_deref() == Some(line) {
            end = None;
        } else if end.is_some()
            && let Some(rest) = words.strip_prefix("fn ")
        {
            let name: String =
                rest.chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect();
            found.push((module.clone(), name));
        }
    }
    found
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
    fn the_core_has_properties_and_each_names_its_block() {
        let all = properties().unwrap_or_default();
        assert!(all.len() > 100, "only {}", all.len());
        assert!(all.iter().all(|property| property.block.contains('/') && property.claim.contains(' ')));
        assert!(all.windows(2).all(|pair| pair[0].name != pair[1].name));
    }
}
