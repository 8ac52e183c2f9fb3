//! The repairs that could be right, what each costs, and which fault each cures.

use super::draws::Hypothesis;
use crate::bay::TIMES;
use crate::fault::{Catalogue, Remedy};
use crate::vehicle::{AccessId, PartId, Vehicle};

/// What a wrong repair brings: the vehicle comes back, is looked at and handed over again, and trust is lost. Minutes
/// of labour over and above the right repair; ours, no source. A larger value asks for more certainty before a repair.
pub const COMEBACK_MINUTES: f64 = 120.0;

/// One thing that can be done about a fault.
#[derive(Clone, PartialEq, Debug)]
pub struct Repair {
    /// Part, and how; nothing for handing back without a repair.
    pub what: Option<(PartId, Remedy)>,
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
            what: None,
            minutes: 0.0,
            needs: Vec::new(),
        }];
        let mut class_of = Vec::new();
        for hypothesis in hypotheses {
            let offers = hypothesis.cures(vehicle, catalogue);
            let priced = offers
                .iter()
                .filter_map(|&(part, remedy)| offer(vehicle, part, remedy));
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
            for (part, remedy) in hypothesis.cures(vehicle, catalogue) {
                let known = all.iter().any(|known| known.what == Some((part, remedy)));
                all.extend(offer(vehicle, part, remedy).filter(|_| !known));
            }
        }
        let cures = all
            .iter()
            .map(|repair| {
                let cures = |hypothesis: &Hypothesis| match repair.what {
                    None => *hypothesis == Hypothesis::Nothing,
                    Some(what) => {
                        *hypothesis == Hypothesis::Nothing
                            || hypothesis.cures(vehicle, catalogue).contains(&what)
                    }
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

    /// The repair done by a remedy on a part.
    #[must_use]
    pub fn position(&self, part: PartId, remedy: Remedy) -> Option<usize> {
        self.all
            .iter()
            .position(|repair| repair.what == Some((part, remedy)))
    }
}

fn offer(vehicle: &Vehicle, part: PartId, remedy: Remedy) -> Option<Repair> {
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
        what: Some((part, remedy)),
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
