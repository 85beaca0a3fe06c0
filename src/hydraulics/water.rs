//! Density, viscosity and surface tension of water by temperature, 0 to 40 degC at 1 atm.
//!
//! The values are for pure, air-free water with a clean surface. Bench water differs little in
//! density (dissolved air lowers it by a few parts in a million) but may differ much in surface
//! tension: traces of soap or grease lower it, by 10 to 30 % (common practice, no source).

use super::OutsideRange;

/// Lowest temperature of this module in degrees Celsius. Source: Tanaka et al. 2001, title.
pub const T_MIN_DEGC: f64 = 0.0;
/// Highest temperature of this module in degrees Celsius. Source: Tanaka et al. 2001, title.
pub const T_MAX_DEGC: f64 = 40.0;

/// Relative standard uncertainty of the density formula as used for real water.
///
/// Source: L. M. Centeno et al., "Determinacion de la densidad del agua tipo I ASTM utilizada en
/// CENAM con patrones solidos de densidad", Simposio de Metrologia 2004, section 1, which gives
/// the order 1e-5 as the conservative value in use. (The formula's own is smaller.)
pub const DENSITY_U_REL: f64 = 1.0e-5;

/// Relative standard uncertainty of the viscosity.
///
/// Source: M. L. Huber et al., J. Phys. Chem. Ref. Data 38 (2009) 101, abstract: "less than 1 %"
/// for the best-known states, read as an expanded uncertainty with k = 2.
pub const VISCOSITY_U_REL: f64 = 0.005;

/// Standard uncertainty of the surface tension of clean water in N/m.
///
/// Source: J. Patek, M. Souckova, J. Klomfar, J. Chem. Eng. Data 61 (2016), abstract: worst-case
/// error 0.1 mN/m, read as the half-width of a rectangle. Their equation and the one used here
/// differ by at most 0.04 mN/m in 0 to 40 degC.
pub const SURFACE_TENSION_U_N_M: f64 = 0.1e-3 / 1.732_050_807_568_877_2;

/// The three properties at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Density in kg/m3.
    pub density_kg_m3: f64,
    /// Dynamic viscosity in Pa s.
    pub viscosity_pa_s: f64,
    /// Surface tension against air in N/m.
    pub surface_tension_n_m: f64,
}

impl Water {
    /// Water at `t_degc`.
    ///
    /// # Errors
    /// Outside 0 to 40 degC.
    pub fn at(t_degc: f64) -> Result<Self, OutsideRange> {
        Ok(Self {
            density_kg_m3: density_kg_m3(t_degc)?,
            viscosity_pa_s: viscosity_pa_s(t_degc)?,
            surface_tension_n_m: surface_tension_n_m(t_degc)?,
        })
    }

    /// Kinematic viscosity in m2/s.
    pub fn kinematic_viscosity_m2_s(&self) -> f64 {
        self.viscosity_pa_s / self.density_kg_m3
    }
}

/// Density of air-free water at 101.325 kPa in kg/m3.
///
/// `rho = a5 [1 - (t + a1)^2 (t + a2) / (a3 (t + a4))]`, t in degC.
/// Source: M. Tanaka et al., Metrologia 38 (2001) 301-309, recommended formula (CIPM 2001).
///
/// # Errors
/// Outside 0 to 40 degC.
pub fn density_kg_m3(t_degc: f64) -> Result<f64, OutsideRange> {
    let t = in_range("density of water", t_degc, "Tanaka et al. 2001")?;
    let (a1, a2, a3, a4, a5) = (-3.983_035, 301.797, 522_528.9, 69.348_81, 999.974_950);
    Ok(a5 * (1.0 - (t + a1).powi(2) * (t + a2) / (a3 * (t + a4))))
}

/// Dynamic viscosity of water at 0.1 MPa in Pa s.
///
/// `mu/uPa s = 280.68 T^-1.9 + 511.45 T^-7.7 + 61.131 T^-19.6 + 0.45903 T^-40`, T in units of 300 K.
/// Source: IAPWS SR6-08(2011), equation for the viscosity of liquid water at 0.1 MPa, made from
/// IAPWS R12-08. Its range is 253.15 to 383.15 K; this module keeps to 0 to 40 degC.
///
/// # Errors
/// Outside 0 to 40 degC.
pub fn viscosity_pa_s(t_degc: f64) -> Result<f64, OutsideRange> {
    let t = in_range("viscosity of water", t_degc, "this program (IAPWS SR6-08(2011) reaches further)")?;
    Ok(sr6_viscosity_pa_s(t + 273.15))
}

fn sr6_viscosity_pa_s(t_k: f64) -> f64 {
    let t = t_k / 300.0;
    let terms = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];
    terms.iter().map(|(a, b)| a * t.powf(*b)).sum::<f64>() * 1e-6
}

/// Surface tension of clean water in N/m.
///
/// `sigma = 0.2358 tau^1.256 (1 - 0.625 tau)`, `tau = 1 - T/647.096 K`.
/// Source: IAPWS R1-76(2014), equation 1; valid from the triple point up, used in 0 to 40 degC.
///
/// # Errors
/// Outside 0 to 40 degC.
pub fn surface_tension_n_m(t_degc: f64) -> Result<f64, OutsideRange> {
    let t = in_range("surface tension of water", t_degc, "this program (IAPWS R1-76(2014) reaches further)")?;
    Ok(r1_surface_tension_n_m(t + 273.15))
}

fn r1_surface_tension_n_m(t_k: f64) -> f64 {
    let tau = 1.0 - t_k / 647.096;
    0.2358 * tau.powf(1.256) * (1.0 - 0.625 * tau)
}

fn in_range(what: &'static str, t_degc: f64, source_name: &'static str) -> Result<f64, OutsideRange> {
    if (T_MIN_DEGC..=T_MAX_DEGC).contains(&t_degc) {
        Ok(t_degc)
    } else {
        Err(OutsideRange { what, value: t_degc, unit: "degC", lo: T_MIN_DEGC, hi: T_MAX_DEGC, source_name })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values outside this module's range, so they meet the equations directly.
    #[test]
    fn equations_at_the_computer_check_points() {
        // IAPWS SR6-08(2011), check values at 0.1 MPa: 260, 298.15, 375 K (uPa s).
        for (t_k, want, half) in [(260.0, 3058.3608, 5e-5), (298.15, 889.996_77, 5e-6), (375.0, 276.207_24, 5e-6)] {
            assert!((sr6_viscosity_pa_s(t_k) * 1e6 - want).abs() <= half * 1.01, "{t_k} K");
        }
        // IAPWS R1-76(2014): 300 K 71.6859625, 450 K 42.8914992 mN/m, as printed by a public implementation.
        for (t_k, want) in [(300.0, 71.685_962_5), (450.0, 42.891_499_2)] {
            assert!((r1_surface_tension_n_m(t_k) * 1e3 - want).abs() < 1e-7, "{t_k} K");
        }
    }

    #[test]
    fn outside_the_range_says_so() {
        let err = density_kg_m3(41.0).unwrap_err();
        assert_eq!(
            err.to_string(),
            "density of water at 41 degC is outside 0 to 40 degC, the range of Tanaka et al. 2001"
        );
        assert!(Water::at(-0.1).is_err() && Water::at(f64::NAN).is_err() && Water::at(40.0).is_ok());
    }
}
