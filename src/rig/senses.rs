//! What eyes, ears and hands find on the vehicle, from the same physics as the readings.

use super::Rig;
use crate::fault::{self, Sense};
use crate::seed::Stream;
use crate::vehicle::{Key, PartId};

/// What is heard of the pump.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum PumpSound {
    /// Nothing.
    Silent,
    /// The motor hums under power without turning.
    HumsWithoutTurning,
    /// It runs; speed in revolutions a minute, and whether it whines starved.
    Runs {
        /// Speed.
        rpm: f64,
        /// A harsh whine: the inlet boils.
        starved: bool,
    },
}

impl PumpSound {
    /// The sound of a pump at `rad_s` with `amps` through it.
    #[must_use]
    pub fn of(rad_s: f64, amps: f64, starved: bool) -> PumpSound {
        /// A stalled motor is heard above this current, A; ours, no source.
        const HUM_A: f64 = 1.0;
        let rpm = rad_s * 60.0 / core::f64::consts::TAU;
        if rpm >= 60.0 {
            PumpSound::Runs { rpm, starved }
        } else if amps >= HUM_A {
            PumpSound::HumsWithoutTurning
        } else {
            PumpSound::Silent
        }
    }
}

/// How warm a part feels.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Warmth {
    /// As the air around it.
    Cold,
    /// Clearly warm.
    Warm,
    /// Too hot to hold.
    Hot,
}

impl Rig {
    /// Engine speed, revolutions a minute: what the vehicle's engine does at this load, a little different from one
    /// engine to the next, lower where the mixture is lean, and what the starter manages while it cranks.
    #[must_use]
    pub fn engine_rpm(&self) -> f64 {
        /// A starter on a good battery, revolutions a minute (common practice, no source).
        const CRANKING: f64 = 210.0;
        /// Engines of one type idle apart by so much either way; ours, no source.
        const APART: f64 = 0.03;
        /// What is left of the idle speed of an engine that gets too little fuel; ours, no source.
        const LEAN: f64 = 0.88;
        let own = Stream::named(self.seed, "engine speed").between(1.0 - APART, 1.0 + APART);
        let load = match self.controls.key {
            Key::Off | Key::On => return 0.0,
            Key::Crank => return CRANKING * own,
            Key::Run => self.controls.load as usize,
        };
        let engine = &self.vehicle.engine;
        let wanted_pa = self.wanted_pa() + self.demand().manifold_pa;
        let lean = self.rail_pa < engine.fade_fraction * wanted_pa;
        engine.rpm[load] * own * if lean { LEAN } else { 1.0 }
    }

    /// What a sense finds on a part: the harmless traces of age that sound parts show as well, and what a fault shows.
    /// Both speak the same words, so that a line by itself gives nothing away.
    #[must_use]
    pub fn sense(&self, sense: Sense, part: PartId) -> Vec<String> {
        let renewed = self.generation.contains_key(&part);
        let signs = if renewed {
            Vec::new()
        } else {
            fault::signs(&self.vehicle, &self.catalogue, part, sense, self.seed)
        };
        let clues = self
            .faults
            .iter()
            .filter(|present| present.fault.site.part == part)
            .filter_map(|present| fault::clue(&self.catalogue, &present.fault, sense));
        let mut found: Vec<String> = signs.into_iter().chain(clues).map(str::to_owned).collect();
        found.sort();
        found.dedup();
        found
    }

    /// How warm the hottest of a part's joints and wires feels just now.
    #[must_use]
    pub fn warmth(&self, part: PartId) -> Warmth {
        /// Bare metal burns a hand that holds it for ten seconds above about this, degrees Celsius (ISO 13732-1, from
        /// memory).
        const BURNS_C: f64 = 55.0;
        /// A hand tells this much from the metal around it, K; ours, no source.
        const NOTICED_K: f64 = 8.0;
        let ambient_c = self.conditions.ambient_c;
        let hottest_c = self.surface_celsius(part);
        if hottest_c >= BURNS_C {
            Warmth::Hot
        } else if hottest_c - ambient_c >= NOTICED_K {
            Warmth::Warm
        } else {
            Warmth::Cold
        }
    }
}
