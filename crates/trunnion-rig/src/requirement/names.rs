use super::condition::{Condition, Test};
use super::expression::{Arithmetic, Duration, DurationTerm, Expression, Function, Node, Relation};
use super::measure::Measure;
use super::vocabulary::{Constant, Signal, Vocabulary, choice_word};
use crate::language::{Complaint, Factor, Quantity, Span, Unit};

/// Looks up names in a vocabulary and settles units.
pub(crate) struct Names<'a> {
    vocabulary: &'a Vocabulary,
}

/// What a name means.
#[derive(Clone, Copy)]
enum Meaning<'a> {
    Signal(usize, &'a Signal),
    Constant(&'a Constant),
}

impl<'a> Meaning<'a> {
    fn signal(self) -> &'a Signal {
        match self {
            Self::Signal(_, signal) => signal,
            Self::Constant(constant) => &constant.signal,
        }
    }
}

/// A number with its unit. A literal can still take any unit of its kind without rounding twice.
pub(crate) struct Number {
    content: Content,
    span: Span,
}

enum Content {
    Literal(Quantity),
    Measured(Measure, Unit),
}

impl Number {
    fn unit(&self) -> &Unit {
        match &self.content {
            Content::Literal(quantity) => &quantity.unit,
            Content::Measured(_, unit) => unit,
        }
    }

    fn is_bare_zero(&self) -> bool {
        matches!(&self.content, Content::Literal(quantity) if quantity.number.is_zero() && quantity.unit.is_number())
    }

    /// The measure in `unit`.
    fn in_unit(self, unit: &Unit) -> Result<Measure, Complaint> {
        let refusal = mismatch(self.span, self.unit(), unit);
        match self.content {
            Content::Literal(quantity) => quantity.value_in(unit).map(Measure::Constant).ok_or(refusal),
            Content::Measured(measure, own) => match own.factor_to(unit) {
                Some(Factor::ONE) => Ok(measure),
                Some(factor) => Ok(Measure::Scaled(factor.value(), Box::new(measure))),
                None => Err(refusal),
            },
        }
    }
}

fn mismatch(span: Span, own: &Unit, wanted: &Unit) -> Complaint {
    let complaint =
        Complaint::new(span, format!("this is {} and does not compare with {wanted}", own.described()))
            .expected(match wanted.is_number() {
                true => wanted.to_string(),
                false => format!("something in {wanted}"),
            });
    match (own.is_number(), wanted.is_number()) {
        (true, false) => complaint.help(format!("write the unit behind the number: `… {}`", wanted.symbol())),
        _ => complaint,
    }
}

impl<'a> Names<'a> {
    pub(crate) fn new(vocabulary: &'a Vocabulary) -> Self {
        Self { vocabulary }
    }

    fn find(&self, name: &str) -> Option<Meaning<'a>> {
        let signals = self.vocabulary.signals.iter();
        let signal = signals.enumerate().find(|(_, signal)| signal.name == name);
        if let Some((column, signal)) = signal {
            return Some(Meaning::Signal(column, signal));
        }
        self.vocabulary.constants.iter().find(|constant| constant.signal.name == name).map(Meaning::Constant)
    }

    fn meaning(&self, name: &str, span: Span) -> Result<Meaning<'a>, Complaint> {
        let signals = self.vocabulary.signals.iter().map(|signal| signal.name.as_str());
        let constants = self.vocabulary.constants.iter().map(|constant| constant.signal.name.as_str());
        self.find(name).ok_or_else(|| Complaint::unknown(span, "signal", name, signals.chain(constants)))
    }

    /// Number of ticks of a span of time.
    ///
    /// A time that is written out must be a whole number of ticks; a sum with a parameter in it is rounded up
    /// to the next tick, because a parameter does not know of ticks.
    pub(crate) fn ticks(&self, time: &Duration) -> Result<u32, Complaint> {
        const MICROS: i64 = 1_000_000;
        let period = i64::from(self.vocabulary.period.micros());
        let mut micros = 0_i64;
        let mut written_out = true;
        for term in &time.terms {
            let (span, term_micros) = match term {
                DurationTerm::Quantity(quantity) => {
                    let factor = quantity.factor_to(&Unit::second()).ok_or_else(|| not_a_time(quantity))?;
                    let exact = quantity.number.scaled_whole(factor.times_whole(MICROS), factor.denominator);
                    (quantity.span, exact)
                }
                DurationTerm::Parameter(name) => {
                    written_out = false;
                    (name.span, self.parameter_micros(&name.value, name.span)?)
                }
            };
            let sum = term_micros.and_then(|micros_more| micros.checked_add(micros_more));
            micros = sum.ok_or_else(|| {
                Complaint::new(span, "this time is not a whole number of microseconds")
                    .expected("a time such as 1.5 s")
            })?;
        }
        if written_out && micros % period != 0 {
            return Err(between_ticks(time, micros, period));
        }
        u32::try_from(micros.saturating_add(period - 1) / period)
            .map_err(|_| Complaint::new(time.span(), "this time is too long").expected("less than a year"))
    }

    fn parameter_micros(&self, name: &str, span: Span) -> Result<Option<i64>, Complaint> {
        let parameters = self.vocabulary.constants.iter();
        let known = parameters.clone().map(|constant| constant.signal.name.as_str());
        let Some(constant) = parameters.clone().find(|constant| constant.signal.name == name) else {
            return Err(Complaint::unknown(span, "parameter", name, known));
        };
        let unit = Unit::declared(&constant.signal.unit);
        let Some(factor) = unit.factor_to(&Unit::second()) else {
            return Err(Complaint::new(span, format!("the parameter `{name}` is {}", unit.described()))
                .expected("a parameter that holds a time"));
        };
        let micros = libm::ceil(constant.value * factor.value() * 1e6 - 1e-3);
        Ok((micros.is_finite() && (0.0..1e15).contains(&micros)).then_some(micros as i64))
    }

    /// A name that stands as a condition.
    pub(crate) fn switch(&self, name: &str, span: Span, wanted: bool) -> Result<Condition, Complaint> {
        let meaning = self.meaning(name, span)?;
        let signal = meaning.signal();
        if !signal.is_switch() {
            let complaint = Complaint::new(span, format!("`{name}` is not a yes/no signal"));
            return Err(match signal.choices.first() {
                Some(choice) => {
                    complaint.expected(format!("a comparison, such as `{name} = {}`", choice_word(choice)))
                }
                None => complaint.expected(format!("a comparison, such as `{name} > {}`", signal.show(0.0))),
            });
        }
        Ok(Condition::new(equality(meaning, 1.0, wanted), ""))
    }

    /// Anything that can change: a signal of any kind or a computed number.
    pub(crate) fn anything(&self, expression: &Expression) -> Result<Measure, Complaint> {
        if let Node::Name(name) = &expression.node {
            return Ok(match self.meaning(name, expression.span)? {
                Meaning::Signal(column, _) => Measure::Signal(column),
                Meaning::Constant(constant) => Measure::Constant(constant.value),
            });
        }
        match self.number(expression)?.content {
            Content::Literal(quantity) => Ok(Measure::Constant(quantity.number.value())),
            Content::Measured(measure, _) => Ok(measure),
        }
    }

    /// A comparison of a choice with a word or with a signal of the same choices; `None` when neither side is
    /// a choice.
    pub(crate) fn choice_comparison(
        &self,
        relation: Relation,
        left: &Expression,
        right: &Expression,
        tolerance: Option<&Expression>,
    ) -> Result<Option<Condition>, Complaint> {
        let choice = |side: &Expression| match &side.node {
            Node::Name(name) => self.find(name).filter(|meaning| !meaning.signal().choices.is_empty()),
            _ => None,
        };
        let (subject, object) = match (choice(left), choice(right)) {
            (Some(subject), _) => (subject, right),
            (None, Some(subject)) => (subject, left),
            (None, None) => return Ok(None),
        };
        let name = &subject.signal().name;
        let wanted = match relation {
            Relation::Equal => true,
            Relation::Unequal => false,
            _ => {
                let what = format!("`{name}` is a choice, and choices have no order");
                return Err(Complaint::new(left.span.to(right.span), what).expected("`=` or `!=`"));
            }
        };
        if let Some(tolerance) = tolerance {
            return Err(Complaint::new(tolerance.span, format!("`{name}` is a choice and has no tolerance")));
        }
        self.choice_test(subject, object, wanted).map(|test| Some(Condition::new(test, "")))
    }

    fn choice_test(
        &self,
        subject: Meaning<'a>,
        object: &Expression,
        wanted: bool,
    ) -> Result<Test, Complaint> {
        let Signal { name, choices, .. } = subject.signal();
        let words: Vec<String> = choices.iter().map(|choice| choice_word(choice)).collect();
        let Node::Name(word) = &object.node else {
            return Err(Complaint::new(object.span, format!("`{name}` is a choice, not a number"))
                .expected(format!("one of: {}", words.join(", "))));
        };
        if let Some(place) = words.iter().position(|known| known == word) {
            return Ok(equality(subject, place as f64, wanted));
        }
        match (subject, self.find(word)) {
            (Meaning::Signal(one, signal), Some(Meaning::Signal(other, object_signal)))
                if signal.choices == object_signal.choices =>
            {
                Ok(Test::Same { columns: [one, other], wanted })
            }
            (Meaning::Signal(..), Some(Meaning::Constant(constant)))
                if constant.signal.choices == *choices =>
            {
                Ok(equality(subject, constant.value, wanted))
            }
            (Meaning::Constant(constant), Some(object @ Meaning::Signal(..)))
                if object.signal().choices == *choices =>
            {
                Ok(equality(object, constant.value, wanted))
            }
            _ => Err(Complaint::unknown(
                object.span,
                &format!("choice of `{name}` called"),
                word,
                words.iter().map(String::as_str),
            )),
        }
    }

    /// A number with its unit.
    pub(crate) fn number(&self, expression: &Expression) -> Result<Number, Complaint> {
        let span = expression.span;
        let content = match &expression.node {
            Node::Quantity(quantity) => Content::Literal(quantity.clone()),
            Node::Name(name) => self.named_number(name, span)?,
            Node::Negative(operand) => match self.number(operand)?.content {
                Content::Literal(quantity) => {
                    Content::Literal(Quantity { number: quantity.number.negated(), ..quantity })
                }
                Content::Measured(measure, unit) => {
                    Content::Measured(Measure::Negative(Box::new(measure)), unit)
                }
            },
            Node::Arithmetic(Arithmetic::Times, left, right) => {
                self.product(self.number(left)?, self.number(right)?)?
            }
            Node::Arithmetic(sign, left, right) => {
                let (mut sides, unit) = self.in_one_unit(vec![self.number(left)?, self.number(right)?])?;
                let (Some(right), Some(left)) = (sides.pop(), sides.pop()) else {
                    return Err(Complaint::new(span, "a sum has two sides"));
                };
                Content::Measured(Measure::Arithmetic(*sign, Box::new(left), Box::new(right)), unit)
            }
            Node::Call(function, operands) => {
                let operands = operands.iter().map(|operand| self.number(operand));
                let (measures, unit) = self.in_one_unit(operands.collect::<Result<_, _>>()?)?;
                let unit = if *function == Function::Rate { unit.per_second() } else { unit };
                let ticks_per_second = 1e6 / f64::from(self.vocabulary.period.micros());
                Content::Measured(Measure::call(*function, measures, ticks_per_second), unit)
            }
            _ => {
                return Err(Complaint::new(span, format!("`{expression}` is a condition, not a number"))
                    .expected("a number here; join conditions by `and`, `or`, `implies`"));
            }
        };
        Ok(Number { content, span })
    }

    fn named_number(&self, name: &str, span: Span) -> Result<Content, Complaint> {
        let meaning = self.meaning(name, span)?;
        let signal = meaning.signal();
        if signal.is_switch() {
            return Err(Complaint::new(span, format!("`{name}` is a yes/no signal, not a number"))
                .expected(format!("`{name}` alone, `not {name}`, or a number")));
        }
        if !signal.choices.is_empty() {
            return Err(Complaint::new(span, format!("`{name}` is a choice, not a number"))
                .expected(format!("`{name} = {}` or a number", choice_word(&signal.choices[0]))));
        }
        let measure = match meaning {
            Meaning::Signal(column, _) => Measure::Signal(column),
            Meaning::Constant(constant) => Measure::Constant(constant.value),
        };
        Ok(Content::Measured(measure, Unit::declared(&signal.unit)))
    }

    /// A product: a share of something counts as the number that it is.
    fn product(&self, left: Number, right: Number) -> Result<Content, Complaint> {
        let (left_unit, right_unit) = (left.unit().clone(), right.unit().clone());
        let unit = left_unit.times(&right_unit);
        let counts_right = right_unit.is_share() && !left_unit.is_number();
        let counts_left = left_unit.is_share() && !right_unit.is_number() && !counts_right;
        let factor = |counts: bool, unit: &Unit| unit.factor_to_number().filter(|_| counts);
        let scaled = |measure: Measure, factor: Option<Factor>| match factor {
            Some(factor) => Measure::Scaled(factor.value(), Box::new(measure)),
            None => measure,
        };
        let left = scaled(left.in_unit(&left_unit)?, factor(counts_left, &left_unit));
        let right = scaled(right.in_unit(&right_unit)?, factor(counts_right, &right_unit));
        let product = Measure::Arithmetic(Arithmetic::Times, Box::new(left), Box::new(right));
        Ok(Content::Measured(product, unit))
    }

    /// Brings numbers to the unit of the first that has one of its own: a signal's before a literal's.
    pub(crate) fn in_one_unit(&self, numbers: Vec<Number>) -> Result<(Vec<Measure>, Unit), Complaint> {
        let measured = numbers.iter().find(|number| matches!(number.content, Content::Measured(..)));
        let literal = || numbers.iter().find(|number| !number.is_bare_zero());
        let unit = measured.or_else(literal).map_or_else(Unit::number, |number| number.unit().clone());
        let measures = numbers.into_iter().map(|number| number.in_unit(&unit)).collect::<Result<_, _>>()?;
        Ok((measures, unit))
    }
}

fn equality(subject: Meaning<'_>, value: f64, wanted: bool) -> Test {
    match subject {
        Meaning::Signal(column, _) => Test::Choice { column, value, wanted },
        Meaning::Constant(constant) => Test::Truth((constant.value == value) == wanted),
    }
}

fn not_a_time(quantity: &Quantity) -> Complaint {
    Complaint::new(quantity.span, format!("`{quantity}` is not a time"))
        .expected("a time such as 1.5 s or 300 ms")
}

fn between_ticks(time: &Duration, micros: i64, period: i64) -> Complaint {
    let millis = |micros: i64| format!("{} ms", micros as f64 / 1000.0);
    let below = micros / period * period;
    Complaint::new(time.span(), format!("`{time}` is not a whole number of ticks of {}", millis(period)))
        .expected(format!("{} or {}", millis(below), millis(below + period)))
}
