//! What `exercise mark --into` writes.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use rayon::ThreadPool;
use rayon::prelude::*;
use serde_json::Value;

use crate::exercise::xapi::{Version, statement};
use crate::exercise::{Floor, Handout, Marked, Vehicles, class, gradebook};
use crate::record::Attempt;
use crate::report::story::Story;
use crate::report::{class as pages, page};
use crate::scenario::Library;
use crate::score::Effort;

use super::super::debrief;
use super::super::failure::Failure;
use super::super::ui::Ui;
use super::hall::Hall;
use super::intake;
use super::mark::bar;

/// Where to write and what about.
pub(super) struct Exports<'a> {
    pub folder: &'a Path,
    pub handout: &'a Handout,
    pub vehicles: &'a Vehicles,
    pub stock: &'a Library,
}

impl Exports<'_> {
    /// Writes everything into the folder.
    pub fn write(&self, all: &[Marked], pool: &ThreadPool, ui: &mut Ui) -> Result<(), Failure> {
        let (folder, rules) = (self.folder, &self.handout.rules);
        let hash = self.handout.hash();
        put(folder, "marks.csv", &gradebook::marks(all))?;
        // A copy is no second attempt.
        let counted: Vec<Marked> = all
            .iter()
            .filter(|marked| marked.copy_of.is_none())
            .cloned()
            .collect();
        for (name, text) in gradebook::one_roster(rules, hash, &counted) {
            put(&folder.join("oneroster"), name, &text)?;
        }
        for (name, version) in [
            ("statements-1.0.3.json", Version::One),
            ("statements-2.0.json", Version::Two),
        ] {
            let statements: Vec<Value> = counted
                .iter()
                .filter_map(|marked| statement(rules, hash, marked, version))
                .collect();
            put(folder, name, &format!("{:#}\n", Value::Array(statements)))?;
        }
        let picture = class::picture(&counted);
        put(folder, "class.html", &pages::class_page(rules, &picture))?;
        if let Some(table) = class::responses(&counted) {
            put(folder, "responses.csv", &gradebook::csv(&table.cells()))?;
        }
        let pages = self.feedback(&counted, pool)?;
        ui.note_line(&format!(
            "{}: marks.csv, responses.csv, oneroster, statements, class.html and {pages} feedback page{}.",
            folder.display(),
            if pages == 1 { "" } else { "s" }
        ));
        Ok(())
    }

    /// The pages for learners, each with its explanation; how many there are.
    fn feedback(&self, counted: &[Marked], pool: &ThreadPool) -> Result<usize, Failure> {
        let marked: Vec<&Marked> = counted
            .iter()
            .filter(|marked| marked.marks.is_some())
            .collect();
        let named: Vec<(String, &Marked)> = names(&marked).into_iter().zip(marked).collect();
        let hall = Hall::new(self.stock.clone());
        let folder = self.folder.join("feedback");
        let bar = bar(named.len(), "feedback pages");
        let one = |(name, marked): &(String, &Marked)| {
            let story = self.explained(&hall, marked);
            let told = story
                .as_ref()
                .map(|story| debrief::told(story, false).plain());
            let rules = &self.handout.rules;
            let more = format!("{name}-debrief.html");
            let page = pages::feedback_page(rules, marked, &told.unwrap_or_default(), &more);
            put(&folder, &format!("{name}.html"), &page)?;
            if let Some(story) = &story {
                put(&folder, &more, &page::page(story))?;
            }
            bar.inc(1);
            Ok(())
        };
        let written: Result<(), Failure> = pool.install(|| named.par_iter().try_for_each(one));
        bar.finish_and_clear();
        written.map(|()| named.len())
    }

    /// The story of an attempt; nothing if it cannot be told, which marking has ruled out.
    fn explained(&self, hall: &Hall, marked: &Marked) -> Option<Story> {
        let bytes = intake::bytes(Path::new(&marked.file)).ok()?;
        let attempt = Attempt::read(&bytes).ok()?;
        let (rules, learner) = (&self.handout.rules, marked.learner.as_deref()?);
        let job = self.vehicles.job(rules, marked.vehicle?, learner)?;
        let system = attempt.header.system()?;
        let mut work = hall.begin(&job, &rules.limits(), system).ok()?;
        for recorded in &attempt.entries {
            hall.line(&mut work, &recorded.entry.line).ok()?;
        }
        let closed = hall.end(work)?;
        debrief::story(&closed, system, Effort::Conclusions).ok()
    }
}

/// A name for the page of each: learner, vehicle and try, the same whenever they are marked.
fn names(all: &[&Marked]) -> Vec<String> {
    let mut taken = BTreeSet::new();
    let one = |marked: &&Marked| {
        let learner = marked.learner.as_deref().unwrap_or("").chars();
        let learner: String = learner
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .take(40)
            .collect();
        let (vehicle, number) = (marked.vehicle.unwrap_or(0), marked.attempt.unwrap_or(0));
        let name = format!("{learner}-{vehicle}-{number}");
        let more = (2..).map(|more| format!("{name}-{more}"));
        // Some file systems do not tell capitals apart.
        let mut free = std::iter::once(name.clone())
            .chain(more)
            .filter(|name| taken.insert(name.to_lowercase()));
        free.next().unwrap_or_default()
    };
    all.iter().map(one).collect()
}

fn put(folder: &Path, name: &str, text: &str) -> Result<(), Failure> {
    let hint = "name a folder you can write to";
    fs::create_dir_all(folder)
        .map_err(|error| Failure::file("make the folder", folder, &error, hint))?;
    let path = folder.join(name);
    fs::write(&path, text).map_err(|error| Failure::file("write", &path, &error, hint))
}
