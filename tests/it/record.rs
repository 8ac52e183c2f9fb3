//! Records of attempts: the chain of hashes, torn tails, damage, replay.

use hidden_ohm::record::{
    Attempt, Chain, Closing, Damage, Decimal, ENGINE, Entry, FORMAT, Header, Likeness, Mismatch,
    ReadingRow, Receipt, replay,
};
use hidden_ohm::units::Money;

fn header() -> Header {
    Header {
        format: FORMAT,
        engine: ENGINE,
        code: Some("100J-P3GR-5NT5-ARSR-FP".into()),
        written: None,
        units: "metric".into(),
        started: "2026-03-01T08:00:00Z".into(),
        exercise: None,
    }
}

fn entry(n: u32, line: &str) -> Entry {
    Entry {
        n,
        line: line.into(),
        clock_ms: 60_000 * u64::from(n) + 100,
        spent: 97 * i64::from(n),
        readings: vec![ReadingRow {
            quantity: "voltage".into(),
            value: Some(Decimal::of(0.243)),
            unit: "V".into(),
            shown: "0.243 V".into(),
            how: "red X7.2, black B-".into(),
        }],
        said: vec!["A line with \"quotes\" and a \\ in it.".into()],
    }
}

fn closing(chain: &Chain) -> Closing {
    Closing::new(chain, 3, 180_100, Money(291))
}

/// A finished record of three actions.
fn record() -> String {
    let mut chain = Chain::default();
    let mut text = chain.write(&header()) + "\n";
    for (n, line) in [(1, "order"), (2, "volts X7.2 B-"), (3, "handover")] {
        text += &(chain.write(&entry(n, line)) + "\n");
    }
    let closing = closing(&chain);
    text + &chain.write(&closing) + "\n"
}

#[test]
fn a_record_reads_back_as_it_was_written() {
    let attempt = Attempt::read(record().as_bytes()).unwrap();
    assert_eq!(attempt.header, header());
    let lines: Vec<&str> = attempt
        .entries
        .iter()
        .map(|recorded| recorded.entry.line.as_str())
        .collect();
    assert_eq!(lines, ["order", "volts X7.2 B-", "handover"]);
    assert_eq!(attempt.entries[1].entry, entry(2, "volts X7.2 B-"));
    assert_eq!(attempt.entries[1].file_line, 3);
    assert_eq!(
        attempt
            .closing
            .as_ref()
            .map(|closing| (closing.actions, closing.clock_ms, closing.spent)),
        Some((3, 180_100, 291))
    );
    assert!(attempt.torn.is_empty());
}

#[test]
fn the_hash_is_sha_256_of_the_hash_before_and_the_object() {
    // The values come from `printf '%s%s' PREVIOUS OBJECT | sha256sum` (GNU coreutils).
    let mut chain = Chain::default();
    let line = chain.seal(r#"{"a":1}"#);
    assert_eq!(
        line,
        r#"{"a":1,"hash":"fc6cee09194dd2578bd7664604fcb72a539066fd34544cea0009c43eb6cdc289"}"#
    );
    let line = chain.seal(r#"{"b":2}"#);
    assert_eq!(
        line,
        r#"{"b":2,"hash":"e3899cf384885c2580552e967c3095d9aed9aaaa1d72d6ea757965bea202715b"}"#
    );
}

#[test]
fn a_tail_torn_at_any_byte_loses_no_whole_line() {
    let whole = record();
    let ends: Vec<usize> = whole.match_indices('\n').map(|(at, _)| at + 1).collect();
    for cut in ends[0]..whole.len() {
        let attempt = Attempt::read(&whole.as_bytes()[..cut]).unwrap();
        let kept = ends.iter().filter(|end| **end <= cut).count();
        assert_eq!(
            attempt.entries.len() + usize::from(attempt.closing.is_some()) + 1,
            kept,
            "cut at {cut}"
        );
        assert_eq!(attempt.whole + attempt.torn.len(), cut);
    }
}

#[test]
fn without_a_whole_header_there_is_nothing_to_go_on_with() {
    assert_eq!(Attempt::read(b""), Err(Damage::Empty));
    let whole = record();
    let first = whole.find('\n').unwrap();
    assert_eq!(
        Attempt::read(&whole.as_bytes()[..first]),
        Err(Damage::Empty)
    );
}

#[test]
fn a_change_of_any_byte_is_noticed_at_its_line() {
    let whole = record();
    let mut noticed = 0;
    for at in (0..whole.len()).step_by(7) {
        let mut bytes = whole.clone().into_bytes();
        if bytes[at] == b'\n' {
            continue;
        }
        bytes[at] = if bytes[at] == b'x' { b'y' } else { b'x' };
        let line = whole[..at].matches('\n').count() + 1;
        let damage = Attempt::read(&bytes).expect_err("a changed byte");
        assert!(
            damage.to_string().starts_with(&format!("line {line}:")) || line == 1,
            "{damage}"
        );
        noticed += 1;
    }
    assert!(noticed > 50);
}

#[test]
fn lines_taken_out_put_in_or_swapped_are_noticed() {
    let whole = record();
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let without = [lines[0], lines[2], lines[3], lines[4]].concat();
    assert_eq!(
        Attempt::read(without.as_bytes()),
        Err(Damage::Chain { line: 2 })
    );
    let twice = [lines[0], lines[1], lines[1]].concat();
    assert_eq!(
        Attempt::read(twice.as_bytes()),
        Err(Damage::Chain { line: 3 })
    );
    let swapped = [lines[0], lines[2], lines[1]].concat();
    assert_eq!(
        Attempt::read(swapped.as_bytes()),
        Err(Damage::Chain { line: 2 })
    );
    let after_the_end = [whole.as_str(), lines[1]].concat();
    assert!(
        Attempt::read(after_the_end.as_bytes())
            .unwrap_err()
            .to_string()
            .contains("after the end")
    );
}

#[test]
fn other_files_and_later_formats_are_told_apart() {
    assert!(matches!(
        Attempt::read(b"hello\n"),
        Err(Damage::NotARecord { .. })
    ));
    assert!(matches!(
        Attempt::read(b"{\"n\":1}\n"),
        Err(Damage::NotARecord { .. })
    ));
    assert!(matches!(
        Attempt::read(&[0xff, 0xfe, b'\n']),
        Err(Damage::NotARecord { .. })
    ));
    assert_eq!(
        Attempt::read(b"{\"format\":99,\"new\":true}\n"),
        Err(Damage::Format { found: 99 })
    );
}

#[test]
fn a_replay_compares_every_outcome_to_the_last_digit() {
    let attempt = Attempt::read(record().as_bytes()).unwrap();
    let mut n = 0;
    let same = |line: &str| {
        n += 1;
        Ok(entry(n, line))
    };
    assert_eq!(replay(&attempt, same), Ok(()));
    let mut n = 0;
    let other = |line: &str| {
        n += 1;
        let mut entry = entry(n, line);
        if n == 2 {
            entry.clock_ms += 1;
        }
        Ok(entry)
    };
    let mismatch = replay(&attempt, other).unwrap_err();
    assert_eq!(
        mismatch,
        Mismatch::Differs {
            file_line: 3,
            n: 2,
            line: "volts X7.2 B-".into()
        }
    );
    assert!(mismatch.to_string().starts_with("line 3:"));
}

#[test]
fn a_line_that_is_refused_today_is_named() {
    let attempt = Attempt::read(record().as_bytes()).unwrap();
    let mismatch = replay(&attempt, |_| Err("out of reach".into())).unwrap_err();
    assert!(
        matches!(
            mismatch,
            Mismatch::Refused {
                file_line: 2,
                n: 1,
                ..
            }
        ),
        "{mismatch}"
    );
}

#[test]
fn another_engine_cannot_replay_here_and_is_never_called_altered() {
    let mut chain = Chain::default();
    let other = Header {
        engine: ENGINE + 1,
        ..header()
    };
    let text = chain.write(&other) + "\n" + &chain.write(&entry(1, "order")) + "\n";
    let attempt = Attempt::read(text.as_bytes()).unwrap();
    let mismatch = replay(&attempt, |_| panic!("nothing is tried")).unwrap_err();
    assert!(mismatch.to_string().contains("cannot be replayed here"));
    assert!(!mismatch.to_string().contains("altered"));
}

#[test]
fn decimals_have_one_text_each() {
    for (value, text) in [
        (0.243, "0.243"),
        (-12.6, "-12.6"),
        (300_000.0, "300000"),
        (0.1 + 0.2, "0.3"),
        (0.0, "0"),
        (-0.0, "0"),
        (2.5e-4, "0.00025"),
        (4e-10, "0"),
    ] {
        assert_eq!(Decimal::of(value).to_string(), text);
        assert_eq!(text.parse(), Ok(Decimal::of(value)));
    }
    for other in [
        "0.30",
        "00.3",
        ".3",
        "3.",
        "-0",
        "+1",
        "1e3",
        "",
        "-",
        "0.1234567891",
        "99999999999999999999",
    ] {
        assert!(other.parse::<Decimal>().is_err(), "{other}");
    }
}

#[test]
fn a_line_written_in_another_way_is_refused_even_if_its_chain_holds() {
    let mut chain = Chain::default();
    let head = chain.write(&header()) + "\n";
    let object = serde_json::to_string(&entry(1, "order")).unwrap();
    for other in [
        object.replace(",\"spent\"", ", \"spent\""),
        object.replace("0.243\",\"unit", "0.2430\",\"unit"),
    ] {
        assert_ne!(other, object);
        let text = format!("{head}{}\n", chain.clone().seal(&other));
        assert!(
            matches!(
                Attempt::read(text.as_bytes()),
                Err(Damage::Line { line: 2, .. })
            ),
            "{other}"
        );
    }
}

#[test]
fn a_closing_line_that_contradicts_its_actions_is_refused() {
    let whole = record();
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let mut chain = Attempt::read(lines[..4].concat().as_bytes()).unwrap().chain;
    let mut wrong = closing(&chain);
    wrong.spent = 1;
    let text = lines[..4].concat() + &chain.write(&wrong) + "\n";
    let damage = Attempt::read(text.as_bytes()).unwrap_err();
    assert!(
        damage
            .to_string()
            .contains("line 5: it does not close the actions before it"),
        "{damage}"
    );
}

#[test]
fn the_commitment_is_the_hash_of_what_it_says() {
    // `printf 'hidden-ohm attempt v1 HEAD 3 180100 291 ' | sha256sum` (GNU coreutils) with 64 zeros for HEAD.
    assert_eq!(
        closing(&Chain::default()).commitment,
        "fb35d534f8114659aac6122449497377fbf45642606c7dd8e928c2adea029190"
    );
}

#[test]
fn a_receipt_is_the_beginning_of_the_last_hash_and_forgives_how_it_is_written() {
    let mut chain = Chain::default();
    assert_eq!(Receipt::of(&chain), None);
    let _ = chain.seal(r#"{"a":1}"#);
    // fc6cee09194dd2578bd7 in base 32, worked by hand from its bits: 11111 10001 10110 01110 ...
    let receipt = Receipt::of(&chain).unwrap();
    assert_eq!(receipt.to_string(), "ZHPE-W28S-9Q95-F2YQ");
    assert_eq!("zhpe w28s 9q95 f2yq".parse(), Ok(receipt.clone()));
    assert_eq!(
        receipt.likeness(&"ZHPE-W28S-9Q95-F2Y0".parse().unwrap()),
        Likeness::Slip
    );
    assert_eq!(
        receipt.likeness(&"HZPE-W28S-9Q95-F2YQ".parse().unwrap()),
        Likeness::Slip
    );
    assert_eq!(
        receipt.likeness(&"0000-W28S-9Q95-F2YQ".parse().unwrap()),
        Likeness::Other
    );
    assert!(
        "ZHPE-W28S-9Q95"
            .parse::<Receipt>()
            .unwrap_err()
            .contains("has 16 symbols")
    );
    assert!(
        "ZHPE-W28S-9Q95-F2YU"
            .parse::<Receipt>()
            .unwrap_err()
            .contains("`U`")
    );
}

#[test]
fn the_line_of_a_torn_tail_is_read_if_it_is_all_there() {
    let whole = record();
    let second = whole.match_indices('\n').nth(1).unwrap().0 + 1;
    let torn = |length: usize| {
        Attempt::read(&whole.as_bytes()[..second + length])
            .unwrap()
            .torn_line()
    };
    assert_eq!(torn(5), None);
    assert_eq!(torn(14 + 15), Some("volts X7.2 B-".to_owned()));
    assert_eq!(torn(14 + 10), None);
}
