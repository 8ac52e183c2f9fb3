//! A vehicle on the floor, worked on through the bay's own actions and nothing else.

use std::collections::BTreeMap;
use std::sync::{Mutex, OnceLock};

use hidden_ohm::bay::{Action, Bay, Closed, Fact, Outcome, Refusal, Target};
use hidden_ohm::certify::Certifier;
use hidden_ohm::circuit::NodeId;
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::instrument::{Extension, Function, Manner, Reading, Side, grip_ohms};
use hidden_ohm::rig::{Ladder, Moment, Rig, Symptom};
use hidden_ohm::scenario::{Library, Revealed, Scenario, written};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{AccessId, Key, PartId, Tip};

/// What is built into the program.
pub fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| Library::built_in().unwrap_or_else(|found| panic!("{found:?}")))
}

/// What gives the scenarios of codes.
pub fn certifier() -> &'static Certifier {
    static CERTIFIER: OnceLock<Certifier> = OnceLock::new();
    CERTIFIER.get_or_init(|| Certifier::new(library().clone()))
}

/// A harbour van at 20 C, where the conductor tables hold, with a full battery. Faults are tables of a scenario file.
pub fn van(seed: u32, faults: &str) -> Scenario {
    let text = format!(
        "format = 1\nvehicle = \"harbour-van\"\nlevel = 1\nseed = {seed}\ncustomer = \"Have a look.\"\n\
         [conditions]\nambient = \"20 C\"\ncharge = \"100 %\"\nfuel = \"50 %\"\n{faults}"
    );
    read("van.toml", &text)
}

/// One fault as a table of a scenario file.
pub fn fault(kind: &str, part: &str, rest: &str) -> String {
    format!("[[fault]]\nkind = \"{kind}\"\npart = \"{part}\"\n{rest}\n")
}

/// A hand-written scenario kept under `tests/data/scenarios`.
pub fn kept(name: &str) -> Scenario {
    let path = format!(
        "{}/tests/data/scenarios/{name}.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    read(&path, &text)
}

/// A scenario from its text.
pub fn read(file: &str, text: &str) -> Scenario {
    let told = |found: Vec<_>| {
        found
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("\n")
    };
    written(library(), file, text).unwrap_or_else(|found| panic!("{}", told(found)))
}

/// The set of vehicles that holds the harbour van alone, whose points and parts tests name.
pub const VAN: u8 = 1;

/// The code of a level and a seed that gives a harbour van.
pub fn code(level: u8, seed: u64) -> ScenarioCode {
    ScenarioCode::new(GENERATOR_VERSION, VAN, level, seed).expect("levels run from 1 to 5")
}

/// The scenario of a code; made once, since many tests ask for the same.
pub fn drawn(level: u8, seed: u64) -> Scenario {
    static MADE: Mutex<BTreeMap<ScenarioCode, Revealed>> = Mutex::new(BTreeMap::new());
    let code = code(level, seed);
    let made = MADE
        .lock()
        .expect("no test has panicked here")
        .get(&code)
        .cloned();
    let made = made.unwrap_or_else(|| {
        let scenario = certifier().generate(code);
        let scenario = scenario.unwrap_or_else(|error| panic!("{code}: {error}"));
        let revealed = scenario.reveal();
        let mut all = MADE.lock().expect("no test has panicked here");
        all.insert(code, revealed.clone());
        revealed
    });
    made.seal()
}

/// The rig of a scenario as it comes from the yard.
pub fn rig(scenario: Scenario) -> Rig {
    scenario.into_rig().expect("a vehicle that can be solved")
}

/// The truth with the key on and the pump commanded by service tool.
pub fn pump_on(scenario: Scenario) -> Ladder {
    rig(scenario)
        .ladder(Key::On, true, Moment::Settled)
        .expect("a ladder")
}

/// The truth with the key off: nothing has warmed, so that ohms are those at ambient temperature.
pub fn at_rest(scenario: Scenario) -> Ladder {
    rig(scenario)
        .ladder(Key::Off, false, Moment::Settled)
        .expect("a ladder")
}

/// True volts of a node.
pub fn volts(ladder: &Ladder, node: &str) -> f64 {
    ladder
        .nodes
        .iter()
        .find(|(name, _)| name == node)
        .unwrap_or_else(|| panic!("{node} floats"))
        .1
}

/// True amps through the branch from one node to another.
pub fn amps(ladder: &Ladder, from: &str, to: &str) -> f64 {
    let found = ladder
        .branches
        .iter()
        .find(|branch| branch.from == from && branch.to == to);
    found
        .unwrap_or_else(|| panic!("no branch from {from} to {to}"))
        .amps
}

/// Ohms of the branch from one node to another.
pub fn ohms(ladder: &Ladder, from: &str, to: &str) -> f64 {
    let found = ladder
        .branches
        .iter()
        .find(|branch| branch.from == from && branch.to == to);
    found
        .unwrap_or_else(|| panic!("no branch from {from} to {to}"))
        .ohms
}

/// A contact that touches as it should; a bad one is above 20 kohm.
pub fn touches(seed: u32, point: &str, placement: u32, tip: Tip) -> bool {
    grip_ohms(u64::from(seed), point, placement, Manner::Plain(tip)).ohms < 1.0
}

/// A wire of metric size.
pub fn wire(length_m: f64, mm2: f64) -> Extension {
    Extension {
        length_m,
        size: ConductorSize::SquareMillimetres(mm2),
    }
}

/// A bay with short ways to say what is done in it.
pub struct Floor {
    pub bay: Bay,
}

impl Floor {
    pub fn new(scenario: Scenario) -> Floor {
        Floor {
            bay: Bay::open(scenario, System::Metric).expect("a vehicle that can be solved"),
        }
    }

    pub fn node(&self, name: &str) -> NodeId {
        self.bay
            .vehicle()
            .node(name)
            .unwrap_or_else(|| panic!("no node {name}"))
    }

    pub fn part(&self, id: &str) -> PartId {
        self.bay
            .vehicle()
            .part(id)
            .unwrap_or_else(|| panic!("no part {id}"))
    }

    pub fn access_id(&self, id: &str) -> AccessId {
        self.bay
            .vehicle()
            .access(id)
            .unwrap_or_else(|| panic!("no access {id}"))
    }

    /// Does something that must be possible.
    pub fn act(&mut self, action: &Action) -> Outcome {
        let done = self.bay.act(action);
        done.unwrap_or_else(|refusal| panic!("{action:?}: {} {}", refusal.error, refusal.hint))
    }

    /// Tries something that must not be possible.
    pub fn refused(&mut self, action: &Action) -> Refusal {
        match self.bay.act(action) {
            Err(refusal) => refusal,
            Ok(outcome) => panic!("{action:?} was done: {outcome:?}"),
        }
    }

    pub fn meter(&mut self, function: Function, red: &str, black: &str) -> Reading {
        let action = Action::Meter {
            function,
            red: self.node(red),
            black: self.node(black),
        };
        self.act(&action).readings.remove(0)
    }

    /// What the volts function shows; an overload fails the test.
    pub fn volts(&mut self, red: &str, black: &str) -> f64 {
        let reading = self.meter(Function::Volts, red, black);
        reading
            .value
            .unwrap_or_else(|| panic!("overload at {red} {black}"))
    }

    /// What the ohms function shows; an overload fails the test.
    pub fn ohms(&mut self, red: &str, black: &str) -> f64 {
        let reading = self.meter(Function::Ohms, red, black);
        reading
            .value
            .unwrap_or_else(|| panic!("overload at {red} {black}"))
    }

    pub fn key(&mut self, key: Key) -> Outcome {
        self.act(&Action::Key(key))
    }

    /// Key on and the pump commanded on.
    pub fn run_pump(&mut self) {
        self.key(Key::On);
        self.act(&Action::PumpTool(true));
    }

    pub fn black_lead(&mut self, extension: Extension) {
        self.act(&Action::Leads(Some((Side::Black, extension))));
    }

    /// Opens the way, in the order given, with stands as soon as the vehicle hangs on the jack.
    pub fn open_up(&mut self, ids: &[&str]) {
        for id in ids {
            let action = Action::Access(self.access_id(id));
            self.act(&action);
            if *id == "underbody" {
                self.act(&Action::Stands);
            }
        }
    }

    /// Everything that opens the way to all points, with the usual cautions taken first.
    pub fn open_all(&mut self) {
        self.act(&Action::Protect);
        self.open_up(&[
            "bonnet",
            "dash-trim",
            "underbody",
            "loom",
            "shield",
            "rear-loom",
        ]);
        self.act(&Action::Relieve);
        self.act(&Action::Isolate(true));
        self.open_up(&["tank", "module"]);
        self.act(&Action::Isolate(false));
    }

    pub fn repair(&mut self, part: &str) -> Outcome {
        let target = Target {
            part: self.part(part),
            leg: None,
        };
        self.act(&Action::Repair(target))
    }

    pub fn replace(&mut self, part: &str) -> Outcome {
        let action = Action::Replace(self.part(part));
        self.act(&action)
    }

    pub fn unplug(&mut self, part: &str) {
        let action = Action::Unplug(self.part(part));
        self.act(&action);
    }

    /// Gives the vehicle back: what the bay wrote down, what its driver notices, how many faults are left.
    pub fn hand_back(mut self) -> (Closed, Vec<Symptom>, usize) {
        self.act(&Action::Handover);
        let closed = self
            .bay
            .hand_back()
            .unwrap_or_else(|_| panic!("the bay is still open"));
        let found = closed
            .ledger
            .iter()
            .flat_map(|entry| &entry.facts)
            .find_map(|fact| match fact {
                Fact::HandedBack {
                    symptoms,
                    faults_left,
                    ..
                } => Some((symptoms.clone(), *faults_left)),
                _ => None,
            });
        let (symptoms, left) = found.expect("handing back is written down");
        (closed, symptoms, left)
    }
}
