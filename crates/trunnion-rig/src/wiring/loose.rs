//! Loose contacts.

use crate::plant::SplitMix64;

/// A loose contact is open for so long, ms: engineering judgement for a plug on a machine that shakes.
const OPEN_MS: (f64, f64) = (20.0, 150.0);
/// And closed for so long.
const CLOSED_MS: (f64, f64) = (50.0, 300.0);

/// The contacts of a machine that are loose, by the place of what they break. Each is open at first, then closes and opens by
/// chance, from a stream of its own by its name.
#[derive(Debug, Clone, Default)]
pub struct LooseContacts {
    seed: u64,
    contacts: Vec<Loose>,
}

#[derive(Debug, Clone)]
struct Loose {
    place: u16,
    random: SplitMix64,
    open: bool,
    left_us: u32,
}

impl Loose {
    fn turn(&mut self, open: bool) {
        let (shortest, longest) = if open { OPEN_MS } else { CLOSED_MS };
        let millis = shortest + (longest - shortest) * self.random.next_unit();
        (self.open, self.left_us) = (open, (1_000.0 * millis) as u32);
    }
}

impl LooseContacts {
    /// None yet; `seed` is the scenario's.
    pub fn new(seed: u64) -> Self {
        Self { seed, contacts: Vec::new() }
    }

    /// A contact becomes loose and opens.
    pub fn loosen(&mut self, place: u16, name: &str) {
        self.fasten(place);
        let random = SplitMix64::for_part(self.seed, name);
        let mut contact = Loose { place, random, open: true, left_us: 0 };
        contact.turn(true);
        self.contacts.push(contact);
    }

    /// A contact is sound again.
    pub fn fasten(&mut self, place: u16) {
        self.contacts.retain(|contact| contact.place != place);
    }

    /// Passes a time shorter than any opening, µs: the contacts that turned in it, and whether each is open now.
    pub fn step(&mut self, dt_us: u32) -> Vec<(u16, bool)> {
        let mut turned = Vec::new();
        for contact in &mut self.contacts {
            contact.left_us = contact.left_us.saturating_sub(dt_us);
            if contact.left_us == 0 {
                contact.turn(!contact.open);
                turned.push((contact.place, contact.open));
            }
        }
        turned
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// When contact 3 turns within two seconds, ms, and to what.
    fn turns(name: &str) -> Vec<(u32, bool)> {
        let mut contacts = LooseContacts::new(7);
        contacts.loosen(3, name);
        (0..2_000).flat_map(|at| contacts.step(1_000).into_iter().map(move |(_, open)| (at, open))).collect()
    }

    #[test]
    fn openings_and_closings_take_turns_and_keep_to_their_times() {
        let turns = turns("seat");
        assert!(turns.len() > 8, "{turns:?}");
        assert!(!turns[0].1, "it was open from the first");
        for pair in turns.windows(2) {
            let lasted = f64::from(pair[1].0 - pair[0].0);
            let (shortest, longest) = if pair[0].1 { OPEN_MS } else { CLOSED_MS };
            assert_ne!(pair[0].1, pair[1].1);
            assert!((shortest - 1.0..=longest + 1.0).contains(&lasted), "{lasted}");
        }
    }

    #[test]
    fn each_has_its_own_times_and_the_same_ones_every_time() {
        assert_eq!(turns("seat"), turns("seat"));
        assert_ne!(turns("seat"), turns("bar"));
    }

    #[test]
    fn a_fastened_contact_turns_no_more() {
        let mut contacts = LooseContacts::new(7);
        contacts.loosen(3, "seat");
        contacts.fasten(3);
        assert!((0..2_000).all(|_| contacts.step(1_000).is_empty()));
    }
}
