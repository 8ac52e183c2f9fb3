//! `scenario`: codes, work orders, checks and the true ladder.

use serde_json::{Value, json};

use crate::certify::{Certificate, Certifier};
use crate::report::certificate;
use crate::report::text::{Line, Text, Tone};
use crate::report::truth::{Told, told};
use crate::scenario::{Revealed, Scenario, TankTrouble};

use super::arguments::Scenario as Asked;
use super::failure::{Failure, Kind};
use super::source::{Source, library};
use super::ui::Ui;
use super::{check, ladder, machine, own, scenario_many};

pub(super) fn run(asked: &Asked, ui: &mut Ui) -> Result<(), Failure> {
    match asked {
        Asked::New {
            count,
            level,
            drawn,
            theme,
        } => scenario_many::new(*count, *level, drawn, theme.as_deref(), ui),
        Asked::Survey {
            count,
            level,
            drawn,
            json,
            frequencies,
        } => {
            let told = (*json, frequencies.as_deref());
            scenario_many::survey(*count, *level, drawn, told, ui)
        }
        Asked::Schema { of } => {
            let library = own::Whole::told(&library()?, ui)?;
            ui.raw(&format!("{:#}\n", of.schema(&library)))
        }
        Asked::Show {
            scenario,
            json,
            reveal,
        } => show(scenario, *json, *reveal, ui),
        Asked::List { json } => list(*json, ui),
        Asked::Check { files, json } => check::run(files, *json, ui),
        Asked::Ladder(asked) => ladder::run(asked, ui),
    }
}

fn show(name: &str, as_json: bool, reveal: bool, ui: &mut Ui) -> Result<(), Failure> {
    let certifier = Certifier::new(library()?);
    let scenario = Source::named(name)?.open(&certifier)?;
    if as_json {
        let mut public = public(&scenario);
        if reveal {
            let secret = Secret::of(scenario, &certifier)?.json();
            if let (Value::Object(all), Value::Object(secret)) = (&mut public, secret) {
                all.extend(secret);
            }
        }
        return ui.json(&public);
    }
    let mut text = order(&scenario);
    if reveal {
        text.append(Secret::of(scenario, &certifier)?.text());
    }
    ui.show(&text)
}

fn public(scenario: &Scenario) -> Value {
    let (order, vehicle) = (scenario.order(), scenario.vehicle());
    json!({
        "code": scenario.code().map(|code| code.to_string()),
        "level": scenario.level(),
        "vehicle": vehicle.id,
        "name": order.name,
        "title": order.vehicle,
        "customer": order.customer,
        "known": order.known,
        "figures": order.figures,
        "currency": vehicle.currency,
        "labour_per_hour": vehicle.labour_per_hour.0,
        "cautions": order.cautions,
    })
}

fn order(scenario: &Scenario) -> Text {
    let (order, vehicle) = (scenario.order(), scenario.vehicle());
    let mut text = Text::new();
    let mut row = |label: &str, body: &str| {
        text.push(Line::new(Tone::Heading, format!("{label:<10}  ")).and(Tone::Plain, body));
    };
    if let Some(code) = scenario.code() {
        row("Code", &code.to_string());
    }
    row("Level", &scenario.level().to_string());
    row(
        "Vehicle",
        &format!("{} \"{}\" ({})", order.vehicle, order.name, vehicle.id),
    );
    row("Customer", &format!("\"{}\"", order.customer));
    row("Known", &order.known.join(" "));
    row(
        "Figures",
        &if order.figures.is_empty() {
            "none".to_owned()
        } else {
            order.figures.join("; ")
        },
    );
    row(
        "Labour",
        &format!(
            "{} an hour",
            vehicle.labour_per_hour.show(&vehicle.currency)
        ),
    );
    for caution in &order.cautions {
        text.say(Tone::Caution, caution);
    }
    text
}

/// Work order and truth of a scenario, for an exercise that has closed.
pub(super) fn revealed(scenario: Scenario, certifier: &Certifier) -> Result<Text, Failure> {
    let mut text = order(&scenario);
    text.append(Secret::of(scenario, certifier)?.text());
    Ok(text)
}

/// The hidden side: faults, cures, and what tests can tell the truth from.
struct Secret {
    revealed: Revealed,
    certificate: Certificate,
}

impl Secret {
    /// Of a scenario that a certifier has opened; one written by hand may have a vehicle of its own.
    fn of(scenario: Scenario, certifier: &Certifier) -> Result<Secret, Failure> {
        let revealed = scenario.reveal();
        let certified = match revealed.code {
            Some(_) => certifier.certificate(&revealed),
            None => Certifier::for_one(&revealed).certificate(&revealed),
        };
        let certificate = certified.map_err(|error| {
            let error = format!("the scenario cannot be certified: {error}");
            Failure::new(Kind::Input, error, "")
        })?;
        Ok(Secret {
            revealed,
            certificate,
        })
    }

    fn told(&self) -> Vec<Told<'_>> {
        let Revealed {
            vehicle, catalogue, ..
        } = &self.revealed;
        let faults = self.revealed.faults.iter();
        faults
            .map(|fault| told(vehicle, catalogue, fault))
            .collect()
    }

    fn json(&self) -> Value {
        let told = self.told();
        json!({
            "faults": told.iter().map(machine::fault).collect::<Vec<Value>>(),
            "cures": told.iter().flat_map(|told| &told.cures).map(machine::cure).collect::<Vec<Value>>(),
            "because": self.revealed.consequence(),
            "tank": self.revealed.tank_trouble().map(|trouble| match trouble {
                TankTrouble::Empty => "empty",
                TankTrouble::Water => "water",
            }),
            "certificate": self.certificate,
        })
    }

    fn text(&self) -> Text {
        let mut text = Text::new();
        text.say(Tone::Heading, "Hidden");
        for told in self.told() {
            text.append(told.text());
        }
        if let Some(why) = self.revealed.consequence() {
            text.say(Tone::Plain, why);
        }
        match self.revealed.tank_trouble() {
            Some(TankTrouble::Empty) => {
                text.say(Tone::Plain, "empty tank; cured by fuel");
            }
            Some(TankTrouble::Water) => {
                text.say(Tone::Plain, "water in the fuel; cured by draining the tank");
            }
            None if self.revealed.faults.is_empty() => {
                text.say(Tone::Plain, "nothing is wrong");
            }
            None => {}
        }
        text.append(certificate::text(&self.certificate));
        text
    }
}

/// Vehicles and jobs by name, the user's own among them.
fn list(as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let built_in = library()?;
    let whole = own::Whole::told(&built_in, ui)?;
    let names = own::job_names()?;
    if as_json {
        let vehicles = whole.vehicles.iter().enumerate().map(|(number, vehicle)| {
            json!({
                "id": vehicle.id,
                "name": vehicle.name,
                "about": vehicle.about,
                "has_codes": number < built_in.vehicles.len(),
            })
        });
        let vehicles: Vec<Value> = vehicles.collect();
        return ui.json(&json!({ "vehicles": vehicles, "jobs": names }));
    }
    let mut text = Text::new();
    text.say(Tone::Heading, "Vehicles, for `practice --vehicle ID`");
    for (number, vehicle) in whole.vehicles.iter().enumerate() {
        let own = if number < built_in.vehicles.len() {
            ""
        } else {
            " Your own: it comes only with a job."
        };
        text.push(Line::new(Tone::Word, format!("  {}", vehicle.id)).and(
            Tone::Plain,
            format!("  {}. {}{own}", vehicle.name, vehicle.about),
        ));
    }
    text.say(Tone::Heading, "Jobs written by hand, for `practice JOB`");
    for name in names {
        text.say(Tone::Word, &format!("  {name}"));
    }
    ui.show(&text)
}
