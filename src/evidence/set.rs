//! Small sets of hypotheses as bits.

/// A set of numbers below [`Set::CAPACITY`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub struct Set {
    words: [u64; Set::WORDS],
}

impl Set {
    const WORDS: usize = 4;
    /// One more than the largest member a set can have.
    pub const CAPACITY: usize = 64 * Set::WORDS;

    /// The set of all numbers below `count`, which is at most [`Set::CAPACITY`].
    #[must_use]
    pub fn below(count: usize) -> Set {
        let mut set = Set::default();
        for member in 0..count.min(Set::CAPACITY) {
            set.insert(member);
        }
        set
    }

    /// Puts a number in; one that is too large is left out.
    pub fn insert(&mut self, member: usize) {
        if let Some(word) = self.words.get_mut(member / 64) {
            *word |= 1 << (member % 64);
        }
    }

    /// Whether a number is in.
    #[must_use]
    pub fn contains(&self, member: usize) -> bool {
        self.words
            .get(member / 64)
            .is_some_and(|word| word >> (member % 64) & 1 == 1)
    }

    /// What is in both.
    #[must_use]
    pub fn and(&self, other: &Set) -> Set {
        let mut both = *self;
        both.words
            .iter_mut()
            .zip(&other.words)
            .for_each(|(a, b)| *a &= b);
        both
    }

    /// Whether nothing is in.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.words == [0; Set::WORDS]
    }

    /// How many are in.
    #[must_use]
    pub fn len(&self) -> usize {
        self.words
            .iter()
            .map(|word| word.count_ones() as usize)
            .sum()
    }

    /// The members in order.
    pub fn iter(&self) -> impl Iterator<Item = usize> + use<> {
        let words = self.words;
        words.into_iter().enumerate().flat_map(|(index, word)| {
            let mut left = word;
            std::iter::from_fn(move || {
                (left != 0).then(|| {
                    let bit = left.trailing_zeros() as usize;
                    left &= left - 1;
                    64 * index + bit
                })
            })
        })
    }

    /// The words, for hashing.
    #[must_use]
    pub(super) fn words(&self) -> &[u64] {
        &self.words
    }
}
