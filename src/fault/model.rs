//! What a fault is.

use crate::vehicle::{ElementId, Kind, PartId, Section};

/// Index into [`Catalogue::kinds`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct KindId(pub usize);

/// All kinds of fault known to the program.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    /// The kinds, in file order.
    pub kinds: Vec<FaultKind>,
}

/// One kind of fault.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultKind {
    /// Short name, such as `corroded-ground`.
    pub id: String,
    /// The fault as told in a debrief, such as "corroded ground point".
    pub title: String,
    /// Kinds of part it can sit on.
    pub on: Vec<Kind>,
    /// Only elements with one of these legs; empty for any.
    pub legs: Vec<String>,
    /// Only in these sections; empty for any.
    pub sections: Vec<Section>,
    /// What it changes.
    pub effect: Effect,
    /// How bad it can be.
    pub severity: Severity,
    /// How common it is: weight of one site against those of other kinds.
    pub weight: u32,
    /// When it shows.
    pub activation: Activation,
    /// What can be seen, heard, felt or smelt.
    pub clues: Vec<Clue>,
    /// What cures it, beside replacing the part itself.
    pub cures: Vec<Cure>,
    /// One line of teaching for the debrief.
    pub teaching: String,
    /// Levels at which the generator may use it.
    pub levels: Vec<u8>,
}

/// What a fault changes. The unit of its severity stands at each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effect {
    /// Adds resistance to one element; ohms.
    AddOhms,
    /// Opens one element; no severity.
    Open,
    /// A length of wire with only a few strands left; metres of wire.
    StrandsLost,
    /// A wire touches body metal; ohms of the touch.
    ChafedShort,
    /// The fuse element has melted; no severity.
    FuseBlown,
    /// The battery is discharged; state of charge, 0 to 1.
    LowCharge,
    /// Adds to the battery's internal resistance; ohms.
    InternalOhms,
    /// Lowers the alternator's regulated voltage; volts below the healthy value.
    LowCharging,
    /// The relay coil is open; no severity.
    CoilOpen,
    /// The control unit never pulls the relay in; no severity.
    DriverDead,
    /// Adds resistance between brushes and commutator; ohms.
    BrushOhms,
    /// Multiplies the internal leakage of the pumping element; a factor above 1.
    LeakFactor,
    /// Adds dry friction to the pump; newton metres.
    DragTorque,
    /// The pump does not turn; no severity.
    Seized,
    /// Multiplies the flow resistance of the strainer; a factor above 1.
    StrainerFactor,
    /// Multiplies the flow resistance of the filter; a factor above 1.
    FilterFactor,
    /// Opens a leak back into the tank; flow in cubic metres a second at 300 kPa.
    InTankLeak,
    /// Multiplies the regulator's set pressure; a factor.
    RegulatorSet,
    /// Lets pressure leak back when the pump rests; flow in cubic metres a second at 300 kPa.
    CheckLeak,
}

/// The range severities are drawn from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Severity {
    /// Mildest value, in the unit of the [`Effect`].
    pub min: f64,
    /// Worst value, in the unit of the [`Effect`] (may be the smaller number).
    pub max: f64,
    /// How values are spread between the two.
    pub spread: Spread,
}

/// How severities are spread over their range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// Evenly.
    Linear,
    /// Evenly in the logarithm: as many between 0.2 and 0.4 as between 2 and 4.
    Log,
}

/// When a fault shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Activation {
    /// Always.
    Always,
    /// Only once the part is hot.
    Hot,
    /// Comes and goes when the part is moved.
    Wiggle,
    /// Only above a current, in amperes.
    AboveAmps(f64),
}

/// What a sense tells about a fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Clue {
    /// The sense.
    pub sense: Sense,
    /// Only severities from here; in the unit of the [`Effect`], towards the worst.
    pub from: f64,
    /// The words. They must not name the fault.
    pub text: String,
}

/// The ways of examining a part without an instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sense {
    /// Looking.
    Look,
    /// Listening while it runs.
    Listen,
    /// Feeling by hand: warmth, looseness.
    Feel,
    /// Smelling.
    Smell,
}

/// The two things that can be done to a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Remedy {
    /// Put right in place.
    Repair,
    /// Replaced by a new one.
    Replace,
}

/// A way to cure a fault beside replacing the part it sits on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cure {
    /// Repairing the part itself.
    RepairPart,
    /// Doing something to another part, named by its identifier.
    Other {
        /// Identifier of the other part.
        part: String,
        /// What is done to it.
        remedy: Remedy,
    },
}

/// Where a fault sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Site {
    /// The part.
    pub part: PartId,
    /// The element of the part, for electrical faults.
    pub element: Option<ElementId>,
}

/// A fault in a vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// Which kind.
    pub kind: KindId,
    /// Where.
    pub site: Site,
    /// How bad, in the unit of the kind's [`Effect`].
    pub severity: f64,
}
