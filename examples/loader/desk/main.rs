//! The loader's program for the desk.

fn main() -> std::process::ExitCode {
    loader::desk::main()
}
