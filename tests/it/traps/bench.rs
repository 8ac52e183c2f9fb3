//! A hand-written job with a prompt in front of it, and its truth beside it.

use hidden_ohm::bay::{Bay, Closed};
use hidden_ohm::console::{Console, Reply, Step};
use hidden_ohm::rig::{Ladder, Moment};
use hidden_ohm::scenario::{Library, Scenario, written};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::Key;

/// A bad splice in the feed: `ohms` more than the half milliohm of a sound one. No handling changes it.
pub fn bad_feed(ohms: &str) -> String {
    fault("bad-splice", "SP2", ohms)
}

/// One fault table of a scenario file.
pub fn fault(kind: &str, part: &str, severity: &str) -> String {
    let severity = match severity {
        "" => String::new(),
        number if number.parse::<f64>().is_ok() => format!("severity = {number}\n"),
        text => format!("severity = \"{text}\"\n"),
    };
    format!("[[fault]]\nkind = \"{kind}\"\npart = \"{part}\"\n{severity}")
}

/// The same on one leg of a part.
pub fn fault_at(kind: &str, part: &str, leg: &str, severity: &str) -> String {
    fault(kind, part, severity) + &format!("leg = \"{leg}\"\n")
}

pub struct Job {
    console: Console,
    text: String,
}

/// The seed of most jobs: one on which every tip used lies well at its first placement.
pub const SEED: u32 = 11;

impl Job {
    pub fn with(faults: &str) -> Job {
        Job::seeded(SEED, "50 %", faults)
    }

    pub fn seeded(seed: u32, fuel: &str, rest: &str) -> Job {
        Job::of("harbour-van", seed, fuel, rest)
    }

    pub fn of(vehicle: &str, seed: u32, fuel: &str, rest: &str) -> Job {
        // A circuit of coolant has no tank.
        let fuel = if vehicle == "school-minibus" {
            String::new()
        } else {
            format!("fuel = \"{fuel}\"\n")
        };
        let text = format!(
            "format = 1\nvehicle = \"{vehicle}\"\nlevel = 3\nseed = {seed}\ncustomer = \"It fades.\"\n\
             known = []\nwithheld = []\n[conditions]\nambient = \"20 C\"\ncharge = \"100 %\"\n{fuel}{rest}"
        );
        let bay = Bay::open(scenario(&text), System::Metric).expect("the vehicle can be solved");
        Job {
            console: Console::new(bay),
            text,
        }
    }

    /// Everything within reach, nothing dangerous.
    pub fn opened(faults: &str) -> Job {
        let mut job = Job::with(faults);
        job.open_up();
        job
    }

    pub fn open_up(&mut self) {
        self.runs(&[
            "protect",
            "access bonnet",
            "access underbody",
            "stands",
            "access shield",
            "leads extension 8 m 1.0 mm2",
        ]);
    }

    /// One accepted line.
    pub fn run(&mut self, line: &str) -> Reply {
        match self.console.submit(line) {
            Step::Accepted(reply) => reply,
            Step::Refused { error, hint, .. } => panic!("`{line}`: {error} {hint}"),
            Step::Quit | Step::Blank => panic!("`{line}` is no action"),
        }
    }

    /// Accepted lines whose answers nobody needs.
    pub fn runs(&mut self, lines: &[&str]) {
        for line in lines {
            self.run(line);
        }
    }

    /// One refused line: what is in the way, and what would help.
    pub fn refused(&mut self, line: &str) -> String {
        match self.console.submit(line) {
            Step::Refused { error, hint, .. } => format!("{error} {hint}"),
            _ => panic!("`{line}` was not refused"),
        }
    }

    /// The first reading of an accepted line.
    pub fn value(&mut self, line: &str) -> f64 {
        let reply = self.run(line);
        reply
            .outcome
            .readings
            .first()
            .and_then(|reading| reading.value)
            .unwrap_or_else(|| panic!("`{line}` reads nothing"))
    }

    /// What an accepted line shows, overload included.
    pub fn shown(&mut self, line: &str) -> String {
        self.run(line).outcome.readings[0].shown.clone()
    }

    /// What was said to an accepted line.
    pub fn said(&mut self, line: &str) -> String {
        self.run(line).outcome.said.join(" ")
    }

    /// The pump running by service tool, for as long as the truth lets it settle.
    pub fn pump_on(&mut self) {
        self.run("key on");
        // The service tool is connected before the pump runs, so that it has run a minute when it is measured.
        self.run("scan");
        self.run("pump on");
        self.run("wait 45 s");
    }

    /// The truth of the same job before anybody touched it, the pump commanded on and settled.
    pub fn truth(&self) -> Truth {
        self.truth_at(Key::On, true)
    }

    /// The same with the key where it is said, the pump commanded or not.
    pub fn truth_at(&self, key: Key, commanded: bool) -> Truth {
        let rig = scenario(&self.text).into_rig().expect("solvable");
        Truth(
            rig.ladder(key, commanded, Moment::Settled)
                .expect("solvable"),
        )
    }

    pub fn vehicle(&self) -> std::sync::Arc<hidden_ohm::vehicle::Vehicle> {
        std::sync::Arc::clone(self.console.bay().vehicle())
    }

    /// The vehicle's first relay.
    pub fn relay(&self) -> String {
        let vehicle = self.vehicle();
        let mut relays = vehicle
            .parts
            .iter()
            .filter(|part| part.relay_type.is_some());
        relays.next().expect("a relay").id.clone()
    }

    /// Money spent, minor units.
    pub fn money(&self) -> i64 {
        self.console.bay().spent().0
    }

    /// The clock, s.
    pub fn clock(&self) -> f64 {
        self.console.bay().clock_s()
    }

    pub fn into_closed(self) -> Closed {
        match self.console.into_bay().hand_back() {
            Ok(closed) => closed,
            Err(bay) => panic!(
                "the vehicle has not been given back after {} actions",
                bay.actions()
            ),
        }
    }

    /// Gives the vehicle back and returns what the bay knew all along.
    pub fn facts(mut self) -> Vec<hidden_ohm::bay::Fact> {
        self.run("handover");
        self.into_closed()
            .ledger
            .into_iter()
            .flat_map(|entry| entry.facts)
            .collect()
    }
}

/// A relay whose contacts have burnt to an ohm, with the pump running and the tips on either side of them: the drop shows.
pub fn burnt_contacts() -> (Job, Truth) {
    let mut job = Job::opened(&fault_at("burnt-relay-contacts", "K1", "contact", "1 ohm"));
    let truth = job.truth();
    job.pump_on();
    near(
        job.value("volts K1.30 K1.87"),
        truth.across("K1.30", "K1.87"),
        volts_error(4.0),
    );
    (job, truth)
}

fn scenario(text: &str) -> Scenario {
    let library = Library::built_in().expect("the built-in files are right");
    written(&library, "job", text).unwrap_or_else(|wrong| panic!("{wrong:?}"))
}

/// The circuit with no instrument in it.
pub struct Truth(Ladder);

impl Truth {
    pub fn volts(&self, node: &str) -> f64 {
        let found = self.0.nodes.iter().find(|(name, _)| name == node);
        found.unwrap_or_else(|| panic!("{node} is not connected")).1
    }

    pub fn across(&self, plus: &str, minus: &str) -> f64 {
        self.volts(plus) - self.volts(minus)
    }

    /// Volts at the battery's posts by its own law: what it has at no load, less the current through its inside.
    pub fn posts(&self) -> f64 {
        let battery = self.0.sources.iter().find(|s| s.part == "BAT");
        let battery = battery.expect("a battery");
        battery.volts - battery.amps * battery.ohms
    }

    /// Volts lost on the way from one node to another: Ohm's law joint by joint and wire by wire, summed up by
    /// Kirchhoff's. The way is the shortest; the pump and its back-EMF are on none.
    pub fn lost(&self, from: &str, to: &str) -> f64 {
        let mut reached = vec![(from, 0.0)];
        let mut next = 0;
        while let Some(&(node, lost)) = reached.get(next) {
            if node == to {
                return lost;
            }
            next += 1;
            for branch in self.0.branches.iter().filter(|b| b.kind != "pump") {
                let (ahead, amps) = if branch.from == node {
                    (branch.to.as_str(), branch.amps)
                } else if branch.to == node {
                    (branch.from.as_str(), -branch.amps)
                } else {
                    continue;
                };
                if reached.iter().all(|&(known, _)| known != ahead) {
                    reached.push((ahead, lost + amps * branch.ohms));
                }
            }
        }
        panic!("no way leads from {from} to {to}")
    }

    pub fn amps(&self) -> f64 {
        self.0.pumps[0].amps
    }

    pub fn rpm(&self) -> f64 {
        self.0.pumps[0].rpm
    }

    /// Ohms between two neighbouring nodes.
    pub fn ohms(&self, from: &str, to: &str) -> f64 {
        let found = self
            .0
            .branches
            .iter()
            .find(|b| b.from == from && b.to == to || b.from == to && b.to == from);
        found
            .unwrap_or_else(|| panic!("nothing joins {from} and {to}"))
            .ohms
    }
}

/// Stated accuracy of the volts function, 0.5 % and 2 counts, in volts: on the 6 V or on the 60 V range.
pub fn volts_error(volts: f64) -> f64 {
    let step = if volts.abs() <= 6.0 { 0.001 } else { 0.01 };
    // A battery on load and a warming winding move by some hundredths more between one minute and the next.
    0.005 * volts.abs() + 2.5 * step + 0.02
}

/// Fails unless `reading` lies within `error` of `wanted`.
#[track_caller]
pub fn near(reading: f64, wanted: f64, error: f64) {
    assert!(
        (reading - wanted).abs() <= error,
        "read {reading}, worked out {wanted} within {error}"
    );
}
