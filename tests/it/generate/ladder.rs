//! The true ladder against what ngspice printed for its decks, kept beside them.

use std::collections::BTreeMap;

use hidden_ohm::rig::Moment;
use hidden_ohm::seed::ScenarioCode;
use hidden_ohm::vehicle::Key;

use super::sites::check;
use crate::floor::{certifier, rig};

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/ladder");

/// Agreement asked for, V.
const LIMIT_V: f64 = 1e-6;

/// Code and state of a deck, from its file name: `CODE-key-pump-moment`.
fn state(stem: &str) -> (ScenarioCode, Key, bool, Moment) {
    let mut words: Vec<&str> = stem.split('-').collect();
    let [moment, pump, key] = [0; 3].map(|_| words.pop().expect("five groups and a state"));
    let key = Key::ALL
        .into_iter()
        .find(|position| position.name() == key)
        .expect("a key position");
    let moment = if moment == "prime" {
        Moment::Prime
    } else {
        Moment::Settled
    };
    (
        words.join("-").parse().expect("a code"),
        key,
        pump == "on",
        moment,
    )
}

#[test]
fn ngspice_agrees_at_every_node_of_every_kept_ladder() {
    let mut decks = 0;
    let mut files: Vec<_> = std::fs::read_dir(FOLDER)
        .expect("decks")
        .map(|entry| entry.expect("a file").path())
        .collect();
    files.sort();
    for file in files
        .iter()
        .filter(|file| file.extension().is_some_and(|end| end == "cir"))
    {
        let stem = file
            .file_stem()
            .and_then(|stem| stem.to_str())
            .expect("a name");
        let (code, key, pump, moment) = state(stem);
        let scenario = certifier().generate(code).expect("a vehicle");
        let ladder = rig(scenario).ladder(key, pump, moment).expect("a ladder");
        check(stem, &ladder);
        let deck = std::fs::read_to_string(file).expect("a deck");
        let pump = if pump { "on" } else { "off" };
        let at = if moment == Moment::Prime {
            "prime"
        } else {
            "settled"
        };
        let title = format!("{code}, key {}, pump {pump}, {at}", key.name());
        assert!(
            deck == ladder.spice(&title),
            "{stem} is not what the program writes now. If vehicle, catalogue, physics or the deck's form changed on \
             purpose, keep new decks with tests/outside/40-ladder-ngspice --record; otherwise find out why first."
        );
        let out =
            std::fs::read_to_string(file.with_extension("out")).expect("what ngspice printed");
        let printed: BTreeMap<&str, f64> = out
            .lines()
            .filter_map(|line| line.strip_prefix("v(")?.split_once(") = "))
            .map(|(name, volts)| (name, volts.parse().expect("volts")))
            .collect();
        let renamed: BTreeMap<&str, &str> = deck
            .lines()
            .filter_map(|line| line.strip_prefix("* node ")?.split_once(" = "))
            .map(|(mine, given)| (given, mine))
            .collect();
        let mut nodes = 0;
        for (name, volts) in ladder
            .nodes
            .iter()
            .filter(|(name, _)| *name != ladder.reference)
        {
            let deck_name = renamed.get(name.as_str()).copied().unwrap_or(name);
            let theirs = printed
                .get(deck_name)
                .unwrap_or_else(|| panic!("{stem}: {name} was not printed"));
            assert!(
                (volts - theirs).abs() <= LIMIT_V,
                "{stem}: {name} is {volts}, ngspice says {theirs}"
            );
            nodes += 1;
        }
        assert_eq!(nodes, printed.len(), "{stem}: ngspice printed other nodes");
        decks += 1;
    }
    assert!(decks >= 12, "only {decks} decks in {FOLDER}");
}
