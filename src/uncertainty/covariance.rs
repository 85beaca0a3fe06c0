//! Covariance between the outputs of one model.

/// Symmetric matrix of covariances between outputs.
#[derive(Clone, Debug, PartialEq)]
pub struct Covariance {
    outputs: usize,
    /// Row by row.
    values: Vec<f64>,
}

impl Covariance {
    /// From a function of (a, b), asked for a <= b only.
    pub(super) fn from_fn(outputs: usize, of: impl Fn(usize, usize) -> f64) -> Self {
        let values = (0..outputs * outputs).map(|k| (k / outputs, k % outputs)).map(|(a, b)| of(a.min(b), a.max(b)));
        Self { outputs, values: values.collect() }
    }

    /// Adds `of` (a, b), asked for a <= b only.
    pub(super) fn add(&mut self, of: impl Fn(usize, usize) -> f64) {
        let n = self.outputs;
        self.values.iter_mut().enumerate().for_each(|(k, v)| *v += of((k / n).min(k % n), (k / n).max(k % n)));
    }

    /// Covariance between outputs `a` and `b`, in the product of their units.
    ///
    /// # Panics
    /// If an output does not exist, as indexing a slice does.
    pub fn get(&self, a: usize, b: usize) -> f64 {
        assert!(a < self.outputs && b < self.outputs, "outputs {a} and {b} of {}", self.outputs);
        self.values[a * self.outputs + b]
    }

    /// Standard uncertainty of output `a`.
    pub fn u(&self, a: usize) -> f64 {
        self.get(a, a).max(0.0).sqrt()
    }

    /// Correlation coefficient between outputs `a` and `b`; `None` where one of them is exact.
    pub fn correlation(&self, a: usize, b: usize) -> Option<f64> {
        let scale = self.u(a) * self.u(b);
        (scale > 0.0).then(|| (self.get(a, b) / scale).clamp(-1.0, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_symmetric_and_scaled() {
        let covariance = Covariance::from_fn(2, |a, b| [[4.0, 3.0], [f64::NAN, 9.0]][a][b]);
        assert_eq!((covariance.get(1, 0), covariance.u(1)), (3.0, 3.0));
        assert_eq!(covariance.correlation(0, 1), Some(0.5));
        assert_eq!(Covariance::from_fn(1, |_, _| 0.0).correlation(0, 0), None);
    }
}
