//! What the readings of an action say of each draw.

use std::sync::Arc;

use super::account::Account;
use super::draws::Draw;
use super::forecast::{Ask, Forecast, Frame};
use super::likelihood::{Gross, Predicted, Reading, Shared};
use super::setup::Setup;
use crate::bay::{Action, Entry, Fact};
use crate::instrument::Quantity;
use crate::units::Flow;
use crate::vehicle::{Kind, Law, PartId};

/// Current of a sound pump from which it is on, A.
pub(super) const PUMPING_A: f64 = 0.1;
/// Outcomes a continuous reading is put into for working out what it was expected to tell.
const BINS: usize = 24;

impl Account {
    /// Everything an action showed.
    pub(super) fn evidence(&mut self, entry: &Entry) -> Vec<Evidence> {
        let setup = self.track.readable();
        let mut cranking = self.track.cranking();
        let mut all = self.words(&setup, entry);
        for fact in &entry.facts {
            if let Fact::Measured(measured) = fact {
                // The first reading of a start is of the starter turning.
                let at = cranking.take().unwrap_or_else(|| setup.clone());
                all.extend(self.proved_since(entry, measured));
                all.extend(self.measured(&at, measured));
            }
        }
        let in_line = entry
            .facts
            .iter()
            .any(|fact| matches!(fact, Fact::Measured(taken) if taken.function.carries_current()));
        for reading in &entry.readings {
            let Some(value) = reading.value else { continue };
            all.extend(match (reading.quantity, &entry.action) {
                (Quantity::Current, _) if !in_line && self.track.cranking().is_none() => self
                    .track
                    .clamped()
                    .and_then(|part| self.clamped(&setup, part, value)),
                (Quantity::Pressure, _) if self.track.primed() && !self.track.at_lift() => {
                    self.primed_to(value)
                }
                (Quantity::Pressure, _) => self.pressure(&setup, value),
                (Quantity::Volume, Action::Flow { seconds, .. }) => {
                    Some(self.caught(&setup, *seconds, value))
                }
                (Quantity::Voltage, Action::Scan) => self.scanned(&setup, value),
                (Quantity::Temperature, Action::Temperature(part)) => {
                    self.warmed(&setup, *part, value)
                }
                _ => None,
            });
        }
        all
    }

    /// Pressure at the end of the prime, from the road test each draw was given.
    fn primed_to(&mut self, pa: f64) -> Option<Evidence> {
        /// Share by which two primes of one vehicle differ: ours, no source.
        const SHARE: f64 = 0.05;
        if !self.track.is_whole() {
            return None;
        }
        let setup = self.track.setup().clone();
        let healthy = self.sound_draw();
        let predicted: Vec<Option<Predicted>> = (0..self.forecasts.draws().len())
            .map(|index| {
                let of = if self.forecasts.is_cured(&setup, index) {
                    healthy
                } else {
                    index
                };
                let kpa = self.forecasts.draws()[of].report.primed_pa / 1e3;
                Some(Predicted {
                    own: 8.0 + SHARE * kpa,
                    ..Predicted::plain(kpa)
                })
            })
            .collect();
        Some(self.valued(
            &predicted,
            &Reading {
                value: pa / 1e3,
                sigma: 4.0,
                gross: Self::gross(700.0),
            },
        ))
    }

    /// Supply at the control unit, as the service tool tells it.
    fn scanned(&mut self, setup: &Setup, volts: f64) -> Option<Evidence> {
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let unit = vehicle.elements.iter().find(|element| {
            matches!(element.law, Law::Load { .. })
                && vehicle.parts[element.part.0].kind == Kind::ControlUnit
        })?;
        let across = |frame: &Frame| frame.across(unit.from, unit.to);
        let predicted = self.predicted(setup, across, |frame| frame.pump.amps);
        Some(self.valued(
            &predicted,
            &Reading {
                value: volts,
                sigma: 0.04,
                gross: Self::gross(16.0),
            },
        ))
    }

    /// Temperature of a part: draws with their fault elsewhere are as warm as a sound one.
    fn warmed(&mut self, setup: &Setup, part: PartId, celsius: f64) -> Option<Evidence> {
        let predicted = self.local(setup, part, |rig| rig.surface_celsius(part))?;
        let predicted: Vec<Option<Predicted>> = predicted
            .into_iter()
            .map(|celsius| {
                Some(Predicted {
                    // The air of the day is not known to the forecasts; how warm the part is above it varies as much.
                    own: 8.0 + 0.2 * libm::fabs(celsius? - 15.0),
                    ..Predicted::plain(celsius?)
                })
            })
            .collect();
        Some(self.valued(
            &predicted,
            &Reading {
                value: celsius,
                sigma: 1.0,
                gross: Self::gross(100.0),
            },
        ))
    }

    /// A draw with nothing wrong.
    pub(super) fn sound_draw(&self) -> usize {
        let draws = self.forecasts.draws();
        draws.iter().position(Draw::is_sound).unwrap_or(0)
    }

    /// What each draw's vehicle answers to a question about one part; all whose fault lies elsewhere answer as a sound
    /// one does.
    pub(super) fn local<T: Clone>(
        &mut self,
        setup: &Setup,
        part: PartId,
        ask: impl Fn(&crate::rig::Rig) -> T,
    ) -> Option<Vec<Option<T>>> {
        let healthy = self.sound_draw();
        let usual = ask(&self.forecasts.rig(setup, healthy)?);
        let awake = self.awake();
        let mut all = Vec::with_capacity(awake.len());
        for (index, awake) in awake.into_iter().enumerate() {
            let here = self.forecasts.draws()[index]
                .fault
                .is_some_and(|fault| fault.site.part == part);
            all.push(if here && awake != Ask::Not {
                self.forecasts.rig(setup, index).map(|rig| ask(&rig))
            } else {
                Some(usual.clone())
            });
        }
        Some(all)
    }

    /// Gross errors of an instrument that either reads or is misread.
    pub(super) fn gross(width: f64) -> Gross {
        Gross {
            chance: Self::at_least(0.01),
            nothing: 0.0,
            width,
        }
    }

    /// A chance of a gross error, raised to that of a reading which the draws at hand leave unexplained.
    pub(super) fn at_least(chance: f64) -> f64 {
        /// Chance that a reading is moved by what no draw has: a fault between two severities, one that comes and goes.
        /// Ours, set so that what was stated came true as often in jobs of simulated learners.
        const UNEXPLAINED: f64 = 0.03;
        chance.max(UNEXPLAINED)
    }

    /// What each draw that is asked predicts of one quantity. Tolerance is what differs between sound vehicles, taken as
    /// often as `load` is larger than theirs: volts lost in a joint go with the current.
    pub(super) fn predicted(
        &mut self,
        setup: &Setup,
        quantity: impl Fn(&Frame) -> f64,
        load: impl Fn(&Frame) -> f64,
    ) -> Vec<Option<Predicted>> {
        let forecasts = self.forecasts_of(setup);
        self.predictions(setup, &forecasts, &quantity, &load)
    }

    /// The same from forecasts at hand.
    pub(super) fn predictions(
        &self,
        setup: &Setup,
        forecasts: &[Option<Arc<Forecast>>],
        quantity: &dyn Fn(&Frame) -> f64,
        load: &dyn Fn(&Frame) -> f64,
    ) -> Vec<Option<Predicted>> {
        /// Share of what a fault moves a reading by that its warmth may add or take away.
        const UNWARMED: f64 = 0.4;
        /// Largest factor tolerance is taken at.
        const MOST: f64 = 3.0;
        let draws = self.forecasts.draws().iter().zip(forecasts);
        let healthy: Vec<&Frame> = draws
            .filter(|(draw, _)| draw.is_sound())
            .filter_map(|(_, known)| Some(&known.as_ref()?.frame))
            .collect();
        let sound: Vec<f64> = healthy.iter().map(|frame| quantity(frame)).collect();
        let mean = |of: &dyn Fn(&Frame) -> f64| {
            let sum: f64 = healthy.iter().map(|frame| libm::fabs(of(frame))).sum();
            sum / healthy.len().max(1) as f64
        };
        let usual = mean(load);
        let pumped = mean(&|frame| frame.pump.amps);
        let middle = sound.iter().sum::<f64>() / sound.len().max(1) as f64;
        let awake = self.awake();
        let one = |(known, ask): (&Option<Arc<Forecast>>, &Ask)| {
            let known = known.as_ref()?;
            let share = libm::fabs(load(&known.frame)) / usual;
            let scale = if share.is_finite() {
                share.clamp(1.0, MOST)
            } else {
                1.0
            };
            let worse = known.worse.as_ref().map(quantity);
            let mut predicted = Predicted::new(quantity(&known.frame), worse, &sound, scale);
            predicted.load = (pumped > PUMPING_A).then(|| known.frame.pump.amps / pumped);
            if setup.stood_s > 0 && *ask == Ask::Roughly {
                // How far its fault moves the reading once it is warm has not been worked out.
                predicted.own = libm::hypot(predicted.own, UNWARMED * (predicted.mean - middle));
            }
            Some(predicted)
        };
        forecasts.iter().zip(&awake).map(one).collect()
    }

    pub(super) fn clamped(&mut self, setup: &Setup, part: PartId, value: f64) -> Option<Evidence> {
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let (element, _) = vehicle.clampable(part)?;
        let predicted = self.predicted(
            setup,
            |frame| frame.amps[element.0],
            |frame| frame.amps[element.0],
        );
        // Data sheet of a small clamp: 2 %; what its zero is worth when it was set, and when it was not.
        let zero = if self.track.clamp_zeroed() { 0.02 } else { 0.4 };
        let sigma = (0.0001 * value * value + zero * zero).sqrt();
        let gross = Self::gross(30.0);
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
        let kpa = if self.track.at_lift() {
            Frame::lift_kpa
        } else {
            |frame: &Frame| frame.pump.rail_pa / 1e3
        };
        let predicted = self.predicted(setup, kpa, kpa);
        // A gauge of grade A over 700 kPa, read to 5 kPa (ASME B40.100).
        let gross = Self::gross(700.0);
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
        let flow = |frame: &Frame| Flow(frame.pump.return_m3_s).litres_an_hour();
        let predicted = self.predicted(setup, flow, flow);
        let value = Flow(volume_m3 / seconds).litres_an_hour();
        let gross = Self::gross(200.0);
        self.valued(
            &predicted,
            &Reading {
                value,
                sigma: 0.015 * value + 0.6,
                gross,
            },
        )
    }

    /// Where each draw expects a reading of an instrument of this standard uncertainty, by all that its readings share.
    pub(super) fn places(
        &self,
        predicted: &[Option<Predicted>],
        sigma: f64,
    ) -> Vec<Option<(f64, f64)>> {
        let reading = Reading {
            value: 0.0,
            sigma,
            gross: Self::gross(1.0),
        };
        let place = |(predicted, shared): (&Option<Predicted>, &Shared)| {
            Some(reading.spread(predicted.as_ref()?, shared))
        };
        predicted.iter().zip(&self.shared).map(place).collect()
    }

    /// Evidence of one number that each draw predicts.
    pub(super) fn valued(&self, predicted: &[Option<Predicted>], reading: &Reading) -> Evidence {
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
        let ranges = predicted
            .iter()
            .zip(&self.shared)
            .map(|(predicted, shared)| Some(reading.spread(predicted.as_ref()?, shared)));
        Evidence {
            logs,
            table,
            ranges: Some(ranges.collect()),
            shared: Some(shared),
            number: self
                .two
                .is_some()
                .then(|| Number::Read(predicted.to_vec(), *reading)),
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
    /// Chance of each outcome under each draw, for what was to be expected of the test; empty for one not asked.
    pub table: Vec<Vec<f64>>,
    /// Where each draw expects a continuous reading: mean and standard uncertainty.
    pub ranges: Option<Vec<Option<(f64, f64)>>>,
    /// What the readings of each draw share after this one.
    pub shared: Option<Vec<Shared>>,
    /// A number read, with what each draw predicts of it, for belief in pairs.
    pub number: Option<Number>,
}

/// A number read.
pub(super) enum Number {
    Read(Vec<Option<Predicted>>, Reading),
    /// The last one, by a tip that did touch.
    Proved(Reading),
}

impl Evidence {
    /// Something that was seen, with the logarithm of its chance under each draw; all else is one other outcome.
    pub fn plain(logs: Vec<Option<f64>>) -> Evidence {
        let table = logs.iter().map(|log| {
            log.map_or_else(Vec::new, |log| {
                let p = libm::exp(log).min(1.0);
                vec![p, 1.0 - p]
            })
        });
        Evidence {
            table: table.collect(),
            logs,
            ranges: None,
            shared: None,
            number: None,
        }
    }

    /// One of several outcomes that was seen, with the chance of each under each draw.
    pub fn of_outcome(table: Vec<Vec<f64>>, seen: usize) -> Evidence {
        let logs = table
            .iter()
            .map(|row| row.get(seen).map(|p| libm::log(*p)))
            .collect();
        Evidence {
            logs,
            table,
            ranges: None,
            shared: None,
            number: None,
        }
    }
}
