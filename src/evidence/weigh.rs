//! What one entry of an attempt says of each draw.

use std::sync::Arc;

use super::account::Account;
use super::likelihood::{Gross, Predicted, Reading, Shared, meter_sigma, ohms_scale, sound_log};
use super::setup::{Forecast, Frame, Setup};
use crate::bay::Measurement;
use crate::circuit::NodeId;
use crate::instrument::Function;
use crate::vehicle::{Law, PartId};

/// Resistance of a drawn meter's own two leads, ohm.
const LEADS_OHMS: f64 = 0.25;
/// Outcomes a continuous reading is put into for working out what it was expected to tell.
const BINS: usize = 24;

impl Account {
    /// A sound, unless the same has been heard before as things stand.
    pub(super) fn heard(&mut self, setup: &Setup, sound: usize) -> Option<Evidence> {
        if !self.heard.insert((setup.clone().after(0.0), sound)) {
            return None;
        }
        let forecasts = self.forecasts_of(setup);
        let log = |known: &Option<Arc<Forecast>>| Some(sound_log(known.as_ref()?, sound));
        Some(Evidence::plain(forecasts.iter().map(log).collect()))
    }

    pub(super) fn measured(&mut self, setup: &Setup, measured: &Measurement) -> Option<Evidence> {
        let (red, black) = (measured.red, measured.black);
        let touch = |node: NodeId| {
            self.forecasts.vehicle().nodes[node.0 as usize]
                .touch
                .map(|touch| touch.tip)
        };
        let mut gross = Gross::of_tips([touch(red), touch(black)], measured.proved);
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
                let seen = self
                    .forecasts
                    .meter(setup, function, red, black, |draw| awake[draw]);
                let predicted = seen
                    .into_iter()
                    .map(|seen| Some(Predicted::plain(seen.flatten()?)));
                (predicted.collect(), value, meter_sigma(function, value))
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
                let seen = self
                    .forecasts
                    .meter(setup, function, red, black, |draw| awake[draw]);
                let scaled =
                    |ohms: Option<f64>| ohms_scale(ohms.map(|ohms| (ohms - LEADS_OHMS).max(0.0)));
                let predicted = seen
                    .into_iter()
                    .map(|seen| Some(Predicted::plain(scaled(seen?))));
                (predicted.collect(), value, 0.25)
            }
            Function::Amps => return None,
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
        Some(self.valued(
            &predicted,
            &Reading {
                value,
                sigma,
                gross,
            },
        ))
    }

    /// The forecasts of each hypothesis's draws for a setup, with the probability of each.
    pub(super) fn frames_by_hypothesis(&mut self, setup: &Setup) -> Vec<Vec<(f64, Arc<Forecast>)>> {
        let forecasts = self.forecasts_of(setup);
        let mut all = vec![Vec::new(); self.hypotheses.len()];
        for ((known, p), &h) in forecasts
            .into_iter()
            .zip(self.belief.draws())
            .zip(self.belief.hypothesis_of())
        {
            all[h].extend(known.map(|known| (p, known)));
        }
        all
    }

    /// What each draw that is asked predicts of one quantity. Tolerance is what differs between sound vehicles, taken as
    /// often as `load` is larger than theirs: volts lost in a joint go with the current.
    fn predicted(
        &mut self,
        setup: &Setup,
        quantity: impl Fn(&Frame) -> f64,
        load: impl Fn(&Frame) -> f64,
    ) -> Vec<Option<Predicted>> {
        /// Largest factor tolerance is taken at.
        const MOST: f64 = 3.0;
        let forecasts = self.forecasts_of(setup);
        let draws = self.forecasts.draws().iter().zip(&forecasts);
        let healthy: Vec<&Frame> = draws
            .filter(|(draw, _)| draw.fault.is_none())
            .filter_map(|(_, known)| Some(&known.as_ref()?.frame))
            .collect();
        let sound: Vec<f64> = healthy.iter().map(|frame| quantity(frame)).collect();
        let usual = healthy
            .iter()
            .map(|frame| libm::fabs(load(frame)))
            .sum::<f64>()
            / healthy.len().max(1) as f64;
        let one = |known: &Option<Arc<Forecast>>| {
            let known = known.as_ref()?;
            let share = libm::fabs(load(&known.frame)) / usual;
            let scale = if share.is_finite() {
                share.clamp(1.0, MOST)
            } else {
                1.0
            };
            let worse = known.worse.as_ref().map(&quantity);
            Some(Predicted::new(quantity(&known.frame), worse, &sound, scale))
        };
        forecasts.iter().map(one).collect()
    }

    pub(super) fn clamped(&mut self, setup: &Setup, part: PartId, value: f64) -> Option<Evidence> {
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let (element, _) = vehicle
            .elements_of(part)
            .find(|(_, element)| matches!(element.law, Law::Copper { .. }))?;
        let predicted = self.predicted(
            setup,
            |frame| frame.amps[element.0],
            |frame| frame.amps[element.0],
        );
        // Data sheet of a small clamp: 2 %; what its zero is worth when it was set, and when it was not.
        let zero = if self.track.clamp_zeroed() { 0.02 } else { 0.4 };
        let sigma = (0.0001 * value * value + zero * zero).sqrt();
        let gross = Gross {
            chance: 0.01,
            nothing: 0.0,
            width: 30.0,
        };
        Some(self.valued(
            &predicted,
            &Reading {
                value,
                sigma,
                gross,
            },
        ))
    }

    pub(super) fn pressure(&mut self, setup: &Setup, pa: f64) -> Option<Evidence> {
        if !self.track.pressure_is_steady() {
            return None;
        }
        let predicted = self.predicted(
            setup,
            |frame| frame.pump.rail_pa / 1e3,
            |frame| frame.pump.rail_pa / 1e3,
        );
        // A gauge of grade A over 700 kPa, read to 5 kPa (ASME B40.100).
        let gross = Gross {
            chance: 0.01,
            nothing: 0.0,
            width: 700.0,
        };
        Some(self.valued(
            &predicted,
            &Reading {
                value: pa / 1e3,
                sigma: 4.0,
                gross,
            },
        ))
    }

    pub(super) fn caught(&mut self, setup: &Setup, seconds: f64, volume_m3: f64) -> Evidence {
        /// Litres an hour in a cubic metre a second.
        const LITRES_AN_HOUR: f64 = 3.6e6;
        let predicted = self.predicted(
            setup,
            |frame| frame.pump.return_m3_s * LITRES_AN_HOUR,
            |frame| frame.pump.return_m3_s * LITRES_AN_HOUR,
        );
        let value = volume_m3 / seconds * LITRES_AN_HOUR;
        let gross = Gross {
            chance: 0.01,
            nothing: 0.0,
            width: 200.0,
        };
        self.valued(
            &predicted,
            &Reading {
                value,
                sigma: 0.015 * value + 0.6,
                gross,
            },
        )
    }

    /// Evidence of one number that each draw predicts.
    fn valued(&self, predicted: &[Option<Predicted>], reading: &Reading) -> Evidence {
        let mut shared = self.shared.clone();
        let logs = predicted
            .iter()
            .zip(&mut shared)
            .map(|(predicted, shared)| {
                let (log, after) = reading.judge(predicted.as_ref()?, shared);
                *shared = after;
                Some(log)
            });
        let logs = logs.collect();
        let edges = edges(predicted);
        let chances = |(predicted, shared): (&Option<Predicted>, &Shared)| {
            predicted.map_or_else(Vec::new, |predicted| {
                reading.bins(&edges, &predicted, shared)
            })
        };
        let table = predicted.iter().zip(&self.shared).map(chances).collect();
        Evidence {
            logs,
            table: Some(table),
            shared: Some(shared),
        }
    }
}

/// Bounds of bins that hold equally many predictions.
fn edges(predicted: &[Option<Predicted>]) -> Vec<f64> {
    let mut sorted: Vec<f64> = predicted
        .iter()
        .filter_map(|predicted| Some(predicted.as_ref()?.mean))
        .collect();
    sorted.sort_by(f64::total_cmp);
    let quantile = |k: usize| {
        sorted
            .get(k * sorted.len() / BINS)
            .map(|value| value + 1e-9)
    };
    let (low, high) = (
        sorted.first().copied().unwrap_or(0.0),
        sorted.last().copied().unwrap_or(1.0),
    );
    let mut edges = vec![low.min(0.0) - 1.0];
    edges.extend((1..BINS).filter_map(quantile));
    edges.push(high.max(0.0) + 1.0);
    edges.dedup();
    edges
}

/// What one observation says of each draw.
pub(super) struct Evidence {
    /// Nothing for a draw that was not asked.
    pub logs: Vec<Option<f64>>,
    /// Chance of each outcome under each draw, for what was to be expected of the test.
    pub table: Option<Vec<Vec<f64>>>,
    /// What the readings of each draw share after this one.
    pub shared: Option<Vec<Shared>>,
}

impl Evidence {
    pub fn plain(logs: Vec<Option<f64>>) -> Evidence {
        Evidence {
            logs,
            table: None,
            shared: None,
        }
    }
}
