//! A quantity over the runs, and the covariance that shared inputs give it.

use super::shared::Sharing;
use super::{Run, result};
use nalgebra::DMatrix;
use std::collections::BTreeMap;

/// One quantity in the runs that have it.
#[derive(Clone, Debug, Default)]
pub(super) struct Signal {
    /// Places of those runs in the series.
    pub runs: Vec<usize>,
    /// The value in each of them.
    pub values: Vec<f64>,
    /// Signed contributions by input, for each of them.
    pub parts: Vec<BTreeMap<String, Vec<f64>>>,
}

impl Signal {
    /// The result `key` of the runs that have it; `None` where none has.
    pub(super) fn of(runs: &[Run], key: &str) -> Option<Self> {
        let mut signal = Self::default();
        for (i, run) in runs.iter().enumerate() {
            let Some(found) = result(run.findings, key) else { continue };
            signal.runs.push(i);
            signal.values.push(found.value);
            signal.parts.push(run.findings.contributions.get(key).cloned().unwrap_or_default());
        }
        (!signal.runs.is_empty()).then_some(signal)
    }

    /// f(a, b) of two quantities in the runs that have both; `f` gives the value with its derivatives by a and by b.
    pub(super) fn combined(a: &Self, b: &Self, f: impl Fn(f64, f64) -> (f64, f64, f64)) -> Self {
        let mut signal = Self::default();
        for (i, run) in a.runs.iter().enumerate() {
            let Some(j) = b.runs.iter().position(|r| r == run) else { continue };
            let (value, by_a, by_b) = f(a.values[i], b.values[j]);
            let mut parts: BTreeMap<String, Vec<f64>> = BTreeMap::new();
            for (part, by) in [(&a.parts[i], by_a), (&b.parts[j], by_b)] {
                for (name, contributions) in part {
                    let sum = parts.entry(name.clone()).or_default();
                    sum.resize(sum.len().max(contributions.len()), 0.0);
                    sum.iter_mut().zip(contributions).for_each(|(s, c)| *s += by * c);
                }
            }
            signal.runs.push(*run);
            signal.values.push(value);
            signal.parts.push(parts);
        }
        signal
    }

    /// Largest standard uncertainty of a run.
    pub(super) fn largest_u(&self) -> f64 {
        let variance = |part: &BTreeMap<String, Vec<f64>>| part.values().flatten().map(|c| c * c).sum::<f64>();
        self.parts.iter().map(|part| variance(part).sqrt()).fold(0.0, f64::max)
    }

    /// Covariance that the input `name` alone causes between this quantity (rows) and another (columns).
    fn covariance_by(&self, other: &Self, name: &str, sharing: &Sharing, into: &mut DMatrix<f64>) {
        let classes = sharing.classes(name);
        for (i, a) in self.parts.iter().enumerate() {
            let Some(a) = a.get(name) else { continue };
            for (j, b) in other.parts.iter().enumerate() {
                let (run, other_run) = (self.runs[i], other.runs[j]);
                let together = run == other_run || classes.is_some_and(|c| c[run] == c[other_run]);
                if let Some(b) = b.get(name).filter(|b| together && b.len() == a.len()) {
                    into[(i, j)] += a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
                }
            }
        }
    }

    /// Names of all inputs.
    pub(super) fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = self.parts.iter().flat_map(BTreeMap::keys).cloned().collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// Covariance between this quantity (rows) and another (columns).
    pub(super) fn covariance(&self, other: &Self, sharing: &Sharing) -> DMatrix<f64> {
        let mut sum = DMatrix::zeros(self.values.len(), other.values.len());
        for name in self.names() {
            self.covariance_by(other, &name, sharing, &mut sum);
        }
        sum
    }

    /// Variance that the input `name` causes in the weighted sum, and whether at least two runs share it.
    pub(super) fn variance_by(&self, weights: &[f64], name: &str, sharing: &Sharing) -> (f64, bool) {
        let n = self.values.len();
        let mut matrix = DMatrix::zeros(n, n);
        self.covariance_by(self, name, sharing, &mut matrix);
        let mut sum = 0.0;
        let mut shared = false;
        for i in 0..n {
            for j in 0..n {
                sum += weights[i] * weights[j] * matrix[(i, j)];
                shared |= i != j && matrix[(i, j)] != 0.0;
            }
        }
        (sum, shared)
    }
}
