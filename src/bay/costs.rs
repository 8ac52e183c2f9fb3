//! What actions cost in time and money. All figures are ours, set by what the work takes in a workshop.

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
    /// Fitting or removing the gauge.
    pub gauge: f64,
    /// Opening the return line and closing it again.
    pub flow: f64,
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
}

/// The times in force.
pub const TIMES: Times = Times {
    know: 0.0,
    key: 10.0,
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
    flow: 300.0,
    jumper: 90.0,
    helper: 120.0,
    call: 15.0,
    protect: 90.0,
    relieve: 300.0,
    isolate: 120.0,
    stands: 180.0,
    handover: 300.0,
};

/// Share of the labour rate that a colleague's time costs.
pub const HELPER_SHARE: f64 = 0.6;
/// Share of the time an access took that putting it back takes.
pub const PUTTING_BACK_SHARE: f64 = 0.5;
