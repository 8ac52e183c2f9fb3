//! A trace drawn in plain characters, and the same stretch of it in words for whoever does not see a drawing.

use crate::instrument::Trace;

/// Columns of the drawing at most: with the scale and the indent it fits 80.
const COLUMNS: usize = 66;
/// Columns of the scale at its left.
const SCALE: usize = 10;
/// Fewer columns than this show no shape.
const LEAST_COLUMNS: usize = 12;
/// Rows of the drawing.
const ROWS: usize = 9;
/// Samples a column stands for: 0.2 ms a column make 13 ms across, a little over one turn of a pump at speed.
const SAMPLES: usize = 2;
/// The drawing never stretches less than this over its height, A.
const LEAST_HEIGHT_A: f64 = 0.1;
/// Below this height a trace is told as a flat line, A: a few of the screen's steps.
const FLAT_A: f64 = 0.04;
/// A hump has to fall by this share of the height before the next one begins.
const HUMP_SHARE: f64 = 0.2;
/// How many tops are read out one by one.
const TOPS: usize = 16;

/// The first columns of a trace, two samples each.
fn columns(trace: &Trace, most: usize) -> Vec<f64> {
    let chunks = trace.amps.chunks(SAMPLES).take(most);
    chunks
        .map(|chunk| chunk.iter().sum::<f64>() / chunk.len() as f64)
        .collect()
}

fn span(columns: &[f64]) -> (f64, f64) {
    let least = columns.iter().copied().fold(f64::INFINITY, f64::min);
    let most = columns.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (least, most)
}

fn milliseconds(trace: &Trace, columns: usize) -> f64 {
    columns as f64 * SAMPLES as f64 * trace.step_s * 1e3
}

/// What the drawing shows, read out: lowest and highest, and every hump with its top.
pub(super) fn words(trace: &Trace) -> Vec<String> {
    let columns = columns(trace, COLUMNS);
    let (least, most) = span(&columns);
    let across = milliseconds(trace, columns.len());
    if columns.is_empty() {
        return Vec::new();
    }
    if most - least < FLAT_A {
        return vec![format!(
            "Over the first {across:.1} ms a nearly flat line, from {least:.2} to {most:.2} A."
        )];
    }
    let tops = tops(&columns, (most - least) * HUMP_SHARE);
    let humps = match tops.as_slice() {
        [] => "without a hump that repeats".to_owned(),
        [top] => format!("one hump, its top at {top:.2} A"),
        tops => {
            let listed: Vec<String> = tops
                .iter()
                .take(TOPS)
                .map(|top| format!("{top:.2}"))
                .collect();
            let more = if tops.len() > TOPS { " and so on" } else { "" };
            let count = tops.len();
            format!(
                "{count} humps, their tops in turn {}{more} A",
                listed.join(", ")
            )
        }
    };
    vec![format!(
        "Over the first {across:.1} ms from {least:.2} to {most:.2} A, {humps}."
    )]
}

/// The top of every hump that stands out by `height` on both sides.
fn tops(columns: &[f64], height: f64) -> Vec<f64> {
    let mut tops = Vec::new();
    let (mut low, mut high, mut rising) = (f64::INFINITY, f64::NEG_INFINITY, false);
    for &amps in columns {
        if rising {
            high = high.max(amps);
            if amps < high - height {
                tops.push(high);
                (rising, low) = (false, amps);
            }
        } else {
            low = low.min(amps);
            if amps > low + height {
                (rising, high) = (true, amps);
            }
        }
    }
    tops
}

/// The first stretch of a trace as rows of text at most `width` wide, the current at the left, the time below.
pub(super) fn rows(trace: &Trace, width: usize) -> Vec<String> {
    let room = width.saturating_sub(SCALE).clamp(LEAST_COLUMNS, COLUMNS);
    let columns = columns(trace, room);
    let (least, most) = span(&columns);
    if columns.is_empty() {
        return Vec::new();
    }
    // A flat line stands in the middle of a span that still has a scale.
    let (low, high) = if most - least < LEAST_HEIGHT_A {
        (least - LEAST_HEIGHT_A / 2.0, most + LEAST_HEIGHT_A / 2.0)
    } else {
        (least, most)
    };
    let last = (ROWS - 1) as f64;
    let stands_in =
        |amps: f64, row: usize| libm::round((high - amps) / (high - low) * last) == row as f64;
    let mut rows: Vec<String> = (0..ROWS)
        .map(|row| {
            let scale = if row == 0 || row == ROWS - 1 || row == ROWS / 2 {
                format!("{:6.2} A |", high - (high - low) * row as f64 / last)
            } else {
                "         |".to_owned()
            };
            let dots = columns
                .iter()
                .map(|&amps| if stands_in(amps, row) { '*' } else { ' ' });
            format!("{scale}{}", dots.collect::<String>())
                .trim_end()
                .to_owned()
        })
        .collect();
    let across = milliseconds(trace, columns.len());
    rows.push(format!(
        "{:SCALE$}0 to {across:.1} ms of {:.0} ms",
        "",
        trace.amps.len() as f64 * trace.step_s * 1e3
    ));
    rows
}
