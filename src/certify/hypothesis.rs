//! Everything that could be wrong with a vehicle, one fault at a time.

use serde::Serialize;

use crate::fault::{self, Catalogue, Fault, KindId, Remedy, Spread};
use crate::scenario::Revealed;
use crate::vehicle::{PartId, Vehicle};

/// One thing that could be wrong, for reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hypothesis {
    /// Kind of fault; `nothing wrong`.
    pub kind: String,
    /// Part it would sit on, with its element; empty for nothing wrong.
    pub part: String,
    /// Severity in the unit of its kind.
    pub severity: f64,
}

impl Hypothesis {
    pub(super) fn of(revealed: &Revealed, fault: Option<&Fault>) -> Hypothesis {
        let Some(fault) = fault else {
            return Hypothesis {
                kind: "nothing wrong".into(),
                part: String::new(),
                severity: 0.0,
            };
        };
        let vehicle = &revealed.vehicle;
        let leg = fault
            .site
            .element
            .map_or("", |element| vehicle.elements[element.0].leg.as_str());
        let part = &vehicle.parts[fault.site.part.0].id;
        Hypothesis {
            kind: revealed.catalogue.kinds[fault.kind.0].id.clone(),
            part: if leg.is_empty() {
                part.clone()
            } else {
                format!("{part} {leg}")
            },
            severity: fault.severity,
        }
    }
}

/// Every kind on every site at its mildest, middle and worst, and nothing wrong. Kinds that do the same as a hidden
/// fault are also taken at its severity: another joint just as bad is the hardest to tell from it.
pub(super) fn hypotheses(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    truth: &[Fault],
) -> Vec<Option<Fault>> {
    let mut all = vec![None];
    for (index, sites) in fault::sites(vehicle, catalogue).iter().enumerate() {
        let kind = &catalogue.kinds[index];
        let range = &kind.severity;
        let mut severities = if kind.effect.has_no_degrees() {
            vec![1.0]
        } else {
            let middle = match range.spread {
                Spread::Linear => f64::midpoint(range.min, range.max),
                Spread::Log => (range.min * range.max).sqrt(),
            };
            vec![range.min, middle, range.max]
        };
        let alike = truth
            .iter()
            .filter(|fault| catalogue.kinds[fault.kind.0].effect == kind.effect);
        for fault in alike {
            let within = range.reaches(fault.severity, range.min)
                && range.reaches(range.max, fault.severity);
            if within && !severities.contains(&fault.severity) {
                severities.push(fault.severity);
            }
        }
        for &site in sites {
            all.extend(severities.iter().map(|&severity| {
                Some(Fault {
                    kind: KindId(index),
                    site,
                    severity,
                })
            }));
        }
    }
    all
}

/// The repairs that cure each of some faults.
pub(super) fn cures(revealed: &Revealed, faults: &[Fault]) -> Vec<Vec<(PartId, Remedy)>> {
    faults
        .iter()
        .map(|fault| {
            let kind = &revealed.catalogue.kinds[fault.kind.0];
            let cures = kind.cures.iter().filter_map(|cure| {
                let part = match &cure.part {
                    None => fault.site.part,
                    Some(id) => revealed.vehicle.part(id)?,
                };
                Some((part, cure.remedy))
            });
            cures.collect()
        })
        .collect()
}
