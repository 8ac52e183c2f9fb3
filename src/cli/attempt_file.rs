//! A record on disk: made new, locked, only ever appended to, and on the disk before an answer is shown.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use serde::Serialize;

use crate::record::{Attempt, Chain, Closing, Damage, Entry, Header, Receipt};
use crate::units::Money;

use super::failure::{Failure, Kind};

/// The record being written, for whatever has to be said when everything else is lost.
static UNDER_WAY: Mutex<Option<PathBuf>> = Mutex::new(None);

/// The record this program is writing, if it is writing one.
#[must_use]
pub fn under_way() -> Option<PathBuf> {
    // Nothing can panic while the lock is held, so it is never poisoned.
    UNDER_WAY.lock().ok()?.clone()
}

fn now_under_way(path: &Path) {
    if let Ok(mut under_way) = UNDER_WAY.lock() {
        *under_way = Some(path.to_owned());
    }
}

/// A record being written.
pub struct AttemptFile {
    file: File,
    path: PathBuf,
    chain: Chain,
}

impl AttemptFile {
    /// Begins a record in a file that must not exist yet, readable by its owner alone.
    ///
    /// # Errors
    /// When the file is there already or cannot be made or written.
    pub fn create(path: &Path, header: &Header) -> Result<AttemptFile, Failure> {
        let hint = if path.exists() {
            "an attempt is never written over: name another file, or go on with `hidden-ohm resume FILE`"
        } else {
            "set HIDDEN_OHM_HOME to a folder you can write to, or name another file with --attempt FILE"
        };
        let refused = |error| Failure::file("make the attempt", path, &error, hint);
        let file = owner_only(OpenOptions::new().read(true).write(true).create_new(true))
            .open(path)
            .map_err(refused)?;
        lock(&file, path)?;
        let mut new = AttemptFile {
            file,
            path: path.to_owned(),
            chain: Chain::default(),
        };
        new.write(header)?;
        now_under_way(path);
        // The name of a new file is only safe once its folder is on the disk too; where folders cannot be opened
        // the system looks after that itself.
        if let Some(Ok(folder)) = path.parent().map(File::open) {
            let _ = folder.sync_all();
        }
        Ok(new)
    }

    /// Opens a record to go on with it. A torn last line stays until [`AttemptFile::mend`].
    ///
    /// # Errors
    /// When the file cannot be read or written, is damaged, or another program is working on it.
    pub fn open(path: &Path) -> Result<(AttemptFile, Attempt), Failure> {
        let refused = |error| {
            Failure::file(
                "open the attempt",
                path,
                &error,
                "check its name and whether you may write to it",
            )
        };
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .open(path)
            .map_err(refused)?;
        lock(&file, path)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(refused)?;
        let attempt = Attempt::read(&bytes).map_err(|damage| damaged(path, &damage))?;
        file.seek(SeekFrom::Start(attempt.whole as u64))
            .map_err(refused)?;
        now_under_way(path);
        Ok((
            AttemptFile {
                file,
                path: path.to_owned(),
                chain: attempt.chain.clone(),
            },
            attempt,
        ))
    }

    /// Where the record is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Adds an action. It is on the disk when this returns.
    ///
    /// # Errors
    /// When it cannot be written; what was written before is not touched.
    pub fn append(&mut self, entry: &Entry) -> Result<(), Failure> {
        self.write(entry)
    }

    /// Adds the last line, after the last action.
    ///
    /// # Errors
    /// As for [`AttemptFile::append`].
    pub fn close(&mut self, last: &Entry) -> Result<(), Failure> {
        let closing = Closing::new(&self.chain, last.n, last.clock_ms, Money(last.spent));
        self.write(&closing)
    }

    /// The receipt of what has been written so far.
    #[must_use]
    pub fn receipt(&self) -> Option<Receipt> {
        Receipt::of(&self.chain)
    }

    /// Cuts a torn last line off; `again` is that line done anew, if the torn one was its beginning.
    ///
    /// # Errors
    /// As for [`AttemptFile::append`].
    pub fn mend(&mut self, attempt: &Attempt, again: Option<&Entry>) -> Result<(), Failure> {
        let refused = |error| Failure::file("mend", &self.path, &error, "the whole lines are kept");
        self.file.set_len(attempt.whole as u64).map_err(refused)?;
        again.map_or(Ok(()), |entry| self.append(entry))
    }

    /// Whether a line that was cut off is the beginning of what this entry would be written as.
    #[must_use]
    pub fn was_writing(&self, attempt: &Attempt, entry: &Entry) -> bool {
        let mut chain = self.chain.clone();
        chain.write(entry).as_bytes().starts_with(&attempt.torn)
    }

    fn write<T: Serialize>(&mut self, line: &T) -> Result<(), Failure> {
        let mut chain = self.chain.clone();
        let sealed = chain.write(line) + "\n";
        let written = self
            .file
            .write_all(sealed.as_bytes())
            .and_then(|()| self.file.sync_data());
        written.map_err(|error| {
            let hint = format!(
                "everything before this line is kept; make room, then go on with `hidden-ohm resume {}`",
                self.path.display()
            );
            Failure::file("write to", &self.path, &error, &hint)
        })?;
        self.chain = chain;
        Ok(())
    }
}

/// Reads a record without holding it.
///
/// # Errors
/// When the file cannot be read or is damaged.
pub fn read(path: &Path) -> Result<Attempt, Failure> {
    let bytes = std::fs::read(path).map_err(|error| {
        Failure::file(
            "read the attempt",
            path,
            &error,
            "give the path of an attempt, or its name in the attempts folder",
        )
    })?;
    Attempt::read(&bytes).map_err(|damage| damaged(path, &damage))
}

/// A record that does not hold together answers "no"; a file that is no record at all is bad input.
fn damaged(path: &Path, damage: &Damage) -> Failure {
    let kind = match damage {
        Damage::Chain { .. } | Damage::Line { .. } => Kind::No,
        Damage::Empty | Damage::NotARecord { .. } | Damage::Format { .. } => Kind::Input,
    };
    Failure::new(
        kind,
        format!("{}: {damage}", path.display()),
        "the file has been left as it is",
    )
}

fn lock(file: &File, path: &Path) -> Result<(), Failure> {
    match file.try_lock() {
        // A file system without locks cannot keep two programs apart; working on is better than refusing.
        Ok(()) | Err(TryLockError::Error(_)) => Ok(()),
        Err(TryLockError::WouldBlock) => Err(Failure::new(
            Kind::System,
            format!("{} is being worked on by another program", path.display()),
            "finish or leave it there first",
        )),
    }
}

#[cfg(unix)]
pub(super) fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    use std::os::unix::fs::OpenOptionsExt;
    options.mode(0o600)
}

#[cfg(not(unix))]
pub(super) fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    options
}
