//! Every path that a source file writes, made absolute: `use` trees taken apart, `self` and `super`
//! resolved against the module the path stands in.

use super::tokens::Token;

/// A path as seen from the crate root, or from outside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    /// The first segment is one of our own top-level modules; otherwise the path is as written.
    pub ours: bool,
    /// Without `crate`, `self`, `super`; a glob import ends in `*`.
    pub segments: Vec<String>,
    pub line: usize,
}

/// The paths in `tokens` of the file that is module `module` (empty for the crate root). Of names
/// outside `use`, only those with at least one `::` count.
pub fn paths(tokens: &[Token], module: &[&str]) -> Vec<Path> {
    let mut found = Vec::new();
    // Inline modules that are open, each with the brace depth outside it.
    let mut inline: Vec<(String, usize)> = Vec::new();
    let mut depth = 0;
    let mut at = 0;
    while at < tokens.len() {
        let here = |inline: &[(String, usize)]| -> Vec<String> {
            module
                .iter()
                .map(ToString::to_string)
                .chain(inline.iter().map(|m| m.0.clone()))
                .collect()
        };
        match tokens[at].text.as_str() {
            "mod" if text(tokens, at + 2) == "{" => {
                inline.push((text(tokens, at + 1).to_owned(), depth));
                at += 2;
            }
            "{" => {
                depth += 1;
                at += 1;
            }
            "}" => {
                depth -= 1;
                inline.pop_if(|open| open.1 == depth);
                at += 1;
            }
            // `use<'a>` in a return type is no import.
            "use" if text(tokens, at + 1) != "<" => {
                let mut written = Vec::new();
                at = tree(tokens, at + 1, &[], &mut written);
                found.extend(
                    written
                        .into_iter()
                        .map(|(path, line)| resolve(path, line, &here(&inline))),
                );
            }
            name if is_name(name) => {
                let line = tokens[at].line;
                let mut path = vec![name.to_owned()];
                at += 1;
                while text(tokens, at) == "::" && is_name(text(tokens, at + 1)) {
                    path.push(text(tokens, at + 1).to_owned());
                    at += 2;
                }
                if path.len() > 1 {
                    found.push(resolve(path, line, &here(&inline)));
                }
            }
            _ => at += 1,
        }
    }
    found
}

fn text(tokens: &[Token], at: usize) -> &str {
    tokens.get(at).map_or("", |token| token.text.as_str())
}

fn is_name(text: &str) -> bool {
    text.starts_with(|c: char| c.is_alphabetic() || c == '_')
}

/// Reads one `use` tree that starts at `at` below `prefix`; returns where it ends.
fn tree(
    tokens: &[Token],
    mut at: usize,
    prefix: &[String],
    found: &mut Vec<(Vec<String>, usize)>,
) -> usize {
    let mut path = prefix.to_vec();
    loop {
        let line = tokens.get(at).map_or(0, |token| token.line);
        match text(tokens, at) {
            "::" => at += 1,
            "{" => {
                at += 1;
                while !matches!(text(tokens, at), "}" | "") {
                    at = tree(tokens, at, &path, found);
                    if text(tokens, at) == "," {
                        at += 1;
                    }
                }
                return at + 1;
            }
            segment if segment == "*" || is_name(segment) => {
                path.push(segment.to_owned());
                at += 1;
                if text(tokens, at) == "as" {
                    at += 2;
                }
                if text(tokens, at) != "::" {
                    found.push((path, line));
                    return at;
                }
            }
            // Not Rust as we know it; step over it.
            _ => return at + 1,
        }
    }
}

fn resolve(written: Vec<String>, line: usize, module: &[String]) -> Path {
    let mut segments: Vec<String> = Vec::new();
    let mut ours = false;
    for (place, segment) in written.into_iter().enumerate() {
        match segment.as_str() {
            "crate" | "hidden_ohm" if place == 0 => ours = true,
            "self" if place == 0 => {
                ours = true;
                segments = module.to_vec();
            }
            "super" => {
                if place == 0 {
                    segments = module.to_vec();
                }
                ours = true;
                segments.pop();
            }
            // The end of `x::{self}`.
            "self" => {}
            // The same things under another name.
            "core" | "alloc" if place == 0 => segments.push("std".to_owned()),
            _ => segments.push(segment),
        }
    }
    Path {
        ours,
        segments,
        line,
    }
}
