//! The forms of the trade's further moves and of the rarer instruments.

use crate::bay::{Action, Refusal, Tool};
use crate::instrument::{Bulb, Function, Quantity};
use crate::units::{Amp, Ohm, Seconds, Volt};

use super::Asked;
use super::args::Args;

type Parsed = Result<Asked, Refusal>;

fn done(args: &Args<'_>, action: Action) -> Parsed {
    args.finish()?;
    Ok(Asked::Act(action))
}

pub(super) fn warm(args: &mut Args<'_>) -> Parsed {
    done(args, Action::Warm)
}

pub(super) fn sample(args: &mut Args<'_>) -> Parsed {
    done(args, Action::Sample)
}

pub(super) fn scan(args: &mut Args<'_>) -> Parsed {
    done(args, Action::Scan)
}

pub(super) fn waveform(args: &mut Args<'_>) -> Parsed {
    done(args, Action::Waveform)
}

pub(super) fn fuse(args: &mut Args<'_>) -> Parsed {
    done(args, Action::MeterFuse)
}

pub(super) fn tap(args: &mut Args<'_>) -> Parsed {
    let part = args.part()?;
    done(args, Action::Tap(part))
}

pub(super) fn open(args: &mut Args<'_>) -> Parsed {
    let part = args.part()?;
    done(args, Action::Open(part))
}

pub(super) fn temperature(args: &mut Args<'_>) -> Parsed {
    let part = args.part()?;
    done(args, Action::Temperature(part))
}

pub(super) fn scrape(args: &mut Args<'_>) -> Parsed {
    let point = args.point("a painted point")?;
    done(args, Action::Scrape(point))
}

pub(super) fn swap(args: &mut Args<'_>) -> Parsed {
    let relay = args.part()?;
    let with = if args.is_empty() {
        None
    } else {
        Some(args.part()?)
    };
    done(args, Action::Swap { relay, with })
}

pub(super) fn pinch(args: &mut Args<'_>) -> Parsed {
    let line = args.part()?;
    let shut = !args.take("off");
    done(args, Action::Pinch { line, shut })
}

pub(super) fn fill(args: &mut Args<'_>) -> Parsed {
    let drained = args.take("drained");
    done(args, Action::Fill { drained })
}

pub(super) fn charge(args: &mut Args<'_>) -> Parsed {
    let seconds = match args.quantity_text() {
        None => None,
        Some(text) => Some(
            text.parse::<Seconds>()
                .map_err(|error| args.unit_refusal(&error))?
                .0,
        ),
    };
    done(args, Action::Charge { seconds })
}

pub(super) fn amps(args: &mut Args<'_>) -> Parsed {
    super::forms::meter(args, Function::Amps)
}

pub(super) fn load(args: &mut Args<'_>) -> Parsed {
    if args.is_empty() {
        return done(args, Action::Reread(Tool::Load));
    }
    if args.take("off") {
        return done(args, Action::LoadOff);
    }
    if let [watts @ ("21" | "55"), rest @ ..] = args.left() {
        // The watts come last, and the unit may stand beside the number.
        let points: Vec<&str> = rest
            .iter()
            .copied()
            .filter(|piece| !piece.eq_ignore_ascii_case("W"))
            .collect();
        return Err(Refusal {
            error: "`load` takes the two points first and the watts after them".to_owned(),
            hint: if let [a, b] = points.as_slice() {
                format!("type `load {a} {b} {watts} W`")
            } else {
                args.example()
            },
        });
    }
    let a = args.point("two points")?;
    let b = args.point("a second point")?;
    let bulb = if args.is_empty() || args.choice(&["21", "55"])? == "21" {
        Bulb::Watts21
    } else {
        Bulb::Watts55
    };
    // The unit may stand beside the number.
    args.take("W");
    done(args, Action::Load { a, b, bulb })
}

pub(super) fn range(args: &mut Args<'_>) -> Parsed {
    if args.take("auto") {
        return done(args, Action::Range(None));
    }
    let Some(text) = args.quantity_text() else {
        return Err(args.missing("a full scale such as `60 V`, or `auto`"));
    };
    let volts = Volt::parse_in(&text, "V").ok();
    let full = volts
        .map(|volts| (Quantity::Voltage, volts.0))
        .or_else(|| {
            text.parse::<Ohm>()
                .map(|ohms| (Quantity::Resistance, ohms.0))
                .ok()
        })
        .or_else(|| {
            text.parse::<Amp>()
                .map(|amps| (Quantity::Current, amps.0))
                .ok()
        });
    match full {
        Some(full) => done(args, Action::Range(Some(full))),
        None => Err(args.missing("a full scale such as `60 V`, or `auto`")),
    }
}
