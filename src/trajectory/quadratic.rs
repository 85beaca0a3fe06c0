//! One weighted quadratic regression: the kernel of every fit and of every Monte Carlo draw.

use super::Launch;

/// `y = c + b x + a x^2` by weighted least squares, without allocation.
///
/// `weights` are those of the y-residuals, in 1/mm^2 where the launch is [`Launch::Stated`] (so
/// that stations and stated angle weigh against each other) and of any one scale otherwise. A level
/// or stated launch enters as an observation of the slope at `x_vc_mm`, exact for
/// [`Launch::Level`]. Returns `(c, b, a)`; `None` where the three slices differ in length, fewer
/// than three distinct `x` carry weight (also for a level launch), or a number is not finite.
///
/// Method: orthogonal polynomials on the weighted stations (Forsythe 1957, "Generation and use of
/// orthogonal polynomials for data-fitting with a digital computer", J. SIAM 5(2), 74-88), about
/// the mean of `x`, so the three coefficients come out uncoupled and no matrix is solved.
pub fn refit(xs: &[f64], ys: &[f64], weights: &[f64], launch: Launch, x_vc_mm: f64) -> Option<(f64, f64, f64)> {
    let [c, b, a] = Regression::new(xs, ys, weights)?.observe(launch, x_vc_mm).coefficients();
    (c.is_finite() && b.is_finite() && a.is_finite()).then_some((c, b, a))
}

/// The regression in its own orthogonal basis `1, t = x - mean, t^2 - alpha t - beta`: coefficients
/// `k` with covariance `cov`.
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
        // one pass, about a guess of the mean; again if the guess was far off for the spread
        let mut about = 0.5 * (xs.first()? + xs.last()?);
        let mut sums = Sums::about(about, ys[0], xs, ys, weights);
        if sums.shift().powi(2) > 4.0 * sums.spread2() {
            about += sums.shift();
            sums = Sums::about(about, ys[0], xs, ys, weights);
        }
        let Sums { s0, v0, .. } = sums;
        let m = sums.shift();
        let s2 = sums.spread2() * s0;
        let s3 = sums.s3 - m * (3.0 * sums.s2 - m * (3.0 * sums.s1 - m * s0));
        let s4 = sums.s4 - m * (4.0 * sums.s3 - m * (6.0 * sums.s2 - m * (4.0 * sums.s1 - m * s0)));
        let v1 = sums.v1 - m * v0;
        let v2 = sums.v2 - m * (2.0 * sums.v1 - m * v0);
        let (mean_x, mean_y) = (about + m, v0 / s0);
        let (alpha, beta) = (s3 / s2, s2 / s0);
        let bend = s4 - alpha * s3 - beta * s2;
        // three distinct x leave a bend of the order of s4; two leave rounding
        if !(s0 > 0.0 && s2 > 0.0 && bend > 1e-12 * s4 && bend.is_finite()) {
            return None;
        }
        let k = [ys[0] + mean_y, v1 / s2, (v2 - alpha * v1 - beta * v0) / bend];
        let cov = [[1.0 / s0, 0.0, 0.0], [0.0, 1.0 / s2, 0.0], [0.0, 0.0, 1.0 / bend]];
        Some(Self { mean_x, alpha, beta, k, cov })
    }

    /// Adds what is known of the launch: the slope `-tan(angle)` at `x_vc` with its variance, by
    /// the update of a linear estimate with one more observation (Gauss 1821; in this form Plackett
    /// 1950, "Some theorems in least squares", Biometrika 37, 149-157).
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

    /// Covariance of `[c, b, a]`, under the assumption that each weight is the inverse variance of
    /// its y and the stations are independent.
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

/// Weighted sums of powers of `t = x - about` and of their products with `y - y_about`.
struct Sums {
    s0: f64,
    s1: f64,
    s2: f64,
    s3: f64,
    s4: f64,
    v0: f64,
    v1: f64,
    v2: f64,
}

const LANES: usize = 4;

impl Sums {
    /// Summed in four lanes, which do not wait for one another.
    fn about(about: f64, y_about: f64, xs: &[f64], ys: &[f64], weights: &[f64]) -> Self {
        let mut lanes = [[0.0; LANES]; 8];
        let mut add = |lane: usize, x: f64, y: f64, w: f64| {
            let (t, v) = (x - about, w * (y - y_about));
            let (t2, wt) = (t * t, w * t);
            for (sum, term) in lanes.iter_mut().zip([w, wt, w * t2, wt * t2, w * t2 * t2, v, v * t, v * t2]) {
                sum[lane] += term;
            }
        };
        let (x4, x_rest) = xs.as_chunks::<LANES>();
        let (y4, y_rest) = ys.as_chunks::<LANES>();
        let (w4, w_rest) = weights.as_chunks::<LANES>();
        for ((x, y), w) in x4.iter().zip(y4).zip(w4) {
            for lane in 0..LANES {
                add(lane, x[lane], y[lane], w[lane]);
            }
        }
        for ((x, y), w) in x_rest.iter().zip(y_rest).zip(w_rest) {
            add(0, *x, *y, *w);
        }
        let [s0, s1, s2, s3, s4, v0, v1, v2] = lanes.map(|lane| lane.iter().sum::<f64>());
        Self { s0, s1, s2, s3, s4, v0, v1, v2 }
    }

    /// From the guess to the mean of x.
    fn shift(&self) -> f64 {
        self.s1 / self.s0
    }

    /// Variance of x.
    fn spread2(&self) -> f64 {
        self.s2 / self.s0 - self.shift().powi(2)
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
    fn a_far_station_without_weight_costs_no_digits() {
        let (mut xs, mut ys, mut ws) = wavy(90);
        let before = refit(&xs, &ys, &ws, Launch::Free, 0.0).unwrap();
        xs.push(1e7);
        ys.push(-1e7);
        ws.push(0.0);
        let after = refit(&xs, &ys, &ws, Launch::Free, 0.0).unwrap();
        assert!((after.2 / before.2 - 1.0).abs() < 1e-11 && (after.0 - before.0).abs() < 1e-9, "{before:?} {after:?}");
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
