//! How likely what was read, heard or seen is under each draw.
//!
//! A reading is predicted by each draw; it spreads by what the instrument's own accuracy leaves open, by what the draws
//! of a hypothesis leave between them, and by what the forecast leaves out (parts warm up, the battery sags). A tip
//! that did not touch is a gross error of its own kind: it shows next to nothing, or less than is there.

use super::logs::log_add_exp;
use super::mixture::{normal_below, normal_log_density};
use crate::bay::{lift_in_words, pump_in_words};
use crate::fault::{Catalogue, Effect, Fault, Sense, clue};
use crate::instrument::Function;
use crate::rig::{LiftState, PumpState, Symptom};
use crate::vehicle::{Kind, PartId, Tip, Vehicle};

use super::forecast::{Forecast, Frame};

/// Sizes of what is left open. All are ours, no source, unless one is named; a larger value makes belief slower.
pub(super) struct Slack {
    /// Share of a value by which a vehicle that has been run differs from one that has not.
    pub run_share: f64,
    /// The same as a fixed part, in the unit of the reading.
    pub run_fixed: f64,
    /// Share of a tolerance that belongs to one reading alone.
    pub own_tolerance: f64,
    /// Spread of a floating point's reading, V.
    pub floating_v: f64,
    /// Chance that two people name what they hear differently.
    pub misheard: f64,
    /// Chance that a sign is missed or imagined.
    pub missed: f64,
    /// Chance that a driver notices one thing more or less than the forecast.
    pub noticed: f64,
    /// Chance that a driver notices something of a vehicle that is well.
    pub imagined: f64,
}

pub(super) const SLACK: Slack = Slack {
    run_share: 0.012,
    run_fixed: 0.004,
    own_tolerance: 0.3,
    floating_v: 0.1,
    misheard: 0.12,
    missed: 0.02,
    noticed: 0.1,
    imagined: 2e-4,
};

/// Share of its stated limits within which an instrument is drawn, evenly, and the noise on top of it: the standard
/// uncertainty over the limit.
const OF_LIMIT: f64 = 0.4;

/// Gross errors of one reading.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Gross {
    /// Chance of one.
    pub chance: f64,
    /// Share of gross errors that show next to nothing, as an open tip does.
    pub nothing: f64,
    /// The width over which the others lie.
    pub width: f64,
}

impl Gross {
    /// Contact of two tips that are held as their points ask for.
    pub fn of_tips(tips: [Option<Tip>; 2], proved: bool) -> Gross {
        let bad = |tip: Option<Tip>| match tip {
            Some(Tip::Clip) | None => 0.01,
            Some(Tip::Probe) => 0.03,
            // Paint lets nothing through until it is scraped, which shows; a mistake is likely here.
            Some(Tip::Painted) => 0.3,
            Some(Tip::BackProbe) => 0.08,
        };
        let chance = 1.0 - (1.0 - bad(tips[0])) * (1.0 - bad(tips[1]));
        Gross {
            chance: if proved { 0.01 } else { chance },
            nothing: 0.6,
            width: 16.0,
        }
    }

    fn log_density(&self, y: f64) -> f64 {
        let spread = libm::log((1.0 - self.nothing) / self.width);
        log_add_exp(
            spread,
            libm::log(self.nothing) + normal_log_density(y, 0.0, SLACK.floating_v),
        )
    }
}

/// One number read, with how well.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Reading {
    pub value: f64,
    /// Standard uncertainty of the instrument.
    pub sigma: f64,
    pub gross: Gross,
}

/// What all readings of one vehicle share and a forecast leaves open: how the supply has sagged, how far the fault is
/// worse than drawn, and the tolerances of sound parts along as many directions as sound vehicles are drawn.
pub(super) const NUISANCES: usize = 2 + TOLERANCES;
/// Sound vehicles whose differences stand for tolerance.
pub(super) const TOLERANCES: usize = 16;

/// What a draw predicts of a reading, and how the prediction moves with what all its readings share.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Predicted {
    pub mean: f64,
    /// Change with one standard deviation of each shared nuisance.
    pub slopes: [f64; NUISANCES],
    /// Standard uncertainty of tolerance that no shared direction covers.
    pub own: f64,
    /// Share of a sound pump's current that flows; nothing where none should.
    pub load: Option<f64>,
}

impl Predicted {
    /// A prediction that scales with the vehicle's supply, moves to `worse` with the fault, and has the tolerances
    /// that differences between sound vehicles show, taken `scale` times.
    pub fn new(mean: f64, worse: Option<f64>, sound: &[f64], scale: f64) -> Predicted {
        let mut slopes = [0.0; NUISANCES];
        slopes[0] = SLACK.run_share * mean;
        slopes[1] = worse.map_or(0.0, |worse| worse - mean);
        let count = sound.len().min(TOLERANCES);
        let mut own = 0.0;
        if count > 1 {
            let middle = sound[..count].iter().sum::<f64>() / count as f64;
            let share = scale / ((count - 1) as f64).sqrt();
            for (slope, value) in slopes[2..].iter_mut().zip(&sound[..count]) {
                *slope = share * (value - middle);
                own += *slope * *slope;
            }
        }
        Predicted {
            mean,
            slopes,
            own: SLACK.own_tolerance * own.sqrt(),
            load: None,
        }
    }

    /// A prediction that is known as it stands.
    pub fn plain(mean: f64) -> Predicted {
        Predicted {
            mean,
            slopes: [0.0; NUISANCES],
            own: 0.0,
            load: None,
        }
    }
}

/// The shared nuisances of one draw, in standard deviations: a normal distribution that each reading narrows (a Kalman
/// filter on constants), so that what readings share is not counted as new evidence each time.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Shared {
    mean: [f64; NUISANCES],
    covariance: [[f64; NUISANCES]; NUISANCES],
}

impl Default for Shared {
    fn default() -> Shared {
        let mut covariance = [[0.0; NUISANCES]; NUISANCES];
        for (i, row) in covariance.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        Shared {
            mean: [0.0; NUISANCES],
            covariance,
        }
    }
}

impl Shared {
    /// Expected reading, and how it varies together with each nuisance.
    fn predict(&self, predicted: &Predicted) -> (f64, [f64; NUISANCES]) {
        let slopes = &predicted.slopes;
        let along = self
            .mean
            .iter()
            .zip(slopes)
            .map(|(m, s)| m * s)
            .sum::<f64>();
        let mut together = [0.0; NUISANCES];
        for (sum, row) in together.iter_mut().zip(&self.covariance) {
            *sum = row.iter().zip(slopes).map(|(c, s)| c * s).sum();
        }
        (predicted.mean + along, together)
    }

    /// Narrows by a reading that is right with probability `weight`.
    fn learn(&mut self, together: &[f64; NUISANCES], off: f64, variance: f64, weight: f64) {
        for i in 0..NUISANCES {
            let gain = weight * together[i] / variance;
            self.mean[i] += gain * off;
            for (cell, other) in self.covariance[i].iter_mut().zip(together) {
                *cell -= gain * other;
            }
        }
    }
}

impl Reading {
    /// Natural logarithm of the density of the reading under a draw, and what is shared after it.
    pub fn judge(&self, predicted: &Predicted, shared: &Shared) -> (f64, Shared) {
        let (mean, together) = shared.predict(predicted);
        let variance = self.variance(predicted, &together);
        let right =
            libm::log1p(-self.gross.chance) + normal_log_density(self.value, mean, variance.sqrt());
        let log = log_add_exp(right, self.gross_log());
        let mut after = shared.clone();
        after.learn(
            &together,
            self.value - mean,
            variance,
            libm::exp(right - log),
        );
        (log, after)
    }

    fn variance(&self, predicted: &Predicted, together: &[f64; NUISANCES]) -> f64 {
        let shared: f64 = together
            .iter()
            .zip(&predicted.slopes)
            .map(|(c, s)| c * s)
            .sum();
        shared.max(0.0) + self.own_variance(predicted)
    }

    /// Variance that belongs to this reading alone.
    pub fn own_variance(&self, predicted: &Predicted) -> f64 {
        let fixed = SLACK.run_fixed * SLACK.run_fixed + predicted.own * predicted.own;
        self.sigma * self.sigma + fixed
    }

    /// Where a draw expects the reading: mean and standard uncertainty.
    pub fn spread(&self, predicted: &Predicted, shared: &Shared) -> (f64, f64) {
        let (mean, together) = shared.predict(predicted);
        (mean, self.variance(predicted, &together).sqrt())
    }

    /// The same for a reading that went wrong.
    pub fn gross_log(&self) -> f64 {
        libm::log(self.gross.chance) + self.gross.log_density(self.value)
    }

    /// Chance of a reading in each bin between `edges` (ascending, the outer two taken as infinite).
    pub fn bins(&self, edges: &[f64], predicted: &Predicted, shared: &Shared) -> Vec<f64> {
        let (mean, together) = shared.predict(predicted);
        let sigma = self.variance(predicted, &together).sqrt();
        let gross = &self.gross;
        let whole = edges[edges.len() - 1] - edges[0];
        let mut last = 0.0;
        let mut chances = Vec::with_capacity(edges.len() - 1);
        for (bin, ends) in edges.windows(2).enumerate() {
            let up_to = if bin + 2 == edges.len() {
                1.0
            } else {
                normal_below((ends[1] - mean) / sigma)
            };
            let zero = if ends[0] <= 0.0 && ends[1] > 0.0 {
                gross.nothing
            } else {
                0.0
            };
            let wide = zero + (1.0 - gross.nothing) * (ends[1] - ends[0]) / whole;
            chances.push((1.0 - gross.chance) * (up_to - last) + gross.chance * wide);
            last = up_to;
        }
        chances
    }
}

/// Standard uncertainty of the meter at a value, in the unit of the function.
pub(super) fn meter_sigma(function: Function, value: f64) -> f64 {
    let size = libm::fabs(value);
    let last = function.ranges().saturating_sub(1);
    let range = function
        .full_scales()
        .position(|full| size <= full)
        .unwrap_or(last);
    OF_LIMIT * function.stated_error(range, value)
}

/// Ohms as a number in which equal steps are equal ratios; an overload lies above all.
pub(super) fn ohms_scale(ohms: Option<f64>) -> f64 {
    const OVERLOAD: f64 = 1e8;
    libm::log(ohms.unwrap_or(OVERLOAD).clamp(0.0, OVERLOAD) + 0.3)
}

/// What is heard of a pump, in order of pitch.
const SOUNDS: [&str; 7] = [
    "Nothing is heard of the pump.",
    "A low hum from the pump, and no whir with it.",
    "The pump runs low and slow.",
    "The pump runs, lower in pitch than most.",
    "The pump runs at its usual pitch.",
    "The pump runs, high and light.",
    "The pump runs with a harsh, rattling whine.",
];

/// The sound that some lines tell of.
pub(super) fn sound(said: &[String]) -> Option<usize> {
    let silent = |line: &String| {
        line.contains("othing from the pump") || line.contains("of the pump nothing")
    };
    let heard = |sound: &str| said.iter().any(|line| line.contains(sound));
    let found = SOUNDS.iter().position(|sound| heard(sound));
    found.or_else(|| said.iter().any(silent).then_some(0))
}

/// Points and weights that stand for a normal distribution of how far the fault is worse than drawn.
const WORSE: [(f64, f64); 5] = [
    (-1.6, 0.09),
    (-0.8, 0.24),
    (0.0, 0.34),
    (0.8, 0.24),
    (1.6, 0.09),
];

/// What is heard of a lift pump, in order of pitch.
const LIFT_SOUNDS: [&str; 7] = [
    "nothing.",
    "a low hum without any whir.",
    "a slow whir.",
    "a whir lower than most.",
    "its usual whir.",
    "a high whir.",
    "a rattling whine.",
];

/// The sound of the lift pump of a vehicle with two, that some lines tell of.
pub(super) fn lift_sound(vehicle: &Vehicle, said: &[String]) -> Option<usize> {
    let lift = vehicle.lift.as_ref()?;
    let at = format!(" At {}: ", vehicle.parts[lift.pump.part.0].id);
    let heard = said.iter().find_map(|line| Some(line.split_once(&at)?.1))?;
    LIFT_SOUNDS
        .iter()
        .position(|sound| heard.starts_with(sound))
}

/// Chance of hearing each sound when a forecast tells which it should be, over the severities the draw stands for.
pub(super) fn sound_chances(forecast: &Forecast) -> Vec<f64> {
    let (frame, worse) = (&forecast.frame, forecast.worse.as_ref());
    chances_of(SOUNDS.len(), |share: f64| {
        let far = worse.unwrap_or(frame).pump;
        let between = |a: f64, b: f64| (a + share * (b - a)).max(0.0);
        let pump = PumpState {
            rad_s: between(frame.pump.rad_s, far.rad_s),
            amps: between(frame.pump.amps, far.amps),
            starved: if share > 0.5 {
                far.starved
            } else {
                frame.pump.starved
            },
            ..frame.pump
        };
        let words = pump_in_words(&pump, frame.usual_rpm);
        SOUNDS.iter().position(|sound| *sound == words).unwrap_or(0)
    })
}

/// The same of a lift pump.
pub(super) fn lift_sound_chances(forecast: &Forecast) -> Vec<f64> {
    let (frame, worse) = (&forecast.frame, forecast.worse.as_ref());
    chances_of(LIFT_SOUNDS.len(), |share: f64| {
        let near = frame.pump.lift.unwrap_or_default();
        let far = worse.unwrap_or(frame).pump.lift.unwrap_or_default();
        let between = |a: f64, b: f64| (a + share * (b - a)).max(0.0);
        let lift = LiftState {
            rad_s: between(near.rad_s, far.rad_s),
            amps: between(near.amps, far.amps),
            starved: if share > 0.5 {
                far.starved
            } else {
                near.starved
            },
            ..near
        };
        let words = lift_in_words(&lift, frame.usual_lift_rpm.unwrap_or(f64::INFINITY));
        LIFT_SOUNDS
            .iter()
            .position(|sound| *sound == words)
            .unwrap_or(0)
    })
}

/// Chances of sounds in order of pitch, over the severities a draw stands for.
fn chances_of(sounds: usize, due: impl Fn(f64) -> usize) -> Vec<f64> {
    let mut chances = vec![0.0; sounds];
    for &(share, weight) in &WORSE {
        let due = due(share);
        for (heard, chance) in chances.iter_mut().enumerate() {
            *chance += weight
                * match due.abs_diff(heard) {
                    0 => 1.0 - SLACK.misheard,
                    1 => 0.4 * SLACK.misheard,
                    _ => 0.05 * SLACK.misheard,
                };
        }
    }
    let whole: f64 = chances.iter().sum();
    chances.into_iter().map(|chance| chance / whole).collect()
}

/// Natural logarithm of the chance that a driver notices `noticed` where the forecast is `due`.
pub(super) fn drive_log(due: &[Symptom], noticed: &[Symptom]) -> f64 {
    let one_sided =
        |a: &[Symptom], b: &[Symptom]| a.iter().filter(|symptom| !b.contains(symptom)).count();
    libm::log(match one_sided(due, noticed) + one_sided(noticed, due) {
        0 => 1.0 - SLACK.noticed,
        // No vehicle that is well, or made well, shows anything: that is how jobs are made.
        _ if due.is_empty() => SLACK.imagined,
        1 | 2 => 0.2 * SLACK.noticed,
        _ => 0.01 * SLACK.noticed,
    })
}

/// Natural logarithm of the chance that a part shows a sense what it showed. Traces of age are shown by sound parts as
/// often as the catalogue says; a fault on the part adds its own line, often in the same words.
pub(super) fn look_log(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    fault: Option<&Fault>,
    part: PartId,
    senses: &[Sense],
    said: &[String],
) -> f64 {
    let kind = vehicle.parts[part.0].kind;
    let here = fault.filter(|fault| fault.site.part == part);
    let mut log = 0.0;
    for &sense in senses {
        let due = here.and_then(|fault| clue(catalogue, fault, sense));
        let shown = |text: &str| said.iter().any(|line| line == text);
        let mut explained = false;
        for sign in catalogue
            .signs
            .iter()
            .filter(|sign| sign.sense == sense && sign.on.contains(&kind))
        {
            let chance = if due == Some(sign.text.as_str()) {
                1.0
            } else {
                sign.share
            };
            explained |= due == Some(sign.text.as_str());
            let chance = chance.clamp(SLACK.missed, 1.0 - SLACK.missed);
            log += libm::log(if shown(&sign.text) {
                chance
            } else {
                1.0 - chance
            });
        }
        if let Some(text) = due.filter(|_| !explained) {
            log += libm::log(if shown(text) {
                1.0 - SLACK.missed
            } else {
                SLACK.missed
            });
        }
        // Lines of faults that this draw does not have, and that no sound part shows.
        let strange = said.iter().filter(|line| {
            let sign = catalogue
                .signs
                .iter()
                .any(|sign| sign.sense == sense && sign.text == **line);
            !sign && due != Some(line.as_str()) && is_clue(catalogue, kind, sense, line)
        });
        log += libm::log(SLACK.missed) * strange.count() as f64;
    }
    log
}

fn is_clue(catalogue: &Catalogue, kind: Kind, sense: Sense, line: &str) -> bool {
    let kinds = catalogue
        .kinds
        .iter()
        .filter(|fault| fault.on.contains(&kind));
    kinds
        .flat_map(|fault| &fault.clues)
        .any(|clue| clue.sense == sense && clue.text == line)
}

/// Whether a window that shows an open fuse was looked into, and what a draw says of it.
pub(super) fn fuse_log(
    frame: &Frame,
    fault: Option<&Fault>,
    catalogue: &Catalogue,
    part: PartId,
    open: bool,
) -> f64 {
    let blown = fault.is_some_and(|f| {
        f.site.part == part && catalogue.kinds[f.kind.0].effect == Effect::FuseBlown
    });
    let due = blown || frame.open_fuses.contains(&part);
    libm::log(if due == open {
        1.0 - SLACK.missed
    } else {
        SLACK.missed
    })
}
