//! What can be told apart on one vehicle.
