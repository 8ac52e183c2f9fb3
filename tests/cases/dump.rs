//! Prints what the checks against other programs need, one JSON object a line.
//!
//! `cases steady FIRST COUNT` gives the frozen network of each random case as a SPICE deck with our volts.

// Test support tells by printing, like every filter.
#![allow(clippy::print_stdout, missing_docs)]

#[path = "mod.rs"]
mod cases;

use cases::{Spread, case};
use hidden_ohm::scenario::Library;
use serde_json::json;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize| arguments.get(at).and_then(|text| text.parse::<u64>().ok());
    let (Some(what), Some(first), Some(count)) = (arguments.first(), number(1), number(2)) else {
        panic!("usage: cases steady|anything FIRST COUNT");
    };
    let spread = match what.as_str() {
        "steady" => Spread::Damaged,
        "anything" => Spread::Anything,
        other => panic!("`{other}` is neither steady nor anything"),
    };
    let library = Library::built_in().unwrap_or_else(|found| panic!("{} mistakes", found.len()));
    for number in first..first + count {
        let case = case(&library, spread, number);
        let about = case.about;
        let ladder = case
            .rig
            .ladder(case.key, case.pump_on, case.moment)
            .expect("a solution");
        let line = json!({
            "about": about,
            "deck": ladder.spice(&about),
            "volts": ladder.nodes,
            "reference": ladder.reference,
        });
        println!("{line}");
    }
}
