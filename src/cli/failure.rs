//! What can go wrong at the edge, with its exit code and what to do about it.

use std::io;
use std::path::Path;
use std::process::ExitCode;

/// What sort of failure it is; this alone decides the exit code.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// Everything was done, and the answer is no.
    No,
    /// The command line is wrong.
    Usage,
    /// An input file or a code is bad.
    Input,
    /// The system refused: a file, a folder, the disk.
    System,
    /// Whoever read our output has gone away; nothing is wrong.
    Gone,
}

impl Kind {
    /// The exit code.
    #[must_use]
    pub fn exit_code(self) -> u8 {
        match self {
            Kind::Gone => 0,
            Kind::No => 1,
            Kind::Usage => 2,
            Kind::Input => 3,
            Kind::System => 4,
        }
    }
}

/// Why a command stopped.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Failure {
    /// What sort of failure.
    pub kind: Kind,
    /// What is wrong and where.
    pub error: String,
    /// What to do or type next; empty when the error says it all.
    pub hint: String,
}

impl Failure {
    /// A failure with what to do about it.
    pub fn new(kind: Kind, error: impl Into<String>, hint: impl Into<String>) -> Failure {
        Failure {
            kind,
            error: error.into(),
            hint: hint.into(),
        }
    }

    /// A file or folder that the system would not give us.
    #[must_use]
    pub fn file(doing: &str, path: &Path, error: &io::Error, hint: &str) -> Failure {
        Failure::new(
            Kind::System,
            format!("cannot {doing} {}: {}", path.display(), plain(error)),
            hint,
        )
    }

    /// The exit code as the system takes it.
    #[must_use]
    pub fn exit_code(&self) -> ExitCode {
        ExitCode::from(self.kind.exit_code())
    }
}

impl From<io::Error> for Failure {
    /// An error while writing to standard output.
    fn from(error: io::Error) -> Failure {
        if error.kind() == io::ErrorKind::BrokenPipe {
            return Failure::new(Kind::Gone, "", "");
        }
        Failure::new(
            Kind::System,
            format!("cannot write the answer: {}", plain(&error)),
            "",
        )
    }
}

/// The system's words without its error number.
fn plain(error: &io::Error) -> String {
    let text = error.to_string();
    let text = text.split(" (os error").next().unwrap_or(&text);
    text.to_lowercase()
}
