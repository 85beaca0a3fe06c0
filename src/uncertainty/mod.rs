//! Uncertainty of a result computed from named inputs by a closure; knows no hydraulics.
//!
//! ```text
//! inputs + closure --(differences)--> Budget      the law of propagation, JCGM 100:2008 (the GUM)
//!                  --(pairs)--------> Budget      with the terms of second order, 5.1.2 note there
//!                  --(draws)--------> MonteCarlo  propagation of distributions, JCGM 101:2008
//!                  Budget vs MonteCarlo --------> Agreement, JCGM 101:2008 clause 8
//! ```
//!
//! The closure has one shape everywhere: it reads the inputs, fills the outputs and says whether
//! it could. All outputs come from one call, so that their covariance is known.

mod chi_squared;
mod coverage;
mod input;
mod correlation;
mod covariance;
mod differences;
mod budget;
mod second_order;
pub mod random;
mod draws;
mod sample;
mod monte_carlo;
mod agreement;

pub use agreement::{Agreement, Verdict, numerical_tolerance};
pub use budget::{Budget, NoBudget, OutputBudget, Row, budget};
pub use chi_squared::chi_squared_tail;
pub use correlation::{BadCorrelation, Correlation};
pub use covariance::Covariance;
pub use coverage::{Interval, coverage_factor, effective_dof, whole_dof};
pub use input::{BadInput, Input, Shape};
pub use monte_carlo::{MonteCarlo, NoMonteCarlo, Plan, SampledOutput, Scatter, monte_carlo};
pub use second_order::{SECOND_ORDER, Together, second_order};
