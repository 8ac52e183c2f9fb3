//! Scoring rules for stated probabilities (Brier 1950; Gneiting and Raftery, "Strictly proper scoring rules, prediction,
//! and estimation", JASA 102, 2007). A rule is proper if nobody can expect a better score than by stating what they
//! believe.

/// Probabilities below this are scored as this by the logarithmic rule, which has no lower end.
pub const CLIP: f64 = 0.001;

/// A rule that scores stated probabilities against what turned out true.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Rule {
    /// `log2` of the probability of what was true, clipped at [`CLIP`]; more is better, 0 the best.
    Logarithmic,
    /// Squared distance from certainty in what was true, 0 the best, 2 the worst.
    Brier,
    /// Probability of what was true over the length of the vector; 1 the best.
    Spherical,
    /// The probability of what was true itself. Improper: it pays to overstate. Here to show why it is not used.
    Linear,
}

impl Rule {
    /// Scores `stated` when `truth` turned out to be the case.
    #[must_use]
    pub fn score(self, stated: &[f64], truth: usize) -> f64 {
        match self {
            Rule::Logarithmic => libm::log2(stated[truth].max(CLIP)),
            Rule::Brier => {
                let squares = stated.iter().enumerate().map(|(index, &q)| {
                    let off = if index == truth { q - 1.0 } else { q };
                    off * off
                });
                squares.sum()
            }
            Rule::Spherical => stated[truth] / stated.iter().map(|q| q * q).sum::<f64>().sqrt(),
            Rule::Linear => stated[truth],
        }
    }

    /// What somebody who believes `believed` can expect from stating `stated`.
    #[must_use]
    pub fn expected(self, believed: &[f64], stated: &[f64]) -> f64 {
        believed
            .iter()
            .enumerate()
            .map(|(truth, &p)| p * self.score(stated, truth))
            .sum()
    }

    /// Whether the second of two scores is the better one.
    #[must_use]
    pub fn is_better(self, than: f64, score: f64) -> bool {
        if self == Rule::Brier {
            score < than
        } else {
            score > than
        }
    }
}
