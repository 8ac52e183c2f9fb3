//! What every simulated learner can do with hands: open the way safely, read, mend, drive.

use std::collections::BTreeSet;
use std::sync::Arc;

use hidden_ohm::bay::{Action, Bay, Cited, Closed, Outcome, Target, Verdict};
use hidden_ohm::circuit::NodeId;
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::evidence::Cure;
use hidden_ohm::fault::Remedy;
use hidden_ohm::instrument::{Extension, Function, Side};
use hidden_ohm::seed::Stream;
use hidden_ohm::vehicle::{AccessHazard, AccessId, Key, PartId, Section, Vehicle};

pub struct Workbench {
    pub bay: Bay,
    pub vehicle: Arc<Vehicle>,
    pub stream: Stream,
    opened: BTreeSet<AccessId>,
    isolated: bool,
    long_lead: bool,
    pub drove_clean: bool,
    /// Volts read so far, each with its point.
    pub read: Vec<(NodeId, f64)>,
}

impl Workbench {
    pub fn new(bay: Bay, seed: u64) -> Workbench {
        let vehicle = Arc::clone(bay.vehicle());
        let mut bench = Workbench {
            bay,
            vehicle,
            stream: Stream::named(seed, "learner"),
            opened: BTreeSet::new(),
            isolated: false,
            long_lead: false,
            drove_clean: false,
            read: Vec::new(),
        };
        bench.does(Action::Order);
        bench.does(Action::Protect);
        bench
    }

    /// Does something; a refusal is nothing done.
    #[allow(clippy::needless_pass_by_value)]
    pub fn does(&mut self, action: Action) -> Option<Outcome> {
        self.bay.act(&action).ok()
    }

    fn is_tank(&self, id: AccessId) -> bool {
        let needs = self.vehicle.access_order(&[id]);
        needs
            .iter()
            .any(|id| self.vehicle.accesses[id.0].hazard == AccessHazard::OpensTank)
    }

    /// Opens the way with the trade's cautions; false if the way leads through the tank and `tank` is not wanted.
    pub fn opens(&mut self, needs: &[AccessId], tank: bool) -> bool {
        let order = self.vehicle.access_order(needs);
        if !tank && order.iter().any(|id| self.is_tank(*id)) {
            return false;
        }
        for id in order {
            if self.opened.contains(&id) {
                continue;
            }
            if self.vehicle.accesses[id.0].hazard == AccessHazard::OpensTank {
                self.makes_fuel_safe();
            }
            if self.does(Action::Access(id)).is_none() {
                return false;
            }
            self.opened.insert(id);
            if self.vehicle.accesses[id.0].hazard == AccessHazard::RaisesVehicle {
                self.does(Action::Stands);
            }
        }
        true
    }

    fn makes_fuel_safe(&mut self) {
        self.rests();
        self.does(Action::Key(Key::Off));
        self.does(Action::Relieve);
        let battery = self.vehicle.nodes[self.vehicle.reference.0 as usize].touch;
        if let Some(touch) = battery {
            let needs = self.vehicle.places[touch.place.0].needs.clone();
            self.opens(&needs, false);
        }
        if !self.isolated {
            self.isolated = self.does(Action::Isolate(true)).is_some();
        }
    }

    fn connects_battery(&mut self) {
        if self.isolated {
            // The tank is back in its place before anything can spark.
            let tank = self.opened.iter().copied().find(|id| {
                self.vehicle.accesses[id.0].hazard == AccessHazard::OpensTank
                    && self
                        .vehicle
                        .access_order(&[*id])
                        .iter()
                        .filter(|id| self.is_tank(**id))
                        .count()
                        == 1
            });
            if let Some(tank) = tank
                && self.does(Action::Refit(tank)).is_some()
            {
                let vehicle = Arc::clone(&self.vehicle);
                self.opened
                    .retain(|open| !vehicle.access_order(&[*open]).contains(&tank));
            }
            self.does(Action::Isolate(false));
            self.isolated = false;
        }
    }

    pub fn tank_is_open(&self) -> bool {
        self.opened.iter().any(|id| self.is_tank(*id))
    }

    /// Key on, pump commanded or not.
    pub fn pump(&mut self, on: bool) -> Option<Outcome> {
        if self.tank_is_open() {
            return None;
        }
        if on {
            self.connects_battery();
        }
        if self.bay.key() != Key::On {
            self.does(Action::Key(Key::On));
        }
        self.does(Action::PumpTool(on))
    }

    /// The pump at rest; a key that is off stays off.
    pub fn rests(&mut self) {
        if self.bay.key() == Key::On {
            self.does(Action::PumpTool(false));
        }
    }

    fn reaches(&mut self, node: NodeId) -> bool {
        let Some(touch) = self.vehicle.nodes[node.0 as usize].touch else {
            return false;
        };
        let needs = self.vehicle.places[touch.place.0].needs.clone();
        touch.only_unplugged.is_none() && self.opens(&needs, false)
    }

    pub fn meter(&mut self, function: Function, red: NodeId, black: NodeId) -> Option<f64> {
        if red == black || !self.reaches(red) || !self.reaches(black) {
            return None;
        }
        if !self.long_lead {
            let wire = Extension {
                length_m: 6.0,
                size: ConductorSize::SquareMillimetres(1.0),
            };
            self.long_lead = self
                .does(Action::Leads(Some((Side::Black, wire))))
                .is_some();
        }
        let outcome = self.does(Action::Meter {
            function,
            red,
            black,
        })?;
        outcome.readings.first()?.value
    }

    /// Volts against the negative post; next to nothing is believed once it came again with the tip placed anew.
    pub fn volts(&mut self, point: NodeId) -> Option<f64> {
        let mut volts = self.meter(Function::Volts, point, self.vehicle.reference)?;
        for _ in 0..2 {
            if volts.abs() >= 0.02 {
                break;
            }
            let again = self.does(Action::Tip(Side::Red))?;
            volts = again.readings.first()?.value?;
        }
        self.read.push((point, volts));
        Some(volts)
    }

    pub fn call(&mut self, section: Section, bad: bool, cites: Option<f64>) {
        let verdict = if bad { Verdict::Bad } else { Verdict::Good };
        self.does(Action::Call {
            section,
            verdict,
            cites: cites.map(Cited::volts),
        });
    }

    /// The same on a reading of another kind.
    pub fn call_si(&mut self, section: Section, bad: bool, cites: Cited) {
        let verdict = if bad { Verdict::Bad } else { Verdict::Good };
        self.does(Action::Call {
            section,
            verdict,
            cites: Some(cites),
        });
    }

    /// Repairs or replaces, with everything that needs; false if it cannot be done.
    pub fn mends(&mut self, part: PartId, remedy: Remedy) -> bool {
        let found = &self.vehicle.parts[part.0];
        let work = match remedy {
            Remedy::Repair => found.repair.clone(),
            Remedy::Replace => found.replace.clone(),
        };
        let Some(work) = work else { return false };
        let mut needs = work.needs.clone();
        needs.extend(&self.vehicle.places[found.place.0].needs);
        self.rests();
        self.does(Action::Key(Key::Off));
        if work.opens_line {
            self.makes_fuel_safe();
        }
        if !self.opens(&needs, true) {
            return false;
        }
        if !self.isolated {
            self.isolated = self.does(Action::Isolate(true)).is_some();
        }
        let action = match remedy {
            Remedy::Repair => Action::Repair(Target { part, leg: None }),
            Remedy::Replace => Action::Replace(part),
        };
        self.does(action).is_some()
    }

    /// Does what puts something right; false if it cannot be done.
    pub fn puts_right(&mut self, cure: Cure) -> bool {
        match cure {
            Cure::HandBack => false,
            Cure::Part(part, remedy) => self.mends(part, remedy),
            Cure::Fill | Cure::Drain => {
                let drained = cure == Cure::Drain;
                self.rests();
                self.does(Action::Key(Key::Off));
                if drained && !self.isolated {
                    self.isolated = self.does(Action::Isolate(true)).is_some();
                }
                self.does(Action::Fill { drained }).is_some()
            }
        }
    }

    /// The dearer or the cheaper way of putting a part right, whichever there is.
    pub fn mends_somehow(&mut self, part: PartId) -> bool {
        let repairable = self.vehicle.parts[part.0].repair.is_some();
        let remedy = if repairable {
            Remedy::Repair
        } else {
            Remedy::Replace
        };
        self.mends(part, remedy)
    }

    /// A road test; true if the driver noticed nothing.
    pub fn drives(&mut self) -> bool {
        self.connects_battery();
        self.rests();
        self.does(Action::Key(Key::Off));
        let Some(outcome) = self.does(Action::Drive) else {
            return false;
        };
        self.opened.clear();
        self.drove_clean = outcome
            .said
            .iter()
            .any(|line| line.contains("pulls cleanly"));
        self.drove_clean
    }

    pub fn hands_back(mut self) -> Closed {
        self.connects_battery();
        self.rests();
        self.does(Action::Key(Key::Off));
        self.does(Action::Handover).expect("it can be handed back");
        self.bay
            .hand_back()
            .unwrap_or_else(|_| panic!("it was handed back"))
    }
}
