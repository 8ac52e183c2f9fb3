//! Experience API statements (IEEE 9274.1.1-2023, that is xAPI 2.0; 1.0.3 differs by its version only).
//!
//! One statement an attempt: who completed which vehicle with what score. Statement and registration have the same
//! identifiers in every export, so sending them twice changes nothing. Learners are accounts, never mail addresses.

use serde_json::{Value, json};

use super::gradebook::identifier;
use super::marked::{Marked, Verdict};
use super::rules::Rules;

/// The verbs of the vocabulary published with the first edition of the standard.
const PASSED: &str = "http://adlnet.gov/expapi/verbs/passed";
const FAILED: &str = "http://adlnet.gov/expapi/verbs/failed";
const COMPLETED: &str = "http://adlnet.gov/expapi/verbs/completed";
const ATTEMPTED: &str = "http://adlnet.gov/expapi/verbs/attempted";

/// Versions of the standard that can be written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Version {
    /// 1.0.3, which most stores of statements still ask for.
    One,
    /// 2.0.0, the IEEE standard.
    Two,
}

/// A statement; nothing for a file that is nobody's or does not stand.
#[must_use]
pub fn statement(rules: &Rules, hash: &str, marked: &Marked, version: Version) -> Option<Value> {
    let (learner, number) = (marked.learner.as_ref()?, marked.vehicle?);
    let finished = match marked.verdict {
        Verdict::Verified => true,
        Verdict::Unfinished => false,
        _ => return None,
    };
    let passed = marked.marks.as_ref().and_then(|marks| marks.passed);
    let (verb, word) = match (finished, passed) {
        (false, _) => (ATTEMPTED, "attempted"),
        (true, None) => (COMPLETED, "completed"),
        (true, Some(true)) => (PASSED, "passed"),
        (true, Some(false)) => (FAILED, "failed"),
    };
    let attempt = marked.attempt.unwrap_or(1).to_string();
    // Two files that claim the same try are two statements.
    let receipt = marked.receipt.as_deref().unwrap_or("");
    let key = [hash, learner, &number.to_string(), &attempt, receipt];
    let id = |what: &str| identifier(&[&[what], &key[..]].concat());
    let activity = |rest: &str| format!("urn:hidden-ohm:exercise:{hash}{rest}");
    let mut result = json!({ "completion": finished, "duration": duration(marked.clock_ms) });
    if let Some(marks) = &marked.marks {
        result["score"] = json!({
            "scaled": f64::from(marks.permille) / 1000.0,
            "raw": f64::from(marks.permille) / 10.0,
            "min": 0,
            "max": 100,
        });
        result["extensions"] = json!({
            "urn:hidden-ohm:ext:work": {
                "actions": marked.actions,
                "spent": marked.spent,
                "parts": marks.parts.iter().map(|part| json!({ "part": part.part, "permille": part.permille })).collect::<Vec<Value>>(),
            }
        });
    }
    if let Some(passed) = passed {
        result["success"] = json!(passed);
    }
    let mut statement = json!({
        "id": id("statement"),
        "actor": {
            "objectType": "Agent",
            "name": learner,
            "account": { "homePage": "urn:hidden-ohm:learner", "name": learner },
        },
        "verb": { "id": verb, "display": { "en": word } },
        "object": {
            "objectType": "Activity",
            "id": activity(&format!(":vehicle:{number}")),
            "definition": {
                "type": "http://adlnet.gov/expapi/activities/simulation",
                "name": { "en": format!("{}, vehicle {number}", rules.title) },
            },
        },
        "result": result,
        "context": {
            "registration": id("registration"),
            "platform": concat!("hidden-ohm ", env!("CARGO_PKG_VERSION")),
            "contextActivities": { "parent": [{ "objectType": "Activity", "id": activity("") }] },
        },
        "version": match version {
            Version::One => "1.0.3",
            Version::Two => "2.0.0",
        },
    });
    if let Some(started) = &marked.started {
        statement["timestamp"] = json!(started);
    }
    Some(statement)
}

/// Simulated time as ISO 8601 writes it, to the hundredth of a second.
fn duration(clock_ms: u64) -> String {
    let hundredths = clock_ms / 10;
    format!("PT{}.{:02}S", hundredths / 100, hundredths % 100)
}
