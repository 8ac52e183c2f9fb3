//! Whose a file is, and which: receipts, copies, first lines, line ends.

use super::{LINES, attempt, entries, header, marker, sealed, stands_not};
use hidden_ohm::exercise::{Marked, Noted, Verdict, compare};
use hidden_ohm::record::{Attempt, Header, Receipt};

#[test]
fn a_change_after_the_hand_in_fails_against_the_receipt() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let receipt = Receipt::of(&Attempt::read(text.as_bytes()).unwrap().chain).unwrap();
    let noted = |receipt: Receipt| {
        let noted = Noted {
            learner: "ada  quay".into(),
            vehicle: None,
            receipt,
        };
        marker().with_receipts([noted].into_iter().collect())
    };
    assert_eq!(
        noted(receipt.clone()).mark("a", text.as_bytes()).verdict,
        Verdict::Verified
    );
    // Another honest attempt, made up afterwards: it replays, and the receipt tells that it is another one.
    let other = attempt(&header("Ada Quay"), &[&LINES[1..6], &LINES[6..]].concat());
    assert_eq!(
        marker().mark("o", other.as_bytes()).verdict,
        Verdict::Verified
    );
    stands_not(
        &noted(receipt.clone()).mark("o", other.as_bytes()),
        Verdict::OtherReceipt,
        None,
        "not the one noted at the hand-in",
    );
    // What is left of it after its end was cut off is not what was handed in either.
    let whole: Vec<&str> = text.split_inclusive('\n').collect();
    let cut = whole[..whole.len() - 1].concat();
    stands_not(
        &noted(receipt.clone()).mark("c", cut.as_bytes()),
        Verdict::OtherReceipt,
        None,
        "not the one noted at the hand-in",
    );
    // A slip of the pen is no accusation.
    let shown = receipt.to_string();
    let slip = shown.replacen(
        &shown[..1],
        if shown.starts_with('7') { "8" } else { "7" },
        1,
    );
    let marked = noted(slip.parse().unwrap()).mark("a", text.as_bytes());
    assert_eq!(marked.verdict, Verdict::Verified);
    assert!(
        marked.remarks[0].contains("differs in one symbol"),
        "{:?}",
        marked.remarks
    );
}

#[test]
fn a_learner_has_a_receipt_for_each_vehicle() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let own = Receipt::of(&Attempt::read(text.as_bytes()).unwrap().chain).unwrap();
    let other: Receipt = "0000-0000-0000-0000".parse().unwrap();
    let marked = |notes: &[(Option<u32>, &Receipt)]| {
        let notes = notes.iter().map(|(vehicle, receipt)| Noted {
            learner: "Ada Quay".into(),
            vehicle: *vehicle,
            receipt: (*receipt).clone(),
        });
        marker()
            .with_receipts(notes.collect())
            .mark("a", text.as_bytes())
    };
    // Without the vehicle beside it any of her receipts will do, in any order.
    for notes in [
        [(None, &own), (None, &other)],
        [(None, &other), (None, &own)],
    ] {
        let marked = marked(&notes);
        assert_eq!(marked.verdict, Verdict::Verified, "{marked:?}");
        assert!(marked.remarks.is_empty(), "{marked:?}");
    }
    assert_eq!(
        marked(&[(Some(1), &own), (Some(2), &other)]).verdict,
        Verdict::Verified
    );
    assert_eq!(
        marked(&[(Some(1), &other), (Some(2), &own)]).verdict,
        Verdict::OtherReceipt
    );
    let unnoted = marked(&[(Some(2), &other)]);
    assert_eq!(unnoted.remarks, ["No receipt of it was noted."]);
}

#[test]
fn copies_count_once_and_a_second_file_of_one_try_is_remarked_on() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let other = attempt(&header("Ada Quay"), &[&LINES[1..6], &LINES[6..]].concat());
    let ben = attempt(&header("Ben Slip"), &LINES);
    let marker = marker();
    let mut all: Vec<Marked> = [("a", &text), ("b", &other), ("c", &other), ("d", &ben)]
        .iter()
        .map(|(file, text)| marker.mark(file, text.as_bytes()))
        .collect();
    compare(&mut all);
    let copies: Vec<Option<&str>> = all.iter().map(|marked| marked.copy_of.as_deref()).collect();
    assert_eq!(copies, [None, None, Some("b"), None]);
    assert!(all[0].remarks[0].starts_with("b says that it is the same try"));
    assert!(all[1].remarks[0].starts_with("a says that it is the same try"));
    assert_eq!(
        all[2].remarks,
        ["It is the same file as b and counts once."]
    );
    assert!(all[2].marks.is_none() && all[3].remarks.is_empty());
}

#[test]
fn whose_a_damaged_file_is_stands_in_its_first_line() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let marked = marker().mark("cut", text.replacen("\"n\":3", "\"n\":4", 1).as_bytes());
    assert_eq!(
        (marked.verdict, marked.line, marked.learner.as_deref()),
        (Verdict::Damaged, Some(4), Some("Ada Quay"))
    );
}

#[test]
fn a_first_line_that_cannot_be_is_refused_before_anything_is_worked() {
    let refused = |change: &dyn Fn(&mut Header)| {
        let mut header = header("Ada Quay");
        change(&mut header);
        let all = entries(&attempt(&self::header("Ada Quay"), &LINES));
        let marker = marker();
        let marked = marker.mark("x", sealed(&header, &all, true).as_bytes());
        assert_eq!(marker.shared(), 0, "{marked:?}");
        marked
    };
    let undated = refused(&|header| header.started = "last Friday".into());
    stands_not(
        &undated,
        Verdict::Altered,
        Some(1),
        "`last Friday` is no date",
    );
    let odd = refused(&|header| header.units = "cubits".into());
    stands_not(&odd, Verdict::Altered, Some(1), "no units `cubits`");
}

#[test]
fn changed_line_ends_are_named_as_what_they_are() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let marked = marker().mark("crlf", text.replace('\n', "\r\n").as_bytes());
    stands_not(
        &marked,
        Verdict::NotARecord,
        Some(1),
        "its line end was changed",
    );
    let marked = marker().mark("bom", format!("\u{feff}{text}").as_bytes());
    stands_not(
        &marked,
        Verdict::NotARecord,
        Some(1),
        "an editor put a mark in front",
    );
}
