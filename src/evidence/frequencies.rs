//! What certified jobs come with, counted: the prior of a vehicle, level and complaint.
//!
//! The generator's own weights are not the prior once draws are thrown away: a fault that tests cannot tell from another,
//! or that is too easy or too hard for a level, never comes in, and how easy it is hangs on what the customer says. The
//! table `scenarios/frequencies.csv` counts what does come in, by the heading of the complaint and by thirds of severity;
//! `scenario survey --frequencies FILE` makes it. A vehicle that is not in it has the generator's frequencies.

use super::draws::Band;

/// Rows of `vehicle,level,told,kind,part,mild,middling,severe`; with two faults in a job each is counted.
const TABLE: &str = include_str!("../../scenarios/frequencies.csv");

/// Jobs that the generator's own frequencies count as much as, beside those counted: so that what never came in among some
/// hundreds stays possible.
const PSEUDO_JOBS: f64 = 6.0;
/// The same for thirds of severity within one kind on one part.
const PSEUDO_OF_BAND: f64 = 2.0;

/// One row.
struct Row {
    kind: &'static str,
    part: &'static str,
    bands: [f64; 3],
}

/// What was counted of one vehicle at one level, of complaints of one heading.
pub(super) struct Frequencies {
    rows: Vec<Row>,
    jobs: f64,
}

impl Frequencies {
    /// Of a vehicle at a level; of complaints of all headings for one whose words are nobody's usual ones. Empty for what
    /// was not counted.
    pub fn of(vehicle: &str, level: u8, told: Option<&str>) -> Frequencies {
        let head = format!("{vehicle},{level},");
        let rows: Vec<Row> = TABLE
            .lines()
            .filter_map(|line| {
                let (heading, rest) = line.strip_prefix(&head)?.split_once(',')?;
                told.is_none_or(|told| told == heading)
                    .then(|| Row::read(rest))?
            })
            .collect();
        Frequencies {
            jobs: rows.iter().flat_map(|row| row.bands).sum(),
            rows,
        }
    }

    /// Probability of a kind on a part, of which the generator's share is `share` of all that can come in.
    pub fn probability(&self, kind: &str, part: &str, share: f64) -> f64 {
        let count: f64 = self.counted(kind, part).iter().sum();
        (count + PSEUDO_JOBS * share) / (self.jobs + PSEUDO_JOBS)
    }

    /// Share of a third of severity among certified jobs of a kind on a part, where it is `share` of what shows.
    pub fn band(&self, kind: &str, part: &str, band: Band, share: f64) -> f64 {
        let bands = self.counted(kind, part);
        let count: f64 = bands.iter().sum();
        (bands[band as usize] + PSEUDO_OF_BAND * share) / (count + PSEUDO_OF_BAND)
    }

    fn counted(&self, kind: &str, part: &str) -> [f64; 3] {
        let same = self
            .rows
            .iter()
            .filter(|row| row.kind == kind && row.part == part);
        same.fold([0.0; 3], |sum, row| {
            [0, 1, 2].map(|at| sum[at] + row.bands[at])
        })
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
