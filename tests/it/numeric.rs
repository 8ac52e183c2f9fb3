//! Numerical methods against textbook problems with known answers.

mod laplacian;
mod lu;
mod root;
