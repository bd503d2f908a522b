//! Everything that can break on a machine.

use trunnion::declare::{Failure, FieldInfo, Record};
use trunnion::machine::{FastInputs, FastOutputs, Machine};

use super::LooseContacts;
use crate::run::{BreakInfo, Way};

/// Where a break is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BreakPlace {
    /// A unit of the machine's own, by its place among the units: a lever with all of its messages.
    Unit(u16),
    /// A wired input, by its place in the inputs.
    Input(u16),
    /// The current sense of a coil.
    Sense(u16),
    /// An on-off output.
    Output(u16),
    /// A proportional coil.
    Coil(u16),
}

/// Everything that can break on the machine `M`: `units` of its own, then every wire of its declaration in every way of its
/// kind. The number of rows is [`breakable`]'s.
///
/// ```text
/// const BREAKS: BreakTable<{ breakable::<Roller>(UNITS) }> = BreakTable::new::<Roller>(UNITS);
/// impl Plant<Roller> for RollerPlant { const BREAKS: &'static [BreakInfo] = &BREAKS.infos; … }
/// ```
#[derive(Debug, Clone, Copy)]
pub struct BreakTable<const N: usize> {
    /// What a scenario may name.
    pub infos: [BreakInfo; N],
    places: [BreakPlace; N],
}

const fn tables<M: Machine>() -> [&'static [FieldInfo]; 4] {
    [M::Inputs::FIELDS, FastInputs::<M>::FIELDS, M::Outputs::FIELDS, FastOutputs::<M>::FIELDS]
}

/// How many rows the table of a machine has.
pub const fn breakable<M: Machine>(units: &[BreakInfo]) -> usize {
    let mut count = units.len();
    let tables = tables::<M>();
    let mut kind = 0;
    while kind < tables.len() {
        let mut row = 0;
        while row < tables[kind].len() {
            if !tables[kind][row].wire.failures().is_empty() {
                count += 1;
            }
            row += 1;
        }
        kind += 1;
    }
    count
}

/// A coil is called by its name alone: without `_duty`.
const fn coil_name(name: &'static str) -> &'static str {
    const END: &str = "_duty";
    if name.len() <= END.len() {
        return name;
    }
    name.split_at(name.len() - END.len()).0
}

impl<const N: usize> BreakTable<N> {
    /// The table. A number of rows that is not [`breakable`]'s does not compile.
    pub const fn new<M: Machine>(units: &'static [BreakInfo]) -> Self {
        assert!(N == breakable::<M>(units), "the number of rows is what `breakable` gives");
        const NONE: BreakInfo = BreakInfo::steady("", "", &[]);
        let mut table = Self { infos: [NONE; N], places: [BreakPlace::Unit(0); N] };
        let mut next = 0;
        while next < units.len() {
            table.infos[next] = units[next];
            table.places[next] = BreakPlace::Unit(next as u16);
            next += 1;
        }
        let tables = tables::<M>();
        let mut kind = 0;
        while kind < tables.len() {
            let mut row = 0;
            while row < tables[kind].len() {
                let field = &tables[kind][row];
                if !field.wire.failures().is_empty() {
                    let signal = if kind == 3 { coil_name(field.name) } else { field.name };
                    table.infos[next] = BreakInfo::wired(signal, field.doc, field.wire);
                    table.places[next] = match kind {
                        0 => BreakPlace::Input(row as u16),
                        1 => BreakPlace::Sense(row as u16),
                        2 => BreakPlace::Output(row as u16),
                        _ => BreakPlace::Coil(row as u16),
                    };
                    next += 1;
                }
                row += 1;
            }
            kind += 1;
        }
        table
    }

    /// How a row is broken from now on when a scenario breaks or mends it; of a loose contact, which is open now and turns
    /// later by [`LooseContacts::step`], what [`while_loose`](Self::while_loose) says.
    pub fn now(&self, loose: &mut LooseContacts, index: u16, way: Option<Way>) -> Option<Way> {
        loose.fasten(index);
        match self.infos.get(usize::from(index)) {
            Some(info) if way == Some(Way::Intermittent) => {
                loose.loosen(index, info.signal);
                self.while_loose(index, true)
            }
            _ => way,
        }
    }

    /// How a loose contact is broken while it is open, and while it is closed: of a unit it is the plug, so that its frames are
    /// lost.
    pub fn while_loose(&self, index: u16, open: bool) -> Option<Way> {
        let steady = [Failure::Open, Failure::Lost].into_iter().find(|way| self.is_possible(index, *way));
        open.then(|| steady.map_or(Way::Intermittent, Way::from))
    }

    /// Where the break of a row is.
    pub fn place(&self, index: u16) -> Option<BreakPlace> {
        self.places.get(usize::from(index)).copied()
    }

    /// A way that a row does not have is a mistake of whoever asks; nothing is to break then.
    pub fn is_possible(&self, index: u16, way: impl Into<Way>) -> bool {
        let way = way.into();
        self.infos.get(usize::from(index)).is_some_and(|info| info.ways().any(|known| known == way))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::declare::Wire;

    const TABLE: BreakTable<2> = BreakTable {
        infos: [
            BreakInfo::wired("seat", "", Wire::SwitchToSupply),
            BreakInfo::steady("lever", "", &[Failure::Lost, Failure::Frozen]),
        ],
        places: [BreakPlace::Input(0), BreakPlace::Unit(0)],
    };

    #[test]
    fn a_loose_contact_is_open_at_first_and_closed_in_between_and_another_break_or_a_mend_fastens_it() {
        let mut loose = LooseContacts::new(7);
        assert_eq!(TABLE.now(&mut loose, 0, Some(Way::Intermittent)), Some(Failure::Open.into()));
        let turned: Vec<(u16, bool)> = (0..1_000).flat_map(|_| loose.step(1_000)).collect();
        assert!(turned.len() > 3 && !turned[0].1, "{turned:?}");
        let ways = turned.iter().map(|(place, open)| TABLE.while_loose(*place, *open));
        assert!(ways.zip(&turned).all(|(way, (_, open))| way == open.then(|| Failure::Open.into())));
        assert_eq!(TABLE.now(&mut loose, 0, None), None);
        assert!((0..1_000).all(|_| loose.step(1_000).is_empty()), "mended");
        assert_eq!(TABLE.now(&mut loose, 1, Some(Failure::Frozen.into())), Some(Failure::Frozen.into()));
        assert_eq!(TABLE.while_loose(1, true), Some(Failure::Lost.into()), "a unit is unplugged");
    }
}
