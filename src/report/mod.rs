//! Documents and screens as data: text tagged with meaning. Knows no terminal and no colour.

pub mod certificate;
pub mod debrief;
pub mod scorecard;
pub mod text;
pub mod truth;
pub mod wire;
