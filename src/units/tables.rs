//! The unit names each quantity is written in, with the factor that turns them into SI.

/// One unit: `SI value = (number + shift) * times / by`.
///
/// Dividing by an exact power of ten rounds once, so `350 mohm` and `0.35 ohm` are the same double.
#[derive(Debug)]
pub(super) struct Unit {
    /// The usual spelling first, then the others.
    pub names: &'static [&'static str],
    pub times: f64,
    pub by: f64,
    pub shift: f64,
    /// The first letter is `m` or `M` and its case tells milli from mega.
    pub case_matters: bool,
}

/// What a quantity is called, how it is written and how low it can go.
#[derive(Debug)]
pub(super) struct Kind {
    /// With its article: "a resistance".
    pub noun: &'static str,
    pub example: &'static str,
    /// The lowest value in SI that makes sense.
    pub lowest: f64,
    /// American wire gauge numbers are understood as well.
    pub gauges: bool,
    pub units: &'static [Unit],
}

const fn unit(names: &'static [&'static str], times: f64, by: f64) -> Unit {
    Unit {
        names,
        times,
        by,
        shift: 0.0,
        case_matters: false,
    }
}

const fn prefixed(names: &'static [&'static str], times: f64, by: f64) -> Unit {
    Unit {
        names,
        times,
        by,
        shift: 0.0,
        case_matters: true,
    }
}

const fn shifted(names: &'static [&'static str], shift: f64, times: f64, by: f64) -> Unit {
    Unit {
        names,
        times,
        by,
        shift,
        case_matters: false,
    }
}

/// Anything may be below zero that has a direction.
const SIGNED: f64 = f64::NEG_INFINITY;

/// US liquid gallon: 231 cubic inches, exactly 3.785411784 L.
pub(super) const GALLON_M3: f64 = 3.785_411_784e-3;
/// Pound-force per square inch: 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)^2.
pub(super) const PSI_PA: f64 = 0.453_592_37 * 9.806_65 / (0.0254 * 0.0254);
/// Area of a circle one thousandth of an inch across, pi/4 * (0.0254 mm)^2.
pub(super) const CIRCULAR_MIL_M2: f64 = std::f64::consts::FRAC_PI_4 * 2.54e-5 * 2.54e-5;
/// International foot, inch and mile.
pub(super) const FOOT_M: f64 = 0.3048;
pub(super) const INCH_M: f64 = 0.0254;
pub(super) const MILE_M: f64 = 1609.344;

pub(super) const VOLT: Kind = Kind {
    noun: "a voltage",
    example: "12.6 V",
    lowest: SIGNED,
    gauges: false,
    units: &[
        unit(&["V", "volt", "volts"], 1.0, 1.0),
        prefixed(&["mV"], 1.0, 1e3),
        unit(&["uV", "µV", "μV"], 1.0, 1e6),
        unit(&["nV"], 1.0, 1e9),
        unit(&["kV"], 1e3, 1.0),
    ],
};

pub(super) const AMP: Kind = Kind {
    noun: "a current",
    example: "4.0 A",
    lowest: SIGNED,
    gauges: false,
    units: &[
        unit(&["A", "amp", "amps"], 1.0, 1.0),
        prefixed(&["mA"], 1.0, 1e3),
        unit(&["uA", "µA", "μA"], 1.0, 1e6),
        unit(&["nA"], 1.0, 1e9),
        unit(&["kA"], 1e3, 1.0),
    ],
};

pub(super) const OHM: Kind = Kind {
    noun: "a resistance",
    example: "0.35 ohm",
    lowest: 0.0,
    gauges: false,
    units: &[
        // Two characters look like the Greek capital: U+03A9 and the older ohm sign U+2126.
        unit(&["ohm", "ohms", "\u{3a9}", "\u{2126}"], 1.0, 1.0),
        prefixed(&["mohm", "mohms", "m\u{3a9}", "m\u{2126}"], 1.0, 1e3),
        unit(
            &[
                "uohm",
                "uohms",
                "u\u{3a9}",
                "µ\u{3a9}",
                "μ\u{3a9}",
                "µ\u{2126}",
                "μ\u{2126}",
            ],
            1.0,
            1e6,
        ),
        unit(&["kohm", "kohms", "k\u{3a9}", "k\u{2126}"], 1e3, 1.0),
        prefixed(&["Mohm", "Mohms", "M\u{3a9}", "M\u{2126}"], 1e6, 1.0),
        unit(&["Gohm", "Gohms", "G\u{3a9}", "G\u{2126}"], 1e9, 1.0),
    ],
};

pub(super) const WATT: Kind = Kind {
    noun: "a power",
    example: "55 W",
    lowest: SIGNED,
    gauges: false,
    units: &[
        unit(&["W", "watt", "watts"], 1.0, 1.0),
        prefixed(&["mW"], 1.0, 1e3),
        unit(&["uW", "µW", "μW"], 1.0, 1e6),
        unit(&["kW"], 1e3, 1.0),
    ],
};

pub(super) const METRE: Kind = Kind {
    noun: "a length",
    example: "5 m",
    lowest: 0.0,
    gauges: false,
    units: &[
        unit(&["m", "metre", "metres", "meter", "meters"], 1.0, 1.0),
        unit(&["mm"], 1.0, 1e3),
        unit(&["cm"], 1.0, 1e2),
        unit(&["km"], 1e3, 1.0),
        unit(&["ft", "foot", "feet", "'"], FOOT_M, 1.0),
        unit(&["in", "inch", "inches", "\""], INCH_M, 1.0),
        unit(&["mi", "mile", "miles"], MILE_M, 1.0),
    ],
};

pub(super) const AREA: Kind = Kind {
    noun: "a conductor size",
    example: "1.5 mm2` or `14 AWG",
    lowest: 0.0,
    gauges: true,
    units: &[
        unit(&["mm2", "mm²", "mm^2", "sqmm"], 1.0, 1e6),
        unit(
            &["cmil", "circular mil", "circular mils"],
            CIRCULAR_MIL_M2,
            1.0,
        ),
        unit(&["kcmil"], CIRCULAR_MIL_M2 * 1e3, 1.0),
    ],
};

pub(super) const PASCAL: Kind = Kind {
    noun: "a pressure",
    example: "300 kPa` or `44 psi",
    lowest: SIGNED,
    gauges: false,
    units: &[
        unit(&["kPa"], 1e3, 1.0),
        unit(&["Pa"], 1.0, 1.0),
        prefixed(&["MPa"], 1e6, 1.0),
        unit(&["bar"], 1e5, 1.0),
        prefixed(&["mbar"], 1e2, 1.0),
        unit(&["psi"], PSI_PA, 1.0),
    ],
};

pub(super) const FLOW: Kind = Kind {
    noun: "a flow",
    example: "108 L/h` or `28 gal/h",
    lowest: SIGNED,
    gauges: false,
    units: &[
        unit(&["L/h", "L/hr", "lph"], 1.0, 3.6e6),
        unit(&["L/min", "lpm"], 1.0, 6e4),
        prefixed(&["mL/min"], 1.0, 6e7),
        unit(&["gal/h", "gal/hr", "gph"], GALLON_M3, 3600.0),
        unit(&["gal/min", "gpm"], GALLON_M3, 60.0),
    ],
};

pub(super) const VOLUME: Kind = Kind {
    noun: "a volume",
    example: "0.5 L` or `1 gal",
    lowest: 0.0,
    gauges: false,
    units: &[
        unit(&["L", "litre", "litres", "liter", "liters"], 1.0, 1e3),
        prefixed(&["mL"], 1.0, 1e6),
        unit(&["gal", "gallon", "gallons"], GALLON_M3, 1.0),
        unit(&["qt", "quart", "quarts"], GALLON_M3, 4.0),
        unit(&["pt", "pint", "pints"], GALLON_M3, 8.0),
        unit(&["fl oz", "floz"], GALLON_M3, 128.0),
    ],
};

pub(super) const SECONDS: Kind = Kind {
    noun: "a time",
    example: "2 s` or `10 min",
    lowest: 0.0,
    gauges: false,
    units: &[
        unit(&["s", "sec", "second", "seconds"], 1.0, 1.0),
        unit(&["ms"], 1.0, 1e3),
        unit(&["us", "µs", "μs"], 1.0, 1e6),
        unit(&["min", "minute", "minutes"], 60.0, 1.0),
        unit(&["h", "hr", "hour", "hours"], 3600.0, 1.0),
    ],
};

pub(super) const CELSIUS: Kind = Kind {
    noun: "a temperature",
    example: "20 C` or `68 F",
    lowest: -273.15,
    gauges: false,
    units: &[
        unit(&["C", "°C", "degC", "deg C"], 1.0, 1.0),
        shifted(&["F", "°F", "degF", "deg F"], -32.0, 5.0, 9.0),
        shifted(&["K", "kelvin"], -273.15, 1.0, 1.0),
    ],
};
