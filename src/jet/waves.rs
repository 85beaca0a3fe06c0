//! How far the middle strays from its course along the stream, and how much of that is noise.
//!
//! Noise differs from one column to the next; waves are shared by neighbours. So the covariance of the deviations at
//! growing distance tells them apart: what is missing at distance zero-plus of the whole variance is noise. A mean over k
//! columns has 1/k of the noise but loses what the waves do within it, and the best k follows from the covariance alone
//! (the same reasoning as N. Wiener's filter, 1949, with a box for its window).

use super::stations::{Middle, median};

/// Columns that one station may be the mean of.
const MOST: usize = 18;
/// Stations that are left at least, where there are so many.
const FEWEST: usize = 80;
/// Deviations beyond this many robust deviations count as that many.
const CUT: f64 = 3.5;
/// Stations to either side over which the deviations' size is taken.
const NEIGHBOURS: usize = 12;

/// Noise and waves of the middles of equally long columns.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Waves {
    /// Variance that a column shares with no other, px^2.
    noise: f64,
    /// Covariance of the waves at 0, 1, 2 ... columns.
    shared: Vec<f64>,
}

impl Waves {
    /// From deviations of the middles from their course, each with the number of its column; `None` where there are too few.
    pub fn new(off: &[(usize, f64)]) -> Option<Self> {
        if off.len() < 24 {
            return None;
        }
        let scale = 1.4826 * median(&mut off.iter().map(|(_, o)| o.abs()).collect::<Vec<_>>());
        let cut = CUT * scale.max(1e-6);
        let clipped: Vec<(usize, f64)> = off.iter().map(|&(k, o)| (k, o.clamp(-cut, cut))).collect();
        let mut sums = vec![(0.0, 0usize); MOST + 2];
        for (i, a) in clipped.iter().enumerate() {
            for b in clipped[i..].iter().take_while(|b| b.0 - a.0 <= MOST + 1) {
                let sum = &mut sums[b.0 - a.0];
                *sum = (sum.0 + a.1 * b.1, sum.1 + 1);
            }
        }
        let covariance: Vec<f64> = sums.iter().map(|(sum, n)| if *n > 0 { sum / *n as f64 } else { 0.0 }).collect();
        let all = covariance[0];
        // from two columns on: neighbours share what misplaces an edge. Waves share no more than there is, and no less than nothing
        let waves = (1.5 * covariance[2] - 0.5 * covariance[4]).max(covariance[2]).clamp(0.0, all);
        let mut shared = covariance;
        shared[0] = waves;
        shared[1] = 0.5 * (shared[0] + shared[2]);
        shared.iter_mut().for_each(|c| *c = c.clamp(-waves, waves));
        Some(Self { noise: all - waves, shared })
    }

    /// Mean square error of a mean over `k` columns as the middle of the stream at its place.
    fn error(&self, k: usize) -> f64 {
        let shared = |distance: f64| {
            let i = distance as usize;
            let at = |i: usize| self.shared.get(i).copied().unwrap_or(0.0);
            at(i) + (distance - i as f64) * (at(i + 1) - at(i))
        };
        let (n, middle) = (k as f64, 0.5 * (k as f64 - 1.0));
        let to_middle = (0..k).map(|j| shared((j as f64 - middle).abs())).sum::<f64>() / n;
        let among = (0..k).flat_map(|j| (0..k).map(move |l| j.abs_diff(l) as f64)).map(shared).sum::<f64>() / (n * n);
        self.noise / n + (shared(0.0) - 2.0 * to_middle + among).max(0.0)
    }

    /// How many columns a station is best the mean of: `least` or more, of `count` that there are.
    pub fn best_mean(&self, least: usize, count: usize) -> usize {
        let most = (count / FEWEST).min(MOST).max(least);
        (least..=most).min_by(|a, b| self.error(*a).total_cmp(&self.error(*b))).unwrap_or(least)
    }

    /// Standard error of a mean over `k` columns, px.
    pub fn deviation_px(&self, k: usize) -> f64 {
        self.error(k).sqrt()
    }
}

/// Raises the uncertainty of middles to what their scatter says, more where they scatter more: `deviation_px` is that of all.
pub(crate) fn told_by_scatter(middles: &mut [Middle], off: &[f64], deviation_px: f64) {
    let spread = |off: &[f64]| 1.4826 * median(&mut off.iter().map(|o| o.abs()).collect::<Vec<_>>());
    if middles.is_empty() {
        return;
    }
    let usual = spread(off).max(1e-9);
    for (i, middle) in middles.iter_mut().enumerate() {
        let near = spread(&off[i.saturating_sub(NEIGHBOURS)..(i + NEIGHBOURS + 1).min(off.len())]);
        middle.u_px = middle.u_px.max(deviation_px * (near / usual).clamp(0.5, 2.0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A long wave under even noise, from a congruential generator of stated seed.
    fn drawn(noise: f64, wave: f64) -> Vec<(usize, f64)> {
        let mut state = 7_u64;
        let mut even = move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        (0..600).map(|i| (i, wave * (i as f64 * 0.35).sin() + noise * 12f64.sqrt() * even())).collect()
    }

    #[test]
    fn noise_and_waves_are_told_apart() {
        let waves = Waves::new(&drawn(0.4, 0.5)).unwrap();
        assert!((waves.noise.sqrt() - 0.4).abs() < 0.06, "{}", waves.noise.sqrt());
        assert!((waves.shared[0] - 0.125).abs() < 0.03, "{}", waves.shared[0]);
    }

    #[test]
    fn quiet_stretches_stand_alone_and_noisy_ones_are_averaged() {
        assert_eq!(Waves::new(&drawn(0.02, 0.5)).unwrap().best_mean(1, 600), 1);
        let noisy = Waves::new(&drawn(0.9, 0.2)).unwrap();
        let k = noisy.best_mean(1, 600);
        assert!(k >= 4 && noisy.deviation_px(k) < 0.55, "{k}: {}", noisy.deviation_px(k));
        assert_eq!(noisy.best_mean(2, 60), 2);
        assert!(Waves::new(&drawn(0.1, 0.1)[..20]).is_none());
    }
}
