//! Values remembered by planning state: an open table, the same on every platform and in every run.

use super::problem::State;

/// A table from states to values.
pub(super) struct Memo<V> {
    slots: Vec<u32>,
    entries: Vec<(State, V)>,
}

impl<V> Memo<V> {
    const FIRST: usize = 64;
    /// Marks a free slot.
    const FREE: u32 = u32::MAX;

    pub fn new() -> Memo<V> {
        Memo {
            slots: vec![Self::FREE; Self::FIRST],
            entries: Vec::new(),
        }
    }

    pub fn get(&self, state: &State) -> Option<&V> {
        match self.slots[self.place(state)] {
            Self::FREE => None,
            entry => Some(&self.entries[entry as usize].1),
        }
    }

    /// Remembers a value, instead of an earlier one for the same state.
    pub fn insert(&mut self, state: State, value: V) {
        let place = self.place(&state);
        if let Some((_, known)) = self.entries.get_mut(self.slots[place] as usize) {
            *known = value;
            return;
        }
        // Planning stops by its count of work long before four thousand million states.
        self.slots[place] = u32::try_from(self.entries.len()).unwrap_or(Self::FREE);
        self.entries.push((state, value));
        if 2 * self.entries.len() > self.slots.len() {
            self.grow();
        }
    }

    fn grow(&mut self) {
        self.slots = vec![Self::FREE; 2 * self.slots.len()];
        for index in 0..self.entries.len() {
            let place = self.place(&self.entries[index].0);
            self.slots[place] = u32::try_from(index).unwrap_or(Self::FREE);
        }
    }

    /// The slot of a state, or the free one where it belongs: linear probing, at most half full.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "only the low bits are used"
    )]
    fn place(&self, state: &State) -> usize {
        let mask = self.slots.len() - 1;
        let mut place = mix(state) as usize & mask;
        loop {
            match self.slots[place] {
                Self::FREE => return place,
                entry if self.entries[entry as usize].0 == *state => return place,
                _ => place = (place + 1) & mask,
            }
        }
    }
}

/// Spreads a state over 64 bits by multiplication and folding; the odd constant is 2^64 over the golden ratio.
fn mix(state: &State) -> u64 {
    const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;
    let mut rest = [0; 3];
    for (word, half) in rest.iter_mut().zip(state.done.to_le_bytes().as_chunks().0) {
        *word = u64::from_le_bytes(*half);
    }
    rest[2] = u64::from(state.mode);
    state
        .left
        .words()
        .iter()
        .chain(&rest)
        .fold(0, |sum: u64, &word| {
            let mixed = (sum ^ word).wrapping_mul(GOLDEN);
            mixed ^ mixed >> 29
        })
}
