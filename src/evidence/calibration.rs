//! Whether things stated with 70 % confidence are true seven times in ten.

/// Forecasts of one thing each, with what came of them.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Calibration {
    forecasts: Vec<(f64, bool)>,
}

/// One row of a reliability table.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bin {
    /// Forecasts in it.
    pub count: usize,
    /// Their mean.
    pub stated: f64,
    /// Share that came true.
    pub came_true: f64,
}

/// Murphy's partition of the Brier score (Journal of Applied Meteorology 12, 1973): score = reliability - resolution +
/// uncertainty.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Murphy {
    /// Mean squared error of the forecasts.
    pub score: f64,
    /// How far forecasts lie from what came of them; 0 the best.
    pub reliability: f64,
    /// How far the forecasts tell cases apart; more is better.
    pub resolution: f64,
    /// What nobody can help.
    pub uncertainty: f64,
}

impl Calibration {
    /// Takes one forecast down: the probability stated, and whether it came true.
    pub fn add(&mut self, stated: f64, came_true: bool) {
        self.forecasts.push((stated, came_true));
    }

    /// Number of forecasts.
    #[must_use]
    pub fn len(&self) -> usize {
        self.forecasts.len()
    }

    /// Whether there is no forecast.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.forecasts.is_empty()
    }

    /// The table in bins of equal width; empty bins are left out.
    #[must_use]
    pub fn table(&self, bins: usize) -> Vec<Bin> {
        let bins = bins.max(1);
        let rows = (0..bins).map(|bin| {
            let (from, to) = (bin as f64 / bins as f64, (bin + 1) as f64 / bins as f64);
            self.row(|stated| stated >= from && (stated < to || bin + 1 == bins))
        });
        rows.filter(|row| row.count > 0).collect()
    }

    fn row(&self, belongs: impl Fn(f64) -> bool) -> Bin {
        let inside: Vec<&(f64, bool)> = self
            .forecasts
            .iter()
            .filter(|(stated, _)| belongs(*stated))
            .collect();
        let count = inside.len();
        let share = |sum: f64| if count == 0 { 0.0 } else { sum / count as f64 };
        Bin {
            count,
            stated: share(inside.iter().map(|(stated, _)| stated).sum()),
            came_true: share(inside.iter().filter(|(_, true_)| *true_).count() as f64),
        }
    }

    /// Expected calibration error: the mean distance between stated and true, over bins of equal width.
    #[must_use]
    pub fn expected_error(&self, bins: usize) -> f64 {
        let whole = self.len().max(1) as f64;
        let table = self.table(bins);
        table
            .iter()
            .map(|row| row.count as f64 / whole * libm::fabs(row.stated - row.came_true))
            .sum()
    }

    /// Murphy's partition, with one bin for each forecast value that occurs.
    #[must_use]
    pub fn murphy(&self) -> Murphy {
        let whole = self.len().max(1) as f64;
        let square = |x: f64| x * x;
        let outcome = |came_true: bool| if came_true { 1.0 } else { 0.0 };
        let base = self.forecasts.iter().map(|&(_, t)| outcome(t)).sum::<f64>() / whole;
        let mut values: Vec<f64> = self.forecasts.iter().map(|&(stated, _)| stated).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        let rows: Vec<Bin> = values
            .iter()
            .map(|&value| self.row(|stated| stated == value))
            .collect();
        let mean = |of: &dyn Fn(&Bin) -> f64| {
            rows.iter()
                .map(|row| row.count as f64 * of(row))
                .sum::<f64>()
                / whole
        };
        Murphy {
            score: self
                .forecasts
                .iter()
                .map(|&(s, t)| square(s - outcome(t)))
                .sum::<f64>()
                / whole,
            reliability: mean(&|row| square(row.stated - row.came_true)),
            resolution: mean(&|row| square(row.came_true - base)),
            uncertainty: base * (1.0 - base),
        }
    }
}
