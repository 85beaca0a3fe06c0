//! Damped least squares for a few dozen unknowns, with the covariance and the redundancy of
//! what comes out.
//!
//! Levenberg's damping in Marquardt's scaling (D. W. Marquardt, J. Soc. Indust. Appl. Math. 11
//! (1963) 431-441). Residuals are standardised (divided by their standard uncertainties), so
//! the inverse of J'J is the covariance of the unknowns: uncertainties are taken as stated,
//! not scaled by the scatter.

use nalgebra::{DMatrix, DVector};

/// What is to be adjusted.
pub(super) trait Equations {
    /// Number of residuals.
    fn rows(&self) -> usize;
    /// The residuals that unknown `i` has a say in; most unknowns have a say in two.
    fn rows_of(&self, i: usize) -> &[usize];
    /// Standardised residuals, (observed - fitted) / u, at `unknowns`, of `rows` only (`None`: of all), each into
    /// its own place of `out`; `false` where the model does not exist.
    fn residuals(&self, unknowns: &[f64], rows: Option<&[usize]>, out: &mut [f64]) -> bool;
    /// Step for the central difference in unknown `i`: small against what bends the model, large against rounding.
    fn step(&self, i: usize) -> f64;
}

/// What came out.
#[derive(Clone, Debug)]
pub(super) struct Solution {
    /// The unknowns.
    pub unknowns: Vec<f64>,
    /// Standardised residuals.
    pub residuals: Vec<f64>,
    /// d(standardised fitted value) / d(unknown).
    pub design: DMatrix<f64>,
    /// Covariance of the unknowns.
    pub covariance: DMatrix<f64>,
}

/// Why nothing came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unsolved {
    /// The model does not exist at the start.
    NoStart,
    /// The observations leave some unknown open.
    Open,
    /// No rest within the steps allowed.
    Restless,
}

/// Steps allowed. Bench photos take 4 to 8; where a camera far away sees hardly any perspective and the marks contradict one
/// another, each step brings only a fifth of the way that is left, and about 100 are needed.
const MOST_STEPS: usize = 400;
/// A step that promises to lower the sum of squares by less than this share of a standard deviation is rest.
const REST: f64 = 1e-10;

impl Solution {
    /// Least squares from `start`.
    pub fn find(equations: &impl Equations, start: &[f64]) -> Result<Self, Unsolved> {
        let (m, n) = (equations.rows(), start.len());
        let mut unknowns = start.to_vec();
        let mut residuals = vec![0.0; m];
        if !equations.residuals(&unknowns, None, &mut residuals) {
            return Err(Unsolved::NoStart);
        }
        let mut cost = square_sum(&residuals);
        let mut damping = 1e-4;
        let mut trial = vec![0.0; n];
        let mut trial_residuals = vec![0.0; m];
        for _ in 0..MOST_STEPS {
            let design = differences(equations, &mut unknowns).ok_or(Unsolved::NoStart)?;
            let normal = Normal::new(&design).ok_or(Unsolved::Open)?;
            let gradient = design.tr_mul(&DVector::from_column_slice(&residuals));
            loop {
                let step = normal.solve(&gradient, damping).ok_or(Unsolved::Open)?;
                for i in 0..n {
                    trial[i] = unknowns[i] + step[i];
                }
                let valid = equations.residuals(&trial, None, &mut trial_residuals);
                let trial_cost = if valid { square_sum(&trial_residuals) } else { f64::INFINITY };
                let promised = step.dot(&gradient);
                if trial_cost <= cost {
                    std::mem::swap(&mut unknowns, &mut trial);
                    std::mem::swap(&mut residuals, &mut trial_residuals);
                    cost = trial_cost;
                    damping = (damping * 0.1).max(1e-12);
                    if promised > REST {
                        break;
                    }
                } else if promised > REST {
                    damping *= 10.0;
                    if damping > 1e12 {
                        return Err(Unsolved::Restless);
                    }
                    continue;
                }
                let design = differences(equations, &mut unknowns).ok_or(Unsolved::NoStart)?;
                let covariance = Normal::new(&design).and_then(|n| n.inverse()).ok_or(Unsolved::Open)?;
                return Ok(Self { unknowns, residuals, design, covariance });
            }
        }
        Err(Unsolved::Restless)
    }

    /// Redundancy number of residual `i`: the share of an error there that shows in its own residual, 0 to 1.
    pub fn redundancy(&self, i: usize) -> f64 {
        let row = self.design.row(i);
        let fitted = (row * &self.covariance).dot(&row);
        (1.0 - fitted).max(0.0)
    }

    /// How the first `count` unknowns move when the observed value of row `i` moves by one standard uncertainty.
    pub fn pull(&self, i: usize, count: usize) -> Vec<f64> {
        (0..count).map(|k| self.covariance.row(k).dot(&self.design.row(i))).collect()
    }
}

fn square_sum(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum()
}

/// Derivative of the fitted values (the negative of the residuals') by central differences; restores `unknowns`.
fn differences(equations: &impl Equations, unknowns: &mut [f64]) -> Option<DMatrix<f64>> {
    let m = equations.rows();
    let (mut up, mut down) = (vec![0.0; m], vec![0.0; m]);
    let mut design = DMatrix::zeros(m, unknowns.len());
    for i in 0..unknowns.len() {
        let (at, h, rows) = (unknowns[i], equations.step(i), equations.rows_of(i));
        unknowns[i] = at + h;
        let valid = equations.residuals(unknowns, Some(rows), &mut up);
        unknowns[i] = at - h;
        let valid = equations.residuals(unknowns, Some(rows), &mut down) && valid;
        unknowns[i] = at;
        if !valid {
            return None;
        }
        for &k in rows {
            design[(k, i)] = (down[k] - up[k]) / (2.0 * h);
        }
    }
    Some(design)
}

/// J'J with its columns brought to unit length, which keeps millimetres, radians and logarithms comparable.
struct Normal {
    scaled: DMatrix<f64>,
    length: DVector<f64>,
}

impl Normal {
    /// `None` where an unknown moves nothing.
    fn new(design: &DMatrix<f64>) -> Option<Self> {
        let length = DVector::from_iterator(design.ncols(), design.column_iter().map(|c| c.norm()));
        if !length.iter().all(|l| l.is_finite() && *l > 0.0) {
            return None;
        }
        let mut scaled = design.clone();
        for (mut column, l) in scaled.column_iter_mut().zip(length.iter()) {
            column /= *l;
        }
        Some(Self { scaled: scaled.tr_mul(&scaled), length })
    }

    fn solve(&self, gradient: &DVector<f64>, damping: f64) -> Option<DVector<f64>> {
        let mut damped = self.scaled.clone();
        for i in 0..damped.nrows() {
            damped[(i, i)] += damping;
        }
        let step = damped.cholesky()?.solve(&gradient.component_div(&self.length));
        Some(step.component_div(&self.length))
    }

    fn inverse(&self) -> Option<DMatrix<f64>> {
        let mut inverse = self.scaled.clone().cholesky()?.inverse();
        for i in 0..inverse.nrows() {
            for k in 0..inverse.ncols() {
                inverse[(i, k)] /= self.length[i] * self.length[k];
            }
        }
        Some(inverse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y = a exp(b t), observed without error.
    struct Growth;

    impl Equations for Growth {
        fn rows(&self) -> usize {
            5
        }
        fn rows_of(&self, _: usize) -> &[usize] {
            &[0, 1, 2, 3, 4]
        }
        fn residuals(&self, unknowns: &[f64], _: Option<&[usize]>, out: &mut [f64]) -> bool {
            for (t, r) in out.iter_mut().enumerate() {
                *r = (2.0 * (0.5 * t as f64).exp() - unknowns[0] * (unknowns[1] * t as f64).exp()) / 0.1;
            }
            unknowns[0] > 0.0
        }
        fn step(&self, _: usize) -> f64 {
            1e-5
        }
    }

    #[test]
    fn exact_data_are_fitted_exactly_and_redundancy_adds_up() {
        let found = Solution::find(&Growth, &[1.0, 0.1]).unwrap();
        assert!((found.unknowns[0] - 2.0).abs() < 1e-8 && (found.unknowns[1] - 0.5).abs() < 1e-8);
        let sum: f64 = (0..5).map(|i| found.redundancy(i)).sum();
        assert!((sum - 3.0).abs() < 1e-6, "five observations less two unknowns: {sum}");
    }

    #[test]
    fn an_impossible_start_is_told() {
        assert_eq!(Solution::find(&Growth, &[-1.0, 0.1]).unwrap_err(), Unsolved::NoStart);
    }
}
