//! Nonlinear least squares: damped steps within a region of trust.

use super::NoFit;
use nalgebra::{DMatrix, DVector};

/// How the derivatives of the residuals are had.
#[derive(Clone, Copy)]
pub enum Jacobian<'a> {
    /// Fills `jacobian[(i, j)] = d residual_i / d parameter_j`.
    Analytic(&'a dyn Fn(&[f64], &mut DMatrix<f64>)),
    /// One-sided differences: one evaluation per parameter, about 8 digits.
    Forward,
    /// Central differences: two evaluations per parameter, about 10 digits.
    Central,
}

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolveOptions {
    /// Steps tried, taken or not.
    pub max_iterations: usize,
    /// Relative change of scaled parameters and of the sum of squares taken as rest.
    pub tolerance: f64,
    /// First radius of trust, in units of the scaled start (More's factor, 0.1 to 100).
    pub first_radius: f64,
}

impl Default for SolveOptions {
    fn default() -> Self {
        Self { max_iterations: 1000, tolerance: 1e-13, first_radius: 100.0 }
    }
}

/// Why the iteration ended with a solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stopped {
    /// The residuals are at right angles to every derivative.
    Flat,
    /// Neither parameters nor sum of squares change any more.
    AtRest,
}

/// A local minimum of the sum of squares.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// The parameters.
    pub parameters: Vec<f64>,
    /// Their covariance `residual_sd^2 (J'WJ)^-1`: right to first order if residuals are
    /// independent with variances inversely proportional to their weights, the factor taken from
    /// the scatter. With as many parameters as residuals there is no scatter, and it is zero.
    pub covariance: DMatrix<f64>,
    /// Weighted sum of squared residuals.
    pub sum_squares: f64,
    /// `sqrt(sum_squares / dof)`; 0 where `dof` is 0.
    pub residual_sd: f64,
    /// Residuals less parameters.
    pub dof: usize,
    /// Steps tried.
    pub iterations: usize,
    /// Why it stopped.
    pub stopped: Stopped,
}

/// Largest cosine between the residuals and a derivative at which a stop counts as a minimum.
const FLAT_ENOUGH: f64 = 1e-5;
/// Relative size of the undamped step that counts as none.
const NO_STEP: f64 = 1e-10;
/// Scaled derivatives whose smallest singular value is below this share of the largest do not
/// determine the parameters.
const DEPENDENT: f64 = 1e-13;

/// Minimises `sum w r^2` over the parameters, from `start`; `residuals` fills its second argument.
///
/// Levenberg-Marquardt as a trust region with variables scaled by the largest derivative seen (Moré
/// 1978, "The Levenberg-Marquardt algorithm: implementation and theory", Lecture Notes in
/// Mathematics 630, 105-116; the radius rules are his). Each damped step comes from the singular
/// values of the scaled triangular factor of the derivatives, never from normal equations, so that
/// no digits are lost to squaring the condition number.
///
/// # Errors
/// [`NoFit`] where the residuals at the start are not finite, the iteration does not come to rest
/// or rests where it is not flat, the derivatives do not determine every parameter (it ran off to
/// where a parameter no longer matters), or there are fewer residuals than parameters. A minimum
/// that comes back is a local one: whether it is the lowest, only other starts can tell.
pub fn solve(
    residuals: impl Fn(&[f64], &mut [f64]),
    count: usize,
    start: &[f64],
    weights: Option<&[f64]>,
    jacobian: Jacobian,
    options: &SolveOptions,
) -> Result<Solution, NoFit> {
    let p = start.len();
    if p == 0 || count < p || weights.is_some_and(|w| w.len() != count) {
        return Err(NoFit::new(format!("{count} residuals cannot determine {p} parameters")));
    }
    let roots: Vec<f64> = weights.map_or_else(|| vec![1.0; count], |w| w.iter().map(|w| w.sqrt()).collect());
    let task = Task { residuals: &residuals, roots, jacobian };
    let mut x = DVector::from_column_slice(start);
    let mut r = task.residuals_at(&x);
    if !r.iter().all(|v| v.is_finite()) {
        return Err(NoFit::new("the residuals at the start are not finite"));
    }
    let mut scale = DVector::<f64>::zeros(p);
    let mut radius = 0.0;
    let mut stopped = None;
    let mut iterations = 0;
    let mut local = Local::new(&task, &x, &r, &mut scale)?;
    while iterations < options.max_iterations && stopped.is_none() {
        if radius == 0.0 {
            let length = scale.component_mul(&x).norm();
            radius = options.first_radius * if length > 0.0 { length } else { 1.0 };
        }
        iterations += 1;
        let (step, damping) = local.step(radius);
        let size = step.norm();
        let next = &x + step.component_div(&scale);
        let there = task.residuals_at(&next);
        let (now, then) = (r.norm(), there.norm());
        let gained = if then.is_finite() { 1.0 - (then / now).powi(2) } else { -1.0 };
        let along = (local.along(&step).norm() / now).powi(2);
        let promised = along + 2.0 * damping * (size / now).powi(2);
        let ratio = if promised > 0.0 { gained / promised } else { 0.0 };
        if ratio <= 0.25 {
            radius = if gained >= 0.0 { 0.5 } else { 0.1 } * radius.min(10.0 * size);
        } else if damping == 0.0 || ratio >= 0.75 {
            radius = 2.0 * size;
        }
        if ratio > 1e-4 && then.is_finite() {
            (x, r) = (next, there);
            local = Local::new(&task, &x, &r, &mut scale)?;
        }
        let length = scale.component_mul(&x).norm();
        if r.norm() == 0.0 || local.steepest_cosine(r.norm()) < 1e-14 {
            stopped = Some(Stopped::Flat);
        } else if promised <= options.tolerance
            && gained.abs() <= options.tolerance
            && ratio <= 2.0
            && size <= 1e-8 * length
            || radius <= options.tolerance * length
        {
            stopped = Some(Stopped::AtRest);
        }
    }
    let Some(stopped) = stopped else {
        return Err(NoFit::new(format!("no minimum was reached in {iterations} steps")));
    };
    polish(&task, &mut x, &mut r, &mut scale, &mut local)?;
    local.conclude(x, &r, iterations, stopped)
}

/// Undamped steps for as long as each is clearly shorter than the one before. The sum of squares is
/// flat at its minimum and cannot tell the last half of the digits; the derivatives can.
fn polish<F: Fn(&[f64], &mut [f64])>(
    task: &Task<F>,
    x: &mut DVector<f64>,
    r: &mut DVector<f64>,
    scale: &mut DVector<f64>,
    local: &mut Local,
) -> Result<(), NoFit> {
    let (mut step, _) = local.step(f64::INFINITY);
    for _ in 0..50 {
        if step.norm() > 1e-5 * scale.component_mul(x).norm() {
            break;
        }
        let next = &*x + step.component_div(scale);
        let there = task.residuals_at(&next);
        if !there.iter().all(|v| v.is_finite()) {
            break;
        }
        let mut wider = scale.clone();
        let ahead = Local::new(task, &next, &there, &mut wider)?;
        let (following, _) = ahead.step(f64::INFINITY);
        if following.norm() >= 0.7 * step.norm() {
            break;
        }
        (*x, *r, *scale, *local, step) = (next, there, wider, ahead, following);
    }
    Ok(())
}

struct Task<'a, F> {
    residuals: &'a F,
    roots: Vec<f64>,
    jacobian: Jacobian<'a>,
}

impl<F: Fn(&[f64], &mut [f64])> Task<'_, F> {
    fn residuals_at(&self, x: &DVector<f64>) -> DVector<f64> {
        let mut r = DVector::zeros(self.roots.len());
        (self.residuals)(x.as_slice(), r.as_mut_slice());
        r.iter_mut().zip(&self.roots).for_each(|(r, w)| *r *= w);
        r
    }

    fn jacobian_at(&self, x: &DVector<f64>, r: &DVector<f64>, scale: &DVector<f64>) -> DMatrix<f64> {
        let mut jacobian = DMatrix::zeros(r.len(), x.len());
        if let Jacobian::Analytic(derivatives) = self.jacobian {
            derivatives(x.as_slice(), &mut jacobian);
            for (i, w) in self.roots.iter().enumerate() {
                jacobian.row_mut(i).scale_mut(*w);
            }
            return jacobian;
        }
        for j in 0..x.len() {
            // a parameter that is zero moves by what changes the residuals as much as the others
            // would, or by 1e-4
            let typical = match x[j].abs() {
                0.0 if scale[j] > 0.0 => scale.component_mul(x).norm() / scale[j],
                size => size,
            };
            let typical = if typical > 0.0 { typical } else { 1e-4 };
            let moved = |step: f64| {
                let mut at = x.clone();
                at[j] += step;
                (self.residuals_at(&at), at[j])
            };
            let column = if let Jacobian::Forward = self.jacobian {
                let (there, at) = moved(f64::EPSILON.sqrt() * typical);
                (there - r) / (at - x[j])
            } else {
                let h = f64::EPSILON.cbrt() * typical;
                let ((up, above), (down, below)) = (moved(h), moved(-h));
                (up - down) / (above - below)
            };
            jacobian.set_column(j, &column);
        }
        jacobian
    }
}

/// The linear picture at one point: `J D^-1 = Q U S V'`, D the scale of the variables.
struct Local {
    v: DMatrix<f64>,
    s: DVector<f64>,
    /// `U' Q' r`.
    seen: DVector<f64>,
    /// Lengths of the derivatives and their products with the residuals.
    lengths: DVector<f64>,
    products: DVector<f64>,
    scale: DVector<f64>,
}

impl Local {
    /// Also raises `scale` to the lengths of the derivatives seen here.
    fn new<F: Fn(&[f64], &mut [f64])>(
        task: &Task<F>,
        x: &DVector<f64>,
        r: &DVector<f64>,
        scale: &mut DVector<f64>,
    ) -> Result<Self, NoFit> {
        let mut jacobian = task.jacobian_at(x, r, scale);
        if !jacobian.iter().all(|v| v.is_finite()) {
            return Err(NoFit::new(format!("the derivatives at {:?} are not finite", x.as_slice())));
        }
        let lengths = DVector::from_iterator(x.len(), jacobian.column_iter().map(|c| c.norm()));
        let products = jacobian.tr_mul(r);
        for (d, length) in scale.iter_mut().zip(&lengths) {
            *d = d.max(*length);
            if *d == 0.0 {
                *d = 1.0;
            }
        }
        for (mut column, d) in jacobian.column_iter_mut().zip(scale.iter()) {
            column /= *d;
        }
        let qr = jacobian.qr();
        let turned = qr.q().tr_mul(r);
        let svd = qr.unpack_r().svd(true, true);
        let (Some(u), Some(v_t)) = (svd.u, svd.v_t) else {
            return Err(NoFit::new("the derivatives could not be factored"));
        };
        let seen = u.tr_mul(&turned);
        Ok(Self { v: v_t.transpose(), s: svd.singular_values, seen, lengths, products, scale: scale.clone() })
    }

    /// The scaled step that minimises the linear picture within `radius`, and its damping.
    fn step(&self, radius: f64) -> (DVector<f64>, f64) {
        let at = |damping: f64| {
            let parts = self.s.zip_map(&self.seen, |s, q| if s > 0.0 { -s * q / (s * s + damping) } else { 0.0 });
            (parts.norm(), parts)
        };
        let floor = (1e-15 * self.s.max()).powi(2);
        let (length, parts) = at(floor);
        if length <= radius * 1.1 {
            return (&self.v * parts, 0.0);
        }
        // the length falls with the damping: bisect its logarithm to a tenth of the radius
        let (mut lo, mut hi) = (floor, self.s.component_mul(&self.seen).norm() / radius);
        let mut damping = hi;
        let mut parts = parts;
        for _ in 0..200 {
            damping = (lo * hi).sqrt();
            let (length, tried) = at(damping);
            parts = tried;
            if (length / radius - 1.0).abs() <= 0.1 {
                break;
            }
            if length > radius { lo = damping } else { hi = damping }
        }
        (&self.v * parts, damping)
    }

    /// The change of the residuals that the linear picture expects from a scaled step, turned.
    fn along(&self, step: &DVector<f64>) -> DVector<f64> {
        self.v.tr_mul(step).component_mul(&self.s)
    }

    fn steepest_cosine(&self, residual_length: f64) -> f64 {
        let cosine = |(g, l): (&f64, &f64)| if *l > 0.0 { (g / (l * residual_length)).abs() } else { 0.0 };
        self.products.iter().zip(&self.lengths).map(cosine).fold(0.0, f64::max)
    }

    fn conclude(
        self,
        x: DVector<f64>,
        r: &DVector<f64>,
        iterations: usize,
        stopped: Stopped,
    ) -> Result<Solution, NoFit> {
        let p = x.len();
        if let Some(dead) = (0..p).find(|&j| self.lengths[j] <= DEPENDENT * self.scale[j]) {
            return Err(NoFit::new(format!(
                "it ran to where parameter {} = {:e} no longer matters",
                dead + 1,
                x[dead]
            )));
        }
        // judged with each derivative scaled by its own length here, not by the largest on the way
        let mut own = &self.v * DMatrix::from_diagonal(&self.s);
        for j in 0..p {
            let factor = self.scale[j] / self.lengths[j];
            own.row_mut(j).scale_mut(factor);
        }
        let own = own.svd(true, false);
        let (largest, least) = (own.singular_values.max(), own.singular_values.min());
        if least <= DEPENDENT * largest {
            return Err(NoFit::new(format!("the residuals do not determine all {p} parameters at {:?}", x.as_slice())));
        }
        let sum_squares = r.norm_squared();
        let dof = r.len() - p;
        let variance = if dof > 0 { sum_squares / dof as f64 } else { 0.0 };
        // exact data leave only rounding, whose direction says nothing; then no step is left to
        // take
        let (left, _) = self.step(f64::INFINITY);
        let no_step = left.norm() <= NO_STEP * self.scale.component_mul(&x).norm();
        if self.steepest_cosine(r.norm()) > FLAT_ENOUGH && !no_step {
            return Err(NoFit::new(format!("it came to rest at {:?}, which is not a minimum", x.as_slice())));
        }
        let Some(u) = own.u else { return Err(NoFit::new("the derivatives could not be factored")) };
        // (J'J)^-1 with J' = L u S ..., L the lengths
        let inverse = |i: usize, j: usize| {
            (0..p).map(|k| u[(i, k)] * u[(j, k)] / own.singular_values[k].powi(2)).sum::<f64>()
                / (self.lengths[i] * self.lengths[j])
        };
        let covariance = DMatrix::from_fn(p, p, |i, j| variance * inverse(i, j));
        Ok(Solution {
            parameters: x.as_slice().to_vec(),
            covariance,
            sum_squares,
            residual_sd: variance.sqrt(),
            dof,
            iterations,
            stopped,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Decay `y = b0 exp(-b1 x)` at x = 0, 1, ...
    const DECAY: [f64; 6] = [10.1, 6.0, 3.7, 2.1, 1.4, 0.8];

    fn decay(b: &[f64], r: &mut [f64]) {
        for (i, (r, y)) in r.iter_mut().zip(DECAY).enumerate() {
            *r = b[0] * (-b[1] * i as f64).exp() - y;
        }
    }

    fn decay_derivatives(b: &[f64], j: &mut DMatrix<f64>) {
        for i in 0..DECAY.len() {
            let fall = (-b[1] * i as f64).exp();
            j[(i, 0)] = fall;
            j[(i, 1)] = -b[0] * i as f64 * fall;
        }
    }

    fn run(weights: Option<&[f64]>, jacobian: Jacobian) -> Solution {
        solve(decay, 6, &[1.0, 0.0], weights, jacobian, &SolveOptions::default()).unwrap()
    }

    #[test]
    fn every_kind_of_derivative_reaches_the_same_minimum() {
        let exact = run(None, Jacobian::Analytic(&decay_derivatives));
        for (jacobian, apart) in [(Jacobian::Central, 1e-9), (Jacobian::Forward, 1e-6)] {
            let other = run(None, jacobian);
            for i in 0..2 {
                assert!((other.parameters[i] / exact.parameters[i] - 1.0).abs() < apart);
                assert!((other.covariance[(i, i)] / exact.covariance[(i, i)] - 1.0).abs() < 100.0 * apart);
            }
        }
    }

    #[test]
    fn a_weight_of_zero_leaves_a_residual_out() {
        let weighted = run(Some(&[1.0, 1.0, 1.0, 1.0, 1.0, 0.0]), Jacobian::Central);
        let shorter = solve(decay, 5, &[1.0, 0.0], None, Jacobian::Central, &SolveOptions::default()).unwrap();
        for i in 0..2 {
            assert!((weighted.parameters[i] / shorter.parameters[i] - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_linear_problem_agrees_with_the_linear_solver() {
        let (xs, ys) = ([0.0, 1.0, 2.0, 3.0, 5.0], [1.0, 1.9, 3.2, 3.9, 6.3]);
        let line = |b: &[f64], r: &mut [f64]| {
            for i in 0..5 {
                r[i] = b[0] + b[1] * xs[i] - ys[i];
            }
        };
        let found = solve(line, 5, &[0.0, 0.0], None, Jacobian::Central, &SolveOptions::default()).unwrap();
        let linear = crate::trajectory::linear::polynomial(&xs, &ys, None, 1).unwrap();
        for i in 0..2 {
            assert!((found.parameters[i] - linear.parameters[i]).abs() < 1e-9);
            for j in 0..2 {
                assert!((found.covariance[(i, j)] / linear.covariance[i][j] - 1.0).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn what_cannot_be_solved_says_why() {
        let say = |f: &dyn Fn(&[f64], &mut [f64]), start: &[f64], options: SolveOptions| {
            solve(f, 6, start, None, Jacobian::Central, &options).unwrap_err().reason
        };
        let options = SolveOptions::default();
        let twice = |b: &[f64], r: &mut [f64]| decay(&[b[0] + b[1], b[2]], r);
        assert!(say(&twice, &[1.0, 1.0, 0.1], options).contains("do not determine all 3 parameters"));
        let idle = |b: &[f64], r: &mut [f64]| decay(&b[..2], r);
        assert!(say(&idle, &[1.0, 0.1, 3.0], options).contains("parameter 3 = 3e0 no longer matters"));
        let broken = |_: &[f64], r: &mut [f64]| r.fill(f64::NAN);
        assert!(say(&broken, &[1.0], options).contains("not finite"));
        assert!(say(&decay, &[1.0; 7], options).contains("6 residuals cannot determine 7 parameters"));
        let hasty = SolveOptions { max_iterations: 2, ..options };
        assert!(say(&decay, &[1.0, 0.0], hasty).contains("no minimum was reached in 2 steps"));
    }
}
