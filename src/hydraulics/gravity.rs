//! Gravity at the site: stated, by latitude and height, or the conventional value.

/// Conventional (standard) acceleration of free fall in m/s2, exact by definition.
///
/// Source: 3rd General Conference on Weights and Measures (1901).
pub const CONVENTIONAL_M_S2: f64 = 9.806_65;

/// Standard uncertainty in m/s2 of the conventional value where the latitude is not known.
///
/// Half the range from equator to pole (source: [`normal_m_s2`]) as a rectangle.
pub const UNKNOWN_SITE_U_M_S2: f64 = 0.015;

/// Standard uncertainty in m/s2 of the normal gravity for the true one: local anomalies are
/// mostly below 5e-4 (common practice, no source), taken as the half-width of a rectangle.
pub const ANOMALY_U_M_S2: f64 = 3.0e-4;

/// Normal gravity at the equator in m/s2. Source: WGS 84 (NIMA TR8350.2), gamma_e.
pub const EQUATOR_M_S2: f64 = 9.780_325_335_9;
/// Somigliana's constant k. Source: WGS 84 (NIMA TR8350.2).
pub const SOMIGLIANA_K: f64 = 0.001_931_852_652_41;
/// First eccentricity squared of the ellipsoid. Source: WGS 84 (NIMA TR8350.2).
pub const ECCENTRICITY_SQUARED: f64 = 0.006_694_379_990_14;

const FLATTENING: f64 = 1.0 / 298.257_223_563;
const SEMI_MAJOR_M: f64 = 6_378_137.0;
/// omega^2 a^2 b / (G M) of WGS 84.
const M_RATIO: f64 = 0.003_449_786_506_84;

/// Normal gravity in m/s2 at a geodetic latitude and a height above the ellipsoid.
///
/// On the ellipsoid (Somigliana) `g0 = ge (1 + k s) / sqrt(1 - e^2 s)`, `s = sin^2(latitude)`;
/// above it `g = g0 [1 - (2/a)(1 + f + m - 2 f s) h + 3 h^2 / a^2]`.
/// Source: WGS 84 (NIMA TR8350.2, 3rd ed. 2000, equations 4-1 and 4-3). Height above sea level
/// may be put for that above the ellipsoid: they differ by at most 0.1 km, 3e-4 m/s2.
///
/// `None` for a latitude beyond a pole or a height outside -1000 to 20 000 m.
pub fn normal_m_s2(latitude_rad: f64, height_m: f64) -> Option<f64> {
    let in_range = latitude_rad.abs() <= std::f64::consts::FRAC_PI_2 && (-1000.0..=20_000.0).contains(&height_m);
    in_range.then(|| {
        let s = latitude_rad.sin().powi(2);
        let on_ellipsoid = EQUATOR_M_S2 * (1.0 + SOMIGLIANA_K * s) / (1.0 - ECCENTRICITY_SQUARED * s).sqrt();
        let (f, h) = (FLATTENING, height_m / SEMI_MAJOR_M);
        on_ellipsoid * (1.0 - 2.0 * (1.0 + f + M_RATIO - 2.0 * f * s) * h + 3.0 * h * h)
    })
}
