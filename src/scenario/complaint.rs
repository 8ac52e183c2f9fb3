//! What a customer says, drawn from what the road test shows and never from the fault behind it.

use crate::rig::Symptom;
use crate::seed::Stream;

/// Everything a driver may notice, worst first.
const ALL: [Symptom; 9] = [
    Symptom::HardlyCranks,
    Symptom::CranksWithoutFiring,
    Symptom::CutsOut,
    Symptom::FadesUnderLoad,
    Symptom::RunsRich,
    Symptom::LongCrankAfterStanding,
    Symptom::Whines,
    Symptom::LongCrank,
    Symptom::RunsOn,
];

/// Words for one symptom.
fn words(symptom: Symptom) -> &'static [&'static str] {
    match symptom {
        Symptom::HardlyCranks => &[
            "It groans when I turn the key and hardly goes round. I had to leave it at the quay.",
            "Slow, slower, nothing. The lights go dim when I try to start it.",
            "The starter sounds half asleep. The ferry queue was not amused.",
            "It clicks and sighs at me. Yesterday it still went round, sort of.",
        ],
        Symptom::CranksWithoutFiring => &[
            "It turns over as lively as ever, but it won't catch. Not a cough.",
            "Died at the fish market and hasn't started since. The starter goes round fine.",
            "Yesterday it ran, this morning it turns and turns and nothing comes.",
            "It spins and spins. My daughter pushed it into the yard.",
            "Goes round like a mill, never fires. You can hear the whole street listening.",
        ],
        Symptom::CutsOut => &[
            "It starts, and then on the coast road it bucks and dies as if someone shut a tap.",
            "It'll idle, but as soon as I drive it stumbles, and twice it stopped altogether.",
            "Five minutes along the quay and it coughs itself out.",
            "Ticks over sweetly in the yard. Past the church it jerks and gives up.",
        ],
        Symptom::FadesUnderLoad => &[
            "Runs fine along the quay. On the hill past the chapel it fades, as if it were being starved. Coasts down, and it's fine again.",
            "Empty it goes. Loaded, up to the lighthouse, it has nothing left at the top.",
            "It pulls, and then it doesn't, always where the road is steepest.",
            "On the level you'd never know. Up to the quarry with a load, second gear and praying.",
            "It gets up the first half of the hill like it used to. The second half we walk.",
        ],
        Symptom::RunsRich => &[
            "It drinks, and it smells of petrol behind the van.",
            "Black soot on the tailpipe and I fill up twice as often.",
            "My wife says it stinks, and the fuel bill says the same.",
        ],
        Symptom::LongCrankAfterStanding => &[
            "If it has stood for an hour I have to crank and crank. Straight after stopping it starts at once.",
            "First start of the morning takes an age; after that it's good all day.",
            "After the tea break it wants coaxing. Otherwise it goes first time.",
        ],
        Symptom::Whines => &[
            "There's a whine from under the back, worse when I push it.",
            "It howls from the tank like a dog left outside.",
            "The passengers at the back complain of a noise, high, all the time.",
        ],
        Symptom::LongCrank => &[
            "It starts, but only after I have counted to five with the starter going. Every time.",
            "Crank, crank, crank, and then it catches as if nothing had been. Warm or cold.",
        ],
        Symptom::RunsOn => &[
            "When I lock it up at night something in the back goes on humming, and on Monday the battery is flat.",
            "I take the key out and it still buzzes from the tank.",
        ],
    }
}

/// What people who misread a sound vehicle say.
const MISREAD: [&str; 6] = [
    "When I turn the key, something hums at the back for two seconds and stops. It never used to. Or I never heard it.",
    "It felt lazy on Tuesday. It was raining, and we had the whole choir in it.",
    "There's a click from under the dashboard every time I turn the key. That can't be right.",
    "My neighbour had his stop on the coast road and now I hear things too. Have a proper look.",
    "The needle of the fuel gauge moves on the hill. Up one way, down the other.",
    "It was slow to start once, the morning of the frost. I want to know before the season.",
];

/// What unhelpful customers put in front.
const BLUSTER: [&str; 6] = [
    "My cousin knows about these and says it wants a new pump.",
    "It's electrical, I'm sure of it, it always is.",
    "The last people had it for a week and found nothing. I'm not paying twice.",
    "I read that it's nearly always the filter.",
    "I need it by tonight, whatever it takes.",
    "Don't tell me it's the battery. It is not the battery.",
];

/// How somebody tells what is wrong.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Customer {
    /// Tells what was noticed, the two worst things of it.
    Honest,
    /// Tells the worst thing, after something that leads away from it.
    Unhelpful,
}

impl Customer {
    /// Who brings a vehicle in at a level.
    pub fn drawn(level: u8, stream: &mut Stream) -> Customer {
        // Drawn at every level, so that the words that follow are the same ones.
        let unhelpful = stream.chance(0.4);
        if unhelpful && level >= 3 {
            Customer::Unhelpful
        } else {
            Customer::Honest
        }
    }
}

/// The complaint about what a drive shows. Nothing if a driver would notice nothing, unless `nothing` is wrong and the
/// customer misreads a sound vehicle.
pub(super) fn complaint(
    customer: Customer,
    symptoms: &[Symptom],
    nothing: bool,
    stream: &mut Stream,
) -> Option<String> {
    let mut said: Vec<&str> = Vec::new();
    if customer == Customer::Unhelpful {
        said.extend(stream.pick(&BLUSTER));
    }
    if nothing {
        said.extend(stream.pick(&MISREAD));
        return Some(said.join(" "));
    }
    if symptoms.is_empty() {
        return None;
    }
    let most = match customer {
        Customer::Honest => 2,
        Customer::Unhelpful => 1,
    };
    for &symptom in symptoms.iter().take(most) {
        said.extend(stream.pick(words(symptom)));
    }
    Some(said.join(" "))
}

/// What a customer's own words say was noticed, worst first; nothing if they are in nobody's usual words.
#[must_use]
pub fn symptoms_told(customer: &str) -> Vec<Symptom> {
    let told = |symptom: &Symptom| words(*symptom).iter().any(|line| customer.contains(line));
    ALL.into_iter().filter(told).collect()
}

/// What a customer's words tell somebody who has heard many customers.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Told {
    /// What was noticed, worst first.
    pub symptoms: Vec<Symptom>,
    /// Nothing was noticed besides: an honest customer who tells fewer than two things has no second one to tell.
    pub complete: bool,
    /// The words are those of somebody who misreads a sound vehicle.
    pub misread: bool,
}

impl Told {
    /// Most that an honest customer tells.
    const MOST: usize = 2;

    /// Of a customer's own words.
    #[must_use]
    pub fn by(customer: &str) -> Told {
        let mut rest = customer.to_owned();
        for line in customer_lines() {
            rest = rest.replace(line, "");
        }
        let symptoms = symptoms_told(customer);
        Told {
            complete: !symptoms.is_empty() && rest.trim().is_empty(),
            misread: symptoms.is_empty() && MISREAD.iter().any(|line| customer.contains(line)),
            symptoms,
        }
    }

    /// The words are nobody's usual ones: they tell nothing that could be weighed.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.symptoms.is_empty() && !self.misread
    }

    /// Whether this customer would have told the same of a vehicle with these symptoms.
    #[must_use]
    pub fn fits(&self, noticed: &[Symptom]) -> bool {
        if self.misread {
            return noticed.is_empty();
        }
        let worst = &noticed[..noticed.len().min(Told::MOST)];
        if self.complete {
            worst == self.symptoms
        } else {
            worst.starts_with(&self.symptoms)
        }
    }
}

/// Every line a customer may say of what was noticed or misread, for reading.
pub fn customer_lines() -> impl Iterator<Item = &'static str> {
    let noticed = ALL.into_iter().flat_map(|symptom| words(symptom).iter());
    noticed.chain(&MISREAD).copied()
}
