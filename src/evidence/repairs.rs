//! The repairs that could be right, what each costs, and which fault each cures.

use super::draws::Hypothesis;
use crate::bay::{FUEL_PRICE, TIMES};
use crate::fault::{Catalogue, Remedy};
use crate::rig::TankTrouble;
use crate::vehicle::{AccessId, PartId, Vehicle};

/// What a wrong repair brings: the vehicle comes back, is looked at and handed over again, and trust is lost. Minutes
/// of labour over and above the right repair; ours, no source. A larger value asks for more certainty before a repair.
pub const COMEBACK_MINUTES: f64 = 120.0;

/// One thing that puts something right.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Cure {
    /// Handing the vehicle back as it is.
    HandBack,
    /// Work on a part.
    Part(PartId, Remedy),
    /// Filling fuel in.
    Fill,
    /// Draining the tank and filling it anew.
    Drain,
}

impl Cure {
    /// What puts right what is in a tank, the cheapest first.
    #[must_use]
    pub fn of_tank(trouble: TankTrouble) -> &'static [Cure] {
        match trouble {
            TankTrouble::Empty => &[Cure::Fill, Cure::Drain],
            TankTrouble::Water => &[Cure::Drain],
        }
    }
}

/// One thing that can be done about a fault.
#[derive(Clone, PartialEq, Debug)]
pub struct Repair {
    /// What is done.
    pub what: Cure,
    /// Work and parts, in minutes of labour, without access.
    pub minutes: f64,
    /// Access work it needs.
    pub needs: Vec<AccessId>,
}

/// The repairs for a list of hypotheses.
#[derive(Clone, PartialEq, Debug)]
pub struct Repairs {
    all: Vec<Repair>,
    class_of: Vec<usize>,
    cures: Vec<Vec<bool>>,
}

impl Repairs {
    /// The cheapest repair of each hypothesis, each once; then every other one that cures some.
    #[must_use]
    pub fn of(vehicle: &Vehicle, catalogue: &Catalogue, hypotheses: &[Hypothesis]) -> Repairs {
        let mut all = vec![Repair {
            what: Cure::HandBack,
            minutes: 0.0,
            needs: Vec::new(),
        }];
        let mut class_of = Vec::new();
        for hypothesis in hypotheses {
            let offers = hypothesis.cures(vehicle, catalogue);
            let priced = offers.iter().filter_map(|&cure| offer(vehicle, cure));
            let cheapest = priced.min_by(|a, b| whole(vehicle, a).total_cmp(&whole(vehicle, b)));
            let repair = cheapest.unwrap_or_else(|| all[0].clone());
            let known = all.iter().position(|known| known.what == repair.what);
            class_of.push(known.unwrap_or_else(|| {
                all.push(repair);
                all.len() - 1
            }));
        }
        // Dearer ways to the same end come after: nobody plans on them, but somebody may go them.
        for hypothesis in hypotheses {
            for cure in hypothesis.cures(vehicle, catalogue) {
                let known = all.iter().any(|known| known.what == cure);
                all.extend(offer(vehicle, cure).filter(|_| !known));
            }
        }
        let cures = all
            .iter()
            .map(|repair| {
                let cures = |hypothesis: &Hypothesis| {
                    *hypothesis == Hypothesis::Nothing
                        || hypothesis.cures(vehicle, catalogue).contains(&repair.what)
                };
                hypotheses.iter().map(cures).collect()
            })
            .collect();
        Repairs {
            all,
            class_of,
            cures,
        }
    }

    /// All of them; the first is handing back without a repair.
    #[must_use]
    pub fn all(&self) -> &[Repair] {
        &self.all
    }

    /// The repair of each hypothesis, by its place in [`Repairs::all`].
    #[must_use]
    pub fn class_of(&self) -> &[usize] {
        &self.class_of
    }

    /// Whether a repair leaves nothing wrong under a hypothesis.
    #[must_use]
    pub fn cures(&self, repair: usize, hypothesis: usize) -> bool {
        self.cures[repair][hypothesis]
    }

    /// The repair that does this.
    #[must_use]
    pub fn position(&self, what: Cure) -> Option<usize> {
        self.all.iter().position(|repair| repair.what == what)
    }
}

/// What it takes; nothing for work that cannot be had.
fn offer(vehicle: &Vehicle, what: Cure) -> Option<Repair> {
    let plain = |minutes| {
        Some(Repair {
            what,
            minutes,
            needs: Vec::new(),
        })
    };
    let fuel = FUEL_PRICE as f64 / per_minute(vehicle);
    let (part, remedy) = match what {
        Cure::HandBack => return plain(0.0),
        Cure::Fill => return plain(TIMES.fill.0 / 60.0 + fuel),
        Cure::Drain => {
            let seconds = TIMES.fill.0 + TIMES.fill.1 + 2.0 * TIMES.isolate;
            return plain(seconds / 60.0 + fuel);
        }
        Cure::Part(part, remedy) => (part, remedy),
    };
    let found = &vehicle.parts[part.0];
    let work = match remedy {
        Remedy::Repair => found.repair.as_ref(),
        Remedy::Replace => found.replace.as_ref(),
    }?;
    let mut minutes = work.seconds / 60.0 + work.price.0 as f64 / per_minute(vehicle);
    if work.opens_line {
        minutes += (TIMES.relieve + 2.0 * TIMES.isolate) / 60.0;
    }
    let mut needs = work.needs.clone();
    needs.extend(&vehicle.places[found.place.0].needs);
    Some(Repair {
        what,
        minutes,
        needs: vehicle.access_order(&needs),
    })
}

fn whole(vehicle: &Vehicle, repair: &Repair) -> f64 {
    let access: f64 = repair
        .needs
        .iter()
        .map(|id| vehicle.accesses[id.0].seconds)
        .sum();
    repair.minutes + access / 60.0
}

/// Minor units of money that one minute of labour costs.
#[must_use]
pub fn per_minute(vehicle: &Vehicle) -> f64 {
    (vehicle.labour_per_hour.0 as f64 / 60.0).max(1.0)
}
