//! A straight line through points whose coordinates all have errors, correlated in any way.

use super::pool::inverse;
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};

/// A fitted line y = a + b x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    pub intercept: f64,
    pub slope: f64,
    /// Variances of intercept and slope, and their covariance.
    pub intercept_variance: f64,
    pub slope_variance: f64,
    pub covariance: f64,
    pub chi2: f64,
}

/// Points with the covariances of their coordinates.
#[derive(Clone, Debug)]
pub(super) struct Points<'a> {
    pub x: &'a [f64],
    pub y: &'a [f64],
    pub xx: DMatrix<f64>,
    /// Covariance of x (rows) and y (columns).
    pub xy: DMatrix<f64>,
    pub yy: DMatrix<f64>,
}

/// The line of least v' C^-1 v, v the corrections of all coordinates that put the points onto it.
///
/// Conditions with parameters y - a - b x = 0, linearised at the corrected points (the general case of adjustment: W. E. Deming,
/// 1943, "Statistical Adjustment of Data", chapter IV); without correlation between points it is D. York's line (D. York et al.,
/// 2004, Am. J. Phys. 72:367, eq. 13). `None` below two points, where all x are one, or where it does
/// not come to rest.
pub(super) fn line(points: &Points) -> Option<Line> {
    let n = points.x.len();
    if n < 2 {
        return None;
    }
    let (x, y) = (DVector::from_column_slice(points.x), DVector::from_column_slice(points.y));
    let (mean_x, mean_y) = (x.mean(), y.mean());
    // About the mean: the two parameters are then of one size, and nearly independent.
    let (x, y) = (x.add_scalar(-mean_x), y.add_scalar(-mean_y));
    let spread = x.norm_squared();
    if spread.is_nan() || spread <= 0.0 {
        return None;
    }
    let mut p = Vector2::new(0.0, x.dot(&y) / spread);
    let mut on_line = x.clone();
    for _ in 0..200 {
        let b = p[1];
        let off = &points.yy - (&points.xy + points.xy.transpose()) * b + &points.xx * (b * b);
        let weight = inverse(&off)?;
        let misclosure = y.add_scalar(-p[0]) - &x * b;
        let mut normal = Matrix2::zeros();
        let mut right = Vector2::zeros();
        let pull = &weight * &misclosure;
        let weighted_x = &weight * &on_line;
        normal[(0, 0)] = weight.sum();
        normal[(0, 1)] = weighted_x.sum();
        normal[(1, 0)] = normal[(0, 1)];
        normal[(1, 1)] = on_line.dot(&weighted_x);
        right[0] = pull.sum();
        right[1] = on_line.dot(&pull);
        let inverse = normal.try_inverse()?;
        let step = inverse * right;
        // what is left of the conditions moves the points, each coordinate by its share
        let left = misclosure - (&on_line * step[1]).add_scalar(step[0]);
        on_line = &x + (&points.xx * b - &points.xy) * (&weight * &left);
        p += step;
        let still = step[1].powi(2) <= 1e-22 * inverse[(1, 1)] && step[0].powi(2) <= 1e-22 * inverse[(0, 0)];
        if still || step.iter().all(|s| s.abs() <= 1e-14 * p.amax()) {
            let chi2 = left.dot(&(&weight * &left)).max(0.0);
            let (aa, ab, bb) = (inverse[(0, 0)], inverse[(0, 1)], inverse[(1, 1)]);
            return Some(Line {
                intercept: mean_y + p[0] - p[1] * mean_x,
                slope: p[1],
                intercept_variance: aa - 2.0 * mean_x * ab + mean_x * mean_x * bb,
                slope_variance: bb,
                covariance: ab - mean_x * bb,
                chi2,
            });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// K. Pearson's data (1901) with D. York's weights (1966), as J. H. Williamson (1968, Can. J. Phys. 46:1845) solved
    /// it: a = 5.479 910 224 03, b = -0.480 533 407 45. Standard uncertainties and chi^2 recomputed by an orthogonal-distance
    /// solver: 0.294 970 74, 0.057 985 01, 11.866 353 19.
    #[test]
    fn pearson_york_line() {
        let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        let wx = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0_f64];
        let wy = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0_f64];
        let diagonal = |w: [f64; 10]| DMatrix::from_diagonal(&DVector::from_iterator(10, w.iter().map(|w| 1.0 / w)));
        let points = Points { x: &x, y: &y, xx: diagonal(wx), xy: DMatrix::zeros(10, 10), yy: diagonal(wy) };
        let line = line(&points).unwrap();
        assert!((line.slope + 0.480_533_407_45).abs() < 2e-11, "{line:?}");
        assert!((line.intercept - 5.479_910_224_03).abs() < 2e-10, "{line:?}");
        assert!((line.chi2 - 11.866_353_19).abs() < 1e-7, "{line:?}");
        assert!((line.slope_variance.sqrt() - 0.057_985_01).abs() < 2e-7, "{line:?}");
        assert!((line.intercept_variance.sqrt() - 0.294_970_74).abs() < 2e-6, "{line:?}");
    }

    #[test]
    fn an_error_that_all_points_share_moves_the_intercept_and_not_the_slope() {
        let (x, y) = ([1.0, 2.0, 3.0, 4.0], [3.01, 4.99, 7.02, 8.98]);
        let own = DMatrix::identity(4, 4) * 1e-4;
        let plain = Points { x: &x, y: &y, xx: DMatrix::zeros(4, 4), xy: DMatrix::zeros(4, 4), yy: own.clone() };
        let common = Points { yy: own.add_scalar(0.25), ..plain.clone() };
        let (plain, common) = (line(&plain).unwrap(), line(&common).unwrap());
        assert!((plain.slope - common.slope).abs() < 1e-12 && (plain.chi2 - common.chi2).abs() < 1e-6);
        assert!((plain.slope_variance - common.slope_variance).abs() < 1e-12);
        assert!((common.intercept_variance - plain.intercept_variance - 0.25).abs() < 1e-9);
    }

    #[test]
    fn one_point_or_one_place_give_no_line() {
        let zero = DMatrix::zeros(2, 2);
        let yy = DMatrix::identity(2, 2);
        let points = Points { x: &[1.0, 1.0], y: &[1.0, 2.0], xx: zero.clone(), xy: zero, yy };
        assert_eq!(line(&points), None);
    }
}
