//! What a step costs, from the budget.

use std::{fs, path::Path};

use super::source::read;

/// The core whose counts are told.
const CORE: &str = "M4F";

/// Rows of the budget, or none where there is none.
pub struct Costs {
    toolchain: Option<String>,
    rows: Vec<Row>,
}

struct Row {
    subject: String,
    implementation: String,
    typical: u32,
    largest: u32,
}

impl Costs {
    /// From the budget of the newest toolchain in `tests/costs/budget`.
    pub fn read(top: &Path) -> Result<Self, String> {
        let entries = fs::read_dir(top.join("tests/costs/budget"));
        let mut paths: Vec<_> = entries.into_iter().flatten().flatten().map(|entry| entry.path()).collect();
        paths.retain(|path| path.extension().is_some_and(|ending| ending == "csv"));
        paths.sort_unstable();
        let Some(path) = paths.last() else {
            return Ok(Self { toolchain: None, rows: Vec::new() });
        };
        let toolchain = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        Ok(Self { toolchain, rows: parsed(&read(path)?) })
    }

    /// Where the counts come from, in words.
    pub fn origin(&self) -> String {
        match &self.toolchain {
            Some(toolchain) => {
                format!("as budgeted for {toolchain}; × C is the ratio to the same function in C, gcc -O2")
            }
            None => "once there is a budget".to_owned(),
        }
    }

    /// `typical / largest`, and the ratio to C where there is a twin.
    pub fn of(&self, keys: &[String; 2]) -> Option<String> {
        let row = |implementation: &str| {
            self.rows.iter().find(|row| row.implementation == implementation && keys.contains(&row.subject))
        };
        let ours = row("rust")?;
        let ratio = row("gcc").filter(|twin| twin.typical > 0).map_or_else(String::new, |twin| {
            format!(", {:.2} × C", f64::from(ours.typical) / f64::from(twin.typical))
        });
        Some(format!("{} / {}{ratio}", ours.typical, ours.largest))
    }
}

/// Rows `subject,core,implementation,typical,largest,…` of the core that is told.
fn parsed(text: &str) -> Vec<Row> {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let [subject, CORE, implementation, typical, largest, ..] = cells[..] else {
            return None;
        };
        Some(Row {
            subject: subject.to_owned(),
            implementation: implementation.to_owned(),
            typical: typical.parse().ok()?,
            largest: largest.parse().ok()?,
        })
    };
    text.lines().filter_map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_told_with_its_ratio_to_c() {
        let text = "# rustc\nsubject,core,implementation,typical,largest,flash,state,stack\n\
                    ramp/rate_limit,M4F,gcc,42,55,356,24,28\nramp/rate_limit,M4F,rust,63,96,624,32,36\n\
                    ramp/rate_limit,M0,rust,128,165,792,32,60\n";
        let costs = Costs { toolchain: None, rows: parsed(text) };
        let keys = ["ramp/rate_limit".to_owned(), "ramp/rate_limit".to_owned()];
        assert_eq!(costs.of(&keys).as_deref(), Some("63 / 96, 1.50 × C"));
        assert_eq!(costs.of(&["lever/axis".to_owned(), "lever/axis".to_owned()]), None);
    }
}
