//! Vehicles on the floor for an exercise: from what the exercise gives to a console to work them with.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::bay::{Bay, Closed, Limits};
use crate::certify::Certifier;
use crate::console::Console;
use crate::exercise::{Floor, Job};
use crate::record::Entry;
use crate::scenario::{Library, Scenario, written};
use crate::seed::CodeError;
use crate::units::System;

use super::super::failure::{Failure, Kind};
use super::super::practice::work;
use super::super::source::{Source, diagnosed};

/// The scenario of a job, without the code that would give it away. Vehicles of a user's own never come into it: an
/// exercise means the same on every machine.
pub(in super::super) fn scenario(job: &Job, certifier: &Certifier) -> Result<Scenario, Failure> {
    let scenario = match job {
        Job::Code(code) => coded(code)?.open(certifier)?,
        Job::Written(file, text) => {
            written(certifier.stock(), file, text).map_err(|problems| diagnosed(&problems, text))?
        }
    };
    Ok(scenario.without_code())
}

/// The source of a code in an exercise. Nothing else is meant by it: a hand-out that somebody made up must not name files.
pub(super) fn coded(code: &str) -> Result<Source, Failure> {
    let code = code.parse().map_err(|error: CodeError| {
        let hint = "the exercise was not made by this program: ask for the file again";
        Failure::new(Kind::Input, format!("the exercise: {error}"), hint)
    })?;
    Ok(Source::Code(code))
}

/// The floor that attempts are replayed on. A scenario is drawn once and copied.
pub(super) struct Hall {
    certifier: Certifier,
    drawn: Mutex<BTreeMap<Job, Scenario>>,
}

impl Hall {
    pub fn new(library: Library) -> Hall {
        Hall {
            certifier: Certifier::new(library),
            drawn: Mutex::new(BTreeMap::new()),
        }
    }

    fn scenario(&self, job: &Job) -> Result<Scenario, String> {
        // A scenario is put in whole, so what a panicking thread left behind is sound.
        let mut drawn = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = drawn.get(job) {
            return Ok(known.clone());
        }
        let new = scenario(job, &self.certifier).map_err(|failure| failure.error)?;
        drawn.insert(job.clone(), new.clone());
        Ok(new)
    }
}

impl Floor for Hall {
    type Work = Console;

    fn begin(&self, job: &Job, limits: &Limits, units: System) -> Result<Console, String> {
        let bay = Bay::open(self.scenario(job)?, units).map_err(|error| error.to_string())?;
        Ok(Console::new(bay.under(limits.clone())))
    }

    fn line(&self, console: &mut Console, line: &str) -> Result<Entry, String> {
        work(console, line)
    }

    fn end(&self, console: Console) -> Option<Closed> {
        console.into_bay().hand_back().ok()
    }
}
