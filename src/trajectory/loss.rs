//! Losses: how much a station far from the curve may pull.

/// A loss function of the scaled residual `z = d / (s u)`: distance over robust scale and stated
/// uncertainty, a pure number.
///
/// Each is scaled so that it is `z^2 / 2` near zero, with weight 1 there. For the same tuning
/// constant the far residual pulls less from top to bottom of this list. The tuning constants of
/// [`Loss::HUBER`], [`Loss::CAUCHY`] and [`Loss::TUKEY`] give 95 % efficiency on Gaussian
/// residuals: Holland & Welsch 1977, "Robust regression using iteratively reweighted
/// least-squares", Commun. Statist. A 6(9), 813-827.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// `rho = z^2/2`; weight 1 everywhere: one gross outlier spoils the fit.
    Squared,
    /// `rho = z^2/2` to `|z| = k`, then `k|z| - k^2/2`; weight `min(1, k/|z|)`.
    Huber {
        /// Where the loss turns from square to straight, in scales.
        k: f64,
    },
    /// `rho = (k^2/2) ln(1 + (z/k)^2)`; weight `1/(1 + (z/k)^2)`: falls, never to zero.
    Cauchy {
        /// Where the weight has fallen to one half, in scales.
        k: f64,
    },
    /// Biweight: `rho = (k^2/6)(1 - (1 - (z/k)^2)^3)` to `|z| = k`, then `k^2/6`; weight `(1 -
    /// (z/k)^2)^2`, then 0: beyond `k` a station has no say at all.
    Tukey {
        /// Where the weight reaches zero, in scales.
        k: f64,
    },
}

impl Loss {
    /// Huber's loss at 95 % Gaussian efficiency, k = 1.345.
    pub const HUBER: Self = Self::Huber { k: 1.345 };
    /// Cauchy's loss at 95 % Gaussian efficiency, k = 2.385.
    pub const CAUCHY: Self = Self::Cauchy { k: 2.385 };
    /// Tukey's biweight at 95 % Gaussian efficiency, k = 4.685.
    pub const TUKEY: Self = Self::Tukey { k: 4.685 };

    /// The loss `rho(z)`.
    pub fn value(self, z: f64) -> f64 {
        match self {
            Self::Squared => 0.5 * z * z,
            Self::Huber { k } if z.abs() <= k => 0.5 * z * z,
            Self::Huber { k } => k * z.abs() - 0.5 * k * k,
            Self::Cauchy { k } => 0.5 * k * k * (z / k).powi(2).ln_1p(),
            Self::Tukey { k } if z.abs() <= k => k * k / 6.0 * (1.0 - (1.0 - (z / k).powi(2)).powi(3)),
            Self::Tukey { k } => k * k / 6.0,
        }
    }

    /// The weight `psi(z)/z` of iterated reweighting, 1 at zero.
    pub fn weight(self, z: f64) -> f64 {
        match self {
            Self::Squared => 1.0,
            Self::Huber { k } if z.abs() <= k => 1.0,
            Self::Huber { k } => k / z.abs(),
            Self::Cauchy { k } => 1.0 / (1.0 + (z / k).powi(2)),
            Self::Tukey { k } if z.abs() <= k => (1.0 - (z / k).powi(2)).powi(2),
            Self::Tukey { .. } => 0.0,
        }
    }

    /// The influence `psi(z) = d rho / dz`.
    pub fn influence(self, z: f64) -> f64 {
        self.weight(z) * z
    }

    /// The slope `d psi / dz` of the influence, which the covariance needs.
    pub fn influence_slope(self, z: f64) -> f64 {
        match self {
            Self::Squared => 1.0,
            Self::Huber { k } => f64::from(z.abs() <= k),
            Self::Cauchy { k } => {
                let q = (z / k).powi(2);
                (1.0 - q) / (1.0 + q).powi(2)
            }
            Self::Tukey { k } if z.abs() <= k => {
                let q = (z / k).powi(2);
                (1.0 - q) * (1.0 - 5.0 * q)
            }
            Self::Tukey { .. } => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Loss; 4] = [Loss::Squared, Loss::HUBER, Loss::CAUCHY, Loss::TUKEY];

    #[test]
    fn derivatives_agree_with_differences() {
        let h = 1e-5;
        for loss in ALL {
            for i in -80..=80 {
                let z = f64::from(i) * 0.1 + 0.013; // keeps clear of the kinks at k
                let slope = (loss.value(z + h) - loss.value(z - h)) / (2.0 * h);
                assert!((slope - loss.influence(z)).abs() < 1e-8, "{loss:?} psi at {z}");
                let bend = (loss.influence(z + h) - loss.influence(z - h)) / (2.0 * h);
                assert!((bend - loss.influence_slope(z)).abs() < 1e-8, "{loss:?} psi' at {z}");
            }
        }
    }

    #[test]
    fn every_loss_is_half_the_square_near_zero() {
        for loss in ALL {
            assert_eq!(loss.value(0.0), 0.0);
            assert_eq!(loss.weight(0.0), 1.0);
            assert_eq!(loss.influence_slope(0.0), 1.0);
            assert!((loss.value(1e-3) / 0.5e-6 - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn far_residuals_pull_less_down_the_list() {
        let far = 6.0;
        let pulls: Vec<f64> = ALL.iter().map(|l| l.influence(far)).collect();
        assert!(pulls.windows(2).all(|w| w[1] < w[0]), "{pulls:?}");
        assert_eq!(Loss::TUKEY.influence(far), 0.0);
    }
}
