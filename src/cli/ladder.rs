//! `scenario ladder`: the true volts along the loop, with no instrument connected.

use serde_json::json;

use crate::certify::Certifier;
use crate::report::text::{Line, Text, Tone};
use crate::rig::{Ladder, Moment, Rig};
use crate::vehicle::Key;

use super::arguments::{At, KeyPosition, LadderAsked, Switch};
use super::failure::{Failure, Kind};
use super::machine;
use super::source::{Source, library};
use super::ui::Ui;

/// How a vehicle stands.
#[derive(Clone, Copy)]
struct State {
    key: Key,
    pump: bool,
    at: At,
}

/// What `--key all` goes through.
const ALL: [State; 8] = [
    State::new(Key::Off, false, At::Settled),
    State::new(Key::On, false, At::Prime),
    State::new(Key::On, false, At::Settled),
    State::new(Key::On, true, At::Settled),
    State::new(Key::Crank, false, At::Prime),
    State::new(Key::Crank, false, At::Settled),
    State::new(Key::Run, false, At::Prime),
    State::new(Key::Run, false, At::Settled),
];

impl State {
    const fn new(key: Key, pump: bool, at: At) -> State {
        State { key, pump, at }
    }

    fn moment(self) -> Moment {
        match self.at {
            At::Prime => Moment::Prime,
            At::Settled => Moment::Settled,
        }
    }

    /// As it is typed.
    fn words(self) -> [&'static str; 3] {
        [
            self.key.name(),
            if self.pump { "on" } else { "off" },
            match self.at {
                At::Prime => "prime",
                At::Settled => "settled",
            },
        ]
    }
}

pub(super) fn run(asked: &LadderAsked, ui: &mut Ui) -> Result<(), Failure> {
    let pump = asked.pump == Switch::On;
    if pump && asked.key == KeyPosition::Off {
        ui.note_line("With the key off the service tool reaches nothing; the pump stays off.");
    }
    let one = asked.key.key().map(|key| [State::new(key, pump, asked.at)]);
    let states: &[State] = one.as_ref().map_or(&ALL, |one| one);
    let certifier = Certifier::new(library()?);
    for name in &asked.scenarios {
        let scenario = Source::named(name)?.open(&certifier)?;
        let rig = scenario.into_rig().map_err(unsolved)?;
        for &state in states {
            let many = asked.scenarios.len() * states.len() > 1;
            print(&rig, (name, state, many), asked, ui)?;
        }
    }
    Ok(())
}

fn print(
    rig: &Rig,
    (name, state, many): (&str, State, bool),
    asked: &LadderAsked,
    ui: &mut Ui,
) -> Result<(), Failure> {
    let ladder = rig.clone().ladder(state.key, state.pump, state.moment());
    let ladder = ladder.map_err(unsolved)?;
    let [key, pump, at] = state.words();
    let title = format!("{name}, key {key}, pump {pump}, {at}");
    if asked.spice {
        return ui.raw(&ladder.spice(&title));
    }
    if asked.json {
        let mut told = machine::ladder(&ladder);
        if many && let Some(told) = told.as_object_mut() {
            let state = json!({"scenario": name, "key": key, "pump": pump, "at": at});
            told.insert("state".to_owned(), state);
        }
        return ui.json(&told);
    }
    let mut text = Text::new();
    if many {
        text.say(Tone::Heading, &title);
    }
    text.append(table(&ladder));
    ui.show(&text)
}

fn unsolved(error: impl std::fmt::Display) -> Failure {
    let what = format!("this vehicle cannot be solved: {error}");
    Failure::new(Kind::Input, what, "")
}

/// Nodes with their volts, then parts with what they carry and lose.
fn table(ladder: &Ladder) -> Text {
    let mut text = Text::new();
    if ladder.chattering {
        text.say(
            Tone::Plain,
            "A relay chatters, about a hundred times a second. Shown is the circuit while its contact is made, with the mean \
             of the pump's current in it; a meter between two points shows the mean of made and broken.",
        );
    }
    text.say(
        Tone::Heading,
        &format!("Volts against {}", ladder.reference),
    );
    for (name, volts) in &ladder.nodes {
        text.push(
            Line::new(Tone::Plain, format!("  {name:<12}"))
                .and(Tone::Reading, format!("{volts:>10.4} V")),
        );
    }
    text.say(Tone::Heading, "Branches that carry current");
    for branch in ladder
        .branches
        .iter()
        .filter(|branch| branch.amps.abs() >= 0.5e-3)
    {
        let volts = branch.amps * branch.ohms;
        text.push(
            Line::new(
                Tone::Plain,
                format!(
                    "  {:<8} {:<10} {:<10} ",
                    branch.part, branch.from, branch.to
                ),
            )
            .and(
                Tone::Reading,
                format!("{:>9.4} A {volts:>9.4} V", branch.amps),
            ),
        );
    }
    for pump in &ladder.pumps {
        text.say(
            Tone::Plain,
            &format!(
                "{}: {:.2} A, {:.0} rpm, {:.1} kPa, {:.1} L/h",
                pump.part, pump.amps, pump.rpm, pump.kpa, pump.lph
            ),
        );
    }
    if !ladder.floating.is_empty() {
        text.say(
            Tone::Plain,
            &format!("Floating: {}", ladder.floating.join(" ")),
        );
    }
    text
}
