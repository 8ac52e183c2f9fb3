//! The one table of the grammar: it drives parsing, help and completion.

use crate::bay::Refusal;

use super::args::Args;
use super::{Asked, forms};

/// What a word is for; `help` lists the words under these headings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Group {
    /// Questions that cost nothing.
    Know,
    /// The vehicle and its surroundings.
    Vehicle,
    /// Instruments and leads.
    Tools,
    /// Reasoning, put down in writing.
    Think,
    /// Making the work safe.
    Safety,
    /// Repairing and ending.
    End,
}

impl Group {
    /// Every group in the order of the help page.
    pub const ALL: [Group; 6] = [Group::Know, Group::Vehicle, Group::Tools, Group::Think, Group::Safety, Group::End];

    /// The heading.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Group::Know => "know",
            Group::Vehicle => "vehicle",
            Group::Tools => "tools",
            Group::Think => "think",
            Group::Safety => "safety",
            Group::End => "end",
        }
    }
}

/// What may stand at one place after a word, for completion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slot {
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A point, or one of these words.
    Point(&'static [&'static str]),
    /// A part, or one of these words.
    Part(&'static [&'static str]),
    /// A part or one leg of it.
    Target,
    /// A piece of access work.
    Access,
    /// A section, which may be two words, then a verdict.
    Call,
    /// A word of the grammar.
    Word,
    /// A number with its unit.
    Number,
}

/// One word of the prompt.
pub struct Word {
    /// The word itself.
    pub name: &'static str,
    /// Where it stands in the help.
    pub group: Group,
    /// What follows it.
    pub usage: &'static str,
    /// What it does, one line.
    pub about: &'static str,
    /// A line that can be typed; names in braces are replaced by the vehicle's own.
    pub example: &'static str,
    /// Has to be written out, because it cannot be undone.
    pub written_out: bool,
    /// What may follow, place by place.
    pub slots: &'static [Slot],
    pub(super) parse: fn(&mut Args<'_>) -> Result<Asked, Refusal>,
}

impl Word {
    /// The entry of exactly this name, without regard to case.
    #[must_use]
    pub fn called(name: &str) -> Option<&'static Word> {
        WORDS.iter().find(|word| word.name.eq_ignore_ascii_case(name))
    }
}

const fn word(
    group: Group,
    name: &'static str,
    usage: &'static str,
    about: &'static str,
    example: &'static str,
    slots: &'static [Slot],
    parse: fn(&mut Args<'_>) -> Result<Asked, Refusal>,
) -> Word {
    Word { name, group, usage, about, example, written_out: false, slots, parse }
}

const fn written_out(word: Word) -> Word {
    Word { written_out: true, ..word }
}

const ON_OFF: Slot = Slot::Choice(&["on", "off"]);
const SIDE: Slot = Slot::Choice(&["red", "black"]);
const METER: &[Slot] = &[Slot::Point(&["off"]), Slot::Point(&[])];

use Group::{End, Know, Safety, Think, Tools, Vehicle};

/// Every word, in the order of the help page.
pub static WORDS: &[Word] = &[
    word(Know, "order", "", "the work order again", "order", &[], forms::order),
    word(Know, "diagram", "", "the wiring diagram", "diagram", &[], forms::diagram),
    word(Know, "points", "[PART|reachable]", "test points: what they are, where, what it takes to reach them", "points {plug}", &[Slot::Part(&["reachable"])], forms::points),
    word(Know, "data", "", "what figures there are for this vehicle", "data", &[], forms::data),
    word(Know, "prices", "", "parts, repairs and their labour", "prices", &[], forms::prices),
    word(Know, "log", "", "what has been done so far", "log", &[], forms::log),
    word(Know, "clock", "", "time and money so far, and what is connected", "clock", &[], forms::clock),
    word(Know, "help", "[WORD]", "the words, or one of them with an example", "help volts", &[Slot::Word], forms::help),
    word(Vehicle, "key", "off|on|crank|run", "turn the key", "key on", &[Slot::Choice(&["off", "on", "crank", "run"])], forms::key),
    word(Vehicle, "pump", "on|off", "have the service tool switch the pump", "pump on", &[ON_OFF], forms::pump),
    word(Vehicle, "drive", "", "road test", "drive", &[], forms::drive),
    word(Vehicle, "unplug", "PART", "take a connector, fuse or relay out", "unplug {plug}", &[Slot::Part(&[])], forms::unplug),
    word(Vehicle, "plug", "PART", "put it back", "plug {plug}", &[Slot::Part(&[])], forms::plug),
    word(Vehicle, "look", "PART [PIN]", "look at something closely", "look {part}", &[Slot::Target], forms::look),
    word(Vehicle, "listen", "", "listen for the pump", "listen", &[], forms::listen),
    word(Vehicle, "feel", "PART", "lay a hand on something", "feel {plug}", &[Slot::Part(&[])], forms::feel),
    word(Vehicle, "wiggle", "PART", "move something to and fro", "wiggle {plug}", &[Slot::Part(&[])], forms::wiggle),
    word(Vehicle, "access", "WORK", "raise, remove, lower: get at something", "access {access}", &[Slot::Access], forms::access),
    word(Vehicle, "wait", "TIME", "let time pass", "wait 30 s", &[Slot::Number], forms::wait),
    word(Tools, "volts", "RED BLACK | off", "volts between two points, 10 Mohm meter; alone: read again", "volts {point} {ref}", METER, forms::volts),
    word(Tools, "lowz", "RED BLACK | off", "volts with the low-impedance function, about 3 kohm", "lowz {point} {ref}", METER, forms::low_volts),
    word(Tools, "millivolts", "RED BLACK | off", "small volts, finer steps", "millivolts {point} {ref}", METER, forms::millivolts),
    word(Tools, "ohms", "RED BLACK | off", "resistance between two points", "ohms {point} {ref}", METER, forms::ohms),
    word(Tools, "continuity", "RED BLACK | off", "does it beep", "continuity {point} {ref}", METER, forms::continuity),
    word(Tools, "record", "on|off", "keep lowest, highest and the end of pumping", "record on", &[ON_OFF], forms::record),
    word(Tools, "leads", "standard | extension LENGTH SIZE [red|black]", "which leads are on the meter", "leads extension 5 m 1.0 mm2 black", &[Slot::Choice(&["standard", "extension"]), Slot::Number, Slot::Number, Slot::Number, Slot::Number, SIDE], forms::leads),
    word(Tools, "tip", "red|black", "lift a tip and place it anew", "tip red", &[SIDE], forms::tip),
    word(Tools, "zero", "", "take the leads' own ohms off the display", "zero", &[], forms::zero),
    word(Tools, "clamp", "WIRE | zero | off", "current clamp round a wire", "clamp {wire}", &[Slot::Part(&["zero", "off"])], forms::clamp),
    word(Tools, "lamp", "POINT POINT | off", "filament test lamp between two points", "lamp {point} {ref}", METER, forms::lamp),
    word(Tools, "gauge", "on|off", "pressure gauge at the test port", "gauge on", &[ON_OFF], forms::gauge),
    word(Tools, "flow", "TIME", "run the pump into a measuring glass", "flow 15 s", &[Slot::Number], forms::flow),
    word(Tools, "jumper", "POINT POINT [LENGTH SIZE] | off", "fused wire between two points", "jumper {point} {ref} 5 m 1.5 mm2", METER, forms::jumper),
    word(Tools, "helper", "on|off", "a second pair of hands, paid by the hour", "helper on", &[ON_OFF], forms::helper),
    word(Think, "reckon", "LENGTH SIZE [CURRENT] [TEMP]", "what a wire drops, and what it does in a meter lead", "reckon 5 m 1.0 mm2 4 A", &[Slot::Number], forms::reckon),
    word(Think, "call", "SECTION good|bad|unsure [VALUE]", "put a judgement down, with the reading relied on", "call ground side good 0.02", &[Slot::Call], forms::call),
    word(Safety, "protect", "", "eye protection on, extinguisher at hand, exhaust led away, ventilated", "protect", &[], forms::protect),
    word(Safety, "relieve", "", "let the fuel pressure down into a container", "relieve", &[], forms::relieve),
    word(Safety, "isolate", "[off]", "take the battery negative off; `isolate off` puts it back", "isolate", &[Slot::Choice(&["off"])], forms::isolate),
    word(Safety, "stands", "", "set the raised vehicle on stands", "stands", &[], forms::stands),
    written_out(word(End, "repair", "PART [PIN]", "clean, tighten, re-crimp: put right what is there", "repair {plug}", &[Slot::Target], forms::repair)),
    written_out(word(End, "replace", "PART", "fit a new part", "replace {part}", &[Slot::Part(&[])], forms::replace)),
    written_out(word(End, "handover", "", "hand the vehicle back; the work is then marked", "handover", &[], forms::handover)),
    word(End, "quit", "", "leave; the work is kept and can be resumed", "quit", &[], forms::quit),
];
