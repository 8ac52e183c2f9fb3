//! Ohms and continuity.

use super::{Brings, PUMP_ON, Trap, leads, trap};
use crate::traps::bench::{bad_feed, fault};
use hidden_ohm::pump::FILM_AMPS;

/// The ohms function on its second range: 2.5 V behind 16 kohm (open below 2.7 V: a maker's manual).
const OHMS_SOURCE: (f64, f64) = (2.5, 16e3);

/// What the circuit's own volts look like in ohms, the divider turned round: R = Rs V/(2.5 - V), thousands of ohms for a
/// tenth of one. 0.9 % and 2 counts, and 2 % that the drop drifts by.
fn live(drop: f64) -> (f64, f64) {
    let (source_v, source_ohms) = OHMS_SOURCE;
    let wanted = source_ohms * drop / (source_v - drop);
    (wanted, 0.03 * wanted.abs() + 2.5)
}

pub fn rows() -> Vec<Trap> {
    vec![
        trap(
            "ohms on a live circuit take the circuit's volts for their own",
            fault("corroded-ground", "G4", "0.1 ohm"),
            &[PUMP_ON, "ohms X7.2 BODYR"],
            Brings::Value(|t| live(t.pumping.lost("X7.2", "BODYR"))),
        ),
        trap(
            "the same with the tips the other way round: ohms below nothing",
            fault("corroded-ground", "G4", "0.1 ohm"),
            &[PUMP_ON, "ohms BODYR X7.2"],
            Brings::Value(|t| live(t.pumping.lost("BODYR", "X7.2"))),
        ),
        trap(
            "the ohms of a pump at rest are not what it takes as it runs",
            "",
            &["leads standard", "zero", "unplug X7", "ohms X7.1t X7.2t"],
            // Winding and brushes, 60 mohm of wires and pins, and the film under brushes that stand: their 0.4 V fall over it at
            // 0.1 A and in proportion below. Running, V/I holds the back-EMF. 0.9 %, the noise of this reading and of the zero,
            // a step of each, and up to 30 mohm a tip.
            Brings::Value(|t| {
                let volts =
                    t.pumping.posts() - t.pumping.lost("B+", "X7.1") - t.pumping.lost("X7.2", "B-");
                assert!(volts / t.pumping.amps() > 2.5 * 0.65);
                let wanted = t.pumping.ohms("M.1", "PUMP.emf") + 0.4 / FILM_AMPS + 0.06;
                (wanted, 0.009 * wanted + 0.1 + 0.1 + 0.06)
            }),
        ),
        trap(
            "ohms across a battery: 12 V are beyond the function's own 2.5",
            "",
            &["ohms B+ B-"],
            Brings::Overload,
        ),
        trap(
            "an unzeroed meter measures its leads instead of the strap",
            "",
            &["leads standard", "ohms BODY ENG"],
            // A pair of leads is 0.2 to 0.5 ohm (a maker's measurement primer), the strap below a milliohm: 0.9 % + 2
            // counts, half a count, and up to 30 mohm a tip.
            Brings::Value(|_| (leads() + 0.03, 0.009 * leads() + 0.25 + 0.03)),
        ),
        trap(
            "a zero taken with one set of leads is not worth anything with another",
            "",
            &[
                "leads standard",
                "zero",
                "leads extension 20 m 0.5 mm2",
                "ohms BODY ENG",
            ],
            // 20 x 37.1 mohm (ISO 6722) and a joint of 10 mohm, on leads that nobody has taken off.
            Brings::Value(|_| {
                let wanted = leads() + 0.742 + 0.01 + 0.03;
                (wanted, 0.009 * wanted + 0.25 + 0.03)
            }),
        ),
        trap(
            "5 ohm of corrosion on a strap measure as nothing beside two battery cables",
            fault("corroded-ground", "G3", "5 ohm"),
            &["leads standard", "zero", "ohms BODY ENG"],
            // Zeroed, the meter's own offset is gone: the noise of two readings and a step of each are left, and 30 mohm a tip.
            Brings::Value(|_| (0.0, 0.1 + 0.1 + 0.06)),
        ),
        trap(
            "a feed that is open but for a kilohm is found, through the pump that bridges it",
            bad_feed("1000 ohm"),
            &["unplug K1", "ohms K1.87 G4"],
            // A kilohm, the leads, and the pump at rest: its ohms and the film, 0.4 V at 0.1 A. 0.9 % and 2 counts.
            Brings::Value(|_| {
                let wanted = 1000.0 + 0.65 + 0.4 / FILM_AMPS + leads();
                (wanted, 0.009 * wanted + 2.5)
            }),
        ),
        trap(
            "continuity through the pump's own winding is no short to body",
            "",
            &["unplug K1", "continuity K1.87 G4"],
            Brings::Says("buzzes"),
        ),
        trap(
            "continuity passes a feed of two strands",
            fault("chafed-strands", "W12", "0.01 m"),
            &["unplug X2", "unplug X7", "continuity X2.1r X7.1"],
            Brings::Says("buzzes"),
        ),
    ]
}
