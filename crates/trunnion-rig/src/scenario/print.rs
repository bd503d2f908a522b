use std::fmt;

use super::story::{Deed, Event, Moment, Scenario, Setting, StatedRequirement, Value};

impl fmt::Display for Scenario {
    /// The scenario in its usual order and columns; reading it back gives an equal scenario.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "scenario  {}", self.title)?;
        if !self.about.is_empty() {
            writeln!(f, "about     {}", self.about)?;
        }
        if self.seed != 0 {
            writeln!(f, "seed      {}", self.seed)?;
        }
        writeln!(f, "length    {}", self.length)?;
        for parameter in &self.parameters {
            writeln!(f, "parameter {parameter}")?;
        }
        for setting in &self.settings {
            writeln!(f, "set       {setting}")?;
        }
        for event in &self.events {
            writeln!(f, "{event}")?;
        }
        for requirement in &self.requirements {
            writeln!(f, "{requirement}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Setting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.name.value, self.value)
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(quantity) => write!(f, "{quantity}"),
            Self::Choice(word) => f.write_str(&word.value),
        }
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::At(time) => write!(f, "at {time}"),
            Self::After(time) => write!(f, "after {time}"),
        }
    }
}

impl fmt::Display for Event {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:<9}", self.moment.to_string())?;
        for (position, deed) in self.deeds.iter().enumerate() {
            write!(f, "{} {deed}", if position > 0 { "," } else { "" })?;
        }
        Ok(())
    }
}

impl fmt::Display for Deed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Set(setting) => write!(f, "{setting}"),
            Self::Move(Setting { name, value }, time) => {
                write!(f, "{} moves to {value} over {time}", name.value)
            }
            Self::Break(signal, failure) => write!(f, "break {}: {}", signal.value, failure.value),
            Self::Mend(signal) => write!(f, "mend {}", signal.value),
            Self::Parameter(setting) => write!(f, "parameter {setting}"),
        }
    }
}

impl fmt::Display for StatedRequirement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "require   {}", self.id.value)?;
        if !self.hazard.is_empty() {
            write!(f, " ({})", self.hazard)?;
        }
        write!(f, " {}: {}", self.sentence, self.formula)
    }
}
