//! The instructor's side: item statistics, exercises, attempts, marking.

mod file;
mod handout;
mod items;
mod marking;
mod results;
mod tamper;
mod two_roles;
mod untrusted;
