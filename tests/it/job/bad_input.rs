//! Bad input.
