//! How many independent stations a run of correlated ones is worth.

/// Below this many stations no correlation can be seen, and they are taken as independent.
const FEWEST: usize = 12;
/// Sokal's factor: the window ends where it is this many integrated correlation times long. Smaller
/// cuts a slow tail off, larger lets noise in; 5 is in the middle of his range of 4 to 10.
const WINDOW: f64 = 5.0;

/// Largest correlation of neighbours that a short stretch can show.
const STEEPEST: f64 = 0.95;

/// What the residuals say about their own correlation along the stream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Correlation {
    /// Variance of one residual, corrected for the fitted parameters.
    pub variance: f64,
    /// By how much the variance of a mean exceeds that of independent residuals; at least 1.
    pub inflation: f64,
    /// Integrated correlation length along the stream; 0 where nothing can be said.
    pub length: f64,
    /// Degrees of freedom of the estimate `variance * inflation`.
    pub dof: f64,
    /// Degrees of freedom of the estimate `variance` alone.
    pub variance_dof: f64,
}

impl Correlation {
    fn more_cautious(self, other: Self) -> Self {
        let (less, more) = if self.variance * self.inflation > other.variance * other.inflation {
            (other, self)
        } else {
            (self, other)
        };
        Self { dof: less.dof.min(more.dof), variance_dof: less.variance_dof.min(more.variance_dof), ..more }
    }
}

/// Integrated autocorrelation of `residuals` at increasing `positions`, after a fit of
/// `parameters`.
///
/// `inflation = 1 + (2/n) sum_k n_k rho(k)` over lags of one median spacing, `n_k` pairs each (so
/// that gaps and uneven spacing count as what they are), to the automatic window `M >= 5 (1/2 + sum
/// rho)` of Sokal 1997, "Monte Carlo methods in statistical mechanics: foundations and new
/// algorithms", in Functional Integration (Plenum), 131-192, section 3.
///
/// A fit takes `p` parameters' worth of the slowest part out of the residuals, which makes every
/// lagged covariance too small by about `p S / n`, S the variance at frequency zero (own
/// derivation: the hat matrix projects on p slow functions, each with variance S). That is put
/// back, else the inflation comes out low just where it matters. The degrees of freedom are those
/// of a truncated periodogram, `2 n / (2 M + 1)`, for the product and `n / (1 + 2 sum rho^2)` for
/// the variance alone (Priestley 1981, "Spectral Analysis and Time Series", chapters 5 and 6), less
/// the parameters' share. Where the first lag stays below `1/sqrt(n)` the residuals count as
/// independent: a longer sum would only add noise.
pub(super) fn correlation(positions: &[f64], residuals: &[f64], parameters: usize) -> Correlation {
    let n = residuals.len();
    let count = n as f64;
    let p = parameters as f64;
    let sum_squares: f64 = residuals.iter().map(|r| r * r).sum();
    let free = (count - p).max(1.0);
    let alone =
        Correlation { variance: sum_squares / free, inflation: 1.0, length: 0.0, dof: free, variance_dof: free };
    if n < FEWEST || sum_squares <= 0.0 {
        return alone;
    }
    let spacing = median_spacing(positions);
    if spacing <= 0.0 {
        return alone;
    }
    let longest = n / 3;
    let mut products = vec![0.0; longest + 1];
    let mut pairs = vec![0.0; longest + 1];
    for i in 0..n {
        for j in i + 1..n {
            let lag = ((positions[j] - positions[i]) / spacing).round();
            if lag > longest as f64 {
                break;
            }
            // two stations closer than half a spacing still are a pair of neighbours
            let lag = (lag as usize).max(1);
            products[lag] += residuals[i] * residuals[j];
            pairs[lag] += 1.0;
        }
    }
    let raw = sum_squares / count;
    // Neighbours that agree no better than independent ones would in one draw of six. The fit makes
    // residuals of independent stations disagree by about p/n; twice that leans to the cautious
    // side where n is small.
    if pairs[1] == 0.0 || products[1] / pairs[1] < raw * (1.0 / count.sqrt() - 2.0 * p / count) {
        return alone;
    }
    let mut sum = raw;
    let mut squares = 1.0;
    let mut found = alone;
    for window in 1..=longest {
        if pairs[window] > 0.0 {
            sum += 2.0 * products[window] / count;
            squares += 2.0 * (products[window] / (raw * count)).powi(2);
        }
        let m = window as f64;
        let lost = p * (2.0 * m + 1.0) / count;
        if lost > 0.8 {
            let other = falling_off(raw, products[1] / pairs[1], count, p, spacing);
            return found.more_cautious(other);
        }
        let slow = sum.max(0.0) / (1.0 - lost);
        let variance = (raw + p * slow / count).max(raw);
        let inflation = (slow / variance).max(1.0);
        let dof = ((1.0 - lost) * 2.0 * count / (2.0 * m + 1.0)).clamp(1.0, free);
        let variance_dof = (count / squares - p).clamp(dof, free);
        found = Correlation { variance, inflation, length: 0.5 * inflation * spacing, dof, variance_dof };
        if m >= WINDOW * 0.5 * inflation {
            break;
        }
    }
    found
}

/// A second opinion where the stretch is too short for the window to close: the correlation is
/// taken to fall by the same factor `phi` per station, known from the first lag alone, so that
/// `inflation = (1 + phi)/(1 - phi)`. Variance and first lag get back the `p S/n` that the fit took
/// from each. Degrees of freedom from the sampling variance `(1 - phi^2)/n` of phi (Priestley 1981,
/// section 5.4).
fn falling_off(raw: f64, neighbours: f64, count: f64, p: f64, spacing: f64) -> Correlation {
    let (mut phi, mut variance) = ((neighbours / raw).clamp(0.0, STEEPEST), raw);
    for _ in 0..100 {
        let taken = p * raw.max(variance) * (1.0 + phi) / (1.0 - phi) / count;
        // no more than the residuals still hold
        let taken = taken.min(raw);
        variance = raw + taken;
        phi = ((neighbours + taken) / variance).clamp(0.0, STEEPEST);
    }
    let inflation = (1.0 + phi) / (1.0 - phi);
    let dof = (0.5 * count * (1.0 - phi * phi) - p).max(1.0);
    let variance_dof = (count * (1.0 - phi * phi) / (1.0 + phi * phi) - p).max(dof);
    Correlation { variance, inflation, length: 0.5 * inflation * spacing, dof, variance_dof }
}

fn median_spacing(positions: &[f64]) -> f64 {
    let mut gaps: Vec<f64> = positions.windows(2).map(|w| w[1] - w[0]).collect();
    let middle = gaps.len() / 2;
    *gaps.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trajectory::coverage::Noise;

    fn mean_inflation(phi: f64, n: usize, gap: bool) -> f64 {
        let mut noise = Noise::new(7);
        let runs = 200;
        let total: f64 = (0..runs)
            .map(|_| {
                let residuals = noise.autoregressive(n, phi);
                let positions: Vec<f64> =
                    (0..n).map(|i| if gap && i > n / 2 { i as f64 * 2.0 + 60.0 } else { i as f64 * 2.0 }).collect();
                correlation(&positions, &residuals, 0).inflation
            })
            .sum();
        total / f64::from(runs)
    }

    #[test]
    fn an_autoregressive_series_shows_its_known_inflation() {
        // (1 + phi) / (1 - phi), the closed form for a first-order autoregressive series
        for (phi, truth) in [(0.5, 3.0), (0.8, 9.0)] {
            for gap in [false, true] {
                let got = mean_inflation(phi, 600, gap);
                assert!((got / truth - 1.0).abs() < 0.1, "phi {phi} gap {gap}: {got} against {truth}");
            }
        }
    }

    #[test]
    fn independent_residuals_count_in_full() {
        // never below 1, so a little above 1 on the average
        let got = mean_inflation(0.0, 400, false);
        assert!((1.0..1.15).contains(&got), "{got}");
    }

    #[test]
    fn short_or_dead_series_are_taken_as_independent() {
        let short = correlation(&[0.0, 1.0, 2.0], &[1.0, -1.0, 1.0], 2);
        assert_eq!((short.inflation, short.dof), (1.0, 1.0));
        let dead = correlation(&[0.0; 20], &[1.0; 20], 3);
        assert_eq!(dead.inflation, 1.0);
        let still = correlation(&[0.0; 20], &[0.0; 20], 3);
        assert_eq!((still.inflation, still.variance), (1.0, 0.0));
    }
}
