//! How bad a fault was, in plain words and figures.

use crate::fault::{Effect, Fault, FaultKind};
use crate::units::{Flow, Metre, Ohm, System, Volt};

/// One clause about a fault's severity.
pub(super) fn severity(kind: &FaultKind, fault: &Fault, system: System) -> String {
    let value = fault.severity;
    let percent = libm::round(value * 100.0);
    match kind.effect {
        Effect::AddOhms => format!("{} more than when sound", Ohm(value).show(system)),
        Effect::Open => "no connection at all".to_owned(),
        Effect::StrandsLost => format!("one strand left over {}", Metre(value).show(system)),
        Effect::ChafedShort => format!("touching the body through {}", Ohm(value).show(system)),
        Effect::FuseBlown => "the fuse had melted".to_owned(),
        Effect::LowCharge => format!("charged to {percent:.0} %"),
        Effect::InternalOhms => format!("{} more inside the battery", Ohm(value).show(system)),
        Effect::LowCharging => format!("regulated {} too low", Volt(value).show(system)),
        Effect::CoilOpen => "the coil was open".to_owned(),
        Effect::DriverDead => "the control unit never pulled the relay in".to_owned(),
        Effect::BrushOhms => format!("{} more at the brushes", Ohm(value).show(system)),
        Effect::DeadSegments => {
            let dead = libm::round(value);
            format!(
                "{dead:.0} dead commutator segment{}",
                if dead == 1.0 { "" } else { "s" }
            )
        }
        Effect::LeakFactor => format!("leaking inside {value:.1} times as much as a sound one"),
        Effect::DragTorque => format!("{:.1} mN m of extra drag", value * 1000.0),
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
            format!("{value:.1} times the resistance to flow of a clean one")
        }
        Effect::InTankLeak | Effect::CheckLeak | Effect::RegulatorOpen | Effect::InjectorLeak => {
            format!("letting {} back at 300 kPa", Flow(value).show(system))
        }
        Effect::RegulatorSet => format!("regulating to {percent:.0} % of its set pressure"),
    }
}
