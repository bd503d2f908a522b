use trunnion::declare::ParameterSet;
use trunnion::machine::Machine;

use super::field::{Field, Finding};
use super::hand::Hand;
use super::story::{Names, Story};
use super::territory::{Offered, Places, Range, Territory, TerritoryError, span_of};
use crate::language::Complaints;
use crate::requirement::Monitor;
use crate::run::{Plant, Rig, Session};
use crate::scenario::Scenario;

/// Genes of a leg: how long it lasts, what is done, with which, to what value, over what time.
const LEG_GENES: usize = 5;
/// Parameters that a story draws at most.
const MOST_PARAMETERS: usize = 3;
/// Ticks between two looks for a violation.
const LOOK: u32 = 10;
/// Seeds that a story draws from.
const SEEDS: f64 = 1_000.0;
/// A margin that no condition with a number decided.
const FAR: f64 = 10.0;

/// Stories on a machine and its plant.
pub struct Stories<'a, M, P> {
    rig: &'a Rig<M, P>,
    territory: Territory,
    places: Places,
    names: Names,
}

/// A story under way.
pub struct Chase<M: Machine, P: Plant<M>> {
    session: Session<M, P>,
    story: Story,
    /// What each action was last asked for.
    pub(super) asked: Vec<f64>,
    /// What each action was asked for when the opening was over.
    pub(super) opened: Vec<f64>,
    /// The tick up to which each breakable signal is broken.
    pub(super) broken_until: Vec<u32>,
}

impl<M: Machine, P: Plant<M>> Clone for Chase<M, P> {
    fn clone(&self) -> Self {
        Self {
            session: self.session.clone(),
            story: self.story.clone(),
            asked: self.asked.clone(),
            opened: self.opened.clone(),
            broken_until: self.broken_until.clone(),
        }
    }
}

impl<'a, M: Machine, P: Plant<M>> Stories<'a, M, P> {
    /// Looks up the names of a territory.
    pub fn new(rig: &'a Rig<M, P>, territory: Territory) -> Result<Self, TerritoryError> {
        let offered = Offered {
            actions: P::ACTIONS,
            breaks: P::BREAKS,
            parameters: M::Parameters::INFO,
            columns: rig.columns(),
        };
        let places = offered.places(&territory)?;
        let names = Names {
            openings: territory.openings,
            actions: P::ACTIONS,
            breaks: P::BREAKS,
            parameters: M::Parameters::INFO,
            period: f64::from(M::PERIOD.micros()) / 1e6,
        };
        let stories = Self { rig, territory, places, names };
        for (place, opening) in territory.openings.iter().enumerate() {
            let mut story = stories.blank(place);
            story.ticks = stories.ticks(opening.seconds).max(1);
            stories.start(&story).map_err(|complaints| {
                TerritoryError::Opening(opening.name.to_owned(), complaints.to_string())
            })?;
        }
        Ok(stories)
    }

    /// The scenario of a run with these genes, as far as it was played.
    pub fn scenario(&self, genes: &[f64], title: &str) -> Result<Scenario, Complaints> {
        let (opening, legs) = genes.split_at(self.opening_genes().min(genes.len()));
        let mut run = self.open(opening);
        for leg in legs.chunks_exact(LEG_GENES) {
            if self.finding(&run).violated.is_none() {
                self.go_on(&mut run, leg);
            }
        }
        if self.finding(&run).violated.is_none() {
            self.end(&mut run);
        }
        let mut story = run.story;
        // The opening's events must fit, though the requirement was violated before the last of them.
        let opened = self.territory.openings.get(story.opening).map_or(0.0, |opening| opening.seconds);
        story.ticks = run.session.next_tick().max(self.ticks(opened) + 1);
        story.deeds.retain(|(tick, _)| *tick < story.ticks);
        story.deeds.sort_by_key(|(tick, _)| *tick);
        Scenario::parse("hunt", &self.names.tell(&story, title))
    }

    fn blank(&self, opening: usize) -> Story {
        Story {
            seed: 1,
            opening,
            parameters: Vec::new(),
            surroundings: Vec::new(),
            deeds: Vec::new(),
            ticks: 1,
        }
    }

    fn start(&self, story: &Story) -> Result<Session<M, P>, Complaints> {
        let scenario = Scenario::parse("hunt", &self.names.tell(story, "hunt"))?;
        self.rig.start_unrecorded(&scenario)
    }

    fn ticks(&self, seconds: f64) -> u32 {
        libm::round(seconds / self.names.period).max(0.0) as u32
    }

    /// The longest story: opening, legs, tail.
    fn longest(&self, opening: usize) -> u32 {
        let opening = self.territory.openings.get(opening).map_or(0.0, |opening| opening.seconds);
        self.ticks(opening + self.territory.legs as f64 * self.territory.longest_leg + self.territory.tail)
            + 1
    }

    /// Opening, seed, surroundings and parameters out of genes.
    fn drawn(&self, genes: &[f64]) -> Story {
        let mut genes = genes.iter().copied();
        let mut next = || genes.next().unwrap_or(0.0);
        let mut story = self.blank(pick(next(), self.territory.openings.len()));
        story.seed = 1 + (next() * (SEEDS - 1.0)) as u64;
        for (place, range) in &self.places.surroundings {
            let gene = next();
            // Half of the stories leave each of them alone.
            if gene >= 0.5 {
                story.surroundings.push((*place, rounded(within(2.0 * gene - 1.0, range))));
            }
        }
        for _ in 0..MOST_PARAMETERS {
            let (which, value) = (next(), next());
            if which < 0.7 || self.places.parameters.is_empty() {
                continue;
            }
            let (place, range) =
                self.places.parameters[pick((which - 0.7) / 0.3, self.places.parameters.len())];
            if story.parameters.iter().all(|(known, _)| *known != place) {
                story.parameters.push((place, within(value, &range) as i32));
            }
        }
        story.ticks = self.longest(story.opening);
        story
    }

    fn play(&self, run: &mut Chase<M, P>, ticks: u32) {
        for tick in 0..ticks {
            if run.session.step().is_none() {
                return;
            }
            if tick % LOOK == LOOK - 1 && run.session.monitors().any(|monitor| !monitor.so_far().0) {
                return;
            }
        }
    }
}

impl<M: Machine, P: Plant<M>> Field for Stories<'_, M, P> {
    type Run = Chase<M, P>;

    fn opening_genes(&self) -> usize {
        2 + self.places.surroundings.len() + 2 * MOST_PARAMETERS
    }

    fn leg_genes(&self) -> usize {
        LEG_GENES
    }

    fn legs(&self) -> usize {
        self.territory.legs
    }

    fn open(&self, genes: &[f64]) -> Chase<M, P> {
        let mut story = self.drawn(genes);
        let session = self.start(&story).or_else(|_| {
            // A parameter that contradicts another one is no story of a machine that was set up.
            story.parameters.clear();
            story.surroundings.clear();
            self.start(&story)
        });
        let Ok(session) = session else { panic!("an opening that was tried when the territory was read") };
        let broken_until = vec![0; P::BREAKS.len()];
        let mut run = Chase { session, asked: Vec::new(), opened: Vec::new(), broken_until, story };
        let opening = self.territory.openings.get(run.story.opening).map_or(0.0, |opening| opening.seconds);
        self.play(&mut run, self.ticks(opening));
        run.opened = run.session.asked().to_vec();
        run.asked.clone_from(&run.opened);
        run
    }

    fn go_on(&self, run: &mut Chase<M, P>, genes: &[f64]) {
        let [lasts, what, which, value, time] = genes else { return };
        let now = run.session.next_tick();
        let shortest = 2.0 * self.names.period;
        let seconds = shortest * libm::pow(self.territory.longest_leg / shortest, *lasts);
        let acts = Hand { places: &self.places, period: self.names.period, now }
            .acts::<M, P>(run, *what, *which, *value, *time);
        for (tick, act) in acts {
            if tick >= run.story.ticks {
                continue;
            }
            if let Some(change) = act.change(P::BREAKS) {
                run.session.schedule(tick, change);
                run.story.deeds.push((tick, act));
            }
        }
        self.play(run, self.ticks(seconds).max(1));
    }

    fn end(&self, run: &mut Chase<M, P>) {
        self.play(run, self.ticks(self.territory.tail));
    }

    fn finding(&self, run: &Chase<M, P>) -> Finding {
        let mut finding = Finding { margin: FAR, violated: None, situation: 0xcbf2_9ce4_8422_2325 };
        for (place, monitor) in run.session.monitors().enumerate() {
            let (unbroken, margin, unit) = monitor.so_far();
            if !unbroken && finding.violated.is_none() {
                finding.violated = Some(place);
            }
            let share = margin / span_of(unit, false);
            if share.is_finite() {
                finding.margin = finding.margin.min(share);
            } else if !unbroken {
                finding.margin = finding.margin.min(-1.0);
            }
        }
        let row = run.session.row();
        for (column, span) in &self.places.situations {
            let value = row.get(*column).copied().unwrap_or(0.0);
            finding.situation = (finding.situation ^ level(value, *span)).wrapping_mul(0x100_0000_01b3);
        }
        finding
    }

    fn margins(&self, run: &Chase<M, P>) -> Vec<f64> {
        let share = |monitor: &Monitor| {
            let (_, margin, unit) = monitor.so_far();
            let share = margin / span_of(unit, false);
            if share.is_finite() { share } else { f64::INFINITY }
        };
        run.session.monitors().map(share).collect()
    }
}

/// A value, coarsely: a choice as it is, a number in five levels.
fn level(value: f64, span: f64) -> u64 {
    if span == 0.0 {
        return value as u64;
    }
    let share = value / span;
    let size = if share.abs() < 0.03 {
        0
    } else if share.abs() < 0.4 {
        1
    } else {
        2
    };
    if share < 0.0 { 10 + size } else { size }
}

/// One of several by a gene.
pub(super) fn pick(gene: f64, count: usize) -> usize {
    ((gene * count as f64) as usize).min(count.saturating_sub(1))
}

pub(super) fn within(gene: f64, range: &Range) -> f64 {
    libm::round(range.low + gene * (range.high - range.low))
}

/// Two figures: what nobody would set more finely.
fn rounded(value: f64) -> f64 {
    if value.abs() < 100.0 { value } else { libm::round(value / 10.0) * 10.0 }
}
