//! What many codes give, counted.

use std::collections::BTreeMap;

use serde::Serialize;

use super::certificate::{buying, cures_all, one_cure_for_all};
use super::{Certifier, Difficulty};
use crate::evidence::{Band, Hypothesis};
use crate::fault::{Catalogue, FaultKind};
use crate::scenario::{
    GenerateError, Redraw, Revealed, TankTrouble, Theme, Told, dearest_part, named_part,
};
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
    /// The heading of the complaint.
    pub told: &'static str,
    /// What is the matter, as the table of frequencies names it.
    pub matters: Vec<Counted>,
    /// Kinds of fault; `empty tank`, `water in the fuel` and `nothing wrong` likewise.
    pub kinds: Vec<String>,
    /// Draws thrown away, with their reasons and the kinds of fault they had.
    pub thrown_away: Vec<(Redraw, Vec<String>)>,
    /// What makes it hard.
    pub difficulty: Difficulty,
    /// Minutes of the reference with the repair, parts counted at the labour rate.
    pub cost: f64,
    /// Buying the vehicle's dearest part would have put it right.
    pub dearest_right: bool,
    /// Buying a pump would have put it right.
    pub pump_right: bool,
    /// Renewing the part that the work order says was worked on would have put it right.
    pub named_right: bool,
    /// Every single piece of work that would have put it right, as somebody with a habit would do it unseen.
    pub by_habit: Vec<String>,
}

/// One thing that is the matter: kind, part, and third of severity.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Counted {
    /// Kind of fault; `empty`, `water` or `nothing` likewise.
    pub kind: String,
    /// Part it sits on; empty for what sits on none.
    pub part: String,
    /// How bad it is; the worst for what has no degrees.
    pub band: Band,
}

/// What is the matter with a vehicle, each thing by itself.
fn matters(revealed: &Revealed) -> Vec<Counted> {
    let plain = |kind: &str| Counted {
        kind: kind.to_owned(),
        part: String::new(),
        band: Band::Severe,
    };
    let (vehicle, catalogue) = (&revealed.vehicle, &revealed.catalogue);
    let faults = revealed.faults.iter().map(|fault| Counted {
        kind: catalogue.kinds[fault.kind.0].id.clone(),
        part: vehicle.parts[fault.site.part.0].id.clone(),
        band: match Hypothesis::of(catalogue, fault) {
            Hypothesis::Fault { band, .. } => band,
            Hypothesis::Nothing | Hypothesis::Tank(_) => Band::Severe,
        },
    });
    let mut all: Vec<Counted> = faults.collect();
    all.extend(revealed.tank_trouble().map(|trouble| match trouble {
        TankTrouble::Empty => plain("empty"),
        TankTrouble::Water => plain("water"),
    }));
    if all.is_empty() {
        all.push(plain("nothing"));
    }
    all
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
            told: Told::by(&revealed.vehicle, &revealed.order.customer)
                .heading()
                .unwrap_or(""),
            matters: matters(revealed),
            kinds,
            difficulty: made.run.difficulty(),
            cost: made.run.cost,
            named_right: named_part(revealed).is_some_and(right),
            by_habit: one_cure_for_all(revealed)
                .into_iter()
                .map(|cure| cure.named(&revealed.vehicle))
                .collect(),
            dearest_right: dearest_part(&revealed.vehicle).is_some_and(right),
            pump_right: right(revealed.vehicle.pump.part),
            thrown_away: made
                .thrown_away
                .iter()
                .map(|(reason, kinds)| {
                    let ids = kinds.iter();
                    let ids = ids.map(|kind| revealed.catalogue.kinds[kind.0].id.clone());
                    (*reason, ids.collect())
                })
                .collect(),
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
    /// Codes on which none was.
    pub at_once: u64,
    /// Most draws thrown away for one code.
    pub most_thrown_away: usize,
    /// What came of the draws of each kind of fault.
    pub draws: BTreeMap<String, KindTally>,
    /// Codes of each vehicle.
    pub vehicles: BTreeMap<String, u64>,
    /// Codes of each theme; `none` where nothing is wrong.
    pub themes: BTreeMap<&'static str, u64>,
    /// Kinds of fault within the theme of each code's first.
    pub kinds: BTreeMap<(&'static str, String), u64>,
    /// Each level.
    pub levels: BTreeMap<u8, LevelTally>,
    /// What was the matter, by vehicle, level and heading of the complaint; each of two faults is counted.
    pub frequencies: BTreeMap<(String, u8, &'static str, Counted), u64>,
    /// Codes of each vehicle and level, and how many of them each habit would have put right.
    pub habits: BTreeMap<(String, u8), Habits>,
}

/// What came of the draws that had one kind of fault.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct KindTally {
    /// Draws that were offered.
    pub kept: u64,
    /// Draws thrown away, by reason.
    pub thrown_away: BTreeMap<Redraw, u64>,
}

/// What doing the same work unseen on every vehicle of a type would come to.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Habits {
    /// Codes counted.
    pub codes: u64,
    /// Codes that each piece of work alone would have put right.
    pub right: BTreeMap<String, u64>,
}

impl Habits {
    /// The habit that is right most often, with how often.
    #[must_use]
    pub fn best(&self) -> (&str, u64) {
        // The first of equals.
        let best = self.right.iter().rev().max_by_key(|(_, right)| **right);
        best.map_or(("", 0), |(work, &right)| (work, right))
    }
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
    /// Codes that renewing what the work order names would have put right.
    pub named_right: u64,
    /// Minutes of the reference with the repair, of each.
    pub costs: Vec<f64>,
}

impl Tally {
    /// Counts one more.
    pub fn add(&mut self, survey: &Survey) {
        self.codes += 1;
        for (reason, kinds) in &survey.thrown_away {
            *self.thrown_away.entry(*reason).or_insert(0) += 1;
            for kind in kinds {
                let of_kind = self.draws.entry(kind.clone()).or_default();
                *of_kind.thrown_away.entry(*reason).or_insert(0) += 1;
            }
        }
        for kind in &survey.kinds {
            self.draws.entry(kind.clone()).or_default().kept += 1;
        }
        self.at_once += u64::from(survey.thrown_away.is_empty());
        self.most_thrown_away = self.most_thrown_away.max(survey.thrown_away.len());
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
        level.named_right += u64::from(survey.named_right);
        level.costs.push(survey.cost);
        let key = (survey.vehicle.clone(), survey.level);
        let habits = self.habits.entry(key).or_default();
        habits.codes += 1;
        for matter in &survey.matters {
            let (vehicle, level) = (survey.vehicle.clone(), survey.level);
            let key = (vehicle, level, survey.told, matter.clone());
            *self.frequencies.entry(key).or_insert(0) += 1;
        }
        for work in &survey.by_habit {
            *habits.right.entry(work.clone()).or_insert(0) += 1;
        }
    }

    /// The table `scenarios/frequencies.csv`.
    #[must_use]
    pub fn frequency_table(&self) -> String {
        let mut rows: BTreeMap<[&str; 5], [u64; 3]> = BTreeMap::new();
        let levels: BTreeMap<u8, String> = self
            .levels
            .keys()
            .map(|&level| (level, level.to_string()))
            .collect();
        for ((vehicle, level, told, matter), count) in &self.frequencies {
            let key = [vehicle, &levels[level], *told, &matter.kind, &matter.part];
            rows.entry(key).or_default()[matter.band as usize] += count;
        }
        let mut table = vec!["vehicle,level,told,kind,part,mild,middling,severe".to_owned()];
        for (key, [mild, middling, severe]) in rows {
            table.push(format!("{},{mild},{middling},{severe}", key.join(",")));
        }
        table.join("\n") + "\n"
    }

    /// The commonest fault of a theme and its share of the theme's codes; nothing for a theme that never came.
    #[must_use]
    pub fn commonest(&self, theme: &str) -> Option<(&str, f64)> {
        let all = *self.themes.get(theme)? as f64;
        let of_it = self.kinds.iter().filter(|((of, _), _)| *of == theme);
        let most = of_it.max_by_key(|(_, count)| **count)?;
        Some((&most.0.1, *most.1 as f64 / all))
    }

    /// Kinds of fault of a catalogue that codes bring in and none of these did.
    #[must_use]
    pub fn never_came<'c>(&self, catalogue: &'c Catalogue) -> Vec<&'c str> {
        let came = |id: &str| self.kinds.keys().any(|(_, kind)| kind == id);
        let drawn = |kind: &(usize, &FaultKind)| {
            let mut pairs = catalogue.consequences.iter();
            kind.1.weight > 0 || pairs.any(|pair| pair.of.0 == kind.0)
        };
        let kinds = catalogue.kinds.iter().enumerate().filter(drawn);
        let ids = kinds.map(|(_, kind)| kind.id.as_str());
        ids.filter(|id| !came(id)).collect()
    }

    /// Spearman's rank correlation of the level with the minutes, the cost and the bits of all codes counted.
    #[must_use]
    pub fn rank_correlations(&self) -> RankCorrelations {
        let of = |values: &dyn Fn(&LevelTally) -> &Vec<f64>| {
            let mut pairs: Vec<(f64, f64)> = Vec::new();
            for (&level, tally) in &self.levels {
                pairs.extend(values(tally).iter().map(|&value| (f64::from(level), value)));
            }
            spearman(&pairs)
        };
        RankCorrelations {
            minutes: of(&|tally| &tally.minutes),
            cost: of(&|tally| &tally.costs),
            bits: of(&|tally| &tally.bits),
        }
    }
}

/// Spearman's rank correlation of the level with what a job takes.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct RankCorrelations {
    /// With the minutes of the reference's tests.
    pub minutes: f64,
    /// With the minutes of tests and repair, parts counted at the labour rate.
    pub cost: f64,
    /// With the bits that have to be found.
    pub bits: f64,
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
