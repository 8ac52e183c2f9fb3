//! What an exercise allows in the bay: tools, hints, service figures, simulated time and money.

use super::action::Action;
use super::outcome::Refusal;
use crate::instrument::Function;
use crate::units::Money;

/// A tool that an exercise may withhold, called by the word that takes it up.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Equipment {
    /// Volts at 10 Mohm.
    Volts,
    /// Volts at a low impedance.
    LowVolts,
    /// Millivolts.
    Millivolts,
    /// Ohms.
    Ohms,
    /// Continuity.
    Continuity,
    /// Amps in line.
    Amps,
    /// Current clamp.
    Clamp,
    /// Test lamp.
    Lamp,
    /// Bulbs as a load.
    Load,
    /// Pressure gauge.
    Gauge,
    /// Timed flow.
    Flow,
    /// Current waveform.
    Waveform,
    /// Thermometer.
    Temperature,
    /// Codes and live data by service tool.
    Scan,
    /// The pump switched by service tool.
    Pump,
    /// Fused jumper.
    Jumper,
    /// A paid colleague.
    Helper,
}

impl Equipment {
    /// All tools with their words.
    pub const NAMES: [(Equipment, &'static str); 17] = [
        (Equipment::Volts, "volts"),
        (Equipment::LowVolts, "lowz"),
        (Equipment::Millivolts, "millivolts"),
        (Equipment::Ohms, "ohms"),
        (Equipment::Continuity, "continuity"),
        (Equipment::Amps, "amps"),
        (Equipment::Clamp, "clamp"),
        (Equipment::Lamp, "lamp"),
        (Equipment::Load, "load"),
        (Equipment::Gauge, "gauge"),
        (Equipment::Flow, "flow"),
        (Equipment::Waveform, "waveform"),
        (Equipment::Temperature, "temperature"),
        (Equipment::Scan, "scan"),
        (Equipment::Pump, "pump"),
        (Equipment::Jumper, "jumper"),
        (Equipment::Helper, "helper"),
    ];

    /// Its word.
    #[must_use]
    pub fn name(self) -> &'static str {
        Equipment::NAMES
            .iter()
            .find(|(tool, _)| *tool == self)
            .map_or("", |(_, name)| name)
    }

    /// The tool an action takes up; putting one away is always allowed.
    #[must_use]
    pub fn of(action: &Action) -> Option<Equipment> {
        match action {
            Action::Meter { function, .. } => Some(match function {
                Function::Volts => Equipment::Volts,
                Function::LowVolts => Equipment::LowVolts,
                Function::Millivolts => Equipment::Millivolts,
                Function::Ohms => Equipment::Ohms,
                Function::Continuity => Equipment::Continuity,
                Function::Amps => Equipment::Amps,
            }),
            Action::Clamp(_) | Action::ClampZero => Some(Equipment::Clamp),
            Action::Lamp { .. } => Some(Equipment::Lamp),
            Action::Load { .. } => Some(Equipment::Load),
            Action::Gauge(Some(_)) => Some(Equipment::Gauge),
            Action::Flow { .. } => Some(Equipment::Flow),
            Action::Waveform => Some(Equipment::Waveform),
            Action::Temperature(_) => Some(Equipment::Temperature),
            Action::Scan => Some(Equipment::Scan),
            Action::PumpTool(true) => Some(Equipment::Pump),
            Action::Jumper(_) => Some(Equipment::Jumper),
            Action::Helper(true) => Some(Equipment::Helper),
            _ => None,
        }
    }
}

/// What is allowed. The default allows everything.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Limits {
    /// Equipments that may not be used.
    pub withheld: Vec<Equipment>,
    /// No hints.
    pub no_hints: bool,
    /// No service figures, neither on the work order nor by `data`.
    pub no_figures: bool,
    /// Simulated time after which the vehicle can only be given back, s.
    pub seconds: Option<f64>,
    /// Money after which the vehicle can only be given back.
    pub money: Option<Money>,
}

impl Limits {
    /// Refuses a tool that is withheld.
    pub(super) fn allow(&self, tool: Equipment) -> Result<(), Refusal> {
        if !self.withheld.contains(&tool) {
            return Ok(());
        }
        let error = format!("`{}` may not be used in this exercise.", tool.name());
        let allowed = Equipment::NAMES
            .iter()
            .filter(|(tool, _)| !self.withheld.contains(tool));
        let allowed: Vec<&str> = allowed.map(|(_, name)| *name).collect();
        Err(Refusal::new(
            error,
            format!("Allowed are: {}.", allowed.join(", ")),
        ))
    }

    /// Refuses what is not allowed. The last action before an end of time or money may run over it.
    pub(super) fn permit(
        &self,
        action: &Action,
        clock_s: f64,
        spent: Money,
    ) -> Result<(), Refusal> {
        if let Some(tool) = Equipment::of(action) {
            self.allow(tool)?;
        }
        if self.no_figures && matches!(action, Action::Data) {
            let hint = "Judge by what you measure; `order` has what the customer said.";
            return Err(Refusal::new(
                "This exercise withholds the service figures.",
                hint,
            ));
        }
        if self.no_hints && matches!(action, Action::Hint { .. }) {
            let hint = "Judge by what you measure; `help` has the words.";
            return Err(Refusal::new("This exercise gives no hints.", hint));
        }
        let free = action.is_paper() || matches!(action, Action::Call { .. } | Action::Handover);
        if free {
            return Ok(());
        }
        let hint = "`call` what you can still judge, then `handover` gives the vehicle back.";
        if self.seconds.is_some_and(|seconds| clock_s >= seconds) {
            return Err(Refusal::new("The time for this vehicle is used up.", hint));
        }
        if self.money.is_some_and(|money| spent >= money) {
            return Err(Refusal::new("The money for this vehicle is used up.", hint));
        }
        Ok(())
    }
}
