//! The program run as a whole: standard output, standard error and status, in a clean environment.

mod attempts;
mod authoring;
mod debrief;
mod many;
mod progress;
mod scenario;
mod script;
mod usage;
mod wire;

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use tempfile::TempDir;

/// One run of the program, in a folder of its own.
pub struct Run {
    folder: TempDir,
    arguments: Vec<String>,
    input: String,
    variables: Vec<(String, String)>,
}

/// What a run left behind.
pub struct Ran {
    pub folder: TempDir,
    pub out: String,
    pub err: String,
    pub status: i32,
}

/// A run with these arguments; the working folder and the home folder are a new empty one.
pub fn run<const N: usize>(arguments: [&str; N]) -> Run {
    Run {
        folder: TempDir::new().expect("a folder for the test"),
        arguments: arguments.map(str::to_owned).to_vec(),
        input: String::new(),
        variables: Vec::new(),
    }
}

impl Run {
    /// The folder the program will run in.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn input(mut self, input: &str) -> Run {
        input.clone_into(&mut self.input);
        self
    }

    pub fn variable(mut self, name: &str, value: &str) -> Run {
        self.variables.push((name.to_owned(), value.to_owned()));
        self
    }

    pub fn file(self, name: &str, text: &str) -> Run {
        fs::write(self.folder.path().join(name), text).expect("a file for the test");
        self
    }

    /// More arguments.
    pub fn with(mut self, more: &[&str]) -> Run {
        self.arguments
            .extend(more.iter().map(|text| (*text).to_owned()));
        self
    }

    /// The same folder as an earlier run.
    pub fn after(mut self, before: Ran) -> Run {
        self.folder = before.folder;
        self
    }

    pub fn go(self) -> Ran {
        let home = self.folder.path();
        let mut command = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"));
        command.args(&self.arguments).current_dir(home).env_clear();
        command
            .env("HOME", home)
            .env("HIDDEN_OHM_HOME", home.join("state"))
            .env("COLUMNS", "80")
            .env("NO_COLOR", "1");
        command.envs(self.variables.iter().map(|(name, value)| (name, value)));
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let mut stdin = child.stdin.take().expect("a pipe");
        // A program that has already ended takes no input; its status tells why.
        let _ = stdin.write_all(self.input.as_bytes());
        drop(stdin);
        let output = child.wait_with_output().expect("the program ends");
        Ran {
            folder: self.folder,
            out: String::from_utf8(output.stdout).expect("text"),
            err: String::from_utf8(output.stderr).expect("text"),
            status: output.status.code().expect("a status"),
        }
    }
}

impl Ran {
    /// The three together; whatever is not expected must be empty.
    #[track_caller]
    pub fn assert(&self, status: i32, out: &str, err: &str) {
        assert_eq!(
            (self.status, self.out.as_str(), self.err.as_str()),
            (status, out, err)
        );
    }

    /// Status, and pieces that standard error must contain; standard output stays empty.
    #[track_caller]
    pub fn assert_fails(&self, status: i32, pieces: &[&str]) {
        assert_eq!(
            (self.status, self.out.as_str()),
            (status, ""),
            "{}",
            self.err
        );
        for piece in pieces {
            assert!(
                self.err.contains(piece),
                "`{piece}` is not in: {}",
                self.err
            );
        }
    }

    /// The path of the only attempt in the state folder.
    pub fn attempt(&self) -> String {
        let folder = self.folder.path().join("state/attempts");
        let mut found: Vec<_> = fs::read_dir(folder)
            .expect("attempts")
            .map(|entry| entry.unwrap().path())
            .collect();
        assert_eq!(found.len(), 1, "{found:?}");
        found.remove(0).display().to_string()
    }
}

/// A code that every test may use.
fn code() -> String {
    crate::floor::code(1, 20_26).to_string()
}
