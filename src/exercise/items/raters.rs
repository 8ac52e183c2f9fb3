//! How far raters agree: intraclass correlation and kappa. Targets in rows, raters in columns.
//!
//! Shrout and Fleiss, "Intraclass correlations: uses in assessing rater reliability", Psychological Bulletin 86, 1979;
//! Cohen, "A coefficient of agreement for nominal scales", 1960, and "Weighted kappa", 1968.

use serde::Serialize;

/// Categories that two raters can be held against each other by.
const MOST_CATEGORIES: usize = 100;

/// The six coefficients of Shrout and Fleiss with the mean squares they come from.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Intraclass {
    /// Mean square between targets.
    pub ms_targets: f64,
    /// Mean square within targets.
    pub ms_within: f64,
    /// Mean square between raters.
    pub ms_raters: f64,
    /// Residual mean square.
    pub ms_error: f64,
    /// Each target judged by other raters, one rating: ICC(1,1).
    pub icc_1_1: f64,
    /// Raters drawn from many, absolute agreement, one rating: ICC(2,1).
    pub icc_2_1: f64,
    /// These raters only, consistency, one rating: ICC(3,1).
    pub icc_3_1: f64,
    /// As ICC(1,1), mean of all raters.
    pub icc_1_k: f64,
    /// As ICC(2,1), mean of all raters.
    pub icc_2_k: f64,
    /// As ICC(3,1), mean of all raters; equals alpha.
    pub icc_3_k: f64,
}

/// Agreement of two raters on categories.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Kappa {
    /// One rater.
    pub one: String,
    /// The other.
    pub other: String,
    /// Share on which they agree.
    pub agree: f64,
    /// Share on which they would agree by chance.
    pub by_chance: f64,
    /// Every disagreement counts alike.
    pub plain: f64,
    /// A disagreement counts by its steps.
    pub linear: f64,
    /// A disagreement counts by the square of its steps.
    pub quadratic: f64,
}

/// The intraclass correlations of a full table; nothing for fewer than two targets or raters, or without variance.
#[must_use]
pub fn intraclass(rows: &[(f64, Vec<f64>)]) -> Option<Intraclass> {
    let n: f64 = rows.iter().map(|(count, _)| count).sum();
    let raters = rows.first()?.1.len();
    let k = raters as f64;
    if n < 2.0 || raters < 2 {
        return None;
    }
    let whole: f64 = rows
        .iter()
        .map(|(count, row)| count * row.iter().sum::<f64>())
        .sum();
    let grand = whole / (n * k);
    let square = |x: f64| x * x;
    let (mut targets, mut within) = (0.0, 0.0);
    for (count, row) in rows {
        let mean = row.iter().sum::<f64>() / k;
        targets += count * k * square(mean - grand);
        within += count * row.iter().map(|x| square(x - mean)).sum::<f64>();
    }
    let column = |j: usize| rows.iter().map(|(count, row)| count * row[j]).sum::<f64>() / n;
    let between: f64 = (0..raters).map(|j| n * square(column(j) - grand)).sum();
    let ms_targets = targets / (n - 1.0);
    let ms_within = within / (n * (k - 1.0));
    let ms_raters = between / (k - 1.0);
    let ms_error = (within - between) / ((n - 1.0) * (k - 1.0));
    if ms_targets <= 0.0 {
        return None;
    }
    Some(Intraclass {
        ms_targets,
        ms_within,
        ms_raters,
        ms_error,
        icc_1_1: (ms_targets - ms_within) / (ms_targets + (k - 1.0) * ms_within),
        icc_2_1: (ms_targets - ms_error)
            / (ms_targets + (k - 1.0) * ms_error + k * (ms_raters - ms_error) / n),
        icc_3_1: (ms_targets - ms_error) / (ms_targets + (k - 1.0) * ms_error),
        icc_1_k: (ms_targets - ms_within) / ms_targets,
        icc_2_k: (ms_targets - ms_error) / (ms_targets + (ms_raters - ms_error) / n),
        icc_3_k: (ms_targets - ms_error) / ms_targets,
    })
}

/// Kappa of two columns. The categories are the different values, in order; nothing if chance alone would agree fully, or
/// if there are more than a hundred values, which are no categories any more.
#[must_use]
pub fn kappa(
    names: &[String],
    rows: &[(f64, Vec<f64>)],
    one: usize,
    other: usize,
) -> Option<Kappa> {
    let mut values: Vec<f64> = rows
        .iter()
        .flat_map(|(_, row)| [row[one], row[other]])
        .collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    let place = |value: f64| values.iter().position(|known| *known == value).unwrap_or(0);
    let n: f64 = rows.iter().map(|(count, _)| count).sum();
    let k = values.len();
    if k > MOST_CATEGORIES {
        return None;
    }
    let mut table = vec![vec![0.0; k]; k];
    for (count, row) in rows {
        table[place(row[one])][place(row[other])] += count / n;
    }
    let by_row: Vec<f64> = table.iter().map(|row| row.iter().sum()).collect();
    let by_column: Vec<f64> = (0..k)
        .map(|j| table.iter().map(|row| row[j]).sum())
        .collect();
    // One less the observed over the expected disagreement.
    let weighted = |weight: &dyn Fn(usize) -> f64| {
        let (mut seen, mut chance) = (0.0, 0.0);
        for i in 0..k {
            for j in 0..k {
                let weight = weight(i.abs_diff(j));
                seen += weight * table[i][j];
                chance += weight * by_row[i] * by_column[j];
            }
        }
        (chance > 0.0).then(|| 1.0 - seen / chance)
    };
    Some(Kappa {
        one: names[one].clone(),
        other: names[other].clone(),
        agree: (0..k).map(|i| table[i][i]).sum(),
        by_chance: (0..k).map(|i| by_row[i] * by_column[i]).sum(),
        plain: weighted(&|steps| f64::from(u8::from(steps > 0)))?,
        linear: weighted(&|steps| steps as f64)?,
        quadratic: weighted(&|steps| (steps * steps) as f64)?,
    })
}
