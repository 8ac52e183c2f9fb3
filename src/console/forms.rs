//! One function per word: what follows it, turned into an action. Nothing here changes the vehicle.

use crate::bay::{Action, Bridge, Cited, Fitting, PointFilter, Refusal, Tool};
use crate::circuit::conductor::ConductorSize;
use crate::instrument::{Extension, Function, Interval, Quantity, Side};
use crate::score::HintDepth;
use crate::units::{Amp, Celsius, Flow, Ohm, Pascal, Seconds, Volt, Volume};
use crate::vehicle::Key;

use super::args::Args;
use super::words::Group;
use super::{Asked, Held};

type Parsed = Result<Asked, Refusal>;

/// The jumper on the bench when no other is named: 1 m of 1.5 mm2.
pub(super) const BENCH_JUMPER: Extension = Extension {
    length_m: 1.0,
    size: ConductorSize::SquareMillimetres(1.5),
};

/// The action, provided nothing is left on the line.
fn done(args: &Args<'_>, action: Action) -> Parsed {
    args.finish()?;
    Ok(Asked::Act(action))
}

macro_rules! plain {
    ($($name:ident => $action:expr;)+) => {$(
        pub(super) fn $name(args: &mut Args<'_>) -> Parsed {
            done(args, $action)
        }
    )+};
}

plain! {
    order => Action::Order;
    diagram => Action::Diagram;
    data => Action::Data;
    log => Action::Log;
    clock => Action::Clock;
    drive => Action::Drive;
    listen => Action::Listen;
    zero => Action::Zero;
    protect => Action::Protect;
    relieve => Action::Relieve;
    stands => Action::Stands;
    handover => Action::Handover;
}

pub(super) fn points(args: &mut Args<'_>) -> Parsed {
    let filter = if args.is_empty() {
        PointFilter::All
    } else if args.take("reachable") {
        PointFilter::Reachable
    } else {
        PointFilter::Part(args.part()?)
    };
    done(args, Action::Points(filter))
}

pub(super) fn prices(args: &mut Args<'_>) -> Parsed {
    let part = if args.is_empty() {
        None
    } else {
        Some(args.part()?)
    };
    done(args, Action::Prices(part))
}

pub(super) fn help(args: &mut Args<'_>) -> Parsed {
    let group = |piece: &str| {
        Group::ALL
            .map(Group::heading)
            .into_iter()
            .find(|name| name.eq_ignore_ascii_case(piece))
    };
    let about = match args.next() {
        None => None,
        Some(piece) => Some(match group(piece) {
            Some(group) => group,
            None => super::grammar::word(piece)?.name,
        }),
    };
    args.finish()?;
    Ok(Asked::Help(about))
}

pub(super) fn key(args: &mut Args<'_>) -> Parsed {
    let position = match args.choice(&["off", "on", "crank", "run"])? {
        "off" => Key::Off,
        "on" => Key::On,
        "crank" => Key::Crank,
        _ => Key::Run,
    };
    done(args, Action::Key(position))
}

macro_rules! switched {
    ($($name:ident => $action:path;)+) => {$(
        pub(super) fn $name(args: &mut Args<'_>) -> Parsed {
            let on = args.on_off()?;
            done(args, $action(on))
        }
    )+};
}

switched! {
    pump => Action::PumpTool;
    helper => Action::Helper;
}

macro_rules! on_part {
    ($($name:ident => $action:path;)+) => {$(
        pub(super) fn $name(args: &mut Args<'_>) -> Parsed {
            let part = args.part()?;
            done(args, $action(part))
        }
    )+};
}

on_part! {
    unplug => Action::Unplug;
    feel => Action::Feel;
    wiggle => Action::Wiggle;
    plug => Action::Plug;
    replace => Action::Replace;
}

macro_rules! on_target {
    ($($name:ident => $action:path;)+) => {$(
        pub(super) fn $name(args: &mut Args<'_>) -> Parsed {
            let target = args.target()?;
            done(args, $action(target))
        }
    )+};
}

on_target! {
    look => Action::Look;
    repair => Action::Repair;
}

pub(super) fn access(args: &mut Args<'_>) -> Parsed {
    let access = args.access()?;
    done(args, Action::Access(access))
}

pub(super) fn refit(args: &mut Args<'_>) -> Parsed {
    let access = args.access()?;
    done(args, Action::Refit(access))
}

pub(super) fn wait(args: &mut Args<'_>) -> Parsed {
    let Some(text) = args.quantity_text() else {
        return Err(args.missing("a time"));
    };
    let time: Seconds = text.parse().map_err(|error| args.unit_refusal(&error))?;
    done(args, Action::Wait { seconds: time.0 })
}

pub(super) fn flow(args: &mut Args<'_>) -> Parsed {
    let Some(text) = args.quantity_text() else {
        return Err(args.missing("a time"));
    };
    let time = Seconds::parse_in(&text, "s").map_err(|error| args.unit_refusal(&error))?;
    let bridge = args.take("jumper").then(|| bridge(args)).transpose();
    let example = args
        .names
        .example("flow 15 s jumper {relay-in} {relay-out}");
    let bridge = bridge.map_err(|refusal| match example {
        Some(line) if args.is_empty() => Refusal {
            hint: format!("type for example `{line}`"),
            ..refusal
        },
        _ => refusal,
    })?;
    let seconds = time.0;
    done(args, Action::Flow { seconds, bridge })
}

pub(super) fn meter(args: &mut Args<'_>, function: Function) -> Parsed {
    if args.take("off") {
        return done(args, Action::MeterOff);
    }
    let what = "two points: where the red tip goes and where the black tip goes";
    if args.is_empty() {
        // With both tips already placed the word alone reads again, perhaps with another function.
        let Some(Held {
            function: now,
            red,
            black,
        }) = args.held
        else {
            return Err(args.missing(what));
        };
        let again = if now == function {
            Action::ReadMeter
        } else {
            Action::Meter {
                function,
                red,
                black,
            }
        };
        return done(args, again);
    }
    let red = args.point(what)?;
    let black = args.point("a second point, for the black tip")?;
    done(
        args,
        Action::Meter {
            function,
            red,
            black,
        },
    )
}

macro_rules! meters {
    ($($name:ident => $function:ident;)+) => {$(
        pub(super) fn $name(args: &mut Args<'_>) -> Parsed {
            meter(args, Function::$function)
        }
    )+};
}

meters! {
    volts => Volts;
    low_volts => LowVolts;
    millivolts => Millivolts;
    ohms => Ohms;
    continuity => Continuity;
}

pub(super) fn leads(args: &mut Args<'_>) -> Parsed {
    match args.choice(&["standard", "extension", "needle", "probe"])? {
        "standard" => return done(args, Action::Leads(None)),
        "needle" => return done(args, Action::Needles(true)),
        "probe" => return done(args, Action::Needles(false)),
        _ => {}
    }
    let measures = args.measures()?;
    let wire = measures.wire(args, "the length and the size of the extension wire")?;
    let side = args.side_or(Side::Black)?;
    done(args, Action::Leads(Some((side, wire))))
}

pub(super) fn tip(args: &mut Args<'_>) -> Parsed {
    if args.is_empty() {
        return Err(args.missing("to know which tip: `red` or `black`"));
    }
    let side = args.side_or(Side::Red)?;
    done(args, Action::Tip(side))
}

pub(super) fn record(args: &mut Args<'_>) -> Parsed {
    if args.choice(&["on", "off"])? == "off" {
        return done(args, Action::Record(None));
    }
    let Some(text) = args.quantity_text() else {
        return done(args, Action::Record(Some(Interval::Peaks)));
    };
    let seconds = Seconds::parse_in(&text, "s").map_err(|error| args.unit_refusal(&error))?;
    // A millionth of a second is nobody's intent; it is what floats make of 5 ms.
    let meant = |interval: &Interval| (interval.seconds() - seconds.0).abs() < 1e-6;
    let Some(interval) = Interval::ALL.into_iter().find(meant) else {
        return Err(Refusal {
            error: format!("the meter does not record every {text}"),
            hint: "it records every 5 ms (peaks caught), every 0.1 s or every 1 s, such as `record on 0.1 s`".into(),
        });
    };
    done(args, Action::Record(Some(interval)))
}

pub(super) fn gauge(args: &mut Args<'_>) -> Parsed {
    if args.is_empty() {
        return done(args, Action::Reread(Tool::Gauge));
    }
    let fitting = match args.choice(&["on", "off", "tee"])? {
        "on" => Some(Fitting::Port),
        "off" => None,
        _ => Some(Fitting::Tee(args.part()?)),
    };
    done(args, Action::Gauge(fitting))
}

pub(super) fn clamp(args: &mut Args<'_>) -> Parsed {
    if args.is_empty() {
        return done(args, Action::Reread(Tool::Clamp));
    }
    if args.take("off") {
        return done(args, Action::ClampOff);
    }
    if args.take("zero") {
        return done(args, Action::ClampZero);
    }
    let part = args.part()?;
    done(args, Action::Clamp(part))
}

pub(super) fn lamp(args: &mut Args<'_>) -> Parsed {
    if args.is_empty() {
        return done(args, Action::Reread(Tool::Lamp));
    }
    if args.take("off") {
        return done(args, Action::LampOff);
    }
    let a = args.point("two points")?;
    let b = args.point("a second point")?;
    done(args, Action::Lamp { a, b })
}

pub(super) fn jumper(args: &mut Args<'_>) -> Parsed {
    if args.take("off") {
        return done(args, Action::JumperOff);
    }
    let bridge = bridge(args)?;
    done(args, Action::Jumper(bridge))
}

/// Two points, and the wire between them if it is not the one on the bench.
fn bridge(args: &mut Args<'_>) -> Result<Bridge, Refusal> {
    let a = args.point("two points")?;
    let b = args.point("a second point")?;
    let wire = if args.is_empty() {
        BENCH_JUMPER
    } else {
        args.measures()?
            .wire(args, "both the length and the size of the wire")?
    };
    Ok(Bridge { a, b, wire })
}

pub(super) fn reckon(args: &mut Args<'_>) -> Parsed {
    let measures = args.measures()?;
    let question = measures.question(args, "the length and the size of the wire")?;
    args.finish()?;
    Ok(Asked::Reckon(question))
}

pub(super) fn call(args: &mut Args<'_>) -> Parsed {
    let (section, verdict) = args.section_and_verdict()?;
    let cites = args.quantity_text().map(|text| figure(&text)).transpose().map_err(|text| Refusal {
        error: format!("`{text}` is not a reading"),
        hint: format!("give the reading relied on as a number, with its unit if it is not volts: `call {section} bad 0.35`"),
    })?;
    done(
        args,
        Action::Call {
            section,
            verdict,
            cites,
        },
    )
}

/// A reading as a person writes it: volts unless a unit says otherwise; without one the bay looks what showed it.
fn figure(text: &str) -> Result<Cited, String> {
    let volts = || {
        Volt::parse_in(text, "V")
            .ok()
            .map(|v| (Quantity::Voltage, v.0))
    };
    let ohms = || {
        text.parse::<Ohm>()
            .ok()
            .map(|v| (Quantity::Resistance, v.0))
    };
    let amps = || text.parse::<Amp>().ok().map(|v| (Quantity::Current, v.0));
    let pressure = || {
        text.parse::<Pascal>()
            .ok()
            .map(|v| (Quantity::Pressure, v.0))
    };
    let flow = || text.parse::<Flow>().ok().map(|v| (Quantity::Flow, v.0));
    let volume = || text.parse::<Volume>().ok().map(|v| (Quantity::Volume, v.0));
    let warmth = || {
        text.parse::<Celsius>()
            .ok()
            .map(|v| (Quantity::Temperature, v.0))
    };
    let found = volts()
        .or_else(ohms)
        .or_else(amps)
        .or_else(pressure)
        .or_else(flow)
        .or_else(volume)
        .or_else(warmth);
    let (quantity, value) = found.ok_or_else(|| text.to_owned())?;
    Ok(Cited {
        value,
        quantity,
        written: text.to_owned(),
    })
}

pub(super) fn hint(args: &mut Args<'_>) -> Parsed {
    let depths = [HintDepth::Section, HintDepth::Kind, HintDepth::Reading];
    let asked = if args.is_empty() {
        None
    } else {
        let name = args.choice(&depths.map(HintDepth::name))?;
        depths.into_iter().find(|depth| depth.name() == name)
    };
    args.finish()?;
    Ok(Asked::Hint(asked))
}

pub(super) fn guide(args: &mut Args<'_>) -> Parsed {
    let on = args.on_off()?;
    args.finish()?;
    Ok(Asked::Guide(on))
}

pub(super) fn isolate(args: &mut Args<'_>) -> Parsed {
    let back = args.take("off");
    done(args, Action::Isolate(!back))
}

pub(super) fn quit(args: &mut Args<'_>) -> Parsed {
    args.finish()?;
    Ok(Asked::Quit)
}
