//! The pump module against published figures, conservation laws and an outside integrator.
mod anything;
mod balance;
mod deck;
mod faults;
mod fluids;
mod hold;
mod motor;
mod published;
mod scipy;
mod stiff;
mod sweep;
mod van;
mod van_figures;
mod waveform;
