//! A line through points, as an SVG that a page or a printer shows alike.

use std::fmt::Write;

/// Room for the curve, in the picture's own units.
const SIZE: (f64, f64) = (560.0, 240.0);
const LEFT: f64 = 60.0;
const TOP: f64 = 30.0;

/// One direction of a chart.
pub struct Axis {
    label: &'static str,
    by_ratio: bool,
}

impl Axis {
    /// Equal steps for equal differences.
    pub fn even(label: &'static str) -> Axis {
        Axis {
            label,
            by_ratio: false,
        }
    }

    /// Equal steps for equal ratios.
    pub fn by_ratio(label: &'static str) -> Axis {
        Axis {
            label,
            by_ratio: true,
        }
    }

    fn place(&self, value: f64) -> f64 {
        if self.by_ratio {
            libm::log10(value)
        } else {
            value
        }
    }

    /// Some round values from `low` to `high`.
    fn marks(&self, low: f64, high: f64) -> Vec<f64> {
        let inside = |value: &f64| (low..=high).contains(value);
        if self.by_ratio {
            let steps: &[f64] = match high / low {
                1e3.. => &[1.0],
                10.0.. => &[1.0, 2.0, 5.0],
                _ => &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0],
            };
            let decades = (-6..=6).map(|n| libm::pow(10.0, f64::from(n)));
            return decades
                .flat_map(|decade| steps.iter().map(move |step| step * decade))
                .filter(inside)
                .collect();
        }
        let decade = libm::pow(10.0, libm::floor(libm::log10((high - low) / 4.0)));
        let step = [5.0, 2.0, 1.0]
            .map(|step| step * decade)
            .into_iter()
            .find(|step| (high - low) / step >= 4.0)
            .unwrap_or(decade);
        let first = libm::ceil(low / step);
        (0..10)
            .map(|n| (first + f64::from(n)) * step)
            .filter(inside)
            .collect()
    }
}

/// As many digits as tell one mark from the next.
fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

fn text(at: (f64, f64), anchor: &str, words: &str) -> String {
    format!(
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\">{words}</text>\n",
        at.0, at.1
    )
}

/// A line through points, with marks along both axes.
pub fn chart(title: &str, x: &Axis, y: &Axis, points: &[(f64, f64)]) -> String {
    let ends = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        })
    };
    let (x0, x1) = ends(&mut points.iter().map(|point| point.0));
    let (y0, y1) = ends(&mut points.iter().map(|point| point.1));
    let share = |axis: &Axis, value: f64, (low, high): (f64, f64)| {
        (axis.place(value) - axis.place(low)) / (axis.place(high) - axis.place(low))
    };
    let across = |value: f64| LEFT + SIZE.0 * share(x, value, (x0, x1));
    let down = |value: f64| TOP + SIZE.1 * (1.0 - share(y, value, (y0, y1)));
    let (right, bottom) = (LEFT + SIZE.0, TOP + SIZE.1);
    let (width, height) = (right + 20.0, bottom + 45.0);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n"
    );
    let mut rule = |from: (f64, f64), to: (f64, f64)| {
        let _ = writeln!(
            svg,
            "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\" stroke=\"#bbb\"/>",
            from.0, from.1, to.0, to.1
        );
    };
    let (along, up) = (x.marks(x0, x1), y.marks(y0, y1));
    for &mark in &along {
        rule((across(mark), TOP), (across(mark), bottom));
    }
    for &mark in &up {
        rule((LEFT, down(mark)), (right, down(mark)));
    }
    let line: Vec<String> = points
        .iter()
        .map(|&(x, y)| format!("{:.1},{:.1}", across(x), down(y)))
        .collect();
    let _ = writeln!(
        svg,
        "<rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"black\"/>\n\
         <polyline points=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"1.5\"/>",
        SIZE.0,
        SIZE.1,
        line.join(" "),
    );
    for &mark in &along {
        svg.push_str(&text(
            (across(mark), bottom + 16.0),
            "middle",
            &number(mark),
        ));
    }
    for &mark in &up {
        svg.push_str(&text((LEFT - 6.0, down(mark) + 4.0), "end", &number(mark)));
    }
    svg.push_str(&text(
        (LEFT, TOP - 10.0),
        "start",
        &format!("{title}: {}", y.label),
    ));
    svg.push_str(&text(
        (LEFT + SIZE.0 / 2.0, bottom + 36.0),
        "middle",
        x.label,
    ));
    svg.push_str("</svg>\n");
    svg
}
