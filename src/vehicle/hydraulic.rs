//! The hydraulic side of a vehicle file: the pump's rated figures and the hydraulic circuit around it.

use crate::pump::{
    CheckValve, ElementKind, Hydraulics, PumpUnit, Rated, RatedElement, Regulator, RegulatorPlace,
    RegulatorStuck,
};
use crate::units::{Amp, Flow, Ohm, Pascal, Volt, Volume};

use super::kinds::Medium;
use super::reader::{Reader, Table};

/// Values common to all petrol systems, which a vehicle file does not repeat.
pub(super) struct Petrol {
    /// Density in kg/m3: the middle of EN 228 (720 to 775 at 15 degrees Celsius, from memory).
    pub density: f64,
    /// Discharge coefficient of a sharp-edged orifice.
    pub discharge: f64,
}

const PETROL: Petrol = Petrol {
    density: 745.0,
    discharge: 0.62,
};

pub(super) fn flow_at_drop(
    reader: &mut Reader,
    table: &mut Table,
    key: &'static str,
) -> Option<(f64, f64)> {
    let mut inner = table.table(reader, key)?;
    let drop = inner.positive::<Pascal>(reader, "drop");
    let flow = inner.positive::<Flow>(reader, "at");
    inner.finish(reader);
    drop.zip(flow)
}

/// Standard atmosphere (ISO 2533), Pa: nothing sucks harder.
pub const ATMOSPHERE_PA: f64 = 101_325.0;

/// The suction at which vapour forms, in pascals.
pub(super) fn vapour_below(reader: &mut Reader, table: &mut Table) -> Option<f64> {
    const KEY: &str = "vapour_below";
    let suction = table.positive::<Pascal>(reader, KEY)?;
    if suction <= ATMOSPHERE_PA {
        return Some(suction);
    }
    if let Some(text) = table.text_if_any(reader, KEY) {
        let message = format!("`{KEY}` of {} is more than one atmosphere", table.what);
        let hint = "it is a suction: write it like `40 kPa`".to_owned();
        reader.report(text.span(), message, Some(hint));
    }
    None
}

/// Density of water with antifreeze, half and half, hot, kg/m3 (handbook value, from memory).
const COOLANT_DENSITY: f64 = 1030.0;

/// Reads the table `[hydraulics]` of a closed loop: screen, radiator and hoses, with nothing that regulates a pressure.
fn read_loop(reader: &mut Reader, mut table: Table) -> Option<Hydraulics> {
    let screen = flow_at_drop(reader, &mut table, "strainer");
    let radiator = flow_at_drop(reader, &mut table, "radiator");
    let line = flow_at_drop(reader, &mut table, "line");
    let vapour = vapour_below(reader, &mut table);
    let hoses = swell(reader, &mut table, "line_swell");
    table.finish(reader);
    Some(Hydraulics {
        density: COOLANT_DENSITY,
        closed_loop: true,
        filter_pa_s_m3: radiator.map(|(drop, flow)| drop / flow)?,
        ..plain(screen?, line?, vapour?, hoses?)
    })
}

/// A way from a strainer through a line and no more: without filter, relief, check valve, regulator, return and injectors.
/// `strainer` and `line` are drops at flows.
pub(super) fn plain(
    strainer: (f64, f64),
    line: (f64, f64),
    vapour_limit_pa: f64,
    hoses_m3_pa: f64,
) -> Hydraulics {
    let per_square = |(drop, flow): (f64, f64)| drop / (flow * flow);
    Hydraulics {
        density: PETROL.density,
        discharge: PETROL.discharge,
        strainer_pa_s2_m6: per_square(strainer),
        vapour_limit_pa,
        brought_m3_s: f64::INFINITY,
        tank_empty: false,
        closed_loop: false,
        relief_pa: f64::INFINITY,
        relief_slope_pa_s_m3: 1.0,
        check_valve: CheckValve {
            crack_pa: 0.0,
            leak_m2: 0.0,
        },
        in_tank_leak_m2: 0.0,
        filter_pa_s_m3: 0.0,
        line_pa_s2_m6: per_square(line),
        line_shut: false,
        regulator: Regulator {
            set_pa: 0.0,
            slope_pa_s_m3: 0.0,
            full_area_m2: 0.0,
            place: RegulatorPlace::Rail,
            stuck: Some(RegulatorStuck::Shut),
        },
        return_pa_s2_m6: 0.0,
        injector_leak_m2: 0.0,
        injector_rated_pa: 0.0,
        hose_compliance_m3_pa: hoses_m3_pa,
        compliance_m3_pa: hoses_m3_pa,
    }
}

/// Reads the table `[hydraulics]`: each restriction is given as a pressure drop at a flow, the way
/// it would be measured.
pub(super) fn read(reader: &mut Reader, top: &mut Table, medium: Medium) -> Option<Hydraulics> {
    const PLACES: [(RegulatorPlace, &str); 2] = [
        (RegulatorPlace::Rail, "rail"),
        (RegulatorPlace::Tank, "tank"),
    ];
    let mut table = top.table(reader, "hydraulics")?;
    if medium == Medium::Coolant {
        return read_loop(reader, table);
    }
    let strainer = flow_at_drop(reader, &mut table, "strainer");
    let filter = flow_at_drop(reader, &mut table, "filter");
    let line = flow_at_drop(reader, &mut table, "line");
    let place = table
        .choice_if_any(reader, "regulator_place", &PLACES)
        .unwrap_or(RegulatorPlace::Rail);
    // A regulator in the tank spills where it sits.
    let back = match place {
        RegulatorPlace::Rail => flow_at_drop(reader, &mut table, "return_line"),
        RegulatorPlace::Tank => {
            if let Some(line) = table.table_if_any(reader, "return_line") {
                let message = "with the regulator in the tank there is no return line".to_owned();
                let hint = "take `return_line` away, or write `regulator_place = \"rail\"`";
                reader.report(line.span.clone(), message, Some(hint.to_owned()));
            }
            Some((0.0, 1.0))
        }
    };
    let vapour = vapour_below(reader, &mut table);
    let relief = table.positive::<Pascal>(reader, "relief");
    let crack = table.positive::<Pascal>(reader, "check_valve_opens");
    let seep = flow_at_drop(reader, &mut table, "check_valve_seeps");
    let set = table.positive::<Pascal>(reader, "regulator_set");
    let slope = flow_at_drop(reader, &mut table, "regulator_rise");
    let bore_mm = table.positive_in(reader, "regulator_bore", "mm", "4 mm");
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
        brought_m3_s: f64::INFINITY,
        tank_empty: false,
        closed_loop: false,
        relief_pa: relief?,
        relief_slope_pa_s_m3: per_flow(slope?),
        check_valve: CheckValve {
            crack_pa: crack?,
            leak_m2: orifice_m2(seep?),
        },
        in_tank_leak_m2: 0.0,
        filter_pa_s_m3: per_flow(filter?),
        line_pa_s2_m6: per_square(line?),
        line_shut: false,
        regulator: Regulator {
            set_pa,
            slope_pa_s_m3: per_flow(slope?),
            full_area_m2: circle_m2(bore_mm? / 1e3),
            place,
            stuck: None,
        },
        return_pa_s2_m6: per_square(back?),
        injector_leak_m2: 0.0,
        injector_rated_pa: set_pa,
        hose_compliance_m3_pa: swell_hose?,
        compliance_m3_pa: swell_rail?,
    })
}

/// Area of the orifice that passes a flow at a drop: Q = Cd A sqrt(2 dP/rho).
fn orifice_m2((drop_pa, flow_m3_s): (f64, f64)) -> f64 {
    flow_m3_s / (PETROL.discharge * (2.0 * drop_pa / PETROL.density).sqrt())
}

fn circle_m2(diameter_m: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m
}

/// How much more fuel a hose holds at working pressure: a volume at a pressure, as compliance.
pub(super) fn swell(reader: &mut Reader, table: &mut Table, key: &'static str) -> Option<f64> {
    let mut inner = table.table(reader, key)?;
    let volume = inner.positive::<Volume>(reader, "volume");
    let pressure = inner.positive::<Pascal>(reader, "at");
    inner.finish(reader);
    Some(volume? / pressure?)
}

/// Reads the rated figures in a `[[pump]]` table and makes the pump that has them.
pub(super) fn read_unit(reader: &mut Reader, table: &mut Table) -> Option<PumpUnit> {
    let volts = table.positive::<Volt>(reader, "rated_volts");
    let rise = table.positive::<Pascal>(reader, "rated_pressure");
    let flow = table.positive::<Flow>(reader, "rated_flow");
    let amps = table.positive::<Amp>(reader, "rated_current");
    let rpm = table.positive_in(reader, "rated_speed", "rpm", "6000 rpm");
    let winding = table.positive::<Ohm>(reader, "winding");
    let brushes = table.positive::<Ohm>(reader, "brushes");
    let brush_drop = table.positive::<Volt>(reader, "brush_drop");
    let dry_part = table.fraction(reader, "dry_friction");
    let inductance = table.positive_in(reader, "inductance", "mH", "0.3 mH");
    let inertia = table.positive_in(reader, "inertia", "g cm2", "50 g cm2");
    let segments = table.count(reader, "segments");
    let element = read_element(reader, table);
    let rated = Rated {
        volts: volts?,
        rise_pa: rise?,
        flow_m3_s: flow?,
        amps: amps?,
        rpm: rpm?,
        winding_ohms: winding?,
        brush_ohms: brushes?,
        brush_volts: brush_drop?,
        dry_part: dry_part?,
        // Millihenry to henry; gram square centimetre to kilogram square metre.
        inductance_h: inductance? / 1e3,
        inertia_kg_m2: inertia? / 1e7,
        segments: segments?.into_inner(),
        element: element?,
    };
    match rated.unit() {
        Ok(unit) => Some(unit),
        Err(error) => {
            let message = format!("no pump has the rated figures of {}: {error}", table.what);
            reader.report(
                table.span.clone(),
                message,
                Some("check volts, amperes, flow and pressure together".to_owned()),
            );
            None
        }
    }
}

/// Reads what tells the pumping element beside the rated point; `rollers`, `vanes` or `blades` say which it is.
fn read_element(reader: &mut Reader, table: &mut Table) -> Option<RatedElement> {
    if table.has("blades") {
        let blades = table.count(reader, "blades");
        let shut_off_pa = table.positive::<Pascal>(reader, "shut_off_pressure");
        let shut_off_amps = table.positive::<Amp>(reader, "shut_off_current");
        let dry_amps = table.positive::<Amp>(reader, "dry_current");
        let leak_share = table.fraction(reader, "leakage");
        return Some(RatedElement::Centrifugal {
            blades: blades?.into_inner(),
            shut_off_pa: shut_off_pa?,
            shut_off_amps: shut_off_amps?,
            dry_amps: dry_amps?,
            leak_share: leak_share?,
        });
    }
    let turbine = table.has("vanes");
    let per_volt = table.positive::<Flow>(reader, "flow_for_a_volt");
    let cells = table.count(reader, if turbine { "vanes" } else { "rollers" });
    Some(RatedElement::Displacement {
        flow_per_volt: per_volt?,
        kind: match cells?.into_inner() {
            vanes if turbine => ElementKind::Turbine { vanes },
            rollers => ElementKind::Roller { rollers },
        },
    })
}
