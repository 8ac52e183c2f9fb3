//! Into which ranges a reading is best put, for planning.

use super::information::{Predicted, expected_bits};
use super::mixture::normal_below;

/// Ranges a reading is put into at most.
const OUTCOMES: usize = 4;
/// Places where a range may end.
const CUTS: usize = 10;
/// Share of the spread of outcomes that another range has to add.
const WORTH: f64 = 0.01;

/// The ranges that tell most, the bits they tell and in which of them each hypothesis falls most likely; nothing if none
/// tells anything.
///
/// Where to cut is chosen by the spread of outcomes between hypotheses (the quadratic kin of information, which needs no
/// logarithm); what the chosen ranges tell is then worked out in bits.
pub(super) fn ranges(prior: &[f64], predicted: &[Predicted]) -> Option<(f64, Vec<u8>)> {
    let mut means: Vec<f64> = predicted.iter().map(|p| p.mean).collect();
    means.sort_by(f64::total_cmp);
    // The widest gaps between neighbouring predictions are where ranges may end.
    let mut gaps: Vec<(f64, f64)> = means
        .windows(2)
        .map(|pair| (pair[1] - pair[0], f64::midpoint(pair[0], pair[1])))
        .filter(|(gap, _)| *gap > 0.0)
        .collect();
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.total_cmp(&b.1)));
    gaps.truncate(CUTS);
    let mut cuts: Vec<f64> = gaps.into_iter().map(|(_, cut)| cut).collect();
    cuts.sort_by(f64::total_cmp);
    let below: Vec<Vec<f64>> = cuts
        .iter()
        .map(|cut| {
            let chance = |p: &Predicted| normal_below((cut - p.mean) / p.sigma);
            predicted.iter().map(chance).collect()
        })
        .collect();
    let mut chosen: Vec<usize> = Vec::new();
    let mut best = 0.0;
    while chosen.len() + 1 < OUTCOMES {
        let mut found: Option<(f64, usize)> = None;
        for cut in (0..cuts.len()).filter(|cut| !chosen.contains(cut)) {
            let mut with = chosen.clone();
            with.push(cut);
            with.sort_unstable();
            let spread = spread(prior, &below, &with);
            if found.is_none_or(|(most, _)| spread > most) {
                found = Some((spread, cut));
            }
        }
        match found {
            Some((spread, cut)) if spread > best + WORTH => {
                best = spread;
                chosen.push(cut);
                chosen.sort_unstable();
            }
            _ => break,
        }
    }
    if chosen.is_empty() {
        return None;
    }
    let rows: Vec<Vec<f64>> = (0..prior.len()).map(|h| row(&below, &chosen, h)).collect();
    let likeliest = |row: &Vec<f64>| {
        let best =
            (0..row.len()).reduce(|best, next| if row[next] > row[best] { next } else { best });
        u8::try_from(best.unwrap_or(0)).unwrap_or(0)
    };
    Some((
        expected_bits(prior, &rows),
        rows.iter().map(likeliest).collect(),
    ))
}

/// Chance of each range under one hypothesis.
fn row(below: &[Vec<f64>], cuts: &[usize], h: usize) -> Vec<f64> {
    let mut last = 0.0;
    let mut row = Vec::with_capacity(cuts.len() + 1);
    for &cut in cuts {
        row.push(below[cut][h] - last);
        last = below[cut][h];
    }
    row.push(1.0 - last);
    row
}

/// How much the outcomes differ between hypotheses: the mean square of their chances less the square of the mean.
fn spread(prior: &[f64], below: &[Vec<f64>], cuts: &[usize]) -> f64 {
    let mut mean = [0.0; OUTCOMES];
    let mut squares = 0.0;
    for (h, &p) in prior.iter().enumerate() {
        let mut last = 0.0;
        for (outcome, sum) in mean.iter_mut().enumerate().take(cuts.len() + 1) {
            let up_to = cuts.get(outcome).map_or(1.0, |&cut| below[cut][h]);
            let chance = up_to - last;
            last = up_to;
            *sum += p * chance;
            squares += p * chance * chance;
        }
    }
    squares - mean.iter().map(|m| m * m).sum::<f64>()
}
