//! How bad a fault was, in plain words and figures.

use crate::fault::{Effect, Fault, FaultKind};
use crate::units::{Flow, Metre, Ohm, System, Volt};

/// One clause about a fault's severity.
pub(super) fn severity(kind: &FaultKind, fault: &Fault, system: System) -> String {
    let value = fault.severity;
    let percent = libm::round(value * 100.0);
    match kind.effect {
        Effect::AddOhms => format!("{} more than when sound", ohms(value, system)),
        Effect::Open => "no connection at all".to_owned(),
        Effect::StrandsLost => format!("one strand left over {}", Metre(value).show(system)),
        Effect::ChafedShort => format!("touching the body through {}", ohms(value, system)),
        Effect::FuseBlown => "the fuse had melted".to_owned(),
        Effect::LowCharge => format!("charged to {percent:.0} %"),
        Effect::InternalOhms => format!("{} more inside the battery", ohms(value, system)),
        Effect::LowCharging => format!("regulated {} too low", Volt(value).show(system)),
        Effect::CoilOpen => "no current through the coil".to_owned(),
        Effect::DriverDead => "the control unit never pulled the relay in".to_owned(),
        Effect::BrushOhms => format!("{} more at the brushes", ohms(value, system)),
        Effect::DeadSegments => {
            let dead = libm::round(value);
            format!(
                "{dead:.0} dead commutator segment{}",
                if dead == 1.0 { "" } else { "s" }
            )
        }
        Effect::LeakFactor => format!("leaking inside {value:.1} times as much as a sound one"),
        Effect::DragTorque => format!(
            "{:.1} mN m of extra drag (thousandths of a newton metre; turning the pump takes some tens)",
            value * 1000.0
        ),
        Effect::Seized => "it did not turn".to_owned(),
        Effect::StuckClosed | Effect::ThermostatShut => "it never opened".to_owned(),
        Effect::SensorFactor => format!("showing {percent:.0} % of the pressure"),
        Effect::PrimeOnly => "the unit never saw the engine turn".to_owned(),
        Effect::RegulatorShut => "it passed nothing".to_owned(),
        Effect::RunsDry => "the pump drew air".to_owned(),
        Effect::ThermostatOpen => "it never shut".to_owned(),
        Effect::StrainerFactor
        | Effect::FilterFactor
        | Effect::LineFactor
        | Effect::ReturnFactor => {
            let places = usize::from(value < 10.0);
            format!("{value:.places$} times the resistance to flow of a clean one")
        }
        Effect::InTankLeak | Effect::CheckLeak | Effect::RegulatorOpen | Effect::InjectorLeak => {
            format!("letting {} back at 300 kPa", Flow(value).show(system))
        }
        Effect::RegulatorSet => format!("regulating to {percent:.0} % of its set pressure"),
    }
}

/// Ohms as an apprentice says them: `0.08 ohm`; next to nothing in thousandths.
fn ohms(value: f64, system: System) -> String {
    if (0.01..1.0).contains(&value) {
        format!("{value:.2} ohm")
    } else {
        Ohm(value).show(system)
    }
}
