//! `exercise`: the instructor's side, and the learner's attempt at one.

pub(super) mod arguments;
mod author;
mod exports;
pub(super) mod hall;
mod intake;
mod items;
pub(super) mod load;
mod mark;
pub(super) mod start;

use arguments::Exercise;

use super::arguments::Units;
use super::failure::Failure;
use super::ui::Ui;

/// Does what was asked.
pub(super) fn run(asked: &Exercise, units: Units, ui: &mut Ui) -> Result<(), Failure> {
    match asked {
        Exercise::New(asked) => author::new(asked, ui),
        Exercise::Check(asked) => author::check(asked, ui),
        Exercise::Key { file } => author::key(file, ui),
        Exercise::Handout(asked) => author::handout(asked, ui),
        Exercise::Show { exercise } => author::show(exercise, ui),
        Exercise::Start(asked) => start::start(asked, units, ui),
        Exercise::Receipt { attempt } => mark::receipt(attempt, ui),
        Exercise::Mark(asked) => mark::mark(asked, ui),
        Exercise::Pack { attempts } => mark::pack(attempts, ui),
        Exercise::Reveal { exercise, secret } => author::reveal(exercise, secret, ui),
        Exercise::Items(asked) => items::items(asked, ui),
        Exercise::Raters(asked) => items::raters(asked, ui),
    }
}
