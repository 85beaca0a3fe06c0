//! What the trajectory leaves over beyond the stations' scatter.

/// Standard deviation of the model's discrepancy in the drop: residuals `drop_mm` against their own standard
/// uncertainties `noise_mm`, by the moment estimator that asks for unit mean of r^2 / (u^2 + tau^2)
/// (R. C. Paule and J. Mandel, 1982, J. Res. Natl. Bur. Stand. 87:377). 0 where the scatter explains the residuals.
pub(crate) fn discrepancy_mm(drop_mm: &[f64], noise_mm: &[f64]) -> f64 {
    let n = drop_mm.len() as f64;
    if n < 5.0 {
        return 0.0;
    }
    let excess = |tau2: f64| {
        drop_mm.iter().zip(noise_mm).map(|(r, u)| r * r / (u * u + tau2).max(1e-18)).sum::<f64>() / (n - 3.0) - 1.0
    };
    if excess(0.0) <= 0.0 {
        return 0.0;
    }
    let (mut lo, mut hi) = (0.0, drop_mm.iter().map(|r| r * r).fold(0.0, f64::max) * n);
    for _ in 0..200 {
        let mid = 0.5 * (lo + hi);
        if excess(mid) > 0.0 {
            lo = mid
        } else {
            hi = mid
        }
        if hi - lo <= 1e-12 * hi {
            break;
        }
    }
    (0.5 * (lo + hi)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_left_over_where_scatter_explains_all() {
        let noise = vec![1.0; 40];
        let drop: Vec<f64> = (0..40).map(|i| if i % 2 == 0 { 0.9 } else { -0.9 }).collect();
        assert_eq!(discrepancy_mm(&drop, &noise), 0.0);
    }

    #[test]
    fn the_excess_is_found() {
        let noise = vec![0.1; 1000];
        let drop: Vec<f64> = (0..1000).map(|i| if i % 2 == 0 { 2.0 } else { -2.0 }).collect();
        assert!((discrepancy_mm(&drop, &noise) - 2.0).abs() < 0.01);
    }
}
