//! A lever on the bus, from the hand to the health that the machine acts on.
//!
//! The plant's lever sends as a real one does, and fails in every way it can; mailbox and bus lever of the core have
//! to name what happened in time. Time-out three periods and at most 300 ms from the last valid frame, start-up window
//! 2 s: common practice, no source. Raw ranges: SAE J1939-71.

use trunnion::quantity::{Millis, Period, Permille, Ratio};
use trunnion_can::FrameFlaw;
use trunnion_can::bus_lever::{BusLever, BusLeverConfig, LeverReading, WheelAxis};
use trunnion_can::id::pgn;
use trunnion_can::mailbox::{Filter, Mailbox};
use trunnion_rig::plant::{
    ButtonState, CanLever, CanLeverConfig, Fit, FlagFault, JoystickMessage, LeverAxis, LeverFault,
};

const TICK: Period = Period::from_micros(10_000).unwrap();
const TICK_MS: u32 = 10;
const ADDRESS: u8 = 0x21;

/// A lever's two messages, the bus and what the controller makes of it.
struct Bench {
    main: CanLever,
    grip: CanLever,
    mailbox: Mailbox<2>,
    reader: BusLever,
    /// A second unit with the same address.
    stranger: Option<CanLever>,
}

fn device(message: JoystickMessage, period_ms: u32) -> CanLever {
    CanLever::new(CanLeverConfig {
        message,
        source_address: ADDRESS,
        period_ms: f64::from(period_ms),
        phase_ms: 0.0,
        neutral_band: 0.03,
        axes: [Fit::Fitted; 3],
        buttons: 4,
    })
    .unwrap()
}

impl Bench {
    fn new(period_ms: u32) -> Self {
        let config = BusLeverConfig {
            period: Millis::millis(period_ms),
            start_up: Millis::millis(2_000),
            neutral_band: Permille::new(50).unwrap(),
            most_frames: 4,
            wheel: WheelAxis::GripY,
            fitted_buttons: 0b1111,
        };
        Bench {
            main: device(JoystickMessage::Basic(1), period_ms),
            grip: device(JoystickMessage::Extended(1), period_ms),
            mailbox: Mailbox::new([
                Filter { pgn: pgn::BASIC_JOYSTICK_1, source: ADDRESS },
                Filter { pgn: pgn::EXTENDED_JOYSTICK_1, source: ADDRESS },
            ]),
            reader: BusLever::new(config, TICK).unwrap(),
            stranger: None,
        }
    }

    /// One tick of ten milliseconds.
    fn step(&mut self) -> LeverReading {
        for _ in 0..TICK_MS {
            let senders = [Some(&mut self.main), Some(&mut self.grip), self.stranger.as_mut()];
            for frame in senders.into_iter().flatten().filter_map(|lever| lever.step(1000)) {
                self.mailbox.receive(frame.id, true, &frame.data);
            }
        }
        let (basic, extended) = (self.mailbox.slot(0), self.mailbox.slot(1));
        self.reader.step((basic.data, basic.count), (extended.data, extended.count))
    }

    fn run(&mut self, ticks: u32) -> LeverReading {
        (0..ticks).fold(LeverReading::default(), |_, _| self.step())
    }

    /// Half right, a quarter back, wheel three quarters up, button 2, for a second.
    fn moved(mut self) -> Self {
        self.main.set_axis(LeverAxis::X, 0.5);
        self.main.set_axis(LeverAxis::Y, -0.25);
        self.grip.set_axis(LeverAxis::Y, 0.75);
        self.main.set_button(2, ButtonState::Pressed);
        let reading = self.run(100);
        assert!(is_as_moved(&reading), "{reading:?}");
        self
    }
}

fn share(permille: i32) -> Ratio {
    Ratio::from_permille(permille).unwrap()
}

fn is_as_moved(reading: &LeverReading) -> bool {
    let positions = (reading.x, reading.y, reading.wheel) == (share(500), share(-250), share(750));
    let health = reading.fresh && reading.wheel_fresh && reading.flaw == FrameFlaw::None;
    positions && health && !reading.neutral && reading.buttons[1] && !reading.buttons[0]
}

#[test]
fn a_sound_lever_is_read_as_it_is_moved_at_every_usual_period() {
    for period_ms in [10, 20, 30, 50, 100, 150] {
        let mut bench = Bench::new(period_ms).moved();
        let frames = (0..300).filter(|_| bench.step().new_frame).count();
        let expected = 3000 / period_ms as usize;
        assert!(frames.abs_diff(expected) <= 1, "{frames} frames of {expected} at {period_ms} ms");
        bench.main.set_axis(LeverAxis::X, 0.0);
        assert!(!bench.run(20).neutral, "one axis is still deflected");
        bench.main.set_axis(LeverAxis::Y, 0.0);
        assert!(bench.run(20).neutral && !bench.run(1).wheel_neutral, "{period_ms} ms");
        bench.grip.set_axis(LeverAxis::Y, 0.0);
        assert!(bench.run(20).wheel_neutral, "{period_ms} ms");
    }
}

/// Breaks the lever right behind a valid frame; the ticks from then until it no longer counts, and what is told then.
fn until_not_fresh(bench: &mut Bench, fault: LeverFault) -> (u32, LeverReading) {
    while !bench.step().new_frame {}
    bench.main.set_fault(fault);
    for ticks in 1..100 {
        let reading = bench.step();
        if !reading.fresh {
            return (ticks, reading);
        }
        assert_eq!((reading.x, reading.y), (share(500), share(-250)), "the last valid one until then");
    }
    panic!("still fresh after a second");
}

#[test]
fn each_fault_is_named_after_three_periods_and_the_lever_counts_for_nothing() {
    use LeverAxis::{X, Y};
    for period_ms in [10, 20, 50, 100, 150] {
        for (fault, flaw) in [
            (LeverFault::Lost, FrameFlaw::Lost),
            (LeverFault::WrongSource(0x22), FrameFlaw::Lost),
            (LeverFault::AxisError(X), FrameFlaw::ErrorValue),
            (LeverFault::AxisNotAvailable(Y), FrameFlaw::NotAvailable),
            (LeverFault::AxisRaw(X, 1001), FrameFlaw::Reserved),
            (LeverFault::AxisRaw(Y, 1021), FrameFlaw::Reserved),
            (LeverFault::AxisRaw(Y, 1022), FrameFlaw::ErrorValue),
            (LeverFault::AxisFlags(X, FlagFault::NeutralAndDirection), FrameFlaw::Inconsistent),
            (LeverFault::AxisFlags(Y, FlagFault::BothDirections), FrameFlaw::Inconsistent),
            (LeverFault::AxisFlags(X, FlagFault::NoneSet), FrameFlaw::Inconsistent),
            (LeverFault::AxisFlags(Y, FlagFault::NeutralOverPosition), FrameFlaw::Inconsistent),
            (LeverFault::AxisFlags(X, FlagFault::Error), FrameFlaw::ErrorValue),
            (LeverFault::AxisFlags(X, FlagFault::NotAvailable), FrameFlaw::NotAvailable),
            (LeverFault::Button(1, ButtonState::Error), FrameFlaw::ErrorValue),
            (LeverFault::Button(4, ButtonState::NotAvailable), FrameFlaw::NotAvailable),
        ] {
            let mut bench = Bench::new(period_ms).moved();
            let (ticks, reading) = until_not_fresh(&mut bench, fault);
            let time_out_ms = (3 * period_ms).min(300);
            assert_eq!(ticks * TICK_MS, time_out_ms, "{fault:?} at {period_ms} ms");
            assert_eq!(reading.flaw, flaw, "{fault:?} at {period_ms} ms");
            let nothing = reading.x.is_zero() && reading.y.is_zero() && reading.buttons == [false; 12];
            assert!(nothing && !reading.neutral, "{fault:?}: {reading:?}");
            assert!(reading.wheel_fresh, "the other message is sound");
            bench.main.set_fault(LeverFault::None);
            assert!(is_as_moved(&bench.run(20)), "{fault:?} mended");
        }
    }
}

#[test]
fn the_wheel_has_a_health_of_its_own() {
    let mut bench = Bench::new(20).moved();
    bench.grip.set_fault(LeverFault::AxisError(LeverAxis::Y));
    let reading = bench.run(10);
    assert_eq!((reading.wheel, reading.wheel_flaw), (Ratio::ZERO, FrameFlaw::ErrorValue));
    assert!(!reading.wheel_fresh && reading.fresh && reading.x == share(500));
    // An axis that is not the wheel may be as it likes.
    bench.grip.set_fault(LeverFault::AxisError(LeverAxis::Theta));
    assert!(is_as_moved(&bench.run(10)));
}

#[test]
fn a_button_that_is_not_fitted_may_be_not_available() {
    let mut bench = Bench::new(20).moved();
    bench.main.set_fault(LeverFault::Button(5, ButtonState::Error));
    assert!(is_as_moved(&bench.run(50)));
}

/// Late within the time-out is nothing, later is lost.
#[test]
fn frames_that_come_late_are_lost_beyond_the_time_out_only() {
    for (by_us, lost) in [(0, false), (15_000, false), (35_000, false), (60_000, true)] {
        let mut bench = Bench::new(20).moved();
        bench.main.set_fault(LeverFault::Late { by_us });
        let flaws: Vec<_> = (0..100).map(|_| bench.step().flaw).collect();
        assert_eq!(flaws.contains(&FrameFlaw::Lost), lost, "late by {by_us} µs: {flaws:?}");
    }
}

#[test]
fn a_lever_that_never_speaks_is_waited_for_two_seconds_and_then_missed() {
    let mut bench = Bench::new(20);
    bench.main.set_fault(LeverFault::Lost);
    for tick in 1..=400_u32 {
        let reading = bench.step();
        let expected = if tick * TICK_MS <= 2000 { FrameFlaw::Waiting } else { FrameFlaw::NeverSeen };
        assert_eq!((reading.flaw, reading.fresh, reading.neutral), (expected, false, false), "tick {tick}");
    }
    bench.main.set_fault(LeverFault::None);
    let reading = bench.run(5);
    assert!(reading.fresh && reading.neutral && reading.flaw == FrameFlaw::None, "late, but there");
}

#[test]
fn a_second_unit_with_the_same_address_is_told() {
    for period_ms in [10, 20, 50] {
        let mut bench = Bench::new(period_ms).moved();
        bench.stranger = Some(device(JoystickMessage::Basic(1), period_ms));
        let reading = bench.run(7 * period_ms / TICK_MS + 2);
        assert_eq!((reading.flaw, reading.fresh, reading.x), (FrameFlaw::Duplicated, false, Ratio::ZERO));
        bench.stranger = None;
        // Eight frames ahead at most, and a sender is allowed to be a quarter faster than it says: 28 periods.
        assert!(is_as_moved(&bench.run(29 * period_ms / TICK_MS)), "{period_ms} ms: gone again");
    }
}

/// A residual hazard that the documentation states: it looks like a lever that is held still.
#[test]
fn a_frozen_lever_is_not_detected() {
    let mut bench = Bench::new(20).moved();
    bench.main.set_fault(LeverFault::Frozen);
    bench.main.set_axis(LeverAxis::X, 0.0);
    bench.main.set_axis(LeverAxis::Y, 0.0);
    assert!(is_as_moved(&bench.run(500)));
}
