//! Marks for safety, and the limit that a grave danger sets.

use super::card::{Cap, Danger, Mark, Part, Points, grade_name};
use super::outcome::Result;
use super::trace::Trace;
use crate::bay::{Closed, Fact, Grade};

/// One kind of danger with every action that brought it about.
pub(super) struct Grouped {
    pub grade: Grade,
    pub what: String,
    pub actions: Vec<u32>,
}

/// Dangers of the same words together, worst first, then in order of time.
pub(super) fn grouped(closed: &Closed) -> Vec<Grouped> {
    let mut groups: Vec<Grouped> = Vec::new();
    for entry in &closed.ledger {
        for fact in &entry.facts {
            let Fact::Hazard(hazard) = fact else { continue };
            match groups.iter_mut().find(|group| group.what == hazard.what) {
                Some(group) => group.actions.push(entry.number),
                None => groups.push(Grouped {
                    grade: hazard.grade,
                    what: hazard.what.clone(),
                    actions: vec![entry.number],
                }),
            }
        }
    }
    groups.sort_by(|a, b| b.grade.cmp(&a.grade).then(a.actions[0].cmp(&b.actions[0])));
    for group in &mut groups {
        group.actions.dedup();
    }
    groups
}

pub(super) fn dangers(groups: &[Grouped]) -> Vec<Danger> {
    let danger = |group: &Grouped| Danger {
        grade: grade_name(group.grade),
        what: group.what.clone(),
        actions: group.actions.clone(),
    };
    groups.iter().map(danger).collect()
}

pub(super) fn part(trace: &Trace, result: &Result, groups: &[Grouped]) -> Part {
    let of = trace.weights.safety;
    let mark = |points, because: String, actions| {
        Part::new(
            "safety",
            vec![Mark {
                points,
                of,
                because,
                actions,
            }],
        )
    };
    if !result.worked {
        return mark(
            Points(0),
            "Nothing was done that could have been done safely.".into(),
            vec![trace.end],
        );
    }
    if groups.is_empty() {
        return mark(of, "Nobody was put in danger.".into(), vec![trace.end]);
    }
    let all: i64 = groups.iter().map(|group| lost(trace, group)).sum();
    let sentences: Vec<String> = groups
        .iter()
        .map(|group| sentence(group, Points(lost(trace, group))))
        .chain((all > of.0).then(|| "No more can be lost than there is.".to_owned()))
        .collect();
    let mut actions: Vec<u32> = groups
        .iter()
        .flat_map(|group| group.actions.iter().copied())
        .collect();
    actions.sort_unstable();
    actions.dedup();
    mark(Points((of.0 - all).max(0)), sentences.join(" "), actions)
}

/// The first time counts in full; doing it again, however often, half as much once more.
fn lost(trace: &Trace, group: &Grouped) -> i64 {
    let once = match group.grade {
        Grade::Minor => trace.weights.minor,
        Grade::Serious => trace.weights.serious,
        Grade::Grave => trace.weights.grave,
    };
    if group.actions.len() > 1 {
        once.0 + once.0 / 2
    } else {
        once.0
    }
}

fn sentence(group: &Grouped, lost: Points) -> String {
    let times = match group.actions.len() {
        1 => String::new(),
        2 => " (twice)".to_owned(),
        n => format!(" ({n} times)"),
    };
    let grade = grade_name(group.grade);
    let capital: String = grade
        .chars()
        .take(1)
        .flat_map(char::to_uppercase)
        .chain(grade.chars().skip(1))
        .collect();
    format!("{capital}, -{}: {}{times}.", lost.show(), group.what)
}

/// What limits the total: a danger that can kill, or several that can maim.
pub(super) fn cap(trace: &Trace, groups: &[Grouped]) -> Option<Cap> {
    let of =
        |grade| -> Vec<&Grouped> { groups.iter().filter(|group| group.grade == grade).collect() };
    let (grave, serious) = (of(Grade::Grave), of(Grade::Serious));
    let weights = trace.weights;
    let (at, because, groups) = if let Some(first) = grave.first() {
        let at = weights.grave_cap;
        let because = format!(
            "Somebody could have been killed: {}. Whatever else was right, the total is at most {}.",
            first.what,
            at.show()
        );
        (at, because, grave)
    } else if serious.len() >= weights.serious_count {
        let at = weights.serious_cap;
        let because = format!(
            "People were put in {} serious dangers: that is no slip any more. Whatever else was right, the total is at most {}.",
            serious.len(),
            at.show()
        );
        (at, because, serious)
    } else {
        return None;
    };
    let mut actions: Vec<u32> = groups
        .iter()
        .flat_map(|group| group.actions.iter().copied())
        .collect();
    actions.sort_unstable();
    actions.dedup();
    Some(Cap {
        at,
        because,
        actions,
    })
}
