//! The learner's side of the page: belief, actions, what tests can tell.

use maud::{Markup, html};

use super::chart::{Axes, Curve, Scale, Stroke, curves};
use crate::report::certificate;
use crate::report::review::capital;
use crate::report::story::Story;
use crate::report::words::{self, TERMS, percent};
use crate::score::review::Reviewed;

pub(super) fn belief(story: &Story) -> Markup {
    let belief = &story.review.belief;
    let share =
        |index: usize, at: usize| belief.points[at].shares.get(index).copied().unwrap_or(0.0);
    let all: Vec<Curve> = belief
        .repairs
        .iter()
        .enumerate()
        .map(|(index, repair)| Curve {
            stroke: if repair.right {
                Stroke::Right
            } else {
                Stroke::Belief
            },
            mark: (index + 1).to_string(),
            points: (0..belief.points.len())
                .map(|at| {
                    (
                        f64::from(belief.points[at].action),
                        100.0 * share(index, at),
                    )
                })
                .collect(),
        })
        .collect();
    let last_action = belief.points.last().map_or(1, |point| point.action);
    let axes = Axes {
        across: Scale::to(f64::from(last_action), 6),
        across_unit: "action",
        up: Scale::to(100.0, 5),
        up_unit: "%",
    };
    let last = belief.points.len().saturating_sub(1);
    let at_end: Vec<String> = belief
        .repairs
        .iter()
        .enumerate()
        .map(|(index, repair)| {
            format!(
                "{} {}",
                repair.repair,
                percent(if belief.points.is_empty() {
                    0.0
                } else {
                    share(index, last)
                })
            )
        })
        .collect();
    let description = format!(
        "How likely each repair was to be the right one, from the work order to the last action, by what had been read. At the end: {}.",
        at_end.join("; ")
    );
    html! {
        p {
            "How likely each repair was to be the right one, by what had been read so far and nothing else. The program keeps every fault the \
             vehicle could have and asks of each reading how well each fault would have explained it."
        }
        figure {
            (curves("belief-chart", "Belief in each repair", &description, &axes, &all))
            figcaption { "Each line has its number at its end. The thick line is what was right." }
        }
        ol {
            @for (index, repair) in belief.repairs.iter().enumerate() {
                li {
                    (repair.repair)
                    @if repair.right { strong { " (right)" } }
                    @if !belief.points.is_empty() {
                        span class="quiet" { ": " (percent(share(index, 0))) " after the work order, " (percent(share(index, last))) " at the end" }
                    }
                }
            }
        }
    }
}

pub(super) fn actions(story: &Story) -> Markup {
    let reference = &story.review.reference;
    html! {
        @for term in TERMS { p class="quiet" { (term) } }
        ol class="steps" { @for action in &story.review.actions { (step(action, &story.currency)) } }
        h3 { "What the job should have cost" }
        p { (reference.says) }
        @if let Some(first) = &reference.first { p { "The reference would begin: " (first.what) "." } }
        @if let Some(regret) = reference.regret_minutes {
            p { (format!("All steps of this attempt together cost {regret:.0} min more than the reference's would have.")) }
        }
    }
}

fn step(action: &Reviewed, currency: &str) -> Markup {
    let told = words::told(action);
    let verdicts: Vec<&str> = action
        .verdicts
        .iter()
        .map(|verdict| words::verdict(*verdict))
        .collect();
    html! {
        li id={ "action-" (action.action) } {
            span class="what" { (action.action) ". " (action.what) }
            @if !action.shown.is_empty() { ": " (action.shown) }
            span class="quiet" { " \u{2014} " (words::took(action, currency)) }
            @if !told.is_empty() {
                div class="worth" { (capital(&told.join("; "))) "; surest repair now " (percent(action.surest)) "." }
            }
            @if !verdicts.is_empty() {
                div class="worth" { strong { (capital(&verdicts.join(", "))) ": " } (action.why) }
            }
            @if let Some(next) = &action.reference {
                div class="worth quiet" {
                    (words::referred(next))
                }
            }
        }
    }
}

pub(super) fn certificate(story: &Story) -> Markup {
    let certificate = &story.certificate;
    html! {
        p { (certificate::WHAT) }
        p { (certificate::open(certificate)) }
        ol {
            @for step in &certificate.sequence {
                li {
                    (step.test) ": " strong { (step.found) }
                    span class="quiet" { "; " (certificate::after(step)) }
                    @if let Some(repair) = &step.repair { ". So: " strong { (repair) } "." }
                }
            }
        }
        p { (certificate::end(certificate)) }
        @let left = certificate::left(certificate);
        @if !left.is_empty() {
            p { "Still possible after them:" }
            ul { @for (other, share) in &left { li { (other) ", " (share) } } }
        }
    }
}
