//! Stations of the stream's centreline -> the trajectory, and what is left over.
//!
//! The one way through is [`fit`]: stations in bench coordinates go in, a parabola `y = c + b x + a
//! x^2` (drop downwards, mm) with its covariance comes out, or [`NoFit`] with the reason. [`refit`]
//! repeats it as one weighted regression for each draw of a Monte Carlo, [`left_over`] looks at
//! what the parabola does not explain, [`single_point_velocity`] is the square-and-yardstick
//! reading of one station. The solvers beneath ([`solve`], [`linear`], [`orthogonal`]) know nothing
//! of jets and are held to certified data sets.
//!
//! Invariants: no clock, no random numbers (robust starts use a fixed sequence), never NaN.

mod correlation;
mod coverage;
mod extended;
mod fitting;
pub mod foot;
pub mod linear;
mod loss;
pub mod orthogonal;
mod parabola;
mod quadratic;
mod residuals;
mod single_point;
pub mod solve;
mod start;

pub use fitting::fit;
pub use loss::Loss;
pub use parabola::{Fit, FitOptions, Launch, Station};
pub use quadratic::refit;
pub use residuals::{Leftover, OutlierRun, left_over};
pub use single_point::single_point_velocity;

/// A fit that cannot be had, and why.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct NoFit {
    /// What is wrong, with the value seen; lower case, no full stop.
    pub reason: String,
}

impl NoFit {
    pub(crate) fn new(reason: impl Into<String>) -> Self {
        Self { reason: reason.into() }
    }
}
