//! Pages for an instructor and for each learner, as self-contained HTML: no script, nothing fetched, nothing by colour
//! alone. What learners and files are called is escaped by the template.

use maud::{Markup, html};

use super::page::document;
use crate::exercise::class::{ClassPicture, Quartiles, Slip};
use crate::exercise::gradebook::percent;
use crate::exercise::{Marked, Rules};
use crate::units::Money;

/// For tables that must fit a telephone: a column is never narrower than its longest word.
const WHOLE_WORDS: &str = "overflow-wrap: break-word";
/// Slips that are told; the rest are counted.
const MOST_SLIPS: usize = 25;

/// What an instructor sees of a class.
#[must_use]
pub fn class_page(rules: &Rules, picture: &ClassPicture) -> String {
    let verdicts: Vec<String> = picture
        .verdicts
        .iter()
        .map(|(name, count)| format!("{count} {name}"))
        .collect();
    let sections = [
        ("Marks", distribution(picture)),
        ("Time and money", time_and_money(picture)),
        (
            "What was misunderstood",
            counted(
                &picture.misconceptions,
                "idea",
                "No wrong idea shows in the work.",
            ),
        ),
        (
            "Dangers",
            counted(&picture.dangers, "danger", "Nobody was put in danger."),
        ),
        (
            "What went wrong in the work",
            counted(
                &picture.slips,
                "slip (# stands for a figure)",
                "Nothing that the marks know of.",
            ),
        ),
        ("Items", items(picture)),
        ("Paths that are alike", pairs(picture)),
    ];
    let inside = html! {
        h1 { (rules.title) }
        ul class="sums" {
            li { strong { (picture.files) } "attempts: " (verdicts.join(", ")) }
            li { strong { (picture.marked) } "marked" }
            @if let (Some(passed), Some(pass)) = (picture.passed, rules.pass) {
                li { strong { (passed) " of " (picture.marked) } "reached the cut of " (pass) " %" }
            }
        }
        @for (heading, body) in &sections { section { h2 { (heading) } (body) } }
    };
    page(&format!("{}: class", rules.title), &inside)
}

/// Bars with their counts written beside them. Sideways places are percentages, so that letters keep their size.
fn distribution(picture: &ClassPicture) -> Markup {
    const NAMES: f64 = 26.0;
    const BARS: f64 = 62.0;
    let counts = &picture.distribution;
    let most = counts.iter().copied().max().unwrap_or(0).max(1) as f64;
    let rows = counts.iter().enumerate().map(|(tenth, count)| {
        let (top, width) = (22 * tenth, BARS * *count as f64 / most);
        (tenth, top, width, *count)
    });
    html! {
        figure {
            svg height=(22 * counts.len()) role="img" aria-labelledby="marks-title" {
                title id="marks-title" { "Attempts by tenth of the marks" }
                @for (tenth, top, width, count) in rows {
                    text x="0" y=(top + 15) { (10 * tenth) " to " (10 * tenth + 10) " %" }
                    rect x=(format!("{NAMES}%")) y=(top + 3) width=(format!("{width:.2}%")) height="16" fill="currentColor" {}
                    text x=(format!("{:.2}%", NAMES + width + 1.5)) y=(top + 15) { (count) }
                }
            }
            figcaption { "Attempts by tenth of the marks." }
        }
    }
}

fn time_and_money(picture: &ClassPicture) -> Markup {
    let minutes = |value: f64| format!("{value:.0}");
    let quartiles = |quartiles: &Option<Quartiles>| {
        let all = |q: &Quartiles| [q.least, q.lower, q.middle, q.upper, q.most];
        quartiles.as_ref().map_or([0.0; 5], all)
    };
    let names = ["least", "lower quarter", "middle", "upper quarter", "most"];
    let both = quartiles(&picture.minutes)
        .into_iter()
        .zip(quartiles(&picture.spent));
    if picture.minutes.is_none() {
        return html! { p { "No attempt was marked." } };
    }
    html! {
        table style=(WHOLE_WORDS) {
            caption { "Each marked attempt" }
            thead { tr { th scope="col" {} th scope="col" class="number" { "minutes" } th scope="col" class="number" { "money" } } }
            tbody {
                @for (name, (time, spent)) in names.iter().zip(both) {
                    tr {
                        th scope="row" { (name) }
                        td class="number" { (minutes(time)) }
                        td class="number" { (money(spent)) }
                    }
                }
            }
        }
        @if !picture.went.is_empty() {
            table style=(WHOLE_WORDS) {
                caption { "Where they went, in the mean of the marked attempts" }
                thead { tr { th scope="col" {} th scope="col" class="number" { "minutes" } th scope="col" class="number" { "money" } } }
                tbody {
                    @for share in &picture.went {
                        tr {
                            th scope="row" { (share.what) }
                            td class="number" { (format!("{:.1} ({:.0} %)", share.minutes, 100.0 * share.of_time)) }
                            td class="number" { (money(share.money)) (format!(" ({:.0} %)", 100.0 * share.of_money)) }
                        }
                    }
                }
            }
        }
    }
}

fn money(minor: f64) -> String {
    // A bill is far below what i64 holds.
    #[expect(clippy::cast_possible_truncation)]
    let whole = libm::round(minor) as i64;
    Money(whole).show("").trim().to_owned()
}

/// Sentences with how many attempts show them.
fn counted(slips: &[Slip], heading: &str, none: &str) -> Markup {
    html! {
        @if slips.is_empty() {
            p { (none) }
        } @else {
            table style=(WHOLE_WORDS) {
                thead { tr { th scope="col" { (heading) } th scope="col" class="number" { "attempts" } } }
                tbody {
                    @for slip in slips.iter().take(MOST_SLIPS) {
                        tr { td { (slip.what) } td class="number" { (slip.attempts) } }
                    }
                }
            }
            @if slips.len() > MOST_SLIPS { p class="quiet" { "and " (slips.len() - MOST_SLIPS) " that are rarer." } }
        }
    }
}

fn items(picture: &ClassPicture) -> Markup {
    let Some(report) = &picture.items else {
        return html! { p { "Too few marked attempts for a table of items." } };
    };
    html! {
        table style=(WHOLE_WORDS) {
            thead { tr {
                th scope="col" { "vehicle and part" }
                th scope="col" class="number" { "mean %" }
                th scope="col" class="number" { "with the rest" }
            } }
            tbody {
                @for item in &report.items {
                    tr {
                        td { (item.item) }
                        td class="number" { (format!("{:.0}", item.mean)) }
                        td class="number" { (item.discrimination.map_or_else(|| "no estimate".to_owned(), |r| format!("{r:.2}"))) }
                    }
                }
            }
        }
        @if let Some(found) = &report.reliability {
            p {
                (format!(
                    "Reliability of the sum (alpha) {:.2}, standard error {:.2}, 95 % {:.2} to {:.2}, from {:.0} learners with every vehicle marked.",
                    found.alpha, found.alpha_error, found.alpha_interval.0, found.alpha_interval.1, found.learners
                ))
            }
        }
        @for line in &report.withheld { p class="quiet" { (line) } }
    }
}

fn pairs(picture: &ClassPicture) -> Markup {
    html! {
        @if picture.pairs.is_empty() {
            p { "None." }
        } @else {
            p { "Did these learners work together, follow the same plan from a lesson, or copy? Equal paths are no proof of anything: ask." }
            table style=(WHOLE_WORDS) {
                thead { tr {
                    th scope="col" { "learners" }
                    th scope="col" class="number" { "vehicle" }
                    th scope="col" class="number" { "in common" }
                } }
                tbody {
                    @for pair in &picture.pairs {
                        tr {
                            td { (pair.one) " and " (pair.other) }
                            td class="number" { (pair.vehicle) }
                            td class="number" { (format!("{:.0} %", 100.0 * pair.alike)) }
                        }
                    }
                }
            }
        }
    }
}

/// What a learner gets back: marks, the explanation as text, and where there is more.
#[must_use]
pub fn feedback_page(rules: &Rules, marked: &Marked, explanation: &str, more: &str) -> String {
    let learner = marked.learner.as_deref().unwrap_or("");
    let inside = html! {
        h1 { (learner) ": " (rules.title) }
        @if let Some(vehicle) = marked.vehicle {
            p class="quiet" { "Vehicle " (vehicle) ", receipt " (marked.receipt.as_deref().unwrap_or("none")) "." }
        }
        @if let Some(marks) = &marked.marks {
            ul class="sums" {
                li {
                    strong { (percent(marks.permille)) " %" }
                    @match marks.passed {
                        Some(true) => "passed",
                        Some(false) => "not passed",
                        None => "all marks together",
                    }
                    @if let (Some(_), Some(pass)) = (marks.passed, rules.pass) { ", the cut is at " (pass) " %" }
                }
            }
            @if marks.capped { p { "A grave danger limits the total." } }
            @if marks.hints > 0 { p { "Hints took " (percent(marks.hints)) " % of the total." } }
            table {
                thead { tr { th scope="col" { "part" } th scope="col" class="number" { "%" } } }
                tbody {
                    @for part in &marks.parts {
                        tr { td { (part.part) } td class="number" { (percent(part.permille)) } }
                    }
                }
            }
        }
        p { a href=(more) { "The same with drawings, step by step" } }
        pre style="white-space: pre-wrap" { (explanation) }
    };
    page(&format!("{learner}: {}", rules.title), &inside)
}

fn page(title: &str, inside: &Markup) -> String {
    document(title, inside, &html! { "." })
}
