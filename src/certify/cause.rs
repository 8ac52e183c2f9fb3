//! What could be the matter with a vehicle, and what would put it right.

use serde::Serialize;

pub use crate::evidence::Cure;
use crate::fault::{Catalogue, Fault, Remedy};
use crate::scenario::{Revealed, TankTrouble};
use crate::vehicle::{AccessId, Vehicle};

/// One explanation.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Cause {
    /// Nothing is wrong.
    Nothing,
    /// A fault of the vehicle.
    Fault(Fault),
    /// What is in the tank.
    Tank(TankTrouble),
}

/// One thing that could be wrong, for reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hypothesis {
    /// Kind of fault; `nothing wrong`, `empty tank`, `water in the fuel`.
    pub kind: String,
    /// Part it would sit on, with its element; empty where there is none.
    pub part: String,
    /// Severity in the unit of its kind.
    pub severity: f64,
}

impl core::fmt::Display for Hypothesis {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        if self.part.is_empty() {
            f.write_str(&self.kind)
        } else {
            write!(f, "{} on {}", self.kind, self.part)
        }
    }
}

impl Cause {
    /// The explanation in words.
    #[must_use]
    pub fn named(&self, vehicle: &Vehicle, catalogue: &Catalogue) -> Hypothesis {
        let plain = |kind: &str| Hypothesis {
            kind: kind.to_owned(),
            part: String::new(),
            severity: 0.0,
        };
        let fault = match self {
            Cause::Nothing => return plain("nothing wrong"),
            Cause::Tank(TankTrouble::Empty) => return plain("empty tank"),
            Cause::Tank(TankTrouble::Water) => return plain("water in the fuel"),
            Cause::Fault(fault) => fault,
        };
        let leg = fault
            .site
            .element
            .map_or("", |element| vehicle.elements[element.0].leg.as_str());
        let part = &vehicle.parts[fault.site.part.0].id;
        Hypothesis {
            kind: catalogue.kinds[fault.kind.0].id.clone(),
            part: if leg.is_empty() {
                part.clone()
            } else {
                format!("{part} {leg}")
            },
            severity: fault.severity,
        }
    }

    /// Every single thing that would put it right.
    #[must_use]
    pub fn cures(&self, vehicle: &Vehicle, catalogue: &Catalogue) -> Vec<Cure> {
        match self {
            Cause::Nothing => vec![Cure::HandBack],
            Cause::Tank(trouble) => Cure::of_tank(*trouble).to_vec(),
            Cause::Fault(fault) => {
                let cures = catalogue.kinds[fault.kind.0].cures.iter();
                let on = |part: &Option<String>| match part {
                    None => Some(fault.site.part),
                    Some(id) => vehicle.part(id),
                };
                cures
                    .filter_map(|cure| Some(Cure::Part(on(&cure.part)?, cure.remedy)))
                    .collect()
            }
        }
    }

    /// What a revealed scenario hides: its faults and what is in its tank, or that nothing is wrong.
    #[must_use]
    pub fn all_of(revealed: &Revealed) -> Vec<Cause> {
        let faults = revealed.faults.iter().map(|&fault| Cause::Fault(fault));
        let mut all: Vec<Cause> = faults
            .chain(revealed.tank_trouble().map(Cause::Tank))
            .collect();
        if all.is_empty() {
            all.push(Cause::Nothing);
        }
        all
    }
}

impl Cure {
    /// Minutes of labour it takes, parts counted at the labour rate, and the access it needs.
    #[must_use]
    pub fn cost(self, vehicle: &Vehicle) -> (f64, Vec<AccessId>) {
        let per_minute = (vehicle.labour_per_hour.0 as f64 / 60.0).max(1.0);
        let times = &crate::bay::TIMES;
        match self {
            Cure::HandBack => (0.0, Vec::new()),
            Cure::Fill => (times.fill.0 / 60.0, Vec::new()),
            Cure::Drain => ((times.fill.0 + times.fill.1) / 60.0, Vec::new()),
            Cure::Part(part, remedy) => {
                let found = &vehicle.parts[part.0];
                let work = match remedy {
                    Remedy::Repair => found.repair.as_ref(),
                    Remedy::Replace => found.replace.as_ref(),
                };
                // A cure that cannot be bought is no way out.
                work.map_or((f64::INFINITY, Vec::new()), |work| {
                    let mut needs = work.needs.clone();
                    needs.extend(&vehicle.places[found.place.0].needs);
                    let minutes = work.seconds / 60.0 + work.price.0 as f64 / per_minute;
                    (minutes, vehicle.access_order(&needs))
                })
            }
        }
    }

    /// The work in words.
    #[must_use]
    pub fn named(self, vehicle: &Vehicle) -> String {
        match self {
            Cure::HandBack => "hand it back".to_owned(),
            Cure::Fill => "fill fuel in".to_owned(),
            Cure::Drain => "drain the tank".to_owned(),
            Cure::Part(part, remedy) => {
                let verb = match remedy {
                    Remedy::Repair => "repair",
                    Remedy::Replace => "replace",
                };
                format!("{verb} {}", vehicle.parts[part.0].id)
            }
        }
    }

    /// Access included.
    #[must_use]
    pub fn whole_minutes(self, vehicle: &Vehicle) -> f64 {
        let (minutes, needs) = self.cost(vehicle);
        let seconds: f64 = needs.iter().map(|id| vehicle.accesses[id.0].seconds).sum();
        minutes + seconds / 60.0
    }
}
