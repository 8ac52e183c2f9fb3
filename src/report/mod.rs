//! Documents and screens as data: text tagged with meaning. Knows no terminal and no colour.

pub mod certificate;
pub mod class;
pub mod debrief;
pub mod page;
pub mod progress;
pub mod review;
pub mod rise;
pub mod scorecard;
pub mod story;
pub mod survey;
pub mod text;
pub mod truth;
pub mod wire;

mod words;
