//! What actions cost in time and money. All figures are ours, set by what the work takes in a workshop.

use crate::units::Volume;

/// Seconds of one action each, unless the vehicle file states its own.
pub struct Times {
    /// Reading paper, or asking.
    pub know: f64,
    /// Turning the key.
    pub key: f64,
    /// Starting the engine, over and above the cranking.
    pub start: f64,
    /// Connecting the service tool the first time.
    pub tool_first: f64,
    /// A command by service tool.
    pub tool: f64,
    /// A road test.
    pub drive: f64,
    /// Unplugging or plugging.
    pub plug: f64,
    /// A close look.
    pub look: f64,
    /// Listening.
    pub listen: f64,
    /// Feeling or moving a part.
    pub feel: f64,
    /// Reading a meter.
    pub read: f64,
    /// Placing one tip.
    pub tip: f64,
    /// Switching the recorder.
    pub record: f64,
    /// Changing leads.
    pub leads: f64,
    /// Zeroing.
    pub zero: f64,
    /// Placing or removing a clamp or a lamp.
    pub clamp: f64,
    /// Fitting the gauge to a service port; taking it off is half of that.
    pub gauge: f64,
    /// Teeing the gauge into a line; taking it out is half of that.
    pub tee: f64,
    /// Letting pressure down through the gauge's bleed hose.
    pub bleed: f64,
    /// Opening the return line and closing it again.
    pub flow: f64,
    /// Taking the feed off the rail and putting it back.
    pub feed: f64,
    /// Laying a jumper.
    pub jumper: f64,
    /// Fetching a colleague.
    pub helper: f64,
    /// Writing a judgement down.
    pub call: f64,
    /// Protective measures.
    pub protect: f64,
    /// Relieving pressure.
    pub relieve: f64,
    /// Taking a battery clamp off or on.
    pub isolate: f64,
    /// Setting on stands.
    pub stands: f64,
    /// Handing over.
    pub handover: f64,
    /// Warming the engine through.
    pub warm: f64,
    /// Knocking.
    pub tap: f64,
    /// Swapping two relays.
    pub swap: f64,
    /// A hose clamp on or off.
    pub pinch: f64,
    /// Opening a connector's seal, or taking a fuel part off, emptying it and putting it back.
    pub open: (f64, f64),
    /// Heating a pot of water for a thermostat that was taken out.
    pub hob: f64,
    /// Drawing a glass of fuel.
    pub sample: f64,
    /// Fetching and filling in fuel; draining first.
    pub fill: (f64, f64),
    /// Connecting and disconnecting the charger: the hours between are nobody's.
    pub charge: f64,
    /// Reading codes and live data.
    pub scan: f64,
    /// A new fuse in the meter.
    pub meter_fuse: f64,
    /// Scraping a spot bright.
    pub scrape: f64,
    /// Catching flow, as long as one usually does.
    pub catch: f64,
}

/// State of key and pump that a test needs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Mode {
    /// Key off.
    #[default]
    KeyOff,
    /// Key on, pump at rest.
    KeyOn,
    /// Key on, pump commanded by the service tool.
    Pumping,
    /// Engine running.
    Running,
}

impl Mode {
    /// All of them.
    pub const ALL: [Mode; 4] = [Mode::KeyOff, Mode::KeyOn, Mode::Pumping, Mode::Running];

    /// Seconds from this state to another.
    #[must_use]
    pub fn switching(self, to: Mode) -> f64 {
        match (self, to) {
            (from, to) if from == to => 0.0,
            (Mode::KeyOn, Mode::Pumping) | (Mode::Pumping, Mode::KeyOn) => TIMES.tool,
            (_, Mode::Pumping) => TIMES.key + TIMES.tool,
            (_, Mode::Running) => TIMES.key + TIMES.start,
            (_, Mode::KeyOff | Mode::KeyOn) => TIMES.key,
        }
    }
}

/// The times in force.
pub const TIMES: Times = Times {
    know: 0.0,
    key: 3.0,
    start: 15.0,
    tool_first: 240.0,
    tool: 15.0,
    drive: 900.0,
    plug: 45.0,
    look: 120.0,
    listen: 20.0,
    feel: 40.0,
    read: 20.0,
    tip: 20.0,
    record: 20.0,
    leads: 60.0,
    zero: 30.0,
    clamp: 45.0,
    gauge: 360.0,
    tee: 720.0,
    bleed: 60.0,
    flow: 300.0,
    feed: 480.0,
    jumper: 90.0,
    helper: 120.0,
    call: 15.0,
    protect: 90.0,
    relieve: 300.0,
    isolate: 120.0,
    stands: 180.0,
    handover: 300.0,
    warm: 900.0,
    tap: 30.0,
    swap: 90.0,
    pinch: 60.0,
    open: (60.0, 900.0),
    hob: 600.0,
    sample: 300.0,
    fill: (600.0, 1200.0),
    charge: 600.0,
    scan: 60.0,
    meter_fuse: 240.0,
    scrape: 60.0,
    catch: 30.0,
};

/// A fuse for the meter's amps jack, minor units of the vehicle's currency; ours.
pub const METER_FUSE_PRICE: i64 = 850;
/// Fuel filled in, minor units for [`FILL`]; ours.
pub const FUEL_PRICE: i64 = 3600;
/// What is filled in at a time; ours.
pub const FILL: Volume = Volume(20e-3);

/// Share of the labour rate that a colleague's time costs.
pub const HELPER_SHARE: f64 = 0.6;
/// Share of the time an access took that putting it back takes.
pub const PUTTING_BACK_SHARE: f64 = 0.5;
