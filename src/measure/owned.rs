//! The bend of the stations that the camera's own uncertainties explain.
//!
//! Lens and camera askew bend the seen path away from any parabola. What that does to the results stands in the budget
//! under the names of the calibration's observations; left in the residuals it would be counted once more, as scatter
//! of the stations. So the scatter is taken from stations without it. The curve itself is not touched.

use super::sight::Sight;
use crate::calibration::View;
use crate::point::BenchPoint;
use crate::trajectory::{self, Fit, FitOptions, Launch, Station};
use nalgebra::{DMatrix, DVector};

/// `fit` of `stations` (photo stations `sound`) with the covariance, and all that tells of it, from stations freed of the bends
/// that the calibration owns. `noise_mm`: each station's own standard uncertainty as a drop.
///
/// A stated launch is left as it is: its weight against the stations' scatter is part of the curve.
pub(crate) fn scatter_beside_the_camera(
    fit: Fit,
    sight: &Sight,
    sound: &[usize],
    stations: &[Station],
    noise_mm: &[f64],
    options: &FitOptions,
) -> Fit {
    if matches!(options.launch, Launch::Stated { .. }) {
        return fit;
    }
    let Some(patterns) = patterns(&fit, sight, sound, options) else { return fit };
    let at: Vec<BenchPoint> = stations.iter().map(|s| BenchPoint::new(s.x_mm, s.y_mm)).collect();
    let Some(residual) = residuals(&at, &fit.weight, options) else { return fit };
    let Some(bend) = explained(&patterns, &residual, noise_mm, &fit.used) else { return fit };
    let freed: Vec<Station> =
        stations.iter().zip(&bend).map(|(s, bend)| Station { y_mm: s.y_mm - bend, ..*s }).collect();
    match trajectory::fit(&freed, options) {
        Ok(f) => Fit {
            covariance: f.covariance,
            n_effective: f.n_effective,
            dof: f.dof,
            correlation_length_mm: f.correlation_length_mm,
            chi2_per_dof: f.chi2_per_dof,
            ..fit
        },
        Err(_) => fit,
    }
}

/// Bend in mm of drop, one for each station, that one standard uncertainty of each deviation of the calibration leaves over
/// a refitted parabola: central differences.
fn patterns(fit: &Fit, sight: &Sight, sound: &[usize], options: &FitOptions) -> Option<Vec<Vec<f64>>> {
    let seen = |view: &View| {
        let points: Option<Vec<BenchPoint>> =
            sound.iter().map(|&i| view.bench_from_pixel(sight.trace.stations[i].at)).collect();
        residuals(&points?, &fit.weight, options)
    };
    let groups = sight.calibration.groups();
    let all = groups.iter().flat_map(|g| &g.deviations).map(|d| {
        let back: Vec<f64> = d.iter().map(|v| -v).collect();
        let (plus, minus) = (seen(&sight.calibration.view_at(d))?, seen(&sight.calibration.view_at(&back))?);
        Some(plus.iter().zip(&minus).map(|(p, m)| 0.5 * (p - m)).collect())
    });
    all.collect()
}

/// Drops of `points` below the parabola fitted through them, mm.
fn residuals(points: &[BenchPoint], weight: &[f64], options: &FitOptions) -> Option<Vec<f64>> {
    let (x, y): (Vec<f64>, Vec<f64>) = points.iter().map(|p| (p.x_mm, p.y_mm)).unzip();
    let (c, b, a) = trajectory::refit(&x, &y, weight, options.launch, options.x_vc_mm)?;
    Some(x.iter().zip(&y).map(|(x, y)| y - (c + x * (b + x * a))).collect())
}

/// The part of `residual` that `patterns` explain, each with an amplitude of standard normal prior: the ridge estimate
/// (A. E. Hoerl and R. W. Kennard, 1970, Technometrics 12:55) with the prior's precision for its constant.
///
/// The noise is the stations' own or, where larger, that of successive differences (J. von Neumann, 1941,
/// Ann. Math. Stat. 12:367), which no smooth bend reaches. Stations not `used` get their bend but have no say.
fn explained(patterns: &[Vec<f64>], residual: &[f64], noise_mm: &[f64], used: &[bool]) -> Option<Vec<f64>> {
    let rows: Vec<usize> = (0..residual.len()).filter(|&i| used[i] && noise_mm[i] > 0.0).collect();
    if rows.len() < 2 || patterns.is_empty() {
        return None;
    }
    let z: Vec<f64> = rows.iter().map(|&i| residual[i] / noise_mm[i]).collect();
    let steps: f64 = z.windows(2).map(|w| (w[1] - w[0]).powi(2)).sum();
    let scale = (0.5 * steps / (z.len() - 1) as f64).sqrt().max(1.0);
    let p = DMatrix::from_fn(rows.len(), patterns.len(), |i, k| patterns[k][rows[i]] / (scale * noise_mm[rows[i]]));
    let r = DVector::from_iterator(z.len(), z.iter().map(|z| z / scale));
    let normal = p.tr_mul(&p) + DMatrix::identity(patterns.len(), patterns.len());
    let amplitudes = normal.cholesky()?.solve(&p.tr_mul(&r));
    let bend = |i: usize| patterns.iter().zip(amplitudes.iter()).map(|(p, a)| a * p[i]).sum();
    Some((0..residual.len()).map(bend).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(n: usize, size: f64) -> Vec<f64> {
        (0..n).map(|i| size * (i as f64 * 0.1).sin()).collect()
    }

    fn rough(n: usize, size: f64) -> impl Iterator<Item = f64> {
        (0..n).map(move |i| if i % 2 == 0 { size } else { -size })
    }

    #[test]
    fn a_bend_within_the_cameras_uncertainty_is_explained() {
        let residual: Vec<f64> = wave(100, 0.8).iter().zip(rough(100, 0.01)).map(|(w, e)| w + e).collect();
        let bend = explained(&[wave(100, 1.0)], &residual, &[0.01; 100], &[true; 100]).unwrap();
        for (b, w) in bend.iter().zip(wave(100, 0.8)) {
            assert!((b - w).abs() < 0.002, "{b} {w}");
        }
    }

    #[test]
    fn a_bend_far_beyond_it_or_within_the_noise_is_not() {
        let size = |v: &[f64]| v.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        // a camera that moves the stations by a hundredth of their noise says nothing of a wave of that noise's size
        let small = explained(&[wave(100, 0.0001)], &wave(100, 0.01), &[0.01; 100], &[true; 100]).unwrap();
        assert!(size(&small) < 0.0002, "{}", size(&small));
        let residual: Vec<f64> = rough(100, 1.0).collect();
        let noise = explained(&[wave(100, 1.0)], &residual, &[0.01; 100], &[true; 100]).unwrap();
        assert!(size(&noise) < 0.05, "{}", size(&noise));
    }
}
