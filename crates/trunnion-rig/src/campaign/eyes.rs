//! Where in a row of the trace is what the rules look at.

use trunnion::declare::FaultSet;
use trunnion::machine::Machine;

use super::{CampaignError, Charter};
use crate::run::{Plant, Rig};
use crate::trace::ColumnKind;

pub(super) struct GroupEyes {
    pub(super) name: &'static str,
    pub(super) permission: usize,
    pub(super) why_not: usize,
    reasons: Vec<String>,
    pub(super) driven_by: Vec<usize>,
    held_by: Vec<usize>,
}

impl GroupEyes {
    pub(super) fn driven(&self, row: &[f64]) -> bool {
        self.driven_by.iter().any(|place| row[*place] != 0.0)
    }

    pub(super) fn held(&self, row: &[f64]) -> bool {
        self.held_by.iter().any(|place| row[*place] != 0.0)
    }

    pub(super) fn permitted(&self, row: &[f64]) -> bool {
        row[self.permission] != 0.0
    }

    /// The first reason why it has no permission, in words.
    pub(super) fn reason(&self, row: &[f64]) -> &str {
        self.reasons.get(row[self.why_not] as usize).map_or("", String::as_str)
    }
}

pub(super) struct LimbEyes {
    pub(super) name: &'static str,
    pub(super) position: usize,
    pub(super) group: usize,
    pub(super) allowed: f64,
}

pub(super) struct Eyes {
    pub(super) faults: Vec<(String, usize)>,
    pub(super) groups: Vec<GroupEyes>,
    pub(super) pairs: Vec<(usize, usize)>,
    pub(super) path: Option<([usize; 3], usize)>,
    pub(super) limbs: Vec<LimbEyes>,
    tested: Option<(usize, f64)>,
    pub(super) stop_ticks: u32,
    period_ms: f64,
}

impl Eyes {
    pub(super) fn of<M: Machine, P: Plant<M>>(
        rig: &Rig<M, P>,
        charter: &Charter,
    ) -> Result<Self, CampaignError> {
        let no_column = |name: &str| CampaignError::NoColumn(name.to_owned());
        let place = |name: &str| {
            rig.columns().iter().position(|column| column.name == name).ok_or_else(|| no_column(name))
        };
        let places = |names: &[&str]| names.iter().map(|name| place(name)).collect::<Result<Vec<_>, _>>();
        let group = |permission: &str| {
            let found = charter.groups.iter().position(|group| group.permission == permission);
            found.ok_or_else(|| no_column(permission))
        };
        let first = rig.columns().iter().position(|column| column.kind == ColumnKind::Fault).unwrap_or(0);
        let period_ms = f64::from(M::PERIOD.micros()) / 1_000.0;
        let mut groups = Vec::new();
        for group in charter.groups {
            let why_not = place(group.why_not)?;
            groups.push(GroupEyes {
                name: group.permission,
                permission: place(group.permission)?,
                why_not,
                reasons: rig.columns()[why_not].choices.clone(),
                driven_by: places(group.driven_by)?,
                held_by: places(group.held_by)?,
            });
        }
        let mut limbs = Vec::new();
        for limb in charter.limbs {
            let (position, group) = (place(limb.position)?, group(limb.permission)?);
            limbs.push(LimbEyes { name: limb.position, position, group, allowed: limb.allowed });
        }
        let mut tested = None;
        if let Some((column, choice)) = charter.tested {
            let at = place(column)?;
            let value = rig.columns()[at].choices.iter().position(|known| known == choice);
            tested = Some((at, value.ok_or_else(|| no_column(choice))? as f64));
        }
        let mut path = None;
        if let Some(declared) = charter.path {
            let [x, y, heading] = declared.columns;
            path = Some(([place(x)?, place(y)?, place(heading)?], group(declared.permission)?));
        }
        let pairs = charter.pairs.iter().map(|(one, other)| Ok((place(one)?, place(other)?)));
        Ok(Self {
            faults: (first..).zip(M::Faults::INFO).map(|(at, info)| (info.name.to_owned(), at)).collect(),
            groups,
            pairs: pairs.collect::<Result<_, CampaignError>>()?,
            path,
            limbs,
            tested,
            stop_ticks: libm::round(f64::from(charter.longest_stop_ms) / period_ms) as u32,
            period_ms,
        })
    }

    pub(super) fn ticks(&self, millis: u32) -> u32 {
        libm::round(f64::from(millis) / self.period_ms) as u32
    }

    /// Milliseconds after so many ticks.
    pub(super) fn millis(&self, ticks: u32) -> u32 {
        libm::round(f64::from(ticks) * self.period_ms) as u32
    }

    pub(super) fn driven(&self, row: &[f64]) -> bool {
        self.groups.iter().any(|group| group.driven(row))
    }

    /// Tests at start-up still drive.
    pub(super) fn testing(&self, row: &[f64]) -> bool {
        self.tested.is_some_and(|(place, done)| row[place] != done)
    }
}
