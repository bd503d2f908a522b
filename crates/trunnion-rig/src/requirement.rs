//! Requirements: an id, a sentence, a hazard, and a formula that is watched over every run.
//!
//! A formula is read aloud: *always, seat open implies within 1.5 seconds drive current equals zero milliamps.*
//!
//! ```text
//! always (seat_open implies within 1.5 s drive_current = 0 mA)
//! always (permission_drive rises implies held for 300 ms levers_neutral)
//! always (stop rises implies within stop_time + 10 ms (left_current < 20 mA and right_current < 20 mA))
//! from 8 s abs(true_left_speed) < 0.05 m/s
//! at 9 s for 3 s motion_state = spin
//! ```
//!
//! # Words
//!
//! A run is a row of ticks, one sample of every signal a tick, at times 0, 1, 2 … periods. Below, *now* is the
//! tick at which a part is asked, and T a time.
//!
//! | written | holds now when |
//! |---|---|
//! | `seat_open`, `not seat_open` | the yes/no signal is yes, is no |
//! | `x < 3 mA`, `<=` `>` `>=` `=` `!=` | the numbers compare so |
//! | `x = 3 mA ± 1 mA` (or `+-`), `x != 3 mA ± 1 mA` | x is within, is outside the tolerance |
//! | `motion_state = spin`, `!=` | the choice has that name (what is not a letter or digit in a choice's name is written `_`) |
//! | `p and q`, `p or q`, `p implies q`, `true`, `false` | as in logic |
//! | `p rises`, `p falls` | p holds and did not one tick ago; the other way round; never at the first tick |
//! | `x changes` | the signal has another value than one tick ago; never at the first tick |
//! | `always p`, `eventually p` | p holds at every, at some tick from now to the end of the run |
//! | `for T p`, `within T p` | p holds at every, at some tick from now to T later, both ends included |
//! | `after T p` | p holds at the tick T later |
//! | `p until q`, `p until within T q` | q holds at some tick from now on (at most T later), and p at every tick before it |
//! | `so far p`, `once p` | p held at every, at some tick up to now |
//! | `held for T p` | p held at every tick of the last T, now included, **all of which lie in the run** |
//! | `once within T p` | p held at some tick of the last T, now included |
//! | `p since q`, `p since within T q` | q held at some tick up to now (at most T ago), and p at every tick after it |
//! | `from T p`, `from T to U p` | (outermost only) p holds at every tick from the time T of the run on, up to U |
//! | `at T p` | (outermost only) p holds at the tick at the time T of the run |
//!
//! Numbers: signals, parameters (their value at the start of the run), literals with a unit, `+`, `-`, `*`,
//! `abs(x)`, `min(x, y, …)`, `max(x, y, …)`, `previous(x)` (one tick ago; at the first tick x itself) and
//! `rate(x)` (change since one tick ago, per second). There is no division: multiply the other side.
//!
//! Units of one kind are converted (`mA` and `A`; `rpm` and `deg/s`; `km/h` and `m/s`; `bar` and `kPa`; `%` and
//! `‰` …), others are refused. A bare number is not a percentage and not a current; only a bare `0` fits
//! everything. A share (`50 %`) times something is that share of it. Symbols combine: `m/s²`, `N·m`, `l/min`.
//!
//! A time is a literal or a parameter that holds one, or a sum (`stop_time + 10 ms`). A literal must be a whole
//! number of ticks; a sum with a parameter in it is rounded up to the next tick.
//!
//! What can be read in two ways is refused: an operator over time covers the condition behind it, and when
//! `and`, `or`, `until`, `since` or `implies` follows, parentheses must say how far it goes
//! (`always (a implies b)`; only the operators that look back may stand bare before `implies`). `and` and `or` do
//! not mix without parentheses. A requirement must say when: one that would be looked at only at the first tick is
//! refused.
//!
//! # Grammar
//!
//! ```text
//! formula    = junction [ "implies" junction ]
//! junction   = prefixed { "and" prefixed } | prefixed { "or" prefixed }
//!            | prefixed ( "until" | "since" ) [ "within" duration ] prefixed
//! prefixed   = "not" prefixed | operator prefixed | comparison
//! operator   = "always" | "eventually" | "within" duration | "for" duration | "after" duration
//!            | "once" [ "within" duration ] | "so" "far" | "held" "for" duration
//!            | "from" duration [ "to" duration ] | "at" duration
//! comparison = sum [ ( "=" | "!=" | "<" | "<=" | ">" | ">=" ) sum [ "±" sum ] ]
//! sum        = product { ( "+" | "-" ) product }
//! product    = factor { "*" factor }
//! factor     = "-" factor | primary [ "rises" | "falls" | "changes" ]
//! primary    = "(" formula ")" | function "(" formula { "," formula } ")" | name | quantity | "true" | "false"
//! function   = "abs" | "min" | "max" | "previous" | "rate"
//! duration   = ( quantity | name ) { "+" ( quantity | name ) }
//! quantity   = decimal [ unit ]
//! ```
//!
//! # Verdict and margin
//!
//! [`Held`](Verdict::Held) and [`Violated`](Verdict::Violated) are said only when nothing that could have come
//! after the run would change them; else the verdict is [`Inconclusive`](Verdict::Inconclusive): make the run
//! longer. `always`, `eventually`, `until` and `since` without a time speak of the run and end with it; a time
//! window that reaches past the end is not known there. So a request in the last second whose answer has two
//! seconds left makes a requirement inconclusive, not held.
//!
//! The margin is the usual quantitative (robust) semantics of signal temporal logic: a comparison is as far from
//! its opposite as its sides are from the border, `and` and *every tick* take the smallest, `or` and *some tick* the
//! largest, `not` changes the sign. It is negative when violated. At zero the relation decides (`x <= 5` holds
//! at 5, `x < 5` does not); differences below 10⁻¹² of the larger side count as none. It is reported in the unit
//! of the condition that decided, which is the unit of the first signal in it. A yes/no condition and a choice
//! are infinitely far from their opposite: when one decides, there is no margin. Where conditions of different
//! units meet, their numbers are compared as they stand, as is customary: that decides which condition is named,
//! never the verdict. A value that is not a finite number satisfies no comparison, nor its opposite.
//!
//! Every operator costs a constant number of steps a tick on average, whatever its window: extremes over a
//! window come from a monotonic deque, `until` from a pair of stacks, and what looks ahead gives its verdict
//! as soon as its window is full. A nested `always`, `eventually` or `until` without a time gives it when the
//! run ends.

mod bind;
mod condition;
mod explain;
mod expression;
mod measure;
mod monitor;
mod names;
mod parse;
mod print;
mod robustness;
mod sliding;
mod stream;
mod verdict;
mod vocabulary;

pub use explain::{Evidence, Explanation};
pub use expression::{
    Arithmetic, Duration, DurationTerm, Edge, Expression, Function, Join, Node, Prefix, Relation,
};
pub use monitor::{Judgement, Monitor, Verdict};
pub(crate) use parse::RESERVED;
pub use vocabulary::{Constant, Signal, Vocabulary};
pub(crate) use vocabulary::{choice_word, show_number};

/// A requirement of a machine, declared beside its control program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Requirement {
    /// Short name, unique in the machine.
    pub id: &'static str,
    /// What it asks, for a reader.
    pub sentence: &'static str,
    /// The hazard it answers.
    pub hazard: &'static str,
    /// What it asks, for the monitor.
    pub formula: &'static str,
}
