//! Tables of responses: learners in rows, items (or raters) in columns.
//!
//! Read from CSV (RFC 4180), with commas or semicolons between cells. The first line names the columns. A column called `count` says how many learners gave a
//! row's answers; the first column holds names if its heading is `learner` or `name` or if any cell of it is no number.
//! An empty cell is an answer that is missing.

use std::collections::BTreeSet;

use thiserror::Error;

/// Items that are held against each other: each with each, so their number counts by its square.
const MOST_ITEMS: usize = 500;
/// Scores beyond this are slips of the pen, and their squares would lose the others.
const MOST_SCORE: f64 = 1e6;

/// One row: learners who answered alike, or one target that several raters judged.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// Whose row it is; the number of its line if the table has no names.
    pub name: String,
    /// How many learners gave these answers.
    pub count: u32,
    /// Scores in the order of the items; nothing where the answer is missing.
    pub scores: Vec<Option<f64>>,
}

/// A table of responses.
#[derive(Clone, PartialEq, Debug)]
pub struct ResponseTable {
    /// Names of the items.
    pub items: Vec<String>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// Why a text is no table of responses.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum TableError {
    /// The CSV itself is broken.
    #[error("line {line}: {reason}")]
    Csv {
        /// Number of the line, from one.
        line: u64,
        /// What the reader says.
        reason: String,
    },
    /// There is nothing to reckon with.
    #[error("the table has {rows} rows of responses and {items} items; it needs two of each")]
    TooSmall {
        /// Rows found.
        rows: usize,
        /// Items found.
        items: usize,
    },
    /// More items than can be held against each other.
    #[error("the table has {items} items; at most {MOST_ITEMS} are held against each other")]
    TooManyItems {
        /// Items found.
        items: usize,
    },
    /// A cell that is no number.
    #[error(
        "line {line}, column {column} (`{item}`): `{cell}` is no number up to a million; leave a missing answer empty"
    )]
    Cell {
        /// Number of the line, from one.
        line: u64,
        /// Number of the column, from one.
        column: usize,
        /// Heading of the column.
        item: String,
        /// What stands there.
        cell: String,
    },
    /// A count that is no whole number above zero.
    #[error("line {line}, column {column}: the count `{cell}` is no whole number above zero")]
    Count {
        /// Number of the line, from one.
        line: u64,
        /// Number of the column, from one.
        column: usize,
        /// What stands there.
        cell: String,
    },
    /// Two columns have one heading.
    #[error("line 1: two columns are called `{0}`")]
    Twice(String),
}

impl ResponseTable {
    /// Reads a table.
    ///
    /// # Errors
    /// [`TableError`] with line and column.
    pub fn read(text: &str) -> Result<ResponseTable, TableError> {
        // Spreadsheets of countries that write decimals with a comma put semicolons between cells.
        let first = text.lines().next().unwrap_or("");
        let by_semicolons = first.contains(';') && !first.contains(',');
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .delimiter(if by_semicolons { b';' } else { b',' })
            .from_reader(text.as_bytes());
        let headings = reader.headers().map_err(|error| broken(&error))?.clone();
        let mut records = Vec::new();
        for record in reader.records() {
            records.push(record.map_err(|error| broken(&error))?);
        }
        let mut known = BTreeSet::new();
        for heading in &headings {
            if !known.insert(heading) {
                return Err(TableError::Twice(heading.to_owned()));
            }
        }
        let named = headings.get(0).is_some_and(|first| {
            ["learner", "name"].contains(&first.to_ascii_lowercase().as_str())
        }) || records
            .iter()
            .filter_map(|record| record.get(0))
            .any(|cell| !cell.is_empty() && cell.parse::<f64>().is_err());
        let counts = headings
            .iter()
            .position(|heading| heading.eq_ignore_ascii_case("count"));
        let columns: Vec<usize> = (usize::from(named)..headings.len())
            .filter(|column| Some(*column) != counts)
            .collect();
        if columns.len() > MOST_ITEMS {
            return Err(TableError::TooManyItems {
                items: columns.len(),
            });
        }
        let items: Vec<String> = columns.iter().map(|at| headings[*at].to_owned()).collect();
        let mut rows = Vec::new();
        for record in &records {
            let line = record.position().map_or(0, csv::Position::line);
            let name = if named {
                record[0].to_owned()
            } else {
                line.to_string()
            };
            let count = match counts {
                None => 1,
                Some(at) => record[at]
                    .parse()
                    .ok()
                    .filter(|count| *count > 0)
                    .ok_or_else(|| TableError::Count {
                        line,
                        column: at + 1,
                        cell: record[at].to_owned(),
                    })?,
            };
            let scores = columns
                .iter()
                .map(|at| cell(&record[*at], line, *at, &headings[*at]));
            let scores = scores.collect::<Result<Vec<Option<f64>>, TableError>>()?;
            rows.push(Row {
                name,
                count,
                scores,
            });
        }
        if rows.len() < 2 || items.len() < 2 {
            return Err(TableError::TooSmall {
                rows: rows.len(),
                items: items.len(),
            });
        }
        Ok(ResponseTable { items, rows })
    }

    /// The table as rows of cells with its headings, for writing it as CSV.
    #[must_use]
    pub fn cells(&self) -> Vec<Vec<String>> {
        let mut all = vec![vec!["learner".to_owned()]];
        all[0].extend(self.items.iter().cloned());
        for row in &self.rows {
            let scores = row
                .scores
                .iter()
                .map(|score| score.map_or_else(String::new, |score| score.to_string()));
            all.push(std::iter::once(row.name.clone()).chain(scores).collect());
        }
        all
    }

    /// Learners in the table.
    #[must_use]
    pub fn learners(&self) -> u64 {
        self.rows.iter().map(|row| u64::from(row.count)).sum()
    }

    /// Every answer is 0 or 1.
    #[must_use]
    pub fn is_binary(&self) -> bool {
        let mut scores = self.rows.iter().flat_map(|row| row.scores.iter().flatten());
        scores.all(|score| *score == 0.0 || *score == 1.0)
    }

    /// Passed or not: 1 for every score of at least `cut`, 0 for every other.
    #[must_use]
    pub fn passed_at(&self, cut: f64) -> ResponseTable {
        let mut table = self.clone();
        for score in table
            .rows
            .iter_mut()
            .flat_map(|row| row.scores.iter_mut().flatten())
        {
            *score = f64::from(u8::from(*score >= cut));
        }
        table
    }

    /// Rows without a missing answer, as count and scores.
    #[must_use]
    pub fn complete(&self) -> Vec<(f64, Vec<f64>)> {
        let whole = |row: &Row| {
            let scores: Option<Vec<f64>> = row.scores.iter().copied().collect();
            Some((f64::from(row.count), scores?))
        };
        self.rows.iter().filter_map(whole).collect()
    }
}

fn cell(text: &str, line: u64, column: usize, item: &str) -> Result<Option<f64>, TableError> {
    if text.is_empty() {
        return Ok(None);
    }
    match text.parse::<f64>() {
        Ok(score) if libm::fabs(score) <= MOST_SCORE => Ok(Some(score)),
        _ => Err(TableError::Cell {
            line,
            column: column + 1,
            item: item.to_owned(),
            cell: text.to_owned(),
        }),
    }
}

fn broken(error: &csv::Error) -> TableError {
    let line = error.position().map_or(1, csv::Position::line);
    let reason = match error.kind() {
        csv::ErrorKind::UnequalLengths {
            expected_len, len, ..
        } => {
            format!("it has {len} cells and the first line has {expected_len}")
        }
        csv::ErrorKind::Utf8 { .. } => "it is not text in UTF-8".to_owned(),
        _ => error.to_string(),
    };
    TableError::Csv { line, reason }
}
