//! How the vehicle stands, followed through the actions of an attempt.

use crate::bay::{Action, Entry};
use crate::circuit::conductor;
use crate::fault::Remedy;
use crate::vehicle::{Key, Kind, PartId, Vehicle};

use super::setup::Setup;

/// Resistance of a jumper's clips and fuse, ohm, as the bay has it.
const JUMPER_ENDS_OHMS: f64 = 0.012;
/// Temperature jumper copper is taken at, degrees Celsius.
const JUMPER_C: f64 = 15.0;

/// What an attempt has done to the vehicle.
#[derive(Clone, Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own about the bay, not a state of one machine"
)]
pub(super) struct Track {
    setup: Setup,
    /// The pump ran its prime during the last action: its readings are of a running pump.
    primed: bool,
    /// Readings of the last action belong to no steady state.
    passing: bool,
    clamped: Option<PartId>,
    zeroed: bool,
    /// Clock when the pump was last switched, and now, s.
    since_s: f64,
    now_s: f64,
    /// A lamp or bulb hangs on the circuit.
    loaded: bool,
    /// Something was done that the forecasts do not know of.
    lost: bool,
}

impl Track {
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// The setup that readings of the last action belong to, if the forecasts can know it.
    pub fn readable(&self) -> Option<Setup> {
        if self.lost || self.loaded || self.passing {
            return None;
        }
        let mut setup = self.setup.clone();
        setup.pump |= self.primed;
        Some(if self.primed {
            setup
        } else {
            setup.after(self.now_s - self.since_s)
        })
    }

    pub fn clamped(&self) -> Option<PartId> {
        self.clamped
    }

    pub fn clamp_zeroed(&self) -> bool {
        self.zeroed
    }

    /// The pump keeps the pressure up, so that it depends on nothing that went before.
    pub fn pressure_is_steady(&self) -> bool {
        !self.primed && (self.setup.pump || self.setup.key == Key::Run)
    }

    pub fn apply(&mut self, vehicle: &Vehicle, entry: &Entry) {
        let running = self.setup.pump || self.setup.key == Key::Run;
        self.now_s = entry.clock_s;
        self.primed = false;
        self.passing = false;
        self.follow(vehicle, entry);
        if (self.setup.pump || self.setup.key == Key::Run) != running || !running {
            // Without current nothing grows warm; what happens during a switching action happens at its end.
            self.since_s = entry.clock_s;
        }
    }

    fn follow(&mut self, vehicle: &Vehicle, entry: &Entry) {
        match &entry.action {
            Action::Key(key) => self.turn(*key, entry),
            Action::PumpTool(on) => self.setup.pump = *on,
            Action::Unplug(part) => {
                self.setup.unplugged.insert(*part);
            }
            Action::Plug(part) => self.plug(*part),
            Action::Isolate(on) => self.isolate(vehicle, *on),
            Action::Wiggle(part) => *self.setup.handled.entry(*part).or_insert(0) += 1,
            Action::Drive | Action::Handover => {
                let remedies = std::mem::take(&mut self.setup.remedies);
                self.setup = Setup {
                    remedies,
                    ..Setup::default()
                };
                (self.clamped, self.loaded) = (None, false);
            }
            Action::Clamp(part) => self.clamped = Some(*part),
            Action::ClampZero => (self.clamped, self.zeroed) = (None, true),
            Action::ClampOff => self.clamped = None,
            Action::Lamp { .. } | Action::Load { .. } => self.loaded = true,
            Action::LampOff | Action::LoadOff => self.loaded = false,
            Action::Jumper { a, b, wire } => {
                let ohms = conductor::resistance(wire.size, wire.length_m, JUMPER_C).unwrap_or(0.0);
                self.setup.jumper = Some((*a, *b, (JUMPER_ENDS_OHMS + ohms).to_bits()));
            }
            Action::JumperOff => self.setup.jumper = None,
            Action::Repair(target) => {
                let element = target
                    .leg
                    .as_ref()
                    .and_then(|leg| vehicle.element(target.part, leg));
                self.setup
                    .remedies
                    .push((target.part, element, Remedy::Repair));
            }
            Action::Replace(part) => self.setup.remedies.push((*part, None, Remedy::Replace)),
            Action::Warm
            | Action::Tap(_)
            | Action::Swap { .. }
            | Action::Pinch { .. }
            | Action::Fill { .. }
            | Action::Charge { .. } => self.lost = true,
            _ => {}
        }
    }

    fn turn(&mut self, key: Key, entry: &Entry) {
        let says = |words: &str| entry.said.iter().any(|line| line.contains(words));
        match key {
            Key::Off => (self.setup.key, self.setup.pump) = (Key::Off, false),
            Key::On => {
                self.primed = says("It stops after")
                    || says("nothing is heard")
                    || says("nothing from the tank");
                self.setup.key = Key::On;
            }
            Key::Crank | Key::Run => {
                self.passing = true;
                self.setup.key = if says("The engine starts.") {
                    Key::Run
                } else {
                    Key::On
                };
                self.setup.pump = false;
            }
        }
    }

    fn plug(&mut self, part: PartId) {
        self.setup.unplugged.remove(&part);
        *self.setup.handled.entry(part).or_insert(0) += 1;
    }

    fn isolate(&mut self, vehicle: &Vehicle, on: bool) {
        let clamps = vehicle
            .parts
            .iter()
            .enumerate()
            .filter(|(_, part)| part.kind == Kind::Clamp);
        let negative = clamps.map(|(index, _)| PartId(index)).find(|&part| {
            vehicle
                .elements_of(part)
                .any(|(_, e)| e.from == vehicle.reference || e.to == vehicle.reference)
        });
        let Some(part) = negative else { return };
        if on {
            self.setup.unplugged.insert(part);
        } else {
            self.plug(part);
        }
    }
}
