//! Text to the computer that runs the image, by the semihosting calls of Arm (and of RISC-V, which took them over).

use core::arch::asm;
use core::ffi::c_void;

const SYS_WRITE0: u32 = 0x04;
const SYS_EXIT: u32 = 0x18;
const APPLICATION_EXIT: usize = 0x2_0026;
const DIGITS: &[u8; 16] = b"0123456789abcdef";

/// Digits that go out in one call.
const LINE: usize = 64;

fn call(operation: u32, argument: *const c_void) {
    // SAFETY: the machine stops, the host reads the text that the argument leads to, the machine goes on.
    #[cfg(target_arch = "arm")]
    unsafe {
        asm!("bkpt 0xAB", inout("r0") operation => _, in("r1") argument, options(nostack, preserves_flags));
    }
    // SAFETY: likewise; the two shifts around the break tell the host that a call is meant.
    #[cfg(target_arch = "riscv32")]
    unsafe {
        asm!(
            ".option push",
            ".option norvc",
            ".balign 16",
            "slli x0, x0, 0x1f",
            "ebreak",
            "srai x0, x0, 7",
            ".option pop",
            inout("a0") operation => _, in("a1") argument, options(nostack, preserves_flags)
        );
    }
}

/// Prints a text of at most 63 letters.
pub fn put_text(text: &str) {
    let mut line = [0_u8; LINE];
    for (place, letter) in line.iter_mut().take(LINE.wrapping_sub(1)).zip(text.bytes()) {
        *place = letter;
    }
    call(SYS_WRITE0, line.as_ptr().cast());
}

/// Prints a name and a number.
pub fn put_number(name: &str, number: u32) {
    put_numbers(name, &[number]);
}

/// Prints a name and numbers, eight digits each.
pub fn put_numbers(name: &str, numbers: &[u32]) {
    put_text(name);
    put_text(" ");
    for some in numbers.chunks(4) {
        let mut line = [0_u8; 33];
        for (places, number) in line.chunks_exact_mut(8).zip(some) {
            for (place, shift) in places.iter_mut().zip([28, 24, 20, 16, 12, 8, 4, 0]) {
                let digit = number.wrapping_shr(shift) & 0xF;
                *place = DIGITS[(digit & 0xF) as usize];
            }
        }
        call(SYS_WRITE0, line.as_ptr().cast());
    }
    put_text("\n");
}

/// Ends the run.
pub fn exit() -> ! {
    loop {
        call(SYS_EXIT, core::ptr::without_provenance(APPLICATION_EXIT));
    }
}
