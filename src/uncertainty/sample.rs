//! What a sample of one output tells.

use super::coverage::Interval;

/// Mean and standard deviation, (16) and (17) of JCGM 101:2008, in two passes.
pub(super) fn mean_and_u(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    // Far from zero the differences from the first value keep their digits, sums would not.
    let first = values[0];
    let mean = first + values.iter().map(|v| v - first).sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0)).sqrt())
}

/// Number of values that an interval of `coverage` holds: JCGM 101:2008, 7.7.
fn count_within(n: usize, coverage: f64) -> usize {
    ((coverage * n as f64 + 0.5).floor() as usize).clamp(1, n - 1)
}

/// Probabilistically symmetric interval: JCGM 101:2008, 7.7. `sorted` has two values or more.
pub(super) fn symmetric_interval(sorted: &[f64], coverage: f64) -> Interval {
    let q = count_within(sorted.len(), coverage);
    // The standard counts from 1: r is the whole part of (n - q + 1)/2.
    let r = (sorted.len() - q).div_ceil(2) - 1;
    Interval { lo: sorted[r], hi: sorted[r + q] }
}

/// Shortest interval: JCGM 101:2008, 7.7; of several equally short ones the lowest.
pub(super) fn shortest_interval(sorted: &[f64], coverage: f64) -> Interval {
    let q = count_within(sorted.len(), coverage);
    let width = |r: &usize| sorted[r + q] - sorted[*r];
    let r = (0..sorted.len() - q).min_by(|a, b| width(a).total_cmp(&width(b))).unwrap_or(0);
    Interval { lo: sorted[r], hi: sorted[r + q] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_hold_the_share_that_the_standard_counts() {
        let sorted: Vec<f64> = (1..=100).map(f64::from).collect();
        // q = 95, r = whole part of (100 - 95 + 1)/2 = 3: from the third to the ninety-eighth.
        assert_eq!(symmetric_interval(&sorted, 0.95), Interval { lo: 3.0, hi: 98.0 });
        assert_eq!(shortest_interval(&sorted, 0.95), Interval { lo: 1.0, hi: 96.0 });
        let skewed: Vec<f64> = sorted.iter().map(|v| v.sqrt()).collect();
        assert_eq!(shortest_interval(&skewed, 0.95).hi, 10.0);
        assert_eq!(symmetric_interval(&[1.0, 2.0], 0.95), Interval { lo: 1.0, hi: 2.0 });
    }

    #[test]
    fn moments_keep_their_digits_far_from_zero() {
        let (mean, u) = mean_and_u(&[1e9 + 1.0, 1e9 + 2.0, 1e9 + 3.0]);
        assert_eq!((mean, u), (1e9 + 2.0, 1.0));
    }
}
