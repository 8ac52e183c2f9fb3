//! Laws that hold for every vehicle, fault and state, whatever the numbers.
//!
//! A few hundred cases run here; `HIDDEN_OHM_CASES=10000` runs more of them, `HIDDEN_OHM_FROM=10000` others. A failing case names its
//! number.

mod anything;
mod effort;
mod energy;
#[path = "../cases/figures.rs"]
#[allow(dead_code)]
mod figures;
mod linear;
mod monotone;
mod nonlinear;
mod pair;
mod sheet;
mod time;

use hidden_ohm::scenario::Library;

/// A number from the environment.
fn asked(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(
        text.parse()
            .unwrap_or_else(|_| panic!("{name}={text} is no number")),
    )
}

/// Cases that a law is tried on.
fn cases(usual: u64) -> std::ops::Range<u64> {
    let from = asked("HIDDEN_OHM_FROM").unwrap_or(0);
    from..from + asked("HIDDEN_OHM_CASES").unwrap_or(usual)
}

fn library() -> Library {
    Library::built_in().expect("the built-in files are right")
}
