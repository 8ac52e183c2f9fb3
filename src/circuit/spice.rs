//! SPICE deck.
