//! Everything a debrief tells, put together once for every face of it: terminal, JSON, page.

use crate::bay::Closed;
use crate::certify::{Certificate, Certifier};
use crate::evidence::Pool;
use crate::rig::RigError;
use crate::scenario::Revealed;
use crate::score::{self, Debrief, Effort, Review, Scorecard};
use crate::units::System;

use super::rise::Rise;

/// The whole of a debrief.
pub struct Story {
    /// The vehicle as printed on the work order, with its own name.
    pub vehicle: String,
    /// What the customer said.
    pub customer: String,
    /// The scenario code, if it has one.
    pub code: Option<String>,
    /// Level, 1 to 5.
    pub level: u8,
    /// Mark of the currency.
    pub currency: String,
    /// Units in which it is told.
    pub system: System,
    /// The marks.
    pub card: Scorecard,
    /// What had been hidden, and where the volts went.
    pub facts: Debrief,
    /// What each action told and cost, belief, misconceptions, what to practise.
    pub review: Review,
    /// What tests can tell the truth from.
    pub certificate: Certificate,
    /// How the pressure rises.
    pub rise: Rise,
}

impl Story {
    /// The story of an attempt. `pool` holds vehicles of its type.
    ///
    /// # Errors
    /// [`RigError`] if the vehicle cannot be solved with or without its faults.
    pub fn of(
        closed: &Closed,
        pool: &Pool,
        system: System,
        effort: Effort,
    ) -> Result<Story, RigError> {
        let truth = &closed.truth;
        let revealed = Revealed {
            vehicle: closed.vehicle.clone(),
            catalogue: truth.catalogue.clone(),
            code: closed.code,
            seed: truth.seed,
            level: closed.level,
            conditions: truth.conditions,
            order: closed.order.clone(),
            redraws: 0,
            tank: truth.tank,
            faults: truth.came_with.clone(),
            allowed: None,
        };
        Ok(Story {
            vehicle: format!("{} \"{}\"", closed.order.vehicle, closed.order.name),
            customer: closed.order.customer.clone(),
            code: closed.code.map(|code| code.to_string()),
            level: closed.level,
            currency: closed.vehicle.currency.clone(),
            system,
            card: score::scorecard(closed, system)?,
            facts: score::debrief(closed, system)?,
            review: score::review(closed, pool, system, effort)?,
            certificate: Certifier::for_one(&revealed).certificate(&revealed)?,
            rise: Rise::of(closed)?,
        })
    }
}
