//! One test binary.

<<<<<<< HEAD
mod seed;

mod units;
mod circuit;
=======
mod pump;
>>>>>>> pump
