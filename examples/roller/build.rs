//! Memory of the board for the image, list of scenarios for the desk.

fn main() {
    trunnion_build::machine();
}
