//! Marks as tables: one for spreadsheets, and the gradebook files of `OneRoster`.
//!
//! 1EdTech `OneRoster` CSV Binding 1.2: `manifest.csv`, `lineItems.csv` and `results.csv`, processed in bulk, so status and date of
//! change stay empty. Identifiers of class and learners are the school's own; where the exercise knows names only, the
//! names stand in for them, and the school's import maps them.

use sha2::{Digest, Sha256};

use super::marked::{Marked, Verdict};
use super::rules::Rules;

/// Columns of `results.csv`.
pub const RESULTS: [&str; 15] = [
    "sourcedId",
    "status",
    "dateLastModified",
    "lineItemSourcedId",
    "studentSourcedId",
    "scoreStatus",
    "score",
    "scoreDate",
    "comment",
    "textScore",
    "classSourcedId",
    "inProgress",
    "incomplete",
    "late",
    "missing",
];

/// Columns of `lineItems.csv`.
pub const LINE_ITEMS: [&str; 13] = [
    "sourcedId",
    "status",
    "dateLastModified",
    "title",
    "description",
    "assignDate",
    "dueDate",
    "classSourcedId",
    "categorySourcedId",
    "academicSessionSourcedId",
    "resultValueMin",
    "resultValueMax",
    "schoolSourcedId",
];

/// All files the binding knows; what we do not write is `absent`.
const FILES: [&str; 18] = [
    "academicSessions",
    "categories",
    "classes",
    "classResources",
    "courses",
    "courseResources",
    "demographics",
    "enrollments",
    "lineItemLearningObjectiveIds",
    "lineItems",
    "lineItemScoreScales",
    "orgs",
    "resources",
    "resultLearningObjectiveIds",
    "results",
    "resultScoreScales",
    "roles",
    "users",
];

/// Rows as CSV (RFC 4180). A cell that a spreadsheet would take for a formula gets an apostrophe in front.
#[must_use]
pub fn csv(rows: &[Vec<String>]) -> String {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    for row in rows {
        let guarded = row.iter().map(|cell| {
            let risky =
                cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
            if risky {
                format!("'{cell}")
            } else {
                cell.clone()
            }
        });
        // Writing into memory cannot fail, and every row of a table here has one length.
        let _ = writer.write_record(guarded);
    }
    writer
        .into_inner()
        .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
        .unwrap_or_default()
}

/// One row an attempt, for a spreadsheet.
#[must_use]
pub fn marks(all: &[Marked]) -> String {
    let parts: Vec<String> = all
        .iter()
        .find_map(|marked| marked.marks.as_ref())
        .map(|marks| marks.parts.iter().map(|part| part.part.clone()).collect())
        .unwrap_or_default();
    let mut header: Vec<String> = ["learner", "vehicle", "try", "percent", "passed"]
        .map(str::to_owned)
        .to_vec();
    header.extend(parts);
    header.extend(
        [
            "minutes", "spent", "actions", "verdict", "reason", "remarks", "receipt", "file",
        ]
        .map(str::to_owned),
    );
    let mut rows = vec![header];
    for marked in all {
        let number =
            |number: Option<u32>| number.map_or_else(String::new, |number| number.to_string());
        let marks = marked.marks.as_ref();
        let mut row = vec![
            marked.learner.clone().unwrap_or_default(),
            number(marked.vehicle),
            number(marked.attempt),
            marks.map_or_else(String::new, |marks| percent(marks.permille)),
            marks
                .and_then(|marks| marks.passed)
                .map_or_else(String::new, |passed| passed.to_string()),
        ];
        for at in 5..rows[0].len() - 8 {
            let part = marks.and_then(|marks| marks.parts.get(at - 5));
            row.push(part.map_or_else(String::new, |part| percent(part.permille)));
        }
        row.extend([
            format!("{:.1}", marked.clock_ms as f64 / 60_000.0),
            decimal(marked.spent),
            marked.actions.to_string(),
            marked.verdict.name().to_owned(),
            marked.reason.clone().unwrap_or_default(),
            marked.remarks.join(" "),
            marked.receipt.clone().unwrap_or_default(),
            marked.file.clone(),
        ]);
        rows.push(row.into_iter().map(|cell| cell.trim().to_owned()).collect());
    }
    csv(&rows)
}

/// The three files of a bulk exchange, as name and text.
#[must_use]
pub fn one_roster(rules: &Rules, hash: &str, all: &[Marked]) -> Vec<(&'static str, String)> {
    let row = |cells: &[&str]| {
        cells
            .iter()
            .map(|cell| (*cell).to_owned())
            .collect::<Vec<String>>()
    };
    let mut manifest = vec![
        row(&["propertyName", "value"]),
        row(&["manifest.version", "1.0"]),
        row(&["oneroster.version", "1.2"]),
    ];
    for file in FILES {
        let there = ["lineItems", "results"].contains(&file);
        manifest.push(row(&[
            &format!("file.{file}"),
            if there { "bulk" } else { "absent" },
        ]));
    }
    manifest.push(row(&["source.systemName", "Hidden Ohm"]));
    manifest.push(row(&["source.systemCode", "hidden-ohm"]));
    let day = |date: &Option<String>| {
        date.as_deref()
            .map_or_else(String::new, |date| date.chars().take(10).collect())
    };
    let class = identifier(&["class", hash]);
    let item = |number: u32| identifier(&["item", hash, &number.to_string()]);
    let mut items = vec![row(&LINE_ITEMS)];
    for number in 1..=rules.vehicles {
        items.push(vec![
            item(number),
            String::new(),
            String::new(),
            format!("{}, vehicle {number}", rules.title),
            "Marks in per cent of what could be earned.".to_owned(),
            day(&rules.opens),
            day(&rules.closes),
            class.clone(),
            identifier(&["category", "simulated vehicles"]),
            identifier(&["session", hash]),
            "0".to_owned(),
            "100".to_owned(),
            identifier(&["school"]),
        ]);
    }
    let mut results = vec![row(&RESULTS)];
    for marked in all {
        let (Some(learner), Some(number)) = (&marked.learner, marked.vehicle) else {
            continue;
        };
        if marked.verdict == Verdict::Foreign {
            continue;
        }
        let (status, unfinished) = match marked.verdict {
            Verdict::Verified => ("fully graded", false),
            Verdict::Unfinished => ("partially graded", true),
            _ => ("submitted", false),
        };
        let attempt = marked.attempt.unwrap_or(1).to_string();
        results.push(vec![
            identifier(&[
                "result",
                hash,
                learner,
                &number.to_string(),
                &attempt,
                // Two files that claim the same try are two results.
                marked.receipt.as_deref().unwrap_or(&marked.file),
            ]),
            String::new(),
            String::new(),
            item(number),
            learner.clone(),
            status.to_owned(),
            marked
                .marks
                .as_ref()
                .map_or_else(String::new, |marks| percent(marks.permille)),
            day(&marked.started),
            marked.reason.clone().unwrap_or_default(),
            marked
                .marks
                .as_ref()
                .and_then(|marks| marks.passed)
                .map_or_else(String::new, |passed| {
                    if passed { "passed" } else { "not passed" }.to_owned()
                }),
            class.clone(),
            "false".to_owned(),
            unfinished.to_string(),
            "false".to_owned(),
            "false".to_owned(),
        ]);
    }
    vec![
        ("manifest.csv", csv(&manifest)),
        ("lineItems.csv", csv(&items)),
        ("results.csv", csv(&results)),
    ]
}

/// The same identifier for the same thing in every export: a UUID of version 8 (RFC 9562) out of a hash.
#[must_use]
pub fn identifier(pieces: &[&str]) -> String {
    let mut hash = Sha256::new();
    hash.update("hidden-ohm export v1");
    for piece in pieces {
        hash.update((piece.len() as u64).to_le_bytes());
        hash.update(piece.as_bytes());
    }
    let mut bytes: [u8; 32] = hash.finalize().into();
    bytes[6] = bytes[6] & 0x0f | 0x80;
    bytes[8] = bytes[8] & 0x3f | 0x80;
    let text = data_encoding::HEXLOWER.encode(&bytes[..16]);
    [
        &text[..8],
        &text[8..12],
        &text[12..16],
        &text[16..20],
        &text[20..],
    ]
    .join("-")
}

/// Minor units as a number that any spreadsheet reads: no mark, no gaps.
fn decimal(minor: i64) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    let minor = minor.unsigned_abs();
    format!("{sign}{}.{:02}", minor / 100, minor % 100)
}

/// Thousandths as per cent with one decimal.
#[must_use]
pub fn percent(permille: u32) -> String {
    format!("{}.{}", permille / 10, permille % 10)
}
