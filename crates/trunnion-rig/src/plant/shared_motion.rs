//! Motion that one plant has computed and others take over.

use std::sync::Arc;

/// What moves in a plant is what a run costs, and it follows from what drives it alone. One plant leads: it keeps what drove it in
/// each step, and the state after it. Others, copies of it from before, follow: as long as they are driven the same, to the
/// last bit, they take its states over, and they move by themselves from the first step on that is driven otherwise.
///
/// ```
/// use trunnion_rig::plant::SharedMotion;
///
/// let fall = |metres: &mut f64, metres_per_step: &f64| *metres += metres_per_step;
/// let (mut leader, mut follower) = (0.0, 0.0);
/// let (mut leads, mut follows) = (SharedMotion::default(), SharedMotion::default());
/// leads.lead();
/// for _ in 0..3 {
///     leads.step(0.5, &mut leader, fall);
/// }
/// follows.follow(&mut leads);
/// follows.step(0.5, &mut follower, |_, _| unreachable!("the leader's state is taken over"));
/// follows.step(2.0, &mut follower, fall);
/// follows.step(0.5, &mut follower, fall);
/// assert_eq!((leader, follower), (1.5, 3.0));
/// ```
#[derive(Debug, Clone)]
pub struct SharedMotion<Drives, State> {
    part: Part<Drives, State>,
}

#[derive(Debug, Clone)]
enum Part<Drives, State> {
    Alone,
    Leading(Vec<(Drives, State)>),
    Following { steps: Arc<Vec<(Drives, State)>>, next: usize },
}

impl<Drives, State> Default for SharedMotion<Drives, State> {
    fn default() -> Self {
        Self { part: Part::Alone }
    }
}

impl<Drives: PartialEq, State: Clone> SharedMotion<Drives, State> {
    /// Keeps all that comes for those that will follow.
    pub fn lead(&mut self) {
        self.part = Part::Leading(Vec::new());
    }

    /// Follows one that has led since the state was the same as here; that one is alone from now on.
    pub fn follow(&mut self, leader: &mut Self) {
        if let Part::Leading(steps) = std::mem::replace(&mut leader.part, Part::Alone) {
            self.part = Part::Following { steps: Arc::new(steps), next: 0 };
        }
    }

    /// Alone from now on: something was done to the state that was not done to the leader's.
    pub fn leave(&mut self) {
        self.part = Part::Alone;
    }

    /// The next step. Drives must be equal only if they are so to the last bit.
    pub fn step(&mut self, drives: Drives, state: &mut State, advance: impl FnOnce(&mut State, &Drives)) {
        if let Part::Following { steps, next } = &mut self.part {
            if let Some((_, after)) = steps.get(*next).filter(|(led, _)| *led == drives) {
                state.clone_from(after);
                *next += 1;
                return;
            }
            self.leave();
        }
        advance(state, &drives);
        if let Part::Leading(steps) = &mut self.part {
            steps.push((drives, state.clone()));
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn advance(state: &mut u32, drives: &u8) {
        *state = state.wrapping_mul(31).wrapping_add(u32::from(*drives));
    }

    fn end(motion: &mut SharedMotion<u8, u32>, drives: &[u8]) -> Vec<u32> {
        let mut state = 7;
        let step = |drives: &u8| {
            motion.step(*drives, &mut state, advance);
            state
        };
        drives.iter().map(step).collect()
    }

    proptest! {
        #[test]
        fn who_follows_moves_as_one_alone(
            led in prop::collection::vec(0_u8..3, 0..40),
            driven in prop::collection::vec(0_u8..3, 0..40),
            same in 0_usize..40,
        ) {
            let mut leader = SharedMotion::default();
            leader.lead();
            prop_assert_eq!(end(&mut leader, &led), end(&mut SharedMotion::default(), &led));
            let mut follower = SharedMotion::default();
            follower.follow(&mut leader);
            let driven: Vec<u8> = led.iter().take(same).chain(&driven).copied().collect();
            prop_assert_eq!(end(&mut follower, &driven), end(&mut SharedMotion::default(), &driven));
        }
    }

    #[test]
    fn who_left_takes_nothing_over() {
        let mut leader = SharedMotion::default();
        leader.lead();
        let _ = end(&mut leader, &[1, 1]);
        let mut follower = SharedMotion::default();
        follower.follow(&mut leader);
        follower.leave();
        let mut state = 100;
        follower.step(1, &mut state, |state, _| *state += 1);
        assert_eq!(state, 101);
    }
}
