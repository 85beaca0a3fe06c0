//! Numbers of water and of orifices: plain functions in SI units.
//!
//! ```text
//! water, air, gravity ---+
//! head ------------------+--> coefficients --> published, plausible
//! flow ------------------+
//! tension, drag, buoyancy: second-order effects; corrections offers them with their size
//! single_point: does V hold along the jet, and what would explain it if not
//! ```
//!
//! Symbols: H head above the orifice centre, d its diameter, A = pi d^2/4, dj and Aj the same
//! of the jet at the vena contracta, V the jet's speed there, Vi the ideal speed, Q discharge.
//! Cv = V/Vi, Cc = Aj/A = Q/(A V), Cd = Q/(A Vi) = Cv Cc, K = 1/Cv^2 - 1.
//!
//! Every argument and result is a plain `f64` in the SI unit that its name ends in. What cannot
//! be had is `None` or an error that says why; no function returns NaN or an infinity.

pub mod water;
pub mod air;
pub mod gravity;
pub mod head;
pub mod coefficients;
pub mod apparent;
pub mod tension;
pub mod drag;
pub mod buoyancy;
pub mod corrections;
pub mod flow;
pub mod single_point;
pub mod published;
pub mod plausible;

/// A property was asked for outside the range in which its source vouches for it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what} at {value} {unit} is outside {lo} to {hi} {unit}, the range of {source_name}")]
pub struct OutsideRange {
    /// The property: `density of water`.
    pub what: &'static str,
    /// The value asked at.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Lower end of the range.
    pub lo: f64,
    /// Upper end of the range.
    pub hi: f64,
    /// The source whose range it is.
    pub source_name: &'static str,
}

/// `value` when it is a finite number.
pub(crate) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
