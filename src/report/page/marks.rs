//! The marks' side of the page: mistaken ideas, marks with their actions, what to practise.

use maud::{Markup, html};

use super::cited;
use crate::report::review::capital;
use crate::report::story::Story;
use crate::score::Mark;

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
            h3 { (capital(part.part)) ": " (part.points.show()) " of " (part.of.show()) }
            table {
                thead { tr { th scope="col" class="number" { "Points" } th scope="col" { "Why" } } }
                tbody { @for mark in &part.marks { (row(mark)) } }
            }
        }
        @if !card.hazards.is_empty() {
            h3 { "Dangers" }
            ul { @for danger in &card.hazards { li { (danger.grade) ": " (danger.what) (cited(&danger.actions)) } } }
        }
        @if !story.facts.missteps.is_empty() {
            h3 { "What went wrong in the work" }
            ul { @for misstep in &story.facts.missteps { li { (misstep.what) (cited(&misstep.actions)) } } }
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
