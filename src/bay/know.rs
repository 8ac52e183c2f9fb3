//! What can be looked up without touching the vehicle.

use super::action::{Action, PointFilter};
use super::ledger::Fact;
use super::outcome::Step;
use super::watch::full_scale;
use super::{Bay, TIMES};
use crate::instrument::Side;
use crate::vehicle::{PartId, Work};
use std::fmt::Write as _;

impl Bay {
    pub(super) fn know(&self, action: &Action) -> Step {
        let mut step = Step::taking(TIMES.know);
        step.aside = true;
        step.outcome.said = match action {
            Action::Order => self.tell_order(),
            Action::Diagram => self.vehicle.diagram.lines().map(str::to_owned).collect(),
            Action::Points(filter) => self.tell_points(filter),
            Action::Data => self.tell_figures(),
            Action::Prices(of) => self.tell_prices(*of),
            Action::Log => self.tell_log(),
            Action::Aside { said } | Action::Hint { said, .. } => said.clone(),
            _ => {
                let mut said = vec![self.tell_clock()];
                said.extend(self.tell_standing());
                said
            }
        };
        step
    }

    fn tell_order(&self) -> Vec<String> {
        let order = &self.order;
        let mut said = vec![format!("{} \"{}\"", order.vehicle, order.name)];
        said.push(format!("Customer: \"{}\"", order.customer));
        said.push(format!("Known: {}", order.known.join(" ")));
        said.extend(self.tell_figures());
        said.extend(order.cautions.iter().cloned());
        said
    }

    fn tell_figures(&self) -> Vec<String> {
        if self.order.figures.is_empty() {
            return vec!["There are no figures to be had for this vehicle.".to_owned()];
        }
        let mut said = self.order.figures.clone();
        said.push("Nothing else is to be had.".to_owned());
        said
    }

    fn tell_points(&self, filter: &PointFilter) -> Vec<String> {
        let vehicle = &self.vehicle;
        let mut said: Vec<String> = vehicle
            .points()
            .filter(|&(node, _, touch)| match filter {
                PointFilter::All => true,
                PointFilter::Reachable => self.reach_point(node).is_ok(),
                PointFilter::Part(part) => {
                    touch.only_unplugged == Some(*part)
                        || vehicle
                            .elements_of(*part)
                            .any(|(_, e)| e.from == node || e.to == node)
                }
            })
            .map(|(node, point, touch)| {
                let place = &vehicle.places[touch.place.0];
                let way = match self.reach_point(node) {
                    Ok(_) => String::new(),
                    Err(refusal) if self.missing(&place.needs).is_empty() => {
                        format!(" - {}", refusal.hint)
                    }
                    Err(_) => {
                        let missing = self.missing(&place.needs);
                        let ids: Vec<&str> = missing
                            .iter()
                            .map(|id| vehicle.accesses[id.0].id.as_str())
                            .collect();
                        format!(" - access {}", ids.join(", "))
                    }
                };
                format!("{:<7} {}, {}{way}", point.name, point.spoken, place.name)
            })
            .collect();
        if said.is_empty() {
            said.push(match filter {
                PointFilter::Reachable => {
                    "None as things stand; `points` tells what each of them needs.".to_owned()
                }
                _ => "No tip gets at it; `diagram` shows what lies beside it.".to_owned(),
            });
        }
        said
    }

    fn tell_prices(&self, of: Option<PartId>) -> Vec<String> {
        let vehicle = &self.vehicle;
        let rate = vehicle.labour_per_hour.show(&vehicle.currency);
        let mut said = vec![format!(
            "Labour {rate} an hour. Prices are for parts and material, times without access."
        )];
        let mut repairs: Vec<(String, Vec<String>)> = Vec::new();
        let asked = |index: usize| of.is_none_or(|part| part.0 == index);
        let parts = vehicle.parts.iter().enumerate();
        for (index, part) in parts.filter(|&(index, _)| asked(index)) {
            let entry = |word: &str, work: &Work| {
                let price = work.price.show(&vehicle.currency);
                format!("{word} {price}, {:.0} min", work.seconds / 60.0)
            };
            let works = [("repair", &part.repair), ("replace", &part.replace)];
            let entries: Vec<String> = works
                .iter()
                .filter_map(|(word, work)| work.as_ref().map(|work| entry(word, work)))
                .collect();
            // A new part speaks for itself; what is done to an old one has to be told.
            if let Some(work) = &part.repair {
                match repairs.iter_mut().find(|(does, _)| *does == work.does) {
                    Some((_, parts)) => parts.push(part.id.clone()),
                    None => repairs.push((work.does.clone(), vec![part.id.clone()])),
                }
            }
            if !entries.is_empty() {
                let needs = self.needs_of(PartId(index));
                said.push(format!(
                    "{:<9} {}: {}{needs}",
                    part.id,
                    part.title,
                    entries.join("; ")
                ));
            }
        }
        if let Some(part) = of.filter(|_| said.len() == 1) {
            let part = &vehicle.parts[part.0];
            said.push(format!(
                "{} {}: nothing that is sold or mended.",
                part.id, part.title
            ));
        }
        for (does, parts) in repairs {
            said.push(format!(
                "Repair of {}: {}",
                parts.join(", "),
                lower_first(&does)
            ));
        }
        said
    }

    fn needs_of(&self, part: PartId) -> String {
        let part = &self.vehicle.parts[part.0];
        let work = part.replace.as_ref().or(part.repair.as_ref());
        let order = work
            .map(|work| self.vehicle.access_order(&work.needs))
            .unwrap_or_default();
        let ids: Vec<&str> = order
            .iter()
            .map(|id| self.vehicle.accesses[id.0].id.as_str())
            .collect();
        if ids.is_empty() {
            String::new()
        } else {
            format!(" (access {})", ids.join(", "))
        }
    }

    fn tell_log(&self) -> Vec<String> {
        let mut said = Vec::new();
        for entry in &self.ledger {
            if let Some(state) = self.state_in_words(&entry.action) {
                said.push(format!("{:>3}  {state}", entry.number));
            }
            for reading in &entry.readings {
                said.push(format!(
                    "{:>3}  {}  {}",
                    entry.number, reading.shown, reading.how
                ));
            }
            for fact in &entry.facts {
                if let Fact::Seen { what, how } = fact {
                    said.push(format!("{:>3}  {what}  {how}", entry.number));
                }
                if let Fact::Called(call) = fact {
                    said.push(format!(
                        "{:>3}  {}",
                        entry.number,
                        super::judging::spoken_call(call)
                    ));
                }
            }
        }
        if said.is_empty() {
            said.push("Nothing measured or judged yet.".to_owned());
        }
        said
    }

    /// What an action changed that the readings after it were taken under.
    fn state_in_words(&self, action: &Action) -> Option<String> {
        let id = |part: &PartId| &self.vehicle.parts[part.0].id;
        Some(match action {
            Action::Key(key) => format!("key {}", key.name()),
            Action::PumpTool(true) => "pump on by service tool".to_owned(),
            Action::PumpTool(false) => "pump off by service tool".to_owned(),
            Action::Unplug(part) => format!("{} unplugged", id(part)),
            Action::Plug(part) => format!("{} plugged in", id(part)),
            Action::Isolate(true) => "negative clamp off".to_owned(),
            Action::Isolate(false) => "negative clamp on".to_owned(),
            Action::Jumper(bridge) => {
                format!("jumper {} to {}", self.name(bridge.a), self.name(bridge.b))
            }
            Action::JumperOff => "jumper off".to_owned(),
            Action::Pinch { line, shut: true } => format!("{} squeezed shut", id(line)),
            Action::Pinch { line, shut: false } => format!("{} open again", id(line)),
            Action::Zero => "meter zeroed for its leads".to_owned(),
            Action::ClampZero => "clamp zeroed".to_owned(),
            Action::Range(None) => "meter chooses its range".to_owned(),
            Action::Range(Some((quantity, full))) => {
                format!("meter kept on {}", full_scale(*quantity, *full))
            }
            Action::Leads(None) => "standard leads".to_owned(),
            Action::Leads(Some((side, wire))) => {
                let side = if *side == Side::Red { "red" } else { "black" };
                format!("{side} lead longer by {}", wire.show(self.system))
            }
            Action::Needles(true) => "needles on the leads".to_owned(),
            Action::Needles(false) => "probes on the leads".to_owned(),
            Action::Helper(true) => "a colleague watches".to_owned(),
            Action::Helper(false) => "alone again".to_owned(),
            Action::Wiggle(part) => format!("{} moved to and fro", id(part)),
            Action::Tap(part) => format!("{} knocked on", id(part)),
            Action::Repair(target) => format!("{} repaired", id(&target.part)),
            Action::Replace(part) => format!("{} replaced", id(part)),
            _ => return None,
        })
    }

    fn tell_clock(&self) -> String {
        let spent = self.spent().show(&self.vehicle.currency);
        let minutes = |seconds: f64| libm::floor(seconds / 60.0);
        let mut said = format!(
            "{:.0} min, {spent} spent, key {}.",
            minutes(self.clock_s),
            self.key().name()
        );
        if let Some(seconds) = self.limits.seconds {
            let left = minutes((seconds - self.clock_s).max(0.0));
            let _ = write!(said, " {left:.0} of {:.0} min are left.", minutes(seconds));
        }
        if let Some(money) = self.limits.money {
            let left = crate::units::Money((money.0 - self.spent().0).max(0));
            let currency = &self.vehicle.currency;
            let _ = write!(
                said,
                " {} of {} are left.",
                left.show(currency),
                money.show(currency)
            );
        }
        said
    }
}

/// A sentence to stand inside another one.
fn lower_first(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
