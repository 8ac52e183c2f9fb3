//! Volts: without load, from the wrong reference, through too much resistance, at the wrong moment.

use super::{Brings, INPUT, LOW_INPUT, PUMP_ON, Trap, Truths, drop, fed, volts, warm};
use crate::traps::bench::{SEED, bad_feed, fault};

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
        Trap {
            seed: SEED,
            mistake: "an unloaded voltage test passes a feed of 2 ohm",
            fault: bad_feed("2 ohm"),
            script: &["unplug X7", PUMP_ON, "volts X7.1 B-"],
            // Loading error -100 Rs/(Rs + Ri) (Keysight 34970A user's guide): 2 ohm before 10 Mohm is nothing.
            brings: Brings::Value(|t| {
                let before = t.on.posts() - t.on.lost("B+", "FB.2");
                volts(before * INPUT / (INPUT + 2.0))
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the same feed with its pump on: the volts were never there",
            fault: bad_feed("2 ohm"),
            script: &[PUMP_ON, "volts X7.1 B-"],
            // Ohm's law on the splice alone: 2 ohm at the pump's current are most of what is missing.
            brings: Brings::Value(|t| {
                let lost = t.pumping.lost("B+", "X7.1");
                assert!(lost > 2.0 * t.pumping.amps(), "{lost}");
                fed(t.pumping.posts() - lost)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the ground pin of an unplugged connector reads zero behind half an ohm",
            fault: ground("0.5 ohm"),
            script: &["unplug X7", PUMP_ON, "volts X7.2 B-"],
            // No current, no drop: V = 0.5 ohm x 0 A.
            brings: Brings::Value(|_| (0.0, 0.003)),
        },
        Trap {
            seed: SEED,
            mistake: "a voltage drop taken with the pump at rest is no voltage drop",
            fault: ground("0.5 ohm"),
            script: &["volts X7.2 B-"],
            brings: Brings::Value(|_| (0.0, 0.003)),
        },
        Trap {
            seed: SEED,
            mistake: "the body as reference hides a bad body ground and its strap",
            fault: fault("corroded-ground", "G1", "0.3 ohm")
                + &fault("corroded-ground", "G3", "0.3 ohm"),
            script: &[PUMP_ON, "volts X7.2 BODYR"],
            // Kirchhoff: what is lost between the body and the post is not between these two points. Two ways of 0.3 ohm
            // beside each other make 0.15.
            brings: Brings::Value(|t| hidden_from(t, "BODYR", 0.15)),
        },
        Trap {
            seed: SEED,
            mistake: "a body ground that its strap stands in for hides from everybody",
            fault: fault("corroded-ground", "G1", "0.3 ohm"),
            script: &[PUMP_ON, "volts X7.2 B-"],
            // The current goes round by strap, engine and their cables, of some milliohms: no 0.3 V for each ampere, but a
            // fiftieth of that at most.
            brings: Brings::Value(|t| {
                assert!(t.pumping.lost("BODYR", "B-") < 0.006 * t.pumping.amps());
                drop(t.pumping.lost("X7.2", "B-"))
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the body as reference hides a bad battery clamp",
            fault: fault("corroded-clamp", "CLN", "0.3 ohm"),
            script: &[PUMP_ON, "volts X7.2 BODYR"],
            brings: Brings::Value(|t| hidden_from(t, "BODYR", 0.3)),
        },
        Trap {
            seed: SEED,
            mistake: "the cable side of a clamp is not the post",
            fault: fault("corroded-clamp", "CLN", "0.3 ohm"),
            script: &[PUMP_ON, "volts X7.2 B-c"],
            brings: Brings::Value(|t| hidden_from(t, "B-c", 0.3)),
        },
        Trap {
            seed: SEED,
            mistake: "the black tip on painted metal: both inputs hang on the red point",
            fault: String::new(),
            script: &[PUMP_ON, "volts X7.1 SILL"],
            brings: Brings::Value(|_| (0.0, 0.003)),
        },
        Trap {
            seed: SEED,
            mistake: "the prime was over before the reading",
            fault: String::new(),
            script: &["key on", "volts X7.1 B-"],
            // The relay is out; the pump's own winding ties the feed to ground.
            brings: Brings::Value(|_| (0.0, 0.003)),
        },
        Trap {
            seed: SEED,
            mistake: "red and black reversed show the sign",
            fault: String::new(),
            script: &["volts B- B+"],
            brings: Brings::Value(|t| volts(-t.off.posts())),
        },
        Trap {
            seed: SEED,
            mistake: "the lead's own drop is subtracted, though 20 m of 0.5 mm2 carry a microampere",
            fault: ground("0.5 ohm"),
            script: &[PUMP_ON, "leads extension 20 m 0.5 mm2", "volts X7.2 B-"],
            // 20 x 37.1 mohm (ISO 6722) in series with 10 Mohm take 0.0000074 % of it.
            // What the learner takes off is what the same wire would drop at the pump's current: more than is there.
            brings: Brings::Value(|t| {
                let there = t.pumping.lost("X7.2", "B-");
                assert!(0.742 * t.pumping.amps() > there, "{there}");
                warm(t, there * INPUT / (INPUT + 0.742))
            }),
        },
        Trap {
            seed: SEED,
            mistake: "10 Mohm show the battery behind a kilohm",
            fault: bad_feed("1000 ohm"),
            script: &["unplug X7", PUMP_ON, "volts X7.1 B-"],
            brings: Brings::Value(|t| volts(t.on.posts() * INPUT / (INPUT + 1e3))),
        },
        Trap {
            seed: SEED,
            mistake: "3 kohm show three quarters of it",
            fault: bad_feed("1000 ohm"),
            script: &["unplug X7", PUMP_ON, "lowz X7.1 B-"],
            brings: Brings::Value(|t| {
                let wanted = t.on.posts() * LOW_INPUT / (LOW_INPUT + 1e3);
                // 1 % and 3 counts, and half a count.
                (wanted, 0.01 * wanted + 0.035)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "a wire that hangs free shows ghost volts",
            fault: String::new(),
            script: &["unplug K1", "unplug X7", "volts X7.1 B-"],
            // A divider of the insulation's 15 to 60 Mohm and the meter's 10: 0.4 to 0.143 of the battery.
            brings: Brings::Value(|t| {
                let [most, least] = [15e6, 60e6].map(|ohms| t.off.posts() * INPUT / (INPUT + ohms));
                (0.5 * (most + least), 0.5 * (most - least) + 0.05)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the low-impedance function takes ghost volts away",
            fault: String::new(),
            script: &["unplug K1", "unplug X7", "lowz X7.1 B-"],
            brings: Brings::Value(|t| (t.off.posts() * LOW_INPUT / (LOW_INPUT + 30e6), 0.005)),
        },
        Trap {
            seed: SEED,
            mistake: "without a battery there is no ghost to learn from",
            fault: String::new(),
            script: &["unplug K1", "unplug X7", "isolate", "volts X7.1 BODYR"],
            brings: Brings::Value(|_| (0.0, 0.003)),
        },
        Trap {
            seed: SEED,
            mistake: "a coarse range swallows a small drop",
            fault: ground("0.02 ohm"),
            script: &[PUMP_ON, "range 600 V", "volts X7.2 B-"],
            // One count is 0.1 V: 0.1 V of drop is one count, give or take two.
            brings: Brings::Value(|t| (t.pumping.lost("X7.2", "B-"), 0.25)),
        },
        Trap {
            seed: SEED,
            mistake: "a range kept too low overloads",
            fault: String::new(),
            script: &["range 6 V", "volts B+ B-"],
            brings: Brings::Overload,
        },
        Trap {
            seed: SEED,
            mistake: "a battery with a bad inside reads well at rest",
            fault: fault("tired-battery", "BAT", "0.1 ohm"),
            script: &["volts B+ B-"],
            // Open-circuit volts have no current to be lost by; the pump's own would lose 0.1 ohm of it.
            brings: Brings::Value(|t| {
                assert!(t.off.posts() - t.pumping.posts() > 0.08 * t.pumping.amps());
                volts(t.off.posts())
            }),
        },
        Trap {
            seed: SEED,
            mistake: "a recording of one value a second has no start surge in it",
            fault: ground("0.15 ohm"),
            script: &["volts X7.2 B-", "record on 1 s", "key on"],
            // The surge lasts hundredths of a second (rotor inertia over Ke2/R): of a second's mean it is a few per cent, and
            // as much is missing while the pressure still rises.
            brings: Brings::Highest(|t| {
                let running = t.pumping.lost("X7.2", "B-");
                (running, 0.05 * running + 0.0055)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the same at 5 ms: what is lost as the motor starts, not as it runs",
            fault: ground("0.15 ohm"),
            script: &["volts X7.2 B-", "record on", "key on"],
            // At rest a motor has no back-EMF: I = (V - brushes)/(winding + loop) against I = load torque/Kt. Within the first
            // 5 ms the current comes up with L/R and falls with J R/Ke2, of which their mean loses the one's share and half
            // the other's.
            brings: Brings::Highest(|t| {
                let loss = t.pumping.lost("X7.2", "B-") / t.pumping.amps();
                let ohms = 0.65 + 0.15 + 0.12;
                let (comes_up, falls) = (0.3e-3 / ohms, 5e-6 * ohms / (14.5e-3 * 14.5e-3));
                let share = 1.0 - comes_up / 5e-3 - 0.5 * 5e-3 / falls;
                let wanted = loss * share * (t.on.posts() - 0.4) / ohms;
                // The winding's and the loop's own spread, a tenth.
                (wanted, 0.1 * wanted)
            }),
        },
    ]
}
