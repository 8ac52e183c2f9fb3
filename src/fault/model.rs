//! What a fault is.

use crate::vehicle::{ElementId, Kind, Medium, PartId, Section};

/// Index into [`Catalogue::kinds`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct KindId(pub usize);

/// All kinds of fault known to the program.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Catalogue {
    /// The kinds, in file order.
    pub kinds: Vec<FaultKind>,
    /// What healthy parts of some age may show, in file order.
    pub signs: Vec<Sign>,
    /// Faults that bring another one about, in file order.
    pub consequences: Vec<Consequence>,
}

/// A fault that, left long enough, brings about another: curing one leaves the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Consequence {
    /// What was there first.
    pub of: KindId,
    /// What it brought about.
    pub brings: KindId,
    /// How common the pair is, against the other pairs.
    pub weight: u32,
    /// Why one follows from the other, in a line.
    pub why: String,
}

/// A trace of age that proves nothing: healthy parts show it by chance, some faulty ones show it too.
#[derive(Clone, Debug, PartialEq)]
pub struct Sign {
    /// Short name by which clues refer to it.
    pub id: String,
    /// Kinds of part that may show it.
    pub on: Vec<Kind>,
    /// The sense that notices it.
    pub sense: Sense,
    /// The words, the same on a healthy and on a faulty part.
    pub text: String,
    /// Share of healthy parts that show it, 0 to 1.
    pub share: f64,
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
    /// Only where the pump moves this; nothing for either.
    pub medium: Option<Medium>,
    /// Only elements with one of these legs; empty for any.
    pub legs: Vec<String>,
    /// Only in these sections; empty for any.
    pub sections: Vec<Section>,
    /// What it changes.
    pub effect: Effect,
    /// How bad it can be.
    pub severity: Severity,
    /// How common it is, against the other kinds; 0 for what nobody notices by itself and no code brings in alone.
    pub weight: u32,
    /// What of a vehicle's life makes it commoner.
    pub grows: Grows,
    /// When it shows.
    pub activation: Activation,
    /// What can be seen, heard, felt or smelt.
    pub clues: Vec<Clue>,
    /// What cures it.
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
    /// A length of wire with only one strand left; metres of wire.
    StrandsLost,
    /// A wire touches body metal; ohms of the touch.
    ChafedShort,
    /// The fuse element has melted; no severity.
    FuseBlown,
    /// The battery is discharged, which also raises its internal resistance; state of charge, 0 to 1.
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
    /// Commutator segments without connection; their number.
    DeadSegments,
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
    /// Multiplies the flow resistance of the line to the engine; a factor above 1.
    LineFactor,
    /// Opens a leak back into the tank; flow in cubic metres a second at 300 kPa.
    InTankLeak,
    /// Multiplies the regulator's set pressure; a factor.
    RegulatorSet,
    /// Lets fuel back when the pump rests; flow in cubic metres a second at 300 kPa.
    CheckLeak,
    /// A switched contact no longer opens; no severity.
    StuckClosed,
    /// The regulator never shuts; flow in cubic metres a second it passes at 300 kPa.
    RegulatorOpen,
    /// The regulator never opens; no severity.
    RegulatorShut,
    /// Multiplies the flow resistance of the return line; a factor above 1.
    ReturnFactor,
    /// The control unit runs the pump for its prime only, as if the engine never turned; no severity.
    PrimeOnly,
    /// What a pressure sensor shows of the pressure; a factor.
    SensorFactor,
    /// Lets fuel past the injectors' seats; flow in cubic metres a second at 300 kPa.
    InjectorLeak,
    /// The pump draws air; no severity.
    RunsDry,
    /// A thermostat never opens; no severity.
    ThermostatShut,
    /// A thermostat never shuts; no severity.
    ThermostatOpen,
}

impl Effect {
    /// Every effect with the word that stands for it in files.
    pub const NAMES: [(Self, &'static str); 31] = [
        (Self::AddOhms, "add-ohms"),
        (Self::Open, "open"),
        (Self::StrandsLost, "strands-lost"),
        (Self::ChafedShort, "chafed-short"),
        (Self::FuseBlown, "fuse-blown"),
        (Self::LowCharge, "low-charge"),
        (Self::InternalOhms, "internal-ohms"),
        (Self::LowCharging, "low-charging"),
        (Self::CoilOpen, "coil-open"),
        (Self::DriverDead, "driver-dead"),
        (Self::BrushOhms, "brush-ohms"),
        (Self::DeadSegments, "dead-segments"),
        (Self::LeakFactor, "leak-factor"),
        (Self::DragTorque, "drag-torque"),
        (Self::Seized, "seized"),
        (Self::StrainerFactor, "strainer-factor"),
        (Self::FilterFactor, "filter-factor"),
        (Self::LineFactor, "line-factor"),
        (Self::InTankLeak, "in-tank-leak"),
        (Self::RegulatorSet, "regulator-set"),
        (Self::CheckLeak, "check-leak"),
        (Self::StuckClosed, "stuck-closed"),
        (Self::RegulatorOpen, "regulator-open"),
        (Self::RegulatorShut, "regulator-shut"),
        (Self::ReturnFactor, "return-factor"),
        (Self::PrimeOnly, "prime-only"),
        (Self::SensorFactor, "sensor-factor"),
        (Self::InjectorLeak, "injector-leak"),
        (Self::RunsDry, "runs-dry"),
        (Self::ThermostatShut, "thermostat-shut"),
        (Self::ThermostatOpen, "thermostat-open"),
    ];

    /// The word that stands for the effect in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(effect, _)| *effect == self)
            .map_or("", |(_, name)| name)
    }

    /// Which way its severity grows worse.
    #[must_use]
    pub fn worse(self) -> Worse {
        match self {
            Self::ChafedShort | Self::LowCharge | Self::RegulatorSet => Worse::Less,
            Self::SensorFactor => Worse::Either,
            _ => Worse::More,
        }
    }

    /// Whether the fault is either there or not, without degrees; its severity is 1.
    #[must_use]
    pub fn has_no_degrees(self) -> bool {
        matches!(
            self,
            Self::Open
                | Self::FuseBlown
                | Self::CoilOpen
                | Self::DriverDead
                | Self::Seized
                | Self::StuckClosed
                | Self::RegulatorShut
                | Self::PrimeOnly
                | Self::RunsDry
                | Self::ThermostatShut
                | Self::ThermostatOpen
        )
    }
}

/// Which way a severity grows worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worse {
    /// More is worse.
    More,
    /// Less is worse.
    Less,
    /// Off the right value either way.
    Either,
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

impl Severity {
    /// Whether `severity` is at least as bad as `limit`.
    #[must_use]
    pub fn reaches(&self, severity: f64, limit: f64) -> bool {
        if self.max >= self.min {
            severity >= limit
        } else {
            severity <= limit
        }
    }
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
    /// Only while the part is wet: after a drive through spray, until it has dried.
    Wet,
    /// Only above a current, in amperes.
    AboveAmps(f64),
}

/// What of a vehicle's life makes a fault commoner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grows {
    /// Nothing: it comes by accident, or by somebody's hand.
    Never,
    /// The distance driven: what rubs, turns or switches wears.
    Distance,
    /// The years: what stands in salt and weather rots.
    Years,
}

/// What a sense tells about a fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Clue {
    /// The sense.
    pub sense: Sense,
    /// Only severities at least as bad; in the unit of the [`Effect`].
    pub from: f64,
    /// The words. They do not name the fault; often they are those of a harmless [`Sign`].
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

/// A way to cure a fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cure {
    /// What is done.
    pub remedy: Remedy,
    /// Identifier of the part it is done to; `None` for the part the fault sits on.
    pub part: Option<String>,
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
