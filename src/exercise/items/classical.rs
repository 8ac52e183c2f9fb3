//! Difficulty, discrimination and reliability from sums and covariances.
//!
//! Alpha: Cronbach, "Coefficient alpha and the internal structure of tests", Psychometrika 16, 1951; for 0/1 items it
//! is KR-20 of Kuder and Richardson, 1937, whose KR-21 needs mean and variance only. Standard error of alpha: van Zyl,
//! Neudecker and Nel, Psychometrika 65, 2000, in the form of Duhachek and Iacobucci, 2004 (normal theory). Interval of a
//! share: Wilson, 1927. All formulas quoted from memory of the standard literature.

use serde::Serialize;

use super::super::table::ResponseTable;
use super::ENOUGH;

/// 97.5 % point of the standard normal distribution.
const Z95: f64 = 1.959_963_984_540_054;

/// One item.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ItemFigures {
    /// Its name.
    pub item: String,
    /// Answers to it.
    pub answers: u64,
    /// Mean score.
    pub mean: f64,
    /// Mean as a share of the highest score seen in the table: for 0/1 items the share that got it right.
    pub difficulty: f64,
    /// 95 % interval of the share; nothing for graded items.
    pub interval: Option<(f64, f64)>,
    /// Correlation with the sum of all items (point-biserial for 0/1); nothing for small classes or without variance.
    pub point_biserial: Option<f64>,
    /// Correlation with the sum of the other items.
    pub discrimination: Option<f64>,
    /// Alpha of the other items.
    pub alpha_without: Option<f64>,
}

/// How far sums of items can be relied on.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Reliability {
    /// Learners it rests on.
    pub learners: f64,
    /// Items.
    pub items: usize,
    /// Mean of the sums.
    pub mean: f64,
    /// Standard deviation of the sums.
    pub deviation: f64,
    /// Cronbach's alpha; KR-20 for 0/1 items.
    pub alpha: f64,
    /// Standard error of alpha.
    pub alpha_error: f64,
    /// 95 % interval of alpha.
    pub alpha_interval: (f64, f64),
    /// KR-21, for 0/1 items.
    pub kr21: Option<f64>,
    /// Standard error of measurement of a sum.
    pub measurement_error: f64,
    /// Times this set of items that reach a reliability of 0.8 (Spearman-Brown); nothing where alpha is not above zero.
    pub lengths_for_080: Option<f64>,
}

/// Reliability of `m` times as many items of the same kind (Spearman 1910, Brown 1910).
#[must_use]
pub fn spearman_brown(reliability: f64, m: f64) -> f64 {
    m * reliability / (1.0 + (m - 1.0) * reliability)
}

/// Times as many items of the same kind that reach `target`.
#[must_use]
pub fn lengths_for(reliability: f64, target: f64) -> Option<f64> {
    (reliability > 0.0 && reliability < 1.0)
        .then(|| target * (1.0 - reliability) / (reliability * (1.0 - target)))
}

/// Sample covariances (divisor n - 1) of the columns of weighted rows, with their means and the number of learners.
fn covariances(rows: &[(f64, Vec<f64>)]) -> (f64, Vec<f64>, Vec<Vec<f64>>) {
    let n: f64 = rows.iter().map(|(count, _)| count).sum();
    let k = rows.first().map_or(0, |(_, scores)| scores.len());
    let mut means = vec![0.0; k];
    for (count, scores) in rows {
        for (mean, score) in means.iter_mut().zip(scores) {
            *mean += count * score / n;
        }
    }
    let mut all = vec![vec![0.0; k]; k];
    for (count, scores) in rows {
        for i in 0..k {
            for j in 0..k {
                all[i][j] += count * (scores[i] - means[i]) * (scores[j] - means[j]) / (n - 1.0);
            }
        }
    }
    (n, means, all)
}

fn sum(matrix: &[Vec<f64>]) -> f64 {
    matrix.iter().flatten().sum()
}

fn alpha_of(matrix: &[Vec<f64>]) -> Option<f64> {
    let k = matrix.len() as f64;
    let trace: f64 = (0..matrix.len()).map(|i| matrix[i][i]).sum();
    let whole = sum(matrix);
    (k > 1.0 && whole > 0.0).then(|| k / (k - 1.0) * (1.0 - trace / whole))
}

/// Reliability of complete rows; nothing if there are not two learners or no two sums differ.
#[must_use]
pub fn reliability(rows: &[(f64, Vec<f64>)]) -> Option<Reliability> {
    let (n, means, v) = covariances(rows);
    if n < 2.0 {
        return None;
    }
    let alpha = alpha_of(&v)?;
    let (k, whole) = (v.len() as f64, sum(&v));
    let trace: f64 = (0..v.len()).map(|i| v[i][i]).sum();
    let square: f64 = v.iter().flatten().map(|c| c * c).sum();
    let rows_of = |row: &Vec<f64>| row.iter().sum::<f64>();
    // 1'V^2 1 is the sum of the squares of the row sums, V being symmetric.
    let spread: f64 = v.iter().map(|row| rows_of(row) * rows_of(row)).sum();
    let q = 2.0 * k * k / ((k - 1.0) * (k - 1.0) * whole * whole * whole)
        * (whole * (square + trace * trace) - 2.0 * trace * spread);
    let alpha_error = (q.max(0.0) / n).sqrt();
    let binary = rows
        .iter()
        .all(|(_, scores)| scores.iter().all(|s| *s == 0.0 || *s == 1.0));
    let mean: f64 = means.iter().sum();
    Some(Reliability {
        learners: n,
        items: v.len(),
        mean,
        deviation: whole.sqrt(),
        alpha,
        alpha_error,
        alpha_interval: (
            alpha - Z95 * alpha_error,
            (alpha + Z95 * alpha_error).min(1.0),
        ),
        // Kuder and Richardson's own variance has the divisor n, as p(1-p) has.
        kr21: binary.then(|| {
            let variance = whole * (n - 1.0) / n;
            k / (k - 1.0) * (1.0 - mean * (k - mean) / (k * variance))
        }),
        measurement_error: (whole * (1.0 - alpha).max(0.0)).sqrt(),
        lengths_for_080: lengths_for(alpha, 0.8),
    })
}

/// Wilson's 95 % interval of a share.
#[must_use]
pub fn wilson(share: f64, n: f64) -> (f64, f64) {
    let z2 = Z95 * Z95;
    let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z95 / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

/// The figures of every item.
#[must_use]
pub fn items(table: &ResponseTable) -> Vec<ItemFigures> {
    let complete = table.complete();
    let (n, _, v) = covariances(&complete);
    let enough = n >= ENOUGH.discrimination as f64;
    let binary = table.is_binary();
    let highest = table
        .rows
        .iter()
        .flat_map(|row| row.scores.iter().flatten())
        .fold(0.0_f64, |most, score| most.max(*score));
    let one = |(i, item): (usize, &String)| {
        let answered = table
            .rows
            .iter()
            .filter_map(|row| Some((f64::from(row.count), row.scores[i]?)));
        let (mut answers, mut total) = (0.0, 0.0);
        for (count, score) in answered {
            answers += count;
            total += count * score;
        }
        let mean = if answers > 0.0 { total / answers } else { 0.0 };
        let difficulty = if highest > 0.0 { mean / highest } else { 0.0 };
        let with = |cov: f64, other: f64| {
            let own = v.get(i).map_or(0.0, |row| row[i]);
            (enough && own > 0.0 && other > 0.0).then(|| cov / (own * other).sqrt())
        };
        let (row, own) = v
            .get(i)
            .map_or((0.0, 0.0), |row| (row.iter().sum(), row[i]));
        let whole = sum(&v);
        let without: Vec<Vec<f64>> = (0..v.len())
            .filter(|a| *a != i)
            .map(|a| (0..v.len()).filter(|b| *b != i).map(|b| v[a][b]).collect())
            .collect();
        ItemFigures {
            item: item.clone(),
            // Counts of learners are far below 2^52.
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            answers: answers as u64,
            mean,
            difficulty,
            interval: (binary && answers > 0.0).then(|| wilson(difficulty, answers)),
            point_biserial: with(row, whole),
            discrimination: with(row - own, whole - 2.0 * row + own),
            alpha_without: if enough { alpha_of(&without) } else { None },
        }
    };
    table.items.iter().enumerate().map(one).collect()
}
