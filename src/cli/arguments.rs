//! The command line as clap reads it.

use std::path::PathBuf;

use clap::builder::PossibleValuesParser;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use super::exercise::arguments::Exercise;
use crate::scenario::{Library, Theme, job_name, schema};
use crate::units::{Amp, Area, Celsius, Metre, System};
use crate::vehicle::{self, Key};

const AFTER_HELP: &str = "\
Examples:
  hidden-ohm practice                       a fresh vehicle, picked for you
  hidden-ohm practice CODE                  the vehicle of a scenario code, the same everywhere
  hidden-ohm practice CODE --script FILE    run prompt lines from a file
  hidden-ohm wire --size \"1.5 mm2\" --length \"5 m\" --current \"5 A\"

Exit codes: 0 done; 1 done, and the answer is no; 2 wrong usage; 3 bad input file or code;
4 the system refused; 70 a bug in this program.

It is a trainer. The maker's instructions, local law and licensed practice come first.";

/// Work virtual vehicles with hidden faults, from work order to handing them back.
///
/// A virtual vehicle's pump does not do its work. Question, look, connect, measure, reason, repair and verify, with
/// instruments whose leads and contacts are part of the circuit they measure.
#[derive(Parser, Debug)]
#[command(name = "hidden-ohm", version, arg_required_else_help = true, after_long_help = AFTER_HELP)]
#[command(max_term_width = 100)]
pub struct Cli {
    #[command(flatten)]
    pub color: colorchoice_clap::Color,
    /// No colour and no box drawing, for screen readers and logs
    #[arg(long, global = true)]
    pub plain: bool,
    /// Units of what is shown; machine output is always in SI
    #[arg(long, global = true, value_enum, default_value_t = Units::Metric)]
    pub units: Units,
    #[command(subcommand)]
    pub command: Command,
}

/// The vehicles that have codes, by name: a file is called after the vehicle in it.
fn vehicle_ids() -> PossibleValuesParser {
    PossibleValuesParser::new(vehicle::FILES.map(|(file, _)| job_name(file)))
}

/// A unit system on the command line.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Units {
    /// kPa, L/h, mm2, m
    Metric,
    /// psi, gal/h, AWG, ft
    Us,
}

impl Units {
    /// The system it means.
    pub fn system(self) -> System {
        match self {
            Units::Metric => System::Metric,
            Units::Us => System::Us,
        }
    }

    /// The word for it in records.
    pub fn name(self) -> &'static str {
        match self {
            Units::Metric => "metric",
            Units::Us => "us",
        }
    }

    /// The system a record names.
    pub fn named(name: &str) -> Option<Units> {
        [Units::Metric, Units::Us]
            .into_iter()
            .find(|units| units.name() == name)
    }
}

#[derive(Subcommand, Debug)]
pub enum Command {
    /// Work a vehicle at the prompt
    Practice(Practice),
    /// Go on with an attempt that was left
    Resume(Resume),
    /// Scorecard and explanation of a finished attempt
    Debrief(Debrief),
    /// What you have done, where the weak spots are, what to practise next
    Progress(Progress),
    /// Make, show and check scenarios
    #[command(subcommand)]
    Scenario(Scenario),
    /// Set exercises, work and mark them, and see what a class has understood
    #[command(subcommand)]
    Exercise(Exercise),
    /// Resistance and drop of a wire, and what it does in a meter lead
    Wire(Wire),
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Write the manual pages into a folder, or print the main one
    Manual {
        /// Folder for the pages; made if it is not there
        folder: Option<PathBuf>,
    },
}

#[derive(Args, Debug)]
pub struct Practice {
    /// Scenario code, the name of a job, or a scenario file (`-` for standard input); without it one that suits you
    #[arg(value_name = "CODE|JOB|FILE")]
    pub scenario: Option<String>,
    /// Level of a fresh scenario, 1 to 5; without it the one that suits you
    #[arg(long, value_parser = clap::value_parser!(u8).range(1..=5), conflicts_with = "scenario")]
    pub level: Option<u8>,
    /// Vehicle of a fresh scenario
    #[arg(long, value_name = "ID", conflicts_with = "scenario", value_parser = vehicle_ids())]
    pub vehicle: Option<String>,
    /// Say after every step what could still be wrong and what kind of step comes next
    #[arg(long)]
    pub guided: bool,
    /// Run prompt lines from a file (`-` for standard input), unrecorded unless --attempt is given
    #[arg(long, value_name = "FILE")]
    pub script: Option<String>,
    /// One JSON object for every line of the script
    #[arg(long, requires = "script")]
    pub json: bool,
    /// Record into this new file
    #[arg(long, value_name = "FILE")]
    pub attempt: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub struct Resume {
    /// The attempt: its file, or its name in the attempts folder; without it the latest unfinished one
    pub attempt: Option<String>,
}

#[derive(Args, Debug)]
pub struct Debrief {
    /// The attempt: its file, or its name in the attempts folder
    pub attempt: String,
    /// As one JSON object
    #[arg(long, conflicts_with = "html")]
    pub json: bool,
    /// As one self-contained page, written to this file (`-` for standard output)
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub struct Progress {
    /// As one JSON object
    #[arg(long)]
    pub json: bool,
}

/// Files a schema describes.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum Written {
    /// Scenarios written by hand
    Scenario,
    /// Vehicles
    Vehicle,
    /// Pieces of the fault catalogue
    Faults,
}

impl Written {
    /// The schema.
    pub fn schema(self, library: &Library) -> serde_json::Value {
        match self {
            Written::Scenario => schema::scenario(library),
            Written::Vehicle => schema::vehicle(),
            Written::Faults => schema::faults(),
        }
    }
}

/// What codes are drawn from.
#[derive(Args, Debug)]
pub struct Drawn {
    /// Vehicle; give it again for several
    #[arg(long, value_name = "ID", value_parser = vehicle_ids())]
    pub vehicle: Vec<String>,
    /// No service figures to be had
    #[arg(long)]
    pub without_figures: bool,
    /// Draw from this seed on, one after the other, instead of fresh ones: the same codes every time
    #[arg(long, value_name = "SEED")]
    pub from: Option<u64>,
    /// Threads to work with; all cores without it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
}

#[derive(Subcommand, Debug)]
pub enum Scenario {
    /// Print codes of fresh scenarios, one a line
    New {
        /// How many
        #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
        count: u32,
        /// Level, 1 to 5
        #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=5))]
        level: u8,
        #[command(flatten)]
        drawn: Drawn,
        /// What the fault should be about; `hydraulic` is the fuel's way, the return line included
        #[arg(long, value_parser = PossibleValuesParser::new(Theme::ALL.map(|(_, name)| name)))]
        theme: Option<String>,
    },
    /// Count what many codes give: redraws and why, vehicles, themes, faults, how hard
    Survey {
        /// How many codes
        #[arg(long, value_name = "N", default_value_t = 1000, value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
        count: u32,
        /// Only this level; otherwise all five in turn
        #[arg(long, value_parser = clap::value_parser!(u8).range(1..=5))]
        level: Option<u8>,
        #[command(flatten)]
        drawn: Drawn,
        /// As one JSON object
        #[arg(long)]
        json: bool,
        /// Write down what was the matter, by vehicle, level and complaint, as rows of `scenarios/frequencies.csv`
        #[arg(long, value_name = "FILE")]
        frequencies: Option<PathBuf>,
    },
    /// Print a JSON Schema, for editors that check a file while one writes
    Schema {
        /// Which files
        #[arg(value_enum, default_value_t = Written::Scenario)]
        of: Written,
    },
    /// Show a work order
    Show {
        /// Scenario code or file
        #[arg(value_name = "CODE|FILE")]
        scenario: String,
        /// As one JSON object
        #[arg(long)]
        json: bool,
        /// The truth as well: faults and what cures them
        #[arg(long)]
        reveal: bool,
    },
    /// List the vehicles and the jobs there are, your own among them
    List {
        /// As one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Check scenario, vehicle and fault files
    Check {
        /// The files (`-` for standard input)
        #[arg(required = true, value_name = "FILE")]
        files: Vec<String>,
        /// As one JSON object a message
        #[arg(long)]
        json: bool,
    },
    /// True voltages and currents along the loop, with no instrument connected
    Ladder(LadderAsked),
}

/// What `scenario ladder` is asked.
#[derive(Args, Debug)]
pub struct LadderAsked {
    /// Scenario codes or files
    #[arg(value_name = "CODE|FILE", required = true)]
    pub scenarios: Vec<String>,
    /// Position of the key; `all` goes through every one, at the prime and settled, with the pump switched too
    #[arg(long, value_enum)]
    pub key: KeyPosition,
    /// The pump switched by service tool
    #[arg(long, value_enum, default_value_t = Switch::Off)]
    pub pump: Switch,
    /// The moment: end of the prime, or everything settled
    #[arg(long, value_enum, default_value_t = At::Settled)]
    pub at: At,
    /// As one JSON object a line
    #[arg(long, conflicts_with = "spice")]
    pub json: bool,
    /// As a deck any SPICE reads
    #[arg(long)]
    pub spice: bool,
}

/// A key position on the command line.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum KeyPosition {
    Off,
    On,
    Crank,
    Run,
    All,
}

impl KeyPosition {
    /// The position it means; nothing for all of them.
    pub fn key(self) -> Option<Key> {
        Some(match self {
            KeyPosition::Off => Key::Off,
            KeyPosition::On => Key::On,
            KeyPosition::Crank => Key::Crank,
            KeyPosition::Run => Key::Run,
            KeyPosition::All => return None,
        })
    }
}

/// On or off.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Switch {
    On,
    Off,
}

/// A moment on the command line.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum At {
    Prime,
    Settled,
}

#[derive(Args, Debug)]
pub struct Wire {
    /// Conductor size, such as "1.5 mm2" or "16 AWG"
    #[arg(long)]
    pub size: Area,
    /// Length of the conductor, one way, such as "5 m"; out and back is two such wires
    #[arg(long)]
    pub length: Metre,
    /// Current it carries, such as "5 A"
    #[arg(long)]
    pub current: Option<Amp>,
    /// Temperature of the copper, such as "20 C"
    #[arg(long, default_value = "20 C", allow_hyphen_values = true)]
    pub temp: Celsius,
    /// As one JSON object
    #[arg(long)]
    pub json: bool,
}
