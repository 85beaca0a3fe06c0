//! Repeats of a timed filling.
//!
//! Each repeat gives `q_i = amount_i / time_i`. The stop-watch errs anew each time; the vessel's or the balance's
//! stated uncertainty is taken as common to all repeats, for it is one vessel, so it does not
//! shrink with their number. The mean is weighted by the timing's relative variance, so that a long filling counts
//! more than a short one.
//!
//! If the repeats scatter more than the stop-watch explains, the excess becomes an input of its own
//! (`flow.scatter`, Type A, n - 1 degrees of freedom): the uncertainty of the mean is the stop-watch's times
//! `S = sqrt(chi^2/(n-1))` where S exceeds 1, and never less than the stop-watch's. (R. T. Birge, Phys. Rev. 40
//! (1932) 207: the ratio of external to internal consistency.)

use super::{Catch, FlowInput, t95};
use crate::notice::Notice;

/// The repeats, ready to be evaluated under shifted inputs.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Timed {
    catches: Vec<Catch>,
    /// Weights of the mean; they sum to 1 and do not move with the inputs.
    weights: Vec<f64>,
    mean_amount: f64,
    mean_u_amount: f64,
    mean_time_s: f64,
    mean_u_time_s: f64,
}

impl Timed {
    /// From checked repeats, at least one.
    pub(super) fn new(catches: &[Catch], weighed: bool, notices: &mut Vec<Notice>) -> (Self, Vec<FlowInput>) {
        let n = catches.len() as f64;
        let mean = |of: fn(&Catch) -> f64| catches.iter().map(of).sum::<f64>() / n;
        let known_times = catches.iter().all(|c| c.u_time_s > 0.0);
        let raw = |c: &Catch| if known_times { (c.time_s / c.u_time_s).powi(2) } else { 1.0 };
        let total: f64 = catches.iter().map(raw).sum();
        let timed = Self {
            catches: catches.to_vec(),
            weights: catches.iter().map(|c| raw(c) / total).collect(),
            mean_amount: mean(|c| c.amount),
            mean_u_amount: mean(|c| c.u_amount),
            mean_time_s: mean(|c| c.time_s),
            mean_u_time_s: mean(|c| c.u_time_s),
        };
        let scatter = timed.scatter(notices);
        timed.tell_trend(notices);

        let (name, unit) = if weighed { ("flow.mass", "kg") } else { ("flow.volume", "m^3") };
        let sure = f64::INFINITY;
        let mut inputs = vec![
            FlowInput { name, value: timed.mean_amount, u: timed.mean_u_amount, dof: sure, unit },
            FlowInput {
                name: "flow.time",
                value: timed.mean_time_s,
                u: timed.u_time_of_mean_s(),
                dof: sure,
                unit: "s",
            },
        ];
        if let Some(u) = scatter {
            let unit = if weighed { "kg/s" } else { "m^3/s" };
            inputs.push(FlowInput { name: "flow.scatter", value: 0.0, u, dof: n - 1.0, unit });
        }
        (timed, inputs)
    }

    /// Rate for shifted inputs: mean amount, mean time, scatter where there is one.
    pub(super) fn rate(&self, values: &[f64]) -> f64 {
        let (more, longer) = (values[0] - self.mean_amount, values[1] - self.mean_time_s);
        let share = |u: f64, mean_u: f64| if mean_u > 0.0 { u / mean_u } else { 1.0 };
        let mean: f64 = self
            .catches
            .iter()
            .zip(&self.weights)
            .map(|(c, w)| {
                let amount = c.amount + more * share(c.u_amount, self.mean_u_amount);
                let time_s = c.time_s + longer * share(c.u_time_s, self.mean_u_time_s);
                w * amount / time_s
            })
            .sum();
        mean + values.get(2).copied().unwrap_or(0.0)
    }

    fn rates(&self) -> impl Iterator<Item = f64> {
        self.catches.iter().map(|c| c.amount / c.time_s)
    }

    fn best(&self) -> f64 {
        self.rates().zip(&self.weights).map(|(q, w)| q * w).sum()
    }

    /// Standard uncertainty of the mean rate from the stop-watch alone.
    fn u_from_timing(&self) -> f64 {
        let parts =
            self.catches.iter().zip(&self.weights).map(|(c, w)| w * c.amount / c.time_s * c.u_time_s / c.time_s);
        parts.map(|p| p * p).sum::<f64>().sqrt()
    }

    /// The one shift of all times that moves the mean rate as the independent presses do together;
    /// `u / sqrt(n)` for equal repeats.
    fn u_time_of_mean_s(&self) -> f64 {
        if self.mean_u_time_s <= 0.0 {
            return 0.0;
        }
        let slope: f64 = self
            .catches
            .iter()
            .zip(&self.weights)
            .map(|(c, w)| w * c.amount / (c.time_s * c.time_s) * c.u_time_s / self.mean_u_time_s)
            .sum();
        self.u_from_timing() / slope
    }

    /// Standard uncertainty of the mean from the excess of scatter; `None` without any.
    fn scatter(&self, notices: &mut Vec<Notice>) -> Option<f64> {
        let n = self.catches.len();
        if n < 2 {
            let says = "one filling only: its repeatability is not known";
            notices.push(Notice::new("flow.timed", says).hint("time three or more fillings"));
            return None;
        }
        let (best, dof) = (self.best(), n as f64 - 1.0);
        // Observed variance of the weighted mean, of the form that Birge's ratio compares.
        let observed = self.rates().zip(&self.weights).map(|(q, w)| w * (q - best).powi(2)).sum::<f64>() / dof;
        let timing = self.u_from_timing().powi(2);
        let ratio = if timing > 0.0 { (observed / timing).sqrt() } else { f64::INFINITY };
        if ratio > 2.0 && observed.sqrt() > 1e-3 * best {
            let cause = if ratio.is_finite() {
                format!("{ratio:.1} times what the stop-watch explains")
            } else {
                "with no uncertainty of the times to explain it".to_owned()
            };
            let says = format!(
                "the repeats scatter so that their mean is known to {:.2} %, {cause}",
                observed.sqrt() / best * 100.0
            );
            notices.push(
                Notice::new("flow.timed", says)
                    .doubt()
                    .hint("look for a flow that is not steady, or a misread filling"),
            );
        }
        (observed > timing).then(|| (observed - timing).sqrt())
    }

    /// A notice where the rate rises or falls with the order of the repeats.
    fn tell_trend(&self, notices: &mut Vec<Notice>) {
        let n = self.catches.len();
        if n < 4 {
            return;
        }
        let middle = (n as f64 - 1.0) / 2.0;
        let mean = self.rates().sum::<f64>() / n as f64;
        let places = || (0..n).map(|i| i as f64 - middle);
        let spread: f64 = places().map(|p| p * p).sum();
        let slope = places().zip(self.rates()).map(|(p, q)| p * (q - mean)).sum::<f64>() / spread;
        let left: f64 = places().zip(self.rates()).map(|(p, q)| (q - mean - slope * p).powi(2)).sum();
        // Never surer than the stop-watch allows, so that a lucky few do not cry wolf.
        let timing = self.u_from_timing() * (n as f64).sqrt();
        let u_slope = (left / (n as f64 - 2.0)).sqrt().max(timing) / spread.sqrt();
        if slope.abs() > t95(n - 2) * u_slope {
            let drift = slope * (n as f64 - 1.0) / mean * 100.0;
            let says = format!(
                "the flow drifts by {drift:+.2} % from the first repeat to the last: {}",
                super::effect_of_drift(drift)
            );
            let hint = "keep the head steady, or take the photo midway through the repeats";
            notices.push(Notice::new("flow.timed", says).doubt().hint(hint));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{COLD, Normal, litres};
    use super::super::{Discharge, FlowModel};
    use crate::sheet::Flow;

    fn timed(fillings: &[(f64, f64, f64, f64)]) -> Discharge {
        let fillings = fillings.iter().map(|&(v, uv, t, ut)| litres(v, uv, t, ut)).collect();
        FlowModel::new(&Flow::Timed(fillings)).unwrap().discharge(COLD).unwrap()
    }

    #[test]
    fn the_vessel_does_not_average_out_but_the_stop_watch_does() {
        let q = timed(&[(10.0, 0.02, 40.0, 0.1); 4]);
        assert!((q.m3_s - 2.5e-4).abs() < 1e-18);
        let want = 0.002f64.hypot(0.1 / 40.0 / 2.0);
        assert!((q.u_m3_s / q.m3_s - want).abs() < 1e-7, "{}", q.u_m3_s / q.m3_s);
        assert!(q.dof.is_infinite() && q.notices.is_empty(), "{:?}", q.notices);
    }

    #[test]
    fn a_long_filling_counts_more() {
        let q = timed(&[(10.0, 0.0, 40.0, 0.1), (1.1, 0.0, 4.0, 0.1)]);
        assert!((q.m3_s * 1e3 - (100.0 * 0.25 + 0.275) / 101.0).abs() < 1e-12);
    }

    /// GUM 4.2.3: fillings that scatter far above the stop-watch give the (weighted) s/sqrt(n) with n - 1
    /// degrees of freedom.
    #[test]
    fn scatter_above_the_stop_watch_is_type_a() {
        let q = timed(&[(10.0, 0.0, 40.0, 1e-6), (10.0, 0.0, 41.0, 1e-6), (10.0, 0.0, 42.0, 1e-6)]);
        let rates = [10.0 / 40.0, 10.0 / 41.0, 10.0 / 42.0];
        let weights = [1600.0, 1681.0, 1764.0].map(|w: f64| w / 5045.0);
        let mean: f64 = rates.iter().zip(weights).map(|(r, w)| r * w).sum();
        let s2: f64 = rates.iter().zip(weights).map(|(r, w)| w * (r - mean).powi(2)).sum::<f64>() / 2.0;
        assert!((q.m3_s * 1e3 - mean).abs() < 1e-12);
        assert!((q.u_m3_s * 1e3 / s2.sqrt() - 1.0).abs() < 1e-6);
        assert!((q.dof - 2.0).abs() < 1e-6);
        assert!(q.notices.iter().any(|n| n.says.contains("scatter")), "{:?}", q.notices);
    }

    #[test]
    fn a_drift_is_told() {
        let q = timed(&[
            (10.0, 0.0, 40.0, 0.02),
            (10.0, 0.0, 40.5, 0.02),
            (10.0, 0.0, 41.0, 0.02),
            (10.0, 0.0, 41.5, 0.02),
        ]);
        assert!(
            q.notices.iter().any(|n| n.says.contains("drifts by -3.68 %") && n.says.contains("off by 1.84 %")),
            "{:?}",
            q.notices
        );
    }

    /// With all errors drawn from what is stated, `value ± 1.96 u` must hold the truth in 95 % or a little
    /// more: scatter can only widen the interval.
    #[test]
    fn intervals_cover() {
        let mut normal = Normal(20_190_201);
        for n in [1, 3, 6] {
            let runs = 4000;
            let covered = (0..runs)
                .filter(|_| {
                    let vessel = 0.01 * normal.draw();
                    let fillings: Vec<_> =
                        (0..n).map(|_| (10.0 + vessel, 0.01, 40.0 + 0.1 * normal.draw(), 0.1)).collect();
                    let q = timed(&fillings);
                    (q.m3_s - 2.5e-4).abs() < 1.96 * q.u_m3_s
                })
                .count();
            let share = covered as f64 / f64::from(runs);
            // Measured 0.954, 0.963, 0.958.
            assert!((0.94..0.98).contains(&share), "{n} repeats: {share}");
        }
    }
}
