use std::fmt;

use crate::language::{Quantity, Span, Spanned};

/// A formula as written, before its names are looked up.
///
/// Formulas, conditions and numbers are one tree: whether a name is a number or a yes/no signal is known only
/// once a machine gives the names. Equality looks at what is said, not at where it stands.
#[derive(Debug, Clone)]
pub struct Expression {
    /// What is said.
    pub node: Node,
    /// Where, parentheses not included.
    pub span: Span,
}

impl PartialEq for Expression {
    fn eq(&self, other: &Self) -> bool {
        self.node == other.node
    }
}

impl Eq for Expression {}

/// A span of time as written: a sum of quantities and of parameters that hold a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Duration {
    /// The summands.
    pub terms: Vec<DurationTerm>,
}

/// One summand of a [`Duration`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DurationTerm {
    /// `1.5 s`.
    Quantity(Quantity),
    /// The name of a parameter.
    Parameter(Spanned<String>),
}

impl Duration {
    /// Where it was written.
    pub fn span(&self) -> Span {
        let span = |term: &DurationTerm| match term {
            DurationTerm::Quantity(quantity) => quantity.span,
            DurationTerm::Parameter(name) => name.span,
        };
        self.terms.iter().map(span).reduce(Span::to).unwrap_or_default()
    }
}

/// What an [`Expression`] says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Node {
    /// `true` or `false`.
    Truth(bool),
    /// A signal, a parameter, or a choice such as `spin`.
    Name(String),
    /// A number with its unit.
    Quantity(Quantity),
    /// `-x`.
    Negative(Box<Expression>),
    /// `a + b`, `a - b`, `a * b`.
    Arithmetic(Arithmetic, Box<Expression>, Box<Expression>),
    /// `abs(x)`, `min(x, y)`, …
    Call(Function, Vec<Expression>),
    /// `a < b`; with a tolerance only for `=` and `!=`.
    Comparison {
        /// The sign between the sides.
        relation: Relation,
        /// Left side.
        left: Box<Expression>,
        /// Right side.
        right: Box<Expression>,
        /// What stands behind `±`.
        tolerance: Option<Box<Expression>>,
    },
    /// `x rises`, `x falls`, `x changes`.
    Edge(Edge, Box<Expression>),
    /// `not x`.
    Not(Box<Expression>),
    /// `a and b and …`, two at least.
    And(Vec<Expression>),
    /// `a or b or …`, two at least.
    Or(Vec<Expression>),
    /// `a implies b`.
    Implies(Box<Expression>, Box<Expression>),
    /// An operator in front of what it covers.
    Prefix(Prefix, Box<Expression>),
    /// `a until b`, `a since b`, with an optional bound.
    Joined(Join, Option<Duration>, Box<Expression>, Box<Expression>),
}

/// A sign of arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arithmetic {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
}

impl Arithmetic {
    /// The sign.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::Times => "*",
        }
    }
}

/// A function of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Function {
    /// `abs(x)`
    Abs,
    /// `min(x, y, …)`
    Min,
    /// `max(x, y, …)`
    Max,
    /// `previous(x)`: x one tick ago.
    Previous,
    /// `rate(x)`: change of x since the tick before, per second.
    Rate,
}

impl Function {
    pub(crate) const ALL: [Self; 5] = [Self::Abs, Self::Min, Self::Max, Self::Previous, Self::Rate];

    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Abs => "abs",
            Self::Min => "min",
            Self::Max => "max",
            Self::Previous => "previous",
            Self::Rate => "rate",
        }
    }

    /// True for the functions of two or more numbers.
    pub const fn takes_several(self) -> bool {
        matches!(self, Self::Min | Self::Max)
    }
}

/// The sign of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// `=`
    Equal,
    /// `!=`
    Unequal,
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    Greater,
    /// `>=`
    AtLeast,
}

impl Relation {
    pub(crate) const ALL: [Self; 6] =
        [Self::Equal, Self::Unequal, Self::Less, Self::AtMost, Self::Greater, Self::AtLeast];

    /// The sign.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Equal => "=",
            Self::Unequal => "!=",
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::Greater => ">",
            Self::AtLeast => ">=",
        }
    }

    /// The relation that holds exactly when this one does not.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Equal => Self::Unequal,
            Self::Unequal => Self::Equal,
            Self::Less => Self::AtLeast,
            Self::AtMost => Self::Greater,
            Self::Greater => Self::AtMost,
            Self::AtLeast => Self::Less,
        }
    }
}

/// A change from one tick to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// False one tick ago, true now.
    Rises,
    /// True one tick ago, false now.
    Falls,
    /// Another value than one tick ago.
    Changes,
}

impl Edge {
    pub(crate) const ALL: [Self; 3] = [Self::Rises, Self::Falls, Self::Changes];

    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rises => "rises",
            Self::Falls => "falls",
            Self::Changes => "changes",
        }
    }
}

/// An operator over time in front of what it covers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Prefix {
    /// `always`: at every tick from here to the end of the run.
    Always,
    /// `eventually`: at some tick from here to the end of the run.
    Eventually,
    /// `within T`: at some tick from now to T later.
    Within(Duration),
    /// `for T`: at every tick from now to T later.
    For(Duration),
    /// `after T`: at the tick T later.
    After(Duration),
    /// `once`: at some tick up to now.
    Once,
    /// `once within T`: at some tick of the last T, now included.
    OnceWithin(Duration),
    /// `so far`: at every tick up to now.
    SoFar,
    /// `held for T`: at every tick of the last T, now included, all of which lie within the run.
    HeldFor(Duration),
    /// `from T`: at every tick from the time T of the run on; up to a second time with `to`.
    From(Duration, Option<Duration>),
    /// `at T`: at the tick at the time T of the run.
    At(Duration),
}

impl Prefix {
    /// True for the operators that ask about the past.
    pub const fn looks_back(&self) -> bool {
        matches!(self, Self::Once | Self::OnceWithin(_) | Self::SoFar | Self::HeldFor(_))
    }
}

/// An operator over time between two conditions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Join {
    /// `a until b`.
    Until,
    /// `a since b`.
    Since,
}

impl Join {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Until => "until",
            Self::Since => "since",
        }
    }
}

impl fmt::Display for Duration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, term) in self.terms.iter().enumerate() {
            if position > 0 {
                f.write_str(" + ")?;
            }
            match term {
                DurationTerm::Quantity(quantity) => write!(f, "{quantity}")?,
                DurationTerm::Parameter(name) => f.write_str(&name.value)?,
            }
        }
        Ok(())
    }
}

impl fmt::Display for Prefix {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Always => f.write_str("always"),
            Self::Eventually => f.write_str("eventually"),
            Self::Within(time) => write!(f, "within {time}"),
            Self::For(time) => write!(f, "for {time}"),
            Self::After(time) => write!(f, "after {time}"),
            Self::Once => f.write_str("once"),
            Self::OnceWithin(time) => write!(f, "once within {time}"),
            Self::SoFar => f.write_str("so far"),
            Self::HeldFor(time) => write!(f, "held for {time}"),
            Self::From(begin, None) => write!(f, "from {begin}"),
            Self::From(begin, Some(end)) => write!(f, "from {begin} to {end}"),
            Self::At(time) => write!(f, "at {time}"),
        }
    }
}
