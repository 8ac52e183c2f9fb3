//! Volts: without load, from the wrong reference, through too much resistance, at the wrong moment.

use super::{
    Brings, INPUT, LOW_INPUT, PUMP_ON, Trap, Truths, drop, fed, nothing, trap, volts, warm,
};
use crate::traps::bench::{bad_feed, fault};

/// The drop at the pump's ground pin seen from a point short of the post, with this much resistance beyond it.
fn hidden_from(t: &Truths, black: &str, ohms: f64) -> (f64, f64) {
    let hidden = t.pumping.lost(black, "B-");
    let wanted = ohms * t.pumping.amps();
    assert!(hidden > 0.95 * wanted, "{hidden} V of {wanted} are hidden");
    drop(t.pumping.lost("X7.2", black))
}

#[expect(
    clippy::too_many_lines,
    reason = "a table, whose rows are read one by one"
)]
pub fn rows() -> Vec<Trap> {
    let ground = |ohms| fault("corroded-ground", "G4", ohms);
    vec![
        trap(
            "an unloaded voltage test passes a feed of 2 ohm",
            bad_feed("2 ohm"),
            &["unplug X7", PUMP_ON, "volts X7.1 B-"],
            // Loading error -100 Rs/(Rs + Ri) (Keysight 34970A user's guide): 2 ohm before 10 Mohm is nothing.
            Brings::Value(|t| {
                let before = t.on.posts() - t.on.lost("B+", "FB.2");
                volts(before * INPUT / (INPUT + 2.0))
            }),
        ),
        trap(
            "the same feed with its pump on: the volts were never there",
            bad_feed("2 ohm"),
            &[PUMP_ON, "volts X7.1 B-"],
            // Ohm's law on the splice alone: 2 ohm at the pump's current are most of what is missing.
            Brings::Value(|t| {
                let lost = t.pumping.lost("B+", "X7.1");
                assert!(lost > 2.0 * t.pumping.amps(), "{lost}");
                fed(t.pumping.posts() - lost)
            }),
        ),
        trap(
            "the ground pin of an unplugged connector reads zero behind half an ohm",
            ground("0.5 ohm"),
            &["unplug X7", PUMP_ON, "volts X7.2 B-"],
            // No current, no drop: V = 0.5 ohm x 0 A.
            Brings::Value(nothing),
        ),
        trap(
            "a voltage drop taken with the pump at rest is no voltage drop",
            ground("0.5 ohm"),
            &["volts X7.2 B-"],
            Brings::Value(nothing),
        ),
        trap(
            "the body as reference hides a bad body ground and its strap",
            fault("corroded-ground", "G1", "0.3 ohm") + &fault("corroded-ground", "G3", "0.3 ohm"),
            &[PUMP_ON, "volts X7.2 BODYR"],
            // Kirchhoff: what is lost between the body and the post is not between these two points. Two ways of 0.3 ohm
            // beside each other make 0.15.
            Brings::Value(|t| hidden_from(t, "BODYR", 0.15)),
        ),
        trap(
            "a body ground that its strap stands in for hides from everybody",
            fault("corroded-ground", "G1", "0.3 ohm"),
            &[PUMP_ON, "volts X7.2 B-"],
            // The current goes round by strap, engine and their cables, of some milliohms: no 0.3 V for each ampere, but a
            // fiftieth of that at most.
            Brings::Value(|t| {
                assert!(t.pumping.lost("BODYR", "B-") < 0.006 * t.pumping.amps());
                drop(t.pumping.lost("X7.2", "B-"))
            }),
        ),
        trap(
            "the body as reference hides a bad battery clamp",
            fault("corroded-clamp", "CLN", "0.3 ohm"),
            &[PUMP_ON, "volts X7.2 BODYR"],
            Brings::Value(|t| hidden_from(t, "BODYR", 0.3)),
        ),
        trap(
            "the cable side of a clamp is not the post",
            fault("corroded-clamp", "CLN", "0.3 ohm"),
            &[PUMP_ON, "volts X7.2 B-c"],
            Brings::Value(|t| hidden_from(t, "B-c", 0.3)),
        ),
        trap(
            "the black tip on painted metal: both inputs hang on the red point",
            "",
            &[PUMP_ON, "volts X7.1 SILL"],
            Brings::Value(nothing),
        ),
        trap(
            "the prime was over before the reading",
            "",
            &["key on", "volts X7.1 B-"],
            // The relay is out; the pump's own winding ties the feed to ground.
            Brings::Value(nothing),
        ),
        trap(
            "red and black reversed show the sign",
            "",
            &["volts B- B+"],
            Brings::Value(|t| volts(-t.off.posts())),
        ),
        trap(
            "the lead's own drop is subtracted, though 20 m of 0.5 mm2 carry a microampere",
            ground("0.5 ohm"),
            &[PUMP_ON, "leads extension 20 m 0.5 mm2", "volts X7.2 B-"],
            // 20 x 37.1 mohm (ISO 6722) in series with 10 Mohm take 0.0000074 % of it.
            // What the learner takes off is what the same wire would drop at the pump's current: more than is there.
            Brings::Value(|t| {
                let there = t.pumping.lost("X7.2", "B-");
                assert!(0.742 * t.pumping.amps() > there, "{there}");
                warm(t, there * INPUT / (INPUT + 0.742))
            }),
        ),
        trap(
            "10 Mohm show the battery behind a kilohm",
            bad_feed("1000 ohm"),
            &["unplug X7", PUMP_ON, "volts X7.1 B-"],
            Brings::Value(|t| volts(t.on.posts() * INPUT / (INPUT + 1e3))),
        ),
        trap(
            "3 kohm show three quarters of it",
            bad_feed("1000 ohm"),
            &["unplug X7", PUMP_ON, "lowz X7.1 B-"],
            Brings::Value(|t| {
                let wanted = t.on.posts() * LOW_INPUT / (LOW_INPUT + 1e3);
                // 1 % and 3 counts, and half a count.
                (wanted, 0.01 * wanted + 0.035)
            }),
        ),
        trap(
            "a wire that hangs free shows ghost volts",
            "",
            &["unplug K1", "unplug X7", "volts X7.1 B-"],
            // A divider of the insulation's 15 to 60 Mohm and the meter's 10: 0.4 to 0.143 of the battery.
            Brings::Value(|t| {
                let [most, least] = [15e6, 60e6].map(|ohms| t.off.posts() * INPUT / (INPUT + ohms));
                (0.5 * (most + least), 0.5 * (most - least) + 0.05)
            }),
        ),
        trap(
            "the low-impedance function takes ghost volts away",
            "",
            &["unplug K1", "unplug X7", "lowz X7.1 B-"],
            Brings::Value(|t| (t.off.posts() * LOW_INPUT / (LOW_INPUT + 30e6), 0.005)),
        ),
        trap(
            "without a battery there is no ghost to learn from",
            "",
            &["unplug K1", "unplug X7", "isolate", "volts X7.1 BODYR"],
            Brings::Value(nothing),
        ),
        trap(
            "a coarse range swallows a small drop",
            ground("0.02 ohm"),
            &[PUMP_ON, "range 600 V", "volts X7.2 B-"],
            // One count is 0.1 V: 0.1 V of drop is one count, give or take two.
            Brings::Value(|t| (t.pumping.lost("X7.2", "B-"), 0.25)),
        ),
        trap(
            "a range kept too low overloads",
            "",
            &["range 6 V", "volts B+ B-"],
            Brings::Overload,
        ),
        trap(
            "a battery with a bad inside reads well at rest",
            fault("tired-battery", "BAT", "0.1 ohm"),
            &["volts B+ B-"],
            // Open-circuit volts have no current to be lost by; the pump's own would lose 0.1 ohm of it.
            Brings::Value(|t| {
                assert!(t.off.posts() - t.pumping.posts() > 0.08 * t.pumping.amps());
                volts(t.off.posts())
            }),
        ),
        trap(
            "a recording of one value a second has no start surge in it",
            ground("0.15 ohm"),
            &["volts X7.2 B-", "record on 1 s", "key on"],
            // The surge lasts hundredths of a second (rotor inertia over Ke2/R): of a second's mean it is a few per cent, and
            // as much is missing while the pressure still rises.
            Brings::Highest(|t| {
                let running = t.pumping.lost("X7.2", "B-");
                (running, 0.05 * running + 0.0055)
            }),
        ),
        trap(
            "the same at 5 ms: what is lost as the motor starts, not as it runs",
            ground("0.15 ohm"),
            &["volts X7.2 B-", "record on", "key on"],
            // At rest a motor has no back-EMF: I = (V - brushes)/(winding + loop) against I = load torque/Kt. Within the first
            // 5 ms the current comes up with L/R and falls with J R/Ke2, of which their mean loses the one's share and half
            // the other's.
            Brings::Highest(|t| {
                let loss = t.pumping.lost("X7.2", "B-") / t.pumping.amps();
                let ohms = 0.65 + 0.15 + 0.12;
                let (comes_up, falls) = (0.3e-3 / ohms, 5e-6 * ohms / (14.5e-3 * 14.5e-3));
                let share = 1.0 - comes_up / 5e-3 - 0.5 * 5e-3 / falls;
                let wanted = loss * share * (t.on.posts() - 0.4) / ohms;
                // The winding's and the loop's own spread, a tenth.
                (wanted, 0.1 * wanted)
            }),
        ),
    ]
}
