//! What a cooling circuit's vehicle file says of heat: what the engine gives off, what the radiator takes, what the
//! heater does.

use super::model::PartId;
use super::names::Names;
use super::reader::{Reader, Table};

/// The heat side of a cooling circuit. Arrays are for idle, a steady cruise and full load up a hill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling {
    /// Heat the engine gives to the coolant, W.
    pub heat_w: [f64; 3],
    /// Heat that the air through the radiator takes up for a degree, W/K.
    pub air_w_k: [f64; 3],
    /// What the radiator hands over for a degree between coolant and air at the rated flow, W/K.
    pub radiator_w_k: f64,
    /// Coolant flow at which that holds, m3/s.
    pub rated_m3_s: f64,
    /// The thermostat holds this with heat to spare, degrees Celsius.
    pub opens_c: f64,
    /// A driver sees the needle climb above this, degrees Celsius.
    pub warns_c: f64,
    /// It boils over at this, degrees Celsius.
    pub boils_c: f64,
    /// Heat capacity of engine and coolant, J/K.
    pub holds_j_k: f64,
    /// What the engine loses to the air without its radiator, W/K.
    pub loss_w_k: f64,
    /// Share of the flow that goes through the heater.
    pub heater_share: f64,
    /// What the heater core hands over at its share of the rated flow, W/K.
    pub heater_w_k: f64,
    /// Heat that the heater's air takes up for a degree, W/K.
    pub heater_air_w_k: f64,
    /// Air from the heater below this feels cold, degrees Celsius.
    pub heater_warm_c: f64,
    /// The consumer at the driver's seat whose needle shows the temperature.
    pub gauge: PartId,
}

/// Reads the table `[cooling]`.
pub(super) fn read(reader: &mut Reader, mut table: Table, parts: &Names) -> Option<Cooling> {
    use crate::units::Flow;
    let mut watts = |reader: &mut Reader, key| {
        table
            .positive_in(reader, key, "kW", "24 kW")
            .map(|kilo| kilo * 1e3)
    };
    let heat = ["idle_heat", "cruise_heat", "hill_heat"].map(|key| watts(reader, key));
    let mut per_kelvin =
        |reader: &mut Reader, key| table.positive_in(reader, key, "W/K", "1500 W/K");
    let air = ["idle_air", "cruise_air", "hill_air"].map(|key| per_kelvin(reader, key));
    let radiator = per_kelvin(reader, "radiator");
    let loss = per_kelvin(reader, "loses");
    let heater = per_kelvin(reader, "heater");
    let heater_air = per_kelvin(reader, "heater_air");
    let mut celsius = |reader: &mut Reader, key| table.positive_in(reader, key, "C", "87 C");
    let opens = celsius(reader, "thermostat_opens");
    let warns = celsius(reader, "needle_climbs_above");
    let boils = celsius(reader, "boils_at");
    let warm = celsius(reader, "heater_cold_below");
    let rated = table.positive::<Flow>(reader, "rated_flow");
    let holds = table.positive_in(reader, "holds", "kJ/K", "100 kJ/K");
    let share = table.fraction(reader, "heater_share");
    let gauge = table
        .text(reader, "gauge")
        .and_then(|name| parts.resolve(reader, &name));
    table.finish(reader);
    let all = |values: [Option<f64>; 3]| Some([values[0]?, values[1]?, values[2]?]);
    Some(Cooling {
        heat_w: all(heat)?,
        air_w_k: all(air)?,
        radiator_w_k: radiator?,
        rated_m3_s: rated?,
        opens_c: opens?,
        warns_c: warns?,
        boils_c: boils?,
        holds_j_k: holds? * 1e3,
        loss_w_k: loss?,
        heater_share: share?,
        heater_w_k: heater?,
        heater_air_w_k: heater_air?,
        heater_warm_c: warm?,
        gauge: PartId(gauge?),
    })
}
