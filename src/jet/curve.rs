//! A smooth curve through measured offsets: Legendre polynomials with a robust loss.

use nalgebra::{DMatrix, DVector};

/// Rounds of reweighting, and how many of them by least absolute residuals.
const ROUNDS: usize = 24;
const L1_ROUNDS: usize = 12;

/// A polynomial in s over an interval, in Legendre form.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Smooth {
    lo: f64,
    hi: f64,
    coefficients: Vec<f64>,
}

impl Smooth {
    /// Least absolute residuals, then Tukey's biweight (scale 1.4826 x median absolute residual, floor `floor`), `degree` at most;
    /// fewer points give a lower degree. `None` without points or with s all the same.
    pub fn fit(points: &[(f64, f64, f64)], degree: usize, floor: f64) -> Option<Self> {
        let lo = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let hi = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        if hi <= lo || !(hi - lo).is_finite() {
            return None;
        }
        let terms = (degree + 1).min(points.len());
        let rows: Vec<Vec<f64>> = points.iter().map(|p| legendre(2.0 * (p.0 - lo) / (hi - lo) - 1.0, terms)).collect();
        let values: Vec<(f64, f64)> = points.iter().map(|p| (p.1, p.2)).collect();
        robust(&rows, &values, floor).map(|coefficients| Self { lo, hi, coefficients })
    }

    /// With these coefficients over `lo` to `hi`.
    pub fn of(lo: f64, hi: f64, coefficients: Vec<f64>) -> Self {
        Self { lo, hi, coefficients }
    }

    /// The value at `s`; beyond the interval the end's value and slope go on.
    pub fn at(&self, s: f64) -> f64 {
        let inside = |s: f64| {
            let b = legendre(2.0 * (s - self.lo) / (self.hi - self.lo) - 1.0, self.coefficients.len());
            dot(&b, &self.coefficients)
        };
        let h = 1e-3 * (self.hi - self.lo);
        if s < self.lo {
            inside(self.lo) + (s - self.lo) * (inside(self.lo + h) - inside(self.lo)) / h
        } else if s > self.hi {
            inside(self.hi) + (s - self.hi) * (inside(self.hi) - inside(self.hi - h)) / h
        } else {
            inside(s)
        }
    }
}

/// Coefficients of `rows` that give `values` (each with its weight): least absolute residuals, then Tukey's biweight with the
/// scale 1.4826 x median absolute residual, not below `floor`. `None` where the rows do not determine them.
pub(crate) fn robust(rows: &[Vec<f64>], values: &[(f64, f64)], floor: f64) -> Option<Vec<f64>> {
    let terms = rows.first()?.len();
    let mut weights: Vec<f64> = values.iter().map(|v| v.1).collect();
    let mut coefficients = vec![0.0; terms];
    for round in 0..ROUNDS {
        let mut ata = DMatrix::<f64>::zeros(terms, terms);
        let mut atb = DVector::<f64>::zeros(terms);
        for ((b, v), w) in rows.iter().zip(values).zip(&weights) {
            for i in 0..terms {
                atb[i] += w * b[i] * v.0;
                for j in 0..=i {
                    ata[(i, j)] += w * b[i] * b[j];
                }
            }
        }
        for i in 0..terms {
            // a whisper of ridge keeps stretches without points from running away
            ata[(i, i)] += 1e-9 * (1.0 + ata[(i, i)]);
            for j in 0..i {
                ata[(j, i)] = ata[(i, j)];
            }
        }
        coefficients = ata.cholesky()?.solve(&atb).iter().copied().collect();
        let residuals: Vec<f64> = rows.iter().zip(values).map(|(b, v)| v.0 - dot(b, &coefficients)).collect();
        let mut sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
        let mid = sizes.len() / 2;
        let (_, median, _) = sizes.select_nth_unstable_by(mid, f64::total_cmp);
        let scale = (1.4826 * *median).max(floor);
        // least absolute residuals at first: a start pulled aside by a bad stretch comes back
        let cut = 4.685 * scale;
        for ((w, v), r) in weights.iter_mut().zip(values).zip(&residuals) {
            let t = (r / cut).powi(2);
            *w = match round {
                0..L1_ROUNDS => v.1 / r.abs().max(floor),
                _ if t < 1.0 => v.1 * (1.0 - t).powi(2),
                _ => 0.0,
            };
        }
    }
    coefficients.iter().all(|c| c.is_finite()).then_some(coefficients)
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Legendre polynomials P0 ..= P(terms-1) at `x`, by Bonnet's recursion.
pub(crate) fn legendre(x: f64, terms: usize) -> Vec<f64> {
    let mut p = Vec::with_capacity(terms);
    for n in 0..terms {
        p.push(match n {
            0 => 1.0,
            1 => x,
            _ => ((2 * n - 1) as f64 * x * p[n - 1] - (n - 1) as f64 * p[n - 2]) / n as f64,
        });
    }
    p
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cubic_is_found_under_a_third_of_outliers() {
        let truth = |s: f64| 3.0 - 0.02 * s + 1e-4 * s * s - 1e-7 * s * s * s;
        let points: Vec<_> = (0..300)
            .map(|i| {
                let s = i as f64 * 3.0;
                (s, truth(s) + if (100..170).contains(&i) { 15.0 } else { 0.0 }, 1.0)
            })
            .collect();
        let fit = Smooth::fit(&points, 3, 0.05).unwrap();
        assert!((0..300).all(|i| (fit.at(i as f64 * 3.0) - truth(i as f64 * 3.0)).abs() < 0.05));
    }

    #[test]
    fn too_few_points_give_less_or_nothing() {
        assert!(Smooth::fit(&[], 3, 0.1).is_none());
        assert!(Smooth::fit(&[(1.0, 2.0, 1.0); 4], 3, 0.1).is_none());
        let line = Smooth::fit(&[(0.0, 0.0, 1.0), (1.0, 1.0, 1.0)], 5, 0.1).unwrap();
        assert!((line.at(0.5) - 0.5).abs() < 1e-6 && (line.at(2.0) - 2.0).abs() < 1e-6);
    }
}
