//! What certified jobs come with, counted: the prior of a vehicle and level.
//!
//! The generator's own weights are not the prior once draws are thrown away: a fault that tests cannot tell from another,
//! or that is too easy or too hard for a level, never comes in. The table `scenarios/frequencies.csv` counts what does, by
//! thirds of severity; `learners count` makes its rows. A vehicle that is not in it has the generator's frequencies.

use super::draws::Band;

/// Rows of `vehicle,level,kind,part,mild,middling,severe`; with two faults in a job each is counted.
const TABLE: &str = include_str!("../../scenarios/frequencies.csv");

/// Jobs that the generator's own frequencies count as much as, beside those counted: so that what never came in among some
/// hundreds stays possible.
const PSEUDO_JOBS: f64 = 10.0;
/// The same for thirds of severity within one kind on one part.
const PSEUDO_OF_BAND: f64 = 3.0;

/// One row.
struct Row {
    kind: &'static str,
    part: &'static str,
    bands: [f64; 3],
}

/// What was counted of one vehicle at one level.
pub(super) struct Frequencies {
    rows: Vec<Row>,
    jobs: f64,
}

impl Frequencies {
    /// Of a vehicle at a level; empty for what was not counted.
    pub fn of(vehicle: &str, level: u8) -> Frequencies {
        let head = format!("{vehicle},{level},");
        let rows: Vec<Row> = TABLE
            .lines()
            .filter_map(|line| Row::read(line.strip_prefix(&head)?))
            .collect();
        Frequencies {
            jobs: rows.iter().flat_map(|row| row.bands).sum(),
            rows,
        }
    }

    /// Probability of a kind on a part, of which the generator's share is `share` of all that can come in.
    pub fn probability(&self, kind: &str, part: &str, share: f64) -> f64 {
        let row = self.row(kind, part);
        let count: f64 = row.map_or(0.0, |row| row.bands.iter().sum());
        (count + PSEUDO_JOBS * share) / (self.jobs + PSEUDO_JOBS)
    }

    /// Share of a third of severity among certified jobs of a kind on a part, where it is `share` of what shows.
    pub fn band(&self, kind: &str, part: &str, band: Band, share: f64) -> f64 {
        let bands = self.row(kind, part).map_or([0.0; 3], |row| row.bands);
        let count: f64 = bands.iter().sum();
        (bands[band as usize] + PSEUDO_OF_BAND * share) / (count + PSEUDO_OF_BAND)
    }

    fn row(&self, kind: &str, part: &str) -> Option<&Row> {
        let mut rows = self.rows.iter();
        rows.find(|row| row.kind == kind && row.part == part)
    }
}

impl Row {
    fn read(line: &'static str) -> Option<Row> {
        let mut cells = line.split(',');
        let (kind, part) = (cells.next()?, cells.next()?);
        let mut count = || cells.next()?.trim().parse().ok();
        Some(Row {
            kind,
            part,
            bands: [count()?, count()?, count()?],
        })
    }
}
