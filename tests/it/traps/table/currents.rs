//! Current, what carries it and what it lights.

use super::{Brings, INPUT, PUMP_ON, Trap, drop, leads, nothing, trap, volts};
use crate::traps::bench::{bad_feed, fault, fault_at};

/// How far a clamp's zero may have wandered this long after it was set, A: 0.05 A with a time constant of a quarter of an hour
/// (docs/instruments.md).
fn wandered(seconds: f64) -> f64 {
    0.05 * (1.0 - libm::exp(-seconds / 900.0))
}

pub fn rows() -> Vec<Trap> {
    vec![
        trap(
            "the lamp stays dark on a kilohm while a meter shows the battery",
            bad_feed("1000 ohm"),
            &["unplug X7", PUMP_ON, "lamp X7.1 G4"],
            // Cold, 5 W at 12 V are 2.9 ohm: 12.6 V x 2.9/1003 leave it 0.04 V.
            Brings::Says("stays dark"),
        ),
        trap(
            "a clamp that was not zeroed shows a current that is not there",
            "",
            &["clamp W10"],
            // Key off: I = 0. What it shows is its zero, 0.15 to 0.6 A either way, and 0.02 A of how it hangs.
            Brings::Size(|_| (0.375, 0.225 + 0.025)),
        ),
        trap(
            "zeroed it shows none",
            "",
            &["clamp zero", "clamp W10"],
            // 0.02 A of zero, 0.02 A of how it hangs, half a step; half a minute's share of 0.05 A that it wanders by.
            Brings::Value(|_| (0.0, 0.045 + wandered(30.0))),
        ),
        trap(
            "zeroed an hour ago it shows some again",
            "",
            &["clamp zero", "wait 60 min", "clamp W10"],
            Brings::Value(|_| (0.0, 0.045 + wandered(3630.0))),
        ),
        trap(
            "millivolts across a fuse tell its current, by a resistance that nobody has measured",
            "",
            &[PUMP_ON, "leads standard", "millivolts F12.1 F12.2"],
            // V = I x 3.4 mohm of a cold 20 A blade fuse (a maker's data sheet, from memory), sold within 7 % of it, and half as
            // much again at 20 A (check values of the field), in proportion to the heat I2. 0.5 % and 3 counts of 0.1 mV.
            Brings::Value(|t| {
                let amps = t.pumping.amps();
                let warm = 1.0 + 0.5 * (amps / 20.0) * (amps / 20.0);
                let wanted = amps * 3.4e-3 * warm;
                (wanted, 0.075 * wanted + 0.35e-3)
            }),
        ),
        trap(
            "a lamp passes a feed on which the pump's current would lose a third of the battery",
            bad_feed("1 ohm"),
            &["unplug X7", PUMP_ON, "lamp X7.1 G4"],
            // 5 W at 12 V are 0.42 A: 1 ohm takes 0.42 V from the lamp, and 4 V and more from a pump.
            Brings::Says("lights fully"),
        ),
        trap(
            "an ammeter in line brings its leads along, and reads less than flowed without it",
            "",
            &["leads standard", "unplug F12", PUMP_ON, "amps F12.1 F12.2"],
            // Burden: 0.03 ohm of shunt and fuse (`meter-amps-burden` of the sheet) and the leads, less the fuse's 3.4 mohm. Of
            // its dynamic resistance dV/dI a pump on a regulated line has over 2 ohm, so that I falls by at most half of
            // burden/V, and not at all if its torque stays.
            Brings::Value(|t| {
                let amps = t.pumping.amps();
                let burden = amps * (0.03 + leads() - 0.0034);
                let least = amps * (1.0 - burden / t.pumping.posts()) - 0.01 * amps - 0.003;
                let most = amps * 1.01 + 0.003;
                (0.5 * (least + most), 0.5 * (most - least))
            }),
        ),
        trap(
            "battery volts before a blown fuse say nothing of what is behind it",
            fault("blown-fuse", "F12", ""),
            &[PUMP_ON, "volts F12.1 B-"],
            Brings::Value(|t| {
                assert!(t.pumping.amps() == 0.0);
                volts(t.on.posts() - t.on.lost("B+", "FB.2"))
            }),
        ),
        trap(
            "and across it stands the battery, through the pump at rest",
            fault("blown-fuse", "F12", ""),
            &[PUMP_ON, "volts F12.1 F12.2"],
            // 12 V over 10 Mohm are a microampere, which loses nothing in a pump of less than an ohm.
            Brings::Value(|t| {
                volts((t.on.posts() - t.on.lost("B+", "FB.2")) * INPUT / (INPUT + 0.8))
            }),
        ),
        trap(
            "amps across a source: the meter's fuse is gone, and the display shows peace",
            "",
            &["amps B+ B-"],
            Brings::Value(nothing),
        ),
        trap(
            "a jumper at the relay socket hides the relay's contacts",
            fault_at("burnt-relay-contacts", "K1", "contact", "1 ohm"),
            &["unplug K1", "jumper K1.30 K1.87", "volts K1.30 K1.87"],
            // 1 m of 1.5 mm2 at 12.7 mohm (ISO 6722), clips and fuse 12 mohm, at the current of a pump without 1 ohm.
            Brings::Value(|t| drop(0.0247 * t.sound.amps())),
        ),
    ]
}
