//! One filling, read at marks as it fills.
//!
//! The readings are cumulative, so the *differences* between neighbours share a reading and are
//! correlated by -1/2: averaging `(V2-V1)/(t2-t1), (V3-V2)/(t3-t2), ...` throws the middle readings away and gains
//! nothing with their number. The straight line `V = a + Q t` through the cumulative readings uses them rightly;
//! its intercept takes up the start and what was in the vessel. Amount and time both err, each reading on its own:
//! D. York et al., Am. J. Phys. 72 (2004) 367, without correlation. For n even readings over a volume V of which
//! each errs by u: `u(Q)/Q = sqrt(12 (n-1) / (n (n+1))) u/V`.
//!
//! An error of the vessel's whole scale moves all marks together and does not show in the fit; it has
//! to be in the stated uncertainty of a timed flow instead.

use super::{Catch, FlowInput, t95};
use crate::notice::Notice;
use nalgebra::{Matrix3, Vector3};

/// The fitted line, ready to be evaluated under shifted inputs.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Running {
    slope: f64,
    span: f64,
    span_s: f64,
}

impl Running {
    /// From checked readings, at least two, rising.
    pub(super) fn new(catches: &[Catch], weighed: bool, notices: &mut Vec<Notice>) -> (Self, Vec<FlowInput>) {
        let n = catches.len();
        let line = Line::fit(catches);
        let (first, last) = (&catches[0], &catches[n - 1]);
        let running = Self { slope: line.slope, span: last.amount - first.amount, span_s: last.time_s - first.time_s };
        let (name, unit) = if weighed { ("flow.mass", "kg") } else { ("flow.volume", "m^3") };
        let sure = f64::INFINITY;
        // Each input is the whole span; its uncertainty is what makes the slope err as the readings do.
        let u_span = line.u_from_amounts / line.slope * running.span;
        let u_span_s = line.u_from_times / line.slope * running.span_s;
        let mut inputs = vec![
            FlowInput { name, value: running.span, u: u_span, dof: sure, unit },
            FlowInput { name: "flow.time", value: running.span_s, u: u_span_s, dof: sure, unit: "s" },
        ];
        if n < 3 {
            let says = "two readings only: whether the flow was steady is not known";
            notices.push(Notice::new("flow.running", says).hint("read the filling at five or more marks"));
        } else if let Some(u) = line.excess() {
            let unit = if weighed { "kg/s" } else { "m^3/s" };
            inputs.push(FlowInput { name: "flow.scatter", value: 0.0, u, dof: n as f64 - 2.0, unit });
        }
        tell_bend(catches, &line, notices);
        (running, inputs)
    }

    /// Rate for shifted inputs: span of the amount, span of time, scatter where there is one.
    pub(super) fn rate(&self, values: &[f64]) -> f64 {
        self.slope * (values[0] / self.span) / (values[1] / self.span_s) + values.get(2).copied().unwrap_or(0.0)
    }
}

/// A straight line with errors in both coordinates.
#[derive(Clone, Debug, PartialEq)]
struct Line {
    slope: f64,
    /// Weight of each reading: one over its variance off the line.
    weights: Vec<f64>,
    u_from_amounts: f64,
    u_from_times: f64,
    /// What the scatter off the line says of the slope's uncertainty; `None` for two readings.
    u_observed: Option<f64>,
}

impl Line {
    fn fit(catches: &[Catch]) -> Self {
        let n = catches.len();
        let (first, last) = (&catches[0], &catches[n - 1]);
        let mut slope = (last.amount - first.amount) / (last.time_s - first.time_s);
        let mut weights = weights_at(slope, catches);
        // York's fixed point; the slope enters the weights weakly, so a few rounds settle it.
        for _ in 0..30 {
            let (mean_t, mean_v) = means(catches, &weights);
            let (mut over, mut under) = (0.0, 0.0);
            for (c, w) in catches.iter().zip(&weights) {
                let (t, v) = (c.time_s - mean_t, c.amount - mean_v);
                let known = c.u_amount.powi(2) + (slope * c.u_time_s).powi(2);
                // With no uncertainty at all: ordinary least squares, errors in the amount.
                let beta =
                    if known > 0.0 { (t * c.u_amount.powi(2) + slope * v * c.u_time_s.powi(2)) / known } else { t };
                over += w * beta * v;
                under += w * beta * t;
            }
            let next = over / under;
            let still = ((next - slope) / slope).abs() < 1e-14;
            slope = next;
            weights = weights_at(slope, catches);
            if still {
                break;
            }
        }
        let (mean_t, mean_v) = means(catches, &weights);
        let spread: f64 = catches.iter().zip(&weights).map(|(c, w)| w * (c.time_s - mean_t).powi(2)).sum();
        let part = |u: fn(&Catch) -> f64| {
            let parts = catches.iter().zip(&weights).map(|(c, w)| w * (c.time_s - mean_t) / spread * u(c));
            parts.map(|p| p * p).sum::<f64>().sqrt()
        };
        let left: f64 = catches
            .iter()
            .zip(&weights)
            .map(|(c, w)| w * (c.amount - mean_v - slope * (c.time_s - mean_t)).powi(2))
            .sum();
        Self {
            slope,
            u_from_amounts: part(|c| c.u_amount),
            u_from_times: slope * part(|c| c.u_time_s),
            u_observed: (n > 2).then(|| (left / (n as f64 - 2.0) / spread).sqrt()),
            weights,
        }
    }

    fn u_stated(&self) -> f64 {
        self.u_from_amounts.hypot(self.u_from_times)
    }

    /// Uncertainty of the slope from scatter beyond what the readings explain.
    fn excess(&self) -> Option<f64> {
        let (observed, stated) = (self.u_observed?, self.u_stated());
        (observed > stated).then(|| (observed * observed - stated * stated).sqrt())
    }
}

fn weights_at(slope: f64, catches: &[Catch]) -> Vec<f64> {
    let variances: Vec<f64> = catches.iter().map(|c| c.u_amount.powi(2) + (slope * c.u_time_s).powi(2)).collect();
    // One reading stated as exact among others must not take all the weight.
    let known = variances.iter().all(|v| *v > 0.0);
    variances.iter().map(|v| if known { 1.0 / v } else { 1.0 }).collect()
}

fn means(catches: &[Catch], weights: &[f64]) -> (f64, f64) {
    let total: f64 = weights.iter().sum();
    let mean = |of: fn(&Catch) -> f64| catches.iter().zip(weights).map(|(c, w)| w * of(c)).sum::<f64>() / total;
    (mean(|c| c.time_s), mean(|c| c.amount))
}

/// A notice where a parabola fits the readings so much better that the flow was not steady.
fn tell_bend(catches: &[Catch], line: &Line, notices: &mut Vec<Notice>) {
    let n = catches.len();
    if n < 5 {
        return;
    }
    let (mean_t, mean_v) = means(catches, &line.weights);
    let span_s = catches[n - 1].time_s - catches[0].time_s;
    let row = |c: &Catch| {
        let t = (c.time_s - mean_t) / span_s;
        Vector3::new(1.0, t, t * t)
    };
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for (c, w) in catches.iter().zip(&line.weights) {
        normal += row(c) * row(c).transpose() * *w;
        right += row(c) * (w * (c.amount - mean_v));
    }
    let Some(inverse) = normal.try_inverse() else { return };
    let fitted = inverse * right;
    let left: f64 =
        catches.iter().zip(&line.weights).map(|(c, w)| w * (c.amount - mean_v - row(c).dot(&fitted)).powi(2)).sum();
    // Weights are true inverse variances only where uncertainties are stated; never take less.
    let stated = if line.u_stated() > 0.0 { 1.0 } else { 0.0 };
    let scale = f64::max(left / (n as f64 - 3.0), stated);
    let u = (scale * inverse[(2, 2)]).sqrt();
    if fitted[2].abs() > t95(n - 3) * u {
        // V = .. + c (t/span)^2: the rate changes by 2 c/span from start to end.
        let drift = 2.0 * fitted[2] / span_s / line.slope * 100.0;
        let says = format!(
            "the flow drifts by {drift:+.2} % over the filling, the readings bend off a straight line: {}",
            super::effect_of_drift(drift)
        );
        let hint = "keep the head steady; a vessel that is not cylindrical, read by height, does the same";
        notices.push(Notice::new("flow.running", says).doubt().hint(hint));
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{COLD, Normal, litres};
    use super::super::{Discharge, FlowModel};
    use super::*;
    use crate::sheet::Flow;
    use nalgebra::{DMatrix, DVector};

    fn running(readings: &[(f64, f64)], u_l: f64, u_s: f64) -> Discharge {
        let fillings = readings.iter().map(|&(v, t)| litres(v, u_l, t, u_s)).collect();
        FlowModel::new(&Flow::Running(fillings)).unwrap().discharge(COLD).unwrap()
    }

    fn even(n: usize) -> Vec<(f64, f64)> {
        (0..n).map(|i| (1.0 + 9.0 * i as f64 / (n as f64 - 1.0), 5.0 + 36.0 * i as f64 / (n as f64 - 1.0))).collect()
    }

    /// Slope of a line through n even readings: sqrt(12 (n-1)/(n (n+1))), printed to three digits.
    #[test]
    fn uncertainty_by_number_of_readings() {
        for (n, factor) in [(2, 1.414), (3, 1.414), (5, 1.265), (10, 0.991), (20, 0.737)] {
            let q = running(&even(n), 0.02, 0.0);
            assert!((q.m3_s - 2.5e-4).abs() < 1e-17);
            assert!((q.u_m3_s / q.m3_s * 9.0 / 0.02 - factor).abs() < 5.1e-4, "{n}");
            let by_time = running(&even(n), 0.0, 0.1);
            assert!((by_time.u_m3_s / by_time.m3_s * 36.0 / 0.1 - factor).abs() < 6e-4, "{n}");
        }
    }

    /// The line through cumulative readings is the generalised least squares of the differences with their
    /// covariance, 2 on the diagonal and -1 beside it; the plain mean of the differences is not.
    #[test]
    fn differences_with_their_correlation_give_the_same() {
        let readings = [(1.0, 4.1), (2.0, 8.0), (3.0, 12.2), (4.0, 15.9), (5.0, 20.1), (6.0, 24.0)];
        let q = running(&readings, 0.01, 0.0);
        let n = readings.len() - 1;
        let dt = DVector::from_fn(n, |i, _| readings[i + 1].1 - readings[i].1);
        let dv = DVector::from_fn(n, |i, _| readings[i + 1].0 - readings[i].0);
        let cov = DMatrix::from_fn(n, n, |i, j| match i.abs_diff(j) {
            0 => 2.0,
            1 => -1.0,
            _ => 0.0,
        });
        let inverse = cov.try_inverse().unwrap();
        let information = (dt.transpose() * &inverse * &dt)[0];
        let gls = (dt.transpose() * &inverse * &dv)[0] / information;
        assert!((q.m3_s * 1e3 / gls - 1.0).abs() < 1e-12);
        let naive = dv.component_div(&dt).mean();
        assert!((naive / gls - 1.0).abs() > 1e-3);
    }

    /// K. Pearson's data (1901) with D. York's weights (1966): slope -0.480533407, chi-squared 11.86635319.
    /// Mirrored in time the line rises, as a filling does.
    #[test]
    fn pearson_york_line() {
        let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        let wx = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0];
        let wy = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0];
        let catches: Vec<Catch> = (0..10)
            .rev()
            .map(|i: usize| Catch {
                amount: y[i],
                u_amount: 1.0 / f64::sqrt(wy[i]),
                time_s: 10.0 - x[i],
                u_time_s: 1.0 / f64::sqrt(wx[i]),
            })
            .collect();
        let line = Line::fit(&catches);
        assert!((line.slope - 0.480_533_407_446).abs() < 1e-10, "{}", line.slope);
        let birge = (11.866_353_19f64 / 8.0).sqrt();
        assert!((line.u_observed.unwrap() / line.u_stated() - birge).abs() < 1e-8);
    }

    #[test]
    fn a_bend_is_told_with_its_size() {
        let bent: Vec<_> = (1..=8).map(|i| f64::from(i) * 5.0).map(|t| (0.25 * t * (1.0 - 0.001 * t), t)).collect();
        let q = running(&bent, 0.002, 0.01);
        // rate 0.25 (1 - 0.002 t): from t = 5 to 40 s it falls by 0.07 of 0.25, 7.3 % of the mean 0.23875.
        let told = q.notices.iter().find(|n| n.says.contains("drifts")).unwrap();
        assert!(told.says.contains("-7.33 %"), "{}", told.says);
        assert!(running(&even(8), 0.002, 0.01).notices.is_empty());
    }

    #[test]
    fn spread_of_simulated_fillings_is_what_is_stated() {
        let mut normal = Normal(4_304);
        let (mut sum, mut squares, mut stated, runs) = (0.0, 0.0, 0.0, 3000);
        for _ in 0..runs {
            let readings: Vec<_> =
                even(8).into_iter().map(|(v, t)| (v + 0.02 * normal.draw(), t + 0.07 * normal.draw())).collect();
            let catches: Vec<Catch> =
                readings.iter().map(|&(v, t)| Catch { amount: v, u_amount: 0.02, time_s: t, u_time_s: 0.07 }).collect();
            let line = Line::fit(&catches);
            sum += line.slope - 0.25;
            squares += (line.slope - 0.25).powi(2);
            stated += line.u_stated();
        }
        let n = f64::from(runs);
        let (sd, u) = ((squares / n).sqrt(), stated / n);
        assert!((sd / u - 1.0).abs() < 0.04, "{sd} {u}"); // sampling: 1.3 %
        assert!((sum / n).abs() < 4.0 * u / n.sqrt());
    }
}
