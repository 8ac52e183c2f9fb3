//! All jobs of a learner together.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{Glicko, Job, Opponent, Spacing};
use crate::scenario::Theme;
use crate::score::review::Standing;

/// A job's share is held against this many imagined ones of the usual share, so that one bad day is no weak spot (ours).
const IMAGINED_JOBS: f64 = 2.0;
/// The share those imagined jobs had.
const USUAL_SHARE: f64 = 0.65;

/// One thing a learner does better or worse at.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Spot {
    /// What it is.
    pub name: String,
    /// Jobs with it.
    pub jobs: usize,
    /// Mean share of the points in them, 0 to 1.
    pub share: f64,
    /// Days until it should be met again; nothing for what is not spaced, nought or less when it is due.
    pub due_in: Option<i64>,
}

impl Spot {
    /// What is to be believed of the share when there are few jobs, 0 to 1; weak spots are sorted by it.
    #[must_use]
    pub fn cautious(&self) -> f64 {
        let jobs = self.jobs as f64;
        (self.share * jobs + USUAL_SHARE * IMAGINED_JOBS) / (jobs + IMAGINED_JOBS)
    }
}

/// What to do next.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Next {
    /// Level of the next job.
    pub level: u8,
    /// Themes that are due or were never met, the most urgent first. The next job is about one of them or about none.
    pub themes: Vec<String>,
}

/// A learner's history.
pub struct History {
    jobs: Vec<Job>,
    /// Indices of the jobs that are rated: unguided, and met for the first time.
    rated: Vec<usize>,
    rating: Glicko,
    today: i64,
}

impl History {
    /// The history of these jobs, in the order they were begun, seen from today.
    #[must_use]
    pub fn new(mut jobs: Vec<Job>, today: i64) -> History {
        jobs.sort_by(|a, b| a.day.cmp(&b.day).then_with(|| a.attempt.cmp(&b.attempt)));
        let mut met = BTreeSet::new();
        let mut rated = Vec::new();
        for (index, job) in jobs.iter().enumerate() {
            // Whoever has read the debrief of a job knows what is hidden in it.
            if met.insert(&job.scenario) && !job.guided {
                rated.push(index);
            }
        }
        let rating = rate(rated.iter().map(|&index| &jobs[index]), today);
        History {
            jobs,
            rated,
            rating,
            today,
        }
    }

    /// Every job, oldest first.
    #[must_use]
    pub fn jobs(&self) -> &[Job] {
        &self.jobs
    }

    /// The jobs that are rated: unguided, and met for the first time.
    pub fn rated(&self) -> impl Iterator<Item = &Job> {
        self.rated.iter().map(|&index| &self.jobs[index])
    }

    /// The rating.
    #[must_use]
    pub fn rating(&self) -> Glicko {
        self.rating
    }

    /// The mean of the rated jobs, with how little it may say.
    #[must_use]
    pub fn standing(&self) -> Standing {
        let totals: Vec<f64> = self.rated().map(|job| job.total).collect();
        Standing::of(&totals)
    }

    /// How the parts of the marks come out, in the order of the scorecard.
    #[must_use]
    pub fn parts(&self) -> Vec<Spot> {
        let order: Vec<&str> = self.jobs.last().map_or_else(Vec::new, |job| {
            job.parts.iter().map(|part| part.part.as_str()).collect()
        });
        let shares = |name: &str| -> Vec<f64> {
            let parts = self.rated().flat_map(|job| &job.parts);
            parts
                .filter(|part| part.part == name)
                .map(|part| part.share)
                .collect()
        };
        order
            .into_iter()
            .filter_map(|name| spot(name, &shares(name), None))
            .collect()
    }

    /// How jobs come out by where the trouble was, weakest first.
    #[must_use]
    pub fn themes(&self) -> Vec<Spot> {
        let due = self.due();
        let spots = Theme::ALL.into_iter().filter_map(|(_, name)| {
            let shares: Vec<f64> = self
                .rated()
                .filter(|job| job.themes.iter().any(|theme| theme == name))
                .map(|job| job.total / 100.0)
                .collect();
            spot(name, &shares, due.get(name).copied())
        });
        weakest_first(spots.collect())
    }

    /// How jobs come out by kind of fault, weakest first.
    #[must_use]
    pub fn kinds(&self) -> Vec<Spot> {
        let mut shares: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for job in self.rated() {
            let none = job.kinds.is_empty().then_some(NOTHING_WRONG);
            for kind in job.kinds.iter().map(String::as_str).chain(none) {
                shares.entry(kind).or_default().push(job.total / 100.0);
            }
        }
        let spots = shares
            .into_iter()
            .filter_map(|(name, shares)| spot(name, &shares, None));
        weakest_first(spots.collect())
    }

    /// What to practise next: a level that suits, and the themes whose time has come.
    #[must_use]
    pub fn next(&self) -> Next {
        let due = self.due();
        let last = self.jobs.last();
        let mut themes: Vec<(i64, &str)> = Theme::ALL
            .into_iter()
            .map(|(_, name)| (due.get(name).copied().unwrap_or(0), name))
            .filter(|(days, _)| *days <= 0)
            .collect();
        themes.sort_by_key(|(days, _)| *days);
        // Themes are mixed: the one that was just met waits while there are others.
        let just_met =
            |name: &str| last.is_some_and(|job| job.themes.iter().any(|theme| theme == name));
        if themes.iter().any(|(_, name)| !just_met(name)) {
            themes.retain(|(_, name)| !just_met(name));
        }
        Next {
            level: self.rating.suits(),
            themes: themes
                .into_iter()
                .map(|(_, name)| name.to_owned())
                .collect(),
        }
    }

    /// Days until each theme that was met should be met again; guided work and second looks count as practice.
    fn due(&self) -> BTreeMap<&str, i64> {
        let mut spacings: BTreeMap<&str, (Spacing, i64)> = BTreeMap::new();
        for job in &self.jobs {
            for theme in &job.themes {
                let (spacing, day) = spacings.entry(theme).or_insert((Spacing::new(), job.day));
                *spacing = spacing.after(Spacing::grade(job.total / 100.0));
                *day = job.day;
            }
        }
        spacings
            .into_iter()
            .map(|(theme, (spacing, day))| (theme, day + spacing.interval - self.today))
            .collect()
    }
}

/// Name of the kind of a job in which there was no fault.
const NOTHING_WRONG: &str = "nothing wrong";

/// A rating over days of practice: the jobs of one day are one period.
fn rate<'j>(jobs: impl Iterator<Item = &'j Job>, today: i64) -> Glicko {
    let mut days: BTreeMap<i64, Vec<Opponent>> = BTreeMap::new();
    for job in jobs {
        let opponent = Opponent::job(job.level, job.total / 100.0);
        days.entry(job.day).or_default().push(opponent);
    }
    let (mut rating, mut before) = (Glicko::newcomer(), None);
    for (day, period) in days {
        rating = rating
            .rested(before.map_or(0, |before| day - before))
            .after(&period);
        before = Some(day);
    }
    rating.rested(before.map_or(0, |before| today - before))
}

fn spot(name: &str, shares: &[f64], due_in: Option<i64>) -> Option<Spot> {
    (!shares.is_empty()).then(|| Spot {
        name: name.to_owned(),
        jobs: shares.len(),
        share: shares.iter().sum::<f64>() / shares.len() as f64,
        due_in,
    })
}

fn weakest_first(mut spots: Vec<Spot>) -> Vec<Spot> {
    spots.sort_by(|a, b| a.cautious().total_cmp(&b.cautious()));
    spots
}
