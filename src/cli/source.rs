//! Which scenario is meant: a code, a file, standard input, or a fresh one.

use std::io::Read;
use std::path::Path;

use crate::console::closest;
use crate::record::{Header, WrittenScenario};
use crate::scenario::{GenerateError, Library, Scenario, Theme, generate, written};
use crate::seed::{GENERATOR_VERSION, ScenarioCode, fresh};
use crate::vehicle::Diagnostic;

use super::failure::{Failure, Kind};

/// Draws of a code before a theme or a vehicle is given up.
const MOST_DRAWS: u32 = 2000;

/// Where a scenario comes from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Source {
    /// A code.
    Code(ScenarioCode),
    /// A file written by hand.
    Written(WrittenScenario),
}

impl Source {
    /// What a person means by `text`: standard input, a file, or a code.
    pub fn named(text: &str) -> Result<Source, Failure> {
        if text == "-" || Path::new(text).is_file() || text.to_ascii_lowercase().ends_with(".toml")
        {
            return Ok(Source::Written(WrittenScenario {
                file: shown(text),
                text: read_text(text)?,
            }));
        }
        let code: ScenarioCode = text.parse().map_err(|error| {
            Failure::new(
                Kind::Input,
                format!("`{text}` is neither a file nor a scenario code: {error}"),
                "`hidden-ohm scenario new` prints a code",
            )
        })?;
        Ok(Source::Code(code))
    }

    /// The source a record names.
    pub fn recorded(header: &Header) -> Result<Source, Failure> {
        match (&header.code, &header.written) {
            (Some(code), None) => Source::named(code),
            (None, Some(written)) => Ok(Source::Written(written.clone())),
            _ => Err(Failure::new(
                Kind::Input,
                "the record names no scenario, or two",
                "",
            )),
        }
    }

    /// The scenario itself.
    pub fn open(&self, library: &Library) -> Result<Scenario, Failure> {
        match self {
            Source::Code(code) => generate(library, *code).map_err(|error| not_generated(&error)),
            Source::Written(source) => written(library, &source.file, &source.text)
                .map_err(|problems| diagnosed(&problems, &source.text)),
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

/// A code nobody has had before.
pub(super) fn fresh_code(
    library: &Library,
    level: u8,
    vehicle: Option<&str>,
    theme: Option<&str>,
) -> Result<ScenarioCode, Failure> {
    let set = vehicle.map_or(Ok(0), |id| vehicle_set(library, id))?;
    let theme = theme.map(named_theme).transpose()?;
    let mut last = None;
    for _ in 0..MOST_DRAWS {
        let code = ScenarioCode::new(GENERATOR_VERSION, set, level, fresh())
            .map_err(|error| Failure::new(Kind::Usage, error.to_string(), ""))?;
        match generate(library, code) {
            Ok(scenario) if theme.is_none_or(|theme| theme.fits(&scenario)) => return Ok(code),
            Ok(_) => {}
            Err(error) => last = Some(error),
        }
    }
    let error = last.map_or_else(
        || format!("no scenario of that theme came up at level {level} in {MOST_DRAWS} draws"),
        |error| error.to_string(),
    );
    Err(Failure::new(
        Kind::No,
        error,
        "try another level or another theme",
    ))
}

fn vehicle_set(library: &Library, id: &str) -> Result<u8, Failure> {
    let index = library
        .vehicles
        .iter()
        .position(|vehicle| vehicle.id.eq_ignore_ascii_case(id));
    let set = index.and_then(|index| u8::try_from(index + 1).ok());
    set.ok_or_else(|| {
        let known: Vec<&str> = library
            .vehicles
            .iter()
            .map(|vehicle| vehicle.id.as_str())
            .collect();
        unknown("vehicle", id, &known)
    })
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

fn not_generated(error: &GenerateError) -> Failure {
    Failure::new(
        Kind::Input,
        error.to_string(),
        "compare the code with the original",
    )
}

/// What is wrong in a scenario file, each with its place; the source lines are shown as well.
fn diagnosed(problems: &[Diagnostic], text: &str) -> Failure {
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
    let bytes = if name == "-" {
        let mut bytes = Vec::new();
        std::io::stdin()
            .lock()
            .read_to_end(&mut bytes)
            .map(|_| bytes)
    } else {
        std::fs::read(name)
    };
    let bytes = bytes.map_err(|error| {
        let failure = Failure::file("read", Path::new(&shown(name)), &error, "check its name");
        Failure {
            kind: Kind::System,
            ..failure
        }
    })?;
    String::from_utf8(bytes).map_err(|_| {
        Failure::new(
            Kind::Input,
            format!("{} is not text in UTF-8", shown(name)),
            "",
        )
    })
}
