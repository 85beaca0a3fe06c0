//! Effect of surface tension on a thin jet: on its path, and on its speed at the start.
//!
//! A section of a cylindrical jet of radius R carries, besides its momentum, the pull of its
//! surface `2 pi R sigma` less the push of the capillary pressure `(sigma/R) pi R^2`: a net tension
//! `pi R sigma`. Steady, slender, inviscid:
//!
//! ```text
//! along the path   V^2/2 + sigma/(rho R) - g y = const
//! momentum         M = rho pi R^2 V^2 - pi R sigma,   M cos(slope) = const,   dM_down/dx = weight
//! hence            dq/dx = rho g pi R^2 sqrt(1 + q^2) / (M0 cos(slope0)),   q = dy/dx
//! ```
//!
//! With `eps = sigma / (rho R V^2) = 2/We` the path of a level jet falls as if its velocity were
//! lower by about `(eps/2)(1 + F)`, F = 0.095 at slope 1. Own derivation; the net section force
//! agrees with the momentum balances in use for falling liquid threads. Besides, the capillary pressure
//! in the jet lowers its true speed, `V^2 = 2 g H - 4 sigma/(rho dj)`: a share eps of it.
//! The path's part falls below 0.1 % of V above We = 1100 or so, the sum above 3100.

use super::apparent::{Apparent, Estimator, read_path};
use super::finite;

/// Weber number (on the jet's diameter) below which the path's part exceeds 0.1 % of V:
/// `1.1/We = 0.001`. Source: the derivation above.
pub const WEBER_OF_CONCERN: f64 = 1100.0;

/// Relative standard uncertainty of the correction itself for what the derivation leaves out (waves,
/// the not yet flat profile near the orifice). Source: own estimate, no published one.
pub const MODEL_U_REL: f64 = 0.1;

/// Relative standard uncertainty of the surface tension of bench water for that of clean water:
/// traces of soap lower it by 10 to 30 % (common practice, no source).
pub const BENCH_WATER_U_REL: f64 = 0.1;

/// A jet at its vena contracta.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jet {
    /// Diameter in m.
    pub diameter_m: f64,
    /// Launch angle in rad, upwards positive.
    pub launch_rad: f64,
    /// Density of the water in kg/m3.
    pub density_kg_m3: f64,
    /// Surface tension in N/m.
    pub surface_tension_n_m: f64,
    /// Gravity in m/s2.
    pub gravity_m_s2: f64,
}

impl Jet {
    /// `eps = 2 sigma / (rho dj V^2)`, which is 2/We. `None` unless all of them are positive.
    pub fn eps(&self, velocity_m_s: f64) -> Option<f64> {
        let k = self.eps_v2();
        (k > 0.0 && velocity_m_s > 0.0).then(|| k / (velocity_m_s * velocity_m_s)).and_then(finite)
    }

    /// eps V^2 in m2/s2, free of the velocity.
    fn eps_v2(&self) -> f64 {
        2.0 * self.surface_tension_n_m / (self.density_kg_m3 * self.diameter_m)
    }

    /// The path (x, y) in m of this jet with true speed `velocity_m_s`, at `steps + 1` even x from 0 to
    /// `reach_m`; fourth-order steps. `None` for arguments that must be positive and are not, or where
    /// tension exceeds momentum (eps >= 1: a dripping, not a jet).
    pub fn path_m(&self, velocity_m_s: f64, reach_m: f64, steps: u32) -> Option<Vec<(f64, f64)>> {
        let eps = self.eps(velocity_m_s)?;
        let launch_ok = self.launch_rad.abs() < 1.5;
        if eps >= 1.0 || !launch_ok || reach_m <= 0.0 || self.gravity_m_s2 <= 0.0 || steps == 0 {
            return None;
        }
        // In units of V0 and R0: momentum per section area 1 - eps; energy 1/2 + eps at y = 0.
        let g = self.gravity_m_s2 / (velocity_m_s * velocity_m_s);
        let horizontal_momentum = (1.0 - eps) * self.launch_rad.cos();
        let area = |y: f64| {
            // v^2/2 + eps/r = 1/2 + eps + g y with r = v^(-1/2): a fixed point that contracts by eps/2.
            let mut v = (1.0 + 2.0 * g * y).max(1e-6).sqrt();
            for _ in 0..8 {
                v = (1.0 + 2.0 * eps * (1.0 - v.sqrt()) + 2.0 * g * y).max(1e-6).sqrt();
            }
            1.0 / v
        };
        let rate = |y: f64, q: f64| (q, g * area(y) * (1.0 + q * q).sqrt() / horizontal_momentum);
        let h = reach_m / f64::from(steps);
        let (mut y, mut q) = (0.0, -self.launch_rad.tan());
        let mut points = vec![(0.0, 0.0)];
        for i in 1..=steps {
            let k1 = rate(y, q);
            let k2 = rate(y + h / 2.0 * k1.0, q + h / 2.0 * k1.1);
            let k3 = rate(y + h / 2.0 * k2.0, q + h / 2.0 * k2.1);
            let k4 = rate(y + h * k3.0, q + h * k3.1);
            y += h / 6.0 * (k1.0 + 2.0 * k2.0 + 2.0 * k3.0 + k4.0);
            q += h / 6.0 * (k1.1 + 2.0 * k2.1 + 2.0 * k3.1 + k4.1);
            points.push((f64::from(i) * h, y));
        }
        finite(y).map(|_| points)
    }

    /// What `estimator` reads from points spread evenly in x over `span_m`, first to last station.
    pub fn apparent(&self, velocity_m_s: f64, span_m: [f64; 2], estimator: Estimator) -> Option<Apparent> {
        let mut path = self.path_m(velocity_m_s, span_m[1], 100)?;
        path.retain(|point| point.0 >= span_m[0]);
        read_path(&path, self.gravity_m_s2, estimator)
    }
}

/// A second-order correction of a velocity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corrected {
    /// The velocity with the effect taken out, in m/s.
    pub velocity_m_s: f64,
    /// Its relative change, `corrected/apparent - 1`.
    pub relative: f64,
    /// Standard uncertainty of `relative`.
    pub u_relative: f64,
}

/// How strongly surface tension shows in a velocity read in one certain way: the relative error per
/// eps, negative. Solve once for a run; [`PathGain::true_velocity_m_s`] is then cheap enough for
/// every draw of a simulation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathGain(f64);

impl PathGain {
    /// For a jet whose apparent velocity was read by `estimator` from points over `span_m`.
    ///
    /// `None` as in [`Jet::path_m`], or where the correction is too large to be one (above 20 %).
    pub fn of(jet: &Jet, apparent_m_s: f64, span_m: [f64; 2], estimator: Estimator) -> Option<Self> {
        let mut gain = Self(-0.55);
        // The gain hardly depends on the velocity: three rounds leave nothing that matters.
        for _ in 0..3 {
            let v = gain.true_velocity_m_s(jet, apparent_m_s)?;
            let error = jet.apparent(v, span_m, estimator)?.velocity_m_s / v - 1.0;
            gain = Self(error / jet.eps(v)?);
            if error.abs() > 0.2 {
                return None;
            }
        }
        Some(gain)
    }

    /// The relative error of the velocity per eps.
    pub fn per_eps(self) -> f64 {
        self.0
    }

    /// True speed in m/s given the apparent one: the larger root of `V (1 + gain eps(V)) = V_app`.
    pub fn true_velocity_m_s(self, jet: &Jet, apparent_m_s: f64) -> Option<f64> {
        let root = apparent_m_s * apparent_m_s - 4.0 * self.0 * jet.eps_v2();
        (apparent_m_s > 0.0 && root >= 0.0).then(|| (apparent_m_s + root.sqrt()) / 2.0).and_then(finite)
    }

    /// The corrected velocity; `surface_tension_u_rel` is that of sigma for this water.
    pub fn correct(self, jet: &Jet, apparent_m_s: f64, surface_tension_u_rel: f64) -> Option<Corrected> {
        let velocity_m_s = self.true_velocity_m_s(jet, apparent_m_s)?;
        let relative = velocity_m_s / apparent_m_s - 1.0;
        Some(Corrected {
            velocity_m_s,
            relative,
            u_relative: relative.abs() * surface_tension_u_rel.hypot(MODEL_U_REL),
        })
    }
}

/// Closed form of the single-point effect to first order in eps, `V_app/V - 1 = -(eps/2)(1 + F(xi))`
/// with `xi = g x / V^2` the slope at the point; a level jet. Within 2 % of itself for eps below 0.06.
pub fn single_point_effect(eps: f64, slope: f64) -> Option<f64> {
    Some(-eps / 2.0 * (1.0 + bend_function(slope)?))
}

/// `F(xi) = (2/xi^2) Int_0^xi (xi - s) [1 - (1 + s^2)^(-3/4)] ds`; xi^2/8 for a small xi.
///
/// By Simpson's rule with 64 intervals: better than 3e-8 for xi up to 3, 4e-7 to 10. `None` unless `0 <= xi <= 10`.
pub fn bend_function(slope: f64) -> Option<f64> {
    const INTERVALS: u32 = 64;
    if !(0.0..=10.0).contains(&slope) {
        return None;
    }
    if slope == 0.0 {
        return Some(0.0);
    }
    let h = slope / f64::from(INTERVALS);
    let sum: f64 = (0..=INTERVALS)
        .map(|i| {
            let s = f64::from(i) * h;
            let weight = match i {
                0 | INTERVALS => 1.0,
                _ if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * (slope - s) * (1.0 - (1.0 + s * s).powf(-0.75))
        })
        .sum();
    Some(2.0 / (slope * slope) * sum * h / 3.0)
}

/// Ideal velocity in m/s with the capillary pressure of the jet taken off, `sqrt(Vi^2 - 4 sigma/(rho dj))`.
/// `None` where nothing is left.
pub fn ideal_velocity_with_capillary_m_s(ideal_velocity_m_s: f64, jet: &Jet) -> Option<f64> {
    let left = ideal_velocity_m_s * ideal_velocity_m_s - 2.0 * jet.eps_v2();
    (ideal_velocity_m_s > 0.0 && left > 0.0).then(|| left.sqrt()).and_then(finite)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jet(diameter_mm: f64) -> Jet {
        Jet {
            diameter_m: diameter_mm / 1e3,
            launch_rad: 0.0,
            density_kg_m3: 998.206_746,
            surface_tension_n_m: 0.072_736_140_4,
            gravity_m_s2: 9.806_65,
        }
    }

    /// Values by adaptive quadrature.
    #[test]
    fn bend_function_by_slope() {
        let table = [(0.25, 0.00765), (0.5, 0.02881), (1.0, 0.09504), (1.5, 0.16991), (2.0, 0.24005), (3.0, 0.35548)];
        for (xi, want) in table {
            assert!((bend_function(xi).unwrap() - want).abs() < 5.1e-6, "{xi}");
        }
        assert!((bend_function(1e-3).unwrap() / 1.25e-7 - 1.0).abs() < 1e-5);
        assert_eq!(bend_function(0.0), Some(0.0));
        assert_eq!(bend_function(-1.0), None);
    }

    #[test]
    fn without_tension_the_path_is_the_parabola() {
        let dry = Jet { surface_tension_n_m: 1e-12, launch_rad: 0.1, ..jet(5.0) };
        let path = dry.path_m(2.0, 0.5, 50).unwrap();
        for (x, y) in path {
            let want = -x * 0.1f64.tan() + dry.gravity_m_s2 * x * x / (2.0 * (2.0 * 0.1f64.cos()).powi(2));
            assert!((y - want).abs() < 2e-8, "{x}: {y} {want}");
        }
    }

    #[test]
    fn correcting_the_apparent_gives_the_true_velocity_back() {
        for estimator in [Estimator::SinglePoint, Estimator::Level, Estimator::FreeLaunchAndOffset] {
            for (d, v) in [(2.4, 1.0), (4.0, 1.5), (10.0, 3.0)] {
                let jet = jet(d);
                let span = [0.1, 1.0].map(|t| t * v * v / jet.gravity_m_s2);
                let apparent = jet.apparent(v, span, estimator).unwrap().velocity_m_s;
                let gain = PathGain::of(&jet, apparent, span, estimator).unwrap();
                let back = gain.correct(&jet, apparent, BENCH_WATER_U_REL).unwrap();
                assert!((back.velocity_m_s / v - 1.0).abs() < 2e-5, "{d} mm {v} m/s: {}", back.velocity_m_s);
                assert!(back.relative > 0.0 && back.u_relative < 0.15 * back.relative);
            }
        }
    }

    /// The share of Cv that surface tension alone takes from a sharp orifice without other losses,
    /// Cc 0.62, read from one point at slope 1. Own derivation, recomputed by a separate program.
    #[test]
    fn apparent_cv_of_a_perfect_small_orifice() {
        for (d_mm, head_m, want) in
            [(3.0, 0.2, 0.9754), (6.0, 0.2, 0.9878), (6.0, 0.4, 0.9939), (10.0, 0.2, 0.9927), (12.5, 0.2, 0.9941)]
        {
            let jet = jet(d_mm * 0.62f64.sqrt());
            let ideal = (2.0 * jet.gravity_m_s2 * head_m).sqrt();
            let v = ideal_velocity_with_capillary_m_s(ideal, &jet).unwrap();
            let apparent = v * (1.0 + single_point_effect(jet.eps(v).unwrap(), 1.0).unwrap());
            assert!((apparent / ideal - want).abs() < 6e-5, "{d_mm} mm: {}", apparent / ideal);
        }
    }

    #[test]
    fn a_drip_is_no_jet() {
        assert_eq!(jet(2.0).path_m(0.2, 0.1, 10), None);
        assert_eq!(jet(-2.0).eps(1.0), None);
        assert_eq!(jet(2.0).path_m(1.0, 0.0, 10), None);
    }
}
