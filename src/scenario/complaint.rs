//! What a customer says, drawn from what the road test shows and never from the fault behind it.

use super::occasion::{NOTICED, Occasion};
use crate::rig::Symptom;
use crate::seed::Stream;
use crate::vehicle::Vehicle;

/// Everything a driver may notice, worst first.
const ALL: [Symptom; 12] = [
    Symptom::HardlyCranks,
    Symptom::CranksWithoutFiring,
    Symptom::BoilsOver,
    Symptom::CutsOut,
    Symptom::FadesUnderLoad,
    Symptom::RunsHot,
    Symptom::HeaterCold,
    Symptom::RunsRich,
    Symptom::LongCrankAfterStanding,
    Symptom::Whines,
    Symptom::LongCrank,
    Symptom::RunsOn,
];

/// What drivers of a vehicle say of a symptom: its own words where its file has any.
fn lines(vehicle: &Vehicle, symptom: Symptom) -> Vec<&str> {
    let own = match symptom {
        Symptom::Whines => &vehicle.customer.whines,
        Symptom::RunsOn => &vehicle.customer.runs_on,
        _ => return words(symptom).to_vec(),
    };
    if own.is_empty() {
        words(symptom).to_vec()
    } else {
        own.iter().map(String::as_str).collect()
    }
}

/// What drivers of a vehicle say who misread it.
fn misread(vehicle: &Vehicle) -> Vec<&str> {
    let own = &vehicle.customer.misread;
    if own.is_empty() {
        MISREAD.to_vec()
    } else {
        own.iter().map(String::as_str).collect()
    }
}

/// The usual words for one symptom.
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
            "It spins and spins. Four of us pushed it into the yard.",
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
            "It drinks, and it smells of petrol when I walk round the back.",
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
            "There's a noise behind me, high, all the time. The radio no longer covers it.",
        ],
        Symptom::LongCrank => &[
            "It starts, but only after I have counted to five with the starter going.",
            "Crank, crank, crank, and then it catches as if nothing had been. Warm or cold.",
        ],
        Symptom::RunsOn => &[
            "When I lock it up at night something in the back goes on humming, and on Monday the battery is flat.",
            "I take the key out and it still buzzes from the tank.",
        ],
        Symptom::BoilsOver => &[
            "The needle went into the red below the pass and it blew steam. I had to wait an hour and fill it from the beck.",
            "It boiled on the hill. All of it in the road, and the passengers walked.",
            "Halfway up it hissed and stank, and then there was steam everywhere. On the level it had been all right.",
        ],
        Symptom::RunsHot => &[
            "In the village it's fine. On the climb the temperature goes up and up until I lose my nerve and stop.",
            "The needle creeps towards the red on long hills. On the way down it comes back.",
            "On warm days, with everyone in, it runs hot up to the pass. In winter I never noticed.",
        ],
        Symptom::HeaterCold => &[
            "The heater blows cold, whatever I turn.",
            "It never gets warm at the back; everyone sits in their coats.",
            "It blows cold on my feet, even when the needle is in the middle.",
        ],
    }
}

/// What people who misread a sound vehicle say.
const MISREAD: [&str; 5] = [
    "When I turn the key, something hums at the back for two seconds and stops. It never used to. Or I never heard it.",
    "There's a click from under the dashboard every time I turn the key. That can't be right.",
    "The needle of the fuel gauge moves on the hill. Up one way, down the other.",
    "It was slow to start once, the morning of the frost. I want to know before the season.",
    "I can hear it tick when I stand next to it. Is that meant to be?",
];

/// What tells next to nothing: whoever misreads a sound vehicle says it, and so does whoever tells badly what is wrong with one
/// that drives. Not to be taken as proof of either.
const VAGUE: [&str; 7] = [
    "It felt lazy on Tuesday. It was raining, and we had half the harbour on board.",
    "My neighbour had his stop on the coast road, and now I don't trust mine. Have a proper look.",
    "It isn't what it was. I couldn't tell you how.",
    "Just see to it that it's right. My brother drives it, and he says nothing, he only pulls a face.",
    "Some days it's fine and some days it's not, and when I come to you it's fine.",
    "I've a long trip on Friday and it feels different. You're the mechanic.",
    "It did it again yesterday. You know, what it does.",
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

/// Share of unhelpful customers, from this level on; ours, no source.
const UNHELPFUL: f64 = 0.4;
const UNHELPFUL_FROM: u8 = 3;
/// Share of those who tell nothing of a vehicle that still drives; ours, no source.
const VAGUE_OF_UNHELPFUL: f64 = 0.25;
/// Share of those with a sound vehicle who cannot say what they mean; ours, no source.
const VAGUE_OF_SOUND: f64 = 0.6;

/// How somebody tells what is wrong.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Customer {
    /// Tells what was noticed, the two worst things of it.
    Honest,
    /// Tells the worst thing, after something that leads away from it.
    Unhelpful,
    /// The same, and tells nothing of it as long as the vehicle drives.
    Vague,
}

impl Customer {
    /// Who brings a vehicle in at a level.
    pub fn drawn(level: u8, stream: &mut Stream) -> Customer {
        // Drawn at every level, so that the words that follow are the same ones.
        let (unhelpful, vague) = (stream.chance(UNHELPFUL), stream.chance(VAGUE_OF_UNHELPFUL));
        match (unhelpful && level >= UNHELPFUL_FROM, vague) {
            (true, true) => Customer::Vague,
            (true, false) => Customer::Unhelpful,
            (false, _) => Customer::Honest,
        }
    }
}

/// Whether a vehicle that shows this, the worst first, still gets its driver where he wants to go.
fn drives(symptoms: &[Symptom]) -> bool {
    let stops = [
        Symptom::HardlyCranks,
        Symptom::CranksWithoutFiring,
        Symptom::CutsOut,
    ];
    symptoms.first().is_none_or(|worst| !stops.contains(worst))
}

/// The complaint about what a drive shows. Nothing if a driver would notice nothing, unless `nothing` is wrong and the
/// customer misreads a sound vehicle. An honest customer may know on what `occasion` it shows.
pub(super) fn complaint(
    customer: Customer,
    symptoms: &[Symptom],
    occasion: Option<Occasion>,
    nothing: bool,
    vehicle: &Vehicle,
    stream: &mut Stream,
) -> Option<String> {
    let mut said: Vec<&str> = Vec::new();
    if customer != Customer::Honest {
        said.extend(stream.pick(&BLUSTER));
    }
    if nothing {
        let vague = stream.chance(VAGUE_OF_SOUND);
        let lines = if vague {
            VAGUE.to_vec()
        } else {
            misread(vehicle)
        };
        said.extend(stream.pick(&lines));
        return Some(said.join(" "));
    }
    if symptoms.is_empty() {
        return None;
    }
    if customer == Customer::Vague && drives(symptoms) {
        said.extend(stream.pick(&VAGUE));
        return Some(said.join(" "));
    }
    let most = match customer {
        Customer::Honest => 2,
        Customer::Unhelpful | Customer::Vague => 1,
    };
    for &symptom in symptoms.iter().take(most) {
        said.extend(stream.pick(&lines(vehicle, symptom)));
    }
    if let Some(occasion) = occasion.filter(|_| customer == Customer::Honest)
        && stream.chance(NOTICED)
    {
        said.extend(stream.pick(occasion.lines()));
    }
    Some(said.join(" "))
}

/// What a customer's own words say was noticed, worst first; nothing if they are in nobody's usual words.
#[must_use]
pub fn symptoms_told(vehicle: &Vehicle, customer: &str) -> Vec<Symptom> {
    let told = |symptom: &Symptom| {
        let mut lines = lines(vehicle, *symptom).into_iter();
        lines.any(|line| customer.contains(line))
    };
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
    /// They tell next to nothing: of a sound vehicle, or of one that drives.
    pub vague: bool,
    /// What brings it on.
    pub occasion: Option<Occasion>,
}

impl Told {
    /// Most that an honest customer tells.
    const MOST: usize = 2;

    /// Of a customer's own words.
    #[must_use]
    pub fn by(vehicle: &Vehicle, customer: &str) -> Told {
        let mut rest = customer.to_owned();
        for line in customer_lines(vehicle) {
            rest = rest.replace(line, "");
        }
        let symptoms = symptoms_told(vehicle, customer);
        let silent = symptoms.is_empty();
        Told {
            complete: !silent && rest.trim().is_empty(),
            misread: silent && misread(vehicle).iter().any(|line| customer.contains(line)),
            vague: silent && VAGUE.iter().any(|line| customer.contains(line)),
            occasion: Occasion::told(customer),
            symptoms,
        }
    }

    /// The heading under which complaints like this are counted: the worst that was noticed, or the manner of words that
    /// tell of nothing. Nothing for words that are nobody's usual ones.
    #[must_use]
    pub fn heading(&self) -> Option<&'static str> {
        match self.symptoms.first() {
            Some(worst) => Some(worst.name()),
            None if self.vague => Some("vague"),
            None if self.misread => Some("misread"),
            None => None,
        }
    }

    /// How likely a complaint of this one's heading is of a vehicle with these symptoms, the worst first.
    #[must_use]
    pub fn heading_likelihood(&self, level: u8, noticed: &[Symptom]) -> f64 {
        match self.symptoms.first() {
            Some(worst) => f64::from(u8::from(noticed.first() == Some(worst))),
            None => self.likelihood(level, noticed),
        }
    }

    /// How likely the customer speaks like this of what brings it on if that is the `true_one`; none for what does not fit.
    #[must_use]
    pub fn occasion_likelihood(&self, true_one: Option<Occasion>) -> f64 {
        match self.occasion {
            Some(_) => f64::from(u8::from(self.occasion == true_one)),
            // Only who tells everything would have told it.
            None if self.complete && true_one.is_some() => 1.0 - NOTICED,
            None => 1.0,
        }
    }

    /// The words are nobody's usual ones: they tell nothing that could be weighed.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.symptoms.is_empty() && !self.misread && !self.vague
    }

    /// Whether anybody says such a thing of a vehicle with these symptoms: who misreads a sound vehicle tells of nothing
    /// that a road test shows, and nobody tells of a symptom where there is none.
    #[must_use]
    pub fn is_heard_of(&self, noticed: &[Symptom]) -> bool {
        self.is_silent() || self.vague || self.misread == noticed.is_empty()
    }

    /// How likely the customer of a vehicle with these symptoms, the worst first, speaks like this at a level; none for
    /// what does not fit.
    #[must_use]
    pub fn likelihood(&self, level: u8, noticed: &[Symptom]) -> f64 {
        if self.is_silent() {
            return 1.0;
        }
        if self.vague {
            return match (noticed.is_empty(), drives(noticed)) {
                (true, _) => VAGUE_OF_SOUND,
                (false, true) if level >= UNHELPFUL_FROM => UNHELPFUL * VAGUE_OF_UNHELPFUL,
                _ => 0.0,
            };
        }
        if self.misread {
            return if noticed.is_empty() {
                1.0 - VAGUE_OF_SOUND
            } else {
                0.0
            };
        }
        let worst = &noticed[..noticed.len().min(Told::MOST)];
        let fits = if self.complete {
            worst == self.symptoms
        } else {
            worst.starts_with(&self.symptoms)
        };
        f64::from(u8::from(fits))
    }
}

/// Every line a vehicle's customer may say of what was noticed or misread and of what brings it on, for reading.
pub fn customer_lines(vehicle: &Vehicle) -> impl Iterator<Item = &str> {
    let noticed = ALL.into_iter().flat_map(|symptom| lines(vehicle, symptom));
    let occasions = Occasion::ALL.into_iter();
    let occasions = occasions.flat_map(|occasion| occasion.lines().to_vec());
    noticed
        .chain(misread(vehicle))
        .chain(VAGUE)
        .chain(occasions)
}
