//! Buoyancy of the air: on the falling jet, and on what is weighed.

use super::finite;
use super::tension::Corrected;

/// Density in kg/m3 of the weights by which balances are adjusted, by convention 8000.
///
/// Source: OIML D 28 (2004), conventional value of the result of weighing in air.
pub const WEIGHTS_KG_M3: f64 = 8000.0;

/// Density of the air over that of the water. `None` unless `0 <= air < water`.
pub fn density_ratio(air_density_kg_m3: f64, water_density_kg_m3: f64) -> Option<f64> {
    (0.0..water_density_kg_m3).contains(&air_density_kg_m3).then(|| air_density_kg_m3 / water_density_kg_m3)
}

/// Gravity that a falling jet feels in m/s2, `g (1 - rho_a/rho)`. The head feels the same, so Cv
/// from head and trajectory does not change: only the velocity itself does.
pub fn effective_gravity_m_s2(gravity_m_s2: f64, density_ratio: f64) -> f64 {
    gravity_m_s2 * (1.0 - density_ratio)
}

/// A velocity from a trajectory with the air's buoyancy taken out, `V sqrt(1 - rho_a/rho)`: 0.06 %
/// lower. `u_density_ratio_rel` is the relative standard uncertainty of the ratio.
pub fn correct_velocity(apparent_m_s: f64, density_ratio: f64, u_density_ratio_rel: f64) -> Option<Corrected> {
    let factor = (1.0 - density_ratio).sqrt();
    Some(Corrected {
        velocity_m_s: finite(apparent_m_s * factor)?,
        relative: factor - 1.0,
        u_relative: 0.5 * density_ratio / factor * u_density_ratio_rel,
    })
}

/// Volume in m3 of water that a balance shows as `mass_kg` in air,
/// `m (1 - rho_a/8000) / (rho - rho_a)`.
///
/// Source: ISO 4185:1980 (weighing method), the buoyancy correction. With `air_density_kg_m3` 0 it
/// is `m / rho`, 0.1 % less. `None` unless `0 <= air < water`.
pub fn volume_of_weighed_m3(mass_kg: f64, water_density_kg_m3: f64, air_density_kg_m3: f64) -> Option<f64> {
    density_ratio(air_density_kg_m3, water_density_kg_m3)?;
    finite(mass_kg * (1.0 - air_density_kg_m3 / WEIGHTS_KG_M3) / (water_density_kg_m3 - air_density_kg_m3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn buoyancy_at_the_bench() {
        let ratio = density_ratio(1.2041, 998.2067).unwrap();
        let v = correct_velocity(2.0, ratio, 0.02).unwrap();
        assert!((v.relative * 100.0 + 0.0603).abs() < 1e-4, "{}", v.relative);
        assert!(v.u_relative < 2e-5);
        // The factor on a weighed volume, 1.00105 or so at 20 degC.
        let z = volume_of_weighed_m3(998.2067, 998.2067, 1.2041).unwrap();
        assert!((z - 1.001_057).abs() < 1e-6, "{z}");
        assert_eq!(volume_of_weighed_m3(1.0, 998.0, 998.0), None);
        assert_eq!(density_ratio(f64::NAN, 998.0), None);
    }
}
