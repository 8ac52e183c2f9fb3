//! Twenty codes and what they have always given: digests kept as text.
//!
//! Four digests a code, so that a difference says what has changed:
//! - `order`: the printed work order. Alone: wording (a format change; codes keep their vehicles).
//! - `hidden`: conditions and faults. With the others: the generator, its streams or the catalogue draw differently, so
//!   that old codes give other vehicles; once codes are in learners' hands this needs a new generator version.
//! - `ladder`: true volts and amps. With `hidden` unchanged: the physics or the vehicle's values give other numbers (a
//!   model change).
//! - `work`: readings and words of a fixed round of work in the bay. Alone: instruments, costs or wording.
//!
//! Where a change was meant, mint anew with `HIDDEN_OHM_MINT=1 cargo test --test it golden` and say in the commit which of the four
//! changed and why.

use hidden_ohm::bay::{Action, Fitting};
use hidden_ohm::instrument::{Function, Interval};
use hidden_ohm::rig::Moment;
use hidden_ohm::vehicle::Key;
use sha2::{Digest, Sha256};

use crate::floor::{Floor, code, drawn, rig};

/// Set this to write the digests anew.
const MINT: &str = "HIDDEN_OHM_MINT";

const HEAD: &str = "# code, then sixteen symbols each of SHA-256 over: order, hidden, ladder, work.\n\
                    # What a difference means, and how to mint anew: tests/it/generate/golden.rs.\n";

fn digest(text: &str) -> String {
    let bytes = Sha256::digest(text.as_bytes());
    let first: [u8; 8] = bytes[..8].try_into().expect("32 bytes");
    format!("{:016x}", u64::from_be_bytes(first))
}

fn order(level: u8, seed: u64) -> String {
    format!("{:?}", drawn(level, seed).order())
}

fn hidden(level: u8, seed: u64) -> String {
    let scenario = drawn(level, seed);
    let at = scenario.conditions();
    let mut lines = vec![format!(
        "{} {:?} {:?} {:?}",
        scenario.seed(),
        at.ambient_c,
        at.charge,
        at.fuel
    )];
    let hidden = scenario.reveal();
    lines.push(format!("{:?}", hidden.tank));
    for fault in &hidden.faults {
        let part = &hidden.vehicle.parts[fault.site.part.0].id;
        let leg = fault
            .site
            .element
            .map_or("", |id| hidden.vehicle.elements[id.0].leg.as_str());
        let kind = &hidden.catalogue.kinds[fault.kind.0].id;
        // `{:?}` of a double is the shortest text that reads back as the same bits.
        lines.push(format!("{kind} {part} {leg} {:?}", fault.severity));
    }
    lines.join("\n")
}

fn ladder(level: u8, seed: u64) -> String {
    let states = [
        (Key::Off, false, Moment::Settled),
        (Key::On, false, Moment::Prime),
        (Key::On, true, Moment::Settled),
        (Key::Crank, false, Moment::Prime),
        (Key::Run, false, Moment::Settled),
    ];
    let told = states.map(|(key, pump, moment)| {
        let ladder = rig(drawn(level, seed))
            .ladder(key, pump, moment)
            .expect("a ladder");
        format!(
            "{key:?} {moment:?} {:?} {:?} {:?}",
            ladder.nodes, ladder.pumps, ladder.floating
        )
    });
    told.join("\n")
}

fn work(level: u8, seed: u64) -> String {
    let mut floor = Floor::new(drawn(level, seed));
    floor.open_up(&["bonnet"]);
    let rounds: Vec<Action> = [
        (Function::Volts, "B+", "B-"),
        (Function::Volts, "FB.2", "BODY"),
        (Function::Millivolts, "F12.1", "F12.2"),
        (Function::Ohms, "K1.86", "K1.85"),
        (Function::LowVolts, "K1.87", "B-"),
    ]
    .into_iter()
    .map(|(function, red, black)| Action::Meter {
        function,
        red: floor.node(red),
        black: floor.node(black),
    })
    .collect();
    let mut acts = vec![
        Action::Record(Some(Interval::Peaks)),
        Action::Key(Key::On),
        Action::Record(None),
        Action::Protect,
    ];
    acts.extend(rounds);
    acts.extend([
        Action::Clamp(floor.part("W11")),
        Action::Gauge(Some(Fitting::Port)),
        Action::Listen,
        Action::Key(Key::Off),
        Action::Drive,
        Action::Clock,
    ]);
    let told: Vec<String> = acts
        .iter()
        .map(|action| format!("{:?}", floor.bay.act(action)))
        .collect();
    told.join("\n")
}

#[test]
fn twenty_codes_of_version_1_give_what_they_have_always_given() {
    let path = format!(
        "{}/tests/data/golden/version-1.txt",
        env!("CARGO_MANIFEST_DIR")
    );
    let mut lines = vec![HEAD.to_owned()];
    for n in 0..20_u64 {
        let (level, seed) = (u8::try_from(n % 5 + 1).expect("1 to 5"), 40 + 1_000_003 * n);
        let parts = [
            order(level, seed),
            hidden(level, seed),
            ladder(level, seed),
            work(level, seed),
        ];
        let digests = parts.map(|text| digest(&text)).join(" ");
        lines.push(format!("{} {digests}\n", code(level, seed)));
    }
    let now = lines.concat();
    if std::env::var_os(MINT).is_some() {
        std::fs::create_dir_all(std::path::Path::new(&path).parent().expect("a folder"))
            .expect("a folder");
        std::fs::write(&path, &now).expect("digests written");
        return;
    }
    let kept = std::fs::read_to_string(&path).expect("digests kept");
    let mut changed = [false; 4];
    for (now, kept) in now
        .lines()
        .zip(kept.lines())
        .filter(|(now, kept)| now != kept)
    {
        assert_eq!(
            now.split(' ').next(),
            kept.split(' ').next(),
            "another code: the code's own form has changed"
        );
        for (at, (now, kept)) in now
            .split(' ')
            .skip(1)
            .zip(kept.split(' ').skip(1))
            .enumerate()
        {
            changed[at] |= now != kept;
        }
    }
    let names = ["order", "hidden", "ladder", "work"];
    let told: Vec<&str> = names
        .into_iter()
        .zip(changed)
        .filter(|(_, changed)| *changed)
        .map(|(name, _)| name)
        .collect();
    assert!(
        told.is_empty(),
        "codes no longer give what they gave: {told:?} changed. `order` or `work` alone is wording or form; `ladder` \
         without `hidden` is the model; `hidden` is the generator or the catalogue, and released codes would give other \
         vehicles. If it was meant, mint anew: HIDDEN_OHM_MINT=1 cargo test --test it golden"
    );
    assert_eq!(now.lines().count(), kept.lines().count());
}
