//! What a learner can do, one variant each.

use crate::circuit::NodeId;
use crate::instrument::{Bulb, Extension, Function, Interval, Quantity, Side};
use crate::vehicle::{AccessId, Key, PartId, Section};

/// A part, or one element of it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Target {
    /// The part.
    pub part: PartId,
    /// One of its elements, such as pin `2`; nothing for the whole part.
    pub leg: Option<String>,
}

/// A reading that a judgement relies on, as the learner puts it.
#[derive(Clone, PartialEq, Debug)]
pub struct Cited {
    /// Value in the SI unit of the quantity.
    pub value: f64,
    /// What it is a value of.
    pub quantity: Quantity,
    /// As it was written; without a unit it is taken for volts as long as no other reading shows that figure.
    pub written: String,
}

impl Cited {
    /// The number, if it was written without a unit.
    #[must_use]
    pub fn bare(&self) -> Option<f64> {
        self.written.parse().ok()
    }

    /// A reading in volts.
    #[must_use]
    pub fn volts(value: f64) -> Cited {
        Cited {
            value,
            quantity: Quantity::Voltage,
            written: format!("{value} V"),
        }
    }
}

/// A learner's judgement of a section.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Verdict {
    /// Nothing wrong here.
    Good,
    /// The trouble, or some of it, is here.
    Bad,
    /// Cannot be judged yet.
    Unsure,
}

/// Where a pressure gauge is fitted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fitting {
    /// On the service port.
    Port,
    /// Teed in at a part's inlet.
    Tee(PartId),
}

/// An instrument besides the meter that stays where it was put and can be looked at again.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tool {
    /// The current clamp.
    Clamp,
    /// The test lamp.
    Lamp,
    /// The bulb.
    Load,
    /// The pressure gauge.
    Gauge,
}

/// A fused wire between two points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bridge {
    /// One end.
    pub a: NodeId,
    /// The other end.
    pub b: NodeId,
    /// The wire.
    pub wire: Extension,
}

/// Which points are listed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PointFilter {
    /// All of the vehicle.
    All,
    /// Those a tip can touch as things stand.
    Reachable,
    /// Those of one part.
    Part(PartId),
}

/// One thing a learner does.
#[derive(Clone, PartialEq, Debug)]
pub enum Action {
    /// Read the work order.
    Order,
    /// Look at the wiring diagram.
    Diagram,
    /// List test points.
    Points(PointFilter),
    /// Read the service figures.
    Data,
    /// Read prices and times, of everything or of one part.
    Prices(Option<PartId>),
    /// Read back what was measured and judged.
    Log,
    /// Ask for time and money.
    Clock,
    /// Something looked up that the vehicle has no part in: the words of the prompt, a sum about a wire.
    Aside {
        /// The answer.
        said: Vec<String>,
    },

    /// A hint asked for in practice. It costs nothing here: what it takes from the marks is the score's to say.
    Hint {
        /// How much it gives away: 1 which section, 2 which kind of test, 3 which reading.
        depth: u8,
        /// The hint.
        said: Vec<String>,
    },

    /// Turn the key; `Run` cranks until the engine catches.
    Key(Key),
    /// Command the pump through the control unit by service tool.
    PumpTool(bool),
    /// Road test.
    Drive,
    /// Take a connector, fuse or relay out.
    Unplug(PartId),
    /// Put it back.
    Plug(PartId),
    /// Look closely.
    Look(Target),
    /// Listen for the pump.
    Listen,
    /// Feel for warmth and looseness.
    Feel(PartId),
    /// Move a part while watching the instruments.
    Wiggle(PartId),
    /// Open the way to a place.
    Access(AccessId),
    /// Put back what a piece of access work opened, and whatever was opened beyond it.
    Refit(AccessId),
    /// Bring everything to running temperature.
    Warm,
    /// Knock on a part, or on the tank under it.
    Tap(PartId),
    /// Put a relay into the socket of another of its type, and that one into its own.
    Swap {
        /// One relay.
        relay: PartId,
        /// The other; nothing for the only other one of the type.
        with: Option<PartId>,
    },
    /// Squeeze a fuel line shut with a hose clamp, or let it go.
    Pinch {
        /// The line.
        line: PartId,
        /// Shut, or let go.
        shut: bool,
    },
    /// Open a filter, the strainer or an unplugged connector for inspection.
    Open(PartId),
    /// Draw a glass of fuel from the tank.
    Sample,
    /// Put fuel in.
    Fill {
        /// Drain what is in first.
        drained: bool,
    },
    /// Put the battery on the charger.
    Charge {
        /// How long; nothing until it is full.
        seconds: Option<f64>,
    },
    /// Read stored codes and live data by service tool.
    Scan,
    /// Let time pass.
    Wait {
        /// How long.
        seconds: f64,
    },

    /// Put the meter's tips on two points.
    Meter {
        /// What the meter is switched to.
        function: Function,
        /// Red tip.
        red: NodeId,
        /// Black tip.
        black: NodeId,
    },
    /// Read the meter again where it is.
    ReadMeter,
    /// Take the meter off.
    MeterOff,
    /// Choose the meter's range by what it measures and its full scale in the base unit; nothing lets it choose by
    /// itself.
    Range(Option<(Quantity, f64)>),
    /// Put a new fuse behind the meter's amps jack.
    MeterFuse,
    /// Take needles instead of probes wherever a tip goes into a connector or a wire.
    Needles(bool),
    /// Scrape a painted spot bright, so that a probe meets metal.
    Scrape(NodeId),
    /// Keep lowest, highest and late mean of what the meter sees, one value an interval; nothing ends the recording.
    Record(Option<Interval>),
    /// Choose leads: standard ones, or one made longer.
    Leads(Option<(Side, Extension)>),
    /// Lift a tip and place it anew on the same point.
    Tip(Side),
    /// Hold the tips together and zero the ohms function.
    Zero,
    /// Close the clamp around a wire.
    Clamp(PartId),
    /// Zero the clamp around nothing.
    ClampZero,
    /// Take the clamp off.
    ClampOff,
    /// Put the test lamp between two points.
    Lamp {
        /// Tip.
        a: NodeId,
        /// Clip.
        b: NodeId,
    },
    /// Take the lamp off.
    LampOff,
    /// Put a bulb between two points as a load.
    Load {
        /// One lead.
        a: NodeId,
        /// The other.
        b: NodeId,
        /// Which bulb.
        bulb: Bulb,
    },
    /// Take the bulb off.
    LoadOff,
    /// Watch the clamp's current on the screen.
    Waveform,
    /// Hold the thermometer's bead against a part.
    Temperature(PartId),
    /// Fit the pressure gauge somewhere, or take it off.
    Gauge(Option<Fitting>),
    /// Look again at what is connected.
    Reread(Tool),
    /// Catch what returns to the tank, or what comes out of the feed.
    Flow {
        /// How long.
        seconds: f64,
        /// What runs the pump once the feed is off the rail; nothing for the service tool.
        bridge: Option<Bridge>,
    },
    /// Bridge two points with a fused wire.
    Jumper(Bridge),
    /// Take the bridge off.
    JumperOff,
    /// Ask a colleague to watch the instruments, or let them go.
    Helper(bool),

    /// State a judgement.
    Call {
        /// Of which section.
        section: Section,
        /// What it is.
        verdict: Verdict,
        /// The reading relied on.
        cites: Option<Cited>,
    },

    /// Eye protection, gloves, extinguisher, open doors, exhaust led away.
    Protect,
    /// Relieve fuel pressure the proper way.
    Relieve,
    /// Take the battery's negative clamp off, or put it back.
    Isolate(bool),
    /// Set the raised vehicle on stands.
    Stands,

    /// Put right in place.
    Repair(Target),
    /// Fit a new part.
    Replace(PartId),
    /// Give the vehicle back.
    Handover,
}

impl Action {
    /// Whether it only reads papers, notes or the clock, and leaves vehicle and instruments alone.
    #[must_use]
    pub fn is_paper(&self) -> bool {
        matches!(
            self,
            Action::Order
                | Action::Diagram
                | Action::Points(_)
                | Action::Data
                | Action::Prices(_)
                | Action::Log
                | Action::Clock
                | Action::Aside { .. }
                | Action::Hint { .. }
        )
    }
}
