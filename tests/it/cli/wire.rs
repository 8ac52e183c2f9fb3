//! The wire calculator.

use super::run;

#[test]
fn the_wire_calculator_agrees_with_the_published_drop() {
    // A published voltage-drop example: 12 V, 4.17 A, 5 m of 1.5 mm2 at 12.7 mohm/m (ISO 6722 maximum) lose 0.265 V.
    let ran = run([
        "wire",
        "--size",
        "1.5 mm2",
        "--length",
        "5 m",
        "--current",
        "4.17 A",
        "--json",
    ])
    .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let answer: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let number = |path: &str| {
        answer
            .pointer(path)
            .and_then(serde_json::Value::as_f64)
            .unwrap()
    };
    assert!((number("/ohms") - 0.0635).abs() < 1e-12);
    assert!((number("/drop_v") - 0.2648).abs() < 5e-5);
    // R / (R + meter): the divider of any textbook.
    assert!((number("/volts_lead/lost_v") - 12.6 * 0.0635 / (0.0635 + 10e6)).abs() < 1e-15);
    assert!((number("/lowz_lead/lost_percent") - 100.0 * 0.0635 / 3000.0635).abs() < 1e-9);
}

#[test]
fn the_wire_calculator_takes_and_shows_us_units() {
    // 16 AWG at 20 C: 4.016 ohm per 1000 ft (published copper wire table).
    let ran = run([
        "wire", "--size", "16 AWG", "--length", "1000 ft", "--units", "us", "--temp", "68 F",
    ])
    .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(
        ran.out.starts_with("4.02 ohm   1000") && ran.out.contains("16 AWG"),
        "{}",
        ran.out
    );
}
