//! What happened in a bay, with what only the bay knew at the time. Marks are made from this and nothing else.

use super::action::{Action, Cited, Target, Verdict};
use crate::circuit::NodeId;
use crate::fault::Remedy;
use crate::instrument::{Function, Reading};
use crate::rig::Symptom;
use crate::units::Money;
use crate::vehicle::{PartId, Section};

/// One accepted action.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// Its number, from 1.
    pub number: u32,
    /// What was done.
    pub action: Action,
    /// What it showed.
    pub readings: Vec<Reading>,
    /// What was seen, heard or done, a sentence each.
    pub said: Vec<String>,
    /// Clock after it, s.
    pub clock_s: f64,
    /// Money spent after it.
    pub spent: Money,
    /// What the bay knew about it.
    pub facts: Vec<Fact>,
}

/// Something the bay knew about an action.
#[derive(Clone, PartialEq, Debug)]
pub enum Fact {
    /// An electrical reading was taken.
    Measured(Measurement),
    /// A section was judged.
    Called(Call),
    /// Somebody was put in danger.
    Hazard(Hazard),
    /// A part was repaired or replaced.
    Remedied {
        /// What was worked on.
        target: Target,
        /// How.
        remedy: Remedy,
        /// Whether that cured something the vehicle came with.
        cured: bool,
        /// It only made good what the work itself had broken, pierced or scraped.
        own: bool,
        /// It was a fuse that had opened.
        blown: bool,
        /// What it cost in parts and material.
        price: Money,
    },
    /// Something was seen that a reading cannot hold: a lamp, what was in a glass.
    Seen {
        /// What.
        what: String,
        /// How it was come by.
        how: String,
    },
    /// Work that may bring the vehicle back: a pierced wire, a scraped spot.
    Comeback {
        /// The part.
        part: PartId,
        /// What was done to it.
        what: String,
    },
    /// Something was broken by the work itself.
    Damaged {
        /// The part.
        part: PartId,
        /// How.
        what: String,
    },
    /// Fuel was filled in.
    Filled {
        /// What was wrong with what was in the tank no longer is.
        cured: bool,
    },
    /// The vehicle was driven.
    Drove {
        /// What the driver noticed.
        symptoms: Vec<Symptom>,
    },
    /// The vehicle was given back.
    HandedBack {
        /// What its driver will notice.
        symptoms: Vec<Symptom>,
        /// Hidden faults that are still there.
        faults_left: usize,
        /// Fuses that have opened.
        blown: Vec<PartId>,
    },
}

/// How an electrical reading came about.
#[derive(Clone, PartialEq, Debug)]
pub struct Measurement {
    /// Meter function.
    pub function: Function,
    /// Where the red tip was.
    pub red: NodeId,
    /// Where the black tip was.
    pub black: NodeId,
    /// What was shown, V or ohm; nothing on overload.
    pub value: Option<f64>,
    /// Pump current at that moment, A.
    pub pump_amps: f64,
    /// Both contacts had shown in this placement that they touch.
    pub proved: bool,
    /// Resistance of both leads, their extensions included, tips not, ohm.
    pub lead_ohms: f64,
    /// What a wire table gives for the wire added to the leads, ohm.
    pub added_ohms: f64,
    /// Volts stood across the points without the meter (for functions that send a current).
    pub live: bool,
    /// The ohms function had been zeroed with these leads.
    pub zeroed: bool,
}

/// A judgement with what it relied on.
#[derive(Clone, PartialEq, Debug)]
pub struct Call {
    /// Section judged.
    pub section: Section,
    /// Judgement.
    pub verdict: Verdict,
    /// The reading cited.
    pub cites: Option<Cited>,
    /// Number of the action whose reading was cited, if it can be told.
    pub relies_on: Option<u32>,
    /// The cited value is the reading less this, which is about what the leads, or the wire added to them, would drop at
    /// pump current, V.
    pub imagined_drop_v: Option<f64>,
    /// Whether a fault lay in the section then.
    pub was_bad: bool,
}

/// How grave a danger was.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Grade {
    /// Careless.
    Minor,
    /// Could have hurt somebody.
    Serious,
    /// Could have killed somebody.
    Grave,
}

/// A danger somebody was put in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hazard {
    /// How grave.
    pub grade: Grade,
    /// What it was, one sentence.
    pub what: String,
}
