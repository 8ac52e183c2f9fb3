//! The known mistakes as a table: what is wrong with the vehicle, the lines that walk into it, and the sum that gives
//! the reading which comes out. A sum knows the ohms of the vehicle's parts and the currents in them while no instrument is
//! connected; Ohm's and Kirchhoff's laws make volts of these, and add what the instrument does.

mod currents;
mod ohms;
mod tips;
mod volts;

use super::bench::{Job, SEED, Truth};
use hidden_ohm::instrument::LeadSet;
use hidden_ohm::vehicle::Key;

/// Input of the volts function, ohm (makers' user manuals: at least 10 Mohm), and of the low-impedance one (about
/// 3 kohm, the same manuals).
const INPUT: f64 = 10e6;
const LOW_INPUT: f64 = 3e3;

/// The vehicle with no instrument on it, in the states the rows need.
struct Truths {
    off: Truth,
    on: Truth,
    pumping: Truth,
    /// The same with nothing wrong.
    sound: Truth,
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

/// A mistake made on the vehicle of most jobs: what is wrong with it, the lines that walk into it, what the last must bring.
fn trap(
    mistake: &'static str,
    fault: impl Into<String>,
    script: &'static [&'static str],
    brings: Brings,
) -> Trap {
    Trap {
        mistake,
        seed: SEED,
        fault: fault.into(),
        script,
        brings,
    }
}

impl Trap {
    /// The same on a vehicle of another seed.
    fn on(self, seed: u32) -> Trap {
        Trap { seed, ..self }
    }
}

/// The pump running by service tool, settled.
const PUMP_ON: &str = "PUMP ON";

/// Volts with nothing that drifts: 0.5 % and 2 counts of the 6 V or the 60 V range, and half a count of the sum's own.
fn volts(wanted: f64) -> (f64, f64) {
    let step = if wanted.abs() < 6.0 { 0.001 } else { 0.01 };
    (wanted, 0.005 * wanted.abs() + 2.5 * step)
}

/// No volts, or no current: two counts of the finest range and what noise rounds up.
fn nothing(_: &Truths) -> (f64, f64) {
    (0.0, 0.003)
}

/// Volts behind a pump that runs: a battery on load sags by some hundredths of a volt in a minute.
fn fed(wanted: f64) -> (f64, f64) {
    let (wanted, error) = volts(wanted);
    (wanted, error + 0.03)
}

/// A drop under the pump's current, which moves by a hundredth or two as winding and wires warm.
fn drop(wanted: f64) -> (f64, f64) {
    let (wanted, error) = volts(wanted);
    (wanted, error + 0.02 * wanted.abs())
}

/// The drop along a way on which a ground stud of half an ohm has carried the pump's current for up to a minute and a
/// half: R rises by 2/3 of copper's 0.00393/K, 4 K a watt and 90 s being the stud's own (docs/physics.md). The drop
/// rises with it at most, and not at all if the current falls as much.
fn warm(t: &Truths, wanted: f64) -> (f64, f64) {
    const STUD_OHMS: f64 = 0.5;
    let amps = t.pumping.amps();
    let rise_k = 4.0 * amps * amps * STUD_OHMS * (1.0 - libm::exp(-90.0 / 90.0));
    let gained = wanted * 0.00393 * 2.0 / 3.0 * rise_k;
    let (_, error) = volts(wanted);
    (wanted + 0.5 * gained, error + 0.5 * gained)
}

fn leads() -> f64 {
    let leads = LeadSet::standard(u64::from(SEED));
    leads.red.ohms + leads.black.ohms
}

fn walk(trap: &Trap) -> Result<(), String> {
    let mut job = Job::seeded(trap.seed, "50 %", &trap.fault);
    job.open_up();
    let truths = Truths {
        off: job.truth_at(Key::Off, false),
        on: job.truth_at(Key::On, false),
        pumping: job.truth(),
        sound: Job::seeded(trap.seed, "50 %", "").truth(),
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
    let value = |index: usize| {
        let value = reading(index)?.value;
        value.ok_or_else(|| "an overload".to_owned())
    };
    let near = |value: f64, (wanted, error): (f64, f64)| {
        if (value - wanted).abs() <= error {
            Ok(())
        } else {
            Err(format!("read {value}, worked out {wanted} within {error}"))
        }
    };
    match trap.brings {
        Brings::Value(sum) => near(value(0)?, sum(&truths)),
        Brings::Size(sum) => near(value(0)?.abs(), sum(&truths)),
        Brings::Highest(sum) => near(value(2)?, sum(&truths)),
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
    let traps: Vec<Trap> = [tips::rows(), volts::rows(), ohms::rows(), currents::rows()]
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
