//! The five controllers on which blocks are weighed, as QEMU has them.

/// A core, its board, and how the board counts.
#[derive(Debug, PartialEq, Eq)]
pub struct Board {
    /// What a person calls the core.
    pub name: &'static str,
    /// What the compiler calls it.
    pub triple: &'static str,
    /// The emulator and the machine.
    pub emulator: &'static [&'static str],
    /// Where code begins, where data begins, where the stack begins (downwards).
    pub memory: (u32, u32, u32),
    /// Bytes below a call that are painted before it: a stack that is deeper is told as this deep.
    pub painted: u32,
    /// Ticks of the counter in so many instructions: 1024 ns of virtual time each, times the counter's clock.
    pub ticks: (u64, u64),
    /// The C compiler of its trade, and how it is told the core.
    pub gcc: (&'static str, &'static [&'static str]),
    /// How clang is told the core.
    pub clang: &'static [&'static str],
}

const ARM: &str = "qemu-system-arm";

/// Where a whole machine runs that the board of a core has no memory for: 16 KiB do not hold the loader, its inputs and the
/// paint below its stack. A Cortex-M3 executes ARMv6-M code instruction for instruction alike.
const ROOMY_M0: Board = Board {
    emulator: &[ARM, "-M", "mps2-an385"],
    memory: (0, 0x2000_0000, 0x2040_0000),
    painted: 65_536,
    ticks: (25_600, 1_000),
    ..M0
};

const M0: Board = Board {
    name: "M0",
    triple: "thumbv6m-none-eabi",
    emulator: &[ARM, "-M", "microbit"],
    memory: (0, 0x2000_0000, 0x2000_4000),
    painted: 4_096,
    // 16 MHz.
    ticks: (16_384, 1_000),
    gcc: ("arm-none-eabi-gcc", &["-mcpu=cortex-m0", "-mthumb"]),
    clang: &["--target=thumbv6m-none-eabi", "-mcpu=cortex-m0"],
};

/// From the smallest to the others.
pub const BOARDS: &[Board] = &[
    M0,
    Board {
        name: "M3",
        triple: "thumbv7m-none-eabi",
        emulator: &[ARM, "-M", "mps2-an385"],
        memory: (0, 0x2000_0000, 0x2040_0000),
        painted: 65_536,
        // 25 MHz.
        ticks: (25_600, 1_000),
        gcc: ("arm-none-eabi-gcc", &["-mcpu=cortex-m3", "-mthumb"]),
        clang: &["--target=thumbv7m-none-eabi", "-mcpu=cortex-m3"],
    },
    Board {
        name: "M4F",
        triple: "thumbv7em-none-eabihf",
        emulator: &[ARM, "-M", "mps2-an386"],
        memory: (0, 0x2000_0000, 0x2040_0000),
        painted: 65_536,
        ticks: (25_600, 1_000),
        gcc: ("arm-none-eabi-gcc", &["-mcpu=cortex-m4", "-mthumb", "-mfloat-abi=hard", "-mfpu=fpv4-sp-d16"]),
        clang: &["--target=thumbv7em-none-eabihf", "-mcpu=cortex-m4", "-mfloat-abi=hard"],
    },
    Board {
        name: "M33",
        triple: "thumbv8m.main-none-eabihf",
        emulator: &[ARM, "-M", "mps2-an505"],
        memory: (0x1000_0000, 0x3800_0000, 0x3810_0000),
        painted: 65_536,
        // 20 MHz.
        ticks: (20_480, 1_000),
        gcc: (
            "arm-none-eabi-gcc",
            // Without the DSP extension, which the Rust target does not take for granted either.
            &["-mcpu=cortex-m33+nodsp", "-mthumb", "-mfloat-abi=hard", "-mfpu=fpv5-sp-d16"],
        ),
        clang: &["--target=thumbv8m.main-none-eabihf", "-mcpu=cortex-m33+nodsp", "-mfloat-abi=hard"],
    },
    Board {
        name: "RV32IMAC",
        triple: "riscv32imac-unknown-none-elf",
        emulator: &["qemu-system-riscv32", "-M", "virt", "-bios", "none"],
        memory: (0x8000_0000, 0x8010_0000, 0x8020_0000),
        painted: 65_536,
        // Its own counter of instructions, which QEMU derives from virtual time.
        ticks: (1_024, 1),
        gcc: ("riscv64-unknown-elf-gcc", &["-march=rv32imac", "-mabi=ilp32", "-mcmodel=medany"]),
        clang: &["--target=riscv32-unknown-none-elf", "-march=rv32imac", "-mabi=ilp32", "-mcmodel=medany"],
    },
];

impl Board {
    /// The board that a person means: by its name, or by the beginning of its triple.
    pub fn named(word: &str) -> Result<&'static Self, String> {
        let wanted = word.to_lowercase();
        let is_meant =
            |board: &&Self| board.name.to_lowercase() == wanted || board.triple.starts_with(&wanted);
        let unknown = || {
            let names: Vec<String> =
                BOARDS.iter().map(|board| format!("{} ({})", board.name, board.triple)).collect();
            format!("no target `{word}`; there are {}", names.join(", "))
        };
        BOARDS.iter().find(is_meant).ok_or_else(unknown)
    }

    /// The same core with memory for a whole machine.
    pub fn roomy(&'static self) -> &'static Self {
        if *self == M0 { &ROOMY_M0 } else { self }
    }

    /// Instructions in so many ticks, to nearest.
    pub fn instructions(&self, ticks: u64) -> u64 {
        let (numerator, denominator) = self.ticks;
        (ticks * denominator * 2 + numerator) / (numerator * 2)
    }

    /// What the linker is told: sections, where they go, and that no block may have data that is written.
    pub fn layout(&self, whole: bool) -> String {
        let ((code, data, stack), painted) = (self.memory, self.painted);
        // Without its beginning an image is the block alone.
        let vectors = if whole { "KEEP(*(.vectors))" } else { "" };
        format!(
            "SECTIONS {{
  .code {code:#x} : {{ {vectors} *(.text .text.*) *(.rodata .rodata.* .srodata .srodata.*) }}
  .zeroed {data:#x} (NOLOAD) : {{ *(.bss .bss.* .sbss .sbss.* COMMON) }}
  .written : {{ *(.data .data.* .sdata .sdata.*) }}
  ASSERT(SIZEOF(.written) == 0, \"a block has data that is written: its state belongs into the block\")
  stack_begin = {stack:#x};
  painted = {painted};
  /DISCARD/ : {{ *(.vectors) *(.ARM.exidx*) *(.ARM.attributes) *(.riscv.attributes) *(.eh_frame*) *(.comment) }}
}}
"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_board_is_found_by_its_name_or_the_beginning_of_its_triple() {
        assert_eq!(Board::named("m4f").unwrap().name, "M4F");
        assert_eq!(Board::named("thumbv7em").unwrap().name, "M4F");
        assert_eq!(Board::named("thumbv7m").unwrap().name, "M3");
        assert_eq!(Board::named("riscv32imac-unknown-none-elf").unwrap().name, "RV32IMAC");
        assert!(Board::named("avr").unwrap_err().contains("M0 (thumbv6m-none-eabi)"));
    }

    #[test]
    fn ticks_become_whole_instructions_whatever_the_counter_rounded() {
        for board in BOARDS {
            for instructions in [0, 1, 3, 100, 4_711, 600_000] {
                let (numerator, denominator) = board.ticks;
                let exact = instructions * numerator / denominator;
                assert_eq!(board.instructions(exact), instructions, "{}", board.name);
                assert_eq!(board.instructions(exact + 1), instructions, "{}", board.name);
            }
        }
    }
}
