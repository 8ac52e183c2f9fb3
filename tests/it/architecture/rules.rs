//! What may be used where: the layers, and the words that only certain modules may write.

use super::paths::paths;
use super::tokens::{Token, tokens};

/// The top-level modules; each uses only those before it. This is the one place with the order.
pub const LAYERS: [&str; 20] = [
    "units",
    "seed",
    "numeric",
    "circuit",
    "pump",
    "vehicle",
    "fault",
    "rig",
    "instrument",
    "scenario",
    "bay",
    "evidence",
    "certify",
    "score",
    "record",
    "progress",
    "exercise",
    "report",
    "console",
    "cli",
];

/// The longest a source file may be before it is split by idea.
pub const LONGEST_FILE: usize = 600;

/// How a forbidden word is recognised.
enum Sign {
    /// A name anywhere.
    Name,
    /// A path that begins with these segments.
    Path,
    /// A macro, `name!`.
    Macro,
    /// A function or method, `name(`.
    Call,
    /// A method without arguments, `.name()`.
    BareMethod,
    /// A method with arguments, `.name(x)`.
    MethodWith,
    /// A function of a float type, `f64::name`.
    OfFloat,
    /// A function of a type that reads the clock, `Zoned::name`.
    OfClock,
}

struct Rule {
    sign: Sign,
    words: &'static [&'static str],
    /// Top-level modules that may.
    allowed: &'static [&'static str],
    why: &'static str,
}

const LIBM: &str = "its last digit depends on the platform; use the `libm` crate";
const CLI: &str = "only `cli` touches the world";

const RULES: &[Rule] = &[
    Rule {
        sign: Sign::BareMethod,
        words: &[
            "exp", "exp2", "exp_m1", "ln", "ln_1p", "log2", "log10", "sin", "cos", "tan",
            "sin_cos", "asin", "acos", "atan", "sinh", "cosh", "tanh", "asinh", "acosh", "atanh",
            "cbrt",
        ],
        allowed: &[],
        why: LIBM,
    },
    Rule {
        sign: Sign::MethodWith,
        // `log(base)` is left to clippy, which knows the type: our own types keep logs.
        words: &["powf", "powi", "atan2", "hypot", "mul_add"],
        allowed: &[],
        why: LIBM,
    },
    Rule {
        sign: Sign::OfFloat,
        words: &[
            "exp", "exp2", "exp_m1", "ln", "ln_1p", "log", "log2", "log10", "sin", "cos", "tan",
            "sin_cos", "asin", "acos", "atan", "atan2", "sinh", "cosh", "tanh", "asinh", "acosh",
            "atanh", "cbrt", "powf", "powi", "hypot", "mul_add",
        ],
        allowed: &[],
        why: LIBM,
    },
    Rule {
        sign: Sign::Name,
        words: &["HashMap", "HashSet"],
        allowed: &[],
        why: "its order differs from run to run; use `BTreeMap` or `Vec`",
    },
    Rule {
        sign: Sign::Path,
        words: &["std::time"],
        allowed: &["cli"],
        why: "only `cli` reads clocks",
    },
    Rule {
        sign: Sign::OfClock,
        words: &["now"],
        allowed: &["cli"],
        why: "only `cli` reads clocks",
    },
    Rule {
        sign: Sign::Path,
        words: &["rand", "rand_core", "rand_chacha", "getrandom"],
        allowed: &["seed"],
        why: "`seed` is the only maker of generators",
    },
    Rule {
        sign: Sign::Name,
        words: &["thread_rng", "RandomState"],
        allowed: &["seed"],
        why: "`seed` is the only maker of generators",
    },
    Rule {
        sign: Sign::Macro,
        words: &["print", "println", "eprint", "eprintln"],
        allowed: &["cli"],
        why: CLI,
    },
    Rule {
        sign: Sign::Call,
        words: &["stdin", "stdout", "stderr"],
        allowed: &["cli"],
        why: CLI,
    },
    Rule {
        sign: Sign::Path,
        words: &["std::fs"],
        allowed: &["record", "cli"],
        why: "only `record` and `cli` use files",
    },
    Rule {
        sign: Sign::Path,
        words: &["std::process"],
        allowed: &["cli", "main"],
        why: CLI,
    },
    Rule {
        sign: Sign::Path,
        words: &["std::env", "std::thread", "std::net"],
        allowed: &["cli"],
        why: CLI,
    },
    Rule {
        sign: Sign::Path,
        words: &["anstream", "clap", "rustyline", "terminal_size", "etcetera"],
        allowed: &["cli"],
        why: "only `cli` knows the terminal and the user's folders",
    },
    Rule {
        sign: Sign::Macro,
        words: &["dbg", "todo", "unimplemented"],
        allowed: &[],
        why: "unfinished work does not go in",
    },
];

/// What is wrong with `source`, the file of module `module` (`["units", "show"]`; `["main"]` for the
/// binary), as `line: text`.
pub fn offences(module: &[&str], source: &str) -> Vec<String> {
    let tokens = tokens(source);
    let mut found = layer_offences(module, &tokens);
    found.extend(word_offences(module, &tokens));
    for (index, line) in source.lines().enumerate() {
        if ["TODO", "FIXME"].iter().any(|mark| line.contains(mark)) {
            found.push(format!("{}: unfinished work does not go in", index + 1));
        }
    }
    let lines = source.lines().count();
    if lines > LONGEST_FILE {
        found.push(format!(
            "{lines}: longer than {LONGEST_FILE} lines; split it by idea"
        ));
    }
    found
}

fn layer_offences(module: &[&str], tokens: &[Token]) -> Vec<String> {
    let top = module.first().copied().unwrap_or("");
    // The binary stands on the whole library and uses its last module alone.
    let own = LAYERS.iter().position(|layer| *layer == top);
    let mut found = Vec::new();
    for path in paths(tokens, module).iter().filter(|path| path.ours) {
        let used = path.segments.first().map_or("", String::as_str);
        let complaint = match LAYERS.iter().position(|layer| *layer == used) {
            _ if used == top && !top.is_empty() => continue,
            Some(below) if top == "main" && below + 1 == LAYERS.len() => continue,
            Some(below) if own.is_some_and(|own| below < own) => continue,
            Some(_) => format!("`{top}` must not use `{used}`, which stands above it"),
            None if used.is_empty() || used == "*" => {
                "the crate root as a whole hides what is used".to_owned()
            }
            None => format!("`{used}` is no module in the list"),
        };
        found.push(format!("{}: {complaint}", path.line));
    }
    found
}

fn word_offences(module: &[&str], tokens: &[Token]) -> Vec<String> {
    let top = module.first().copied().unwrap_or("");
    let paths = paths(tokens, module);
    let mut found = Vec::new();
    for rule in RULES.iter().filter(|rule| !rule.allowed.contains(&top)) {
        let mut complain =
            |line: usize, word: &str| found.push(format!("{line}: `{word}`: {}", rule.why));
        match rule.sign {
            Sign::Path => {
                for path in paths.iter().filter(|path| !path.ours) {
                    let written = path.segments.join("::");
                    let hit = |word: &&&str| {
                        written == **word || written.starts_with(&format!("{word}::"))
                    };
                    if let Some(word) = rule.words.iter().find(hit) {
                        complain(path.line, word);
                    }
                }
            }
            _ => {
                for (at, token) in tokens.iter().enumerate() {
                    if rule.words.contains(&token.text.as_str()) && shows(&rule.sign, tokens, at) {
                        complain(token.line, &token.text);
                    }
                }
            }
        }
    }
    found
}

/// Whether the word at `at` is used in the way that `sign` means.
fn shows(sign: &Sign, tokens: &[Token], at: usize) -> bool {
    let text = |place: usize| tokens.get(place).map_or("", |token| token.text.as_str());
    let before = |back: usize| at.checked_sub(back).map_or("", text);
    match sign {
        Sign::Name => true,
        Sign::Macro => text(at + 1) == "!" && text(at + 2) != "=",
        Sign::Call => text(at + 1) == "(" && before(1) != "fn",
        Sign::BareMethod => before(1) == "." && text(at + 1) == "(" && text(at + 2) == ")",
        Sign::MethodWith => before(1) == "." && text(at + 1) == "(" && text(at + 2) != ")",
        Sign::OfFloat => before(1) == "::" && matches!(before(2), "f64" | "f32" | ">"),
        Sign::OfClock => {
            before(1) == "::"
                && matches!(before(2), "Instant" | "SystemTime" | "Timestamp" | "Zoned")
        }
        Sign::Path => false,
    }
}
