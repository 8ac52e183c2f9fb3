//! Documents and screens as data: text tagged with meaning. Knows no terminal and no colour.

pub mod text;
pub mod wire;
