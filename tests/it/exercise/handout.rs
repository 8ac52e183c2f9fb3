//! Hand-outs: seal, signature, and what each changed byte does.

use std::collections::BTreeSet;

use hidden_ohm::exercise::{
    Feedback, Fresh, Given, Handout, HandoutError, Rules, Vehicles, key_file, public, read_key,
};

pub fn rules() -> Rules {
    Rules {
        title: "Grounds".into(),
        opens: None,
        closes: None,
        tries: 1,
        seconds: None,
        money: None,
        tools: None,
        hints: false,
        service_data: true,
        feedback: Feedback::AtOnce,
        pass: Some(60),
        weights: [].into(),
        class: vec!["Ada Quay".into(), "Ben Slip".into(), "Cleo Ford".into()],
        vehicles: 1,
    }
}

fn vehicles() -> Vehicles {
    Vehicles {
        key: "00".repeat(32),
        given: vec![Given::Code("100G-0000-0000-0018-Z5".into())],
    }
}

fn fresh() -> Fresh {
    Fresh {
        salt: [7; 16],
        nonce: [9; 24],
    }
}

fn signed_and_sealed() -> Handout {
    let key = read_key(&key_file([3; 32])).expect("a key file reads back");
    Handout::new(
        rules(),
        &vehicles(),
        Some(("quay lantern", &fresh())),
        Some(&key),
    )
    .expect("a hand-out")
}

#[test]
fn a_sealed_hand_out_opens_with_its_passphrase_only() {
    let handout = Handout::read(&signed_and_sealed().text()).expect("it reads back");
    assert_eq!(handout.open(Some("quay lantern")), Ok(vehicles()));
    assert_eq!(
        handout.open(Some("quay lanterm")),
        Err(HandoutError::Passphrase)
    );
    assert_eq!(handout.open(None), Err(HandoutError::NeedsPassphrase));
    assert!(
        !handout.text().contains("100G"),
        "no code may stand in the file"
    );
}

#[test]
fn an_open_hand_out_needs_no_passphrase_and_shows_no_code_at_a_glance() {
    let handout = Handout::new(rules(), &vehicles(), None, None).expect("a hand-out");
    assert_eq!(handout.open(None), Ok(vehicles()));
    assert_eq!(handout.signer(), None);
    assert!(!handout.text().contains("100G"));
}

#[test]
fn the_signature_is_plain_ed25519_over_the_hash() {
    // RFC 8032, section 7.1, test 1: the public key of this secret.
    let secret = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
    let key = read_key(&format!("hidden-ohm-secret-key-1 {secret}\n")).expect("a key");
    assert_eq!(
        public(&key),
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    );
    let handout = signed_and_sealed();
    let signer = read_key(&key_file([3; 32])).unwrap();
    assert_eq!(handout.signer(), Some(public(&signer).as_str()));
}

/// Every byte of a hand-out in turn becomes every other byte.
#[track_caller]
fn no_changed_byte_is_taken(handout: &Handout) {
    let text = handout.text();
    assert_eq!(Handout::read(&text).as_ref(), Ok(handout));
    let mut refused = BTreeSet::new();
    for at in 0..text.len() {
        for new in 0..=u8::MAX {
            if new == text.as_bytes()[at] {
                continue;
            }
            let mut bytes = text.clone().into_bytes();
            bytes[at] = new;
            // A file that is no text any more is refused before it gets here.
            let Ok(changed) = String::from_utf8(bytes) else {
                continue;
            };
            let error = Handout::read(&changed).expect_err(&format!("byte {at} became {new}"));
            refused.insert(error.to_string().chars().take(40).collect::<String>());
        }
        let mut shorter = text.clone();
        shorter.remove(at);
        assert!(Handout::read(&shorter).is_err(), "byte {at} taken out");
    }
    assert!(refused.len() >= 3, "the refusals say different things");
}

#[test]
fn a_change_of_any_single_byte_of_a_signed_hand_out_is_refused() {
    no_changed_byte_is_taken(&signed_and_sealed());
}

#[test]
fn a_change_of_any_single_byte_of_an_unsigned_hand_out_is_refused_too() {
    let sealed = Handout::new(rules(), &vehicles(), Some(("quay lantern", &fresh())), None);
    no_changed_byte_is_taken(&sealed.unwrap());
    no_changed_byte_is_taken(&Handout::new(rules(), &vehicles(), None, None).unwrap());
}

#[test]
fn rules_that_no_file_could_state_are_refused_though_their_hash_fits() {
    let made = |change: &dyn Fn(&mut Rules)| {
        let mut rules = rules();
        change(&mut rules);
        let handout = Handout::new(rules, &vehicles(), None, None).unwrap();
        Handout::read(&handout.text()).and_then(|handout| handout.open(None))
    };
    assert_eq!(made(&|_| {}), Ok(vehicles()));
    let all: [&dyn Fn(&mut Rules); 8] = [
        &|rules| rules.vehicles = u32::MAX,
        &|rules| rules.vehicles = 2,
        &|rules| rules.tries = 0,
        &|rules| rules.seconds = Some(u32::MAX),
        &|rules| rules.money = Some(-1),
        &|rules| rules.tools = Some(vec!["crowbar".into()]),
        &|rules| rules.closes = Some("soon".into()),
        &|rules| rules.weights = [("charm".to_owned(), 5)].into(),
    ];
    for change in all {
        assert_eq!(made(change), Err(HandoutError::Impossible));
    }
    let none = Vehicles {
        given: vec![Given::Own(Vec::new())],
        ..vehicles()
    };
    let handout = Handout::new(rules(), &none, None, None).unwrap();
    assert_eq!(handout.open(None), Err(HandoutError::Impossible));
}

#[test]
fn rules_changed_by_somebody_who_knows_the_format_fail_against_seal_and_signature() {
    let text = signed_and_sealed().text();
    let easier = text.replace("\"pass\":60", "\"pass\":10");
    assert_eq!(Handout::read(&easier), Err(HandoutError::Changed));
    // Even with the hash put right the signature of the hand-out does not fit.
    let other = Handout::new(
        Rules {
            pass: Some(10),
            ..rules()
        },
        &vehicles(),
        Some(("quay lantern", &fresh())),
        None,
    )
    .unwrap();
    let signature = text.split(",\"signed\":").nth(1).unwrap();
    let forged = format!(
        "{},\"signed\":{signature}",
        other.text().trim_end().strip_suffix('}').unwrap()
    );
    assert_eq!(Handout::read(&forged), Err(HandoutError::Signature));
    // Without a signature the seal still ties the vehicles to the rules.
    let sealed = |handout: &Handout| {
        let text = handout.text();
        text.split("\"vehicles\":{")
            .nth(1)
            .unwrap()
            .split("},\"hash\"")
            .next()
            .unwrap()
            .to_owned()
    };
    let original =
        Handout::new(rules(), &vehicles(), Some(("quay lantern", &fresh())), None).unwrap();
    assert_ne!(
        sealed(&original),
        sealed(&other),
        "the same vehicles under other rules are sealed otherwise"
    );
}

#[test]
fn a_later_format_is_said_to_be_later() {
    let text = signed_and_sealed()
        .text()
        .replace("exercise\":1", "exercise\":9");
    assert_eq!(Handout::read(&text), Err(HandoutError::Format { found: 9 }));
}

#[test]
fn own_codes_are_spread_evenly_over_the_class_and_depend_on_the_key() {
    let codes: Vec<String> = (0..3).map(|n| format!("code {n}")).collect();
    let own = |key: &str| Vehicles {
        key: key.into(),
        given: vec![Given::Own(codes.clone())],
    };
    let rules = rules();
    let all: BTreeSet<_> = rules
        .class
        .iter()
        .map(|name| own("a").job(&rules, 1, name))
        .collect();
    assert_eq!(all.len(), 3, "three learners, three codes");
    assert_eq!(
        own("a").job(&rules, 1, "ada  QUAY"),
        own("a").job(&rules, 1, "Ada Quay")
    );
    let order = |key: &str| {
        rules
            .class
            .iter()
            .map(|name| own(key).job(&rules, 1, name))
            .collect::<Vec<_>>()
    };
    assert!((0..20).any(|n| order(&n.to_string()) != order("a")));
    assert_eq!(own("a").job(&rules, 2, "Ada Quay"), None);
}
