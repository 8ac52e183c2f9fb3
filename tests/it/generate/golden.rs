//! Digests.
