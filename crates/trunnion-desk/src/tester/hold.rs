//! The hand on the key that keeps a motion going.

use std::time::{Duration, Instant};

/// Something that is held, or not.
pub trait Hold {
    /// True while it is held; asked often.
    fn is_held(&mut self) -> bool;
}

/// Repeats of a key that come this close together are one hand that holds it. A terminal repeats about thirty times a
/// second; the controller's own dead-man is 300 ms.
const BETWEEN_REPEATS: Duration = Duration::from_millis(150);
/// As many repeats must have come before it counts as held: the first gap is long, as terminals do it.
const REPEATS: u32 = 4;

/// A key that repeats, by the times at which its letter came.
#[derive(Debug, Clone, Copy, Default)]
pub struct RepeatingKey {
    last: Option<Instant>,
    repeats: u32,
}

impl RepeatingKey {
    /// The letter came, now.
    pub fn letter(&mut self, now: Instant) {
        let close = self.last.is_some_and(|last| now.duration_since(last) <= BETWEEN_REPEATS);
        self.repeats = if close { self.repeats.saturating_add(1) } else { 0 };
        self.last = Some(now);
    }

    /// Whether it is held, now.
    pub fn is_held(&self, now: Instant) -> bool {
        self.repeats >= REPEATS && self.last.is_some_and(|last| now.duration_since(last) <= BETWEEN_REPEATS)
    }
}

#[cfg(unix)]
pub use terminal::SpaceBar;

#[cfg(unix)]
mod terminal {
    use std::io::{self, Read};
    use std::time::Instant;

    use rustix::termios::{LocalModes, OptionalActions, SpecialCodeIndex, Termios, tcgetattr, tcsetattr};

    use super::{Hold, RepeatingKey};

    /// The space bar of the process's own terminal. The terminal is as before when this is gone.
    pub struct SpaceBar {
        before: Termios,
        key: RepeatingKey,
    }

    impl SpaceBar {
        /// Takes letters one by one and without showing them.
        ///
        /// # Errors
        /// When the input is no terminal: a motion is never kept going by a pipe.
        pub fn new() -> io::Result<Self> {
            let before = tcgetattr(io::stdin())?;
            let mut letters = before.clone();
            letters.local_modes.remove(LocalModes::ICANON | LocalModes::ECHO);
            letters.special_codes[SpecialCodeIndex::VMIN] = 0;
            letters.special_codes[SpecialCodeIndex::VTIME] = 0;
            tcsetattr(io::stdin(), OptionalActions::Flush, &letters)?;
            Ok(Self { before, key: RepeatingKey::default() })
        }
    }

    impl Hold for SpaceBar {
        fn is_held(&mut self) -> bool {
            let mut letters = [0; 64];
            let count = io::stdin().lock().read(&mut letters).unwrap_or(0);
            let now = Instant::now();
            if letters.iter().take(count).any(|letter| *letter == b' ') {
                self.key.letter(now);
            }
            self.key.is_held(now)
        }
    }

    impl Drop for SpaceBar {
        fn drop(&mut self) {
            // Nothing more can be done for a terminal that refuses.
            let _ = tcsetattr(io::stdin(), OptionalActions::Flush, &self.before);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_held_once_it_repeats_and_no_longer_when_it_stops() {
        let began = Instant::now();
        let at = |millis| began + Duration::from_millis(millis);
        let mut key = RepeatingKey::default();
        key.letter(at(0));
        assert!(!key.is_held(at(1)), "one press is no hold");
        for repeat in 0..5 {
            key.letter(at(500 + repeat * 33));
        }
        assert!(key.is_held(at(640)));
        assert!(key.is_held(at(500 + 4 * 33 + 150)));
        assert!(!key.is_held(at(500 + 4 * 33 + 151)), "let go");
        key.letter(at(1_000));
        assert!(!key.is_held(at(1_001)));
    }
}
