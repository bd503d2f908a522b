use super::*;
use crate::declare::{Access, Latch, Reactions};

crate::parameters! {
    /// Two limits that must be in order.
    pub struct Limits, pub enum Limit {
        /// Lower one.
        0x0001 low: u8 = 10, in 0..=100, Access::Tune;
        /// Upper one.
        0x0002 high: u8 = 20, in 0..=100, Access::Tune;
    }
}
crate::signals! {
    /// What it reads.
    pub struct Reads, pub enum Read {
        /// A level.
        level: u8 = 0;
    }
}
crate::signals! {
    /// What it drives.
    pub struct Drives, pub enum Drive {
        /// On between the limits.
        lamp: bool = false;
    }
}
crate::faults! {
    /// The one fault.
    pub enum Fault {
        /// The stored limits were refused. Store them anew.
        Replaced: spn 520_200, fmi 13, set 0, clear 0, Latch::UntilRestart, Reactions::NONE, blink 11, "controller";
    }
}

/// A fast loop that only knows its upper limit.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Fast(Option<u8>);

impl FastLoop for Fast {
    type SetPoints = Reads;
    type Inputs = Reads;
    type Outputs = Reads;
    type Report = u8;

    fn step(&mut self, set_points: &Reads, _: &Reads) -> Reads {
        *set_points
    }

    fn report(&mut self) -> u8 {
        self.0.unwrap_or(0)
    }
}

/// Lights the lamp between the limits. `STRICT` refuses even the defaults.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lamp<const STRICT: bool> {
    limits: Limits,
    replaced: bool,
}

impl<const STRICT: bool> Program for Lamp<STRICT> {
    const PERIOD: Period = Period::from_micros(10_000).unwrap();
    const FAST_STEPS: u8 = 1;
    type Parameters = Limits;
    type Fast = Fast;
    type Inputs = Reads;
    type Outputs = Drives;
    type Diagnostics = Drives;
    type Faults = Fault;

    fn new(boot: &Boot<Limits>, replaced: bool) -> Result<Self, Refusal> {
        let parameters = &boot.parameters;
        if STRICT || parameters.low() >= parameters.high() {
            return Err(parameters.contradiction(Limit::low, "must be below high"));
        }
        Ok(Self { limits: *parameters, replaced })
    }

    fn fast(parameters: &Limits) -> Result<Fast, Refusal> {
        if parameters.high() > 90 {
            return Err(parameters.contradiction(Limit::high, "is more than the fast loop takes"));
        }
        Ok(Fast(Some(parameters.high())))
    }

    fn idle_fast() -> Fast {
        Fast(None)
    }

    fn step(&mut self, inputs: &Reads, _: &u8) -> Drives {
        Drives { lamp: inputs.level >= self.limits.low() && inputs.level <= self.limits.high() }
    }

    fn set_points(&self) -> Reads {
        Reads { level: self.limits.high() }
    }

    fn reconfigure(&mut self, parameters: &Limits) -> Result<(), Refusal> {
        *self = Self::new(&Boot { parameters: *parameters, ..Boot::default() }, false)?;
        Ok(())
    }

    fn reconfigure_fast(fast: &mut Fast, parameters: &Limits) -> Result<(), Refusal> {
        *fast = Self::fast(parameters)?;
        Ok(())
    }

    fn is_fault_active(&self, index: u16) -> bool {
        usize::from(index) < Fault::COUNT && self.replaced
    }

    fn diagnostics(&self) -> Drives {
        Drives { lamp: true }
    }
}

/// The same, to which a tester commits a set.
#[derive(Debug, Clone)]
struct Told {
    lamp: Lamp<false>,
    committed: Option<Limits>,
}

impl Program for Told {
    const PERIOD: Period = Lamp::<false>::PERIOD;
    const FAST_STEPS: u8 = 1;
    type Parameters = Limits;
    type Fast = Fast;
    type Inputs = Reads;
    type Outputs = Drives;
    type Diagnostics = Drives;
    type Faults = Fault;

    fn new(boot: &Boot<Limits>, replaced: bool) -> Result<Self, Refusal> {
        Ok(Self { lamp: Lamp::new(boot, replaced)?, committed: Some(limits(30, 40)) })
    }

    fn fast(parameters: &Limits) -> Result<Fast, Refusal> {
        Lamp::<false>::fast(parameters)
    }

    fn idle_fast() -> Fast {
        Lamp::<false>::idle_fast()
    }

    fn step(&mut self, inputs: &Reads, report: &u8) -> Drives {
        self.lamp.step(inputs, report)
    }

    fn set_points(&self) -> Reads {
        self.lamp.set_points()
    }

    fn reconfigure(&mut self, parameters: &Limits) -> Result<(), Refusal> {
        self.lamp.reconfigure(parameters)
    }

    fn reconfigure_fast(fast: &mut Fast, parameters: &Limits) -> Result<(), Refusal> {
        Lamp::<false>::reconfigure_fast(fast, parameters)
    }

    fn committed(&mut self) -> Option<Limits> {
        self.committed.take()
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.lamp.is_fault_active(index)
    }

    fn diagnostics(&self) -> Drives {
        self.lamp.diagnostics()
    }
}

fn limits(low: i32, high: i32) -> Limits {
    let mut limits = Limits::default();
    limits.stage(Limit::low.id(), low).unwrap();
    limits.stage(Limit::high.id(), high).unwrap();
    limits
}

type Good = SafeStart<Lamp<false>>;

#[test]
fn stored_parameters_that_both_loops_take_are_in_force() {
    let (mut machine, fast) = Good::start(&Boot { parameters: limits(30, 40), ..Boot::default() });
    assert!(machine.step(&Reads { level: 35 }, &0).lamp && !machine.step(&Reads { level: 15 }, &0).lamp);
    assert_eq!((fast, machine.is_fault_active(0)), (Fast(Some(40)), false));
    assert_eq!(machine.set_points().level, 40);
    assert!(machine.diagnostics().lamp, "what the program shows is shown");
}

#[test]
fn parameters_that_either_loop_refuses_are_replaced_by_the_defaults_with_a_fault() {
    for refused in [limits(40, 30), limits(30, 95)] {
        let (mut machine, fast) = Good::start(&Boot { parameters: refused, ..Boot::default() });
        assert!(
            Fault::ALL.iter().all(|fault| machine.is_fault_active(*fault as u16))
                && machine.control().is_ok()
        );
        assert!(machine.step(&Reads { level: 15 }, &0).lamp);
        assert_eq!(fast, Fast(Some(20)));
    }
}

#[test]
fn damaged_parameters_are_a_fault_however_well_their_replacement_fits() {
    let (machine, fast) = Good::start(&Boot { damaged: true, ..Boot::default() });
    assert!(machine.is_fault_active(0));
    assert_eq!(fast, Fast(Some(20)));
}

#[test]
fn a_program_that_refuses_its_defaults_leaves_every_output_safe() {
    let (mut machine, mut fast) = SafeStart::<Lamp<true>>::start(&Boot::default());
    assert_eq!(fast, Fast(None));
    assert_eq!(machine.step(&Reads { level: 15 }, &0), Drives::default());
    assert_eq!((machine.set_points(), machine.diagnostics()), (Reads::default(), Drives::default()));
    assert!(!machine.is_fault_active(0));
    assert!(matches!(machine.control(), Err(Refusal::Contradiction { id: 1, value: 10, .. })));
    assert!(machine.reconfigure(&mut fast, &limits(1, 2)).is_err());
}

#[test]
fn a_live_write_is_taken_by_both_loops_or_by_neither() {
    let (mut machine, mut fast) = Good::start(&Boot::default());
    for refused in [limits(40, 30), limits(30, 95)] {
        assert!(machine.reconfigure(&mut fast, &refused).is_err());
        assert_eq!((machine.set_points().level, fast), (20, Fast(Some(20))));
    }
    machine.reconfigure(&mut fast, &limits(30, 40)).unwrap();
    assert_eq!((machine.set_points().level, fast), (40, Fast(Some(40))));
}

#[test]
fn a_set_that_a_tester_commits_is_given_once_and_none_where_nobody_does() {
    let (mut machine, _) = SafeStart::<Told>::start(&Boot::default());
    assert_eq!([machine.committed(), machine.committed()], [Some(limits(30, 40)), None]);
    assert_eq!(Good::start(&Boot::default()).0.committed(), None);
}
