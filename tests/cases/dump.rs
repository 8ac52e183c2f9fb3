//! Prints what the checks against other programs need, one JSON object a line.
//!
//! `cases steady FIRST COUNT` gives the frozen network of each random case as a SPICE deck with our volts, `cases moving
//! FIRST COUNT` the start of its pump as a deck with our samples, where the deck's analog reaches, `cases points FIRST COUNT`
//! what the pump's steady point was solved from with our point, and what a lamp was solved from with our volts.

// Test support tells by printing, like every filter.
#![allow(clippy::print_stdout, missing_docs)]

#[path = "mod.rs"]
mod cases;
mod points;

use cases::{Spread, case};
use hidden_ohm::scenario::Library;
use serde_json::json;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize| arguments.get(at).and_then(|text| text.parse::<u64>().ok());
    let (Some(what), Some(first), Some(count)) = (arguments.first(), number(1), number(2)) else {
        panic!("usage: cases steady|moving|points FIRST COUNT");
    };
    let library = Library::built_in().expect("the built-in files are right");
    for number in first..first + count {
        let build = || case(&library, Spread::Damaged, number);
        if what == "points" {
            println!("{}", points::point(&build));
            continue;
        }
        let case = build();
        let about = case.about;
        if what == "moving" {
            let start = case.rig.start_up(0.5, 0.001).expect("a start");
            let samples: Vec<_> = start
                .trace
                .samples
                .iter()
                .map(|s| (s.t_s, s.amps, s.rad_s))
                .collect();
            println!(
                "{}",
                json!({ "about": about, "deck": start.deck, "samples": samples })
            );
            continue;
        }
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
