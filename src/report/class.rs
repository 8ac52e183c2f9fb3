//! Pages for an instructor and for each learner, as self-contained HTML: no script, nothing fetched, nothing by colour
//! alone.

use crate::exercise::class::{ClassPicture, Quartiles};
use crate::exercise::{Marked, Rules};
use crate::units::Money;
use std::fmt::Write as _;

/// How every page begins; widths in characters, so that it reads on a telephone as well.
const STYLE: &str = "body{font:16px/1.5 system-ui,sans-serif;max-width:52rem;margin:1rem auto;padding:0 1rem;color:#111;background:#fff}\
h1{font-size:1.5rem}h2{font-size:1.2rem;margin-top:2rem}table{border-collapse:collapse;width:100%}\
caption{text-align:left;font-weight:600}th,td{text-align:left;padding:.25rem .5rem;border-bottom:1px solid #bbb}\
td.n,th.n{text-align:right}pre{white-space:pre-wrap;background:#f4f4f4;padding:.75rem}svg{width:100%;height:auto}\
@media(prefers-color-scheme:dark){body{color:#eee;background:#111}pre{background:#222}}";

/// What an instructor sees of a class.
#[must_use]
pub fn class_page(rules: &Rules, picture: &ClassPicture) -> String {
    let mut body = format!("<h1>{}</h1>\n", escaped(&rules.title));
    let _ = write!(
        body,
        "<p>{} files, {} marked. ",
        picture.files, picture.marked
    );
    let verdicts: Vec<String> = picture
        .verdicts
        .iter()
        .map(|(name, count)| format!("{count} {name}"))
        .collect();
    let _ = write!(body, "{}.", escaped(&verdicts.join(", ")));
    if let (Some(passed), Some(pass)) = (picture.passed, rules.pass) {
        let _ = write!(body, " {passed} reached the cut of {pass} %.");
    }
    body += "</p>\n<h2>Marks</h2>\n";
    body += &distribution(&picture.distribution);
    body += "<h2>Time and money</h2>\n<table><tr><th></th><th class=n>least</th><th class=n>lower quarter</th><th class=n>middle</th><th class=n>upper quarter</th><th class=n>most</th></tr>\n";
    let row = |label: &str, quartiles: &Option<Quartiles>, show: &dyn Fn(f64) -> String| {
        quartiles.map_or_else(String::new, |q| {
            let cells = [q.least, q.lower, q.middle, q.upper, q.most]
                .map(|value| format!("<td class=n>{}</td>", show(value)));
            format!("<tr><th>{label}</th>{}</tr>\n", cells.concat())
        })
    };
    body += &row("Simulated minutes", &picture.minutes, &|value| {
        format!("{value:.0}")
    });
    body += &row("Money", &picture.spent, &|value| {
        // A bill is far below what i64 holds.
        #[expect(clippy::cast_possible_truncation)]
        let whole = libm::round(value) as i64;
        escaped(Money(whole).show("").trim())
    });
    body += "</table>\n<h2>What went wrong</h2>\n";
    if picture.slips.is_empty() {
        body += "<p>Nothing that the marks know of.</p>\n";
    } else {
        body += "<table><tr><th class=n>attempts</th><th>slip (# stands for a figure)</th></tr>\n";
        for slip in &picture.slips {
            let _ = writeln!(
                body,
                "<tr><td class=n>{}</td><td>{}</td></tr>",
                slip.attempts,
                escaped(&slip.what)
            );
        }
        body += "</table>\n";
    }
    body += "<h2>Items</h2>\n";
    body += &items(picture);
    body += "<h2>Paths that are alike</h2>\n";
    if picture.pairs.is_empty() {
        body += "<p>None.</p>\n";
    } else {
        body += "<p>Did these learners work together, follow the same plan from a lesson, or copy? Equal paths are no proof of anything: ask.</p>\n<table><tr><th>learners</th><th class=n>vehicle</th><th class=n>in common</th></tr>\n";
        for pair in &picture.pairs {
            let _ = writeln!(
                body,
                "<tr><td>{} and {}</td><td class=n>{}</td><td class=n>{:.0} %</td></tr>",
                escaped(&pair.one),
                escaped(&pair.other),
                pair.vehicle,
                100.0 * pair.alike
            );
        }
        body += "</table>\n";
    }
    page(&format!("{}: class", rules.title), &body)
}

fn items(picture: &ClassPicture) -> String {
    let Some(report) = &picture.items else {
        return "<p>Too few marked attempts for a table of items.</p>\n".to_owned();
    };
    let mut body = String::from(
        "<table><tr><th>vehicle and part</th><th class=n>mean %</th><th class=n>with the rest</th></tr>\n",
    );
    for item in &report.items {
        let rest = item
            .discrimination
            .map_or_else(|| "no estimate".to_owned(), |r| format!("{r:.2}"));
        let _ = writeln!(
            body,
            "<tr><td>{}</td><td class=n>{:.0}</td><td class=n>{rest}</td></tr>",
            escaped(&item.item),
            item.mean
        );
    }
    body += "</table>\n";
    if let Some(found) = &report.reliability {
        let (low, high) = found.alpha_interval;
        let _ = writeln!(
            body,
            "<p>Reliability of the sum (alpha) {:.2}, standard error {:.2}, 95 % {low:.2} to {high:.2}, from {:.0} learners with every vehicle marked.</p>",
            found.alpha, found.alpha_error, found.learners
        );
    }
    for line in &report.withheld {
        let _ = writeln!(body, "<p>{}</p>", escaped(line));
    }
    body
}

/// Bars with their counts written beside them.
fn distribution(counts: &[usize; 10]) -> String {
    let most = counts.iter().copied().max().unwrap_or(0).max(1);
    let mut svg = String::from(
        "<svg viewBox=\"0 0 400 210\" role=\"img\" fill=\"currentColor\" font-size=\"13\"><title>Attempts by tenth of the marks</title>\n",
    );
    for (tenth, count) in counts.iter().enumerate() {
        let y = 20 * tenth + 5;
        let width = 260.0 * *count as f64 / most as f64;
        let _ = writeln!(
            svg,
            "<text x=\"0\" y=\"{}\">{} to {} %</text><rect x=\"90\" y=\"{y}\" width=\"{width:.1}\" height=\"14\"/><text x=\"{:.1}\" y=\"{}\">{count}</text>",
            y + 12,
            10 * tenth,
            10 * tenth + 10,
            96.0 + width,
            y + 12
        );
    }
    svg + "</svg>\n"
}

/// What a learner gets back: marks, the explanation as text, and where there is more.
#[must_use]
pub fn feedback_page(rules: &Rules, marked: &Marked, explanation: &str, more: &str) -> String {
    let learner = marked.learner.as_deref().unwrap_or("");
    let mut body = format!("<h1>{}: {}</h1>\n", escaped(learner), escaped(&rules.title));
    if let Some(vehicle) = marked.vehicle {
        let _ = writeln!(
            body,
            "<p>Vehicle {vehicle}, receipt {}.</p>",
            escaped(marked.receipt.as_deref().unwrap_or("none"))
        );
    }
    if let Some(marks) = &marked.marks {
        let passed = match marks.passed {
            Some(true) => ", passed",
            Some(false) => ", not passed",
            None => "",
        };
        let _ = writeln!(
            body,
            "<p><strong>{} %{passed}</strong></p>\n<table><tr><th>part</th><th class=n>%</th></tr>",
            tenths(marks.permille)
        );
        for part in &marks.parts {
            let _ = writeln!(
                body,
                "<tr><td>{}</td><td class=n>{}</td></tr>",
                escaped(&part.part),
                tenths(part.permille)
            );
        }
        body += "</table>\n";
    }
    let _ = writeln!(body, "<pre>{}</pre>", escaped(explanation));
    let _ = writeln!(
        body,
        "<p><a href=\"{}\">The same with drawings, step by step</a></p>",
        escaped(more)
    );
    page(&format!("{learner}: {}", rules.title), &body)
}

fn tenths(permille: u32) -> String {
    format!("{}.{}", permille / 10, permille % 10)
}

fn page(title: &str, body: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>{}</title><style>{STYLE}</style></head>\n<body>\n{body}</body></html>\n",
        escaped(title)
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
