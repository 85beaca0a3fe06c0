//! From a standard uncertainty and its degrees of freedom to a coverage interval.

use crate::statistics::t_quantile;

/// A coverage interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub lo: f64,
    /// Its upper end.
    pub hi: f64,
}

impl Interval {
    /// The interval value ± k u, with the coverage factor k for `dof` and `probability`.
    pub fn around(value: f64, u: f64, dof: f64, probability: f64) -> Self {
        let expanded = coverage_factor(dof, probability) * u;
        Self { lo: value - expanded, hi: value + expanded }
    }

    /// Whether it holds `value`; its ends belong to it.
    pub fn holds(&self, value: f64) -> bool {
        self.lo <= value && value <= self.hi
    }
}

/// Coverage factor k = t_p(dof), with `dof` cut to a whole number: JCGM 100:2008, G.3 and G.6.4.
///
/// `probability` is that of the two-sided interval, 0.95 for 95 %. Infinite `dof` gives the normal
/// distribution's factor; below one degree of freedom nothing is known, and one is taken.
pub fn coverage_factor(dof: f64, probability: f64) -> f64 {
    t_quantile(0.5 + 0.5 * probability, whole_dof(dof))
}

/// Degrees of freedom cut to the next lower whole number, at least 1: JCGM 100:2008, G.4.1 note 1.
pub fn whole_dof(dof: f64) -> f64 {
    // Differences leave rounding noise of about 1e-10: 19 degrees of freedom must not become 18.
    (dof * (1.0 + 1e-9)).floor().max(1.0)
}

/// Effective degrees of freedom of u^2 = sum u_i^2, from pairs of (u_i, dof_i).
///
/// Welch-Satterthwaite, JCGM 100:2008, (G.2b): u^4 / sum(u_i^4 / dof_i). The parts must be
/// independent. Infinite when no part with a finite dof contributes.
pub fn effective_dof(parts: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    let (mut variance, mut spread) = (0.0, 0.0);
    for (u, dof) in parts {
        variance += u * u;
        spread += u.powi(4) / dof;
    }
    if spread > 0.0 { variance * variance / spread } else { f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_parts_add_their_degrees_of_freedom() {
        assert!((effective_dof([(1.0, 4.0), (1.0, 4.0)]) - 8.0).abs() < 1e-12);
        assert_eq!(effective_dof([(1.0, f64::INFINITY)]), f64::INFINITY);
        assert_eq!(effective_dof([]), f64::INFINITY);
    }

    #[test]
    fn whole_dof_cuts_but_forgives_rounding() {
        assert_eq!(whole_dof(16.75), 16.0);
        assert_eq!(whole_dof(18.999_999_999_9), 19.0);
        assert_eq!(whole_dof(0.3), 1.0);
        assert_eq!(whole_dof(f64::INFINITY), f64::INFINITY);
    }

    #[test]
    fn interval_holds_its_ends() {
        let interval = Interval::around(5.0, 1.0, f64::INFINITY, 0.95);
        assert!((interval.hi - 6.959_963_984_540_054).abs() < 1e-12);
        assert!(interval.holds(interval.lo) && !interval.holds(7.0));
    }
}
