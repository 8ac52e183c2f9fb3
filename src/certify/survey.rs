//! What many codes give, counted.

use std::collections::BTreeMap;

use super::certificate::{buying, cures_all};
use super::{Certifier, Difficulty};
use crate::scenario::{GenerateError, Redraw, TankTrouble, Theme, dearest_part};
use crate::seed::ScenarioCode;

/// What one code gave, as far as a survey counts it.
#[derive(Clone, PartialEq, Debug)]
pub struct Survey {
    /// Vehicle.
    pub vehicle: String,
    /// Level.
    pub level: u8,
    /// What it is about.
    pub theme: Option<Theme>,
    /// Kinds of fault; `empty tank`, `water in the fuel` and `nothing wrong` likewise.
    pub kinds: Vec<String>,
    /// Draws thrown away, with their reasons.
    pub thrown_away: BTreeMap<Redraw, u32>,
    /// What makes it hard.
    pub difficulty: Difficulty,
    /// Buying the vehicle's dearest part would have put it right.
    pub dearest_right: bool,
    /// Buying a pump would have put it right.
    pub pump_right: bool,
}

impl Certifier {
    /// What a code gives.
    ///
    /// # Errors
    /// As [`Certifier::generate`].
    pub fn survey(&self, code: ScenarioCode) -> Result<Survey, GenerateError> {
        let made = self.make(code)?;
        let revealed = &made.revealed;
        let faults = revealed.faults.iter();
        let mut kinds: Vec<String> = faults
            .map(|fault| revealed.catalogue.kinds[fault.kind.0].id.clone())
            .collect();
        kinds.extend(revealed.tank_trouble().map(|trouble| {
            match trouble {
                TankTrouble::Empty => "empty tank",
                TankTrouble::Water => "water in the fuel",
            }
            .to_owned()
        }));
        if kinds.is_empty() {
            kinds.push("nothing wrong".into());
        }
        let right = |part| cures_all(revealed, buying(part));
        Ok(Survey {
            vehicle: revealed.vehicle.id.clone(),
            level: revealed.level,
            theme: Theme::about(revealed),
            kinds,
            difficulty: made.run.difficulty(),
            dearest_right: dearest_part(&revealed.vehicle).is_some_and(right),
            pump_right: right(revealed.vehicle.pump.part),
            thrown_away: made.thrown_away,
        })
    }
}

/// Surveys added up.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Tally {
    /// Codes counted.
    pub codes: u64,
    /// Draws thrown away, by reason.
    pub thrown_away: BTreeMap<Redraw, u64>,
    /// Most draws thrown away for one code.
    pub most_thrown_away: u32,
    /// Codes of each vehicle.
    pub vehicles: BTreeMap<String, u64>,
    /// Codes of each theme; `none` where nothing is wrong.
    pub themes: BTreeMap<&'static str, u64>,
    /// Kinds of fault within the theme of each code's first.
    pub kinds: BTreeMap<(&'static str, String), u64>,
    /// Each level.
    pub levels: BTreeMap<u8, LevelTally>,
}

/// What the codes of one level came to.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct LevelTally {
    /// Codes counted.
    pub codes: u64,
    /// Minutes of the reference's tests, of each.
    pub minutes: Vec<f64>,
    /// Bits that had to be found, of each.
    pub bits: Vec<f64>,
    /// Codes that buying the dearest part would have put right.
    pub dearest_right: u64,
    /// Codes that a new pump would have put right.
    pub pump_right: u64,
}

impl Tally {
    /// Counts one more.
    pub fn add(&mut self, survey: &Survey) {
        self.codes += 1;
        for (&reason, &times) in &survey.thrown_away {
            *self.thrown_away.entry(reason).or_insert(0) += u64::from(times);
        }
        let thrown: u32 = survey.thrown_away.values().sum();
        self.most_thrown_away = self.most_thrown_away.max(thrown);
        *self.vehicles.entry(survey.vehicle.clone()).or_insert(0) += 1;
        let theme = survey.theme.map_or("none", Theme::name);
        *self.themes.entry(theme).or_insert(0) += 1;
        if let Some(kind) = survey.kinds.first() {
            *self.kinds.entry((theme, kind.clone())).or_insert(0) += 1;
        }
        for kind in survey.kinds.iter().skip(1) {
            *self.kinds.entry(("second", kind.clone())).or_insert(0) += 1;
        }
        let level = self.levels.entry(survey.level).or_default();
        level.codes += 1;
        level.minutes.push(survey.difficulty.minutes);
        level.bits.push(survey.difficulty.bits);
        level.dearest_right += u64::from(survey.dearest_right);
        level.pump_right += u64::from(survey.pump_right);
    }

    /// Spearman's rank correlation of the level with the minutes and with the bits of all codes counted.
    #[must_use]
    pub fn rank_correlations(&self) -> (f64, f64) {
        let of = |values: &dyn Fn(&LevelTally) -> &Vec<f64>| {
            let mut pairs: Vec<(f64, f64)> = Vec::new();
            for (&level, tally) in &self.levels {
                pairs.extend(values(tally).iter().map(|&value| (f64::from(level), value)));
            }
            spearman(&pairs)
        };
        (of(&|tally| &tally.minutes), of(&|tally| &tally.bits))
    }
}

/// Rank correlation, ties at their mean rank.
#[must_use]
pub fn spearman(pairs: &[(f64, f64)]) -> f64 {
    let first = ranks(&pairs.iter().map(|pair| pair.0).collect::<Vec<f64>>());
    let second = ranks(&pairs.iter().map(|pair| pair.1).collect::<Vec<f64>>());
    let middle = (pairs.len() as f64 - 1.0) / 2.0;
    let (mut both, mut one, mut other) = (0.0, 0.0, 0.0);
    for (a, b) in first.iter().zip(&second) {
        both += (a - middle) * (b - middle);
        one += (a - middle) * (a - middle);
        other += (b - middle) * (b - middle);
    }
    if one > 0.0 && other > 0.0 {
        both / (one * other).sqrt()
    } else {
        0.0
    }
}

fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
    let mut ranks = vec![0.0; values.len()];
    let mut start = 0;
    while start < order.len() {
        let same = |&&at: &&usize| values[at] == values[order[start]];
        let count = order[start..].iter().take_while(same).count();
        for &at in &order[start..start + count] {
            ranks[at] = start as f64 + (count as f64 - 1.0) / 2.0;
        }
        start += count;
    }
    ranks
}
