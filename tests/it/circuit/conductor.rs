//! Conductor tables and what follows from them.

use hidden_ohm::circuit::conductor::{
    ConductorError, ConductorSize, awg_diameter_m, ohms_per_metre, resistance, temperature_factor,
};
use serde::Deserialize;

use super::netlist::{assert_close, read};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tables {
    awg_source: String,
    nec_source: String,
    iso_source: String,
    class5_source: String,
    awg: Vec<Awg>,
    metric: Vec<Metric>,
    drop: Vec<Drop>,
    sizing: Vec<Sizing>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Awg {
    gauge: i32,
    diameter_mm: f64,
    ohm_per_km: f64,
    ohm_per_kft: f64,
    nec_75c_ohm_per_kft: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Metric {
    mm2: f64,
    iso_mohm_per_m: f64,
    class5_mohm_per_m: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Drop {
    source: String,
    mm2: Option<f64>,
    awg: Option<i32>,
    metres: f64,
    amps: f64,
    volts: f64,
    supply: f64,
    percent: f64,
    /// How finely the source prints the volts, in proportion.
    tolerance: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sizing {
    source: String,
    amps: f64,
    feet: f64,
    drop: f64,
    circular_mils: f64,
    awg: i32,
}

const KILOFOOT: f64 = 304.8;

fn tables() -> Tables {
    toml::from_str(&read("conductors.toml")).unwrap()
}

fn metric(mm2: f64) -> ConductorSize {
    ConductorSize::SquareMillimetres(mm2)
}

#[test]
fn american_gauges_have_the_published_diameter_and_resistance() {
    let tables = tables();
    for row in &tables.awg {
        let what = format!("AWG {} ({})", row.gauge, tables.awg_source);
        let per_metre = ohms_per_metre(ConductorSize::Awg(row.gauge)).unwrap();
        // Half a unit in the last printed digit.
        assert!(
            (awg_diameter_m(row.gauge) * 1e3 - row.diameter_mm).abs() < 5.1e-5,
            "{what}"
        );
        assert_close(&what, per_metre * 1e3, row.ohm_per_km, 5e-5);
        assert_close(&what, per_metre * KILOFOOT, row.ohm_per_kft, 5e-4);
    }
    assert_eq!(tables.awg.len(), 7);
}

/// The electrical code's table is at 75 C and for stranded wire, which is about 2 % above solid.
#[test]
fn american_gauges_agree_with_the_electrical_code_at_75_degrees() {
    let tables = tables();
    let mut checked = 0;
    for row in &tables.awg {
        let Some(published) = row.nec_75c_ohm_per_kft else {
            continue;
        };
        let hot = resistance(ConductorSize::Awg(row.gauge), KILOFOOT, 75.0).unwrap();
        let stranding = published / hot;
        assert!(
            (1.01..1.03).contains(&stranding),
            "AWG {} ({}): {stranding}",
            row.gauge,
            tables.nec_source
        );
        checked += 1;
    }
    assert_eq!(checked, 6);
    // From 75 to 20 C the factor is 0.8223 (calculated).
    assert_close(
        "factor",
        1.0 / temperature_factor(75.0).unwrap(),
        0.8223,
        5e-5,
    );
}

#[test]
fn harness_sizes_have_the_standard_maximum_resistance() {
    let tables = tables();
    for row in &tables.metric {
        let what = format!("{} mm2 ({})", row.mm2, tables.iso_source);
        let per_metre = ohms_per_metre(metric(row.mm2)).unwrap();
        assert_close(&what, per_metre * 1e3, row.iso_mohm_per_m, 1e-12);
        let solid = 0.017_241 / row.mm2;
        let above = per_metre / solid - 1.0;
        assert!(
            (0.055..0.106).contains(&above),
            "{what}: {above} above resistivity over area"
        );
        if let Some(class5) = row.class5_mohm_per_m {
            let what = format!("{} mm2 ({})", row.mm2, tables.class5_source);
            assert!(
                (1.0..1.06).contains(&(class5 / (per_metre * 1e3))),
                "{what}"
            );
        }
    }
    assert_eq!(tables.metric.len(), 11);
}

#[test]
fn sizes_between_and_beyond_the_table_fall_steadily_and_stay_above_bare_copper() {
    let mut last = f64::INFINITY;
    for step in 1..2400 {
        let mm2 = f64::from(step) * 0.05;
        let per_metre = ohms_per_metre(metric(mm2)).unwrap();
        let ratio = per_metre * mm2 / 0.017_241;
        assert!(per_metre < last, "{mm2} mm2");
        assert!((1.055..1.106).contains(&ratio), "{mm2} mm2: {ratio}");
        last = per_metre;
    }
}

#[test]
fn worked_voltage_drops_come_out_as_printed() {
    for row in tables().drop {
        let size = match (row.mm2, row.awg) {
            (Some(mm2), None) => metric(mm2),
            (None, Some(gauge)) => ConductorSize::Awg(gauge),
            _ => panic!("{}: give one of mm2 and awg", row.source),
        };
        let volts = row.amps * resistance(size, row.metres, 20.0).unwrap();
        assert_close(&row.source, volts, row.volts, row.tolerance);
        let percent = 100.0 * volts / row.supply;
        assert_close(&row.source, percent, row.percent, 2e-3 + row.tolerance);
    }
}

/// The marine trade's rule: circular mils = 10.75 amps x feet out and back / volts of drop (ABYC E-11). The gauge that it asks
/// for has that area, the next thinner one that is sold has not; and the gauge's own resistance keeps the drop.
#[test]
fn circular_mil_sizing_comes_out_as_printed() {
    let mils = |gauge: i32| {
        let diameter = awg_diameter_m(gauge) / 25.4e-6;
        diameter * diameter
    };
    for row in tables().sizing {
        let needed = 10.75 * row.amps * row.feet / row.drop;
        assert_close(&row.source, needed, row.circular_mils, 2e-4);
        assert!(
            mils(row.awg) >= needed && mils(row.awg + 2) < needed,
            "{}",
            row.source
        );
        let wire = ConductorSize::Awg(row.awg);
        let drop = row.amps * resistance(wire, row.feet * 0.3048, 20.0).unwrap();
        assert!(drop <= row.drop, "{}: {drop} V", row.source);
    }
}

/// Copper at 20 C is 1; the linear law of IEC 60028 makes it 1.1572 at 60 C and 0.8428 at -20 C.
#[test]
fn copper_follows_temperature_linearly() {
    for (celsius, factor) in [(20.0, 1.0), (60.0, 1.1572), (-20.0, 0.8428)] {
        assert_close(
            "factor",
            temperature_factor(celsius).unwrap(),
            factor,
            1e-14,
        );
    }
}

#[test]
fn impossible_conductors_are_refused() {
    assert_eq!(
        ohms_per_metre(metric(0.0)),
        Err(ConductorError::SquareMillimetres(0.0))
    );
    assert!(ohms_per_metre(metric(f64::NAN)).is_err());
    assert_eq!(
        ohms_per_metre(ConductorSize::Awg(41)),
        Err(ConductorError::Awg(41))
    );
    assert_eq!(
        resistance(metric(1.5), -1.0, 20.0),
        Err(ConductorError::Length(-1.0))
    );
    assert_eq!(
        resistance(metric(1.5), 1.0, 999.0),
        Err(ConductorError::Celsius(999.0))
    );
}
