use trunnion::machine::Machine;

use crate::language::{Decimal, Quantity, Span, Unit};
use crate::requirement::show_number;
use crate::run::{Plant, Rig};
use crate::scenario::{Deed, Event, Moment, Scenario, Setting, Value};

/// A violation made as short and round as it could be.
#[derive(Debug, Clone)]
pub struct Shrunk {
    /// The story. Running it violates the requirement.
    pub scenario: Scenario,
    /// When it does, in seconds.
    pub at: f64,
    /// Runs that were spent on shrinking.
    pub runs: u32,
}

/// Makes a scenario that violates a requirement of the machine shorter, as long as it violates the same one: fewest
/// deeds and settings, roundest numbers, shortest time. Spends at most `most_runs` runs. `None` when the scenario does not
/// violate that requirement.
pub fn shrink<M: Machine, P: Plant<M>>(
    rig: &Rig<M, P>,
    scenario: &Scenario,
    requirement: &str,
    most_runs: u32,
) -> Option<Shrunk> {
    let mut press = Press { rig, requirement, runs: 0, most_runs, best: flattened(scenario), at: 0.0 };
    let start = press.best.clone();
    if !press.keep(start) {
        return None;
    }
    press.cut();
    loop {
        let before = press.best.clone();
        press.fewer();
        press.simpler();
        press.sooner();
        press.rounder();
        press.cut();
        if press.best == before || press.is_spent() {
            break;
        }
    }
    Some(Shrunk { at: press.at, runs: press.runs, scenario: press.best })
}

/// Every deed an event of its own, at a time from the beginning.
fn flattened(scenario: &Scenario) -> Scenario {
    let mut flat = scenario.clone();
    flat.events.clear();
    let mut above = 0.0;
    for event in &scenario.events {
        let time = seconds(event.moment.quantity());
        above = if matches!(event.moment, Moment::After(_)) { above + time } else { time };
        flat.events
            .extend(event.deeds.iter().map(|deed| Event { moment: at(above), deeds: vec![deed.clone()] }));
    }
    let key = |event: &Event| seconds(event.moment.quantity());
    flat.events.sort_by(|one, other| key(one).total_cmp(&key(other)));
    flat
}

struct Press<'a, M, P> {
    rig: &'a Rig<M, P>,
    requirement: &'a str,
    runs: u32,
    most_runs: u32,
    best: Scenario,
    at: f64,
}

impl<M: Machine, P: Plant<M>> Press<'_, M, P> {
    fn is_spent(&self) -> bool {
        self.runs >= self.most_runs
    }

    /// Takes a candidate when it violates the requirement, too.
    fn keep(&mut self, candidate: Scenario) -> bool {
        if self.is_spent() {
            return false;
        }
        self.runs += 1;
        let Ok(mut session) = self.rig.start_unrecorded(&candidate) else { return false };
        let period = f64::from(M::PERIOD.micros()) / 1e6;
        loop {
            if session.step().is_none() {
                return false;
            }
            if session.breaks(self.requirement) {
                self.at = f64::from(session.next_tick()) * period;
                self.best = candidate;
                return true;
            }
        }
    }

    /// Ends soon after the violation.
    fn cut(&mut self) {
        let length = libm::ceil(self.at * 10.0 + 1e-6) / 10.0;
        if length < seconds(&self.best.length) {
            let mut candidate = self.best.clone();
            candidate.length = quantity(length, Unit::second());
            candidate.events.retain(|event| seconds(event.moment.quantity()) < length);
            self.keep(candidate);
        }
    }

    /// Leaves out deeds, settings and parameters: many at once first, then pairs on one name, then one by one.
    fn fewer(&mut self) {
        let mut size = self.best.events.len() / 2;
        while size > 0 {
            let mut place = 0;
            while place < self.best.events.len() && !self.is_spent() {
                let mut candidate = self.best.clone();
                let end = (place + size).min(candidate.events.len());
                candidate.events.drain(place..end);
                if !self.keep(candidate) {
                    place += size;
                }
            }
            size /= 2;
        }
        let mut place = 0;
        while place < self.best.events.len() && !self.is_spent() {
            if !self.without_pair(place) {
                place += 1;
            }
        }
        for place in (0..self.best.settings.len()).rev() {
            let mut candidate = self.best.clone();
            candidate.settings.remove(place);
            self.keep(candidate);
        }
        for place in (0..self.best.parameters.len()).rev() {
            let mut candidate = self.best.clone();
            candidate.parameters.remove(place);
            self.keep(candidate);
        }
    }

    /// A deed and the next one on the same name: a button that is pressed and let go of, a break that is mended.
    fn without_pair(&mut self, place: usize) -> bool {
        let Some(name) = self.best.events.get(place).and_then(name_of) else { return false };
        let others = self.best.events.iter().enumerate().skip(place + 1);
        let second =
            others.filter(|(_, event)| name_of(event).as_ref() == Some(&name)).map(|(at, _)| at).next();
        let Some(second) = second else { return false };
        let mut candidate = self.best.clone();
        candidate.events.remove(second);
        candidate.events.remove(place);
        self.keep(candidate)
    }

    /// Puts at once what moves, and takes the plainest seed.
    fn simpler(&mut self) {
        for place in 0..self.best.events.len() {
            let mut candidate = self.best.clone();
            let Some(event) = candidate.events.get_mut(place) else { continue };
            if let [Deed::Move(setting, _)] = event.deeds.as_slice() {
                event.deeds = vec![Deed::Set(setting.clone())];
                self.keep(candidate);
            }
        }
        if self.best.seed != 0 {
            let candidate = Scenario { seed: 0, ..self.best.clone() };
            self.keep(candidate);
        }
    }

    /// Closes gaps: everything from a deed on happens earlier.
    fn sooner(&mut self) {
        for place in 0..self.best.events.len() {
            let before = place.checked_sub(1).and_then(|place| self.best.events.get(place)).map_or(0.0, when);
            for share in [0.0, 0.25, 0.5] {
                let Some(now) = self.best.events.get(place).map(when) else { break };
                let gap = now - before;
                let target = before + tenth(gap * share);
                if target >= now - 0.05 {
                    continue;
                }
                let mut candidate = self.best.clone();
                for event in candidate.events.iter_mut().skip(place) {
                    event.moment = at(when(event) - (now - target));
                }
                if self.keep(candidate) {
                    break;
                }
            }
        }
    }

    /// Rounds times and values, the coarsest first.
    fn rounder(&mut self) {
        for place in 0..self.best.events.len() {
            for step in [1.0, 0.5, 0.1, 0.05] {
                let Some(time) = self.best.events.get(place).map(when) else { break };
                let rounded = libm::round(time / step) * step;
                if (rounded - time).abs() < 1e-9 {
                    break;
                }
                let mut candidate = self.best.clone();
                candidate.events[place].moment = at(rounded);
                candidate.events.sort_by(|one, other| when(one).total_cmp(&when(other)));
                if self.keep(candidate) {
                    break;
                }
            }
            self.round_values(place);
        }
        for place in 0..self.best.settings.len() {
            for candidate in rounder(&self.best.settings[place]) {
                let mut scenario = self.best.clone();
                scenario.settings[place] = candidate;
                if self.keep(scenario) {
                    break;
                }
            }
        }
    }

    fn round_values(&mut self, place: usize) {
        let Some([deed]) = self.best.events.get(place).map(|event| event.deeds.as_slice()) else { return };
        let candidates: Vec<Deed> = match deed {
            Deed::Set(setting) => rounder(setting).into_iter().map(Deed::Set).collect(),
            Deed::Move(setting, over) => {
                let mut all: Vec<Deed> =
                    rounder(setting).into_iter().map(|setting| Deed::Move(setting, over.clone())).collect();
                let time = libm::round(seconds(over) * 2.0) / 2.0;
                if time > 0.0 && (time - seconds(over)).abs() > 1e-9 {
                    all.insert(0, Deed::Move(setting.clone(), quantity(time, Unit::second())));
                }
                all
            }
            _ => return,
        };
        for deed in candidates {
            let mut candidate = self.best.clone();
            candidate.events[place].deeds = vec![deed];
            if self.keep(candidate) {
                return;
            }
        }
    }
}

/// The same setting with rounder numbers.
fn rounder(setting: &Setting) -> Vec<Setting> {
    let Value::Quantity(written) = &setting.value else { return Vec::new() };
    let value = written.number.value();
    let mut candidates = Vec::new();
    for step in [100.0, 50.0, 10.0, 5.0, 1.0] {
        let rounded = libm::round(value / step) * step;
        if (rounded - value).abs() < 1e-9 {
            break;
        }
        let value = Value::Quantity(quantity(rounded, written.unit.clone()));
        candidates.push(Setting { name: setting.name.clone(), value });
    }
    candidates
}

fn name_of(event: &Event) -> Option<String> {
    match event.deeds.as_slice() {
        [Deed::Set(setting) | Deed::Move(setting, _) | Deed::Parameter(setting)] => {
            Some(setting.name.value.clone())
        }
        [Deed::Break(signal, _) | Deed::Mend(signal)] => Some(format!("break {}", signal.value)),
        _ => None,
    }
}

fn when(event: &Event) -> f64 {
    seconds(event.moment.quantity())
}

fn tenth(seconds: f64) -> f64 {
    libm::round(seconds * 10.0) / 10.0
}

fn seconds(time: &Quantity) -> f64 {
    time.value_in(&Unit::second()).unwrap_or(0.0)
}

fn at(seconds: f64) -> Moment {
    Moment::At(quantity(seconds, Unit::second()))
}

fn quantity(value: f64, unit: Unit) -> Quantity {
    let number = Decimal::parse(&show_number(value)).unwrap_or(Decimal::ZERO);
    Quantity { number, unit, span: Span::default() }
}
