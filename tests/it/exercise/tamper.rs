//! Every single byte of a real attempt changed, with and without a chain made anew.

use hidden_ohm::exercise::Verdict;
use hidden_ohm::record::{Attempt, Chain};

use super::marking::{LINES, attempt, header, marker};

/// What a byte becomes: a neighbour, another kind of character, a line end.
fn changes(byte: u8) -> impl Iterator<Item = u8> {
    [
        byte ^ 1,
        byte.wrapping_add(1),
        b' ',
        b'\n',
        b'"',
        b'9',
        0xff,
    ]
    .into_iter()
    .filter(move |new| *new != byte)
}

#[test]
fn no_single_changed_byte_leaves_an_attempt_standing() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let marker = marker();
    assert_eq!(
        marker.mark("whole", text.as_bytes()).verdict,
        Verdict::Verified
    );
    for at in 0..text.len() {
        for new in changes(text.as_bytes()[at]) {
            let mut bytes = text.clone().into_bytes();
            bytes[at] = new;
            let marked = marker.mark("changed", &bytes);
            assert_ne!(marked.verdict, Verdict::Verified, "byte {at} became {new}");
            // A line end that became something else leaves a torn tail; everything else is named with its line.
            assert!(
                matches!(
                    marked.verdict,
                    Verdict::Damaged | Verdict::NotARecord | Verdict::OtherEngine
                ) && marked.line.is_some()
                    || marked.verdict == Verdict::Unfinished && !marked.remarks.is_empty(),
                "{marked:?}"
            );
        }
        let mut shorter = text.clone().into_bytes();
        shorter.remove(at);
        assert_ne!(
            marker.mark("shorter", &shorter).verdict,
            Verdict::Verified,
            "byte {at} taken out"
        );
        assert_ne!(
            marker.mark("cut", &text.as_bytes()[..at]).verdict,
            Verdict::Verified,
            "cut at {at}"
        );
    }
}

#[test]
fn every_byte_that_becomes_any_other_byte_is_noticed() {
    // Reading alone finds them: every value at every place, 255 times the length of the file.
    let text = attempt(&header("Ada Quay"), &LINES[..5]);
    let whole = Attempt::read(text.as_bytes()).unwrap();
    let mut bytes = text.clone().into_bytes();
    for at in 0..bytes.len() {
        let own = bytes[at];
        let line = text.as_bytes()[..at].split(|byte| *byte == b'\n').count();
        for new in (0..=u8::MAX).filter(|new| *new != own) {
            bytes[at] = new;
            match Attempt::read(&bytes) {
                // Only the last line end can go: then a torn tail is left, and says so.
                Ok(torn) => assert!(
                    at == text.len() - 1
                        && !torn.torn.is_empty()
                        && torn.entries.len() == whole.entries.len() - 1,
                    "byte {at} became {new}"
                ),
                Err(damage) => {
                    let said = damage.to_string();
                    assert!(
                        said.starts_with(&format!("line {line}:")),
                        "byte {at}: {said}"
                    );
                }
            }
        }
        bytes[at] = own;
    }
}

#[test]
fn with_a_chain_made_anew_the_physics_finds_every_change_that_matters() {
    let text = attempt(&header("Ada Quay"), &LINES);
    let marker = marker();
    let honest = marker.mark("whole", text.as_bytes());
    let read = Attempt::read(text.as_bytes()).unwrap();
    let mut harmless = 0;
    for (place, recorded) in read.entries.iter().enumerate() {
        let object = &recorded.object;
        for at in 0..object.len() {
            let mut bytes = object.clone().into_bytes();
            bytes[at] = if bytes[at] == b'1' {
                b'2'
            } else {
                bytes[at] ^ 1
            };
            let Ok(changed) = String::from_utf8(bytes) else {
                continue;
            };
            let mut chain = Chain::default();
            let mut forged = chain.write(&read.header) + "\n";
            for (other, recorded) in read.entries.iter().enumerate() {
                let object = if other == place {
                    &changed
                } else {
                    &recorded.object
                };
                forged += &(chain.seal(object) + "\n");
            }
            let closing = read.closing.clone().unwrap();
            let closing = hidden_ohm::record::Closing::new(
                &chain,
                closing.actions,
                closing.clock_ms,
                hidden_ohm::units::Money(closing.spent),
            );
            forged += &(chain.write(&closing) + "\n");
            let marked = marker.mark("forged", forged.as_bytes());
            if marked.verdict == Verdict::Verified {
                // Only the spelling of what was typed can differ: the outcomes came out of the physics again, all of them,
                // so the marks are those of the honest attempt.
                assert!(at < object.find(",\"clock_ms\"").unwrap(), "{changed}");
                assert_eq!(marked.marks, honest.marks, "{changed}");
                harmless += 1;
            }
        }
    }
    assert!(harmless < 20, "{harmless} changes of spelling");
}
