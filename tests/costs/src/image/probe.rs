//! A counter around a call, and a painted stack below it. In assembly, so that what surrounds the call is the same for
//! every block, to the instruction.

use core::arch::global_asm;
use core::ffi::c_void;

/// A step of any implementation: state, input, output.
pub type Step = unsafe extern "C" fn(*mut c_void, *const c_void, *mut c_void);

unsafe extern "C" {
    /// Ticks that the counter moves while the function runs.
    pub fn counted(function: Step, state: *mut c_void, input: *const c_void, output: *mut c_void) -> u32;
    /// Bytes of stack, from the call on, down to the deepest that the function writes; at most those that are painted,
    /// which the board's layout tells.
    pub fn depth(function: Step, state: *mut c_void, input: *const c_void, output: *mut c_void) -> u32;
    /// Returns.
    pub fn nothing(state: *mut c_void, input: *const c_void, output: *mut c_void);
    /// Takes a hundred instructions more than [`nothing`].
    pub fn hundred(state: *mut c_void, input: *const c_void, output: *mut c_void);
}

/// SysTick of the Cortex-M (Armv7-M Architecture Reference Manual, B3.3): 24 bits, downwards. Clocked by the processor.
#[cfg(target_arch = "arm")]
pub fn start() {
    const CONTROL: *mut u32 = core::ptr::without_provenance_mut(0xE000_E010);
    const RELOAD: *mut u32 = core::ptr::without_provenance_mut(0xE000_E014);
    const CURRENT: *mut u32 = core::ptr::without_provenance_mut(0xE000_E018);
    // SAFETY: registers that every board we run on has; nothing else uses them.
    unsafe {
        RELOAD.write_volatile(0x00FF_FFFF);
        CURRENT.write_volatile(0);
        CONTROL.write_volatile(0b101);
    }
}

/// The counter of instructions runs by itself.
#[cfg(target_arch = "riscv32")]
pub fn start() {}

#[cfg(target_arch = "arm")]
global_asm!(
    ".syntax unified",
    // Vectors: where the stack begins, where the program begins.
    ".section .vectors, \"a\"",
    ".word stack_begin",
    ".word begin",
    ".section .text.begin, \"ax\"",
    ".thumb_func",
    ".global begin",
    "begin:",
    ".if {floats}",
    // Coprocessors 10 and 11, the floating-point unit, are closed after a reset (CPACR).
    "ldr r0, =0xE000ED88",
    "ldr r1, [r0]",
    "ldr r2, =0x00F00000",
    "orrs r1, r1, r2",
    "str r1, [r0]",
    "dsb",
    "isb",
    ".endif",
    "bl weigh",
    "b .",
    ".pool",
    ".section .text.counted, \"ax\"",
    ".thumb_func",
    ".global counted",
    "counted:",
    "push {{r4, r5, r6, lr}}",
    "mov r4, r0",
    "mov r0, r1",
    "mov r1, r2",
    "mov r2, r3",
    "ldr r5, =0xE000E018",
    "ldr r6, [r5]",
    "blx r4",
    "ldr r0, [r5]",
    "subs r0, r6, r0",
    "lsls r0, r0, #8",
    "lsrs r0, r0, #8",
    "pop {{r4, r5, r6, pc}}",
    ".pool",
    ".section .text.depth, \"ax\"",
    ".thumb_func",
    ".global depth",
    "depth:",
    "push {{r4, r5, r6, r7, lr}}",
    "sub sp, #4",
    "mov r4, r0",
    "mov r0, r1",
    "mov r1, r2",
    "mov r2, r3",
    "ldr r6, =0xA5C3A5C3",
    "mov r7, sp",
    "ldr r3, =painted",
    "subs r5, r7, r3",
    "1:",
    "str r6, [r5]",
    "adds r5, r5, #4",
    "cmp r5, r7",
    "bne 1b",
    "blx r4",
    "mov r7, sp",
    "ldr r3, =painted",
    "subs r5, r7, r3",
    "2:",
    "ldr r0, [r5]",
    "cmp r0, r6",
    "bne 3f",
    "adds r5, r5, #4",
    "cmp r5, r7",
    "bne 2b",
    "3:",
    "subs r0, r7, r5",
    "add sp, #4",
    "pop {{r4, r5, r6, r7, pc}}",
    ".pool",
    ".section .text.nothing, \"ax\"",
    ".thumb_func",
    ".global nothing",
    "nothing:",
    "bx lr",
    ".section .text.hundred, \"ax\"",
    ".thumb_func",
    ".global hundred",
    "hundred:",
    ".rept 100",
    "nop",
    ".endr",
    "bx lr",
    floats = const cfg!(target_abi = "eabihf") as u32,
);

#[cfg(target_arch = "riscv32")]
global_asm!(
    ".section .vectors, \"ax\"",
    ".global begin",
    "begin:",
    "la sp, stack_begin",
    "call weigh",
    "j .",
    ".section .text.counted, \"ax\"",
    ".global counted",
    "counted:",
    "addi sp, sp, -16",
    "sw ra, 12(sp)",
    "sw s0, 8(sp)",
    "mv t0, a0",
    "mv a0, a1",
    "mv a1, a2",
    "mv a2, a3",
    "csrr s0, minstret",
    "jalr t0",
    "csrr a0, minstret",
    "sub a0, a0, s0",
    "lw s0, 8(sp)",
    "lw ra, 12(sp)",
    "addi sp, sp, 16",
    "ret",
    ".section .text.depth, \"ax\"",
    ".global depth",
    "depth:",
    "addi sp, sp, -16",
    "sw ra, 12(sp)",
    "sw s0, 8(sp)",
    "mv t0, a0",
    "mv a0, a1",
    "mv a1, a2",
    "mv a2, a3",
    "li s0, 0xA5C3A5C3",
    "lui t1, %hi(painted)",
    "addi t1, t1, %lo(painted)",
    "sub t1, sp, t1",
    "1:",
    "sw s0, 0(t1)",
    "addi t1, t1, 4",
    "bne t1, sp, 1b",
    "jalr t0",
    "lui t1, %hi(painted)",
    "addi t1, t1, %lo(painted)",
    "sub t1, sp, t1",
    "2:",
    "lw t2, 0(t1)",
    "bne t2, s0, 3f",
    "addi t1, t1, 4",
    "bne t1, sp, 2b",
    "3:",
    "sub a0, sp, t1",
    "lw s0, 8(sp)",
    "lw ra, 12(sp)",
    "addi sp, sp, 16",
    "ret",
    ".section .text.nothing, \"ax\"",
    ".global nothing",
    "nothing:",
    "ret",
    ".section .text.hundred, \"ax\"",
    ".global hundred",
    "hundred:",
    ".rept 100",
    "nop",
    ".endr",
    "ret",
);
