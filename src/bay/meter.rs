//! The meter in hand: placing tips, reading, recording, leads.

use super::action::Tool;
use super::ledger::{Fact, Measurement};
use super::outcome::{Glance, Refusal, Step};
use super::wires::{Stock, no_such_wire};
use super::{Bay, Connected, Placed, TIMES, unsolved};
use crate::circuit::NodeId;
use crate::instrument::{
    Display, Extension, Function, Inputs, LeadSet, Manner, Meter, Quantity, Reading, Side,
    grip_ohms, pressed_ohms,
};
use crate::rig::{Attachments, Instant, Tap};
use crate::units::Metre;
use crate::vehicle::{PlaceId, Tip};

/// A contact counts as proved once a reading through it showed this much, V: nothing else than contact brings it about.
pub const PROVING_V: f64 = 1.0;
/// What a display does while a relay chatters.
pub(super) const UNSTEADY: &str =
    "The display jumps about and will not settle; what it shows is a mean.";
/// What a meter on continuity does below its limit.
pub(super) const BUZZES: &str = "The meter buzzes.";
/// How a meter comes to be connected.
const METER_WAY: &str = "`volts {point} {ref}` puts its tips on two points.";
/// Volts across the points above which an ohms reading is taken on a live circuit.
const LIVE_V: f64 = 0.02;

/// Where what is attached ended up.
pub(super) struct Hooked {
    pub meter: Option<Inputs>,
    pub lamp: Option<(Tap, Tap)>,
    pub load: Option<(Tap, Tap)>,
}

/// One look at the display.
pub(super) struct Glimpse {
    /// What the input saw on the range it came to rest on.
    pub seen: Option<f64>,
    pub display: Display,
    pub instant: Instant,
}

impl Bay {
    pub(super) fn connect(
        &mut self,
        function: Function,
        red: NodeId,
        black: NodeId,
    ) -> Result<Step, Refusal> {
        if red == black {
            return Err(Refusal::new(
                "Both tips would be on one point.",
                "`zero` holds them together; a reading needs two points.",
            ));
        }
        let (red_touch, black_touch) = (self.reach_point(red)?, self.reach_point(black)?);
        self.span(red, red_touch.place, black, black_touch.place)?;
        let before = self.connected;
        let keep = |placed: Option<Placed>, node| placed.filter(|placed| placed.node == node);
        let moved_red = keep(before.map(|c| c.red), red).is_none();
        let moved_black = keep(before.map(|c| c.black), black).is_none();
        let mut step = Step::taking(TIMES.read);
        let heard = self.heard_through_meter(function)?;
        for (moved, place) in [
            (moved_red, red_touch.place),
            (moved_black, black_touch.place),
        ] {
            if moved {
                step.outcome.seconds += TIMES.tip;
                self.go_to(place, &mut step);
            }
        }
        let red = match keep(before.map(|c| c.red), red) {
            Some(placed) => placed,
            None => self.put_tip(red, red_touch.tip, &mut step),
        };
        let black = match keep(before.map(|c| c.black), black) {
            Some(placed) => placed,
            None => self.put_tip(black, black_touch.tip, &mut step),
        };
        self.connected = Some(Connected {
            function,
            red,
            black,
            range: self.meter.usable_ranges(function).0,
        });
        self.restart_recorder();
        self.read_into(&mut step, Glance::Meter)?;
        self.tell_if_new_to(heard, &mut step)?;
        Ok(step)
    }

    /// What is heard of the pump before the meter is moved, if its amps jack is or will be part of the circuit: only
    /// then can the pump start or stop by it.
    fn heard_through_meter(&mut self, function: Function) -> Result<Option<String>, Refusal> {
        let carries = |connected: Connected| connected.function.carries_current();
        let matters = function.carries_current() || self.connected.is_some_and(carries);
        matters.then(|| self.tell_pump()).transpose()
    }

    fn tell_if_new_to(&mut self, heard: Option<String>, step: &mut Step) -> Result<(), Refusal> {
        heard.map_or(Ok(()), |heard| self.tell_pump_if_new(&heard, step))
    }

    /// Takes the meter off the vehicle, if it is on it: says so, and what is heard of the pump if that makes a difference.
    pub(super) fn take_meter_off(&mut self, words: &str, step: &mut Step) -> Result<(), Refusal> {
        let Some(connected) = self.connected else {
            return Ok(());
        };
        let heard = self.heard_through_meter(connected.function)?;
        self.connected = None;
        step.say(words);
        self.tell_if_new_to(heard, step)
    }

    fn span(
        &self,
        red: NodeId,
        red_at: PlaceId,
        black: NodeId,
        black_at: PlaceId,
    ) -> Result<(), Refusal> {
        let distance = self.vehicle.distance_m(red_at, black_at);
        let reach = self.meter.leads.red.reach_m + self.meter.leads.black.reach_m;
        if distance <= reach {
            return Ok(());
        }
        let missing = libm::ceil(distance - 2.0 * LeadSet::STANDARD_REACH_M);
        let name = |node: NodeId| &self.vehicle.nodes[node.0 as usize].name;
        Err(Refusal::new(
            format!(
                "{} and {} are {} apart; your leads span {}.",
                name(red),
                name(black),
                Metre(distance).show(self.system),
                Metre(reach).show(self.system)
            ),
            format!(
                "`leads extension {}` makes the black lead longer.",
                self.wire_to_type(missing, Stock::Lead)
            ),
        ))
    }

    /// Puts a tip of the meter on a point.
    fn put_tip(&mut self, node: NodeId, tip: Tip, step: &mut Step) -> Placed {
        if tip == Tip::BackProbe && self.needles {
            self.note_hole(node, step);
            return self.place(node, Manner::Needle);
        }
        self.put_clip(node, tip)
    }

    /// Puts a tip that is no needle on a point: of the meter, of a lamp, of a bulb.
    pub(super) fn put_clip(&mut self, node: NodeId, tip: Tip) -> Placed {
        let manner = match tip {
            Tip::Painted if self.scraped.contains(&node) => Manner::Scraped,
            tip => Manner::Plain(tip),
        };
        self.place(node, manner)
    }

    fn place(&mut self, node: NodeId, manner: Manner) -> Placed {
        let count = self.placements.entry(node).or_insert(0);
        *count += 1;
        let grip = grip_ohms(
            self.seed,
            &self.vehicle.nodes[node.0 as usize].name,
            *count,
            manner,
        );
        Placed {
            node,
            grip,
            manner,
            proved: false,
        }
    }

    pub(super) fn read_again(&mut self) -> Result<Step, Refusal> {
        if self.connected.is_none() {
            return Err(Refusal::new(
                "The meter is not connected.",
                self.example(METER_WAY),
            ));
        }
        let mut step = Step::taking(TIMES.read);
        self.read_into(&mut step, Glance::Meter)?;
        Ok(step)
    }

    pub(super) fn meter_off(&mut self) -> Result<Step, Refusal> {
        if self.connected.is_none() {
            return Err(Refusal::new(
                "The meter is not connected.",
                self.example(METER_WAY),
            ));
        }
        let mut step = Step::taking(TIMES.tip);
        self.take_meter_off("The meter is off the vehicle.", &mut step)?;
        Ok(step)
    }

    pub(super) fn place_anew(&mut self, side: Side) -> Result<Step, Refusal> {
        let Some(connected) = self.connected else {
            return Err(Refusal::new(
                "The meter is not connected.",
                self.example(METER_WAY),
            ));
        };
        let node = match side {
            Side::Red => connected.red.node,
            Side::Black => connected.black.node,
        };
        let touch = self.reach_point(node)?;
        let mut step = Step::taking(TIMES.tip + TIMES.read);
        let heard = self.heard_through_meter(connected.function)?;
        let placed = self.put_tip(node, touch.tip, &mut step);
        self.connected = Some(match side {
            Side::Red => Connected {
                red: placed,
                ..connected
            },
            Side::Black => Connected {
                black: placed,
                ..connected
            },
        });
        self.restart_recorder();
        self.read_into(&mut step, Glance::Meter)?;
        self.tell_if_new_to(heard, &mut step)?;
        Ok(step)
    }

    pub(super) fn choose_leads(
        &mut self,
        choice: Option<(Side, Extension)>,
    ) -> Result<Step, Refusal> {
        let mut leads = LeadSet::standard(self.seed);
        let mut step = Step::taking(TIMES.leads);
        match choice {
            None => {
                let reach = Metre(LeadSet::STANDARD_REACH_M).show(self.system);
                step.say(format!("Standard leads, {reach} each."));
                if self.needles {
                    step.say("The needles stay on them; `leads probe` changes that.");
                }
            }
            Some((side, wire)) => {
                self.check_wire(&wire)?;
                let ambient = self.rig.conditions().ambient_c;
                leads = leads.extended(side, wire, ambient).map_err(no_such_wire)?;
                let name = if side == Side::Red { "Red" } else { "Black" };
                step.say(format!(
                    "{name} lead now reaches {}. {} copper.",
                    Metre(leads.side(side).reach_m).show(self.system),
                    wire.show(self.system),
                ));
            }
        }
        self.take_meter_off(
            "The meter came off while the leads were changed.",
            &mut step,
        )?;
        // A zero holds only for the leads it was taken with.
        self.zeroed = false;
        self.meter.leads = leads;
        self.meter.zero_ohms = 0.0;
        Ok(step)
    }

    pub(super) fn zero_meter(&mut self) -> Result<Step, Refusal> {
        let mut step = Step::taking(TIMES.zero);
        self.take_meter_off("The meter is off the vehicle.", &mut step)?;
        let repeat = self.repeat("zero");
        let noise = self.meter.noise(Function::Ohms, "tips", "together", repeat);
        let shown = self.meter.zero(pressed_ohms(self.seed), noise);
        self.zeroed = true;
        step.say(format!(
            "Tips together: {shown:.1} ohm, now shown as zero on ohms."
        ));
        Ok(step)
    }

    /// Everything attached, with the meter on one range of its function. Wires that hang free carry what leaks into them.
    pub(super) fn attachments(&mut self, range: usize) -> Result<(Attachments, Hooked), Refusal> {
        let (attachments, hooked) = self.hook_up(range);
        Ok((self.rig.with_pickup(attachments).map_err(unsolved)?, hooked))
    }

    fn hook_up(&self, range: usize) -> (Attachments, Hooked) {
        let mut attachments = Attachments::none();
        let meter = self.connected.map(|connected| {
            let connection = crate::instrument::Connection {
                function: connected.function,
                red: Tap::Node(connected.red.node),
                black: Tap::Node(connected.black.node),
                red_grip: connected.red.grip,
                black_grip: connected.black.grip,
            };
            self.meter.attach(&connection, range, &mut attachments)
        });
        let lamp = self.lit.map(|(a, b)| {
            let end = |placed: Placed| (Tap::Node(placed.node), placed.grip);
            self.lamp.attach(end(a), end(b), &mut attachments)
        });
        let load = self.load.map(|(a, b, bulb)| {
            let end = |placed: Placed| (Tap::Node(placed.node), placed.grip);
            bulb.lamp().attach(end(a), end(b), &mut attachments)
        });
        (attachments, Hooked { meter, lamp, load })
    }

    /// Reads what is connected at leisure: the meter first, if all is read.
    pub(super) fn read_into(&mut self, step: &mut Step, glance: Glance) -> Result<(), Refusal> {
        step.begin_leisure(glance);
        match glance {
            Glance::Meter => self.read_meter(step),
            Glance::Tool(tool) => self.read_tool(tool, step),
            Glance::All => {
                self.read_meter(step)?;
                for tool in [Tool::Clamp, Tool::Lamp, Tool::Load, Tool::Gauge] {
                    self.read_tool(tool, step)?;
                }
                Ok(())
            }
        }
    }

    fn read_meter(&mut self, step: &mut Step) -> Result<(), Refusal> {
        let Some(connected) = self.connected else {
            return Ok(());
        };
        let function = connected.function;
        let noise = self.next_noise(&connected);
        self.try_meter_fuse(TIMES.read, step)?;
        let Some(glimpse) = self.glimpse(&connected, noise)? else {
            return Ok(());
        };
        let buzzes = Meter::buzzes(function, glimpse.display.value);
        if glimpse.instant.chattering.is_some() {
            step.say_once(UNSTEADY);
        }
        let reading = glimpse
            .display
            .reading(function.quantity(), self.how(&connected));
        self.note_measurement(&reading, glimpse.instant.pump.load_amps(), step)?;
        step.outcome.readings.push(reading);
        if buzzes {
            step.say(BUZZES);
        }
        Ok(())
    }

    /// What the display comes to rest on as things stand. The ohms functions put another source into the circuit on each
    /// range, so that each is tried in turn.
    pub(super) fn glimpse(
        &mut self,
        connected: &Connected,
        noise: f64,
    ) -> Result<Option<Glimpse>, Refusal> {
        let function = connected.function;
        let (finest, coarsest) = self.meter.usable_ranges(function);
        for range in finest..=coarsest {
            let (attachments, hooked) = self.attachments(range)?;
            let instant = self.rig.now(&attachments).map_err(unsolved)?;
            let Some(inputs) = hooked.meter else {
                return Ok(None);
            };
            let seen = self.meter.sees(function, range, inputs, &instant);
            let display = self.meter.display(function, range, seen, noise);
            if display.value.is_some() || !function.sends_current() || range == coarsest {
                self.stand_on_range(range, seen);
                return Ok(Some(Glimpse {
                    seen,
                    display,
                    instant,
                }));
            }
        }
        Ok(None)
    }

    /// Notes the range the display has come to rest on.
    fn stand_on_range(&mut self, tried: usize, seen: Option<f64>) {
        if let Some(mut connected) = self.connected {
            connected.range = if connected.function.sends_current() {
                tried
            } else {
                self.meter.fitting_range(connected.function, seen)
            };
            self.connected = Some(connected);
        }
    }

    pub(super) fn next_noise(&mut self, connected: &Connected) -> f64 {
        let (red, black) = (
            self.name(connected.red.node),
            self.name(connected.black.node),
        );
        let repeat = self.repeat(&format!("{} {red} {black}", connected.function.name()));
        self.meter.noise(connected.function, &red, &black, repeat)
    }

    /// How often something has been read before.
    pub(super) fn repeat(&mut self, key: &str) -> u32 {
        let count = self.repeats.entry(key.to_owned()).or_insert(0);
        *count += 1;
        *count - 1
    }

    pub(super) fn name(&self, node: NodeId) -> String {
        self.vehicle.nodes[node.0 as usize].name.clone()
    }

    pub(super) fn ends(&self, connected: &Connected) -> Vec<(PlaceId, f64)> {
        let leads = &self.meter.leads;
        let tips = [
            (connected.red.node, leads.red.reach_m),
            (connected.black.node, leads.black.reach_m),
        ];
        tips.into_iter()
            .filter_map(|(node, reach)| Some((self.place_of(node)?, reach)))
            .collect()
    }

    pub(super) fn place_of(&self, node: NodeId) -> Option<PlaceId> {
        self.vehicle.nodes[node.0 as usize]
            .touch
            .map(|touch| touch.place)
    }

    /// How a reading is taken; a point is spelt out the first time it is used.
    pub(super) fn how(&mut self, connected: &Connected) -> String {
        let red = self.tip_in_words(&connected.red, Side::Red);
        let black = self.tip_in_words(&connected.black, Side::Black);
        // The unit tells the other functions.
        let function = match connected.function {
            Function::LowVolts => "low impedance, ",
            Function::Continuity => "continuity, ",
            _ => "",
        };
        format!("{function}red {red}, black {black}")
    }

    fn tip_in_words(&mut self, placed: &Placed, side: Side) -> String {
        let first = self.spelt.insert(placed.node);
        let point = &self.vehicle.nodes[placed.node.0 as usize];
        let spoken = if first {
            format!(" ({})", point.spoken)
        } else {
            String::new()
        };
        let manner = placed.manner.name();
        let longer = if self.meter.leads.side(side).extension.is_some() {
            ", extension"
        } else {
            ""
        };
        format!("{}{spoken} {manner}{longer}", point.name)
    }

    /// Notes what the bay knew about a reading, and that a telling one proves its contacts.
    pub(super) fn note_measurement(
        &mut self,
        reading: &Reading,
        pump_amps: f64,
        step: &mut Step,
    ) -> Result<(), Refusal> {
        let Some(mut connected) = self.connected else {
            return Ok(());
        };
        let sends_current = connected.function.sends_current();
        let shows_volts = connected.function.quantity() == Quantity::Voltage;
        if shows_volts
            && reading
                .value
                .is_some_and(|volts| libm::fabs(volts) >= PROVING_V)
        {
            connected.red.proved = true;
            connected.black.proved = true;
            self.connected = Some(connected);
        }
        step.facts.push(Fact::Measured(Measurement {
            function: connected.function,
            red: connected.red.node,
            black: connected.black.node,
            value: reading.value,
            pump_amps,
            proved: connected.red.proved && connected.black.proved,
            lead_ohms: self.meter.leads.red.ohms + self.meter.leads.black.ohms,
            added_ohms: self.meter.leads.added_ohms(),
            live: sends_current && self.is_live(&connected)?,
            zeroed: self.zeroed,
        }));
        Ok(())
    }

    /// Volts stand between the points without the meter. Beside an open coil one of them hangs free: the circuit is live
    /// there if the other is fed.
    fn is_live(&mut self, connected: &Connected) -> Result<bool, Refusal> {
        let instant = self.bare()?;
        let stands = |a, b| {
            let volts = instant.across(a, b);
            volts.map(|volts| libm::fabs(volts) > LIVE_V)
        };
        let tips = [connected.red.node, connected.black.node].map(Tap::Node);
        if let Some(live) = stands(tips[0], tips[1]) {
            return Ok(live);
        }
        let reference = Tap::Node(self.vehicle.reference);
        let fed = tips.map(|tip| stands(tip, reference));
        Ok(fed.contains(&Some(true)) && self.is_energised()?)
    }
}
