//! What a table of responses says about its items, and how far it can be relied on.
//!
//! Classical figures (difficulty, discrimination, reliability) in [`classical`], latent-trait models in [`irt`] with
//! their fit in [`fit`], agreement of raters in [`raters`]. Sources stand beside each formula. Where a class is too
//! small for a figure there is none: see [`ENOUGH`].

pub mod chi_square;
pub mod classical;
pub mod fit;
pub mod irt;
pub mod quadrature;
pub mod raters;

use serde::Serialize;

use super::table::ResponseTable;
use classical::{ItemFigures, Reliability};
use fit::Fitted;
use irt::Model;

/// Learners below whom a figure is not given.
pub struct Enough {
    /// For the correlation of an item with the rest. At 30 its standard error is about 0.18; ours.
    pub discrimination: u64,
    /// For difficulties on the logit scale, one of which is then known to about 1 logit with 95 % confidence (16 to 36
    /// learners: Linacre, "Sample size and item calibration stability", Rasch Measurement Transactions 7:4, 1994).
    pub rasch: u64,
    /// For slopes that differ from item to item (several hundred to a thousand: standard literature, from memory).
    pub slopes: u64,
}

/// The limits in force.
pub const ENOUGH: Enough = Enough {
    discrimination: 30,
    rasch: 30,
    slopes: 500,
};

/// Everything about one table.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ItemReport {
    /// Learners in the table.
    pub learners: u64,
    /// Learners without a missing answer; the reliability is theirs.
    pub complete: u64,
    /// Each item, in the order of the table.
    pub items: Vec<ItemFigures>,
    /// How far the sum of the items can be relied on; nothing if no two learners differ.
    pub reliability: Option<Reliability>,
    /// The models that were fitted, the simplest first.
    pub models: Vec<Fitted>,
    /// What was not reckoned and why, one sentence each.
    pub withheld: Vec<String>,
}

/// Works through a table. `cut` makes graded scores passed or not for the models.
#[must_use]
pub fn report(table: &ResponseTable, cut: Option<f64>) -> ItemReport {
    let learners = table.learners();
    let complete = table.complete();
    let reliability = classical::reliability(&complete);
    let mut withheld = Vec::new();
    if learners < ENOUGH.discrimination {
        withheld.push(format!(
            "{learners} learners: no estimate of discrimination below {}.",
            ENOUGH.discrimination
        ));
    }
    if reliability.is_none() {
        withheld.push(
            "No two complete rows differ in their sum: no estimate of reliability.".to_owned(),
        );
    }
    let passed = cut.map_or_else(|| table.clone(), |cut| table.passed_at(cut));
    let mut models = Vec::new();
    if !passed.is_binary() {
        withheld.push(
            "Graded answers: no latent-trait model without a score that counts as passed."
                .to_owned(),
        );
    } else if learners < ENOUGH.rasch {
        withheld.push(format!(
            "{learners} learners: no estimate of difficulties in logits below {}.",
            ENOUGH.rasch
        ));
    } else {
        let wanted: &[Model] = if learners < ENOUGH.slopes {
            withheld.push(format!(
                "{learners} learners: no estimate of slopes item by item below {}.",
                ENOUGH.slopes
            ));
            &[Model::Rasch, Model::OneSlope]
        } else {
            &[Model::Rasch, Model::OneSlope, Model::Slopes]
        };
        for model in wanted {
            match fit::fit(&passed, *model) {
                Ok(fitted) => models.push(fitted),
                Err(error) => withheld.push(format!("{}: {error}.", model.name())),
            }
        }
    }
    ItemReport {
        learners,
        // Counts of learners are far below 2^52.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        complete: complete.iter().map(|(count, _)| *count).sum::<f64>() as u64,
        items: classical::items(table),
        reliability,
        models,
        withheld,
    }
}
