//! What many rows say together: distributions, the ordering with its bounds, and whether stated beliefs come true.

use std::collections::BTreeMap;

use super::Habit;
use super::row::Row;
use hidden_ohm::evidence::Calibration;

/// Points of a hundred from which work passes, and from which method counts as sound.
pub const PASSES: f64 = 60.0;

/// The share that `hits` of `runs` could at most stand for: the upper end of a one-sided interval of 95 % by Clopper and
/// Pearson (Biometrika 26, 1934), found by halving.
#[must_use]
pub fn upper_bound(hits: usize, runs: usize) -> f64 {
    if runs == 0 || hits >= runs {
        return 1.0;
    }
    let below = |p: f64| {
        // Chance of at most `hits` where the true share is `p`.
        let mut log = runs as f64 * libm::log(1.0 - p);
        let mut sum = libm::exp(log);
        for k in 1..=hits {
            log += libm::log((runs - k + 1) as f64 / k as f64 * p / (1.0 - p));
            sum += libm::exp(log);
        }
        sum
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if below(middle) > 0.05 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

fn mean(of: impl Iterator<Item = f64> + Clone) -> f64 {
    let count = of.clone().count().max(1) as f64;
    of.sum::<f64>() / count
}

/// The value below which a share of them lies.
fn quantile(of: &[f64], share: f64) -> f64 {
    let mut sorted = of.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = (share * (sorted.len().max(1) - 1) as f64).round();
    // A place in a list is a small whole number.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    sorted.get(place as usize).copied().unwrap_or(0.0)
}

pub fn of(rows: &[Row], habit: Habit) -> Vec<&Row> {
    rows.iter().filter(|row| row.habit == habit).collect()
}

/// One line a habit.
pub fn habits(rows: &[Row]) {
    println!(
        "habit           jobs cured  minutes (mean, SE)  outcome method  total (mean, sd; 1st 5th 25th 50th 75th 95th 99th percentile)  marking"
    );
    for habit in Habit::ALL {
        let own = of(rows, habit);
        if own.is_empty() {
            continue;
        }
        let totals: Vec<f64> = own.iter().map(|row| row.total).collect();
        let middle = mean(totals.iter().copied());
        let square = |x: f64| x * x;
        let spread = |of: &[f64], middle: f64| {
            (of.iter().map(|t| square(t - middle)).sum::<f64>() / (of.len().max(2) - 1) as f64)
                .sqrt()
        };
        let minutes: Vec<f64> = own.iter().map(|row| row.minutes).collect();
        let cost = mean(minutes.iter().copied());
        let percentiles: Vec<String> = [0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99]
            .iter()
            .map(|&share| format!("{:.0}", quantile(&totals, share)))
            .collect();
        println!(
            "{:15} {:4} {:.3}  {cost:6.1} {:5.1}  {:5.1} {:5.1}  {middle:5.1} {:4.1}; {}  {:.0} ms",
            format!("{habit:?}"),
            own.len(),
            own.iter().filter(|row| row.cured).count() as f64 / own.len() as f64,
            spread(&minutes, cost) / (own.len() as f64).sqrt(),
            mean(own.iter().map(|row| row.outcome)),
            mean(own.iter().map(|row| row.method)),
            spread(&totals, middle),
            percentiles.join(" "),
            mean(own.iter().map(|row| row.marking_ms)),
        );
    }
}

fn told(what: &str, hits: usize, runs: usize) {
    let share = 100.0 * hits as f64 / runs.max(1) as f64;
    let bound = 100.0 * upper_bound(hits, runs);
    println!("{what}: {hits} of {runs}, {share:.2} %, at most {bound:.2} % (95 %)");
}

/// How often a guesser outscores a methodical learner: on the same job, and on any two jobs.
pub fn overlap(rows: &[Row]) {
    let mut by_job: BTreeMap<(&str, u8, u64), Vec<&Row>> = BTreeMap::new();
    for row in rows {
        let job = (row.vehicle.as_str(), row.level, row.seed);
        by_job.entry(job).or_default().push(row);
    }
    for methodical in Habit::ALL.into_iter().filter(|habit| habit.is_methodical()) {
        for guesser in Habit::ALL.into_iter().filter(|habit| habit.guesses()) {
            let (mut hits, mut runs) = (0, 0);
            for job in by_job.values() {
                let total = |habit| {
                    job.iter()
                        .find(|row| row.habit == habit)
                        .map(|row| row.total)
                };
                if let (Some(guessed), Some(worked)) = (total(guesser), total(methodical)) {
                    runs += 1;
                    hits += usize::from(guessed > worked);
                }
            }
            told(
                &format!("{guesser:?} over {methodical:?}, same job"),
                hits,
                runs,
            );
        }
    }
    let guesses: Vec<&Row> = rows.iter().filter(|row| row.habit.guesses()).collect();
    let passed = guesses.iter().filter(|row| row.total >= PASSES).count();
    told("guesses that pass", passed, guesses.len());
    let lucky: Vec<&&Row> = guesses
        .iter()
        .filter(|row| row.cured && !row.justified)
        .collect();
    let passed = lucky.iter().filter(|row| row.total >= PASSES).count();
    told(
        "lucky guesses (cured, not justified) that pass",
        passed,
        lucky.len(),
    );
    for habit in Habit::ALL.into_iter().filter(|habit| habit.is_methodical()) {
        let own = of(rows, habit);
        let careful: Vec<&&Row> = own
            .iter()
            .filter(|row| row.justified && !row.cured)
            .collect();
        let failed = careful.iter().filter(|row| row.method < PASSES).count();
        told(
            &format!("{habit:?}: of all jobs, careful and unlucky with method below {PASSES}"),
            failed,
            own.len(),
        );
    }
}

/// Whether stated beliefs come true.
pub fn beliefs(rows: &[Row]) {
    for (when, stated) in [
        (
            "after the work order",
            rows.iter()
                .map(|row| (row.first, row.first_right))
                .collect::<Vec<_>>(),
        ),
        (
            "when the first repair was decided on",
            rows.iter().map(|row| (row.last, row.last_right)).collect(),
        ),
    ] {
        let mut calibration = Calibration::default();
        for (p, right) in stated {
            calibration.add(p, right);
        }
        println!(
            "likeliest repair {when}: expected calibration error {:.2} % over {} attempts",
            100.0 * calibration.expected_error(10),
            calibration.len()
        );
        for bin in calibration.table(10) {
            let spread = (bin.stated * (1.0 - bin.stated) / bin.count as f64).sqrt();
            println!(
                "  {:5} stated {:.3} came true {:.3} (standard error {spread:.3})",
                bin.count, bin.stated, bin.came_true
            );
        }
    }
}

/// What was stated with confidence and came out otherwise, by what was the matter.
pub fn surprises(rows: &[Row]) {
    let mut sums: BTreeMap<&str, (usize, f64, f64)> = BTreeMap::new();
    for row in rows {
        let kind = row.truth.split(' ').next().unwrap_or("");
        let sum = sums.entry(kind).or_default();
        sum.0 += 1;
        sum.1 += row.last;
        sum.2 += f64::from(u8::from(row.last_right));
    }
    let mut order: Vec<_> = sums.into_iter().collect();
    order.sort_by(|a, b| (b.1.1 - b.1.2).total_cmp(&(a.1.1 - a.1.2)));
    println!(
        "what was the matter: attempts, mean stated of the likeliest repair, share right; most overconfident first"
    );
    for (kind, (count, stated, right)) in order {
        let count_f = count as f64;
        println!(
            "  {kind:28} {count:5} {:.3} {:.3}",
            stated / count_f,
            right / count_f
        );
    }
}
