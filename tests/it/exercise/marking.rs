//! Marking: what stands, what does not, and what the message says.

mod receipts;

use std::sync::{Mutex, OnceLock};

use hidden_ohm::bay::{Bay, Closed, Limits};
use hidden_ohm::console::{Console, Step};
use hidden_ohm::exercise::{
    Effort, Floor, Given, Handout, Job, Marked, Marker, PARTS, Rules, Vehicles, Verdict,
};
use hidden_ohm::record::{
    Attempt, Chain, Closing, ENGINE, Entry, FORMAT, Header, Sitting, WrittenScenario,
};
use hidden_ohm::scenario::{Library, Scenario, written};
use hidden_ohm::units::{Money, System};

/// A hand-written vehicle with a corroded ground.
const GROUND: &str = include_str!("../../data/scenarios/corroded-ground.toml");

/// Work that finds and mends it.
pub const LINES: [&str; 14] = [
    "order",
    "protect",
    "access bonnet",
    "volts B+ B-",
    "key on",
    "pump on",
    "leads extension 6 m 1.0 mm2",
    "access underbody",
    "stands",
    "volts G4 B-",
    "call ground side bad",
    "key off",
    "repair G4",
    "handover",
];

pub fn rules() -> Rules {
    super::handout::rules()
}

fn vehicles() -> Vehicles {
    Vehicles {
        key: String::new(),
        given: vec![Given::Written(WrittenScenario {
            file: "ground.toml".into(),
            text: GROUND.into(),
        })],
    }
}

pub fn hash() -> String {
    Handout::new(rules(), &vehicles(), None, None)
        .unwrap()
        .hash()
        .to_owned()
}

/// Where attempts are worked: as the program does it, with a vehicle that is read once.
pub struct Hall {
    /// How often a vehicle was put on the floor.
    begun: Mutex<usize>,
}

impl Floor for Hall {
    type Work = Console;

    fn begin(&self, job: &Job, limits: &Limits, _: System) -> Result<Console, String> {
        static SCENARIO: OnceLock<Scenario> = OnceLock::new();
        let Job::Written(file, text) = job else {
            return Err("no such vehicle".into());
        };
        *self.begun.lock().unwrap() += 1;
        let scenario = SCENARIO.get_or_init(|| {
            written(&Library::built_in().unwrap(), file, text).expect("a scenario")
        });
        let bay = Bay::open(scenario.clone(), System::Metric).map_err(|error| error.to_string())?;
        Ok(Console::new(bay.under(limits.clone())))
    }

    fn line(&self, console: &mut Console, line: &str) -> Result<Entry, String> {
        match console.submit(line) {
            Step::Accepted(reply) => Ok(Entry::new(
                reply.action,
                &reply.line,
                reply.clock_s,
                reply.spent,
                &reply.outcome,
            )),
            Step::Refused { error, .. } => Err(error),
            _ => Err("nothing".into()),
        }
    }

    fn end(&self, console: Console) -> Option<Closed> {
        console.into_bay().hand_back().ok()
    }
}

pub fn marker() -> Marker<Hall> {
    Marker::new(
        Hall {
            begun: Mutex::new(0),
        },
        rules(),
        vehicles(),
        &hash(),
        Effort::Full,
    )
}

pub fn header(learner: &str) -> Header {
    Header {
        format: FORMAT,
        engine: ENGINE,
        code: None,
        written: None,
        units: "metric".into(),
        started: "2026-03-02T09:00:00Z".into(),
        exercise: Some(Sitting {
            hash: hash(),
            title: "Grounds".into(),
            learner: learner.into(),
            scenario: 1,
            attempt: 1,
        }),
    }
}

/// The record of somebody who types these lines.
pub fn attempt(header: &Header, lines: &[&str]) -> String {
    attempt_under(&rules(), header, lines)
}

fn attempt_under(rules: &Rules, header: &Header, lines: &[&str]) -> String {
    let hall = Hall {
        begun: Mutex::new(0),
    };
    let job = vehicles().job(rules, 1, "Ada Quay").expect("a vehicle");
    let mut console = hall
        .begin(&job, &rules.limits(), System::Metric)
        .expect("a floor");
    let entries: Vec<Entry> = lines
        .iter()
        .map(|line| {
            hall.line(&mut console, line)
                .unwrap_or_else(|error| panic!("{line}: {error}"))
        })
        .collect();
    let closed = console.bay().closed();
    sealed(header, &entries, closed)
}

/// A record of these entries with a chain that holds.
pub fn sealed(header: &Header, entries: &[Entry], closed: bool) -> String {
    let mut chain = Chain::default();
    let mut text = chain.write(header) + "\n";
    for entry in entries {
        text += &(chain.write(entry) + "\n");
    }
    if let (Some(last), true) = (entries.last(), closed) {
        let closing = Closing::new(&chain, last.n, last.clock_ms, Money(last.spent));
        text += &(chain.write(&closing) + "\n");
    }
    text
}

fn entries(text: &str) -> Vec<Entry> {
    Attempt::read(text.as_bytes())
        .unwrap()
        .entries
        .into_iter()
        .map(|recorded| recorded.entry)
        .collect()
}

#[track_caller]
fn stands_not(marked: &Marked, verdict: Verdict, line: Option<usize>, part: &str) {
    assert_eq!((marked.verdict, marked.line), (verdict, line), "{marked:?}");
    let reason = marked.reason.as_deref().unwrap_or("");
    assert!(reason.contains(part), "`{part}` is not in `{reason}`");
    assert!(marked.marks.is_none());
}

#[test]
fn honest_work_stands_and_gets_marks() {
    let marked = marker().mark("ada.jsonl", attempt(&header("Ada Quay"), &LINES).as_bytes());
    assert_eq!(
        (marked.verdict, marked.reason.as_deref()),
        (Verdict::Verified, None)
    );
    let marks = marked.marks.expect("marks");
    assert!(marks.permille > 300, "{marks:?}");
    let parts: Vec<&str> = marks.parts.iter().map(|part| part.part.as_str()).collect();
    assert_eq!(
        parts, PARTS,
        "what an exercise can weight is what a scorecard has"
    );
    assert_eq!(marks.passed, Some(marks.permille >= 600));
    assert_eq!(marked.actions, LINES.len());
}

#[test]
fn the_second_of_two_equal_attempts_is_not_worked_again_and_gets_the_same_marks() {
    let marker = marker();
    let one = marker.mark("a", attempt(&header("Ada Quay"), &LINES).as_bytes());
    let shared = marker.shared();
    let other = marker.mark("b", attempt(&header("Ben Slip"), &LINES).as_bytes());
    assert_eq!((one.marks, marker.shared()), (other.marks.clone(), shared));
    assert!(other.marks.is_some());
    let alone = self::marker()
        .sharing_nothing()
        .mark("b", attempt(&header("Ben Slip"), &LINES).as_bytes());
    assert_eq!(alone, other);
}

#[test]
fn a_changed_reading_fails_the_replay_even_with_a_chain_made_anew() {
    let text = attempt(&header("Ada Quay"), &LINES);
    for (place, change) in [(9, 0), (9, 1), (3, 2), (12, 3)] {
        let mut all = entries(&text);
        let entry = &mut all[place];
        match change {
            0 => entry.readings[0].value = "0.5".parse().ok(),
            1 => entry.readings[0].shown = "0.500 V".into(),
            2 => entry.clock_ms += 1,
            _ => entry.said.push("The pump sounds better now.".into()),
        }
        let forged = sealed(&header("Ada Quay"), &all, true);
        let marked = marker().mark("forged", forged.as_bytes());
        stands_not(
            &marked,
            Verdict::Altered,
            Some(place + 2),
            "has another outcome",
        );
        // Somebody honest before does not change what is found.
        let marker = marker();
        marker.mark("honest", text.as_bytes());
        assert_eq!(marker.mark("forged", forged.as_bytes()), marked);
    }
}

#[test]
fn lines_in_another_order_or_from_another_attempt_are_found() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let swapped = [&lines[..4], &[lines[5], lines[4]], &lines[6..]]
        .concat()
        .concat();
    stands_not(
        &marker().mark("swapped", swapped.as_bytes()),
        Verdict::Damaged,
        Some(5),
        "it was changed, or lines before it",
    );
    let other = attempt(&header("Ben Slip"), &LINES[..6]);
    let spliced = [lines[0], other.split_inclusive('\n').nth(1).unwrap()].concat();
    stands_not(
        &marker().mark("spliced", spliced.as_bytes()),
        Verdict::Damaged,
        Some(2),
        "it was changed",
    );
    let without = [&lines[..4], &lines[5..]].concat().concat();
    stands_not(
        &marker().mark("cut", without.as_bytes()),
        Verdict::Damaged,
        Some(5),
        "it was changed, or lines before it",
    );
    // With numbers and chain made anew the physics finds it.
    let mut all = entries(&text);
    all.swap(4, 5);
    for (place, entry) in all.iter_mut().enumerate() {
        entry.n = u32::try_from(place + 1).unwrap();
    }
    let marked = marker().mark(
        "reordered",
        sealed(&header("Ada Quay"), &all, true).as_bytes(),
    );
    assert_eq!(
        (marked.verdict, marked.line),
        (Verdict::Altered, Some(6)),
        "{marked:?}"
    );
}

#[test]
fn work_cut_off_is_unfinished_and_earns_nothing() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let marked = marker().mark("cut", lines[..10].concat().as_bytes());
    stands_not(&marked, Verdict::Unfinished, None, "was not handed back");
    let torn = &text[..text.len() - 10];
    let marked = marker().mark("torn", torn.as_bytes());
    stands_not(&marked, Verdict::Unfinished, None, "was not handed back");
    assert_eq!(marked.remarks, ["Its last line is cut off in the middle."]);
}

#[test]
fn a_closing_line_without_a_hand_over_is_found() {
    let all = entries(&attempt(&header("Ada Quay"), &LINES));
    let marker = marker();
    let text = sealed(&header("Ada Quay"), &all[..13], true);
    for _ in 0..2 {
        let marked = marker.mark("early", text.as_bytes());
        assert_eq!(marked.verdict, Verdict::Altered, "{marked:?}");
        assert!(marked.reason.unwrap().contains("and it was not"));
    }
}

#[test]
fn work_for_another_exercise_or_by_a_stranger_is_foreign() {
    let mut other = header("Ada Quay");
    other.exercise.as_mut().unwrap().hash = "0".repeat(64);
    stands_not(
        &marker().mark("o", attempt(&other, &LINES).as_bytes()),
        Verdict::Foreign,
        Some(1),
        "another exercise",
    );
    let stranger = header("Nobody Known");
    stands_not(
        &marker().mark("s", attempt(&stranger, &LINES).as_bytes()),
        Verdict::Foreign,
        Some(1),
        "not on the class list",
    );
    let mut practice = header("Ada Quay");
    practice.exercise = None;
    practice.code = Some("100G-0000-0000-0018-Z5".into());
    stands_not(
        &marker().mark("p", attempt(&practice, &LINES).as_bytes()),
        Verdict::Foreign,
        Some(1),
        "self-practice",
    );
    let mut beyond = header("Ada Quay");
    beyond.exercise.as_mut().unwrap().scenario = 2;
    stands_not(
        &marker().mark("b", attempt(&beyond, &LINES).as_bytes()),
        Verdict::Foreign,
        Some(1),
        "no vehicle 2",
    );
}

#[test]
fn another_engine_is_never_called_altered() {
    let other = Header {
        engine: ENGINE + 1,
        ..header("Ada Quay")
    };
    let text = attempt(&other, &LINES);
    let marker = marker();
    // Not even when the very same lines are known already.
    marker.mark("ada", attempt(&header("Ada Quay"), &LINES).as_bytes());
    let marked = marker.mark("other", text.as_bytes());
    stands_not(
        &marked,
        Verdict::OtherEngine,
        Some(1),
        "cannot be replayed here",
    );
    assert!(!marked.reason.unwrap().contains("altered"));
}

#[test]
fn hints_cost_the_same_by_any_weights() {
    let rules = Rules {
        hints: true,
        ..rules()
    };
    let weighted = Rules {
        weights: [("outcome".to_owned(), 1)].into(),
        ..rules.clone()
    };
    let marks = |rules: &Rules, lines: &[&str]| {
        let handout = Handout::new(rules.clone(), &vehicles(), None, None).unwrap();
        let mut header = header("Ada Quay");
        header.exercise.as_mut().unwrap().hash = handout.hash().to_owned();
        let hall = Hall {
            begun: Mutex::new(0),
        };
        let marker = Marker::new(
            hall,
            rules.clone(),
            vehicles(),
            handout.hash(),
            Effort::Full,
        );
        let text = attempt_under(rules, &header, lines);
        let marked = marker.mark("a", text.as_bytes());
        marked
            .marks
            .unwrap_or_else(|| panic!("{:?}", marked.reason))
    };
    let with = [&LINES[..9], &["hint"], &LINES[9..]].concat();
    for rules in [&rules, &weighted] {
        let (without, with) = (marks(rules, &LINES), marks(rules, &with));
        assert_eq!((without.hints, with.hints > 0), (0, true));
        assert_eq!(without.permille - with.permille, with.hints);
        // A deduction is no part of the marks that somebody could do better or worse at.
        assert_eq!(with.parts.len(), PARTS.len());
    }
}

#[test]
fn where_time_and_money_went_adds_up_to_all_of_it() {
    let marked = marker().mark("a", attempt(&header("Ada Quay"), &LINES).as_bytes());
    let went = marked.marks.expect("marks").went;
    assert_eq!(
        went.iter().map(|went| went.ms).sum::<u64>(),
        marked.clock_ms
    );
    assert_eq!(went.iter().map(|went| went.cost).sum::<i64>(), marked.spent);
    let of = |what: &str| {
        went.iter()
            .find(|went| went.what == what)
            .expect("it took some")
    };
    assert!(of("repairs and parts").cost > 0 && of("opening and closing").ms > 60_000);
}

#[test]
fn what_cannot_be_detected_is_not_pretended_to_be() {
    // An attempt rebuilt from chosen actions, with another date, is as good as any: the manual says so.
    let mut redated = header("Ben Slip");
    redated.started = "2026-03-01T23:00:00Z".into();
    let marked = marker().mark("copy", attempt(&redated, &LINES).as_bytes());
    assert_eq!(marked.verdict, Verdict::Verified);
    assert!(marked.remarks.is_empty());
}

#[test]
fn other_files_are_refused_one_by_one() {
    for bytes in [
        &b""[..],
        b"hello\n",
        b"{\"format\":1}\n",
        &[0xff, 0xfe, b'\n'],
        b"\0\0\0",
    ] {
        let marked = marker().mark("x", bytes);
        assert!(
            matches!(marked.verdict, Verdict::NotARecord | Verdict::Damaged)
                && marked.line == Some(1),
            "{marked:?}"
        );
    }
    let later = marker().mark("x", b"{\"format\":99,\"new\":true}\n");
    assert_eq!(later.verdict, Verdict::OtherEngine);
}
