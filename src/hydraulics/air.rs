//! Air around the jet: density and viscosity, as simple as their use asks.
//!
//! Both enter only in second-order corrections (buoyancy 0.06 % of V, drag below 0.3 % for most
//! jets, weighing 0.1 % of a mass), so dry air of the standard atmosphere is enough.

use super::OutsideRange;

/// Specific gas constant of dry air in J/(kg K): 8314.32 / 28.9644.
///
/// Source: U.S. Standard Atmosphere, 1976, tables 2 and 3 (R* and M0).
pub const GAS_CONSTANT_J_KG_K: f64 = 8314.32 / 28.9644;

/// Pressure at sea level in Pa. Source: U.S. Standard Atmosphere, 1976, table 2.
pub const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;

/// Relative standard uncertainty of the density when only altitude and temperature are known.
///
/// Weather moves the pressure by some 2 % and damp lowers the density by up to 1 % (common
/// practice, no source).
pub const DENSITY_U_REL: f64 = 0.02;

/// Pressure at a height above sea level in Pa.
///
/// `p = p0 (1 - 0.0065 H / 288.15)^5.25588` with the geopotential height `H = r h / (r + h)`,
/// r = 6 356 766 m: the lowest layer. Source: U.S. Standard Atmosphere, 1976, equations 18 and 33a.
///
/// # Errors
/// Outside -500 to 11 000 m.
pub fn pressure_pa(height_m: f64) -> Result<f64, OutsideRange> {
    if !(-500.0..=11_000.0).contains(&height_m) {
        return Err(OutsideRange {
            what: "air pressure",
            value: height_m,
            unit: "m",
            lo: -500.0,
            hi: 11_000.0,
            source_name: "this program (U.S. Standard Atmosphere 1976, lowest layer)",
        });
    }
    let geopotential_m = 6_356_766.0 * height_m / (6_356_766.0 + height_m);
    Ok(SEA_LEVEL_PRESSURE_PA * (1.0 - 0.0065 * geopotential_m / 288.15).powf(5.255_88))
}

/// Density of dry air in kg/m3: `rho = p / (R T)`.
///
/// Source: U.S. Standard Atmosphere, 1976, equation 42. `None` for a temperature below -100 degC
/// or a pressure that is not positive.
pub fn density_kg_m3(t_degc: f64, pressure_pa: f64) -> Option<f64> {
    (t_degc > -100.0 && pressure_pa > 0.0)
        .then(|| pressure_pa / (GAS_CONSTANT_J_KG_K * (t_degc + 273.15)))
        .and_then(super::finite)
}

/// Dynamic viscosity of air in Pa s: `mu = 1.458e-6 T^1.5 / (T + 110.4)`, T in K.
///
/// Source: U.S. Standard Atmosphere, 1976, equation 51. `None` below -100 degC.
pub fn viscosity_pa_s(t_degc: f64) -> Option<f64> {
    let t = t_degc + 273.15;
    (t_degc > -100.0).then(|| 1.458e-6 * t.powf(1.5) / (t + 110.4)).and_then(super::finite)
}
