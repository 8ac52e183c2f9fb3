//! What a meter's readings say of each draw.

use super::account::Account;
use super::forecast::Frame;
use super::likelihood::{Gross, Predicted, Reading, Shared, meter_sigma, ohms_scale};
use super::setup::Setup;
use super::weigh::{Evidence, Number, PUMPING_A};
use crate::bay::{Action, Entry, Measurement, PROVING_V};
use crate::circuit::NodeId;
use crate::instrument::{Function, Quantity};

/// Resistance of a drawn meter's own two leads, ohm.
const LEADS_OHMS: f64 = 0.25;

/// A reading of next to no volts through a tip that may not have touched.
pub(super) struct Doubt {
    red: NodeId,
    predicted: Vec<Option<Predicted>>,
    reading: Reading,
    shared: Vec<Shared>,
    logs: Vec<Option<f64>>,
}

impl Account {
    pub(super) fn measured(&mut self, setup: &Setup, measured: &Measurement) -> Option<Evidence> {
        let (red, black) = (measured.red, measured.black);
        let touch = |node: NodeId| {
            self.forecasts.vehicle().nodes[node.0 as usize]
                .touch
                .map(|touch| touch.tip)
        };
        let mut gross = Gross::of_tips([touch(red), touch(black)], measured.proved);
        gross.chance = Self::at_least(gross.chance);
        let function = measured.function;
        let awake = self.awake();
        let (predicted, value, sigma) = match function {
            Function::Volts | Function::Millivolts => {
                let value = measured.value?;
                let across = |frame: &Frame| frame.across(red, black);
                (
                    self.predicted(setup, across, |frame| frame.pump.amps),
                    value,
                    meter_sigma(function, value),
                )
            }
            Function::LowVolts => {
                let value = measured.value?;
                let seen = self.forecasts.meter(setup, function, red, black, &awake);
                let seen: Vec<Option<f64>> = seen.into_iter().map(Option::flatten).collect();
                let predicted = self.low_volts(setup, (red, black), &seen);
                (predicted, value, meter_sigma(function, value))
            }
            Function::Ohms | Function::Continuity => {
                // On a live circuit the reading says nothing that could be worth a model.
                if measured.live {
                    return None;
                }
                gross.nothing = 0.0;
                let leads = if measured.zeroed {
                    0.0
                } else {
                    measured.lead_ohms
                };
                let value = ohms_scale(measured.value.map(|ohms| (ohms - leads).max(0.0)));
                let seen = self.forecasts.meter(setup, function, red, black, &awake);
                let scaled =
                    |ohms: Option<f64>| ohms_scale(ohms.map(|ohms| (ohms - LEADS_OHMS).max(0.0)));
                let predicted = seen
                    .into_iter()
                    .map(|seen| Some(Predicted::plain(scaled(seen?))));
                (predicted.collect(), value, 0.25)
            }
            Function::Amps => {
                let value = measured.value?;
                let seen = self.forecasts.meter(setup, function, red, black, &awake);
                let seen: Vec<Option<f64>> = seen.into_iter().map(Option::flatten).collect();
                (
                    self.in_line_amps(&seen),
                    value,
                    meter_sigma(function, value) + 0.02 * libm::fabs(value),
                )
            }
        };
        // A tip in bad contact only makes a reading smaller, so of two that differ the larger counts.
        // Nor is the same reading new because the joints have grown warm since.
        let key = (setup.clone().after(0.0), function, red, black);
        let slack = 4.0 * sigma + 0.01 * libm::fabs(value);
        if self
            .told
            .get(&key)
            .is_some_and(|known| libm::fabs(value) <= libm::fabs(*known) + slack)
        {
            return None;
        }
        self.told.insert(key, value);
        let reading = Reading {
            value,
            sigma,
            gross,
        };
        let evidence = self.valued(&predicted, &reading);
        self.doubt = (function.quantity() == Quantity::Voltage
            && !measured.proved
            && libm::fabs(value) < PROVING_V)
            .then(|| Doubt {
                red,
                predicted,
                reading,
                shared: self.shared.clone(),
                logs: evidence.logs.clone(),
            });
        Some(evidence)
    }

    /// A red tip that shows a volt or more where it was left did touch at the reading before: what that reading was held to
    /// say with a doubt about the tip is taken back, and said again without.
    pub(super) fn proved_since(
        &mut self,
        entry: &Entry,
        measured: &Measurement,
    ) -> Option<Evidence> {
        let stays = matches!(entry.action, Action::Meter { red, .. } if self.doubt.as_ref().is_some_and(|doubt| doubt.red == red));
        if !stays {
            self.doubt = None;
            return None;
        }
        if measured
            .value
            .is_none_or(|volts| libm::fabs(volts) < PROVING_V)
        {
            return None;
        }
        let doubt = self.doubt.take()?;
        let sure = Reading {
            gross: Gross {
                chance: Self::at_least(0.01),
                ..doubt.reading.gross
            },
            ..doubt.reading
        };
        let again = doubt.predicted.iter().zip(&doubt.shared).zip(&doubt.logs);
        let logs = again.map(|((predicted, shared), before)| {
            Some(sure.judge(predicted.as_ref()?, shared).0 - (*before)?)
        });
        Some(Evidence {
            logs: logs.collect(),
            table: Vec::new(),
            ranges: None,
            shared: None,
            number: Some(Number::Proved(sure)),
        })
    }

    /// What each draw predicts of low-impedance volts, given what its meter showed: the volts that are there, moved by what
    /// the meter's own current does to them.
    fn low_volts(
        &mut self,
        setup: &Setup,
        (red, black): (NodeId, NodeId),
        seen: &[Option<f64>],
    ) -> Vec<Option<Predicted>> {
        let across = |frame: &Frame| frame.across(red, black);
        let forecasts = self.forecasts_of(setup);
        let mut predicted = self.predictions(setup, &forecasts, &across, &|frame| frame.pump.amps);
        for ((predicted, seen), known) in predicted.iter_mut().zip(seen).zip(&forecasts) {
            if let (Some(predicted), Some(seen), Some(known)) = (predicted, seen, known) {
                predicted.mean += seen - across(&known.frame);
            }
        }
        predicted
    }

    /// The same of amps in line, which differ from vehicle to vehicle as they do between sound draws.
    fn in_line_amps(&self, seen: &[Option<f64>]) -> Vec<Option<Predicted>> {
        let draws = self.forecasts.draws().iter().zip(seen);
        let sound: Vec<f64> = draws
            .filter(|(draw, _)| draw.is_sound())
            .filter_map(|(_, amps)| *amps)
            .filter(|amps| libm::fabs(*amps) > PUMPING_A)
            .collect();
        let mean = sound.iter().sum::<f64>() / sound.len().max(1) as f64;
        let one = |seen: &Option<f64>| {
            let amps = (*seen)?;
            let spread: Vec<f64> = sound.iter().map(|sound| amps * sound / mean).collect();
            Some(Predicted::new(amps, None, &spread, 1.0))
        };
        seen.iter().map(one).collect()
    }
}
