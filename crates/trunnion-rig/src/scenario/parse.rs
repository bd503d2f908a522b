use super::lines::{Statement, statements, without_comments};
use super::story::{Deed, Event, Moment, Scenario, Setting, StatedRequirement, Value};
use crate::language::{Complaint, Complaints, Lexer, Quantity, Span, Spanned, Token, TokenKind, Unit};
use crate::requirement::{Expression, RESERVED};

/// First words of the statements.
const STATEMENTS: [&str; 9] =
    ["scenario", "about", "seed", "length", "parameter", "set", "at", "after", "require"];

/// Words behind which a number ends, besides those of formulas.
const MORE_RESERVED: [&str; 2] = ["moves", "over"];

impl Scenario {
    /// Reads a scenario. Gives back everything that is wrong with its form at once; names and ranges are
    /// judged by the rig that runs it.
    pub fn parse(origin: &str, text: &str) -> Result<Self, Complaints> {
        let clean = without_comments(text);
        let keywords: Vec<&str> = RESERVED.iter().copied().chain(MORE_RESERVED).collect();
        let mut draft = Draft { clean: &clean, keywords: &keywords, ..Draft::default() };
        let mut complaints = Vec::new();
        for statement in statements(&clean) {
            if let Err(complaint) = statement.and_then(|statement| draft.statement(statement)) {
                complaints.push(complaint);
            }
        }
        let scenario = draft.finish(origin, text, &mut complaints);
        match scenario {
            Some(scenario) if complaints.is_empty() => Ok(scenario),
            _ => {
                complaints.sort_by_key(|complaint| complaint.span.start);
                Err(Complaints::new(origin, text, complaints))
            }
        }
    }
}

/// What has been read so far.
#[derive(Default)]
struct Draft<'a> {
    clean: &'a str,
    keywords: &'a [&'a str],
    title: Option<String>,
    about: Option<String>,
    seed: Option<u64>,
    length: Option<Quantity>,
    parameters: Vec<Setting>,
    settings: Vec<Setting>,
    events: Vec<Event>,
    requirements: Vec<StatedRequirement>,
}

impl Draft<'_> {
    fn statement(&mut self, statement: Statement) -> Result<(), Complaint> {
        let Statement { keyword, rest } = statement;
        match keyword.of(self.clean) {
            "scenario" => once(&mut self.title, keyword, text_of(self.clean, keyword, rest)?),
            "about" => {
                let text = text_of(self.clean, keyword, rest)?;
                let so_far = self.about.take();
                self.about = Some(so_far.map_or(text.clone(), |about| format!("{about} {text}")));
                Ok(())
            }
            "seed" => {
                let seed = self.read(rest, Reader::seed)?;
                once(&mut self.seed, keyword, seed)
            }
            "length" => {
                let length =
                    self.read(rest, |reader| reader.time("how long the scenario lasts, such as 12 s"))?;
                once(&mut self.length, keyword, length)
            }
            "parameter" => {
                let more = self.read(rest, |reader| reader.list(Reader::setting))?;
                add_settings(&mut self.parameters, more)
            }
            "set" => {
                let more = self.read(rest, |reader| reader.list(Reader::setting))?;
                add_settings(&mut self.settings, more)
            }
            "at" => self.event(rest, Moment::At),
            "after" => self.event(rest, Moment::After),
            "require" => self.requirement(keyword, rest),
            other => Err(Complaint::unknown(keyword, "statement", other, STATEMENTS)),
        }
    }

    fn event(&mut self, rest: Span, moment: impl FnOnce(Quantity) -> Moment) -> Result<(), Complaint> {
        let event = self.read(rest, |reader| {
            let time = reader.time("a time such as 2.5 s")?;
            Ok(Event { moment: moment(time), deeds: reader.list(Reader::deed)? })
        })?;
        self.events.push(event);
        Ok(())
    }

    fn read<T>(
        &self,
        rest: Span,
        read: impl FnOnce(&mut Reader) -> Result<T, Complaint>,
    ) -> Result<T, Complaint> {
        let tokens = Lexer::new(self.clean, rest, self.keywords).tokens()?;
        let mut reader = Reader { tokens, next: 0 };
        let result = read(&mut reader)?;
        match reader.peek().kind {
            TokenKind::End => Ok(result),
            _ => Err(reader.unexpected("the end of the line, or a comma and more")),
        }
    }

    /// require := "require" id [ "(" hazard ")" ] sentence ":" formula
    fn requirement(&mut self, keyword: Span, rest: Span) -> Result<(), Complaint> {
        let Some(colon) = rest.of(self.clean).find(':').map(|place| rest.start + place) else {
            return Err(Complaint::new(keyword, "a requirement without a formula")
                .expected("`require S-01 what must hold: always (…)`"));
        };
        let head = Span::new(rest.start, colon);
        let formula = Expression::parse_within(self.clean, Span::new(colon + 1, rest.end))?;
        let words = head.of(self.clean);
        let id_start = head.start + (words.len() - words.trim_start().len());
        let id_end = words.trim_start().find(char::is_whitespace).map_or(colon, |length| id_start + length);
        let id = Span::new(id_start, id_end.min(colon));
        let mut sentence = Span::new(id.end, colon).of(self.clean).trim();
        let mut hazard = "";
        if let Some(inner) = sentence.strip_prefix('(') {
            let Some((inside, behind)) = inner.split_once(')') else {
                return Err(Complaint::new(head, "the hazard's parenthesis is not closed").expected("`)`"));
            };
            if inside.trim().is_empty() {
                return Err(Complaint::new(head, "an empty hazard").expected("`(H-02)`, or no parenthesis"));
            }
            (hazard, sentence) = (inside, behind);
        }
        let (hazard, sentence) = (one_line(hazard), one_line(sentence));
        if id.of(self.clean).is_empty() || id.of(self.clean).starts_with('(') || sentence.is_empty() {
            return Err(Complaint::new(head, "a requirement without an id or a sentence")
                .expected("`require S-01 what must hold: always (…)`"));
        }
        let id = Spanned::new(id.of(self.clean).to_owned(), id);
        if self.requirements.iter().any(|known| known.id.value == id.value) {
            return Err(Complaint::new(id.span, format!("the requirement `{}` stands twice", id.value))
                .expected("an id of its own"));
        }
        self.requirements.push(StatedRequirement { id, hazard, sentence, formula });
        Ok(())
    }

    fn finish(self, origin: &str, text: &str, complaints: &mut Vec<Complaint>) -> Option<Scenario> {
        let beginning = Span::new(0, text.chars().next().map_or(0, char::len_utf8));
        let mut missing = |what: &str, example: &str| {
            let complaint = Complaint::new(beginning, format!("the scenario has no {what}"));
            complaints.push(complaint.expected(format!("a line such as `{example}`")));
        };
        if self.title.is_none() {
            missing("title", "scenario  Lever unplugged at speed");
        }
        if self.length.is_none() {
            missing("length", "length    12 s");
        }
        Some(Scenario {
            origin: origin.to_owned(),
            text: text.to_owned(),
            title: self.title?,
            about: self.about.unwrap_or_default(),
            seed: self.seed.unwrap_or(0),
            length: self.length?,
            parameters: self.parameters,
            settings: self.settings,
            events: self.events,
            requirements: self.requirements,
        })
    }
}

fn once<T>(place: &mut Option<T>, keyword: Span, value: T) -> Result<(), Complaint> {
    if place.is_some() {
        return Err(Complaint::new(keyword, "this statement stands twice").expected("one of them"));
    }
    *place = Some(value);
    Ok(())
}

fn add_settings(settings: &mut Vec<Setting>, more: Vec<Setting>) -> Result<(), Complaint> {
    for setting in more {
        let name = &setting.name;
        if settings.iter().any(|known| known.name == *name) {
            return Err(
                Complaint::new(name.span, format!("`{}` is set twice", name.value)).expected("one value")
            );
        }
        settings.push(setting);
    }
    Ok(())
}

fn text_of(clean: &str, keyword: Span, rest: Span) -> Result<String, Complaint> {
    match one_line(rest.of(clean)) {
        text if text.is_empty() => {
            Err(Complaint::new(keyword, format!("`{}` says nothing", keyword.of(clean)))
                .expected("text behind it"))
        }
        text => Ok(text),
    }
}

/// Words of a text with one blank between them.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Reads the tokens of one statement.
struct Reader {
    tokens: Vec<Token>,
    next: usize,
}

impl Reader {
    fn peek(&self) -> &Token {
        // The last token is the end, which is never stepped over.
        &self.tokens[self.next.min(self.tokens.len() - 1)]
    }

    fn advance(&mut self) -> Token {
        let token = self.peek().clone();
        self.next += 1;
        token
    }

    fn accept_symbol(&mut self, symbol: &str) -> Option<Span> {
        (self.peek().symbol() == Some(symbol)).then(|| self.advance().span)
    }

    fn expect_symbol(&mut self, symbol: &str) -> Result<Span, Complaint> {
        self.accept_symbol(symbol).ok_or_else(|| self.unexpected(&format!("`{symbol}`")))
    }

    fn accept_word(&mut self, word: &str) -> bool {
        let found = self.peek().word() == Some(word);
        if found {
            self.advance();
        }
        found
    }

    fn expect_word(&mut self, word: &str, why: &str) -> Result<(), Complaint> {
        if self.accept_word(word) { Ok(()) } else { Err(self.unexpected(&format!("`{word}` {why}"))) }
    }

    fn unexpected(&self, expected: &str) -> Complaint {
        let token = self.peek();
        Complaint::new(token.span, format!("{} is not expected here", token.name()))
            .expected(format!("expected {expected}"))
    }

    fn seed(&mut self) -> Result<u64, Complaint> {
        const EXPECTED: &str = "a whole number of at most 15 digits";
        let TokenKind::Quantity(quantity) = &self.peek().kind else {
            return Err(self.unexpected(EXPECTED));
        };
        let whole = quantity.number.scaled_whole(1, 1).filter(|_| quantity.unit == Unit::number());
        let seed =
            whole.and_then(|whole| u64::try_from(whole).ok()).ok_or_else(|| self.unexpected(EXPECTED))?;
        self.advance();
        Ok(seed)
    }

    fn time(&mut self, expected: &str) -> Result<Quantity, Complaint> {
        let TokenKind::Quantity(quantity) = self.peek().kind.clone() else {
            return Err(self.unexpected(expected));
        };
        if quantity.value_in(&Unit::second()).is_none() {
            let what = format!("`{quantity}` is not a time");
            return Err(Complaint::new(quantity.span, what).expected(expected));
        }
        self.advance();
        Ok(quantity)
    }

    fn list<T>(&mut self, item: fn(&mut Self) -> Result<T, Complaint>) -> Result<Vec<T>, Complaint> {
        let mut list = vec![item(self)?];
        while self.accept_symbol(",").is_some() {
            list.push(item(self)?);
        }
        Ok(list)
    }

    fn name(&mut self, expected: &str) -> Result<Spanned<String>, Complaint> {
        match &self.peek().kind {
            TokenKind::Word(word) if !RESERVED.contains(&word.as_str()) => {
                let word = word.clone();
                Ok(Spanned::new(word, self.advance().span))
            }
            _ => Err(self.unexpected(expected)),
        }
    }

    fn setting(&mut self) -> Result<Setting, Complaint> {
        let name = self.name("a name")?;
        self.expect_symbol("=")?;
        Ok(Setting { name, value: self.value()? })
    }

    fn value(&mut self) -> Result<Value, Complaint> {
        let negative = self.accept_symbol("-");
        match self.peek().kind.clone() {
            TokenKind::Quantity(quantity) => {
                self.advance();
                let (number, span) = match negative {
                    Some(sign) => (quantity.number.negated(), sign.to(quantity.span)),
                    None => (quantity.number, quantity.span),
                };
                Ok(Value::Quantity(Quantity { number, span, ..quantity }))
            }
            TokenKind::Word(word) if negative.is_none() && !self.reserved(&word) => {
                Ok(Value::Choice(Spanned::new(word, self.advance().span)))
            }
            _ => Err(self.unexpected("a value: a number with its unit, or the name of a choice")),
        }
    }

    fn reserved(&self, word: &str) -> bool {
        RESERVED.contains(&word) || MORE_RESERVED.contains(&word)
    }

    /// deed := "break" signal ":" failure | "mend" signal | "parameter" setting
    ///       | name "=" value | name "moves" "to" value "over" time
    fn deed(&mut self) -> Result<Deed, Complaint> {
        match self.peek().word() {
            Some("break") => {
                self.advance();
                let signal = self.name("the signal that breaks")?;
                self.expect_symbol(":")?;
                return Ok(Deed::Break(signal, self.name("how it fails")?));
            }
            Some("mend") => {
                self.advance();
                return Ok(Deed::Mend(self.name("the signal that is mended")?));
            }
            Some("parameter") => {
                self.advance();
                return Ok(Deed::Parameter(self.setting()?));
            }
            _ => {}
        }
        let name = self.name("an action, `break`, `mend` or `parameter`")?;
        if self.accept_word("moves") {
            self.expect_word("to", "and a value, as in `moves to 80 % over 0.4 s`")?;
            let value = self.value()?;
            self.expect_word("over", "and how long it takes, as in `over 0.4 s`")?;
            let time = self.time("how long it takes, such as 0.4 s")?;
            return Ok(Deed::Move(Setting { name, value }, time));
        }
        if self.accept_symbol("=").is_none() {
            return Err(self.unexpected("`= value` or `moves to value over time`"));
        }
        Ok(Deed::Set(Setting { name, value: self.value()? }))
    }
}
