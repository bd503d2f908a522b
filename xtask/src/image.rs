//! Reads a linked image: how large it is, and which symbols it holds.
//!
//! A reader of our own for 32-bit little-endian ELF (System V ABI, "Object files"), so that the proof does not
//! depend on binutils being there for the right architecture.

use std::{fs, path::Path};

const SYMBOL_TABLE: u32 = 2;
const NO_BITS: u32 = 8;
const WRITE: u32 = 1;
const ALLOCATE: u32 = 2;

/// Bytes of an image, counted as `size` counts them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Code and constants.
    pub text: u64,
    /// Initialised variables.
    pub data: u64,
    /// Zeroed variables.
    pub bss: u64,
}

/// A linked image, read.
#[derive(Debug, Clone)]
pub struct Image {
    /// How large it is.
    pub size: Size,
    /// The mangled names it holds.
    pub symbols: Vec<String>,
}

impl Image {
    /// Reads an image file.
    pub fn read(path: &Path) -> Result<Self, String> {
        let bytes = fs::read(path).map_err(|error| format!("{}: {error}", path.display()))?;
        Self::parse(&bytes).ok_or_else(|| format!("{}: not a 32-bit little-endian ELF image", path.display()))
    }

    fn parse(bytes: &[u8]) -> Option<Self> {
        // Class 1 is 32 bits, data encoding 1 is little-endian.
        if bytes.get(..6)? != b"\x7fELF\x01\x01" {
            return None;
        }
        let table = word(bytes, 32)?;
        let (length, count) = (half(bytes, 46)?, half(bytes, 48)?);
        let sections = (0..count)
            .map(|index| Section::parse(bytes.get(table + index * length..)?))
            .collect::<Option<Vec<_>>>()?;
        let mut size = Size { text: 0, data: 0, bss: 0 };
        for section in sections.iter().filter(|section| section.flags & ALLOCATE != 0) {
            let room = match (section.kind, section.flags & WRITE) {
                (NO_BITS, _) => &mut size.bss,
                (_, 0) => &mut size.text,
                _ => &mut size.data,
            };
            *room += section.size as u64;
        }
        let mut symbols = Vec::new();
        for section in sections.iter().filter(|section| section.kind == SYMBOL_TABLE) {
            let names = sections.get(section.link)?;
            let names = bytes.get(names.offset..names.offset + names.size)?;
            for entry in bytes.get(section.offset..section.offset + section.size)?.chunks_exact(16) {
                let name = names.get(word(entry, 0)?..)?.split(|byte| *byte == 0).next()?;
                if !name.is_empty() {
                    symbols.push(String::from_utf8_lossy(name).into_owned());
                }
            }
        }
        Some(Self { size, symbols })
    }

    /// The names that stand for a panic's machinery: empty in an image that cannot panic.
    pub fn panics(&self) -> Vec<&str> {
        self.symbols.iter().map(String::as_str).filter(|name| is_panic(name)).collect()
    }
}

/// Mangled names spell a path's parts with their lengths: `core::panicking` is `4core9panicking`.
fn is_panic(name: &str) -> bool {
    name.contains("4core9panicking") || name.contains("rust_begin_unwind") || name.contains("panic_handler")
}

struct Section {
    kind: u32,
    flags: u32,
    offset: usize,
    size: usize,
    link: usize,
}

impl Section {
    fn parse(header: &[u8]) -> Option<Self> {
        let header = header.get(..40)?;
        Some(Self {
            kind: u32::try_from(word(header, 4)?).ok()?,
            flags: u32::try_from(word(header, 8)?).ok()?,
            offset: word(header, 16)?,
            size: word(header, 20)?,
            link: word(header, 24)?,
        })
    }
}

fn word(bytes: &[u8], at: usize) -> Option<usize> {
    let four = bytes.get(at..at + 4)?.try_into().ok()?;
    usize::try_from(u32::from_le_bytes(four)).ok()
}

fn half(bytes: &[u8], at: usize) -> Option<usize> {
    let two = bytes.get(at..at + 2)?.try_into().ok()?;
    Some(usize::from(u16::from_le_bytes(two)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An image of four sections: none, 6 bytes of code, 40 zeroed bytes, names, one symbol.
    fn image(symbol: &str) -> Vec<u8> {
        let names = format!("\0{symbol}\0");
        let (names_at, symbols_at) = (52, 52 + names.len());
        let table_at = symbols_at + 32;
        let mut bytes = b"\x7fELF\x01\x01".to_vec();
        bytes.resize(52, 0);
        bytes[32..36].copy_from_slice(&u32::try_from(table_at).unwrap().to_le_bytes());
        bytes[46..48].copy_from_slice(&40_u16.to_le_bytes());
        bytes[48..50].copy_from_slice(&5_u16.to_le_bytes());
        bytes.extend(names.as_bytes());
        bytes.extend([0; 16]);
        bytes.extend(1_u32.to_le_bytes());
        bytes.extend([0; 12]);
        for header in [
            [0; 10],
            [0, 1, ALLOCATE, 0, 0, 6, 0, 0, 0, 0],
            [0, NO_BITS, ALLOCATE | WRITE, 0, 0, 40, 0, 0, 0, 0],
            [0, 3, 0, 0, names_at, u32::try_from(names.len()).unwrap(), 0, 0, 0, 0],
            [0, SYMBOL_TABLE, 0, 0, u32::try_from(symbols_at).unwrap(), 32, 3, 0, 0, 16],
        ] {
            bytes.extend(header.iter().flat_map(|field| field.to_le_bytes()));
        }
        bytes
    }

    #[test]
    fn sizes_and_names_are_read_from_the_section_headers() {
        let read = Image::parse(&image("Reset")).unwrap();
        assert_eq!(read.size, Size { text: 6, data: 0, bss: 40 });
        assert_eq!(read.symbols, ["Reset"]);
        assert!(read.panics().is_empty());
    }

    #[test]
    fn a_panic_is_recognised_in_both_manglings() {
        for name in ["_ZN4core9panicking5panic17h0123456789abcdefE", "_RNvNtCsabc_4core9panicking5panic"] {
            assert_eq!(Image::parse(&image(name)).unwrap().panics(), [name]);
        }
    }

    #[test]
    fn a_truncated_or_foreign_file_is_refused() {
        let whole = image("Reset");
        for length in [0, 5, 40, 60, whole.len() - 1] {
            assert!(Image::parse(&whole[..length]).is_none(), "{length} bytes");
        }
        let mut wide = whole;
        wide[4] = 2;
        assert!(Image::parse(&wide).is_none());
    }
}
