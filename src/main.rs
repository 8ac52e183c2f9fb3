//! The thin binary: everything happens in the library.
fn main() {}
