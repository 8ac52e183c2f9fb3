//! The pump module against published figures, conservation laws and an outside integrator.
mod van;
