//! The fit of the trajectory: a parabola through the stations by robust orthogonal distances.

use super::correlation::{Correlation, correlation};
use super::foot::{Foot, foot};
use super::quadratic::Regression;
use super::start::robust_start;
use super::{Fit, FitOptions, Launch, Loss, NoFit, Station};

/// Fewer stations than this cannot show which of them is the outlier: all are then used with their
/// stated weights.
const FEWEST_FOR_ROBUST: usize = 8;
/// How many observations a stated uncertainty counts for against a *smaller* scatter: see [`fit`].
const CAUTION: f64 = 2.0;

/// Reweighting gains a factor per pass; this many are never needed by data that have a fit.
const PASSES: usize = 300;
/// The scale moves with the curve at first, then stands, so that the two cannot chase each other
/// for ever.
const PASSES_WITH_SCALE: usize = 40;
/// Fewer stations than this cannot show that their uncertainty is stated too large.
const FEWEST_FOR_SCALE: usize = 20;

/// Fits the trajectory.
///
/// **Curve.** Minimises the loss of the orthogonal distances `d`, each over its station's
/// uncertainty and a common robust scale. Starts from a least median of squares (survives any 30 %
/// of outliers, also in one run), then reweights: each pass is one weighted regression of y with
/// weights `w(d / (s u)) / (u^2 (1 + slope^2))`, slope at the station's foot, until still. So the
/// fit is exactly the regression with [`Fit::weight`], and differs from the minimum of the
/// orthogonal distances by the order of `a d^2` only (tested: 0.4 % of the standard uncertainty at
/// 0.1 mm of scatter).
///
/// **Covariance.** That of an M-estimate (Huber 1981, "Robust Statistics", section 7.6), times the
/// inflation by which neighbouring stations' correlation (surface waves, smoothing) makes them
/// worth fewer than their count. *Scatter* sets the scale, since it contains what `u` leaves out;
/// where it is *smaller* than stated, `u` is given the weight of two observations:
/// `scale^2 = chi2 + (1 - chi2) 2 / (2 + dof)`. So a few stations that agree by luck do not look
/// better than they were stated to be, and many that show `u` to be too large win. `dof` follows by
/// Welch-Satterthwaite (GUM G.4), the stated part counting as exact. The 95 % interval of the
/// velocity covers in 94 to 97 % of draws on the usual benches (`coverage.rs` has the table); with 30
/// stations or fewer and waves several stations long it falls to about 92 %, since so short a
/// stretch cannot show its correlation.
///
/// # Errors
/// [`NoFit`] for a number that is not finite, an uncertainty that is not positive, fewer than 4
/// stations (3 with the launch known), fewer than 3 distinct `x`, or magnitudes whose powers
/// overflow.
pub fn fit(stations: &[Station], options: &FitOptions) -> Result<Fit, NoFit> {
    refuse_unusable(stations, options)?;
    let mut order: Vec<usize> = (0..stations.len()).collect();
    order.sort_by(|&i, &j| stations[i].x_mm.total_cmp(&stations[j].x_mm));
    let sorted: Vec<Station> = order.iter().map(|&i| stations[i]).collect();
    let problem = Problem {
        stations: &sorted,
        options,
        robust: sorted.len() >= FEWEST_FOR_ROBUST && options.loss != Loss::Squared,
    };

    let (mut curve, mut scale) = problem.start()?;
    let mut gain = scale.powi(-2);
    let mut outcome;
    let mut rounds = 0;
    loop {
        let settled = problem.settle(curve, scale, gain)?;
        outcome = problem.weigh_up(settled)?;
        // only a stated angle is weighed against the stations and so needs their true weight
        let still = (outcome.gain / gain - 1.0).abs() < 1e-9;
        rounds += 1;
        if rounds == 30 || still || (rounds == 2 && !matches!(options.launch, Launch::Stated { .. })) {
            break;
        }
        (curve, scale, gain) = (outcome.settled.curve, outcome.settled.scale, outcome.gain);
    }
    problem.report(outcome, &order)
}

fn refuse_unusable(stations: &[Station], options: &FitOptions) -> Result<(), NoFit> {
    let needed = options.launch.fewest_stations();
    if stations.len() < needed {
        return Err(NoFit::new(format!(
            "{} stations, but at least {needed} are needed for this trajectory",
            stations.len()
        )));
    }
    for (i, s) in stations.iter().enumerate() {
        if !(s.x_mm.is_finite() && s.y_mm.is_finite() && s.u_mm.is_finite()) {
            return Err(NoFit::new(format!(
                "station {} is not finite: ({}, {}) ± {} mm",
                i + 1,
                s.x_mm,
                s.y_mm,
                s.u_mm
            )));
        }
        if s.u_mm <= 0.0 {
            return Err(NoFit::new(format!(
                "station {} has the standard uncertainty {} mm, which must be positive",
                i + 1,
                s.u_mm
            )));
        }
    }
    let known = match options.launch {
        Launch::Stated { angle_rad, u_rad } => angle_rad.abs() < 1.57 && u_rad.is_finite() && u_rad >= 0.0,
        _ => true,
    };
    if !(known && options.x_vc_mm.is_finite()) {
        return Err(NoFit::new(format!(
            "the launch is not usable: {:?} at x = {} mm",
            options.launch, options.x_vc_mm
        )));
    }
    let mut xs: Vec<f64> = stations.iter().map(|s| s.x_mm).collect();
    xs.sort_by(f64::total_cmp);
    xs.dedup();
    if xs.len() < 3 {
        return Err(NoFit::new(format!(
            "the stations lie at {} distinct x, but at least 3 are needed for a parabola",
            xs.len()
        )));
    }
    Ok(())
}

/// Stations in order of x, and how to fit them.
struct Problem<'a> {
    stations: &'a [Station],
    options: &'a FitOptions,
    robust: bool,
}

/// A curve that reweighting no longer moves.
struct Settled {
    curve: [f64; 3],
    scale: f64,
    feet: Vec<Foot>,
    /// Weights of the y-residuals in the regression that gave `curve`.
    weights: Vec<f64>,
}

struct Outcome {
    settled: Settled,
    used: Vec<bool>,
    correlation: Correlation,
    chi2: f64,
    dof: f64,
    covariance: [[f64; 3]; 3],
    /// Factor from robust weight over `u^2 (1 + slope^2)` to the weight a stated angle is held
    /// against.
    gain: f64,
}

impl Problem<'_> {
    fn regression(&self, weights: &[f64]) -> Result<Regression, NoFit> {
        let xs: Vec<f64> = self.stations.iter().map(|s| s.x_mm).collect();
        let ys: Vec<f64> = self.stations.iter().map(|s| s.y_mm).collect();
        let regression =
            Regression::new(&xs, &ys, weights).map(|r| r.observe(self.options.launch, self.options.x_vc_mm));
        regression.filter(|r| r.coefficients().iter().all(|k| k.is_finite())).ok_or_else(|| {
            let (first, last) = (xs[0], xs[xs.len() - 1]);
            NoFit::new(format!("the stations from x = {first} to {last} mm do not determine a parabola"))
        })
    }

    fn start(&self) -> Result<([f64; 3], f64), NoFit> {
        let found =
            if self.robust { robust_start(self.stations, self.options.launch, self.options.x_vc_mm) } else { None };
        if let Some((curve, scale)) = found {
            return Ok((curve, scale.max(self.smallest_scale())));
        }
        let weights: Vec<f64> = self.stations.iter().map(|s| s.u_mm.powi(-2)).collect();
        Ok((self.regression(&weights)?.coefficients(), 1.0))
    }

    /// A scale below a thousandth of the stated uncertainty is rounding, not scatter; and a few
    /// stations can agree by luck, which must not make outliers of the others.
    fn smallest_scale(&self) -> f64 {
        if self.stations.len() < FEWEST_FOR_SCALE { 1.0 } else { 1e-3 }
    }

    fn feet(&self, curve: [f64; 3]) -> Vec<Foot> {
        self.stations.iter().map(|s| foot(curve, s.x_mm, s.y_mm)).collect()
    }

    /// Weight of a station `z` stated uncertainties off the curve, 0 for an outlier.
    fn robust_weight(&self, z: f64, scale: f64) -> f64 {
        match self.options.loss {
            _ if !self.robust => 1.0,
            _ if z.abs() > self.options.outlier_scales * scale => 0.0,
            loss => loss.weight(z / scale),
        }
    }

    fn settle(&self, start: [f64; 3], start_scale: f64, gain: f64) -> Result<Settled, NoFit> {
        let (mut curve, mut scale) = (start, start_scale);
        let ends = [self.stations[0].x_mm, self.stations[self.stations.len() - 1].x_mm];
        let extent = ends[1] - ends[0];
        let finest = self.stations.iter().map(|s| s.u_mm).fold(f64::INFINITY, f64::min);
        let mut feet = self.feet(curve);
        for pass in 0..PASSES {
            let offs = || self.stations.iter().zip(&feet).map(|(s, f)| f.distance / s.u_mm);
            let robust: Vec<f64> = offs().map(|z| self.robust_weight(z, scale)).collect();
            let weights: Vec<f64> = self
                .stations
                .iter()
                .zip(&feet)
                .zip(&robust)
                .map(|((s, f), w)| gain * w / (s.u_mm * s.u_mm * (1.0 + f.slope * f.slope)))
                .collect();
            let next = self.regression(&weights)?.coefficients();
            let moved = [ends[0], 0.5 * (ends[0] + ends[1]), ends[1]]
                .map(|x| ((next[0] - curve[0]) + x * ((next[1] - curve[1]) + x * (next[2] - curve[2]))).abs())
                .into_iter()
                .fold(0.0, f64::max);
            curve = next;
            feet = self.feet(curve);
            let before = scale;
            if self.robust && pass < PASSES_WITH_SCALE {
                let off = |(s, f): (&Station, &Foot)| (f.distance / s.u_mm).abs();
                let mut sizes: Vec<f64> = self
                    .stations
                    .iter()
                    .zip(&feet)
                    .map(off)
                    .zip(&robust)
                    .filter(|(_, w)| **w > 0.0)
                    .map(|(z, _)| z)
                    .collect();
                scale = median_scale(&mut sizes).max(self.smallest_scale());
            }
            // the largest and the smallest useful step differ by the rounding of the coordinates
            // themselves
            let still = moved <= 1e-9 * finest + 1e-13 * extent;
            if still && (scale / before - 1.0).abs() < 1e-6 || pass + 1 == PASSES && moved < 1e-3 * finest {
                return Ok(Settled { curve, scale, feet, weights });
            }
        }
        Err(NoFit::new(format!("the fit of {} stations did not come to rest in {PASSES} passes", self.stations.len())))
    }

    fn weigh_up(&self, settled: Settled) -> Result<Outcome, NoFit> {
        let scale = settled.scale;
        let parameters = if self.options.launch == Launch::Free { 3 } else { 2 };
        let used: Vec<bool> = settled.weights.iter().map(|w| *w > 0.0).collect();
        let (mut positions, mut influences) = (Vec::new(), Vec::new());
        let (mut slopes, mut plain, mut robust) = (0.0, 0.0, 0.0);
        let mut arc = 0.0;
        let mut last: Option<&Foot> = None;
        let on_curve = |f: &Foot| settled.curve[0] + f.x * (settled.curve[1] + settled.curve[2] * f.x);
        for ((s, f), &used) in self.stations.iter().zip(&settled.feet).zip(&used) {
            arc += last.map_or(0.0, |l| (f.x - l.x).hypot(on_curve(f) - on_curve(l)));
            last = Some(f);
            if used {
                let z = f.distance / s.u_mm;
                let precision = 1.0 / (s.u_mm * s.u_mm * (1.0 + f.slope * f.slope));
                positions.push(arc);
                influences.push(if self.robust { scale * self.options.loss.influence(z / scale) } else { z });
                slopes += if self.robust { self.options.loss.influence_slope(z / scale) } else { 1.0 };
                plain += precision;
                robust += precision * self.robust_weight(z, scale);
            }
        }
        let count = influences.len();
        let pull = slopes / count as f64;
        if count < self.options.launch.fewest_stations() || pull <= 0.0 {
            return Err(NoFit::new(format!("only {count} of {} stations agree on one parabola", self.stations.len())));
        }
        let found = correlation(&positions, &influences, parameters);
        let chi2 = found.variance / (pull * pull);
        let cautious = chi2 + (1.0 - chi2).max(0.0) * CAUTION / (CAUTION + found.variance_dof);
        // Welch-Satterthwaite: only chi2's part of the variance is itself uncertain
        let dof = if chi2 > 0.0 { (found.dof * (cautious / chi2).powi(2)).min(1e6) } else { 1e6 };
        let variance = cautious * found.inflation;
        let weights: Vec<f64> = self
            .stations
            .iter()
            .zip(&settled.feet)
            .zip(&used)
            .map(
                |((s, f), &used)| {
                    if used { 1.0 / (variance * s.u_mm * s.u_mm * (1.0 + f.slope * f.slope)) } else { 0.0 }
                },
            )
            .collect();
        let covariance = self.regression(&weights)?.covariance();
        Ok(Outcome { settled, used, correlation: found, chi2, dof, covariance, gain: plain / (robust * variance) })
    }

    fn report(&self, outcome: Outcome, order: &[usize]) -> Result<Fit, NoFit> {
        let Outcome { settled, used, correlation, chi2, dof, covariance, .. } = outcome;
        let [c_mm, b, a_per_mm] = settled.curve;
        let offs = settled.feet.iter().map(|f| f.distance);
        let squares: f64 = offs.clone().zip(&used).filter(|(_, u)| **u).map(|(d, _)| d * d).sum();
        let count = used.iter().filter(|u| **u).count() as f64;
        let fit = Fit {
            c_mm,
            b,
            a_per_mm,
            covariance,
            off_mm: unsort(order, offs),
            weight: unsort(order, settled.weights.into_iter()),
            used: unsort(order, used.into_iter()),
            rms_mm: (squares / count).sqrt(),
            n_effective: count / correlation.inflation,
            dof,
            correlation_length_mm: correlation.length,
            chi2_per_dof: chi2,
            scale: settled.scale,
            x_vc_mm: self.options.x_vc_mm,
        };
        let numbers = fit
            .covariance
            .iter()
            .flatten()
            .chain([&fit.rms_mm, &fit.chi2_per_dof])
            .chain(&fit.off_mm)
            .chain(&fit.weight);
        if numbers.into_iter().all(|v| v.is_finite()) {
            Ok(fit)
        } else {
            Err(NoFit::new("the stations' magnitudes are too large or too small to compute with"))
        }
    }
}

/// Normal-consistent median of absolute values, `1.4826 median` (Hampel 1974, "The influence curve
/// and its role in robust estimation", J. Am. Stat. Assoc. 69, 383-393).
fn median_scale(sizes: &mut [f64]) -> f64 {
    if sizes.is_empty() {
        return 0.0;
    }
    let middle = sizes.len() / 2;
    1.4826 * *sizes.select_nth_unstable_by(middle, f64::total_cmp).1
}

fn unsort<T: Clone + Default>(order: &[usize], values: impl Iterator<Item = T>) -> Vec<T> {
    let mut out = vec![T::default(); order.len()];
    for (&i, v) in order.iter().zip(values) {
        out[i] = v;
    }
    out
}

#[cfg(test)]
mod tests;
