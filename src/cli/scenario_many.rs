//! Many codes at once: fresh ones by the thousand, and what many of them come to.
//!
//! Seeds are worked through in blocks, each on all threads, and told in the order of the seeds: what comes out does not
//! depend on how many threads there are.

use std::fs::File;
use std::io::{IsTerminal, Write};
use std::path::Path;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::{IntoParallelRefIterator, ParallelIterator};
use rayon::{ThreadPool, ThreadPoolBuilder};
use serde_json::{Value, json};

use crate::certify::{Certifier, Tally};
use crate::fault::Catalogue;
use crate::report::survey;
use crate::scenario::GenerateError;
use crate::seed::{ScenarioCode, fresh};

use super::arguments::Drawn;
use super::failure::{Failure, Kind};
use super::source::{MOST_DRAWS, Wanted, library};
use super::ui::Ui;

/// Seeds worked through before anything is told.
const BLOCK: u32 = 64;
/// Codes from which a bar is worth its line.
const WORTH_A_BAR: u32 = 16;

/// Prints codes, one a line.
pub(super) fn new(
    count: u32,
    level: u8,
    drawn: &Drawn,
    theme: Option<&str>,
    ui: &mut Ui,
) -> Result<(), Failure> {
    let wanted = wanted(level, drawn, theme)?;
    let certifier = Certifier::new(library()?);
    let pool = pool(drawn)?;
    let bar = bar(count, ui);
    let mut seeds = Seeds::new(drawn);
    let (mut printed, mut missed) = (0, 0);
    while printed < count {
        let block = if wanted.theme.is_none() {
            (count - printed).min(BLOCK)
        } else {
            BLOCK
        };
        let codes = seeds.codes(block, |seed, _| wanted.code(seed))?;
        let found: Vec<Result<bool, GenerateError>> = pool.install(|| {
            // What cannot be solved says so again for each code.
            let _ = certifier.prepare(&codes);
            let fits = |code: &ScenarioCode| wanted.fits(&certifier, *code);
            codes.par_iter().map(fits).collect()
        });
        for (code, fits) in codes.iter().zip(found) {
            if printed < count && fits.map_err(|error| exhausted(*code, &error))? {
                ui.raw(&format!("{code}\n"))?;
                (printed, missed) = (printed + 1, 0);
                bar.inc(1);
            } else {
                missed += 1;
            }
        }
        if missed > MOST_DRAWS {
            return Err(wanted.nothing_came());
        }
    }
    bar.finish_and_clear();
    Ok(())
}

/// Counts what codes give.
pub(super) fn survey(
    count: u32,
    level: Option<u8>,
    drawn: &Drawn,
    (as_json, frequencies): (bool, Option<&Path>),
    ui: &mut Ui,
) -> Result<(), Failure> {
    let unwritten = |path: &Path, error| Failure::file("write", path, &error, "name another file");
    // Made before hours of work, so that they are not lost for want of it.
    let mut table = None;
    if let Some(path) = frequencies {
        let file = File::create(path).map_err(|error| unwritten(path, error))?;
        table = Some((path, file));
    }
    let levels: Vec<Wanted> = level
        .map_or_else(|| (1..=5).collect(), |level| vec![level])
        .into_iter()
        .map(|level| wanted(level, drawn, None))
        .collect::<Result<_, _>>()?;
    let certifier = Certifier::new(library()?);
    let pool = pool(drawn)?;
    let bar = bar(count, ui);
    let mut seeds = Seeds::new(drawn);
    let (mut tally, mut failed) = (Tally::default(), Vec::new());
    let mut done = 0;
    while done < count {
        let block = (count - done).min(BLOCK);
        let codes = seeds.codes(block, |seed, number| {
            levels[number as usize % levels.len()].code(seed)
        })?;
        let found: Vec<_> = pool.install(|| {
            let _ = certifier.prepare(&codes);
            let counted = |code: &ScenarioCode| certifier.survey(*code);
            codes.par_iter().map(counted).collect()
        });
        for (code, survey) in codes.iter().zip(found) {
            match survey {
                Ok(survey) => tally.add(&survey),
                Err(error) => failed.push(format!("{code}: {error}")),
            }
        }
        done += block;
        bar.inc(u64::from(block));
    }
    bar.finish_and_clear();
    if let Some((path, mut file)) = table {
        file.write_all(tally.frequency_table().as_bytes())
            .map_err(|error| unwritten(path, error))?;
    }
    if as_json {
        ui.json(&tally_json(&tally, &certifier.stock().catalogue, &failed))?;
    } else {
        ui.show(&survey::text(&tally, &certifier.stock().catalogue, &failed))?;
    }
    if failed.is_empty() {
        return Ok(());
    }
    let error = format!("{} codes gave no scenario", failed.len());
    Err(Failure::new(Kind::No, error, ""))
}

fn wanted(level: u8, drawn: &Drawn, theme: Option<&str>) -> Result<Wanted, Failure> {
    let vehicles: Vec<&str> = drawn.vehicle.iter().map(String::as_str).collect();
    let mut wanted = Wanted::named(level, &vehicles, theme)?;
    if drawn.without_figures {
        wanted.set = wanted.set.without_figures();
    }
    Ok(wanted)
}

fn exhausted(code: ScenarioCode, error: &GenerateError) -> Failure {
    Failure::new(
        Kind::No,
        format!("{code}: {error}"),
        "try another level or another vehicle",
    )
}

/// Seeds from a given one on, or fresh ones.
struct Seeds {
    next: Option<u64>,
    number: u32,
}

impl Seeds {
    fn new(drawn: &Drawn) -> Seeds {
        Seeds {
            next: drawn.from,
            number: 0,
        }
    }

    /// The next codes; `code` gets a seed and how many came before it.
    fn codes(
        &mut self,
        count: u32,
        code: impl Fn(u64, u32) -> Result<ScenarioCode, Failure>,
    ) -> Result<Vec<ScenarioCode>, Failure> {
        let mut codes = Vec::new();
        for _ in 0..count {
            let seed = self.next.unwrap_or_else(fresh);
            codes.push(code(seed, self.number)?);
            self.next = self.next.map(|seed| seed.wrapping_add(1));
            self.number = self.number.wrapping_add(1);
        }
        Ok(codes)
    }
}

fn pool(drawn: &Drawn) -> Result<ThreadPool, Failure> {
    let threads = usize::from(drawn.threads.unwrap_or(0));
    let pool = ThreadPoolBuilder::new().num_threads(threads).build();
    pool.map_err(|error| {
        Failure::new(
            Kind::System,
            format!("no threads to work with: {error}"),
            "try `--threads 1`",
        )
    })
}

/// A bar on standard error, where a person looks at it and waits.
fn bar(count: u32, ui: &Ui) -> ProgressBar {
    let watched = std::io::stderr().is_terminal() && !ui.view().plain && count >= WORTH_A_BAR;
    let target = if watched {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(u64::from(count)), target);
    // The pattern is a constant, and a plain bar does as well.
    if let Ok(style) = ProgressStyle::with_template("{bar:24} {pos} of {len}, {eta} left") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

fn tally_json(tally: &Tally, catalogue: &Catalogue, failed: &[String]) -> Value {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len().max(1) as f64;
    let thrown: serde_json::Map<String, Value> = tally
        .thrown_away
        .iter()
        .map(|(reason, times)| (reason.words().to_owned(), json!(times)))
        .collect();
    let levels: Vec<Value> = tally
        .levels
        .iter()
        .map(|(level, one)| {
            json!({
                "level": level,
                "codes": one.codes,
                "minutes": mean(&one.minutes),
                "bits": mean(&one.bits),
                "dearest_part_right": one.dearest_right,
                "pump_right": one.pump_right,
                "named_part_right": one.named_right,
                "cost": mean(&one.costs),
            })
        })
        .collect();
    let kinds: Vec<Value> = tally
        .kinds
        .iter()
        .map(|((theme, kind), codes)| json!({ "theme": theme, "fault": kind, "codes": codes }))
        .collect();
    let commonest: serde_json::Map<String, Value> = tally
        .themes
        .keys()
        .filter_map(|theme| {
            let (fault, share) = tally.commonest(theme)?;
            Some((
                (*theme).to_owned(),
                json!({ "fault": fault, "share": share }),
            ))
        })
        .collect();
    let draws: serde_json::Map<String, Value> = tally
        .draws
        .iter()
        .map(|(kind, one)| {
            let thrown = one.thrown_away.iter();
            let thrown: serde_json::Map<String, Value> = thrown
                .map(|(reason, times)| (reason.words().to_owned(), json!(times)))
                .collect();
            (
                kind.clone(),
                json!({ "offered": one.kept, "thrown_away": thrown }),
            )
        })
        .collect();
    let habits: Vec<Value> = tally
        .habits
        .iter()
        .map(|((vehicle, level), habits)| {
            let (work, right) = habits.best();
            json!({ "vehicle": vehicle, "level": level, "codes": habits.codes, "work": work, "right": right })
        })
        .collect();
    json!({
        "codes": tally.codes,
        "at_once": tally.at_once,
        "never_came": tally.never_came(catalogue),
        "commonest": commonest,
        "draws": draws,
        "failed": failed,
        "thrown_away": thrown,
        "most_thrown_away": tally.most_thrown_away,
        "vehicles": tally.vehicles,
        "themes": tally.themes,
        "faults": kinds,
        "levels": levels,
        "rank_correlation": tally.rank_correlations(),
        "habits": habits,
    })
}
