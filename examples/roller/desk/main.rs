//! The roller's program for the desk.

fn main() -> std::process::ExitCode {
    roller::desk::main()
}
