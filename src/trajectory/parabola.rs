//! The trajectory of a jet: what goes into its fit and what comes out.

use super::Loss;

/// One measured point of the stream's centreline, in bench coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Along the jet, mm.
    pub x_mm: f64,
    /// The drop, downwards, mm.
    pub y_mm: f64,
    /// Standard uncertainty across the stream, mm; positive.
    pub u_mm: f64,
}

/// What is known of the jet's direction at the vena contracta.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Launch {
    /// Nothing: the stations decide.
    Free,
    /// Exactly level.
    Level,
    /// An angle, upwards positive, with its standard uncertainty; 0 makes it exact.
    Stated {
        /// Launch angle, rad, upwards positive.
        angle_rad: f64,
        /// Its standard uncertainty, rad.
        u_rad: f64,
    },
}

impl Launch {
    /// Slope `dy/dx = -tan(angle)` at the vena contracta and its variance; `None` where free.
    pub(super) fn slope_and_variance(self) -> Option<(f64, f64)> {
        match self {
            Self::Free => None,
            Self::Level => Some((0.0, 0.0)),
            Self::Stated { angle_rad, u_rad } => {
                let slope = -angle_rad.tan();
                Some((slope, (u_rad * (1.0 + slope * slope)).powi(2)))
            }
        }
    }

    pub(super) fn fewest_stations(self) -> usize {
        if self == Self::Free { 4 } else { 3 }
    }
}

/// How the stations are fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitOptions {
    /// What is known of the launch.
    pub launch: Launch,
    /// Where the vena contracta lies, mm from the orifice centre; about half the orifice's
    /// diameter.
    pub x_vc_mm: f64,
    /// The loss; Tukey's by default.
    pub loss: Loss,
    /// A station further off than this many robust scales is an outlier and not used (with Tukey's
    /// loss, its own `k` if that is less). Ignored by [`Loss::Squared`], which uses all.
    pub outlier_scales: f64,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self { launch: Launch::Free, x_vc_mm: 0.0, loss: Loss::TUKEY, outlier_scales: 5.0 }
    }
}

/// A fitted trajectory `y = c + b x + a x^2`, drop downwards, mm. Lists are in the order of the
/// stations.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Drop at x = 0, mm.
    pub c_mm: f64,
    /// Slope at x = 0.
    pub b: f64,
    /// Half the curvature at the apex, 1/mm.
    pub a_per_mm: f64,
    /// Covariance of `(c, b, a)`, inflated for scatter and correlation: see [`super::fit`].
    pub covariance: [[f64; 3]; 3],
    /// Signed orthogonal distance of each station from the curve, mm, positive below it.
    pub off_mm: Vec<f64>,
    /// Weight of each station's y with which one weighted regression ([`super::refit`]) gives this
    /// fit again, 1/mm^2; 0 where not used.
    pub weight: Vec<f64>,
    /// Whether the station was used.
    pub used: Vec<bool>,
    /// Root mean square of `off_mm` over the used stations, mm.
    pub rms_mm: f64,
    /// Independent stations that the used ones are worth.
    pub n_effective: f64,
    /// Degrees of freedom of the covariance, for Student's t; at least 1.
    pub dof: f64,
    /// Integrated correlation length of the residuals along the stream, mm; 0 where none is seen.
    pub correlation_length_mm: f64,
    /// Scatter against stated uncertainty: variance of `off / u`, corrected for parameters and
    /// loss.
    pub chi2_per_dof: f64,
    /// Robust scale of `off / u`.
    pub scale: f64,
    /// Where the vena contracta was taken to be, mm.
    pub x_vc_mm: f64,
}

impl Fit {
    /// Drop of the curve at `x_mm`, mm.
    pub fn y_mm(&self, x_mm: f64) -> f64 {
        self.c_mm + x_mm * (self.b + self.a_per_mm * x_mm)
    }

    /// Slope `dy/dx` of the curve at `x_mm`.
    pub fn slope(&self, x_mm: f64) -> f64 {
        self.b + 2.0 * self.a_per_mm * x_mm
    }

    /// Angle of the jet at the vena contracta, rad, upwards positive.
    pub fn launch_angle_rad(&self) -> f64 {
        -self.slope(self.x_vc_mm).atan()
    }

    /// Speed at the vena contracta, m/s, for g in m/s^2: `Vx = sqrt(g / (2 a))`, `V = Vx sqrt(1 +
    /// slope^2)`. `None` where the curve does not bend downwards, `a <= 0`.
    pub fn velocity_m_s(&self, g_m_s2: f64) -> Option<f64> {
        let along_squared = g_m_s2 / (2.0 * self.a_per_mm * 1e3);
        let slope = self.slope(self.x_vc_mm);
        let speed = (along_squared * (1.0 + slope * slope)).sqrt();
        (self.a_per_mm > 0.0 && speed.is_finite()).then_some(speed)
    }

    /// Standard uncertainty of [`Fit::velocity_m_s`] that the stations' scatter causes, m/s, to
    /// first order: `dV/V = -da/(2a) + m dm/(1 + m^2)`, m the slope at the vena contracta. Scale,
    /// vertical and g are not in it.
    pub fn velocity_u_m_s(&self, g_m_s2: f64) -> Option<f64> {
        let m = self.slope(self.x_vc_mm);
        let turn = m / (1.0 + m * m);
        let row = [0.0, turn, 2.0 * self.x_vc_mm * turn - 0.5 / self.a_per_mm];
        let variance: f64 = (0..3).map(|i| (0..3).map(|j| row[i] * self.covariance[i][j] * row[j]).sum::<f64>()).sum();
        self.velocity_m_s(g_m_s2).map(|v| v * variance.max(0.0).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exact(c_mm: f64, b: f64, a_per_mm: f64, x_vc_mm: f64) -> Fit {
        let covariance = [[1e-2, -1e-5, 1e-8], [-1e-5, 4e-7, -6e-10], [1e-8, -6e-10, 1e-12]];
        Fit {
            c_mm,
            b,
            a_per_mm,
            covariance,
            off_mm: vec![],
            weight: vec![],
            used: vec![],
            rms_mm: 0.0,
            n_effective: 1.0,
            dof: 1.0,
            correlation_length_mm: 0.0,
            chi2_per_dof: 1.0,
            scale: 1.0,
            x_vc_mm,
        }
    }

    #[test]
    fn the_exact_path_gives_its_speed_and_angle_back() {
        // y = -x tan(theta) + g x^2 / (2 V^2 cos^2(theta)), x in m
        for (v, degrees) in [(2.0, 0.0), (3.5, -3.0), (1.25, 10.0)] {
            let (g, theta) = (9.80665, f64::to_radians(degrees));
            let fit = exact(0.0, -theta.tan(), g / (2.0 * (v * theta.cos()).powi(2)) * 1e-3, 0.0);
            assert!((fit.velocity_m_s(g).unwrap() / v - 1.0).abs() < 1e-14);
            assert!((fit.launch_angle_rad() - theta).abs() < 1e-15);
        }
    }

    #[test]
    fn a_curve_that_bends_upwards_has_no_velocity() {
        for a in [0.0, -1e-3, f64::MIN_POSITIVE * 1e-10] {
            assert_eq!(exact(0.0, 0.1, a, 6.0).velocity_m_s(9.81), None);
            assert_eq!(exact(0.0, 0.1, a, 6.0).velocity_u_m_s(9.81), None);
        }
    }

    #[test]
    fn the_velocitys_uncertainty_agrees_with_differences() {
        let fit = exact(1.0, -0.15, 1.2e-3, 20.0);
        let slope_of = |j: usize| {
            let step = [1e-3, 1e-6, 1e-9][j];
            let at = |s: f64| {
                let mut moved = fit.clone();
                *[&mut moved.c_mm, &mut moved.b, &mut moved.a_per_mm][j] += s * step;
                moved.velocity_m_s(9.81).unwrap()
            };
            (at(1.0) - at(-1.0)) / (2.0 * step)
        };
        let row = [slope_of(0), slope_of(1), slope_of(2)];
        let variance: f64 =
            (0..3).flat_map(|i| (0..3).map(move |j| (i, j))).map(|(i, j)| row[i] * fit.covariance[i][j] * row[j]).sum();
        assert!((fit.velocity_u_m_s(9.81).unwrap() / variance.sqrt() - 1.0).abs() < 1e-6);
    }
}
