//! Types owned by layers above that are still on their own branches.
#![allow(missing_docs)]

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Money(pub i64);
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub usize);
#[derive(Clone, Debug, PartialEq)]
pub struct PumpUnit;
#[derive(Clone, Debug, PartialEq)]
pub struct Hydraulics;
