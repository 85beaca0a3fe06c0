//! Whether the linear budget and Monte Carlo tell the same.

use super::budget::OutputBudget;
use super::monte_carlo::SampledOutput;
use std::fmt;

/// The linear interval of one output beside that of Monte Carlo: JCGM 101:2008, clause 8.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Distance between the lower ends, d_low of 8.1.
    pub d_low: f64,
    /// Distance between the upper ends, d_high of 8.1.
    pub d_high: f64,
    /// Numerical tolerance of the linear standard uncertainty, 8.1.
    pub tolerance: f64,
    /// How far the distances are uncertain from the finite number of draws: twice the larger scatter of the two ends.
    pub sampling: f64,
    /// Monte Carlo's standard uncertainty over the linear one; `None` where the linear one is zero.
    pub u_ratio: Option<f64>,
    /// What follows.
    pub verdict: Verdict,
}

/// What the comparison says of the linear interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Both distances are within the tolerance: the linear interval is validated.
    Agrees,
    /// One distance is beyond it: trust Monte Carlo.
    Differs,
    /// The draws are too few to tell: a distance lies closer to the tolerance than its own uncertainty.
    Unsettled,
}

impl Agreement {
    /// Compares the 95 % intervals of one output, to `digits` significant digits of u (1 or 2).
    ///
    /// The probabilistically symmetric interval of the draws is the one compared. Both must be
    /// of one output of one model, and the Monte Carlo's intervals for 95 %.
    pub fn of(linear: &OutputBudget, drawn: &SampledOutput, digits: u32) -> Self {
        let d_low = (linear.interval.lo - drawn.symmetric.lo).abs();
        let d_high = (linear.interval.hi - drawn.symmetric.hi).abs();
        let tolerance = numerical_tolerance(linear.u, digits);
        let sampling = 2.0 * drawn.scatter.lo.max(drawn.scatter.hi);
        let worst = d_low.max(d_high);
        let verdict = if (worst - tolerance).abs() < sampling {
            Verdict::Unsettled
        } else if worst <= tolerance {
            Verdict::Agrees
        } else {
            Verdict::Differs
        };
        let u_ratio = (linear.u > 0.0).then(|| drawn.u / linear.u);
        Self { d_low, d_high, tolerance, sampling, u_ratio, verdict }
    }
}

impl fmt::Display for Agreement {
    /// One clause in plain words, in the unit of the output, which the caller adds.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (low, high, tolerance) = (Short(self.d_low), Short(self.d_high), Short(self.tolerance));
        match self.verdict {
            Verdict::Agrees => {
                write!(f, "agrees with Monte Carlo: ends differ by {low} and {high}, allowed {tolerance}")
            }
            Verdict::Differs => {
                write!(f, "differs from Monte Carlo: ends by {low} and {high}, allowed {tolerance}; use Monte Carlo's")
            }
            Verdict::Unsettled => {
                write!(f, "cannot be checked by so few draws: ends differ by {low} and {high}, allowed {tolerance}")?;
                if self.sampling.is_finite() { write!(f, ", uncertain by {}", Short(self.sampling)) } else { Ok(()) }
            }
        }
    }
}

/// A difference, to two significant digits.
struct Short(f64);

impl fmt::Display for Short {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 <= 0.0 || !self.0.is_finite() {
            return write!(f, "{}", self.0);
        }
        let decimals = 1 - self.0.log10().floor() as i32;
        if (0..=8).contains(&decimals) {
            write!(f, "{:.*}", decimals as usize, self.0)
        } else {
            write!(f, "{:.1e}", self.0)
        }
    }
}

/// Numerical tolerance of a standard uncertainty written with `digits` significant digits.
///
/// With u = c 10^l, c a whole number of so many digits, it is 10^l / 2: JCGM 101:2008, 7.9.2. Zero for
/// u = 0; `digits` below 1 counts as 1.
pub fn numerical_tolerance(u: f64, digits: u32) -> f64 {
    if u <= 0.0 || !u.is_finite() {
        return 0.0;
    }
    let digits = digits.clamp(1, 15) as i32;
    let place = |u: f64| u.log10().floor() as i32 - digits + 1;
    // Rounding can add a digit: 0.0998 written with two digits is 0.10.
    let unit = 10_f64.powi(place(u));
    let rounded = (u / unit).round() * unit;
    0.5 * 10_f64.powi(place(rounded * (1.0 + 1e-12)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertainty::{Correlation, Input, Plan, budget, monte_carlo};

    #[test]
    fn tolerances_of_the_standards_own_examples() {
        // JCGM 101:2008, examples of 7.9.2: u 0.000 35 g with two digits, u 2 K with one.
        assert!((numerical_tolerance(0.000_35, 2) - 0.000_005).abs() < 1e-18);
        assert!((numerical_tolerance(2.0, 1) - 0.5).abs() < 1e-15);
        assert!((numerical_tolerance(0.0998, 2) - 0.005).abs() < 1e-15);
        assert_eq!(numerical_tolerance(0.0, 2), 0.0);
    }

    fn told(value: f64, u: f64, draws: usize, digits: u32) -> Agreement {
        let inputs = [Input::normal("a", value, u, "")];
        let square = |x: &[f64], y: &mut [f64]| {
            y[0] = x[0] * x[0];
            true
        };
        let linear = budget(&inputs, &Correlation::none(), 1, square).unwrap();
        let drawn =
            monte_carlo(&inputs, &Correlation::none(), 1, Plan::fixed(draws, 2), || (), |(), x, y| square(x, y));
        Agreement::of(&linear.outputs[0], &drawn.unwrap().outputs[0], digits)
    }

    #[test]
    fn a_nearly_linear_model_agrees_and_a_curved_one_does_not() {
        let nearly = told(10.0, 0.05, 50_000, 1);
        assert_eq!(nearly.verdict, Verdict::Agrees, "{nearly:?}");
        assert!((nearly.u_ratio.unwrap() - 1.0).abs() < 0.01);
        let curved = told(1.0, 0.5, 20_000, 1);
        assert_eq!(curved.verdict, Verdict::Differs);
        assert!(curved.to_string().starts_with("differs from Monte Carlo: ends by 0.9"), "{curved}");
    }

    #[test]
    fn a_single_block_settles_nothing() {
        assert_eq!(told(10.0, 0.05, 10_000, 1).verdict, Verdict::Unsettled);
    }
}
