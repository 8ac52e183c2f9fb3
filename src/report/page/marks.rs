//! The marks' side of the page: mistaken ideas, marks with their actions, what to practise.

use maud::{Markup, html};

use super::cited;
use crate::report::review::capital;
use crate::report::story::Story;
use crate::report::words;
use crate::score::{Baseline, Mark};
use crate::units::Money;

pub(super) fn misconceptions(story: &Story) -> Markup {
    html! {
        @for found in &story.review.misconceptions {
            h3 { (capital(&found.name)) }
            p { (found.what) (cited(&found.actions)) }
            @if !found.explanation.is_empty() { p { (found.explanation) } }
            @if !found.instead.is_empty() { p { strong { "Instead: " } (found.instead) } }
        }
    }
}

pub(super) fn marks(story: &Story) -> Markup {
    let card = &story.card;
    html! {
        @if let Some(cap) = &card.cap { p { strong { (cap.because) } (cited(&cap.actions)) } }
        @for part in &card.parts {
            h3 {
                (capital(part.part)) ": " (part.points.show())
                @if part.of.0 == 0 { " points" } @else { " of " (part.of.show()) }
            }
            table {
                thead { tr { th scope="col" class="number" { "Points" } th scope="col" { "Why" } } }
                tbody { @for mark in &part.marks { (row(mark)) } }
            }
        }
        @if !card.hazards.is_empty() {
            h3 { "Dangers" }
            ul { @for danger in &card.hazards { li { (danger.grade) ": " (danger.what) (cited(&danger.actions)) } } }
        }
        @if words::missteps(&story.facts).next().is_some() {
            h3 { "What went wrong in the work" }
            ul { @for misstep in words::missteps(&story.facts) { li { (misstep.what) (cited(&misstep.actions)) } } }
        }
        (baseline(&card.baseline))
    }
}

fn baseline(baseline: &Baseline) -> Markup {
    let minutes = |seconds: f64| format!("{:.0} min", seconds / 60.0);
    let money = |money: Money| money.show(&baseline.currency);
    html! {
        h3 { "Baseline for the cost" }
        p { (baseline.plan) }
        table {
            thead { tr {
                th scope="col" { "Step" }
                th scope="col" class="number" { "Time" }
                th scope="col" class="number" { "Parts" }
            } }
            tbody {
                @for line in &baseline.lines {
                    tr {
                        td { (line.what) }
                        td class="number" { (minutes(line.seconds)) }
                        td class="number" { (money(line.goods)) }
                    }
                }
            }
        }
        p {
            "In all " (money(baseline.money)) ", " (minutes(baseline.seconds)) ", labour included; this attempt "
            (money(baseline.spent)) ", " (minutes(baseline.clock_s)) "."
        }
    }
}

fn row(mark: &Mark) -> Markup {
    html! {
        tr {
            td class="number" {
                (mark.points.show())
                // A deduction has nothing it is out of.
                @if mark.of.0 != 0 { " of " (mark.of.show()) }
            }
            td { (mark.because) (cited(&mark.actions)) }
        }
    }
}

pub(super) fn practise(story: &Story) -> Markup {
    let review = &story.review;
    html! {
        p { strong { (review.practise.what) } (cited(&review.practise.actions)) }
        p class="quiet" { (review.standing.says) }
    }
}
