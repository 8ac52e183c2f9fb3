//! Laws that hold for every vehicle, fault and state, whatever the numbers.
//!
//! A few hundred cases run here; `HIDDEN_OHM_CASES=10000` runs more of them. A failing case names its number.

mod anything;
mod effort;
mod energy;
mod linear;
mod monotone;
mod nonlinear;
mod sheet;

use hidden_ohm::scenario::Library;

/// Cases that a law is tried on.
fn cases(usual: u64) -> std::ops::Range<u64> {
    let asked = std::env::var("HIDDEN_OHM_CASES").ok();
    0..asked.and_then(|text| text.parse().ok()).unwrap_or(usual)
}

fn library() -> Library {
    Library::built_in().unwrap_or_else(|found| {
        panic!(
            "{}",
            found
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join("\n")
        )
    })
}
