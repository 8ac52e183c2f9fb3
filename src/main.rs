//! The thin binary: everything happens in the library.

fn main() -> std::process::ExitCode {
    hidden_ohm::cli::run()
}
