//! The fuel side of a vehicle file: the pump's rated figures and the hydraulic circuit around it.

use toml::Spanned;

use crate::pump::{
    CheckValve, ElementKind, Hydraulics, PumpUnit, Rated, Regulator, RegulatorPlace,
};
use crate::units::{Amp, Flow, Ohm, Pascal, Volt};

use super::reader::{Reader, Table};

/// Values common to all petrol systems, which a vehicle file does not repeat.
struct Petrol {
    /// Density in kg/m3: the middle of EN 228 (720 to 775 at 15 degrees Celsius, from memory).
    density: f64,
    /// Discharge coefficient of a sharp-edged orifice.
    discharge: f64,
}

const PETROL: Petrol = Petrol { density: 745.0, discharge: 0.62 };

/// Below half a turn of the smallest unit in any file a figure is a slip of the pen; also keeps
/// quotients finite.
const LEAST: f64 = 1e-12;

fn flow_at_drop(reader: &mut Reader, table: &mut Table, key: &'static str) -> Option<(f64, f64)> {
    let mut inner = table.table(reader, key)?;
    let drop = positive(reader, inner.quantity::<Pascal>(reader, "drop"), |pascal| pascal.0);
    let flow = positive(reader, inner.quantity::<Flow>(reader, "at"), |flow| flow.0);
    inner.finish(reader);
    drop.zip(flow)
}

fn positive<T>(reader: &mut Reader, value: Option<Spanned<T>>, number: impl Fn(&T) -> f64) -> Option<f64> {
    let value = value?;
    let plain = number(value.get_ref());
    if plain > LEAST {
        return Some(plain);
    }
    reader.report(value.span(), "this must be above zero".to_owned(), None);
    None
}

/// Reads the table `[hydraulics]`: each restriction is given as a pressure drop at a flow, the way
/// it would be measured.
pub(super) fn read(reader: &mut Reader, top: &mut Table) -> Option<Hydraulics> {
    let mut table = top.table(reader, "hydraulics")?;
    let strainer = flow_at_drop(reader, &mut table, "strainer");
    let filter = flow_at_drop(reader, &mut table, "filter");
    let line = flow_at_drop(reader, &mut table, "line");
    let back = flow_at_drop(reader, &mut table, "return_line");
    let vapour = positive(reader, table.quantity::<Pascal>(reader, "vapour_below"), |pascal| pascal.0);
    let relief = positive(reader, table.quantity::<Pascal>(reader, "relief"), |pascal| pascal.0);
    let crack = positive(reader, table.quantity::<Pascal>(reader, "check_valve_opens"), |pascal| pascal.0);
    let set = positive(reader, table.quantity::<Pascal>(reader, "regulator_set"), |pascal| pascal.0);
    let slope = flow_at_drop(reader, &mut table, "regulator_rise");
    let bore_mm = table.number_with_unit(reader, "regulator_bore", "mm", "4 mm");
    let bore_mm = positive(reader, bore_mm, |bore| *bore);
    let swell_hose = swell(reader, &mut table, "hose_swell");
    let swell_rail = swell(reader, &mut table, "line_swell");
    table.finish(reader);
    let set_pa = set?;
    let per_square = |(drop, flow): (f64, f64)| drop / (flow * flow);
    let per_flow = |(drop, flow): (f64, f64)| drop / flow;
    Some(Hydraulics {
        density: PETROL.density,
        discharge: PETROL.discharge,
        strainer_pa_s2_m6: per_square(strainer?),
        vapour_limit_pa: vapour?,
        tank_empty: false,
        relief_pa: relief?,
        relief_slope_pa_s_m3: per_flow(slope?),
        check_valve: CheckValve { crack_pa: crack?, leak_m2: 0.0 },
        in_tank_leak_m2: 0.0,
        filter_pa_s_m3: per_flow(filter?),
        line_pa_s2_m6: per_square(line?),
        regulator: Regulator {
            set_pa,
            slope_pa_s_m3: per_flow(slope?),
            full_area_m2: circle_m2(bore_mm? / 1e3),
            place: RegulatorPlace::Rail,
            stuck: None,
        },
        return_pa_s2_m6: per_square(back?),
        injector_leak_m2: 0.0,
        injector_rated_pa: set_pa,
        hose_compliance_m3_pa: swell_hose?,
        compliance_m3_pa: swell_rail?,
    })
}

fn circle_m2(diameter_m: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m
}

/// How much more fuel a hose holds at working pressure: a volume at a pressure, as compliance.
fn swell(reader: &mut Reader, table: &mut Table, key: &'static str) -> Option<f64> {
    let mut inner = table.table(reader, key)?;
    let volume = positive(reader, inner.quantity::<crate::units::Volume>(reader, "volume"), |volume| volume.0);
    let pressure = positive(reader, inner.quantity::<Pascal>(reader, "at"), |pascal| pascal.0);
    inner.finish(reader);
    Some(volume? / pressure?)
}

/// Reads the rated figures in a `[[pump]]` table and makes the pump that has them.
pub(super) fn read_unit(reader: &mut Reader, table: &mut Table) -> Option<PumpUnit> {
    let volts = positive(reader, table.quantity::<Volt>(reader, "rated_volts"), |volt| volt.0);
    let rise = positive(reader, table.quantity::<Pascal>(reader, "rated_pressure"), |pascal| pascal.0);
    let flow = positive(reader, table.quantity::<Flow>(reader, "rated_flow"), |flow| flow.0);
    let amps = positive(reader, table.quantity::<Amp>(reader, "rated_current"), |amp| amp.0);
    let rpm = table.number_with_unit(reader, "rated_speed", "rpm", "6000 rpm");
    let rpm = positive(reader, rpm, |rpm| *rpm);
    let per_volt = positive(reader, table.quantity::<Flow>(reader, "flow_for_a_volt"), |flow| flow.0);
    let winding = positive(reader, table.quantity::<Ohm>(reader, "winding"), |ohm| ohm.0);
    let brushes = positive(reader, table.quantity::<Ohm>(reader, "brushes"), |ohm| ohm.0);
    let brush_drop = positive(reader, table.quantity::<Volt>(reader, "brush_drop"), |volt| volt.0);
    let dry_part = table.fraction(reader, "dry_friction");
    let inductance = table.number_with_unit(reader, "inductance", "mH", "0.3 mH");
    let inductance = positive(reader, inductance, |henry| *henry);
    let inertia = table.number_with_unit(reader, "inertia", "g cm2", "50 g cm2");
    let inertia = positive(reader, inertia, |inertia| *inertia);
    let segments = table.count(reader, "segments");
    let rollers = table.count(reader, "rollers");
    let rated = Rated {
        volts: volts?,
        rise_pa: rise?,
        flow_m3_s: flow?,
        amps: amps?,
        rpm: rpm?,
        flow_per_volt: per_volt?,
        winding_ohms: winding?,
        brush_ohms: brushes?,
        brush_volts: brush_drop?,
        dry_part: dry_part?,
        // Millihenry to henry; gram square centimetre to kilogram square metre.
        inductance_h: inductance? / 1e3,
        inertia_kg_m2: inertia? / 1e7,
        segments: segments?.into_inner(),
        kind: ElementKind::Roller { rollers: rollers?.into_inner() },
    };
    match rated.unit() {
        Ok(unit) => Some(unit),
        Err(error) => {
            let message = format!("no pump has the rated figures of {}: {error}", table.what);
            reader.report(table.span.clone(), message, Some("check volts, amperes, flow and pressure together".to_owned()));
            None
        }
    }
}
