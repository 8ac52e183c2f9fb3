//! The command line: the only place that reads files, prints, knows colour and exits.

mod arguments;
mod attempt_file;
mod debrief;
mod failure;
mod folders;
mod machine;
mod pages;
mod paint;
mod practice;
mod prompt;
mod scenario;
mod session;
mod source;
mod ui;
mod wire;

use std::ffi::OsString;
use std::panic::{self, AssertUnwindSafe};
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use arguments::{Cli, Command};
use failure::Failure;
use ui::Ui;

pub use attempt_file::AttemptFile;
pub use failure::Kind;
pub use paint::painted;

/// Exit code for a bug of ours.
pub const OUR_BUG: u8 = 70;

/// Runs the program with the arguments it was started with.
#[must_use]
pub fn run() -> ExitCode {
    guarded(|| work(std::env::args_os()))
}

/// The command line's description, for tests and tools.
#[must_use]
pub fn command() -> clap::Command {
    Cli::command()
}

/// Runs `work`; a panic becomes one message and the exit code for bugs instead of a stack trace.
pub fn guarded(work: impl FnOnce() -> ExitCode) -> ExitCode {
    let before = panic::take_hook();
    panic::set_hook(Box::new(|panic| {
        let place = panic
            .location()
            .map(|at| format!(" at {}:{}", at.file(), at.line()))
            .unwrap_or_default();
        let payload = panic.payload();
        let said = payload.downcast_ref::<&str>().copied().map(str::to_owned);
        let said = said
            .or_else(|| payload.downcast_ref::<String>().cloned())
            .unwrap_or_default();
        Ui::default().failure(&Failure::new(
            Kind::No,
            format!("a bug in this program{place}: {said}"),
            "the attempt, if there is one, is kept up to the last answer; please report what was typed",
        ));
    }));
    let result = panic::catch_unwind(AssertUnwindSafe(work));
    panic::set_hook(before);
    result.unwrap_or_else(|_| ExitCode::from(OUR_BUG))
}

fn work(arguments: impl Iterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version go to standard output with 0, mistakes to standard error with 2; clap knows which.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    if cli.plain {
        anstream::ColorChoice::Never.write_global();
    } else {
        cli.color.write_global();
    }
    let mut ui = Ui::default();
    match answer(&cli, &mut ui) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            if failure.kind != Kind::Gone {
                ui.failure(&failure);
            }
            failure.exit_code()
        }
    }
}

fn answer(cli: &Cli, ui: &mut Ui) -> Result<(), Failure> {
    match &cli.command {
        Command::Practice(asked) => practice::run(asked, cli.units, ui),
        Command::Resume(asked) => practice::resume(asked, ui),
        Command::Debrief(asked) => debrief::run(asked, ui),
        Command::Scenario(asked) => scenario::run(asked, ui),
        Command::Wire(asked) => wire::run(asked, cli.units.system(), ui),
        Command::Completions { shell } => pages::completions(*shell, ui),
        Command::Manual { folder } => pages::manual(folder.as_deref(), ui),
    }
}
