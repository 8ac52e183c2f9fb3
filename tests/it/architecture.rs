//! The structure of the project, held by reading its files: layers, forbidden words, file lengths,
//! the folders at the top.

mod paths;
mod rules;
mod tokens;

use std::fs;
use std::path::{Path, PathBuf};

use rules::{LAYERS, LONGEST_FILE, offences};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The names in a folder, sorted.
fn names(folder: &Path) -> Vec<String> {
    let entries =
        fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// All Rust files under `folder`, sorted.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for name in names(folder) {
        let path = folder.join(&name);
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files
}

/// The module a file under `src` is: `["units", "show"]`, `["main"]`; empty for `lib.rs`.
fn module_of(file: &Path) -> Vec<String> {
    let inside = file
        .strip_prefix(root().join("src"))
        .expect("a file under src");
    let mut module: Vec<String> = inside
        .with_extension("")
        .iter()
        .map(|part| part.to_string_lossy().into_owned())
        .collect();
    module.pop_if(|last| last == "mod");
    if module == ["lib"] {
        Vec::new()
    } else {
        module
    }
}

fn assert_clean(module: &[&str], source: &str) {
    assert_eq!(
        offences(module, source),
        Vec::<String>::new(),
        "in {module:?}: {source}"
    );
}

/// `source` must be refused in `module` with a complaint that contains `part`.
fn assert_refused(module: &[&str], source: &str, part: &str) {
    let found = offences(module, source);
    assert!(
        found.iter().any(|complaint| complaint.contains(part)),
        "`{part}` not among {found:?} in {module:?} for: {source}"
    );
}

#[test]
fn every_source_file_keeps_to_its_layer_and_its_words() {
    let files = rust_files(&root().join("src"));
    assert!(files.len() > 2, "only {} files under src", files.len());
    let mut wrong = Vec::new();
    for file in &files {
        let source = fs::read_to_string(file).unwrap();
        let module = module_of(file);
        let module: Vec<&str> = module.iter().map(String::as_str).collect();
        let shown = file.strip_prefix(root()).unwrap().display();
        wrong.extend(
            offences(&module, &source)
                .into_iter()
                .map(|complaint| format!("{shown}:{complaint}")),
        );
    }
    assert!(
        wrong.is_empty(),
        "{} offences:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn every_entry_under_src_is_a_module_in_the_list_and_declared() {
    let library = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    let declared: Vec<String> = tokens::tokens(&library)
        .windows(2)
        .filter(|pair| pair[0].text == "mod")
        .map(|pair| pair[1].text.clone())
        .collect();
    let mut present: Vec<String> = names(&root().join("src"))
        .into_iter()
        .map(|name| name.trim_end_matches(".rs").to_owned())
        .filter(|name| name != "lib" && name != "main")
        .collect();
    present.dedup();
    for name in present.iter().chain(&declared) {
        assert!(
            LAYERS.contains(&name.as_str()),
            "`{name}` is no module in the list"
        );
        assert!(
            present.contains(name) && declared.contains(name),
            "`{name}` is not both there and declared"
        );
    }
}

#[test]
fn the_top_of_the_project_holds_only_what_belongs_there() {
    let belongs = [
        "Cargo.lock",
        "Cargo.toml",
        "DEVELOPERS.md",
        "LICENSE",
        "README.md",
        "docs",
        "scenarios",
        "src",
        "target",
        "tests",
    ];
    for name in names(root()) {
        assert!(
            name.starts_with('.') || belongs.contains(&name.as_str()),
            "`{name}` does not belong at the top"
        );
    }
}

#[test]
fn no_test_is_switched_off() {
    for file in rust_files(&root().join("tests")) {
        let tokens = tokens::tokens(&fs::read_to_string(&file).unwrap());
        let off = tokens.windows(3).find(|three| {
            three[0].text == "#" && three[1].text == "[" && three[2].text == "ignore"
        });
        assert_eq!(off, None, "{}", file.display());
    }
}

#[test]
fn using_a_module_that_stands_above_is_refused_however_it_is_written() {
    for source in [
        "use crate::circuit::Network;",
        "use crate::{numeric::lu, circuit};",
        "pub(crate) use crate::{self as root, circuit::{Network, solve}};",
        "fn f() { crate::circuit::solve(); }",
        "fn f(n: &crate::circuit::Network) {}",
        "use super::super::circuit::Network;",
        "use super::super::{circuit::Network};",
        "use super::{super::circuit};",
        "mod tests { use super::super::super::circuit::Network; }",
        "mod tests { mod deeper { } use super::super::super::circuit::Network; }",
        "use hidden_ohm::circuit::Network;",
        "macro_rules! m { () => { $crate::circuit::solve() } }",
    ] {
        assert_refused(
            &["numeric", "lu"],
            source,
            "`numeric` must not use `circuit`",
        );
    }
    assert_refused(
        &["units"],
        "use super::seed::Stream;",
        "`units` must not use `seed`",
    );
    assert_refused(
        &["main"],
        "fn main() { hidden_ohm::bay::run() }",
        "`main` must not use `bay`",
    );
    assert_refused(
        &["units"],
        "use crate::util::x;",
        "`util` is no module in the list",
    );
    assert_refused(&["cli"], "use crate::*;", "the crate root as a whole");
    assert_refused(
        &["cli"],
        "use crate as everything;",
        "the crate root as a whole",
    );
}

#[test]
fn using_modules_below_and_ones_own_parts_is_accepted() {
    for source in [
        "use crate::units::{Ohm, Volt};\nuse crate::numeric::lu::Lu;",
        "use super::{Network, part::Part};",
        "use super::super::units::Volt;",
        "use self::stamp::Stamp; use crate::circuit::part::Part;",
        "mod tests { use super::super::Network; use super::super::super::seed::Stream; }",
        "// crate::bay::Bay\n/* use crate::bay; /* nested */ crate::bay */ const S: &str = \"crate::bay::Bay\";",
        "const S: &str = r#\"crate::bay \" \"#; const C: char = '\"'; fn f<'a>(x: &'a str) {} const Q: u8 = b'\\'';",
    ] {
        assert_clean(&["circuit", "solve"], source);
    }
    assert_clean(
        &["main"],
        "fn main() -> std::process::ExitCode { hidden_ohm::cli::run() }",
    );
}

#[test]
fn forbidden_words_are_refused_where_they_are_forbidden() {
    for (module, source, part) in [
        ("pump", "let y = x.exp();", "2: `exp`"),
        ("pump", "let y = 2.0_f64.ln();", "`ln`"),
        ("pump", "let y = pair.0.tanh();", "`tanh`"),
        ("pump", "let y = x.powi(2);", "`powi`"),
        ("pump", "let y = x.mul_add(a, b);", "`mul_add`"),
        (
            "pump",
            "let y: Vec<f64> = x.map(f64::sin).collect();",
            "`sin`",
        ),
        ("pump", "let y = <f64>::powf(x, 2.0);", "`powf`"),
        ("pump", "let y = std::primitive::f64::cbrt(x);", "`cbrt`"),
        (
            "cli",
            "use std::collections::{BTreeMap, HashMap};",
            "`HashMap`",
        ),
        ("bay", "let t = std::time::Instant::now();", "`std::time`"),
        ("bay", "let t = jiff::Timestamp::now();", "`now`"),
        ("scenario", "let x: u64 = rand::random();", "`rand`"),
        (
            "scenario",
            "use {rand_chacha::ChaCha8Rng};",
            "`rand_chacha`",
        ),
        ("console", "println!(\"hello\");", "`println`"),
        ("console", "std::io::stdout().flush();", "`stdout`"),
        (
            "vehicle",
            "let t = std::fs::read_to_string(p);",
            "`std::fs`",
        ),
        ("vehicle", "use std::{env, fmt};", "`std::env`"),
        ("vehicle", "use ::std::process::exit;", "`std::process`"),
        ("score", "let v = std::env::var(\"X\");", "`std::env`"),
        ("cli", "let v = todo!();", "`todo`"),
        ("units", "// FIXME later", "unfinished"),
        ("report", "use anstream::println as say;", "`anstream`"),
    ] {
        assert_refused(&[module], &format!("fn f() {{\n{source}\n}}"), part);
    }
    assert_refused(
        &["units"],
        &"\n".repeat(LONGEST_FILE + 1),
        "split it by idea",
    );
}

#[test]
fn permitted_words_and_look_alikes_are_accepted() {
    for (module, source) in [
        (
            "cli",
            "println!(\"x\"); let t = std::time::SystemTime::now(); let f = std::fs::read(p);",
        ),
        ("record", "let f = std::fs::File::open(p);"),
        ("seed", "let x: u64 = rand::random();"),
        (
            "pump",
            "let y = libm::exp(x) + x.sqrt() + libm::pow(x, 2.0) + std::f64::consts::PI;",
        ),
        (
            "bay",
            "self.log(line); let t = Clock::now(); let exp = 3; journal.exp(x, y); // x.exp() and println!()",
        ),
        (
            "console",
            "let text = \"println!() HashMap x.exp()\"; let env = env!(\"CARGO_PKG_NAME\");",
        ),
        ("units", "let rand = 3; let now = 4; fn stdout() {}"),
    ] {
        assert_clean(&[module], &format!("fn f() {{ {source} }}"));
    }
    assert_clean(&["units"], &"\n".repeat(LONGEST_FILE));
}
