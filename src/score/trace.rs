//! The attempt walked once more from its ledger: which tip lay where, what had proved it, whether the pump was on.

use std::collections::BTreeSet;

use super::weights::Weights;
use crate::bay::{Action, Call, Closed, Entry, Fact, Measurement, PROVING_V};
use crate::circuit::NodeId;
use crate::instrument::{Extension, Quantity, Reading, Side};
use crate::vehicle::Key;

/// The pump counts as drawing current from this on, A; a fifth of what a small pump draws.
pub(super) const LOAD_A: f64 = 0.5;
/// Two readings of the same points agree within this, V.
const SAME_V: f64 = 0.02;

/// One electrical reading.
pub(super) struct Taken<'a> {
    /// Number of its action.
    pub number: u32,
    pub measured: &'a Measurement,
    /// The control unit wanted the pump to run.
    pub commanded: bool,
    /// The starter turned.
    pub cranked: bool,
    /// The pump had drawn current at a reading by then.
    had_run: bool,
    /// Wire added to a lead.
    pub extension: Option<Extension>,
    /// Which placement of the red and of the black tip.
    pub tips: [u32; 2],
}

impl Taken<'_> {
    /// The pump drew current at this reading; where it could not yet, it is enough that it was switched on.
    pub fn under_load(&self) -> bool {
        self.measured.pump_amps >= LOAD_A || self.cranked || self.commanded && !self.had_run
    }
}

pub(super) struct Trace<'a> {
    pub ledger: &'a [Entry],
    /// The weights in force.
    pub weights: &'a Weights,
    pub taken: Vec<Taken<'a>>,
    /// Number of the hand-back.
    pub end: u32,
    /// Action at which a placement was proved.
    proofs: Vec<(u32, u32)>,
}

#[derive(Clone, Copy)]
struct Tip {
    node: NodeId,
    placement: u32,
}

#[derive(Default)]
struct Walk {
    placements: u32,
    tips: Option<[Tip; 2]>,
    key_run: bool,
    key_on: bool,
    tool: bool,
    extension: Option<Extension>,
}

impl Walk {
    fn place(&mut self, node: NodeId, before: Option<Tip>) -> Tip {
        before.filter(|tip| tip.node == node).unwrap_or_else(|| {
            self.placements += 1;
            Tip {
                node,
                placement: self.placements,
            }
        })
    }

    fn follow(&mut self, closed: &Closed, action: &Action) {
        match action {
            Action::Meter { red, black, .. } => {
                let before = self.tips;
                self.tips = Some([
                    self.place(*red, before.map(|tips| tips[0])),
                    self.place(*black, before.map(|tips| tips[1])),
                ]);
            }
            Action::Tip(side) => {
                if let Some(mut tips) = self.tips {
                    let moved = usize::from(*side == Side::Black);
                    tips[moved] = self.place(tips[moved].node, None);
                    self.tips = Some(tips);
                }
            }
            Action::Plug(part) => {
                let inside = |tip: &Tip| {
                    let touch = closed.vehicle.nodes[tip.node.0 as usize].touch;
                    touch.is_some_and(|touch| touch.only_unplugged == Some(*part))
                };
                self.tips = self.tips.filter(|tips| !tips.iter().any(inside));
            }
            Action::Leads(choice) => {
                self.tips = None;
                self.extension = choice.map(|(_, extension)| extension);
            }
            Action::MeterOff | Action::Zero => self.tips = None,
            Action::Drive | Action::Handover => {
                *self = Walk {
                    placements: self.placements,
                    extension: self.extension,
                    ..Walk::default()
                }
            }
            Action::Key(key) => {
                self.key_on = *key != Key::Off;
                self.key_run = matches!(key, Key::Run | Key::Crank);
                self.tool &= self.key_on;
            }
            Action::PumpTool(on) => self.tool = *on,
            _ => {}
        }
    }
}

impl<'a> Trace<'a> {
    pub fn of(closed: &'a Closed, weights: &'a Weights) -> Trace<'a> {
        let mut walk = Walk::default();
        let mut trace = Trace {
            ledger: &closed.ledger,
            weights,
            taken: Vec::new(),
            end: 1,
            proofs: Vec::new(),
        };
        let mut had_run = false;
        for entry in &closed.ledger {
            trace.end = entry.number;
            walk.follow(closed, &entry.action);
            for fact in &entry.facts {
                let (Fact::Measured(measured), Some(tips)) = (fact, walk.tips) else {
                    continue;
                };
                let tips = tips.map(|tip| tip.placement);
                let volts = measured
                    .value
                    .filter(|_| measured.function.quantity() == Quantity::Voltage);
                if volts.is_some_and(|volts| libm::fabs(volts) >= PROVING_V) {
                    trace.proofs.extend(tips.map(|tip| (entry.number, tip)));
                }
                had_run |= measured.pump_amps >= LOAD_A;
                trace.taken.push(Taken {
                    number: entry.number,
                    measured,
                    commanded: walk.tool
                        || walk.key_run
                        || matches!(entry.action, Action::Key(Key::On)),
                    cranked: matches!(entry.action, Action::Key(Key::Crank | Key::Run)),
                    had_run,
                    extension: walk.extension,
                    tips,
                });
            }
        }
        trace
    }

    /// Volts readings with a value.
    pub fn volts(&self) -> impl Iterator<Item = (&Taken<'a>, f64)> {
        let volts = self
            .taken
            .iter()
            .filter(|taken| taken.measured.function.quantity() == Quantity::Voltage);
        volts.filter_map(|taken| Some((taken, taken.measured.value?)))
    }

    /// The reading that a call relies on.
    pub fn relied(&self, call: &Call) -> Option<&'a Reading> {
        let (number, cites) = (call.relies_on?, call.cites.as_ref()?);
        let entry = self.ledger.iter().find(|entry| entry.number == number)?;
        let off = |reading: &Reading| {
            reading.value.map_or(f64::INFINITY, |value| {
                libm::fabs(libm::fabs(value) - libm::fabs(cites.value))
            })
        };
        entry
            .readings
            .iter()
            .filter(|reading| cites.quantity.may_mean(reading.quantity))
            .min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    /// The meter reading that a call relies on, if it is one of the meter's.
    pub fn relied_meter(&self, call: &Call) -> Option<&Taken<'a>> {
        let reading = self.relied(call)?;
        if !matches!(reading.quantity, Quantity::Voltage | Quantity::Resistance) {
            return None;
        }
        let here = self
            .taken
            .iter()
            .filter(|taken| Some(taken.number) == call.relies_on);
        here.min_by(|a, b| {
            let off = |taken: &Taken| match (taken.measured.value, reading.value) {
                (Some(a), Some(b)) => libm::fabs(a - b),
                _ => f64::INFINITY,
            };
            off(a).total_cmp(&off(b))
        })
    }

    /// Both tips of a reading were known to touch when action `by` was done: each had shown a volt or more in that
    /// placement, or had been placed anew with the same result.
    pub fn proved(&self, taken: &Taken, by: u32) -> bool {
        let shown: BTreeSet<u32> = self
            .proofs
            .iter()
            .filter(|(number, _)| *number <= by)
            .map(|&(_, tip)| tip)
            .collect();
        let again = |side: usize| {
            self.volts().any(|(other, volts)| {
                other.number <= by
                    && (other.measured.red, other.measured.black)
                        == (taken.measured.red, taken.measured.black)
                    && other.tips[side] != taken.tips[side]
                    && taken
                        .measured
                        .value
                        .is_some_and(|value| libm::fabs(value - volts) <= SAME_V)
            })
        };
        (0..2).all(|side| shown.contains(&taken.tips[side]) || again(side))
    }

    /// Every call with the number of its action.
    pub fn calls(&self) -> impl Iterator<Item = (u32, &'a Call)> {
        self.ledger.iter().flat_map(|entry| {
            entry.facts.iter().filter_map(|fact| match fact {
                Fact::Called(call) => Some((entry.number, call)),
                _ => None,
            })
        })
    }

    /// The first action that zeroed the clamp.
    pub fn clamp_zeroed(&self) -> Option<u32> {
        let zero = self
            .ledger
            .iter()
            .find(|entry| entry.action == Action::ClampZero);
        zero.map(|entry| entry.number)
    }
}
