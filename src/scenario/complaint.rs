//! What a customer says, drawn from what the road test shows and never from the fault behind it.

use crate::rig::{DriveReport, Symptom};
use crate::seed::Stream;

/// Words for one symptom.
fn words(symptom: Symptom) -> &'static [&'static str] {
    match symptom {
        Symptom::HardlyCranks => &[
            "It groans when I turn the key and hardly goes round. I had to leave it at the quay.",
            "Slow, slower, nothing. The lights go dim when I try to start it.",
            "The starter sounds tired to death. The ferry queue was not amused.",
        ],
        Symptom::CranksWithoutFiring => &[
            "It turns over as lively as ever, but it won't catch. Not a cough.",
            "Died at the fish market and hasn't started since. The starter goes round fine.",
            "Yesterday it ran, this morning it turns and turns and nothing comes.",
        ],
        Symptom::CutsOut => &[
            "It starts, and then on the coast road it bucks and dies as if someone shut a tap.",
            "It'll idle, but as soon as I drive it stumbles, and twice it stopped altogether.",
            "Five minutes along the quay and it coughs itself out.",
        ],
        Symptom::FadesUnderLoad => &[
            "Runs fine along the quay. On the hill past the chapel it fades, as if it were being starved. Coasts down, and it's fine again.",
            "Empty it goes. Loaded, up to the lighthouse, it has nothing left at the top.",
            "It pulls, and then it doesn't, always where the road is steepest.",
        ],
        Symptom::RunsRich => &[
            "It drinks, and it smells of petrol behind the van.",
            "Black soot on the tailpipe and I fill up twice as often.",
        ],
        Symptom::LongCrankAfterStanding => &[
            "If it has stood for an hour I have to crank and crank. Straight after stopping it starts at once.",
            "First start of the morning takes an age; after that it's good all day.",
        ],
        Symptom::Whines => &[
            "There's a whine from under the back, worse when I push it.",
            "It howls from the tank like a dog left outside.",
        ],
    }
}

/// The complaint for what a drive shows; nothing if a driver would notice nothing.
pub(super) fn complaint(
    report: &DriveReport,
    fade_fraction: f64,
    stream: &mut Stream,
) -> Option<String> {
    let symptoms = report.symptoms(fade_fraction);
    let said: Vec<&str> = symptoms
        .iter()
        .take(2)
        .filter_map(|&symptom| stream.pick(words(symptom)).copied())
        .collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// What a customer's own words say was noticed, worst first; nothing if they are in nobody's usual words.
#[must_use]
pub fn symptoms_told(customer: &str) -> Vec<Symptom> {
    let all = [
        Symptom::HardlyCranks,
        Symptom::CranksWithoutFiring,
        Symptom::CutsOut,
        Symptom::FadesUnderLoad,
        Symptom::RunsRich,
        Symptom::LongCrankAfterStanding,
        Symptom::Whines,
    ];
    let told = |symptom: &Symptom| words(*symptom).iter().any(|line| customer.contains(line));
    all.into_iter().filter(told).collect()
}
