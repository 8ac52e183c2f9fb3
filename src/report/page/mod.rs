//! The debrief as one self-contained page: no script, no network, drawings inside. Everything that came from outside, such
//! as a vehicle's or a fault's own wording, is escaped by the template.

mod chart;
mod marks;
mod volts;
mod work;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::story::Story;

/// How every page of ours looks.
const STYLE: &str = include_str!("style.css");

/// The sections of the page: anchor, heading and what is in it.
type Section = (&'static str, &'static str, Markup);

/// The whole page.
#[must_use]
pub fn page(story: &Story) -> String {
    let title = format!("Debrief: {}", story.vehicle);
    let mut sections: Vec<Section> = vec![
        ("hidden", "What was wrong", volts::hidden(story)),
        ("volts", "Where the volts went", volts::along(story)),
        ("pressure", "How the pressure rose", volts::pressure(story)),
        ("belief", "What could be believed", work::belief(story)),
        (
            "actions",
            "What each action told and cost",
            work::actions(story),
        ),
        (
            "certificate",
            "What tests can tell",
            work::certificate(story),
        ),
    ];
    if !story.review.misconceptions.is_empty() {
        sections.push(("ideas", "Ideas to put right", marks::misconceptions(story)));
    }
    sections.push(("marks", "Marks", marks::marks(story)));
    sections.push(("practise", "What to practise next", marks::practise(story)));
    let inside = html! {
        (heading(story, &title))
        nav aria-label="Sections" {
            ul { @for (id, name, _) in &sections { li { a href={ "#" (id) } { (name) } } } }
        }
        @for (id, name, inside) in &sections {
            section id=(id) aria-labelledby={ (id) "-heading" } {
                h2 id={ (id) "-heading" } { (name) }
                (inside)
            }
        }
    };
    let footer = html! {
        ", rules of marking " (story.card.version)
        ". It is a trainer: on a real vehicle the maker's instructions, local law and licensed practice come first."
    };
    document(&title, &inside, &footer)
}

/// A whole page; `footer` goes on after the program's name and version.
pub(super) fn document(title: &str, inside: &Markup, footer: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                // A page that asks nothing of any network says so to the browser as well.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main { (inside) }
                footer { "Made by Hidden Ohm " (env!("CARGO_PKG_VERSION")) (footer) }
            }
        }
    };
    page.into_string()
}

fn heading(story: &Story, title: &str) -> Markup {
    let card = &story.card;
    let sides = &story.review.marks;
    html! {
        header {
            h1 { (title) }
            p class="quiet" {
                "Level " (story.level)
                @if let Some(code) = &story.code { ", scenario " (code) }
                ". The customer said: \u{201c}" (story.customer) "\u{201d}"
            }
            ul class="sums" {
                li { strong { (card.total.show()) " of " (card.of.show()) } "all marks together" }
                li { strong { (format!("{:.0}", sides.outcome)) " of 100" } "outcome: " (sides.outcome_because) }
                li { strong { (format!("{:.0}", sides.method)) " of 100" } "method: " (sides.method_because) }
            }
            p { (sides.says) }
        }
    }
}

/// Links to actions by their numbers: `(actions 3, 5)`; nothing for none.
fn cited(numbers: &[u32]) -> Markup {
    html! {
        @if !numbers.is_empty() {
            span class="quiet" {
                " (" (if numbers.len() == 1 { "action " } else { "actions " })
                @for (index, number) in numbers.iter().enumerate() {
                    @if index > 0 { ", " }
                    a href={ "#action-" (number) } { (number) }
                }
                ")"
            }
        }
    }
}
