//! What a class has understood: distribution, items, slips, time and money, and paths that are surprisingly alike.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::items::{self, ItemReport};
use super::marked::{Marked, Verdict};
use super::marks::Marks;
use super::table::{ResponseTable, Row};
use super::went::KINDS;

/// Learners up to whom every pair is compared; more take too long to compare.
const MOST_COMPARED: usize = 400;
/// Actions below which two paths are alike by themselves.
const LEAST_ACTIONS: usize = 12;
/// Share of pairs of neighbouring lines in common from which on the question is asked. Ours.
const ALIKE: f64 = 0.8;
/// Pairs named at most.
const MOST_PAIRS: usize = 12;

/// Two learners whose paths at one vehicle are alike.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Pair {
    /// One.
    pub one: String,
    /// The other.
    pub other: String,
    /// Vehicle, from one.
    pub vehicle: u32,
    /// Share of neighbouring lines they have in common (Dice).
    pub alike: f64,
}

/// Something that went wrong, and how many learners it happened to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Slip {
    /// What.
    pub what: String,
    /// How many attempts show it.
    pub attempts: usize,
}

/// Where a class's time and money went, for one kind of work.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Share {
    /// The kind of work.
    pub what: String,
    /// Simulated minutes in the mean of all marked attempts.
    pub minutes: f64,
    /// Share of all simulated time, 0 to 1.
    pub of_time: f64,
    /// Money in the mean of all marked attempts, minor units.
    pub money: f64,
    /// Share of all money, 0 to 1.
    pub of_money: f64,
}

/// Quartiles of one figure.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Quartiles {
    /// Least.
    pub least: f64,
    /// A quarter is below.
    pub lower: f64,
    /// Half is below.
    pub middle: f64,
    /// A quarter is above.
    pub upper: f64,
    /// Most.
    pub most: f64,
}

/// The picture of a class.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ClassPicture {
    /// Files handed in.
    pub files: usize,
    /// How many had which verdict.
    pub verdicts: BTreeMap<String, usize>,
    /// Attempts in each tenth of the marks, 0 to 10 per cent first.
    pub distribution: [usize; 10],
    /// Attempts that reached the cut; nothing without a cut.
    pub passed: Option<usize>,
    /// Marked attempts.
    pub marked: usize,
    /// Simulated minutes.
    pub minutes: Option<Quartiles>,
    /// Money spent, minor units.
    pub spent: Option<Quartiles>,
    /// Where time and money went, in the order work is told.
    pub went: Vec<Share>,
    /// Wrong ideas that the work gives away, the most frequent first.
    pub misconceptions: Vec<Slip>,
    /// Dangers somebody was put in, the most frequent first.
    pub dangers: Vec<Slip>,
    /// What went wrong most often first.
    pub slips: Vec<Slip>,
    /// The parts of the marks of each vehicle as items.
    pub items: Option<ItemReport>,
    /// Paths that are alike.
    pub pairs: Vec<Pair>,
}

/// Looks at a class.
#[must_use]
pub fn picture(all: &[Marked]) -> ClassPicture {
    let mut verdicts: BTreeMap<String, usize> = BTreeMap::new();
    for marked in all {
        *verdicts
            .entry(marked.verdict.name().to_owned())
            .or_default() += 1;
    }
    let scored: Vec<&Marked> = all.iter().filter(|marked| marked.marks.is_some()).collect();
    let mut distribution = [0; 10];
    let all_marks: Vec<&Marks> = scored
        .iter()
        .filter_map(|marked| marked.marks.as_ref())
        .collect();
    let mut passed = None;
    for marks in &all_marks {
        distribution[(marks.permille as usize / 100).min(9)] += 1;
        if let Some(yes) = marks.passed {
            passed = Some(passed.unwrap_or(0) + usize::from(yes));
        }
    }
    ClassPicture {
        files: all.len(),
        verdicts,
        distribution,
        passed,
        marked: scored.len(),
        minutes: quartiles(
            scored
                .iter()
                .map(|marked| marked.clock_ms as f64 / 60_000.0),
        ),
        spent: quartiles(scored.iter().map(|marked| marked.spent as f64)),
        went: shares(&all_marks),
        misconceptions: counted(&all_marks, |marks| &marks.misconceptions),
        dangers: counted(&all_marks, |marks| &marks.dangers),
        slips: counted(&all_marks, |marks| &marks.slips),
        items: responses(all).map(|table| items::report(&table, None)),
        pairs: pairs(all),
    }
}

/// How many attempts show each sentence, once for each attempt, the most frequent first.
fn counted(all: &[&Marks], sentences: impl Fn(&Marks) -> &Vec<String>) -> Vec<Slip> {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for marks in all {
        let own: BTreeSet<String> = sentences(marks)
            .iter()
            .map(|sentence| without_figures(sentence))
            .collect();
        for sentence in own {
            *counts.entry(sentence).or_default() += 1;
        }
    }
    let mut slips: Vec<Slip> = counts
        .into_iter()
        .map(|(what, attempts)| Slip { what, attempts })
        .collect();
    slips.sort_by(|a, b| b.attempts.cmp(&a.attempts).then(a.what.cmp(&b.what)));
    slips
}

/// Where time and money went, in the mean of all attempts.
fn shares(all: &[&Marks]) -> Vec<Share> {
    let sum = |what: &str| {
        let same = all.iter().flat_map(|marks| &marks.went);
        same.filter(|went| went.what == what)
            .fold((0, 0), |(ms, cost), went| (ms + went.ms, cost + went.cost))
    };
    let sums = KINDS.map(|what| (what, sum(what)));
    let (ms, cost) = sums.iter().fold((0, 0), |(ms, cost), (_, (more, dearer))| {
        (ms + more, cost + dearer)
    });
    let share = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
    let count = all.len().max(1) as f64;
    sums.iter()
        .filter(|(_, sum)| *sum != (0, 0))
        .map(|(what, (own_ms, own_cost))| Share {
            what: (*what).to_owned(),
            minutes: *own_ms as f64 / 60_000.0 / count,
            of_time: share(*own_ms as f64, ms as f64),
            money: *own_cost as f64 / count,
            of_money: share(*own_cost as f64, cost as f64),
        })
        .collect()
}

/// A table of responses for `exercise items`: learners in rows, the parts of each vehicle in columns, in per cent.
#[must_use]
pub fn responses(all: &[Marked]) -> Option<ResponseTable> {
    let mut rows: BTreeMap<&str, BTreeMap<(u32, usize), f64>> = BTreeMap::new();
    let mut names: BTreeMap<(u32, usize), String> = BTreeMap::new();
    for marked in all {
        let (Some(learner), Some(vehicle), Some(marks)) =
            (&marked.learner, marked.vehicle, &marked.marks)
        else {
            continue;
        };
        let row = rows.entry(learner).or_default();
        for (place, part) in marks.parts.iter().enumerate() {
            names
                .entry((vehicle, place))
                .or_insert_with(|| format!("{vehicle} {}", part.part));
            // The first try counts, as long as it stands.
            row.entry((vehicle, place))
                .or_insert(f64::from(part.permille) / 10.0);
        }
    }
    if rows.len() < 2 || names.len() < 2 {
        return None;
    }
    let columns: Vec<(u32, usize)> = names.keys().copied().collect();
    let row = |(learner, scores): (&str, BTreeMap<(u32, usize), f64>)| Row {
        name: learner.to_owned(),
        count: 1,
        scores: columns
            .iter()
            .map(|column| scores.get(column).copied())
            .collect(),
    };
    Some(ResponseTable {
        items: names.into_values().collect(),
        rows: rows.into_iter().map(row).collect(),
    })
}

/// A sentence with its figures taken out, so that the same slip at two points is one slip.
fn without_figures(sentence: &str) -> String {
    let mut out = String::new();
    let mut number = false;
    for c in sentence.chars() {
        let part = c.is_ascii_digit() || number && (c == '.' || c == ',');
        if part && !number {
            out.push('#');
        }
        if !part {
            out.push(c);
        }
        number = part;
    }
    // A full stop that ended a sentence after a figure belongs to the sentence.
    if number && sentence.ends_with('.') {
        out.push('.');
    }
    out
}

fn quartiles(values: impl Iterator<Item = f64>) -> Option<Quartiles> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    // Linear between the two nearest values.
    let at = |share: f64| {
        let place = share * last as f64;
        let low = libm::floor(place);
        // Between 0 and `last`.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let index = low as usize;
        let next = values[(index + 1).min(last)];
        values[index] + (place - low) * (next - values[index])
    };
    Some(Quartiles {
        least: at(0.0),
        lower: at(0.25),
        middle: at(0.5),
        upper: at(0.75),
        most: at(1.0),
    })
}

/// Pairs of learners whose paths at one vehicle have most neighbouring lines in common.
fn pairs(all: &[Marked]) -> Vec<Pair> {
    let stands = |marked: &&Marked| {
        matches!(marked.verdict, Verdict::Verified | Verdict::Unfinished)
            && marked.lines.len() >= LEAST_ACTIONS
    };
    let paths: Vec<(&Marked, Vec<(&str, &str)>)> = all
        .iter()
        .filter(stands)
        .take(MOST_COMPARED)
        .map(|marked| {
            let mut neighbours: Vec<(&str, &str)> = marked
                .lines
                .windows(2)
                .map(|pair| (pair[0].as_str(), pair[1].as_str()))
                .collect();
            neighbours.sort_unstable();
            (marked, neighbours)
        })
        .collect();
    let mut found = Vec::new();
    for (at, (one, path)) in paths.iter().enumerate() {
        for (other, others) in &paths[at + 1..] {
            if one.learner == other.learner || one.vehicle != other.vehicle {
                continue;
            }
            let alike = 2.0 * common(path, others) as f64 / (path.len() + others.len()) as f64;
            if alike >= ALIKE {
                found.push(Pair {
                    one: one.learner.clone().unwrap_or_default(),
                    other: other.learner.clone().unwrap_or_default(),
                    vehicle: one.vehicle.unwrap_or(0),
                    alike,
                });
            }
        }
    }
    found.sort_by(|a, b| {
        b.alike
            .total_cmp(&a.alike)
            .then(a.one.cmp(&b.one))
            .then(a.other.cmp(&b.other))
    });
    found.truncate(MOST_PAIRS);
    found
}

/// How many members two sorted lists have in common, each as often as in both.
fn common(a: &[(&str, &str)], b: &[(&str, &str)]) -> usize {
    let (mut i, mut j, mut count) = (0, 0, 0);
    while i < a.len() && j < b.len() {
        match a[i].cmp(&b[j]) {
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
            std::cmp::Ordering::Equal => {
                count += 1;
                i += 1;
                j += 1;
            }
        }
    }
    count
}
