//! The command line: the only place that reads files, prints, knows colour and exits.

mod arguments;
mod attempt_file;
mod check;
mod debrief;
mod exercise;
mod failure;
mod folders;
mod ladder;
mod machine;
mod own;
mod pages;
mod paint;
mod practice;
mod progress;
mod prompt;
mod scenario;
mod scenario_many;
mod script;
mod session;
mod source;
mod ui;
mod wire;

use std::ffi::OsString;
use std::panic::{self, AssertUnwindSafe};
use std::path::Path;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use arguments::{Cli, Command};
use ui::Ui;

pub use attempt_file::AttemptFile;
pub use failure::{Failure, Kind};
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

/// Runs `work`; a panic becomes an apology that says where the record is safe, and the exit code for bugs.
pub fn guarded(work: impl FnOnce() -> ExitCode) -> ExitCode {
    let before = panic::take_hook();
    // Where in the source it happened means nothing to whoever was at work.
    panic::set_hook(Box::new(|_| {}));
    let result = panic::catch_unwind(AssertUnwindSafe(work));
    panic::set_hook(before);
    result.unwrap_or_else(|_| {
        Ui::new(true).failure(&apology(attempt_file::under_way().as_deref()));
        ExitCode::from(OUR_BUG)
    })
}

/// What is said when the program itself was at fault.
#[must_use]
pub fn apology(record: Option<&Path>) -> Failure {
    let error = "sorry, this program made a mistake of its own and had to stop";
    let kept = match record {
        Some(path) => format!(
            "the work up to the last answer is safe in {path}; `hidden-ohm resume {path}` goes on with it. ",
            path = path.display()
        ),
        None => String::new(),
    };
    let hint =
        format!("{kept}Please report what was typed last and what `hidden-ohm --version` says");
    Failure::new(Kind::No, error, hint)
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
    let mut ui = Ui::new(cli.plain);
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
        Command::Progress(asked) => progress::run(asked, ui),
        Command::Scenario(asked) => scenario::run(asked, ui),
        Command::Exercise(asked) => exercise::run(asked, cli.units, ui),
        Command::Wire(asked) => wire::run(asked, cli.units.system(), ui),
        Command::Completions { shell } => pages::completions(*shell, ui),
        Command::Manual { folder } => pages::manual(folder.as_deref(), ui),
    }
}
