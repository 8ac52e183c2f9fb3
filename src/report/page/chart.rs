//! Charts as inline SVG: our own lines on a few fixed scales. Sideways places are percentages, so that a chart fills any
//! width without its letters growing or shrinking; shape and dashes say what colour says.

use maud::{Markup, html};

/// Room for names at the left, percent of the width.
const LEFT: f64 = 18.0;
/// Room at the right, percent of the width.
const RIGHT: f64 = 4.0;
/// Height of a row of the ladder, in the unit of the letters.
const ROW: f64 = 24.0;
/// Height of the field of a curve.
const FIELD: f64 = 180.0;
/// Room above a field and below it, for the scale.
const MARGIN: f64 = 22.0;

/// How a line is drawn; the names are classes of the style sheet.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stroke {
    Came,
    Sound,
    Belief,
    Right,
}

impl Stroke {
    fn class(self) -> &'static str {
        match self {
            Stroke::Came => "came",
            Stroke::Sound => "sound",
            Stroke::Belief => "belief",
            Stroke::Right => "belief right",
        }
    }
}

/// One line through points.
pub(super) struct Curve {
    pub stroke: Stroke,
    /// Written at its end, for whoever cannot tell the lines apart.
    pub mark: String,
    /// Across and up, in the units of the scales.
    pub points: Vec<(f64, f64)>,
}

/// A scale from nothing to somewhere above the largest value, with a step a person would choose.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    step: f64,
    steps: u32,
}

impl Scale {
    /// A scale that holds `most` in at most `steps` steps of 1, 2, 2.5 or 5 times a power of ten.
    pub fn to(most: f64, steps: u32) -> Scale {
        let wanted = if most > 0.0 { most } else { 1.0 };
        let mut decade = 1e-6;
        loop {
            for times in [1.0, 2.0, 2.5, 5.0] {
                let step = times * decade;
                let needed = libm::ceil(wanted / step - 1e-9);
                if needed <= f64::from(steps) {
                    // At least one step and at most `steps` of them.
                    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                    let steps = needed.max(1.0) as u32;
                    return Scale { step, steps };
                }
            }
            decade *= 10.0;
        }
    }

    fn top(self) -> f64 {
        self.step * f64::from(self.steps)
    }

    /// The marks of the scale with their words.
    fn marks(self) -> Vec<(f64, String)> {
        // As many decimals as the step itself has; steps are round, so that they are few.
        let whole = |places: &u32| {
            let times = self.step * f64::from(10_u32.pow(*places));
            libm::fabs(times - libm::round(times)) < 1e-9
        };
        let places = (0..6).find(whole).unwrap_or(6) as usize;
        (0..=self.steps)
            .map(|n| {
                let value = self.step * f64::from(n);
                (value, format!("{value:.places$}"))
            })
            .collect()
    }

    /// Place across, percent of the width.
    fn across(self, value: f64) -> f64 {
        LEFT + (100.0 - LEFT - RIGHT) * (value / self.top()).clamp(0.0, 1.0)
    }

    /// Place down from the top of a field.
    fn down(self, value: f64) -> f64 {
        MARGIN + FIELD * (1.0 - (value / self.top()).clamp(0.0, 1.0))
    }
}

fn percent(place: f64) -> String {
    format!("{place:.2}%")
}

fn length(place: f64) -> String {
    format!("{place:.1}")
}

fn segment(class: &str, from: (f64, f64), to: (f64, f64)) -> Markup {
    html! {
        line class=(class) x1=(percent(from.0)) y1=(length(from.1)) x2=(percent(to.0)) y2=(length(to.1)) {}
    }
}

/// A frame with its name and its description, read out in place of the picture.
fn framed(id: &str, title: &str, description: &str, height: f64, inside: &Markup) -> Markup {
    let (title_id, description_id) = (format!("{id}-title"), format!("{id}-description"));
    html! {
        svg role="img" aria-labelledby=(format!("{title_id} {description_id}")) height=(length(height)) width="100%" {
            title id=(title_id) { (title) }
            desc id=(description_id) { (description) }
            (inside)
        }
    }
}

/// One row of the ladder: a point with its volts as it came and without the faults; nothing for one that is cut off.
pub(super) struct Rung<'a> {
    pub name: &'a str,
    pub came: Option<f64>,
    pub sound: Option<f64>,
}

/// Points one under the other, their volts across.
pub(super) fn ladder(id: &str, title: &str, description: &str, rungs: &[Rung<'_>]) -> Markup {
    let most = rungs
        .iter()
        .flat_map(|rung| [rung.came, rung.sound])
        .flatten()
        .fold(1.0, f64::max);
    let scale = Scale::to(most, 5);
    let row = |index: usize| MARGIN + ROW * (index as f64 + 0.5);
    let bottom = MARGIN + ROW * rungs.len() as f64;
    let line = |pick: fn(&Rung<'_>) -> Option<f64>, class: &str| {
        let places: Vec<Option<(f64, f64)>> = rungs
            .iter()
            .enumerate()
            .map(|(index, rung)| Some((scale.across(pick(rung)?), row(index))))
            .collect();
        html! {
            @for pair in places.windows(2) {
                @if let [Some(from), Some(to)] = pair { (segment(class, *from, *to)) }
            }
            @for place in places.iter().flatten() {
                @if class == "came" {
                    circle class="came dot" cx=(percent(place.0)) cy=(length(place.1)) r="4" {}
                } @else {
                    circle class="sound dot" cx=(percent(place.0)) cy=(length(place.1)) r="5" {}
                }
            }
        }
    };
    let inside = html! {
        @for (value, words) in scale.marks() {
            (segment("rule", (scale.across(value), MARGIN), (scale.across(value), bottom)))
            text class="scale" x=(percent(scale.across(value))) y="14" text-anchor="middle" { (words) }
        }
        text class="scale" x="0" y="14" { "volts" }
        @for (index, rung) in rungs.iter().enumerate() {
            text x="0" y=(length(row(index) + 4.0)) { (rung.name) }
        }
        (line(|rung| rung.sound, "sound"))
        (line(|rung| rung.came, "came"))
    };
    framed(id, title, description, bottom + 4.0, &inside)
}

/// The two scales of a field of curves, with what they count.
pub(super) struct Axes<'a> {
    pub across: Scale,
    pub across_unit: &'a str,
    pub up: Scale,
    pub up_unit: &'a str,
}

/// Curves in one field.
pub(super) fn curves(
    id: &str,
    title: &str,
    description: &str,
    axes: &Axes<'_>,
    all: &[Curve],
) -> Markup {
    let (across, up) = (axes.across, axes.up);
    let bottom = MARGIN + FIELD;
    let place = |point: &(f64, f64)| (across.across(point.0), up.down(point.1));
    let ends: Vec<(&Curve, (f64, f64))> = all
        .iter()
        .filter_map(|curve| Some((curve, place(curve.points.last()?))))
        .collect();
    let heights = marks_apart(ends.iter().map(|(_, end)| end.1));
    let inside = html! {
        @for (value, words) in up.marks() {
            (segment("rule", (LEFT, up.down(value)), (100.0 - RIGHT, up.down(value))))
            text class="scale" x=(percent(LEFT - 1.5)) y=(length(up.down(value) + 4.0)) text-anchor="end" { (words) }
        }
        text class="scale" x="0" y="12" { (axes.up_unit) }
        @for (value, words) in across.marks() {
            text class="scale" x=(percent(across.across(value))) y=(length(bottom + 16.0)) text-anchor="middle" { (words) }
        }
        text class="scale" x="50%" y=(length(bottom + 32.0)) text-anchor="middle" { (axes.across_unit) }
        @for curve in all {
            @for pair in curve.points.windows(2) {
                (segment(curve.stroke.class(), place(&pair[0]), place(&pair[1])))
            }
        }
        @for ((curve, end), height) in ends.iter().zip(heights) {
            text x=(percent(end.0)) y=(length(height)) text-anchor="end" { (curve.mark) }
        }
    };
    framed(id, title, description, bottom + 38.0, &inside)
}

/// Where the words at the ends of curves stand: a little above each end, and never one over another.
fn marks_apart(ends: impl Iterator<Item = f64>) -> Vec<f64> {
    /// Between a curve's end and its words, px.
    const ABOVE: f64 = 5.0;
    /// From one row of words to the next, px.
    const LINE: f64 = 15.0;
    let mut heights: Vec<f64> = ends.map(|end| end - ABOVE).collect();
    let mut order: Vec<usize> = (0..heights.len()).collect();
    order.sort_by(|&a, &b| heights[a].total_cmp(&heights[b]));
    for pair in order.windows(2) {
        heights[pair[1]] = heights[pair[1]].max(heights[pair[0]] + LINE);
    }
    heights
}
