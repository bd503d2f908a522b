//! The unit's key, and the code that belongs to a challenge.

use std::fmt;
use std::path::Path;

use trunnion_service::access::CODE_BYTES;
use trunnion_service::access_code::{KEY_BYTES, access_code};
use trunnion_service::level::Level;

/// The secret of one unit. It is never shown.
#[derive(Clone, PartialEq, Eq)]
pub struct Key([u8; KEY_BYTES]);

impl fmt::Debug for Key {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Key(not shown)")
    }
}

impl Key {
    /// From its bytes.
    pub const fn new(bytes: [u8; KEY_BYTES]) -> Self {
        Self(bytes)
    }

    /// Reads 64 hexadecimal digits; blanks and line ends between them are passed over.
    ///
    /// # Errors
    /// What was found instead, without showing it.
    pub fn parse(text: &str) -> Result<Self, String> {
        let digits: Vec<u8> = text.bytes().filter(|byte| !byte.is_ascii_whitespace()).collect();
        let wrong =
            || format!("expected {} hexadecimal digits, found {} characters", KEY_BYTES * 2, digits.len());
        let pairs = digits.chunks_exact(2).map(|pair| {
            let text =
                std::str::from_utf8(pair).ok().filter(|pair| pair.bytes().all(|d| d.is_ascii_hexdigit()));
            text.and_then(|pair| u8::from_str_radix(pair, 16).ok())
        });
        let bytes: Vec<u8> = pairs.collect::<Option<_>>().ok_or_else(wrong)?;
        <[u8; KEY_BYTES]>::try_from(bytes)
            .map(Self)
            .map_err(|_| wrong())
            .and_then(|key| if digits.len() == KEY_BYTES * 2 { Ok(key) } else { Err(wrong()) })
    }

    /// Reads a key file.
    ///
    /// # Errors
    /// Why it is none.
    pub fn read(path: &Path) -> Result<Self, String> {
        let text = std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
        Self::parse(&text).map_err(|what| format!("{} is no key file: {what}", path.display()))
    }

    /// The code that opens a level, as the board computes it.
    pub fn code(&self, level: Level, challenge: &[u8; CODE_BYTES]) -> [u8; CODE_BYTES] {
        let number = if level == Level::Safety { 2 } else { 1 };
        // Zeros never come: any 32 bytes are a key.
        access_code(&self.0, challenge, number).unwrap_or([0; CODE_BYTES])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_file_is_read_or_its_flaw_is_told_without_showing_it() {
        let text = "00112233445566778899aabbccddeeff\n00112233445566778899AABBCCDDEEFF\n";
        let key = Key::parse(text).unwrap();
        assert_eq!(key.0[1], 0x11);
        assert_eq!(format!("{key:?}"), "Key(not shown)");
        for wrong in ["", "00", &text.replace("ee", "gg"), &format!("{text}0"), &format!("{text}00")] {
            let flaw = Key::parse(wrong).unwrap_err();
            assert!(flaw.contains("expected 64"), "{flaw}");
            assert!(!flaw.contains("aabb"));
        }
    }

    /// Python 3.11: hmac.new(bytes(range(32)), bytes(range(16)) + bytes([2]), "sha256").hexdigest()[:32]
    #[test]
    fn the_code_is_what_an_independent_implementation_computes() {
        let key = Key::new(std::array::from_fn(|place| place as u8));
        let challenge = std::array::from_fn(|place| place as u8);
        let code: String =
            key.code(Level::Safety, &challenge).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(code, "facc5305af6584334b9affd466002b75");
        assert_ne!(key.code(Level::Tune, &challenge), key.code(Level::Safety, &challenge));
    }
}
