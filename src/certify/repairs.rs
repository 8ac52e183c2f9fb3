//! Which explanations share a repair, as numbers that belief is added up by.

use std::collections::BTreeMap;

use super::atlas::Particle;
use super::cause::Cure;
use crate::vehicle::Vehicle;

/// The repairs of a list of explanations, in the order in which they first come.
pub(super) struct Repairs {
    cures: Vec<Cure>,
    /// Repairs of each explanation, one after the other.
    of: Vec<usize>,
    /// Where each explanation's repairs end.
    ends: Vec<usize>,
    /// A number for each explanation that those with the same repairs share.
    classes: Vec<usize>,
}

impl Repairs {
    pub fn new(particles: &[&Particle]) -> Repairs {
        let mut numbers: BTreeMap<Cure, usize> = BTreeMap::new();
        let mut sets: BTreeMap<&[Cure], usize> = BTreeMap::new();
        let mut all = Repairs {
            cures: Vec::new(),
            of: Vec::new(),
            ends: Vec::with_capacity(particles.len()),
            classes: Vec::with_capacity(particles.len()),
        };
        for particle in particles {
            for &cure in &particle.cures {
                let number = *numbers.entry(cure).or_insert_with(|| {
                    all.cures.push(cure);
                    all.cures.len() - 1
                });
                all.of.push(number);
            }
            all.ends.push(all.of.len());
            let next = sets.len();
            all.classes
                .push(*sets.entry(&particle.cures).or_insert(next));
        }
        all
    }

    /// The repair that is right with most probability, and how likely it is wrong.
    pub fn best(&self, p: &[f64], vehicle: &Vehicle) -> (Cure, f64) {
        let mut masses = vec![0.0; self.cures.len()];
        let mut from = 0;
        for (&end, &p) in self.ends.iter().zip(p) {
            for &cure in &self.of[from..end] {
                masses[cure] += p;
            }
            from = end;
        }
        let mut best = (Cure::HandBack, 0.0);
        for (&cure, mass) in self.cures.iter().zip(masses) {
            // Of two that are as likely right the cheaper is done.
            let better = mass > best.1 + 1e-9
                || (mass > best.1 - 1e-9
                    && cure.whole_minutes(vehicle) < best.0.whole_minutes(vehicle));
            if better {
                best = (cure, mass);
            }
        }
        (best.0, (1.0 - best.1).max(0.0))
    }

    /// A number from 0 up for each set of repairs among these explanations, in the order in which they first come; and
    /// how many there are.
    pub fn classes(&self, of: &[usize]) -> (Vec<usize>, usize) {
        let mut known = vec![usize::MAX; self.classes.len()];
        let mut count = 0;
        let class = |&at: &usize| {
            let slot = &mut known[self.classes[at]];
            if *slot == usize::MAX {
                *slot = count;
                count += 1;
            }
            *slot
        };
        let classes = of.iter().map(class).collect();
        (classes, count)
    }
}
