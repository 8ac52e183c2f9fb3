//! `exercise items` and `exercise raters`: what a table of responses says.

use serde_json::json;

use crate::exercise::ResponseTable;
use crate::exercise::items::fit::Fitted;
use crate::exercise::items::raters::{Intraclass, Kappa, intraclass, kappa};
use crate::exercise::items::{ItemReport, report};
use crate::report::text::{Text, Tone};

use super::super::failure::{Failure, Kind};
use super::super::source::{read_text, shown};
use super::super::ui::Ui;
use super::arguments::{Items, Raters};

/// Letters of an item's name that are shown.
const NAME: usize = 12;

/// The items of a table.
pub(super) fn items(asked: &Items, ui: &mut Ui) -> Result<(), Failure> {
    let table = table(&asked.table)?;
    let report = report(&table, asked.pass_at);
    if asked.json {
        return ui.json(&json!(report));
    }
    ui.show(&told(&report))
}

/// The raters of a table.
pub(super) fn raters(asked: &Raters, ui: &mut Ui) -> Result<(), Failure> {
    let table = table(&asked.table)?;
    let rows = table.complete();
    let intraclass = intraclass(&rows);
    let names = &table.items;
    let pairs =
        (0..names.len()).flat_map(|one| (one + 1..names.len()).map(move |other| (one, other)));
    let kappas: Vec<Kappa> = pairs
        .filter_map(|(one, other)| kappa(names, &rows, one, other))
        .collect();
    if asked.json {
        return ui.json(&json!({ "intraclass": intraclass, "kappa": kappas }));
    }
    ui.show(&agreement(intraclass, &kappas))
}

fn table(file: &str) -> Result<ResponseTable, Failure> {
    let text = read_text(file)?;
    ResponseTable::read(&text).map_err(|error| {
        let hint = "the first line names the items; each further line is one learner";
        Failure::new(Kind::Input, format!("{}: {error}", shown(file)), hint)
    })
}

fn told(report: &ItemReport) -> Text {
    let mut text = Text::new();
    text.say(
        Tone::Heading,
        &format!("{} learners, {} items", report.learners, report.items.len()),
    );
    text.say(
        Tone::Drawing,
        &format!(
            "{:<NAME$} {:>6}  {:<12} {:>6}",
            "item", "share", "95 %", "rest"
        ),
    );
    for item in &report.items {
        let interval = item
            .interval
            .map_or_else(String::new, |(low, high)| format!("{low:.3}..{high:.3}"));
        let rest = item
            .discrimination
            .map_or_else(|| "-".to_owned(), |r| format!("{r:.3}"));
        let name: String = item.item.chars().take(NAME).collect();
        text.say(
            Tone::Drawing,
            &format!(
                "{name:<NAME$} {:>6.3}  {interval:<12} {rest:>6}",
                item.difficulty
            ),
        );
    }
    text.say(
        Tone::Muted,
        "share: mean as a share of the highest score; rest: correlation with the sum of the other items.",
    );
    if let Some(found) = &report.reliability {
        let (low, high) = found.alpha_interval;
        text.say(
            Tone::Plain,
            &format!(
                "Alpha{} {:.4}, standard error {:.4}, 95 % {low:.3} to {high:.3}, from {} learners.",
                if found.kr21.is_some() { " (KR-20)" } else { "" },
                found.alpha,
                found.alpha_error,
                found.learners
            ),
        );
        let kr21 = found
            .kr21
            .map_or_else(String::new, |kr21| format!("KR-21 {kr21:.4}. "));
        text.say(
            Tone::Plain,
            &format!(
                "{kr21}Sum {:.3}, deviation {:.3}, standard error of measurement {:.3}.",
                found.mean, found.deviation, found.measurement_error
            ),
        );
        if let Some(times) = found.lengths_for_080 {
            text.say(
                Tone::Plain,
                &format!("A reliability of 0.8 would take {times:.1} times as many such items (Spearman-Brown)."),
            );
        }
    }
    for model in &report.models {
        text.blank();
        text.append(fitted(model));
    }
    for line in &report.withheld {
        text.say(Tone::Caution, line);
    }
    text
}

fn fitted(model: &Fitted) -> Text {
    let mut text = Text::new();
    text.say(Tone::Heading, model.model.name());
    text.say(
        Tone::Plain,
        &format!(
            "log likelihood {:.4}, AIC {:.3}, BIC {:.3}",
            model.log_likelihood, model.aic, model.bic
        ),
    );
    text.say(
        Tone::Drawing,
        &format!(
            "{:<NAME$} {:>8} {:>6} {:>7} {:>6} {:>6}",
            "item", "b", "se", "a", "infit", "outfit"
        ),
    );
    for item in &model.items {
        let name: String = item.item.chars().take(NAME).collect();
        text.say(
            Tone::Drawing,
            &format!(
                "{name:<NAME$} {:>8.4} {:>6.3} {:>7.4} {:>6.3} {:>6.3}",
                item.difficulty, item.difficulty_error, item.slope, item.infit, item.outfit
            ),
        );
    }
    if let Some(against) = &model.against {
        let verdict = if against.p < 0.05 {
            "the slopes differ"
        } else {
            "one slope is enough"
        };
        text.say(
            Tone::Plain,
            &format!(
                "Against {}: ratio {:.2} on {} degrees of freedom, p {:.3}: {verdict}.",
                against.model.name(),
                against.ratio,
                against.freedom,
                against.p
            ),
        );
    }
    text
}

fn agreement(found: Option<Intraclass>, kappas: &[Kappa]) -> Text {
    let mut text = Text::new();
    match found {
        Some(icc) => {
            text.say(Tone::Heading, "Intraclass correlation (Shrout and Fleiss)");
            for (name, one, mean) in [
                ("other raters each time", icc.icc_1_1, icc.icc_1_k),
                ("raters drawn, absolute", icc.icc_2_1, icc.icc_2_k),
                ("these raters, consistent", icc.icc_3_1, icc.icc_3_k),
            ] {
                text.say(
                    Tone::Drawing,
                    &format!("{name:<25} one {one:.4}  mean {mean:.4}"),
                );
            }
        }
        None => text.say(
            Tone::Caution,
            "The targets do not differ: no intraclass correlation.",
        ),
    }
    if kappas.is_empty() {
        let none =
            "No kappa: raters who all say one thing, or more than a hundred different values.";
        text.say(Tone::Caution, none);
    }
    for pair in kappas {
        text.say(
            Tone::Heading,
            &format!("Kappa of {} and {}", pair.one, pair.other),
        );
        text.say(
            Tone::Plain,
            &format!(
                "plain {:.6}, linear {:.6}, quadratic {:.6}; agree on {:.3}, by chance {:.3}",
                pair.plain, pair.linear, pair.quadratic, pair.agree, pair.by_chance
            ),
        );
    }
    text
}
