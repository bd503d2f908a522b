//! The code that belongs to a challenge, computed by the board and by a tester who has the unit's key.
//!
//! HMAC with SHA-256 (RFC 2104, FIPS 180-4) over the challenge and the number of the level, cut to its first 16 bytes
//! (RFC 2104, section 5, allows half the length). Each unit has a key of its own; a unit without one opens nothing.

use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

use crate::access::CODE_BYTES;

/// Bytes of a unit's key.
pub const KEY_BYTES: usize = 32;

fn mac(key: &[u8; KEY_BYTES], challenge: &[u8; CODE_BYTES], level: u8) -> Option<Hmac<Sha256>> {
    // Any length is a key; `None` never comes of 32 bytes.
    let mut mac = Hmac::<Sha256>::new_from_slice(key).ok()?;
    mac.update(challenge);
    mac.update(&[level]);
    Some(mac)
}

/// The code of a challenge; `level` is 1 to tune, 2 for safety.
///
/// ```
/// use trunnion_service::access_code::{access_code, is_right};
///
/// let (key, challenge) = ([7; 32], [1; 16]);
/// let code = access_code(&key, &challenge, 1).unwrap();
/// assert!(is_right(&key, &challenge, 1, &code));
/// assert!(!is_right(&key, &challenge, 2, &code));
/// ```
pub fn access_code(
    key: &[u8; KEY_BYTES],
    challenge: &[u8; CODE_BYTES],
    level: u8,
) -> Option<[u8; CODE_BYTES]> {
    let whole = mac(key, challenge, level)?.finalize().into_bytes();
    whole.first_chunk::<CODE_BYTES>().copied()
}

/// Whether this is the code, compared in a time that does not tell how much of it is right.
pub fn is_right(
    key: &[u8; KEY_BYTES],
    challenge: &[u8; CODE_BYTES],
    level: u8,
    code: &[u8; CODE_BYTES],
) -> bool {
    mac(key, challenge, level).is_some_and(|mac| mac.verify_truncated_left(code).is_ok())
}
