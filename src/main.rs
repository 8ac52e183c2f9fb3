//! The thin binary: everything happens in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    hidden_ohm::cli::run(std::env::args_os())
}
