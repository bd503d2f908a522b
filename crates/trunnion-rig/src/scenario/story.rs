use crate::language::{Quantity, Span, Spanned};
use crate::requirement::Expression;

/// A scenario as written: who does what when, what breaks, what must hold.
///
/// Names are not looked up yet; that happens when a rig runs it. Equality looks at what is said, not at where
/// it stands or which file it came from.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// File name, or what else tells a reader where the text is.
    pub origin: String,
    /// The text that it was read from, which the places of all its parts count in.
    pub text: String,
    /// Title.
    pub title: String,
    /// What it is about; empty when it does not say.
    pub about: String,
    /// Seed of everything random in the plant, and of the machine's entropy; 0 when it does not say.
    pub seed: u64,
    /// How long it lasts.
    pub length: Quantity,
    /// Parameters that differ from the defaults from the start.
    pub parameters: Vec<Setting>,
    /// Actions that differ from their rest from the start.
    pub settings: Vec<Setting>,
    /// What happens, in the order of the text.
    pub events: Vec<Event>,
    /// What must hold in this scenario, besides what the machine must always do.
    pub requirements: Vec<StatedRequirement>,
}

impl PartialEq for Scenario {
    fn eq(&self, other: &Self) -> bool {
        self.title == other.title
            && self.about == other.about
            && self.seed == other.seed
            && self.length == other.length
            && self.parameters == other.parameters
            && self.settings == other.settings
            && self.events == other.events
            && self.requirements == other.requirements
    }
}

impl Eq for Scenario {}

/// A name and the value it is to have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// Name of an action or a parameter.
    pub name: Spanned<String>,
    /// Its value.
    pub value: Value,
}

/// A value as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// A number with its unit.
    Quantity(Quantity),
    /// The name of a choice.
    Choice(Spanned<String>),
}

impl Value {
    /// Where it stands.
    pub fn span(&self) -> Span {
        match self {
            Self::Quantity(quantity) => quantity.span,
            Self::Choice(word) => word.span,
        }
    }
}

/// A moment and what happens then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// When.
    pub moment: Moment,
    /// What; all of it at the same tick.
    pub deeds: Vec<Deed>,
}

/// A time in a scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Moment {
    /// `at 2 s`: counted from the beginning.
    At(Quantity),
    /// `after 0.5 s`: counted from the moment of the event above, or from the beginning.
    After(Quantity),
}

impl Moment {
    /// The time as written.
    pub fn quantity(&self) -> &Quantity {
        match self {
            Self::At(quantity) | Self::After(quantity) => quantity,
        }
    }
}

/// Something that happens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Deed {
    /// `left_lever_y = 80 %`: at once.
    Set(Setting),
    /// `left_lever_y moves to 80 % over 0.4 s`: evenly.
    Move(Setting, Quantity),
    /// `break left_lever: lost`.
    Break(Spanned<String>, Spanned<String>),
    /// `mend left_lever`.
    Mend(Spanned<String>),
    /// `parameter pivot_point = 400 ‰`: a write to the running machine.
    Parameter(Setting),
}

/// A requirement written in a scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedRequirement {
    /// Its short name.
    pub id: Spanned<String>,
    /// The hazard it answers; empty when it does not say.
    pub hazard: String,
    /// What it asks, for a reader.
    pub sentence: String,
    /// What it asks, for the monitor.
    pub formula: Expression,
}
