//! Hints and guidance at the prompt: what the learner could know by now, never what is hidden.

use crate::bay::{Action, Bay, Refusal};
use crate::evidence::Pool;
use crate::score::{Coach, HintDepth, WEIGHTS};

/// Sections named in the line of guidance.
const SECTIONS_NAMED: usize = 3;
/// A section less likely than this is not named.
const WORTH_NAMING: f64 = 0.05;

/// Who can be asked at one prompt.
#[derive(Default)]
pub(super) struct Asking {
    coach: Option<Coach>,
    /// The deepest hint given since the last thing that was done.
    given: Option<HintDepth>,
    /// Guidance follows every step that changes it.
    guided: bool,
    /// What was said last, so that it is not said again.
    guidance: Vec<String>,
}

impl Asking {
    /// Whether a line of guidance follows every step.
    pub fn guided(&self) -> bool {
        self.guided
    }

    /// The action of a hint: as deep as asked, or one step deeper than the last one since anything was done.
    pub fn hint(&mut self, bay: &Bay, asked: Option<HintDepth>) -> Result<Action, Refusal> {
        let depth = asked.unwrap_or(match self.given {
            None => HintDepth::Section,
            Some(HintDepth::Section) => HintDepth::Kind,
            Some(HintDepth::Kind | HintDepth::Reading) => HintDepth::Reading,
        });
        let hint = self.coach(bay)?.hint(bay, depth);
        let deeper = match depth {
            HintDepth::Section => "; `hint` again says which kind of test",
            HintDepth::Kind => "; `hint` again says which reading",
            HintDepth::Reading => "",
        };
        let cost = format!(
            "This takes {} off the marks{deeper}.",
            points(&hint.cost.show())
        );
        Ok(Action::Hint {
            depth: depth.number(),
            said: vec![hint.says, cost],
        })
    }

    /// The action of switching guidance on or off.
    pub fn guide(on: bool) -> Action {
        let said = if on {
            "Guided: after every step a line says what could still be wrong by what has been read, and what kind of step would tell \
             most. It knows no more than the readings do. Guided work is for practice; `progress` does not rate it."
        } else {
            "The guide is quiet."
        };
        Action::Aside {
            said: vec![said.to_owned()],
        }
    }

    /// Takes in that an action was accepted.
    pub fn done(&mut self, action: &Action, guide: Option<bool>) {
        match action {
            Action::Hint { depth, .. } => {
                let given = [HintDepth::Section, HintDepth::Kind, HintDepth::Reading]
                    .into_iter()
                    .find(|known| known.number() == *depth);
                self.given = self.given.max(given);
            }
            Action::Aside { .. } => {}
            _ => self.given = None,
        }
        self.guided = guide.unwrap_or(self.guided);
    }

    /// What could still be wrong, and the kind of step that would tell most; nothing if that is as it was.
    pub fn guidance(&mut self, bay: &Bay) -> Result<Vec<String>, Refusal> {
        let coach = self.coach(bay)?;
        let mut sections = coach.sections(bay);
        sections.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let named: Vec<String> = sections
            .iter()
            .filter(|(_, share)| *share >= WORTH_NAMING)
            .take(SECTIONS_NAMED)
            .map(|(section, share)| format!("{section} {}", in_ten(*share)))
            .collect();
        let could = if named.is_empty() {
            "nothing stands out".to_owned()
        } else {
            named.join(", ")
        };
        let said = vec![
            format!("Guide: trouble by now in {could}."),
            coach.hint(bay, HintDepth::Kind).says,
        ];
        if said == self.guidance {
            return Ok(Vec::new());
        }
        self.guidance.clone_from(&said);
        Ok(said)
    }

    fn coach(&mut self, bay: &Bay) -> Result<&mut Coach, Refusal> {
        let coach = if let Some(coach) = self.coach.take() {
            coach
        } else {
            let pool = Pool::shared(bay.vehicle(), bay.catalogue(), bay.level());
            let pool = pool.map_err(|error| Refusal {
                error: format!("what this vehicle could have cannot be worked out: {error}"),
                hint: "the work goes on without hints".into(),
            })?;
            Coach::new(&pool, bay, &WEIGHTS)
        };
        Ok(self.coach.insert(coach))
    }
}

/// `3 in 10`, in words that do not promise more than a belief can.
fn in_ten(share: f64) -> String {
    let tenths = libm::round(share * 10.0);
    if tenths < 1.0 {
        "less than 1 in 10".to_owned()
    } else if tenths > 9.0 {
        "more than 9 in 10".to_owned()
    } else {
        format!("about {tenths:.0} in 10")
    }
}

fn points(shown: &str) -> String {
    format!("{shown} point{}", if shown == "1" { "" } else { "s" })
}
