//! One test binary.

mod pump;
