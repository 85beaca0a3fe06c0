//! One weighted quadratic regression: the kernel of every fit and of every Monte Carlo draw.

use super::Launch;

/// `y = c + b x + a x^2` by weighted least squares, without allocation.
///
/// `weights` are those of the y-residuals, in 1/mm^2 where the launch is [`Launch::Stated`] (so
/// that stations and stated angle weigh against each other) and of any one scale otherwise.
/// A level or stated launch enters as an observation of the slope at `x_vc_mm`, exact for
/// [`Launch::Level`]. Returns `(c, b, a)`; `None` where the three slices differ in length, fewer
/// than three distinct `x` carry weight (also for a level launch), or a number is not finite.
///
/// Method: orthogonal polynomials on the weighted stations (Forsythe 1957, "Generation and use
/// of orthogonal polynomials for data-fitting with a digital computer", J. SIAM 5(2), 74-88),
/// about the mean of `x`, so the three coefficients come out uncoupled and no matrix is solved.
pub fn refit(xs: &[f64], ys: &[f64], weights: &[f64], launch: Launch, x_vc_mm: f64) -> Option<(f64, f64, f64)> {
    let [c, b, a] = Regression::new(xs, ys, weights)?.observe(launch, x_vc_mm).coefficients();
    (c.is_finite() && b.is_finite() && a.is_finite()).then_some((c, b, a))
}

/// The regression in its own orthogonal basis
/// `1, t = x - mean, t^2 - alpha t - beta`: coefficients `k` with covariance `cov`.
pub(super) struct Regression {
    mean_x: f64,
    alpha: f64,
    beta: f64,
    k: [f64; 3],
    cov: [[f64; 3]; 3],
}

impl Regression {
    pub(super) fn new(xs: &[f64], ys: &[f64], weights: &[f64]) -> Option<Self> {
        if xs.len() != ys.len() || xs.len() != weights.len() {
            return None;
        }
        let stations = || xs.iter().zip(ys).zip(weights).map(|((x, y), w)| (*x, *y, *w));
        let (mut s0, mut sx, mut sy) = (0.0, 0.0, 0.0);
        for (x, y, w) in stations() {
            s0 += w;
            sx += w * x;
            sy += w * y;
        }
        let (mean_x, mean_y) = (sx / s0, sy / s0);
        let (mut s2, mut s3, mut s4) = (0.0, 0.0, 0.0);
        let (mut v0, mut v1, mut v2) = (0.0, 0.0, 0.0);
        for (x, y, w) in stations() {
            let (t, v) = (x - mean_x, w * (y - mean_y));
            let wt = w * t;
            s2 += wt * t;
            s3 += wt * t * t;
            s4 += wt * t * (t * t);
            v0 += v;
            v1 += v * t;
            v2 += v * t * t;
        }
        let (alpha, beta) = (s3 / s2, s2 / s0);
        let bend = s4 - alpha * s3 - beta * s2;
        // three distinct x leave a bend of the order of s4; two leave rounding
        if !(s0 > 0.0 && s2 > 0.0 && bend > 1e-12 * s4 && bend.is_finite()) {
            return None;
        }
        let k = [mean_y + v0 / s0, v1 / s2, (v2 - alpha * v1 - beta * v0) / bend];
        let cov = [[1.0 / s0, 0.0, 0.0], [0.0, 1.0 / s2, 0.0], [0.0, 0.0, 1.0 / bend]];
        Some(Self { mean_x, alpha, beta, k, cov })
    }

    /// Adds what is known of the launch: the slope `-tan(angle)` at `x_vc` with its variance, by
    /// the update of a linear estimate with one more observation (Gauss 1821; in this form
    /// Plackett 1950, "Some theorems in least squares", Biometrika 37, 149-157).
    pub(super) fn observe(mut self, launch: Launch, x_vc: f64) -> Self {
        let Some((slope, variance)) = launch.slope_and_variance() else { return self };
        let row = [0.0, 1.0, 2.0 * (x_vc - self.mean_x) - self.alpha];
        let gain = [self.cov[0][0] * row[0], self.cov[1][1] * row[1], self.cov[2][2] * row[2]];
        let spread = gain[1] * row[1] + gain[2] * row[2] + variance;
        let surprise = slope - (self.k[1] * row[1] + self.k[2] * row[2]);
        for i in 0..3 {
            self.k[i] += gain[i] / spread * surprise;
            for j in 0..3 {
                self.cov[i][j] -= gain[i] * gain[j] / spread;
            }
        }
        self
    }

    /// `[c, b, a]` of `c + b x + a x^2`.
    pub(super) fn coefficients(&self) -> [f64; 3] {
        let map = self.map();
        std::array::from_fn(|i| (0..3).map(|j| map[i][j] * self.k[j]).sum())
    }

    /// Covariance of `[c, b, a]`, under the assumption that each weight is the inverse variance
    /// of its y and the stations are independent.
    pub(super) fn covariance(&self) -> [[f64; 3]; 3] {
        let map = self.map();
        let mut out = [[0.0; 3]; 3];
        for (i, row) in out.iter_mut().enumerate() {
            for (j, cell) in row.iter_mut().enumerate() {
                for p in 0..3 {
                    for q in 0..3 {
                        *cell += map[i][p] * self.cov[p][q] * map[j][q];
                    }
                }
            }
        }
        out
    }

    fn map(&self) -> [[f64; 3]; 3] {
        let (m, alpha, beta) = (self.mean_x, self.alpha, self.beta);
        [[1.0, -m, m * (m + alpha) - beta], [0.0, 1.0, -2.0 * m - alpha], [0.0, 0.0, 1.0]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trajectory::linear;

    fn wavy(n: u32) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
        let xs: Vec<f64> = (0..n).map(|i| 20.0 + 3.1 * f64::from(i) + f64::from(i % 3)).collect();
        let ys = xs.iter().map(|x| 2.0 - 0.1 * x + 1.3e-3 * x * x + (x * 0.7).sin()).collect();
        let ws = (0..n).map(|i| 1.0 + f64::from(i % 5)).collect();
        (xs, ys, ws)
    }

    #[test]
    fn agrees_with_the_general_least_squares() {
        let (xs, ys, ws) = wavy(90);
        let whole = linear::polynomial(&xs, &ys, Some(&ws), 2).unwrap();
        let (c, b, a) = refit(&xs, &ys, &ws, Launch::Free, 0.0).unwrap();
        let cov = Regression::new(&xs, &ys, &ws).unwrap().covariance();
        for (i, got) in [c, b, a].into_iter().enumerate() {
            assert!((got / whole.parameters[i] - 1.0).abs() < 1e-11, "{i}: {got}");
            let of_scatter = whole.covariance[i][i] / whole.residual_sd.powi(2);
            assert!((cov[i][i] / of_scatter - 1.0).abs() < 1e-9, "{i}");
        }
    }

    #[test]
    fn a_level_launch_is_level_and_a_stated_one_lies_between() {
        let (xs, ys, ws) = wavy(90);
        let x_vc = 6.0;
        let slope = |launch| {
            let (_, b, a) = refit(&xs, &ys, &ws, launch, x_vc).unwrap();
            b + 2.0 * a * x_vc
        };
        let stated = |u_rad| slope(Launch::Stated { angle_rad: 0.2, u_rad });
        assert!(slope(Launch::Level).abs() < 1e-14);
        assert!((stated(0.0) + 0.2_f64.tan()).abs() < 1e-14);
        assert!((stated(1e6) - slope(Launch::Free)).abs() < 1e-9);
        let between = stated(1e-3);
        assert!(between > stated(0.0) && between < slope(Launch::Free));
    }

    #[test]
    fn a_level_launch_is_the_regression_on_the_square() {
        // y = c + a (x - x_vc)^2 is a straight line in (x - x_vc)^2
        let (xs, ys, ws) = wavy(40);
        let squares: Vec<f64> = xs.iter().map(|x| (x - 6.0) * (x - 6.0)).collect();
        let line = linear::polynomial(&squares, &ys, Some(&ws), 1).unwrap();
        let (_, _, a) = refit(&xs, &ys, &ws, Launch::Level, 6.0).unwrap();
        assert!((a / line.parameters[1] - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_fitted_gives_nothing() {
        let free = |xs: &[f64], ys: &[f64], ws: &[f64]| refit(xs, ys, ws, Launch::Free, 0.0);
        assert_eq!(free(&[1.0, 1.0, 2.0, 2.0], &[0.0, 1.0, 2.0, 3.0], &[1.0; 4]), None);
        assert_eq!(free(&[5.0; 4], &[0.0, 1.0, 2.0, 3.0], &[1.0; 4]), None);
        assert_eq!(free(&[0.0, 1.0, 2.0], &[0.0, f64::NAN, 2.0], &[1.0; 3]), None);
        assert_eq!(free(&[0.0, 1.0, 2.0], &[0.0, 1.0, 4.0], &[0.0; 3]), None);
        assert_eq!(free(&[0.0, 1.0], &[0.0, 1.0, 4.0], &[1.0; 3]), None);
        assert_eq!(free(&[], &[], &[]), None);
    }
}
