//! Round numbers along an axis.

use crate::quantity::show_plain;

/// About how many ticks an axis has.
const WANTED: f64 = 5.0;

/// Ticks at multiples of 1, 2 or 5 times a power of ten, five or so; none where `hi` does not exceed `lo`.
pub fn ticks(lo: f64, hi: f64) -> Vec<(f64, String)> {
    let span = hi - lo;
    if !(span > 0.0 && span.is_finite()) {
        return Vec::new();
    }
    let rough = span / WANTED;
    let ten = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * ten).find(|s| *s >= rough).unwrap_or(10.0 * ten);
    // a step finer than doubles resolve at this distance from 0 would never move on
    if step <= hi.abs().max(lo.abs()) * 1e-12 {
        return Vec::new();
    }
    let (first, last) = ((lo / step - 1e-9).ceil() as i64, (hi / step + 1e-9).floor() as i64);
    (first..=last).map(|i| i as f64 * step).map(|v| (v, show_plain(v, ""))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_numbers_within_the_ends() {
        let texts = |lo, hi| ticks(lo, hi).into_iter().map(|(_, t)| t).collect::<Vec<_>>();
        assert_eq!(texts(0.0, 1.0), ["0", "0.2", "0.4", "0.6", "0.8", "1"]);
        assert_eq!(texts(-0.31, 0.33), ["-0.2", "0", "0.2"]);
        assert_eq!(texts(4.61, 4.79), ["4.65", "4.7", "4.75"]);
        assert_eq!(texts(17.0, 643.0), ["200", "400", "600"]);
        assert!(texts(1.0, 1.0).is_empty() && texts(f64::NAN, 1.0).is_empty());
        assert!(texts(1e9, 1e9 + 1e-7).is_empty());
    }
}
