//! No panic: whatever can reach one does not link.
#![allow(unsafe_code)] // a function that must not exist

use core::panic::PanicInfo;

unsafe extern "C" {
    /// Defined nowhere. The linker names the function from which it is reached.
    fn a_panic_is_reachable_in_this_image() -> !;
}

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    // SAFETY: an image in which this could be called is not built.
    unsafe { a_panic_is_reachable_in_this_image() }
}
