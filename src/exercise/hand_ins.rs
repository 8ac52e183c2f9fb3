//! Files that were handed in together: which are copies of each other, and which claim to be the same try.

use std::collections::BTreeMap;

use super::marked::{Marked, Verdict};

/// Looks at all files together and puts down what one file by itself does not show: that another is the same file, or
/// another file of the same learner, vehicle and try, which is how a try that was not counted looks.
pub fn compare(all: &mut [Marked]) {
    let mut tries: BTreeMap<(String, u32, u32), Vec<usize>> = BTreeMap::new();
    for (at, marked) in all.iter().enumerate() {
        if marked.verdict == Verdict::Foreign {
            continue;
        }
        if let (Some(learner), Some(vehicle), Some(number)) =
            (&marked.learner, marked.vehicle, marked.attempt)
        {
            let same = tries.entry((learner.clone(), vehicle, number)).or_default();
            same.push(at);
        }
    }
    for same in tries.values() {
        for (place, &at) in same.iter().enumerate() {
            let before = &same[..place];
            let copied = before
                .iter()
                .find(|&&first| all[at].receipt.is_some() && all[at].receipt == all[first].receipt);
            if let Some(&first) = copied {
                let file = all[first].file.clone();
                let same = format!("It is the same file as {file} and counts once.");
                all[at].remarks.push(same);
                all[at].marks = None;
                all[at].copy_of = Some(file);
            } else if let Some(&first) = before.first() {
                let (one, other) = (another(&all[first]), another(&all[at]));
                all[at].remarks.push(one);
                all[first].remarks.push(other);
            }
        }
    }
}

fn another(marked: &Marked) -> String {
    let file = &marked.file;
    format!("{file} says that it is the same try of the same learner.")
}
