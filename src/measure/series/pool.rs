//! One value from several correlated ones.

use super::covariance::Signal;
use super::shared::Sharing;
use super::{InputShare, Pooled, SeriesFindings, Test, name};
use crate::measure::Found;
use crate::notice::Notice;
use crate::quantity::show_value;
use crate::statistics::normal_quantile;
use crate::uncertainty::{Interval, chi_squared_tail};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Below this probability runs are said to disagree, and above it intervals cover.
pub(super) const LEVEL: f64 = 0.05;

/// A generalised mean.
#[derive(Clone, Debug)]
pub(super) struct Mean {
    pub value: f64,
    pub u: f64,
    pub weights: Vec<f64>,
    pub chi2: f64,
    /// For each value its distance from what the others give, in standard uncertainties of that distance; `None` where
    /// the others do not check it.
    pub off: Vec<Option<f64>>,
}

/// The mean of correlated values with covariance `c`:
/// m = 1' C^-1 x / (1' C^-1 1), u^2 = 1 / (1' C^-1 1), chi^2 = (x - m)' C^-1 (x - m); Aitken (1935).
///
/// The distance of value i from the mean of the others is r_i = [C^-1 (x - m)]_i over the root of
/// [C^-1 - C^-1 1 1' C^-1 / (1' C^-1 1)]_ii, a standard normal variable where all is well (W. Baarda, 1968, Neth. Geod.
/// Comm. 2:5, the test for one gross error among correlated observations). `None` where the covariance has no inverse.
pub(super) fn mean(x: &[f64], c: &DMatrix<f64>) -> Option<Mean> {
    let n = x.len();
    let inverse = inverse(c)?;
    let row_sums: Vec<f64> = (0..n).map(|i| inverse.row(i).sum()).collect();
    let total: f64 = row_sums.iter().sum();
    if total <= 0.0 || !total.is_finite() {
        return None;
    }
    let weights: Vec<f64> = row_sums.iter().map(|w| w / total).collect();
    let value: f64 = weights.iter().zip(x).map(|(w, x)| w * x).sum();
    let residual = DVector::from_iterator(n, x.iter().map(|x| x - value));
    let pull = &inverse * &residual;
    let off = (0..n).map(|i| {
        let variance = inverse[(i, i)] - row_sums[i] * row_sums[i] / total;
        // with one value nothing is left but rounding
        (variance > 1e-9 * inverse[(i, i)]).then(|| pull[i] / variance.sqrt())
    });
    let off = off.collect();
    Some(Mean { value, u: total.recip().sqrt(), weights, chi2: residual.dot(&pull).max(0.0), off })
}

/// The mean of least variance among those whose weights are none of them negative, and so lie within the values.
///
/// A run that shares an error with the others but feels it more strongly gets a negative weight: it serves to learn the shared
/// error from how far it lies off. That is right only if the model is right to the last; a coefficient that goes a little with the head
/// would be carried beyond all runs. Such runs get no weight, the most negative first, until none is left; what
/// that costs in variance is in `u`.
fn mean_within(x: &[f64], c: &DMatrix<f64>) -> Option<Mean> {
    let mut taken: Vec<usize> = (0..x.len()).collect();
    loop {
        let values: Vec<f64> = taken.iter().map(|&i| x[i]).collect();
        let mut mean = mean(&values, &DMatrix::from_fn(taken.len(), taken.len(), |i, j| c[(taken[i], taken[j])]))?;
        let (worst, least) = mean.weights.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1))?;
        if *least >= 0.0 {
            let mut weights = vec![0.0; x.len()];
            taken.iter().zip(&mean.weights).for_each(|(&i, w)| weights[i] = *w);
            mean.weights = weights;
            return Some(mean);
        }
        taken.remove(worst);
    }
}

/// Inverse of a covariance; `None` where it has none. Scaled to unit variances first, so that units do not matter.
pub(super) fn inverse(c: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = c.nrows();
    let scale: Vec<f64> = (0..n).map(|i| c[(i, i)].sqrt()).collect();
    if scale.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
        return None;
    }
    let correlation = DMatrix::from_fn(n, n, |i, j| c[(i, j)] / (scale[i] * scale[j]));
    let root: Cholesky<f64, Dyn> = Cholesky::new(correlation)?;
    // a pivot of 1e-6 means that a run adds nothing that the others do not have, to the rounding of the budget's differences
    if root.l_dirty().diagonal().iter().any(|p| *p < 1e-6) {
        return None;
    }
    let inverse = root.inverse();
    Some(DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] / (scale[i] * scale[j])))
}

/// Pools one coefficient; gives also each run's distance from the others, by its place in the series.
///
/// The mean is taken of the logarithms. Coefficients are products of powers, so that a shared diameter moves each by the
/// same share of itself: with contributions proportional to the values as measured a low run would seem the more certain for being low,
/// and pull the mean below all of them (Peelle's puzzle; R. Frühwirth, D. Neudecker and H. Leeb, 2012, EPJ Web Conf.
/// 27:00008).
///
/// Where chi^2 exceeds its degrees of freedom, a variance between runs is added to each, such that they are equal (R. C.
/// Paule and J. Mandel, 1982, J. Res. Natl. Bur. Stand. 87:377, here with correlated errors), be it significant or not:
/// a Cv that goes a little with the head is then averaged over the heads instead of read at the best one. Distances are
/// told before that.
pub(super) fn pool(
    key: &str,
    signal: &Signal,
    sharing: &Sharing,
    notices: &mut Vec<Notice>,
) -> Result<(Pooled, Vec<(usize, f64)>), String> {
    let n = signal.values.len();
    let signal = &Signal::combined(signal, signal, |x, _| (x.ln(), 1.0 / x, 0.0));
    let covariance = signal.covariance(signal, sharing);
    let none =
        || format!("{}: the runs have no uncertainty of their own, so nothing weighs one against another", name(key));
    let first = mean(&signal.values, &covariance).ok_or_else(none)?;
    let off = signal.runs.iter().zip(&first.off).filter_map(|(run, off)| Some((*run, (*off)?))).collect();
    let test = (n > 1).then(|| test(first.chi2, n - 1));
    let mut between_runs = 0.0;
    let mut wider = covariance;
    if test.is_some_and(|t| t.chi2 > t.dof as f64) {
        between_runs = spread_between(&signal.values, &wider);
        wider += DMatrix::identity(n, n) * (between_runs * between_runs);
    }
    let pooled = mean_within(&signal.values, &wider).ok_or_else(none)?;
    let names = signal.names();
    let mut budget: Vec<InputShare> = names
        .into_iter()
        .map(|input| {
            let (variance, shared) = signal.variance_by(&pooled.weights, &input, sharing);
            InputShare { input, share: variance / (pooled.u * pooled.u), shared }
        })
        .filter(|row| row.share != 0.0)
        .collect();
    if between_runs > 0.0 {
        let variance: f64 = pooled.weights.iter().map(|w| (w * between_runs).powi(2)).sum();
        let input = "scatter between runs".to_owned();
        budget.push(InputShare { input, share: variance / (pooled.u * pooled.u), shared: false });
    }
    budget.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.input.cmp(&b.input)));
    let value = pooled.value.exp();
    let between_runs = value * between_runs;
    if let Some(test) = test.filter(|t| t.probability < LEVEL) {
        let says = format!(
            "the runs' {} differ by more than their uncertainties bear: chi-squared {:.1} with {} degrees of freedom, \
             chance {}; a scatter of {:.4} between runs is added to each",
            name(key),
            test.chi2,
            test.dof,
            percent(test.probability),
            between_runs
        );
        notices.push(Notice::new(key, says).doubt().hint("see the outlying runs and the trend with the head"));
    }
    if n == 1 {
        let says = format!("one run has a {}: nothing to compare it with", name(key));
        notices.push(Notice::new(key, says).hint("measure a second run"));
    }
    let found = around(value, value * pooled.u, f64::INFINITY, "");
    let pooled = Pooled { found, runs: signal.runs.clone(), weights: pooled.weights, test, between_runs, budget };
    Ok((pooled, off))
}

/// Standard deviation between runs that makes chi^2 equal its degrees of freedom.
fn spread_between(x: &[f64], covariance: &DMatrix<f64>) -> f64 {
    let n = x.len();
    let excess = |tau: f64| {
        let wider = covariance + DMatrix::identity(n, n) * (tau * tau);
        mean(x, &wider).map_or(0.0, |m| m.chi2 - (n - 1) as f64)
    };
    let (low, high) = x.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
    // chi^2 < sum (x - mean)^2 / tau^2 <= n (high - low)^2 / (4 tau^2): below n - 1 at the range itself, for n >= 2
    let (mut lo, mut hi) = (0.0, high - low);
    for _ in 0..40 {
        let mid = 0.5 * (lo + hi);
        if excess(mid) > 0.0 { lo = mid } else { hi = mid }
    }
    0.5 * (lo + hi)
}

/// Names the runs that the others do not bear out: |r| above the normal quantile for 5 % shared among all runs
/// (C. E. Bonferroni's inequality). Of two runs nobody can tell which is wrong.
pub(super) fn tell_outlying(key: &str, off: &[(usize, f64)], told: &mut SeriesFindings) {
    let limit = normal_quantile(1.0 - 0.5 * LEVEL / off.len().max(1) as f64);
    let most = off.iter().map(|(_, r)| r.abs()).fold(0.0, f64::max);
    for (run, r) in off {
        let row = &mut told.runs[*run];
        row.off.insert(key.to_owned(), *r);
        if off.len() < 3 || r.abs() < limit {
            continue;
        }
        row.outlying.push(key.to_owned());
        let says = format!(
            "run {}: its {} lies {:.1} standard uncertainties {} what the other runs give",
            row.run,
            name(key),
            r.abs(),
            if *r > 0.0 { "above" } else { "below" }
        );
        let hint = if r.abs() < most {
            "it may only stand beside a worse one: clear that up first"
        } else {
            "look at its marks, head and flow again; it is kept in the pooled value"
        };
        told.notices.push(Notice::new(key, says).doubt().hint(hint));
    }
}

pub(super) fn test(chi2: f64, dof: usize) -> Test {
    Test { chi2, dof, probability: chi_squared_tail(chi2, dof) }
}

/// A value with its 95 % interval.
pub(super) fn around(value: f64, u: f64, dof: f64, unit: &str) -> Found {
    let interval = Interval::around(value, u, dof, 1.0 - LEVEL);
    Found { value, u, lo: interval.lo, hi: interval.hi, unit: unit.to_owned() }
}

/// A found value as text.
pub(super) fn shown(found: &Found) -> String {
    show_value(found.value, found.u, &found.unit)
}

/// A probability as a percentage.
pub(super) fn percent(p: f64) -> String {
    if p < 1e-3 { "below 0.1 %".to_owned() } else { format!("{:.1} %", 100.0 * p) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R. Peelle's puzzle (1987): 1.5 and 1.0, each uncertain by 10 % of its own and 20 % that both share, have the generalised
    /// mean 0.88 ± 0.22 (value from memory; by hand 15/17 and the root of 81/1700).
    #[test]
    fn two_values_with_a_shared_error_have_the_known_mean() {
        let c = DMatrix::from_row_slice(2, 2, &[0.1125, 0.06, 0.06, 0.05]);
        let mean = mean(&[1.5, 1.0], &c).unwrap();
        assert!((mean.value - 15.0 / 17.0).abs() < 1e-12 && (mean.u.powi(2) - 81.0 / 1700.0).abs() < 1e-12);
        assert_eq!((format!("{:.2}", mean.value), format!("{:.2}", mean.u)), ("0.88".into(), "0.22".into()));
        // one distance only, of two values: 0.5 in units of its own uncertainty
        let off = 0.5 / (0.1125_f64 + 0.05 - 0.12).sqrt();
        assert!((mean.chi2 - off * off).abs() < 1e-12);
        assert!((mean.off[0].unwrap() - off).abs() < 1e-9 && (mean.off[1].unwrap() + off).abs() < 1e-9);
    }

    #[test]
    fn a_mean_within_the_values_drops_what_would_weigh_negative() {
        let c = DMatrix::from_row_slice(2, 2, &[0.1125, 0.06, 0.06, 0.05]);
        let mean = mean_within(&[1.5, 1.0], &c).unwrap();
        assert_eq!((mean.weights.as_slice(), mean.value), (&[0.0, 1.0][..], 1.0));
        assert!((mean.u.powi(2) - 0.05).abs() < 1e-12);
    }

    #[test]
    fn a_covariance_without_inverse_gives_no_mean() {
        assert!(mean(&[1.0, 2.0], &DMatrix::from_element(2, 2, 1.0)).is_none());
        assert!(mean(&[1.0], &DMatrix::from_element(1, 1, 0.0)).is_none());
        assert!(mean(&[1.0], &DMatrix::from_element(1, 1, f64::NAN)).is_none());
    }
}
