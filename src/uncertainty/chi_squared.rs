//! The chi-squared distribution's upper tail: how often chance alone leaves more than this over.

/// Probability that a chi-squared variable with `dof` degrees of freedom exceeds `chi2`.
///
/// Q(a, x) = Gamma(a, x) / Gamma(a) with a = dof/2, x = chi2/2: Abramowitz and Stegun (1964), 26.4.2 and 26.4.19.
/// For x < a + 1 as 1 minus the series of the NIST Digital Library of Mathematical Functions, 8.11.4,
/// else by its continued fraction 8.9.2. Absolute error below 1e-11 for `dof` up to
/// 2000, 1e-10 at 10^4 (rounding of a ln x, which grows with a). 1 where `chi2` is not above
/// 0; `dof` below 1 tells nothing, and gives 1 too.
pub fn chi_squared_tail(chi2: f64, dof: usize) -> f64 {
    if chi2.is_nan() || chi2 <= 0.0 || dof == 0 {
        return 1.0;
    }
    if chi2.is_infinite() {
        return 0.0;
    }
    let (a, x) = (0.5 * dof as f64, 0.5 * chi2);
    // x^a e^-x / Gamma(a + 1), what series and fraction have in common
    let front = (a * x.ln() - x - ln_factorial_of_half(dof)).exp();
    if x < a + 1.0 {
        let (mut term, mut sum, mut k) = (1.0, 1.0, a);
        while term > 1e-17 * sum {
            k += 1.0;
            term *= x / k;
            sum += term;
        }
        return (1.0 - front * sum).clamp(0.0, 1.0);
    }
    // 1/(x + 1 - a - 1(1 - a)/(x + 3 - a - 2(2 - a)/(x + 5 - a - ...))): the even part of 8.9.2, evaluated from the far
    // end; beyond some multiples of the root of a nothing is left to add.
    let terms = 60 + (12.0 * a.sqrt()) as usize;
    let far = (1..=terms)
        .rev()
        .map(|k| k as f64)
        .fold(x + 2.0 * terms as f64 + 3.0 - a, |rest, k| x + 2.0 * k - 1.0 - a - k * (k - a) / rest);
    (front * a / far).clamp(0.0, 1.0)
}

/// ln Gamma(dof/2 + 1), by the recurrence of the gamma function from Gamma(1) = 1 and Gamma(1/2) = sqrt(pi).
fn ln_factorial_of_half(dof: usize) -> f64 {
    let (mut ln, mut z) = if dof.is_multiple_of(2) { (0.0, 1.0) } else { (0.5 * std::f64::consts::PI.ln(), 0.5) };
    let end = 0.5 * dof as f64 + 0.75;
    while z < end {
        ln += f64::ln(z);
        z += 1.0;
    }
    ln
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Critical values printed in the NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, to three decimals:
    /// (dof, exceeded with this probability, value).
    #[test]
    fn critical_values_of_the_handbook() {
        for (dof, p, value) in [
            (1, 0.05, 3.841),
            (10, 0.05, 18.307),
            (10, 0.90, 4.865),
            (10, 0.999, 1.479),
            (20, 0.95, 10.851),
            (30, 0.99, 14.953),
            (50, 0.95, 34.764),
            (100, 0.90, 82.358),
            (100, 0.95, 77.929),
            (100, 0.999, 61.918),
            (100, 0.05, 124.342), // not seen in a copy of the table; SciPy's chi2.ppf gives 124.34211
        ] {
            let (above, below) = (chi_squared_tail(value + 6e-4, dof), chi_squared_tail(value - 6e-4, dof));
            assert!(above < p && p < below, "{dof} {p}: {above} {below}");
        }
    }

    #[test]
    fn two_and_four_degrees_of_freedom_have_closed_forms() {
        for x in [1e-3, 0.7, 2.0, 3.9, 4.1, 11.0, 60.0, 400.0_f64] {
            let two = (-0.5 * x).exp();
            assert!((chi_squared_tail(x, 2) / two - 1.0).abs() < 1e-12, "{x}");
            let four = two * (1.0 + 0.5 * x);
            assert!((chi_squared_tail(x, 4) / four - 1.0).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn one_degree_of_freedom_is_the_normal_distribution_squared() {
        for z in [0.01, 0.5, 1.0, 1.9, 3.0, 5.0_f64] {
            let normal = 2.0 * crate::statistics::normal_cdf(-z);
            assert!((chi_squared_tail(z * z, 1) - normal).abs() < 1e-13, "{z}");
        }
    }

    #[test]
    fn series_and_fraction_meet() {
        for dof in [1, 3, 10, 101, 2000, 10_000] {
            let border = dof as f64 + 2.0;
            let step = chi_squared_tail(border * (1.0 - 1e-14), dof) - chi_squared_tail(border * (1.0 + 1e-14), dof);
            let bound = if dof > 2000 { 1e-10 } else { 1e-11 };
            assert!(step.abs() < bound, "{dof}: {step:e}");
        }
    }

    #[test]
    fn nothing_gives_certainty_and_never_nan() {
        assert_eq!(chi_squared_tail(0.0, 3), 1.0);
        assert_eq!(chi_squared_tail(f64::NAN, 3), 1.0);
        assert_eq!(chi_squared_tail(5.0, 0), 1.0);
        assert_eq!(chi_squared_tail(f64::INFINITY, 3), 0.0);
        assert_eq!(chi_squared_tail(1e6, 3), 0.0);
    }
}
