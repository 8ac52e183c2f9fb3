//! Completion: what may be typed next, from the table of words and the vehicle's own names.

use super::Names;
use super::args::begins;
use super::grammar;
use super::measures::goes_on;
use super::sections;
use super::table::words;
use super::words::{Group, Slot};

/// Where the piece under the cursor starts, and what it could become.
#[must_use]
pub fn complete(line: &str, cursor: usize, names: &Names) -> (usize, Vec<String>) {
    let typed = line.get(..cursor).unwrap_or(line);
    let start = typed.rfind(char::is_whitespace).map_or(0, |at| {
        at + typed[at..].chars().next().map_or(1, char::len_utf8)
    });
    let piece = &typed[start..];
    let before: Vec<&str> = typed[..start].split_whitespace().collect();
    let Some((first, given)) = before.split_first() else {
        return (start, fitting(piece, words().map(|word| word.name)));
    };
    let Ok(word) = grammar::word(first) else {
        return (start, Vec::new());
    };
    if let [Slot::Call] = word.slots {
        return call(typed, start, given);
    }
    (
        start,
        slot_after(word.slots, given).map_or_else(Vec::new, |slot| candidates(slot, piece, names)),
    )
}

/// What may stand after the pieces given; a number and its unit fill one slot, and some words end a line.
fn slot_after(slots: &[Slot], mut given: &[&str]) -> Option<Slot> {
    const LAST: [&str; 6] = ["off", "zero", "auto", "standard", "needle", "probe"];
    let ends = |piece: &&str| LAST.iter().any(|last| last.eq_ignore_ascii_case(piece));
    if given.iter().any(ends) {
        return None;
    }
    let mut before = "";
    for &slot in slots {
        let Some((&first, rest)) = given.split_first() else {
            let after = match slot {
                Slot::PartAfter(word, _) => begins(word, before),
                _ => true,
            };
            return after.then_some(slot);
        };
        before = first;
        given = match (slot, rest.split_first()) {
            (Slot::Number(_), Some((second, further))) if goes_on(first, second) => further,
            // Its unit is still to come.
            (Slot::Number(_), None) if goes_on(first, "m") => return None,
            _ => rest,
        };
    }
    None
}

fn candidates(slot: Slot, piece: &str, names: &Names) -> Vec<String> {
    match slot {
        // What may be left out is not put in unasked.
        Slot::Choice([_]) if piece.is_empty() => Vec::new(),
        Slot::Choice(words) | Slot::Number(words) => fitting(piece, words.iter().copied()),
        Slot::Point(words) => fitting(piece, names.points().chain(words.iter().copied())),
        Slot::Part(words) => fitting(piece, names.parts().chain(words.iter().copied())),
        Slot::PartFor(what, words) => {
            fitting(piece, names.parts_for(what).chain(words.iter().copied()))
        }
        Slot::PartAfter(_, what) => fitting(piece, names.parts_for(what)),
        Slot::Target => {
            let legs = names
                .parts()
                .flat_map(|part| names.legs(part).map(move |leg| format!("{part}.{leg}")));
            let mut all = fitting(piece, names.parts());
            // Legs only once the part is there; otherwise the list hides the parts.
            if piece.contains('.') || all.len() <= 1 {
                all.extend(legs.filter(|name| begins(name, piece)));
            }
            all
        }
        Slot::Access => fitting(piece, names.accesses()),
        Slot::Word => fitting(
            piece,
            words()
                .map(|word| word.name)
                .chain(Group::ALL.map(Group::heading)),
        ),
        Slot::Call => Vec::new(),
    }
}

/// A section may be two words, so it is completed from its own start; after it comes the verdict.
fn call(typed: &str, start: usize, given: &[&str]) -> (usize, Vec<String>) {
    let named = !given.is_empty() && sections::named(&given.join(" ")).is_ok();
    if named
        && given
            .iter()
            .all(|piece| !["good", "bad", "unsure"].contains(&piece.to_ascii_lowercase().as_str()))
    {
        let mut verdicts = fitting(&typed[start..], ["good", "bad", "unsure"].into_iter());
        // `ground` alone is already clear, yet its second word may still follow.
        let rest = given.join(" ") + " " + &typed[start..];
        let longer = sections::all()
            .map(|section| section.to_string())
            .filter(|name| begins(name, &rest));
        verdicts.extend(longer.filter_map(|name| name.rsplit(' ').next().map(str::to_owned)));
        return (start, verdicts);
    }
    let from = given
        .first()
        .map_or(start, |first| typed.find(first).unwrap_or(start));
    let sections: Vec<String> = sections::all().map(|section| section.to_string()).collect();
    (
        from,
        fitting(&typed[from..], sections.iter().map(String::as_str)),
    )
}

fn fitting<'n>(piece: &str, names: impl Iterator<Item = &'n str>) -> Vec<String> {
    names
        .filter(|name| piece.is_empty() || begins(name, piece))
        .map(str::to_owned)
        .collect()
}
