//! The vehicle's side of the page: what was wrong, the volts along the loop, the rise of pressure.

use maud::{Markup, html};

use super::chart::{Axes, Curve, Rung, Scale, Stroke, curves, ladder};
use super::cited;
use crate::report::rise::Moment;
use crate::report::story::Story;
use crate::report::words::{self, FIRST_PRIME, SETTLED, SOUND};
use crate::score::Hidden;
use crate::units::{Pascal, System};

pub(super) fn hidden(story: &Story) -> Markup {
    let all = &story.facts.hidden;
    html! {
        @if all.is_empty() { p { "Nothing was wrong with this vehicle." } }
        @for hidden in all { (one(hidden)) }
    }
}

fn one(hidden: &Hidden) -> Markup {
    html! {
        h3 { (hidden.part) ": " (hidden.title) ", " (hidden.severity) }
        p { (hidden.part_title) ", in the " (hidden.spoken) ". Place: " (hidden.place) "." }
        p {
            @if let Some(number) = hidden.cured_by {
                "Put right in " a href={ "#action-" (number) } { "action " (number) }
                @if hidden.pointed_by.is_empty() { "; nothing done before had pointed to it." }
                @else { "; what had been found before pointed to it" (cited(&hidden.pointed_by)) "." }
            } @else { "It is still there." }
        }
        p { (hidden.teaching) }
    }
}

pub(super) fn along(story: &Story) -> Markup {
    let facts = &story.facts;
    let rungs: Vec<Rung<'_>> = facts
        .points
        .iter()
        .map(|point| Rung {
            name: &point.point,
            came: point.came_v,
            sound: point.healthy_v,
        })
        .collect();
    let lost: Vec<String> = facts
        .lost
        .iter()
        .map(|lost| format!("{} {}", lost.section, words::volts(lost.came_v)))
        .collect();
    let description = format!(
        "Volts against the negative post at {} points of the pump's loop, from the positive post down to the negative one, with the pump \
         switched on and no instrument connected. As it came the sections took: {}.",
        facts.points.len(),
        lost.join(", ")
    );
    html! {
        @if let Some(lift) = &facts.way_of { p { "The way to the lift pump " (lift) " and back." } }
        p { (SETTLED) " " (SOUND) }
        p { "Good copper loses next to nothing: where the line steps down and there is no pump between, volts are lost." }
        figure {
            (ladder("volts-chart", "Volts along the loop", &description, &rungs))
            figcaption { "Solid line with full dots: as it came. Dashed line with rings: the same vehicle without its faults." }
        }
        table {
            caption class="quiet" { "What each section took" }
            thead { tr { th scope="col" { "Section" } th scope="col" class="number" { "As it came" } th scope="col" class="number" { "Sound" } } }
            tbody {
                @for lost in &facts.lost {
                    tr {
                        th scope="row" { (lost.section) }
                        td class="number" { (words::volts(lost.came_v)) }
                        td class="number" { (words::volts(Some(lost.healthy_v))) }
                    }
                }
            }
        }
        @if let Some(sum) = words::sum_of_lost(&facts.lost) { p { (sum) } }
        table {
            caption class="quiet" { "Volts at each point" }
            thead { tr { th scope="col" { "Point" } th scope="col" class="number" { "As it came" } th scope="col" class="number" { "Sound" } } }
            tbody {
                @for point in &facts.points {
                    tr {
                        th scope="row" { (point.point) " " span class="quiet" { (point.spoken) } }
                        td class="number" { (words::volts(point.came_v)) }
                        td class="number" { (words::volts(point.healthy_v)) }
                    }
                }
            }
        }
        (pump_figures(story))
    }
}

fn pump_figures(story: &Story) -> Markup {
    let rows = [
        ("as it came", story.facts.pump_came),
        ("sound", story.facts.pump_healthy),
    ];
    let lift = story
        .facts
        .lift
        .map(|[sound, came]| [("lift pump, as it came", came), ("lift pump, sound", sound)]);
    let rows = rows.into_iter().chain(lift.into_iter().flatten());
    html! {
        table {
            caption class="quiet" { "The pump, its circuit switched on" }
            thead { tr {
                th scope="col" { "" }
                th scope="col" class="number" { "Current" }
                th scope="col" class="number" { "Speed" }
                th scope="col" class="number" { "Pressure" }
            } }
            tbody {
                @for (name, pump) in rows {
                    tr {
                        th scope="row" { (name) }
                        @for figure in words::pump(pump, story.system) { td class="number" { (figure) } }
                    }
                }
            }
        }
    }
}

pub(super) fn pressure(story: &Story) -> Markup {
    let rise = &story.rise;
    // Whatever the unit is called, a figure in it is a figure times this.
    let (unit, factor) = match story.system {
        System::Metric => ("kPa", 1.0),
        System::Us => ("psi", 1e3 / 6_894.757_293_168),
    };
    let points = |moments: &[Moment]| -> Vec<(f64, f64)> {
        moments
            .iter()
            .map(|moment| (moment.t_s, moment.kpa * factor))
            .collect()
    };
    let both = rise.came.iter().chain(&rise.healthy);
    let most = |pick: fn(&Moment) -> f64| both.clone().map(pick).fold(0.0, f64::max);
    let axes = Axes {
        across: Scale::to(most(|moment| moment.t_s), 5),
        across_unit: "seconds since the key was turned",
        up: Scale::to(most(|moment| moment.kpa) * factor, 5),
        up_unit: unit,
    };
    let curve = |stroke, mark: &str, moments: &[Moment]| Curve {
        stroke,
        mark: mark.to_owned(),
        points: points(moments),
    };
    let all = [
        curve(Stroke::Sound, "sound", &rise.healthy),
        curve(Stroke::Came, "as it came", &rise.came),
    ];
    let (came, healthy) = rise.ends();
    let show = |kpa: f64| Pascal(kpa * 1e3).show(story.system);
    let said = format!(
        "Pressure {} during the first prime. It ended at {} as the vehicle came; without its faults it would have ended at {}.",
        rise.at,
        show(came),
        show(healthy)
    );
    html! {
        figure {
            (curves("pressure-chart", "Rise of pressure", &said, &axes, &all))
            figcaption { "Solid line: as it came. Dashed line: the same vehicle without its faults." }
        }
        p { (FIRST_PRIME) }
        p { (said) }
    }
}
