//! The board's serial ports: Arm Cortex-M System Design Kit, "APB UART" (no FIFO).
#![allow(unsafe_code)] // registers

use cortex_m::interrupt::InterruptNumber;
use cortex_m::peripheral::NVIC;

/// Registers of one port, from the design kit's technical reference manual.
#[repr(C)]
struct Registers {
    data: u32,
    state: u32,
    control: u32,
    interrupt: u32,
    baud_divider: u32,
}

const TRANSMIT_FULL: u32 = 1 << 0;
const RECEIVE_FULL: u32 = 1 << 1;
const TRANSMIT_ENABLE: u32 = 1 << 0;
const RECEIVE_ENABLE: u32 = 1 << 1;
const RECEIVE_INTERRUPT_ENABLE: u32 = 1 << 3;
const RECEIVE_INTERRUPT: u32 = 1 << 1;
/// The smallest divider that the hardware takes; an emulated port knows no speed.
const SMALLEST_DIVIDER: u32 = 16;

const UART_0: *mut Registers = 0x4000_4000 as *mut Registers;
const UART_1: *mut Registers = 0x4000_5000 as *mut Registers;

/// Interrupt "UART 0 receive".
#[derive(Clone, Copy)]
struct WireReceived;

// SAFETY: number 0 is UART 0 receive in the application note's interrupt table.
unsafe impl InterruptNumber for WireReceived {
    fn number(self) -> u16 {
        0
    }
}

/// A serial port that is open.
pub struct Uart {
    registers: *mut Registers,
}

impl Uart {
    /// Opens the port of the wire; a received byte wakes the processor.
    pub fn open_wire() -> Self {
        let wire = Self { registers: UART_0 };
        // SAFETY: the registers are the board's, and nothing else uses this port.
        unsafe {
            (&raw mut (*wire.registers).baud_divider).write_volatile(SMALLEST_DIVIDER);
            (&raw mut (*wire.registers).control)
                .write_volatile(TRANSMIT_ENABLE | RECEIVE_ENABLE | RECEIVE_INTERRUPT_ENABLE);
            // QEMU 7.2 looks for waiting bytes when this register is read, not when the receiver is enabled:
            // without this read a request sent early may never be seen.
            (&raw const (*wire.registers).data).read_volatile();
            NVIC::unmask(WireReceived);
        }
        wire
    }

    /// Opens the port of the log, to send only. May be called again.
    pub fn open_log() -> Self {
        let log = Self { registers: UART_1 };
        // SAFETY: as above.
        unsafe {
            (&raw mut (*log.registers).baud_divider).write_volatile(SMALLEST_DIVIDER);
            (&raw mut (*log.registers).control).write_volatile(TRANSMIT_ENABLE);
        }
        log
    }

    /// Sleeps until a byte is there.
    pub fn wait(&mut self) -> u8 {
        loop {
            if self.has_received() {
                // SAFETY: as above.
                return unsafe { (&raw const (*self.registers).data).read_volatile() } as u8;
            }
            // SAFETY: as above.
            unsafe { (&raw mut (*self.registers).interrupt).write_volatile(RECEIVE_INTERRUPT) };
            NVIC::unpend(WireReceived);
            // A byte that came before the interrupt was cleared must not be slept through.
            if !self.has_received() {
                cortex_m::asm::wfi();
            }
        }
    }

    /// Sends a byte as soon as there is room.
    pub fn put(&mut self, byte: u8) {
        // SAFETY: as above.
        unsafe {
            while (&raw const (*self.registers).state).read_volatile() & TRANSMIT_FULL != 0 {}
            (&raw mut (*self.registers).data).write_volatile(byte.into());
        }
    }

    /// Waits until all is sent.
    pub fn flush(&mut self) {
        // SAFETY: as above.
        while unsafe { (&raw const (*self.registers).state).read_volatile() } & TRANSMIT_FULL != 0 {}
    }

    fn has_received(&self) -> bool {
        // SAFETY: as above.
        unsafe { (&raw const (*self.registers).state).read_volatile() & RECEIVE_FULL != 0 }
    }
}
