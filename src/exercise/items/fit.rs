//! Fitting a latent-trait model: the parameters of greatest marginal likelihood, their errors, and how well it fits.

use serde::Serialize;
use thiserror::Error;

use super::super::table::ResponseTable;
use super::chi_square;
use super::irt::{Likelihood, Model, Weighed};
use crate::numeric::Lu;

/// Steps of the search before it is given up.
const MOST_STEPS: usize = 500;
/// Slopes per learner of the log likelihood that count as none.
const FLAT: f64 = 1e-9;

/// One item under a model.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ItemEstimate {
    /// Its name.
    pub item: String,
    /// Slope a.
    pub slope: f64,
    /// Standard error of the slope; nothing where it is fixed.
    pub slope_error: Option<f64>,
    /// Difficulty b, logits of a learner with even chances.
    pub difficulty: f64,
    /// Standard error of the difficulty.
    pub difficulty_error: f64,
    /// Unweighted mean square of the residuals, near 1 where the model holds.
    pub outfit: f64,
    /// The same, weighted by information.
    pub infit: f64,
}

/// One pattern of answers under a model.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Ability {
    /// Answers: `1` right, `0` wrong, `-` missing.
    pub answers: String,
    /// Learners who gave it.
    pub learners: f64,
    /// Posterior mean of the trait (EAP).
    pub ability: f64,
    /// Posterior standard deviation.
    pub error: f64,
}

/// A model held against a simpler one.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Against {
    /// The simpler model.
    pub model: Model,
    /// Twice the difference of the log likelihoods.
    pub ratio: f64,
    /// Parameters more.
    pub freedom: usize,
    /// Chance of a difference at least as large if the simpler one is right.
    pub p: f64,
}

/// A fitted model.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Fitted {
    /// Which.
    pub model: Model,
    /// Natural logarithm of the likelihood.
    pub log_likelihood: f64,
    /// Akaike's criterion.
    pub aic: f64,
    /// Schwarz's criterion.
    pub bic: f64,
    /// The items.
    pub items: Vec<ItemEstimate>,
    /// The patterns that occur.
    pub abilities: Vec<Ability>,
    /// Against one slope for all, where each has its own.
    pub against: Option<Against>,
}

/// Why there is no estimate.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum FitError {
    /// An item that tells nobody apart.
    #[error(
        "everybody answered `{item}` alike, so it has no difficulty in logits; leave the column out"
    )]
    NoVariance {
        /// The item.
        item: String,
    },
    /// The search found no top.
    #[error(
        "the likelihood has no top that could be found; the answers may be too few or contradict the model"
    )]
    NoTop,
}

/// Fits a model to a table of 0/1 answers.
///
/// # Errors
/// [`FitError`] when an item has no variance or the likelihood no top.
pub fn fit(table: &ResponseTable, model: Model) -> Result<Fitted, FitError> {
    for (at, item) in table.items.iter().enumerate() {
        let mut answers = table.rows.iter().filter_map(|row| row.scores[at]);
        let first = answers.next();
        if answers.all(|answer| Some(answer) == first) {
            return Err(FitError::NoVariance { item: item.clone() });
        }
    }
    let likelihood = Likelihood::new(table, model);
    let parameters = climb(&likelihood)?;
    let items = table.items.len();
    let covariance = covariance(&likelihood, &parameters)?;
    let squares = likelihood.mean_squares(&parameters);
    let estimate = |at: usize| {
        let (slope, d) = likelihood.item(&parameters, at);
        let free = match model {
            Model::Rasch => None,
            Model::OneSlope => Some(items),
            Model::Slopes => Some(items + at),
        };
        // b = -d / a: its slopes are -1/a in d and d/a^2 in a.
        let (in_d, in_a) = (-1.0 / slope, d / (slope * slope));
        let mut variance = in_d * in_d * covariance[at][at];
        if let Some(free) = free {
            variance +=
                2.0 * in_d * in_a * covariance[at][free] + in_a * in_a * covariance[free][free];
        }
        ItemEstimate {
            item: table.items[at].clone(),
            slope,
            slope_error: free.map(|free| covariance[free][free].max(0.0).sqrt()),
            difficulty: -d / slope,
            difficulty_error: variance.max(0.0).sqrt(),
            outfit: squares[at].0,
            infit: squares[at].1,
        }
    };
    let top = likelihood.weigh(&parameters).log_likelihood;
    let free = parameters.len() as f64;
    let against = (model == Model::Slopes)
        .then(|| fit(table, Model::OneSlope))
        .transpose()?;
    Ok(Fitted {
        model,
        log_likelihood: top,
        aic: 2.0 * free - 2.0 * top,
        bic: free * libm::log(likelihood.learners()) - 2.0 * top,
        items: (0..items).map(estimate).collect(),
        abilities: abilities(&likelihood, &parameters),
        against: against.map(|simpler| {
            let ratio = (2.0 * (top - simpler.log_likelihood)).max(0.0);
            let freedom = model.parameters(items) - simpler.model.parameters(items);
            Against {
                model: simpler.model,
                ratio,
                freedom,
                p: chi_square::upper_tail(ratio, freedom as f64),
            }
        }),
    })
}

fn abilities(likelihood: &Likelihood, parameters: &[f64]) -> Vec<Ability> {
    let shown = |answer: &u8| match answer {
        0 => '0',
        1 => '1',
        _ => '-',
    };
    let all = likelihood.abilities(parameters).into_iter();
    all.map(|(pattern, learners, ability, error)| Ability {
        answers: pattern.iter().map(shown).collect(),
        learners,
        ability,
        error,
    })
    .collect()
}

/// Quasi-Newton ascent (Broyden, Fletcher, Goldfarb and Shanno) with step halving.
fn climb(likelihood: &Likelihood) -> Result<Vec<f64>, FitError> {
    let mut at = likelihood.start();
    let k = at.len();
    let flat = FLAT * likelihood.learners();
    let mut here = likelihood.weigh(&at);
    // Inverse curvature, at first that of a learner's answer at even chances.
    let first = 4.0 / likelihood.learners();
    let mut inverse: Vec<Vec<f64>> = (0..k)
        .map(|i| (0..k).map(|j| if i == j { first } else { 0.0 }).collect())
        .collect();
    for _ in 0..MOST_STEPS {
        if here.gradient.iter().all(|slope| libm::fabs(*slope) < flat) {
            return Ok(at);
        }
        let direction: Vec<f64> = inverse.iter().map(|row| dot(row, &here.gradient)).collect();
        let Some((step, next)) = line_search(likelihood, &at, &here, &direction) else {
            break;
        };
        let s: Vec<f64> = direction.iter().map(|d| d * step).collect();
        // The curvature of the negative log likelihood, which is what the inverse is of.
        let y: Vec<f64> = here
            .gradient
            .iter()
            .zip(&next.gradient)
            .map(|(old, new)| old - new)
            .collect();
        for (x, s) in at.iter_mut().zip(&s) {
            *x += s;
        }
        here = next;
        renew(&mut inverse, &s, &y);
    }
    // A top so flat that no step gains any more in the last digits is a top.
    let nearly = 1e4 * flat;
    if here
        .gradient
        .iter()
        .all(|slope| libm::fabs(*slope) < nearly)
    {
        Ok(at)
    } else {
        Err(FitError::NoTop)
    }
}

fn line_search(
    likelihood: &Likelihood,
    at: &[f64],
    here: &Weighed,
    direction: &[f64],
) -> Option<(f64, Weighed)> {
    let rise = dot(direction, &here.gradient);
    let mut step = 1.0;
    for _ in 0..40 {
        let tried: Vec<f64> = at
            .iter()
            .zip(direction)
            .map(|(x, d)| x + step * d)
            .collect();
        let there = likelihood.weigh(&tried);
        if there.log_likelihood.is_finite()
            && there.log_likelihood > here.log_likelihood + 1e-4 * step * rise
        {
            return Some((step, there));
        }
        step /= 2.0;
    }
    None
}

fn renew(inverse: &mut [Vec<f64>], s: &[f64], y: &[f64]) {
    let sy = dot(s, y);
    if sy <= 1e-14 {
        return;
    }
    let hy: Vec<f64> = inverse.iter().map(|row| dot(row, y)).collect();
    let yhy = dot(y, &hy);
    for i in 0..s.len() {
        for j in 0..s.len() {
            inverse[i][j] +=
                (1.0 + yhy / sy) * s[i] * s[j] / sy - (hy[i] * s[j] + s[i] * hy[j]) / sy;
        }
    }
}

/// Inverse of the observed information, by central differences of the slope.
fn covariance(likelihood: &Likelihood, parameters: &[f64]) -> Result<Vec<Vec<f64>>, FitError> {
    const STEP: f64 = 1e-4;
    let k = parameters.len();
    let mut information = vec![vec![0.0; k]; k];
    for j in 0..k {
        let slope = |step: f64| {
            let mut moved = parameters.to_vec();
            moved[j] += step;
            likelihood.weigh(&moved).gradient
        };
        let (up, down) = (slope(STEP), slope(-STEP));
        for i in 0..k {
            information[i][j] = (down[i] - up[i]) / (2.0 * STEP);
        }
    }
    let mut lu = Lu::default();
    let entries = lu.begin(k);
    for i in 0..k {
        for j in 0..k {
            entries[i * k + j] = f64::midpoint(information[i][j], information[j][i]);
        }
    }
    lu.factor().map_err(|_| FitError::NoTop)?;
    // The information is symmetric, so the columns of its inverse are its rows.
    let mut column = |j: usize| {
        let mut unit = vec![0.0; k];
        unit[j] = 1.0;
        lu.solve(&mut unit);
        unit
    };
    Ok((0..k).map(&mut column).collect())
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
