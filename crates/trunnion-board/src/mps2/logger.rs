//! Log frames over the second serial port.
#![allow(unsafe_code)] // the logger's trait

use core::cell::UnsafeCell;

use super::uart::Uart;

#[defmt::global_logger]
struct Logger;

struct State {
    restore: UnsafeCell<critical_section::RestoreState>,
    encoder: UnsafeCell<defmt::Encoder>,
}

// SAFETY: used between `acquire` and `release` only, where interrupts are masked, and the board has one core.
unsafe impl Sync for State {}

static STATE: State = State {
    restore: UnsafeCell::new(critical_section::RestoreState::invalid()),
    encoder: UnsafeCell::new(defmt::Encoder::new()),
};

fn send(bytes: &[u8]) {
    let mut log = Uart::open_log();
    for byte in bytes {
        log.put(*byte);
    }
}

// SAFETY: a frame is written inside of one critical section; nothing that is logged logs itself.
unsafe impl defmt::Logger for Logger {
    fn acquire() {
        // SAFETY: released in `release`.
        let restore = unsafe { critical_section::acquire() };
        // SAFETY: inside of the critical section.
        unsafe {
            *STATE.restore.get() = restore;
            (*STATE.encoder.get()).start_frame(send);
        }
    }

    unsafe fn flush() {
        Uart::open_log().flush();
    }

    unsafe fn write(bytes: &[u8]) {
        // SAFETY: inside of the critical section that `acquire` entered.
        unsafe { (*STATE.encoder.get()).write(bytes, send) }
    }

    unsafe fn release() {
        // SAFETY: as in `write`; leaves what `acquire` entered.
        unsafe {
            (*STATE.encoder.get()).end_frame(send);
            Uart::open_log().flush();
            critical_section::release(*STATE.restore.get());
        }
    }
}
