//! The shell on the board `mps2-an386` (Cortex-M4F) as QEMU has it.
//!
//! UART 0 is the wire, UART 1 the log. The processor sleeps until a byte is there; interrupts stay masked and
//! only wake it, so that no second thread of control exists and nothing is handed over.
//!
//! Memory of the board (Arm application note 386): code at 0x0000_0000, data at 0x2000_0000, 4 MB each.

mod logger;
mod panic;
mod uart;

pub use cortex_m_rt;

use core::sync::atomic::{AtomicU32, Ordering::Relaxed};

use trunnion::declare::FaultSet;
use trunnion::machine::Machine;

use crate::frame::{self, Receiver};
use crate::message::Kind;
use crate::target::Target;
use uart::Uart;

/// Makes the image of a machine: start-up code, shell, log, panic handler.
///
/// ```text
/// #![no_std]
/// #![no_main]
/// trunnion_board::entry!(loader::Loader);
/// ```
#[macro_export]
macro_rules! entry {
    ($machine:ty) => {
        #[$crate::mps2::cortex_m_rt::entry]
        fn start() -> ! {
            $crate::mps2::serve::<$machine>()
        }
    };
}

/// Periods since the start: the time of a log line.
static PERIODS: AtomicU32 = AtomicU32::new(0);

defmt::timestamp!("{=u32}", PERIODS.load(Relaxed));

/// Answers requests for ever.
pub fn serve<M: Machine>() -> ! {
    cortex_m::interrupt::disable();
    let mut wire = Uart::open_wire();
    let mut receiver = Receiver::new();
    let mut target = Target::<M>::new();
    let mut told = Told::default();
    defmt::info!("board ready");
    loop {
        let Some(request) = receiver.take(wire.wait()) else { continue };
        // Shows that the proof of no panic can fail: an image with this in it must not link.
        #[cfg(feature = "planted-panic")]
        assert!(PERIODS.load(Relaxed) != u32::MAX, "planted");
        let answer = target.answer(request);
        match answer {
            [kind, ..] if *kind == Kind::Started as u8 => {
                PERIODS.store(0, Relaxed);
                told = Told::default();
                defmt::info!("machine started");
            }
            [kind, ..] if *kind == Kind::Driven as u8 => {
                PERIODS.store(PERIODS.load(Relaxed).wrapping_add(1), Relaxed);
            }
            [kind, _, reason, detail] if *kind == Kind::Refused as u8 => {
                defmt::error!("request refused, reason {=u8}, detail {=u8}", *reason, *detail);
            }
            _ => {}
        }
        frame::send(answer, |byte| wire.put(byte));
        if let Some(machine) = target.machine() {
            told.tell_changes(machine);
        }
    }
}

/// Faults that the log has told as active, a bit each.
#[derive(Default)]
struct Told([u32; 16]);

impl Told {
    fn tell_changes<M: Machine>(&mut self, machine: &M) {
        let places = (0_u16..).zip(<M::Faults as FaultSet>::RULES);
        for (index, rule) in places {
            let Some(word) = self.0.get_mut(usize::from(index / 32)) else { return };
            let bit = 1_u32.wrapping_shl(u32::from(index % 32));
            let active = machine.is_fault_active(index);
            if active == (*word & bit != 0) {
                continue;
            }
            *word ^= bit;
            if active {
                defmt::warn!("fault {=u16} set, SPN {=u32} FMI {=u8}", index, rule.spn, rule.fmi);
            } else {
                defmt::info!("fault {=u16} cleared, SPN {=u32} FMI {=u8}", index, rule.spn, rule.fmi);
            }
        }
    }
}
