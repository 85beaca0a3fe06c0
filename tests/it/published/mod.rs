//! Checks against published values; the source stands beside each.

mod coefficients;
mod nist;
mod orthogonal;
mod uncertainty;
mod water;
