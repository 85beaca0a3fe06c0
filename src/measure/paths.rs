//! The fitted trajectory and the one of the ideal velocity, as they run on the bench and in the photo.

use super::shape::Fitted;
use crate::calibration::Calibration;
use crate::point::BenchPoint;
use serde::{Deserialize, Serialize};

/// Points of each path.
const POINTS: usize = 61;

/// One point of a path.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PathPoint {
    /// Where it is in the photo.
    pub px: [f64; 2],
    /// Bench x in mm.
    pub x_mm: f64,
    /// Drop in mm.
    pub y_mm: f64,
    /// How much faster the water is there than at the vena contracta, from the path's slope: horizontal speed is kept,
    /// so the speed goes as sqrt(1 + slope^2).
    pub speed_up: f64,
}

/// The fitted trajectory from the vena contracta to the last station, evenly in x.
pub(crate) fn fitted(calibration: &Calibration, fitted: &Fitted) -> Vec<PathPoint> {
    let fit = &fitted.fit;
    path(calibration, fitted, |x| (fit.y_mm(x), fit.slope(x)))
}

/// The path of a jet without loss, sqrt(2 g H), that starts where the fitted one does and as steeply; over the same x.
///
/// y = y0 + b t + g (1 + b^2) t^2 / (2 V^2), t = x - x0: the parabola of the square-and-yardstick formula, inclined.
pub(crate) fn ideal(calibration: &Calibration, fitted: &Fitted, gravity: f64, ideal_m_s: f64) -> Vec<PathPoint> {
    let fit = &fitted.fit;
    let (x0, b) = (fit.x_vc_mm, fit.slope(fit.x_vc_mm));
    let y0 = fit.y_mm(x0);
    let a_per_mm = gravity * (1.0 + b * b) / (2.0 * ideal_m_s * ideal_m_s) / 1000.0;
    path(calibration, fitted, |x| {
        let t = x - x0;
        (y0 + b * t + a_per_mm * t * t, b + 2.0 * a_per_mm * t)
    })
}

fn path(calibration: &Calibration, fitted: &Fitted, at: impl Fn(f64) -> (f64, f64)) -> Vec<PathPoint> {
    let first = fitted.fit.x_vc_mm;
    let last = fitted.points.iter().map(|p| p.x_mm).fold(first, f64::max);
    let start = at(first).1.hypot(1.0);
    (0..POINTS)
        .filter_map(|i| {
            let x_mm = first + (last - first) * i as f64 / (POINTS - 1) as f64;
            let (y_mm, slope) = at(x_mm);
            let px = calibration.pixel_from_bench(BenchPoint::new(x_mm, y_mm))?;
            Some(PathPoint { px: px.into(), x_mm, y_mm, speed_up: slope.hypot(1.0) / start })
        })
        .collect()
}
