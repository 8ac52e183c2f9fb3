//! Quantities: what is accepted, what is refused and how, what is shown.
//!
//! Factors are checked against published values, cited from memory: NIST SP 811 (2008) appendix B
//! for psi, the US gallon, the fluid ounce and the circular mil; ASTM B258 tables as printed in
//! conductor handbooks, and NEC chapter 9 table 8, for wire gauges.

use hidden_ohm::units::{
    Amp, Area, Celsius, Flow, Metre, Money, Ohm, Pascal, Seconds, System, UnitError, Volt, Volume,
    Watt,
};
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

/// Each text must be read as exactly this SI value.
macro_rules! reads {
    ($kind:ident: $($text:literal => $si:expr),+ $(,)?) => {$(
        let got = $text.parse::<$kind>();
        assert_eq!(got.map(|q| q.0), Ok($si), "{:?} as {}", $text, stringify!($kind));
    )+};
}

fn near(got: f64, want: f64, relative: f64) {
    assert!(
        (got - want).abs() <= relative * want.abs(),
        "got {got}, want {want}"
    );
}

fn refusal<T: std::str::FromStr<Err = UnitError> + std::fmt::Debug>(text: &str) -> String {
    text.parse::<T>().expect_err(text).to_string()
}

#[test]
fn electrical_quantities_are_read_with_any_prefix_in_use() {
    reads!(Ohm: "0.35 ohm" => 0.35, "0.35ohm" => 0.35, "350 mohm" => 0.35, "4.7 kohm" => 4700.0,
        "10 Mohm" => 1e7, "10 MOhm" => 1e7, "350 mOHM" => 0.35, "0.35 Ω" => 0.35, "0.35 \u{2126}" => 0.35,
        "4.7kΩ" => 4700.0, "10 MΩ" => 1e7, "80 uohm" => 80e-6, "2 Ohms" => 2.0, "  1e-3 ohm " => 0.001,
        ".5 ohm" => 0.5, "5. ohm" => 5.0, "-0 ohm" => 0.0);
    reads!(Volt: "12.6 V" => 12.6, "12.6v" => 12.6, "85 mV" => 0.085, "-85 mV" => -0.085,
        "\u{2212}12.6 V" => -12.6, "+3 V" => 3.0, "9 µV" => 9e-6, "9 uV" => 9e-6);
    reads!(Amp: "4 A" => 4.0, "4a" => 4.0, "250 mA" => 0.25, "1.25 uA" => 1.25e-6, "1.25 μA" => 1.25e-6);
    reads!(Watt: "55 W" => 55.0, "1.2 kW" => 1200.0, "1.2 KW" => 1200.0);
}

#[test]
fn lengths_times_and_temperatures_are_read_in_both_systems() {
    reads!(Metre: "5 m" => 5.0, "5M" => 5.0, "250 mm" => 0.25, "25 cm" => 0.25, "148 000 km" => 148e6,
        "10 ft" => 3.048, "10 in" => 0.254, "1 mi" => 1609.344);
    reads!(Seconds: "2 s" => 2.0, "10 min" => 600.0, "1.5 h" => 5400.0, "350 ms" => 0.35, "2 S" => 2.0);
    reads!(Celsius: "20 C" => 20.0, "20 °C" => 20.0, "20c" => 20.0, "68 F" => 20.0, "-40 F" => -40.0,
        "212 °F" => 100.0, "273.15 K" => 0.0);
}

#[test]
fn fluid_quantities_use_the_published_factors() {
    reads!(Pascal: "350 kPa" => 350e3, "3.5 bar" => 350e3, "120 Pa" => 120.0, "0.3 MPa" => 300e3,
        "500 mbar" => 50e3);
    // NIST SP 811: 1 psi = 6.894757 E+03 Pa.
    near("1 psi".parse::<Pascal>().unwrap().0, 6894.757, 1e-7);
    near("58 PSI".parse::<Pascal>().unwrap().0, 399.8959e3, 1e-7);
    // NIST SP 811: 1 US gallon = 3.785412 E-03 m3; 1 US fluid ounce = 2.957353 E-05 m3.
    near("1 gal".parse::<Volume>().unwrap().0, 3.785_412e-3, 1e-7);
    near("1 fl  oz".parse::<Volume>().unwrap().0, 2.957_353e-5, 1e-7);
    reads!(Volume: "0.5 L" => 0.5e-3, "500 mL" => 0.5e-3, "0.5 l" => 0.5e-3);
    reads!(Flow: "108 L/h" => 3e-5, "1.8 L/min" => 3e-5, "1.8 l / min" => 3e-5);
    // 28 US gallons an hour are 105.99 litres an hour.
    near(
        "28 gal/h".parse::<Flow>().unwrap().0 * 3.6e6,
        105.9915,
        1e-6,
    );
}

#[test]
fn conductor_sizes_follow_the_gauge_tables() {
    reads!(Area: "1.5 mm2" => 1.5e-6, "1.5 mm²" => 1.5e-6, "1.5mm^2" => 1.5e-6, "1.5 MM2" => 1.5e-6);
    // ASTM B258 tables: gauge, square millimetres (to the printed digits).
    for (text, mm2, digits) in [
        ("4/0 AWG", 107.2, 1e-3),
        ("1/0 AWG", 53.5, 1e-3),
        ("AWG 10", 5.261, 1e-3),
        ("14 AWG", 2.081, 1e-3),
        ("14awg", 2.081, 1e-3),
        ("18 gauge", 0.823, 1e-3),
        ("AWG 20", 0.518, 1e-3),
        ("36 AWG", 0.012_67, 1e-3),
    ] {
        near(text.parse::<Area>().unwrap().0 * 1e6, mm2, digits);
    }
    assert_eq!("0000 AWG".parse::<Area>(), "AWG 4/0".parse::<Area>());
    assert_eq!("0 AWG".parse::<Area>(), "1/0 AWG".parse::<Area>());
    // A circular mil is 5.067075E-10 m2 (NIST SP 811); 14 AWG is 4110 of them (NEC chapter 9 table
    // 8).
    near("1 cmil".parse::<Area>().unwrap().0, 5.067_075e-10, 1e-6);
    near(
        "14 AWG".parse::<Area>().unwrap().0 / 5.067_075e-10,
        4110.0,
        1e-3,
    );
    for text in [
        "5/0 AWG",
        "0/0 AWG",
        "14.5 AWG",
        "-2 AWG",
        "41 AWG",
        "AWG",
        "00000 AWG",
    ] {
        assert_eq!(
            refusal::<Area>(text),
            format!(
                "`{text}` is no wire gauge; gauges run from `4/0 AWG` to `40 AWG`, in whole numbers"
            )
        );
    }
}

#[test]
fn a_bare_number_takes_the_unit_offered_and_no_other_text_does() {
    assert_eq!(Seconds::parse_in("15", "s"), Ok(Seconds(15.0)));
    assert_eq!(Seconds::parse_in("15", "min"), Ok(Seconds(900.0)));
    assert_eq!(Seconds::parse_in("15 ms", "s"), Ok(Seconds(0.015)));
    assert_eq!(Metre::parse_in("2", "ft"), Ok(Metre(0.6096)));
    assert!(Seconds::parse_in("15 kg", "s").is_err());
    assert!(Seconds::parse_in("", "s").is_err());
}

#[test]
fn a_refusal_says_the_text_what_was_expected_and_how_to_write_it() {
    assert_eq!(
        refusal::<Ohm>("0.35"),
        "`0.35` has no unit; write it like `0.35 ohm`"
    );
    assert_eq!(
        refusal::<Ohm>("  "),
        "a resistance is missing; write it like `0.35 ohm`"
    );
    assert_eq!(
        refusal::<Volt>("plenty"),
        "`plenty` is not a voltage; write it like `12.6 V`"
    );
    assert_eq!(
        refusal::<Ohm>("0,35 ohm"),
        "`0,35 ohm` has a comma; write the decimal mark as a point, like `0.35 ohm`"
    );
    assert_eq!(
        refusal::<Pascal>("58 psii"),
        "`psii` in `58 psii` is not a unit of a pressure; these are: kPa Pa MPa bar mbar psi"
    );
    assert_eq!(
        refusal::<Celsius>("-300 C"),
        "`-300 C` is outside what a temperature can be; write it like `20 C` or `68 F`"
    );
}

#[test]
fn milli_and_mega_are_told_apart_by_the_first_letter_and_never_guessed() {
    reads!(Ohm: "10 MOHM" => 1e7, "10 mohm" => 0.01, "10 mOhm" => 0.01);
    assert_eq!(
        refusal::<Volt>("85 MV"),
        "`MV` in `85 MV` leaves open whether milli or mega is meant; write `mV`"
    );
    assert_eq!(
        refusal::<Pascal>("3 mpa"),
        "`mpa` in `3 mpa` leaves open whether milli or mega is meant; write `MPa`"
    );
}

#[test]
fn nonsense_is_refused_for_every_quantity() {
    for text in [
        "nan",
        "NaN ohm",
        "inf",
        "inf V",
        "-inf V",
        "1e999 V",
        "1e999 ohm",
        "V",
        "ohm",
        "1.2.3 V",
        "1 2 V",
        "12.6 V V",
        "12.6 V;",
        "12.6 V 3",
        "5 m x",
        "0x10 V",
        "--1 V",
        "1e V",
        "",
        "٣ V",
        "1 V\u{0}",
    ] {
        assert!(text.parse::<Volt>().is_err(), "{text:?} as a voltage");
        assert!(text.parse::<Ohm>().is_err(), "{text:?} as a resistance");
        assert!(text.parse::<Metre>().is_err(), "{text:?} as a length");
        assert!(text.parse::<Area>().is_err(), "{text:?} as a size");
    }
    assert!("-1 ohm".parse::<Ohm>().is_err());
    assert!("-1 m".parse::<Metre>().is_err());
    assert!("-1 mm2".parse::<Area>().is_err());
    assert!("-1 L".parse::<Volume>().is_err());
    assert!("-1 s".parse::<Seconds>().is_err());
}

#[test]
fn quantities_are_shown_in_the_units_of_the_trade() {
    let metric = System::Metric;
    let us = System::Us;
    for (shown, want) in [
        (Volt(12.58).show(metric), "12.58 V"),
        (Volt(-12.58).show(us), "-12.58 V"),
        (Volt(0.243).show(metric), "0.243 V"),
        (Volt(0.085).show(metric), "85.0 mV"),
        (Volt(8e-9).show(metric), "8.00 nV"),
        (Volt(0.0).show(metric), "0.00 V"),
        (Volt(0.999_7).show(metric), "1.00 V"),
        (Volt(0.099_96).show(metric), "0.100 V"),
        (Amp(4.012).show(metric), "4.01 A"),
        (Amp(0.999_7).show(metric), "1.00 A"),
        (Amp(0.25).show(us), "250 mA"),
        (Amp(0.09e-6).show(us), "90.0 nA"),
        (Ohm(0.0377).show(metric), "37.7 mohm"),
        (Ohm(1e7).show(metric), "10.0 Mohm"),
        (Ohm(2.2).show(metric), "2.20 ohm"),
        (Ohm(999.6).show(metric), "1.00 kohm"),
        (Ohm(0.0).show(metric), "0.00 ohm"),
        (Ohm(f64::INFINITY).show(metric), "open"),
        (Watt(55.0).show(metric), "55.0 W"),
        (Metre(5.0).show(metric), "5.0 m"),
        (Metre(5.0).show(us), "16.4 ft"),
        (Metre(0.25).show(metric), "250 mm"),
        (Metre(0.254).show(us), "10.0 in"),
        (Metre(148e6).show(metric), "148 000 km"),
        (Area(1e-6).show(metric), "1.0 mm2"),
        (Area(0.35e-6).show(metric), "0.35 mm2"),
        (Area(1e-6).show(us), "17 AWG"),
        (Area(107.2e-6).show(us), "4/0 AWG"),
        (Area(1.5e-6).show(us), "2960 cmil"),
        (Pascal(350e3).show(metric), "350 kPa"),
        (Pascal(350e3).show(us), "50.8 psi"),
        (Pascal(-20.5e3).show(metric), "-20.5 kPa"),
        (Pascal(0.0).show(metric), "0 kPa"),
        (Flow(3e-5).show(metric), "108 L/h"),
        (Flow(3e-5).show(us), "28.5 gal/h"),
        (Volume(0.5e-3).show(metric), "500 mL"),
        (Volume(1.5e-3).show(metric), "1.5 L"),
        (Volume(0.5e-3).show(us), "16.9 fl oz"),
        (Seconds(2.0).show(metric), "2 s"),
        (Seconds(780.0).show(metric), "13 min"),
        (Seconds(0.35).show(metric), "350 ms"),
        (Seconds(9000.0).show(us), "2.5 h"),
        (Celsius(20.0).show(metric), "20 C"),
        (Celsius(20.0).show(us), "68 F"),
        (Celsius(-0.01).show(metric), "0 C"),
        (Celsius(21.5).show(metric), "21.5 C"),
    ] {
        assert_eq!(shown, want);
        assert!(shown.is_ascii());
    }
}

#[test]
fn ohms_law_and_power_come_out_in_their_own_types() {
    assert_eq!(Amp(5.0) * Ohm(0.15), Volt(0.75));
    assert_eq!(Volt(0.75) / Ohm(0.15), Amp(5.0));
    assert_eq!(Volt(12.0) / Amp(4.0), Ohm(3.0));
    assert_eq!(Volt(12.0) * Amp(4.0), Watt(48.0));
    assert_eq!(Volt(12.5) - Volt(12.0), Volt(0.5));
    assert_eq!(Volume(0.5e-3) / Seconds(10.0), Flow(0.5e-4));
    assert_eq!(
        [Seconds(2.0), Seconds(3.0)].into_iter().sum::<Seconds>(),
        Seconds(5.0)
    );
}

#[test]
fn money_is_exact_and_grouped() {
    for (minor, mark, text) in [
        (1257, "cr", "12.57 cr"),
        (123_450, "cr", "1 234.50 cr"),
        (5, "cr", "0.05 cr"),
        (-300, "cr", "-3.00 cr"),
        (-123_456_789, "", "-1 234 567.89"),
        (99_999, "", "999.99"),
        (i64::MIN, "", "-92 233 720 368 547 758.08"),
    ] {
        assert_eq!(Money(minor).show(mark), text);
    }
    for (text, minor) in [
        ("12.57", 1257),
        ("12", 1200),
        ("12.5", 1250),
        (" 1 234.50 ", 123_450),
        ("-3", -300),
        ("1234", 123_400),
    ] {
        assert_eq!(text.parse(), Ok(Money(minor)), "{text:?}");
    }
    for text in [
        "",
        "x",
        "12.345",
        "12.",
        ".50",
        "1 23",
        "1234 567",
        "12,57",
        "12.57 cr",
        "--1",
        "+-1",
        "1e3",
        "99999999999999999999",
    ] {
        assert!(text.parse::<Money>().is_err(), "{text:?}");
    }
    assert_eq!(
        [Money(i64::MAX), Money(1)].into_iter().sum::<Money>(),
        Money(i64::MAX)
    );
    assert_eq!(Money(5) - Money(7), Money(-2));
}

/// Shown in either system and read again, a value is the same within half a unit of the last of
/// three figures; a size within the 6 % of the gauge it is called by.
macro_rules! round_trips {
    ($($name:ident: $kind:ident, $signed:expr, $low:expr, $high:expr, $within:expr;)+) => {
        proptest! {$(
            #[test]
            fn $name(exponent in f64::log10($low)..f64::log10($high), negative: bool) {
                let size = 10_f64.powf(exponent);
                let value = if negative && $signed { -size } else { size };
                for system in [System::Metric, System::Us] {
                    let shown = $kind(value).show(system);
                    let back = shown.parse::<$kind>();
                    prop_assert!(back.is_ok(), "{value} shown as {shown}: {back:?}");
                    prop_assert!((back.unwrap().0 - value).abs() <= $within * size, "{value} shown as {shown}");
                }
            }
        )+}
    };
}

round_trips! {
    a_voltage_survives_being_shown: Volt, true, 1e-8, 9e3, 5.01e-3;
    a_current_survives_being_shown: Amp, true, 1e-8, 9e3, 5.01e-3;
    a_resistance_survives_being_shown: Ohm, false, 1e-6, 9e9, 5.01e-3;
    a_power_survives_being_shown: Watt, true, 1e-5, 9e4, 5.01e-3;
    a_length_survives_being_shown: Metre, false, 1e-5, 1e9, 5.01e-3;
    a_size_survives_being_shown: Area, false, 1e-8, 1.2e-4, 0.06 / 0.94 + 1e-9;
    a_pressure_survives_being_shown: Pascal, true, 10.0, 1e8, 5.01e-3;
    a_flow_survives_being_shown: Flow, true, 1e-8, 1e-2, 5.01e-3;
    a_volume_survives_being_shown: Volume, false, 1e-7, 10.0, 5.01e-3;
    a_time_survives_being_shown: Seconds, false, 1e-5, 1e6, 5.01e-3;
}

proptest! {
    #[test]
    fn a_temperature_survives_being_shown(degrees in -200.0..300.0) {
        for system in [System::Metric, System::Us] {
            let back = Celsius(degrees).show(system).parse::<Celsius>().unwrap();
            prop_assert!((back.0 - degrees).abs() <= 0.0501);
        }
    }

    #[test]
    fn money_survives_being_shown(minor: i64) {
        prop_assert_eq!(Money(minor).show("").parse::<Money>(), Ok(Money(minor)));
    }

    #[test]
    fn no_text_makes_parsing_panic(text in "\\PC{0,12}", unit in "[ a-zA-Z0-9/°Ωµ]{0,6}") {
        for candidate in [text.clone(), format!("1{text}"), format!("1 {unit}")] {
            let _ = (candidate.parse::<Ohm>(), candidate.parse::<Area>(), candidate.parse::<Money>());
        }
    }
}

#[test]
fn quantities_inside_a_sentence_are_told_in_the_readers_units() {
    // 1 psi is 6.894757 kPa, a US fluid ounce 29.5735 mL, a mile 1.609344 km (all exact by definition, rounded here).
    let told = |sentence: &str| hidden_ohm::units::told(sentence, System::Us);
    for (metric, us) in [
        (
            "fuel pressure 300 kPa with the vacuum hose off",
            "fuel pressure 43.5 psi with the vacuum hose off",
        ),
        (
            "90 to 105 kPa at the throttle body",
            "13.1 to 15.2 psi at the throttle body",
        ),
        ("0.5 L or more in 30 s", "16.9 fl oz or more in 30 s"),
        ("2.8 V at 400 kPa", "2.8 V at 58.0 psi"),
        (
            "162 000 km. Stood two winters.",
            "101 000 mi. Stood two winters.",
        ),
        (
            "pump current 3 to 5 A running",
            "pump current 3 to 5 A running",
        ),
        ("kPa alone, and a kPa", "kPa alone, and a kPa"),
        ("", ""),
    ] {
        assert_eq!(told(metric), us);
        assert_eq!(hidden_ohm::units::told(metric, System::Metric), metric);
    }
}
