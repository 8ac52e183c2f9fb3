//! The `exercise` command line as clap reads it.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// What can be done with exercises.
#[derive(Subcommand, Debug)]
pub enum Exercise {
    /// Write the file of a new exercise, by flags or by answering questions
    New(New),
    /// Check exercise files, and work every vehicle of theirs with the reference
    Check(Check),
    /// Make a signing key, for instructors who want their exercises signed
    Key {
        /// New file for the secret key
        file: PathBuf,
    },
    /// Make the file that is given to learners: vehicles sealed, signed if there is a key
    Handout(HandOut),
    /// What an exercise asks and what counts
    Show {
        /// The exercise
        exercise: String,
    },
    /// Work a vehicle of an exercise
    Start(Start),
    /// The receipt of a finished attempt
    Receipt {
        /// The attempt: its file, or its name in the attempts folder
        attempt: String,
    },
    /// Replay, verify and mark attempts
    Mark(Mark),
    /// Put attempts on one line each, for `exercise mark -`
    Pack {
        /// Attempt files, or folders of them
        #[arg(required = true, value_name = "FILE|DIR")]
        attempts: Vec<PathBuf>,
    },
    /// The vehicles of an exercise and what was wrong with them, once it has closed
    Reveal {
        /// The exercise
        exercise: String,
        #[command(flatten)]
        secret: Secret,
    },
    /// What a table of responses says about its items: difficulty, discrimination, reliability, Rasch and 2PL
    Items(Items),
    /// How far raters agree: intraclass correlation and kappa
    Raters(Raters),
}

/// Where a passphrase comes from.
#[derive(Args, Debug, Clone, Default)]
pub struct Secret {
    /// File whose first line is the passphrase (`-` for standard input); without it `HIDDEN_OHM_PASSPHRASE`, or you are asked
    #[arg(long, value_name = "FILE")]
    pub passphrase_file: Option<String>,
}

#[derive(Args, Debug)]
pub struct New {
    /// New file for the exercise
    pub file: PathBuf,
    /// What it is called
    #[arg(long)]
    pub title: Option<String>,
    /// How many vehicles
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=50))]
    pub vehicles: Option<u32>,
    /// Level, 1 to 5
    #[arg(long, value_parser = clap::value_parser!(u8).range(1..=5))]
    pub level: Option<u8>,
    /// What the faults should be about, such as ground
    #[arg(long)]
    pub theme: Option<String>,
    /// A code of equal difficulty for each learner instead of one for all
    #[arg(long)]
    pub own: bool,
    /// Simulated time for each vehicle, such as "90 min"
    #[arg(long)]
    pub time: Option<String>,
    /// Closing date, such as 2026-03-06T18:00:00+01:00
    #[arg(long)]
    pub closes: Option<String>,
    /// File with the class list, one name a line
    #[arg(long, value_name = "FILE")]
    pub class: Option<String>,
}

#[derive(Args, Debug)]
pub struct Check {
    /// Exercise files
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<String>,
    /// Read the files only, without working the vehicles
    #[arg(long)]
    pub quick: bool,
    /// As one JSON object a vehicle
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub struct HandOut {
    /// The exercise
    pub file: String,
    /// New file to hand out
    #[arg(long, value_name = "FILE")]
    pub to: PathBuf,
    /// Sign it with this secret key
    #[arg(long, value_name = "FILE")]
    pub key: Option<String>,
    /// Do not seal the vehicles with a passphrase: whoever looks into the file can find the codes
    #[arg(long, conflicts_with = "passphrase_file")]
    pub open: bool,
    /// Hand out vehicles that the reference does not do as well
    #[arg(long)]
    pub anyway: bool,
    #[command(flatten)]
    pub secret: Secret,
}

#[derive(Args, Debug)]
pub struct Start {
    /// The exercise as it was handed out
    pub exercise: String,
    /// Your name, as on the class list
    #[arg(long = "as", value_name = "NAME")]
    pub name: Option<String>,
    /// Which vehicle; without it the first you have not finished
    #[arg(long, value_name = "N")]
    pub vehicle: Option<u32>,
    /// Run prompt lines from a file (`-` for standard input)
    #[arg(long, value_name = "FILE")]
    pub script: Option<String>,
    /// One JSON object for every line of the script
    #[arg(long, requires = "script")]
    pub json: bool,
    /// Record into this new file
    #[arg(long, value_name = "FILE")]
    pub attempt: Option<PathBuf>,
    #[command(flatten)]
    pub secret: Secret,
}

#[derive(Args, Debug)]
pub struct Mark {
    /// Attempt files, folders of them, or `-` for packed attempts, one a line, from standard input
    #[arg(required = true, value_name = "FILE|DIR|-")]
    pub attempts: Vec<PathBuf>,
    /// The exercise they were done for
    #[arg(long, value_name = "FILE")]
    pub exercise: String,
    /// One JSON object an attempt; always so with `-`
    #[arg(long)]
    pub json: bool,
    /// Replay and verify only, without marks
    #[arg(long, conflicts_with = "into")]
    pub verify: bool,
    /// Write marks, gradebook files, statements, feedback and class page into this folder
    #[arg(long, value_name = "DIR")]
    pub into: Option<PathBuf>,
    /// CSV with the receipts noted at the hand-in: `learner,receipt`
    #[arg(long, value_name = "FILE")]
    pub receipts: Option<String>,
    /// Threads; 0 for as many as there are processors
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub threads: usize,
    /// Work every attempt from its beginning instead of sharing what is known already
    #[arg(long)]
    pub unshared: bool,
    #[command(flatten)]
    pub secret: Secret,
}

#[derive(Args, Debug)]
pub struct Items {
    /// CSV with one learner a row and one item a column (`-` for standard input); a column `count` counts equal rows
    #[arg(value_name = "FILE.csv")]
    pub table: String,
    /// Graded scores from here on count as passed, for the latent-trait models
    #[arg(long, value_name = "SCORE")]
    pub pass_at: Option<f64>,
    /// As one JSON object
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub struct Raters {
    /// CSV with one target a row and one rater a column (`-` for standard input); a column `count` counts equal rows
    #[arg(value_name = "FILE.csv")]
    pub table: String,
    /// As one JSON object
    #[arg(long)]
    pub json: bool,
}
