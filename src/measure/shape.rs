//! From the centreline in the photo to the trajectory on the bench.
//!
//! The stations' distances are orthogonal, weighed by their own uncertainty. What the marks leave open (lens, camera
//! askew) bends the seen path away from any parabola by far more than the stations scatter. That leftover is the
//! model's, which states the drop at a given x; so it enters as a variance of the drop, alike for all stations, and the
//! fit tends from orthogonal distances (scatter rules) to plain distances in the drop (leftover rules).

use super::leftover::discrepancy_mm;
use super::owned::scatter_beside_the_camera;
use super::{Refused, sight::Sight};
use crate::jet::Trace;
use crate::notice::Notice;
use crate::point::BenchPoint;
use crate::quantity::Kind;
use crate::sheet::{Checked, Launch};
use crate::trajectory::foot::foot;
use crate::trajectory::{self, Fit, FitOptions, Loss};

/// The trajectory with the stations that bear it.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The curve; its covariance is that of the stations' scatter beside what the camera's uncertainties explain.
    pub fit: Fit,
    /// Stations on the bench, in the order of the trace.
    pub points: Vec<BenchPoint>,
    /// Each station's own standard uncertainty across the stream, mm.
    pub u_mm: Vec<f64>,
    /// Width of the stream at each station in px.
    pub widths_px: Vec<Option<f64>>,
    /// Width at the vena contracta in px, by continuity from the stations; `None` where none has a width.
    pub width_px: Option<f64>,
    /// Shift of the drop for a bow of one width, mm.
    pub bow_mm: Vec<f64>,
    /// Standard deviation of what the model leaves over, as a drop in mm.
    pub discrepancy_mm: f64,
}

/// Fits the trajectory.
///
/// # Errors
/// [`Refused`] for too few stations, or a path that does not fall.
pub fn fit(sheet: &Checked, sight: &Sight, notices: &mut Vec<Notice>) -> Result<Fitted, Refused> {
    let calibration = &sight.calibration;
    let (mut points, mut u_mm) = (Vec::new(), Vec::new());
    for station in &sight.trace.stations {
        let j = calibration.jacobian(station.at);
        let [nx, ny] = station.normal;
        let across = (j[0][0] * nx + j[0][1] * ny).hypot(j[1][0] * nx + j[1][1] * ny);
        let point = calibration.bench_from_pixel(station.at).ok_or_else(|| {
            Refused::because("stream", "the stream leaves the plane that the camera sees", "check the marks")
        })?;
        points.push(point);
        u_mm.push(station.u_px * across);
    }
    let launch = match sheet.launch {
        Launch::Free => trajectory::Launch::Free,
        Launch::Level => trajectory::Launch::Level,
        Launch::Stated(a) => trajectory::Launch::Stated { angle_rad: a.value.si(), u_rad: sheet.launch_u.si() },
    };
    let x_vc_mm = 500.0 * sheet.diameter.value.si();
    let sound: Vec<usize> = (0..points.len()).filter(|&i| sight.trace.stations[i].sound).collect();
    let mut discrepancy = 0.0;
    let mut slope: Vec<f64> = vec![0.0; points.len()];
    // what strays from the smooth course is already out; a robust loss would now cut what the lens bends at the ends
    let robust = sight.trace.stations.iter().any(|s| s.by_hand);
    let loss = if robust { Loss::TUKEY } else { Loss::Squared };
    let options = FitOptions { launch, x_vc_mm, loss, ..FitOptions::default() };
    let mut fitted = None;
    for _ in 0..4 {
        let stations: Vec<trajectory::Station> = sound
            .iter()
            .map(|&i| trajectory::Station {
                x_mm: points[i].x_mm,
                y_mm: points[i].y_mm,
                u_mm: u_mm[i].hypot(discrepancy / slope[i].hypot(1.0)),
            })
            .collect();
        let fit = trajectory::fit(&stations, &options).map_err(|e| {
            Refused::because("stream", e.to_string(), "see the stations; check orifice.centre, vertical and scale")
        })?;
        for (s, p) in slope.iter_mut().zip(&points) {
            *s = fit.slope(p.x_mm);
        }
        let noise: Vec<f64> = sound.iter().map(|&i| u_mm[i] * slope[i].hypot(1.0)).collect();
        let drop: Vec<f64> = sound.iter().zip(&fit.off_mm).map(|(&i, off)| off * slope[i].hypot(1.0)).collect();
        discrepancy = discrepancy_mm(&drop, &noise);
        fitted = Some((fit, stations, noise));
    }
    let Some((fit, stations, noise)) = fitted else {
        return Err(Refused::because("stream", "no trajectory", "add stations"));
    };
    if fit.velocity_m_s(9.8).is_none() {
        let says = "the path found does not fall: it curves upward or runs straight";
        return Err(Refused::because(
            "stream",
            says,
            "check vertical, orifice.centre and what was taken for the stream",
        ));
    }
    let fit = scatter_beside_the_camera(fit, sight, &sound, &stations, &noise, &options);
    let fit = with_all(fit, &points, &sound);
    let left_out = points.len() - sound.len();
    if left_out * 5 > points.len() {
        let says = format!("{left_out} of {} stations stray from the smooth course and are left out", points.len());
        notices.push(Notice::new("stream", says).doubt().hint("leave out what crosses the stream: stream.leave_out"));
    }
    let widths_px: Vec<Option<f64>> = sight.trace.stations.iter().map(|s| s.width_px).collect();
    let bow_mm = bow(&sight.trace, &points, &slope, calibration.px_per_mm(), &fit.used);
    let width_px = width_at_start(&fit, &points, &widths_px);
    Ok(Fitted { fit, points, u_mm, widths_px, width_px, bow_mm, discrepancy_mm: discrepancy })
}

/// The fit told for all stations, those left out with their distance and no weight.
fn with_all(mut fit: Fit, points: &[BenchPoint], sound: &[usize]) -> Fit {
    let mut off: Vec<f64> =
        points.iter().map(|p| foot([fit.c_mm, fit.b, fit.a_per_mm], p.x_mm, p.y_mm).distance).collect();
    let (mut weight, mut used) = (vec![0.0; points.len()], vec![false; points.len()]);
    for (k, &i) in sound.iter().enumerate() {
        off[i] = fit.off_mm[k];
        weight[i] = fit.weight[k];
        used[i] = fit.used[k];
    }
    fit.off_mm = off;
    fit.weight = weight;
    fit.used = used;
    fit
}

/// A bow of one width: the second Legendre polynomial along the stations, as a shift of the drop in mm.
fn bow(trace: &Trace, points: &[BenchPoint], slope: &[f64], px_per_mm: f64, used: &[bool]) -> Vec<f64> {
    let s: Vec<f64> = trace.stations.iter().map(|s| s.s_px).collect();
    let lo = s.iter().zip(used).filter(|(_, u)| **u).map(|(s, _)| *s).fold(f64::INFINITY, f64::min);
    let hi = s.iter().zip(used).filter(|(_, u)| **u).map(|(s, _)| *s).fold(f64::NEG_INFINITY, f64::max);
    let mut widths: Vec<f64> = trace.stations.iter().filter_map(|s| s.width_px).collect();
    widths.sort_unstable_by(f64::total_cmp);
    // stations placed by hand have no width: a click's reach stands for it
    let width_mm = widths.get(widths.len() / 2).copied().unwrap_or(20.0) / px_per_mm;
    (0..points.len())
        .map(|i| {
            let t = if hi > lo { (2.0 * (s[i] - lo) / (hi - lo) - 1.0).clamp(-1.0, 1.0) } else { 0.0 };
            width_mm * (1.5 * t * t - 0.5) * slope[i].hypot(1.0)
        })
        .collect()
}

/// Width at the vena contracta in px: the median over stations of width x (V(s)/V0)^(1/2), continuity.
fn width_at_start(fit: &Fit, points: &[BenchPoint], widths_px: &[Option<f64>]) -> Option<f64> {
    // V(s)/V0 with the horizontal speed kept: sqrt(1 + slope^2) over its value at the vena contracta
    let start = fit.slope(fit.x_vc_mm).hypot(1.0);
    let mut all: Vec<f64> = widths_px
        .iter()
        .zip(points)
        .zip(&fit.used)
        .filter(|(_, used)| **used)
        .filter_map(|((w, p), _)| w.map(|w| w * (fit.slope(p.x_mm).hypot(1.0) / start).sqrt()))
        .collect();
    if all.is_empty() {
        return None;
    }
    let mid = all.len() / 2;
    let (_, m, _) = all.select_nth_unstable_by(mid, f64::total_cmp);
    Some(*m)
}
