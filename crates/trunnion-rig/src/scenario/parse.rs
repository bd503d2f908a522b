use super::lines::{Statement, statements, without_comments};
use super::reader::{MORE_RESERVED, Reader};
use super::story::{Event, Moment, Scenario, Setting, StatedRequirement};
use crate::language::{Complaint, Complaints, Lexer, Quantity, Span, Spanned};
use crate::requirement::{Expression, RESERVED};

/// First words of the statements.
const STATEMENTS: [&str; 9] =
    ["scenario", "about", "seed", "length", "parameter", "set", "at", "after", "require"];

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
        let mut reader = Reader::new(tokens);
        let result = read(&mut reader)?;
        reader.end()?;
        Ok(result)
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
