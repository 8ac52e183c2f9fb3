//! A trace drawn in plain characters, one column a sample, so that a pipe and a screen reader keep it.

use crate::instrument::Trace;

/// Columns of the drawing: with the scale and the indent it fits 80.
const COLUMNS: usize = 66;
/// Rows of the drawing.
const ROWS: usize = 9;
/// Samples a column stands for: 0.2 ms a column make 13 ms across, a little over one turn of a pump at speed.
const SAMPLES: usize = 2;

/// The first stretch of a trace as rows of text, the current at the left, the time below.
pub(super) fn rows(trace: &Trace) -> Vec<String> {
    let columns: Vec<f64> = trace
        .amps
        .chunks(SAMPLES)
        .take(COLUMNS)
        .map(|chunk| chunk.iter().sum::<f64>() / chunk.len() as f64)
        .collect();
    let least = columns.iter().copied().fold(f64::INFINITY, f64::min);
    let most = columns.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if columns.is_empty() {
        return Vec::new();
    }
    // A flat line stands in the middle of a span that still has a scale.
    let (low, high) = if most - least < 0.1 {
        (least - 0.05, most + 0.05)
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
    let across = columns.len() as f64 * SAMPLES as f64 * trace.step_s * 1e3;
    rows.push(format!(
        "          0 to {across:.1} ms of {:.0} ms",
        trace.amps.len() as f64 * trace.step_s * 1e3
    ));
    rows
}
