//! What can be wrong with a machine's rules.

use thiserror::Error;

/// A mistake in the expectations that a machine declares.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RuleMistake {
    /// Nothing that the rule names exists.
    #[error("rule `{rule}` matches no cell{}: correct a name or take the rule away", hint(.nearest))]
    MatchesNothing {
        /// The rule as it is written.
        rule: String,
        /// The signal that was perhaps meant.
        nearest: Option<String>,
    },
    /// More specific rules decide every cell of this one.
    #[error("rule `{rule}` decides no cell, since more specific rules decide all of them: take it away")]
    DecidesNothing {
        /// The rule as it is written.
        rule: String,
    },
    /// Two rules are equally specific.
    #[error(
        "rules `{first}` and `{second}` are equally specific at {cell}: name a signal, a way or a state more in one"
    )]
    Tie {
        /// The one.
        first: String,
        /// The other.
        second: String,
        /// The first cell that both match.
        cell: String,
    },
    /// The rule expects a fault that is not declared.
    #[error("rule `{rule}` expects the fault `{fault}`, which the machine does not declare{}", hint(.nearest))]
    UnknownFault {
        /// The rule as it is written.
        rule: String,
        /// The name.
        fault: String,
        /// The fault that was perhaps meant.
        nearest: Option<String>,
    },
    /// The rule excuses what nobody declares.
    #[error("rule `{rule}` excuses `{excuse}`, which is no fault, requirement or deviation{}", hint(.nearest))]
    UnknownExcuse {
        /// The rule as it is written.
        rule: String,
        /// What it excuses.
        excuse: String,
        /// What was perhaps meant.
        nearest: Option<String>,
    },
    /// The rule says that something shows elsewhere, and nothing there detects it.
    #[error("rule `{rule}` is shown by `{shows}`, which is no rule that says detected: name one")]
    NeverShown {
        /// The rule as it is written.
        rule: String,
        /// What it names.
        shows: String,
    },
    /// Nobody said what is expected.
    #[error(
        "nothing is declared for {cell}: add a rule that says detected, stopped, tolerated, dormant or undetectable"
    )]
    Undeclared {
        /// The cell.
        cell: String,
    },
}

fn hint(nearest: &Option<String>) -> String {
    nearest.as_ref().map_or_else(String::new, |name| format!(" (did you mean `{name}`?)"))
}
