//! Which scenario is meant: a code, a file, standard input, or a fresh one.

use std::io::Read;
use std::path::Path;

use crate::certify::Certifier;
use crate::console::closest;
use crate::record::{Header, WrittenScenario};
use crate::scenario::{GenerateError, Generator, Library, Scenario, Theme, written};
use crate::seed::{CodeError, ScenarioCode, VehicleSet, fresh};
use crate::vehicle::Diagnostic;

use super::exercise::load::is_exercise;
use super::failure::{Failure, Kind};
use super::own;

/// Longest text that is read. A table of a million answers has some twenty.
const MOST_TEXT: u64 = 256 << 20;

/// Draws of a code before a theme or a vehicle is given up.
pub(super) const MOST_DRAWS: u32 = 2000;

/// Where a scenario comes from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Source {
    /// A code.
    Code(ScenarioCode),
    /// A file written by hand.
    Written(WrittenScenario),
}

impl Source {
    /// What a person means by `text`: standard input, a file, the name of a job, or a code.
    pub fn named(text: &str) -> Result<Source, Failure> {
        if Path::new(text).is_file() && is_exercise(&read_text(text)?) {
            let hint = "`hidden-ohm exercise start` works it, `exercise show` tells what it asks, `exercise reveal` its vehicles once it has closed";
            return Err(Failure::new(
                Kind::No,
                format!("{text} is an exercise, and its vehicles are not shown"),
                hint,
            ));
        }
        if text == "-" || Path::new(text).is_file() || text.to_ascii_lowercase().ends_with(".toml")
        {
            return Ok(Source::Written(WrittenScenario {
                file: shown(text),
                text: read_text(text)?,
            }));
        }
        let code: Result<ScenarioCode, _> = text.parse();
        match code {
            Ok(code) => Ok(Source::Code(code)),
            Err(error) => match own::job(text)? {
                Some(job) => Ok(Source::Written(job)),
                None => Err(nothing_called(text, &error.to_string())?),
            },
        }
    }

    /// The source a record names.
    pub fn recorded(header: &Header) -> Result<Source, Failure> {
        match (&header.code, &header.written) {
            // A record that somebody made up must not name a file.
            (Some(code), None) => code
                .parse()
                .map(Source::Code)
                .map_err(|error: CodeError| Failure::new(Kind::Input, error.to_string(), "")),
            (None, Some(written)) => Ok(Source::Written(written.clone())),
            _ => Err(Failure::new(
                Kind::Input,
                "the record names no scenario, or two",
                "",
            )),
        }
    }

    /// The scenario itself. What a code means never depends on the user's own files.
    pub fn open(&self, certifier: &Certifier) -> Result<Scenario, Failure> {
        match self {
            Source::Code(code) => certifier
                .generate(*code)
                .map_err(|error| not_generated(&error)),
            Source::Written(source) => {
                let own::Whole {
                    all: library,
                    left_out,
                } = own::Whole::of(certifier.stock())?;
                let scenario =
                    written(&library, &source.file, &source.text).map_err(|problems| {
                        // What the file speaks of may be in one that was left out.
                        let wrong = diagnosed(&problems, &source.text);
                        let others = left_out.iter().map(|file| file.why.error.clone());
                        let all: Vec<String> = others.chain([wrong.error]).collect();
                        let error = all.join("\n");
                        Failure { error, ..wrong }
                    })?;
                let meant = |file: &own::LeftOut| file.is_meant_by(&scenario.vehicle().id);
                match left_out.into_iter().find(meant) {
                    Some(file) => Err(file.why),
                    None => Ok(scenario),
                }
            }
        }
    }

    /// The two ways a record names its scenario.
    pub fn for_record(&self) -> (Option<String>, Option<WrittenScenario>) {
        match self {
            Source::Code(code) => (Some(code.to_string()), None),
            Source::Written(written) => (None, Some(written.clone())),
        }
    }
}

/// The vehicles and faults built into the program.
pub(super) fn library() -> Result<Library, Failure> {
    // A test holds that the built-in files are right, so this is only met in a damaged build.
    Library::built_in().map_err(|problems| diagnosed(&problems, ""))
}

/// What fresh codes are asked to be.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wanted {
    pub level: u8,
    pub set: VehicleSet,
    pub theme: Option<Theme>,
}

impl Wanted {
    /// From what was written on the command line.
    pub fn named(level: u8, vehicles: &[&str], theme: Option<&str>) -> Result<Wanted, Failure> {
        let mut set = VehicleSet::all();
        for id in vehicles {
            set = with_vehicle(set, id)?;
        }
        Ok(Wanted {
            level,
            set,
            theme: theme.map(named_theme).transpose()?,
        })
    }

    /// The code of a seed.
    pub fn code(self, seed: u64) -> Result<ScenarioCode, Failure> {
        let version = Generator::newest().version;
        ScenarioCode::new(version, self.set.bits(), self.level, seed)
            .map_err(|error| Failure::new(Kind::Usage, error.to_string(), ""))
    }

    /// Whether a code gives what is wanted.
    ///
    /// # Errors
    /// When it gives nothing.
    pub fn fits(self, certifier: &Certifier, code: ScenarioCode) -> Result<bool, GenerateError> {
        let scenario = certifier.generate(code)?;
        Ok(self.theme.is_none_or(|theme| theme.fits(&scenario)))
    }

    /// Nothing came up in as many draws as are made for one code.
    pub fn nothing_came(self) -> Failure {
        let level = self.level;
        Failure::new(
            Kind::No,
            format!("no scenario of that theme came up at level {level} in {MOST_DRAWS} draws"),
            "try another level or another theme",
        )
    }
}

/// A code nobody has had before.
pub(super) fn fresh_code(
    certifier: &Certifier,
    level: u8,
    vehicle: Option<&str>,
    theme: Option<&str>,
) -> Result<ScenarioCode, Failure> {
    drawn_code(certifier, level, vehicle, theme, MOST_DRAWS)
}

/// The same, given up after so many draws.
pub(super) fn drawn_code(
    certifier: &Certifier,
    level: u8,
    vehicle: Option<&str>,
    theme: Option<&str>,
    most: u32,
) -> Result<ScenarioCode, Failure> {
    let wanted = Wanted::named(level, vehicle.as_slice(), theme)?;
    let mut last = None;
    for _ in 0..most {
        let code = wanted.code(fresh())?;
        match wanted.fits(certifier, code) {
            Ok(true) => return Ok(code),
            Ok(false) => {}
            Err(error) => last = Some(error),
        }
    }
    Err(last.map_or_else(
        || wanted.nothing_came(),
        |error| {
            Failure::new(
                Kind::No,
                error.to_string(),
                "try another level or another theme",
            )
        },
    ))
}

fn with_vehicle(set: VehicleSet, id: &str) -> Result<VehicleSet, Failure> {
    let generator = Generator::newest();
    let place = generator.place(id);
    place
        .and_then(|place| set.with(place))
        .ok_or_else(|| unknown("vehicle", id, generator.vehicles))
}

fn named_theme(name: &str) -> Result<Theme, Failure> {
    let found = Theme::ALL
        .into_iter()
        .find(|(_, known)| known.eq_ignore_ascii_case(name));
    found
        .map(|(theme, _)| theme)
        .ok_or_else(|| unknown("theme", name, &Theme::ALL.map(|(_, known)| known)))
}

fn unknown(what: &str, given: &str, known: &[&str]) -> Failure {
    let near = closest(given, known.iter().copied());
    let hint = match near.first() {
        Some(near) => format!("did you mean {near}? there are: {}", known.join(", ")),
        None => format!("there are: {}", known.join(", ")),
    };
    Failure::new(Kind::Usage, format!("there is no {what} `{given}`"), hint)
}

fn nothing_called(text: &str, error: &str) -> Result<Failure, Failure> {
    let jobs = own::job_names()?;
    let (error, hint) = match closest(text, jobs.iter().map(String::as_str)).first() {
        Some(near) => (
            format!("there is no job `{text}`"),
            format!("did you mean {near}? `hidden-ohm scenario list` shows all jobs"),
        ),
        None => (
            format!("`{text}` is neither a file, a job nor a scenario code: {error}"),
            "`hidden-ohm scenario new` prints a code, `hidden-ohm scenario list` shows the jobs"
                .to_owned(),
        ),
    };
    Ok(Failure::new(Kind::Input, error, hint))
}

fn not_generated(error: &GenerateError) -> Failure {
    Failure::new(
        Kind::Input,
        error.to_string(),
        "compare the code with the original",
    )
}

/// What is wrong in a scenario file, each with its place; the source lines are shown as well.
pub(super) fn diagnosed(problems: &[Diagnostic], text: &str) -> Failure {
    let (file, count) = (
        problems.first().map_or("", |first| first.file.as_str()),
        problems.len(),
    );
    let mut all = vec![format!(
        "{file} has {count} thing{} to put right",
        if count == 1 { "" } else { "s" }
    )];
    all.extend(problems.iter().map(ToString::to_string));
    if let (Some(first), false) = (problems.first(), text.is_empty()) {
        all.push(first.render(text));
    }
    Failure::new(
        Kind::Input,
        all.join("\n"),
        "`hidden-ohm scenario check FILE` lists them again",
    )
}

/// How standard input is called in messages.
pub(super) fn shown(name: &str) -> String {
    if name == "-" {
        "standard input".to_owned()
    } else {
        name.to_owned()
    }
}

/// The text of a file, or of standard input for `-`.
pub(super) fn read_text(name: &str) -> Result<String, Failure> {
    let all = |from: &mut dyn Read| {
        let mut bytes = Vec::new();
        from.take(MOST_TEXT + 1)
            .read_to_end(&mut bytes)
            .map(|_| bytes)
    };
    let bytes = if name == "-" {
        all(&mut std::io::stdin().lock())
    } else {
        std::fs::File::open(name).and_then(|mut file| all(&mut file))
    };
    let bytes = bytes.map_err(|error| {
        let failure = Failure::file("read", Path::new(&shown(name)), &error, "check its name");
        Failure {
            kind: Kind::System,
            ..failure
        }
    })?;
    let wrong = |what: String| Failure::new(Kind::Input, format!("{} {what}", shown(name)), "");
    if bytes.len() as u64 > MOST_TEXT {
        return Err(wrong(format!("is longer than {} MiB", MOST_TEXT >> 20)));
    }
    let text = String::from_utf8(bytes).map_err(|_| wrong("is not text in UTF-8".to_owned()))?;
    // Some editors put this in front of every text.
    Ok(match text.strip_prefix('\u{feff}') {
        Some(rest) => rest.to_owned(),
        None => text,
    })
}
