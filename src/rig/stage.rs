//! A driver module's switch in the network: averaged over its cycle, frozen, or held up by something else.
//!
//! Its freewheeling path is a diode: it lets the motor's current go on while the switch is open and takes none in. Where
//! something else holds the output above what the module puts out by itself (a jumper from the battery), nothing flows
//! in the open part of the cycle, and the switch is a resistance that is there for the share of it.

use super::assemble::{Assembled, Scene, Slot, tag};
use crate::circuit::{Branch, Network, NodeId, Solution, Source, Stage};
use crate::vehicle::Element;

/// Current that a module takes in at its output by discharging its own filter, A (common practice, no source).
const BLEED_A: f64 = 0.01;

/// What a driver module's switch is in a network.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Module {
    /// Open, frozen, or not there at all.
    Idle,
    /// Switching: averaged over its cycle.
    Averaged(Stage),
    /// Switching, with its output held up by something else: a resistance, and no freewheeling path.
    Held(Stage),
}

/// A driver module's switch held at the state of one moment: a resistance from supply to output, and a source from
/// common to output in the place of the freewheeling path.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FrozenStage {
    /// Volts across the switch over the mean current through it, ohm.
    pub switch_ohms: f64,
    /// Volts of the source at no load.
    pub volts: f64,
}

/// The square wave behind a driver module's mean: what a filament feels beside it.
#[derive(Clone, PartialEq, Debug)]
pub struct Ripple {
    /// Volts by which each node moves for one volt at the module's output.
    rates: Vec<f64>,
    duty: f64,
    supply: NodeId,
    common: NodeId,
}

impl Ripple {
    /// Root mean square of the volts between two nodes of a solution: the output stands at the supply's volts for one
    /// share of the cycle and at none for the rest, while the motor's current is held by its inductance.
    pub fn root_mean_square(&self, solution: &Solution, a: NodeId, b: NodeId) -> f64 {
        let mean = solution.between(a, b);
        let swing = solution.between(self.supply, self.common)
            * (self.rates[a.0 as usize] - self.rates[b.0 as usize]);
        (mean * mean + self.duty * (1.0 - self.duty) * swing * swing).sqrt()
    }
}

impl Assembled {
    /// A running stage as it stands in a solution of this network.
    pub fn frozen_stage(&self, solution: &Solution) -> Option<FrozenStage> {
        let Module::Averaged(stage) = self.module else {
            return None;
        };
        let ends = self.net.branches()[stage.freewheel];
        let supply = self.net.branches()[stage.switch].from;
        let (amps, free) = (
            solution.branch_amps(stage.switch),
            solution.branch_amps(stage.freewheel),
        );
        let switch_ohms = solution.between(supply, ends.to) / amps;
        Some(FrozenStage {
            switch_ohms: if switch_ohms > 0.0 {
                switch_ohms
            } else {
                f64::INFINITY
            },
            volts: solution.between(ends.to, ends.from) + stage.ohms * free,
        })
    }

    /// Whether something else holds a running module's output up: the current it would have to take in, or once its
    /// freewheeling path blocks the volts at its output, tell.
    pub fn output_held(&self, solution: &Solution) -> bool {
        match self.module {
            Module::Idle => false,
            Module::Averaged(stage) => {
                let out =
                    solution.branch_amps(stage.switch) + solution.branch_amps(stage.freewheel);
                out < -BLEED_A
            }
            Module::Held(stage) => {
                let supply = self.net.branches()[stage.switch].from;
                let ends = self.net.branches()[stage.freewheel];
                let mean = stage.duty * solution.between(supply, ends.from);
                solution.between(ends.to, ends.from) > mean
            }
        }
    }

    /// The square wave behind a stage's mean, given by how much a volt at its output moves each node.
    pub fn ripple(&self, stage: &Stage, rates: Vec<f64>) -> Ripple {
        Ripple {
            rates,
            duty: stage.duty,
            supply: self.net.branches()[stage.switch].from,
            common: self.net.branches()[stage.freewheel].from,
        }
    }
}

/// The averaged switch of a driver module: two branches, in the order of [`Stage`], or a branch and a source.
pub(super) fn place_stage(
    net: &mut Network,
    scene: &Scene<'_>,
    element: &Element,
    ohms: f64,
    common: NodeId,
    module: &mut Module,
) -> Slot {
    let tag = tag(element.part);
    let running =
        scene.switching.closed.contains(&element.part) && scene.duty > 0.0 && ohms.is_finite();
    let held = running && scene.switching.output_held;
    let frozen = scene.frozen_stage.filter(|_| running);
    let switch = net.add_branch(Branch {
        from: element.from,
        to: element.to,
        ohms: match frozen {
            Some(frozen) => frozen.switch_ohms,
            None if held => ohms / scene.duty,
            None => f64::INFINITY,
        },
        tag,
    });
    let (from, to) = (common, element.to);
    if let Some(FrozenStage { volts, .. }) = frozen {
        net.add_source(Source {
            from,
            to,
            volts,
            ohms,
            tag,
        });
        return Slot::Branch(switch);
    }
    let freewheel = net.add_branch(Branch {
        from,
        to,
        ohms: if running && !held {
            Stage::tie(ohms)
        } else {
            f64::INFINITY
        },
        tag,
    });
    let stage = Stage {
        switch,
        freewheel,
        ohms,
        duty: scene.duty,
    };
    if held {
        *module = Module::Held(stage);
    } else if running {
        *module = Module::Averaged(stage);
    }
    Slot::Branch(switch)
}
