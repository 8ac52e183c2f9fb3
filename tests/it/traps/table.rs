//! The known mistakes as a table: what is wrong with the vehicle, the lines that walk into it, and the sum that gives
//! the reading which comes out. A sum knows the ohms of the vehicle's parts and the currents in them while no instrument is
//! connected; Ohm's and Kirchhoff's laws make volts of these, and add what the instrument does.

use super::bench::{Job, SEED, Truth, bad_feed, fault, fault_at};
use hidden_ohm::instrument::{LeadSet, Manner, grip_ohms};
use hidden_ohm::pump::FILM_AMPS;
use hidden_ohm::vehicle::{Key, Tip};

/// Input of the volts function, ohm (makers' user manuals: at least 10 Mohm), and of the low-impedance one (about
/// 3 kohm, the same manuals).
const INPUT: f64 = 10e6;
const LOW_INPUT: f64 = 3e3;
/// The ohms function on its second range: 2.5 V behind 16 kohm (open below 2.7 V: a maker's manual).
const OHMS_SOURCE: (f64, f64) = (2.5, 16e3);

/// The vehicle with no instrument on it, in the states the rows need.
struct Truths {
    off: Truth,
    on: Truth,
    pumping: Truth,
}

/// What the last line of a script must bring.
enum Brings {
    /// A first reading of this value, within this much.
    Value(fn(&Truths) -> (f64, f64)),
    /// A first reading of this size, whichever its sign.
    Size(fn(&Truths) -> (f64, f64)),
    /// The same of the third reading: the highest of a recording.
    Highest(fn(&Truths) -> (f64, f64)),
    /// An overload.
    Overload,
    /// These words.
    Says(&'static str),
}

struct Trap {
    mistake: &'static str,
    seed: u32,
    fault: String,
    script: &'static [&'static str],
    brings: Brings,
}

/// The pump running by service tool, settled.
const PUMP_ON: &str = "PUMP ON";

/// 0.5 % and 2 counts of the 6 V or the 60 V range, and what a battery on load and a warm joint move by meanwhile.
fn volts(wanted: f64) -> (f64, f64) {
    let step = if wanted.abs() < 6.0 { 0.001 } else { 0.01 };
    (wanted, 0.005 * wanted.abs() + 2.5 * step + 0.03)
}

/// A hot joint loses a few per cent more or less between one minute and another.
fn warm(wanted: f64) -> (f64, f64) {
    (wanted, 0.05 * wanted.abs() + 0.03)
}

/// The drop at the pump's ground pin seen from a point short of the post, with this much resistance beyond it.
fn hidden_from(t: &Truths, black: &str, ohms: f64) -> (f64, f64) {
    let hidden = t.pumping.lost(black, "B-");
    let wanted = ohms * t.pumping.amps();
    assert!(hidden > 0.95 * wanted, "{hidden} V of {wanted} are hidden");
    volts(t.pumping.lost("X7.2", black))
}

/// The first seed whose first back-probe on the pump's ground pin lies as wanted, while its second and the clips lie well.
fn back_probe(wanted: impl Fn(f64) -> bool) -> u32 {
    let ohms = |seed: u32, point, placement, tip| {
        grip_ohms(u64::from(seed), point, placement, Manner::Plain(tip)).ohms
    };
    (0..10_000)
        .find(|&seed| {
            wanted(ohms(seed, "X7.2", 1, Tip::BackProbe))
                && ohms(seed, "X7.2", 2, Tip::BackProbe) < 1.0
                && ["B-", "B+"]
                    .iter()
                    .all(|post| ohms(seed, post, 1, Tip::Clip) < 1.0)
        })
        .expect("eight placements in a hundred lie badly")
}

fn leads() -> f64 {
    let leads = LeadSet::standard(u64::from(SEED));
    leads.red.ohms + leads.black.ohms
}

fn tip_rows() -> Vec<Trap> {
    let ground = || fault("corroded-ground", "G4", "0.5 ohm");
    let open = back_probe(f64::is_infinite);
    let filmed = back_probe(|ohms| (1e6..20e6).contains(&ohms));
    vec![
        Trap {
            seed: open,
            mistake: "a back-probe that touches nothing reads a perfect ground behind half an ohm",
            fault: ground(),
            script: &[PUMP_ON, "volts X7.2 B-"],
            // No way in: both inputs hang on the black tip. Half an ohm at the pump's current would be over a volt.
            brings: Brings::Value(|t| {
                assert!(t.pumping.lost("X7.2", "B-") > 1.0);
                (0.0, 0.003)
            }),
        },
        Trap {
            seed: open,
            mistake: "against the other post the same tip gives itself away",
            fault: ground(),
            script: &[PUMP_ON, "volts X7.2 B-", "volts X7.2 B+"],
            // One that touches would show what is lost on the ground side less the battery: ten volts and more.
            brings: Brings::Value(|t| {
                assert!(t.pumping.posts() - t.pumping.lost("X7.2", "B-") > 10.0);
                (0.0, 0.003)
            }),
        },
        Trap {
            seed: open,
            mistake: "placed anew it reads what is there",
            fault: ground(),
            script: &[PUMP_ON, "volts X7.2 B-", "tip red"],
            brings: Brings::Value(|t| warm(t.pumping.lost("X7.2", "B-"))),
        },
        Trap {
            seed: filmed,
            mistake: "a tip on a film makes the drop smaller, never larger",
            fault: ground(),
            script: &[PUMP_ON, "volts X7.2 B-"],
            // Loading error -100 Rs/(Rs + Ri) (Keysight 34970A user's guide), with the film for Rs.
            brings: Brings::Value(|t| {
                let film = grip_ohms(
                    u64::from(back_probe(|ohms| (1e6..20e6).contains(&ohms))),
                    "X7.2",
                    1,
                    Manner::Plain(Tip::BackProbe),
                );
                warm(t.pumping.lost("X7.2", "B-") * INPUT / (INPUT + film.ohms))
            }),
        },
    ]
}

#[expect(
    clippy::too_many_lines,
    reason = "a table, whose rows are read one by one"
)]
fn volts_rows() -> Vec<Trap> {
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
                volts(t.pumping.posts() - lost)
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
                volts(t.pumping.lost("X7.2", "B-"))
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
                warm(there * INPUT / (INPUT + 0.742))
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
                (wanted, 0.01 * wanted + 0.03 + 0.05)
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
            // The surge lasts hundredths of a second (rotor inertia over Ke2/R): of a second's mean it is a few per cent.
            brings: Brings::Highest(|t| {
                let running = t.pumping.lost("X7.2", "B-");
                (1.06 * running, 0.09 * running)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the same at 5 ms: what is lost as the motor starts, not as it runs",
            fault: ground("0.15 ohm"),
            script: &["volts X7.2 B-", "record on", "key on"],
            // At rest a motor has no back-EMF: I = (V - brushes)/(winding + loop) against I = load torque/Kt.
            brings: Brings::Highest(|t| {
                let loss = t.pumping.lost("X7.2", "B-") / t.pumping.amps();
                let stalled = (12.5 - 0.4) / (0.65 + 0.15 + 0.12);
                (loss * stalled, 0.35 * loss * stalled)
            }),
        },
    ]
}

fn ohms_rows() -> Vec<Trap> {
    vec![
        Trap {
            seed: SEED,
            mistake: "ohms on a live circuit take the circuit's volts for their own",
            fault: fault("corroded-ground", "G4", "0.1 ohm"),
            script: &[PUMP_ON, "ohms X7.2 BODYR"],
            // The divider turned round: R = Rs V/(2.5 - V), thousands of ohms for a tenth of one.
            brings: Brings::Value(|t| {
                let drop = t.pumping.lost("X7.2", "BODYR");
                let wanted = OHMS_SOURCE.1 * drop / (OHMS_SOURCE.0 - drop);
                (wanted, 0.08 * wanted)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the same with the tips the other way round: ohms below nothing",
            fault: fault("corroded-ground", "G4", "0.1 ohm"),
            script: &[PUMP_ON, "ohms BODYR X7.2"],
            brings: Brings::Value(|t| {
                let drop = t.pumping.lost("BODYR", "X7.2");
                let wanted = OHMS_SOURCE.1 * drop / (OHMS_SOURCE.0 - drop);
                (wanted, 0.08 * wanted.abs())
            }),
        },
        Trap {
            seed: SEED,
            mistake: "the ohms of a pump at rest are not what it takes as it runs",
            fault: String::new(),
            script: &["leads standard", "zero", "unplug X7", "ohms X7.1t X7.2t"],
            // Winding 0.55 and brushes 0.1 ohm by the vehicle file, a tenth either way, 60 mohm of wires and pins, and the film under
            // brushes that stand: their 0.4 V fall over it at 0.1 A and in proportion below. Running, V/I holds the back-EMF.
            brings: Brings::Value(|t| {
                let volts =
                    t.pumping.posts() - t.pumping.lost("B+", "X7.1") - t.pumping.lost("X7.2", "B-");
                assert!(volts / t.pumping.amps() > 2.5 * 0.65);
                (0.65 + 0.4 / FILM_AMPS + 0.03, 0.065 + 0.4 + 0.03 + 0.26)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "ohms across a battery: 12 V are beyond the function's own 2.5",
            fault: String::new(),
            script: &["ohms B+ B-"],
            brings: Brings::Overload,
        },
        Trap {
            seed: SEED,
            mistake: "an unzeroed meter measures its leads instead of the strap",
            fault: String::new(),
            script: &["leads standard", "ohms BODY ENG"],
            // A pair of leads is 0.2 to 0.5 ohm (a maker's measurement primer), the strap below a milliohm: 0.9 % + 2
            // counts, half a count, and up to 30 mohm a tip.
            brings: Brings::Value(|_| (leads(), 0.009 * leads() + 0.25 + 0.06)),
        },
        Trap {
            seed: SEED,
            mistake: "a zero taken with one set of leads is not worth anything with another",
            fault: String::new(),
            script: &[
                "leads standard",
                "zero",
                "leads extension 20 m 0.5 mm2",
                "ohms BODY ENG",
            ],
            // 20 x 37.1 mohm (ISO 6722) and a joint of 10 mohm, on leads that nobody has taken off.
            brings: Brings::Value(|_| {
                let wanted = leads() + 0.742 + 0.01;
                (wanted, 0.009 * wanted + 0.25 + 0.06)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "5 ohm of corrosion on a strap measure as nothing beside two battery cables",
            fault: fault("corroded-ground", "G3", "5 ohm"),
            script: &["leads standard", "zero", "ohms BODY ENG"],
            brings: Brings::Value(|_| (0.0, 0.25)),
        },
        Trap {
            seed: SEED,
            mistake: "a feed that is open but for a kilohm is found, through the pump that bridges it",
            fault: bad_feed("1000 ohm"),
            script: &["unplug K1", "ohms K1.87 G4"],
            brings: Brings::Value(|_| (1000.0, 0.009 * 1000.0 + 5.0)),
        },
        Trap {
            seed: SEED,
            mistake: "continuity through the pump's own winding is no short to body",
            fault: String::new(),
            script: &["unplug K1", "continuity K1.87 G4"],
            brings: Brings::Says("buzzes"),
        },
        Trap {
            seed: SEED,
            mistake: "continuity passes a feed of two strands",
            fault: fault("chafed-strands", "W12", "0.01 m"),
            script: &["unplug X2", "unplug X7", "continuity X2.1r X7.1"],
            brings: Brings::Says("buzzes"),
        },
    ]
}

fn current_rows() -> Vec<Trap> {
    vec![
        Trap {
            seed: SEED,
            mistake: "the lamp stays dark on a kilohm while a meter shows the battery",
            fault: bad_feed("1000 ohm"),
            script: &["unplug X7", PUMP_ON, "lamp X7.1 G4"],
            // Cold, 5 W at 12 V are 2.9 ohm: 12.6 V x 2.9/1003 leave it 0.04 V.
            brings: Brings::Says("stays dark"),
        },
        Trap {
            seed: SEED,
            mistake: "a clamp that was not zeroed shows a current that is not there",
            fault: String::new(),
            script: &["clamp W10"],
            // Key off: I = 0. What it shows is its zero, 0.15 to 0.6 A either way, and 0.02 A of how it hangs.
            brings: Brings::Size(|_| (0.375, 0.225 + 0.025)),
        },
        Trap {
            seed: SEED,
            mistake: "zeroed it shows none",
            fault: String::new(),
            script: &["clamp zero", "clamp W10"],
            // 0.02 A of zero, 0.02 A of how it hangs, half a step.
            brings: Brings::Value(|_| (0.0, 0.045)),
        },
        Trap {
            seed: SEED,
            mistake: "millivolts across a fuse tell its current, by a resistance that nobody has measured",
            fault: String::new(),
            script: &[PUMP_ON, "leads standard", "millivolts F12.1 F12.2"],
            // V = I x 3.4 mohm of a cold 20 A blade fuse (a maker's data sheet, from memory), sold within 7 % of it.
            brings: Brings::Value(|t| {
                let wanted = t.pumping.amps() * 3.4e-3;
                (wanted, 0.12 * wanted)
            }),
        },
        Trap {
            seed: SEED,
            mistake: "a lamp passes a feed on which the pump's current would lose a third of the battery",
            fault: bad_feed("1 ohm"),
            script: &["unplug X7", PUMP_ON, "lamp X7.1 G4"],
            // 5 W at 12 V are 0.42 A: 1 ohm takes 0.42 V from the lamp, and 4 V and more from a pump.
            brings: Brings::Says("lights fully"),
        },
        Trap {
            seed: SEED,
            mistake: "an ammeter in line brings its leads along, and reads less than flowed without it",
            fault: String::new(),
            script: &["leads standard", "unplug F12", PUMP_ON, "amps F12.1 F12.2"],
            // Burden: 0.03 V/A of shunt and fuse (a maker's manual, from memory) and the leads, less the fuse's 3.4 mohm. Of
            // its dynamic resistance dV/dI a pump on a regulated line has over 2 ohm, so that I falls by at most half of
            // burden/V, and not at all if its torque stays.
            brings: Brings::Value(|t| {
                let amps = t.pumping.amps();
                let burden = amps * (0.03 + leads() - 0.0034);
                let least = amps * (1.0 - burden / t.pumping.posts()) - 0.01 * amps - 0.003;
                let most = amps * 1.01 + 0.003;
                (0.5 * (least + most), 0.5 * (most - least))
            }),
        },
        Trap {
            seed: SEED,
            mistake: "battery volts before a blown fuse say nothing of what is behind it",
            fault: fault("blown-fuse", "F12", ""),
            script: &[PUMP_ON, "volts F12.1 B-"],
            brings: Brings::Value(|t| {
                assert!(t.pumping.amps() == 0.0);
                volts(t.on.posts() - t.on.lost("B+", "FB.2"))
            }),
        },
        Trap {
            seed: SEED,
            mistake: "and across it stands the battery, through the pump at rest",
            fault: fault("blown-fuse", "F12", ""),
            script: &[PUMP_ON, "volts F12.1 F12.2"],
            // 12 V over 10 Mohm are a microampere, which loses nothing in a pump of less than an ohm.
            brings: Brings::Value(|t| {
                volts((t.on.posts() - t.on.lost("B+", "FB.2")) * INPUT / (INPUT + 0.8))
            }),
        },
        Trap {
            seed: SEED,
            mistake: "amps across a source: the meter's fuse is gone, and the display shows peace",
            fault: String::new(),
            script: &["amps B+ B-"],
            brings: Brings::Value(|_| (0.0, 0.003)),
        },
        Trap {
            seed: SEED,
            mistake: "a jumper at the relay socket hides the relay's contacts",
            fault: fault_at("burnt-relay-contacts", "K1", "contact", "1 ohm"),
            script: &["unplug K1", "jumper K1.30 K1.87", "volts K1.30 K1.87"],
            // 1 m of 1.5 mm2 at 12.7 mohm (ISO 6722), clips and fuse 12 mohm, at the 4 to 5 A of a pump without 1 ohm.
            brings: Brings::Value(|_| (0.0247 * 4.4, 0.04)),
        },
    ]
}

fn walk(trap: &Trap) -> Result<(), String> {
    let mut job = Job::seeded(trap.seed, "50 %", &trap.fault);
    job.open_up();
    let truths = Truths {
        off: job.truth_at(Key::Off, false),
        on: job.truth_at(Key::On, false),
        pumping: job.truth(),
    };
    let (last, before) = trap.script.split_last().expect("a script has lines");
    let mut do_it = |line: &str| match line {
        PUMP_ON => {
            job.pump_on();
            None
        }
        line => Some(job.run(line).outcome),
    };
    for line in before {
        do_it(line);
    }
    let outcome = do_it(last).expect("the last line answers");
    let reading = |index: usize| {
        outcome
            .readings
            .get(index)
            .ok_or_else(|| format!("no reading {index}: {:?}", outcome.said))
    };
    let within = |index: usize, (wanted, error): (f64, f64)| -> Result<(), String> {
        let value = reading(index)?.value.ok_or("an overload")?;
        if (value - wanted).abs() <= error {
            return Ok(());
        }
        Err(format!("read {value}, worked out {wanted} within {error}"))
    };
    match trap.brings {
        Brings::Value(sum) => within(0, sum(&truths)),
        Brings::Size(sum) => {
            let (wanted, error) = sum(&truths);
            let value = reading(0)?.value.ok_or("an overload")?;
            if (value.abs() - wanted).abs() <= error {
                return Ok(());
            }
            Err(format!(
                "read {value}, worked out {wanted} within {error} either way"
            ))
        }
        Brings::Highest(sum) => within(2, sum(&truths)),
        Brings::Overload if reading(0)?.shown == "OL" => Ok(()),
        Brings::Overload => Err(format!("shown {}", reading(0)?.shown)),
        Brings::Says(words) => {
            let said = outcome.said.join(" ");
            if said.contains(words) {
                Ok(())
            } else {
                Err(format!("said {said}"))
            }
        }
    }
}

#[test]
fn every_known_mistake_gives_the_reading_that_its_sum_gives() {
    let traps: Vec<Trap> = [tip_rows(), volts_rows(), ohms_rows(), current_rows()]
        .into_iter()
        .flatten()
        .collect();
    assert!(traps.len() >= 25, "{} rows", traps.len());
    let wrong: Vec<String> = traps
        .iter()
        .filter_map(|trap| Some(format!("{}: {}", trap.mistake, walk(trap).err()?)))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
