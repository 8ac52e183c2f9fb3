//! What stands connected, taken apart or switched on: for whoever has lost track of it.

use super::{Bay, Fitting};
use crate::circuit::NodeId;
use crate::instrument::Side;
use crate::vehicle::{Kind, PartId};

impl Bay {
    /// One line for each thing that is not as it is on the road.
    pub(super) fn tell_standing(&self) -> Vec<String> {
        let mut told = Vec::new();
        let id = |part: PartId| self.vehicle.parts[part.0].id.clone();
        let pair = |a: NodeId, b: NodeId| format!("{} and {}", self.name(a), self.name(b));
        if let Some(meter) = self.connected {
            let (red, black) = (self.name(meter.red.node), self.name(meter.black.node));
            told.push(format!(
                "Meter on {}: red {red}, black {black}.",
                meter.function.name()
            ));
        }
        if let Some(recorder) = self.recorder {
            told.push(format!(
                "The meter records every {}.",
                recorder.interval.name()
            ));
        }
        for (side, name) in [(Side::Red, "red"), (Side::Black, "black")] {
            if let Some(wire) = self.meter.leads.side(side).extension {
                told.push(format!(
                    "The {name} lead is longer by {}.",
                    wire.show(self.system)
                ));
            }
        }
        if self.needles {
            told.push("Needles on the leads.".to_owned());
        }
        if let Some(part) = self.clamped {
            told.push(format!("Clamp on {}.", id(part)));
        }
        if let Some((a, b)) = self.lit {
            told.push(format!("Test lamp on {}.", pair(a.node, b.node)));
        }
        if let Some((a, b, bulb)) = self.load {
            told.push(format!(
                "{:.0} W bulb on {}.",
                bulb.watts(),
                pair(a.node, b.node)
            ));
        }
        match self.gauge_at {
            Some(Fitting::Port) => told.push("Gauge on the service port.".to_owned()),
            Some(Fitting::Tee(part)) => told.push(format!("Gauge at the inlet of {}.", id(part))),
            None => {}
        }
        let controls = self.rig.controls();
        if let Some(jumper) = controls.jumper {
            told.push(format!("Jumper between {}.", pair(jumper.a, jumper.b)));
        }
        let (clamps, plugs): (Vec<PartId>, Vec<PartId>) = controls
            .unplugged
            .iter()
            .partition(|part| self.vehicle.parts[part.0].kind == Kind::Clamp);
        let list = |parts: &[PartId]| {
            parts
                .iter()
                .map(|&part| id(part))
                .collect::<Vec<_>>()
                .join(", ")
        };
        if !clamps.is_empty() {
            told.push("The battery's negative clamp is off.".to_owned());
        }
        if !plugs.is_empty() {
            told.push(format!("Unplugged: {}.", list(&plugs)));
        }
        let pinched: Vec<PartId> = self.rig.pinched().iter().copied().collect();
        if !pinched.is_empty() {
            told.push(format!("Squeezed shut: {}.", list(&pinched)));
        }
        if controls.tool_commands_pump {
            told.push("The service tool commands the pump on.".to_owned());
        }
        if self.helper {
            told.push("A colleague watches the instruments.".to_owned());
        }
        if !self.accesses.is_empty() {
            let done: Vec<&str> = self
                .accesses
                .iter()
                .map(|access| self.vehicle.accesses[access.0].id.as_str())
                .collect();
            let stands = match (self.is_raised(), self.on_stands) {
                (true, true) => "; the vehicle is on stands",
                (true, false) => "; the vehicle hangs on the jack",
                _ => "",
            };
            told.push(format!("Opened: {}{stands}.", done.join(", ")));
        }
        told
    }
}
