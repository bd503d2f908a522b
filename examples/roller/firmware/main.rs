//! The roller's image for the board.
#![cfg_attr(target_os = "none", no_std, no_main)]

#[cfg(target_os = "none")]
trunnion_board::entry!(roller::Roller);

#[cfg(not(target_os = "none"))]
fn main() {
    println!("This program runs on the board. Build its image with `cargo xtask firmware`.");
}
