//! What the control unit knows: stored codes and live data, from its own pins.

use super::outcome::{Refusal, Step};
use super::{Bay, TIMES, unsolved};
use crate::instrument::{Quantity, Reading};
use crate::rig::{Asked, Tap};
use crate::units::Pascal;
use crate::vehicle::{Element, Key, Kind, Law, Vehicle};

/// A stored code, numbered as in SAE J2012 (from memory).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Code {
    /// The pump relay's control circuit does not follow the driver.
    PumpCircuit,
    /// The pressure sensor's line reads below what a whole sensor puts out.
    SensorLow,
    /// It reads above that.
    SensorHigh,
    /// The supply was low while the engine ran.
    LowSupply,
}

impl Code {
    fn words(self, vehicle: &Vehicle) -> &str {
        match self {
            Code::PumpCircuit => &vehicle.pump_code,
            Code::SensorLow => "P0192 fuel rail pressure sensor circuit low",
            Code::SensorHigh => "P0193 fuel rail pressure sensor circuit high",
            Code::LowSupply => "P0562 system voltage low",
        }
    }
}

/// A control unit stores a low supply below this with the engine running, V; ours, no source.
const LOW_SUPPLY_V: f64 = 11.0;

/// What the control unit's pins carry.
struct Pins {
    supply_v: f64,
    output_v: f64,
}

impl Bay {
    fn commanded(&self) -> bool {
        matches!(self.key(), Key::Run | Key::Crank) || self.rig.controls().tool_commands_pump
    }

    fn pins(&mut self) -> Result<Option<Pins>, Refusal> {
        let instant = self.bare()?;
        let elements = || self.vehicle.elements.iter();
        let unit = |e: &&Element| self.vehicle.parts[e.part.0].kind == Kind::ControlUnit;
        let feed = elements()
            .filter(unit)
            .find(|e| matches!(e.law, Law::Load { .. }));
        let output = elements()
            .filter(unit)
            .find(|e| matches!(e.law, Law::Driver { .. }));
        let (Some(feed), Some(output)) = (feed, output) else {
            return Ok(None);
        };
        let volts = |e: &Element| {
            instant
                .across(Tap::Node(e.from), Tap::Node(e.to))
                .unwrap_or(0.0)
        };
        Ok(Some(Pins {
            supply_v: volts(feed),
            output_v: volts(output),
        }))
    }

    /// Stores what an awake control unit finds wrong at its pins just now: an output that is not pulled up while off
    /// (an open coil or wire), or not pulled down while on (a dead driver, a short to supply).
    pub(super) fn store_codes(&mut self) -> Result<(), Refusal> {
        if self.key() == Key::Off || !self.control_unit_answers()? {
            return Ok(());
        }
        let commanded = self.commanded();
        let running = self.key() == Key::Run;
        let Some(pins) = self.pins()? else {
            return Ok(());
        };
        let high = pins.output_v > pins.supply_v / 2.0;
        if high == commanded {
            self.codes.insert(Code::PumpCircuit);
        }
        if let Some(line) = self.asked()?.and_then(|asked| asked.line)
            && line.pa.is_none()
        {
            self.codes.insert(if line.is_low() {
                Code::SensorLow
            } else {
                Code::SensorHigh
            });
        }
        if running && pins.supply_v < LOW_SUPPLY_V {
            self.codes.insert(Code::LowSupply);
        }
        Ok(())
    }

    /// What the unit reads of a pressure sensor and asks of a driver module; nothing on a vehicle without one.
    fn asked(&mut self) -> Result<Option<Asked>, Refusal> {
        let attached = self.attachments(0)?.0;
        self.rig.asked(&attached).map_err(unsolved)
    }

    /// The service tool in hand, its use taking `seconds`; the first time it has to be fetched and connected.
    /// That time passes before what it is fetched for begins, and is told before it.
    pub(super) fn take_service_tool(&mut self, seconds: f64) -> Result<Step, Refusal> {
        if self.tool_connected {
            return Ok(Step::taking(seconds));
        }
        self.tool_connected = true;
        let mut step = Step::taking(TIMES.tool_first);
        step.lived = TIMES.tool_first - seconds;
        step.say(format!(
            "The service tool is fetched, plugged into its socket and finds its way to the control unit: {:.0} min, this once.",
            TIMES.tool_first / 60.0
        ));
        let heard = self.tell_pump()?;
        if self.pass(step.lived, &mut step)? {
            self.tell_pump_if_new(&heard, &mut step)?;
        }
        step.outcome.said_first = step.outcome.said.len();
        Ok(step)
    }

    pub(super) fn scan(&mut self) -> Result<Step, Refusal> {
        if self.key() == Key::Off {
            return Err(Refusal::new(
                "The control unit sleeps with the key off.",
                "`key on` first.",
            ));
        }
        let mut step = self.take_service_tool(TIMES.scan)?;
        if !self.control_unit_answers()? {
            step.say("The service tool gets no answer from the control unit.");
            return Ok(step);
        }
        self.store_codes()?;
        let commanded = self.commanded();
        // The unit tells tens.
        let rpm = libm::round(self.rig.engine_rpm() / 10.0) * 10.0;
        let Some(pins) = self.pins()? else {
            return Ok(step);
        };
        let how = "service tool, live data";
        // The unit's own converter resolves a tenth of a volt.
        let supply = libm::round(pins.supply_v * 10.0) / 10.0;
        let push = |quantity, value: f64, shown: String| Reading {
            quantity,
            value: Some(value),
            shown,
            how: how.to_owned(),
        };
        step.outcome.readings.push(push(
            Quantity::Voltage,
            supply,
            format!("{supply:.1} V at the control unit"),
        ));
        step.outcome
            .readings
            .push(push(Quantity::Speed, rpm, format!("{rpm:.0} rpm engine")));
        let word = if commanded { "on" } else { "off" };
        step.see(format!("Pump commanded {word}."), how);
        if let Some(asked) = self.asked()? {
            if let Some(line) = asked.line {
                let volts = line.volts;
                if let Some(pa) = line.pa {
                    let shown = Pascal(pa).show(self.system);
                    step.outcome.readings.push(push(
                        Quantity::SensedPressure,
                        pa,
                        format!("{shown} at the rail, by the sensor's {volts:.2} V"),
                    ));
                } else {
                    let line = format!(
                        "Rail pressure not available: the sensor's line is at {volts:.2} V."
                    );
                    step.see(line, how);
                }
            }
            step.see(format!("Duty asked for: {:.0} %.", asked.duty * 100.0), how);
        }
        if self.codes.is_empty() {
            step.see("No codes stored.", "service tool, stored codes");
        }
        for code in &self.codes {
            step.see(
                format!("Stored: {}.", code.words(&self.vehicle)),
                "service tool, stored codes",
            );
        }
        Ok(step)
    }
}
