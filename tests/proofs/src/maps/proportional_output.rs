//! A duty on a PWM channel of any resolution.

use std::convert::Infallible;

use embedded_hal::pwm::{ErrorType, SetDutyCycle};
use trunnion::quantity::Duty;
use trunnion::valve::ProportionalOutput;

use super::entry;
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

const FULL: i64 = 10_000;

/// A channel that remembers what it was told.
struct Channel {
    most: u16,
    now: u16,
}

impl ErrorType for Channel {
    type Error = Infallible;
}

impl SetDutyCycle for Channel {
    fn max_duty_cycle(&self) -> u16 {
        self.most
    }

    fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Infallible> {
        self.now = duty;
        Ok(())
    }
}

fn written(most: u16, duty: i64) -> i64 {
    let mut channel = Channel { most, now: u16::MAX };
    let Ok(mut output) = ProportionalOutput::new(&mut channel);
    let Ok(()) = output.write(Duty::saturating(duty));
    channel.now.into()
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "proportional_output");
    let stride = if study.is_whole() { 1 } else { 4_369 };
    for most in (0..=u16::MAX).step_by(stride) {
        let shape = Shape {
            domain: (0, FULL),
            bounds: (0, most.into()),
            order: Order::Rises,
            odd: false,
            largest_change: i64::from(most) / FULL + 1,
            breakpoints: vec![],
        };
        study.sweep(
            &format!("{most} steps"),
            &shape,
            |raw| Some(written(most, raw)),
            |raw, answer| {
                let wanted = raw * i64::from(most);
                answer.is_some_and(|steps| steps * FULL <= wanted && wanted < (steps + 1) * FULL)
            },
        );
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "proportional_output",
        "valve/proportional_output",
        "all 10 001 duties on channels of all 65 536 resolutions",
        &[
            "rounded down to a step of the channel: never more than asked for",
            "monotone, off at 0 %, fully on at 100 %",
        ],
        study,
    )
}
