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
/// Normal gravity at the poles in m/s2. Source: WGS 84 (NIMA TR8350.2), gamma_p.
pub const POLE_M_S2: f64 = 9.832_184_937_8;
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
/// Source: WGS 84 (NIMA TR8350.2, 3rd ed. 2000, equations 4-1 and 4-3; the equations' numbers from memory). Height above sea level
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

/// Gravity at a site and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SiteGravity {
    /// Value in m/s2.
    pub m_s2: f64,
    /// Standard uncertainty in m/s2.
    pub u_m_s2: f64,
    /// Where it comes from, in words.
    pub from: &'static str,
}

/// Gravity by what is known of the site: by latitude and height (each a value with its standard uncertainty,
/// in rad and m), or the conventional value where the latitude is not known.
///
/// `None` as in [`normal_m_s2`]. A gravity that was stated needs no function.
pub fn at_site(latitude_rad: Option<(f64, f64)>, height_m: (f64, f64)) -> Option<SiteGravity> {
    let Some((latitude, u_latitude)) = latitude_rad else {
        let from = "conventional value, for want of a latitude";
        return Some(SiteGravity { m_s2: CONVENTIONAL_M_S2, u_m_s2: UNKNOWN_SITE_U_M_S2, from });
    };
    let (height, u_height) = height_m;
    let m_s2 = normal_m_s2(latitude, height)?;
    // Slopes: (gp - ge) sin(2 latitude), and -3.086e-6 a metre.
    let by_latitude = (POLE_M_S2 - EQUATOR_M_S2) * (2.0 * latitude).sin() * u_latitude;
    let by_height = 3.086e-6 * u_height;
    let u_m_s2 = ANOMALY_U_M_S2.hypot(by_latitude).hypot(by_height);
    Some(SiteGravity { m_s2, u_m_s2, from: "latitude and height (WGS 84 normal gravity)" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_site_by_latitude_and_one_without() {
        let known = at_site(Some((45f64.to_radians(), 1f64.to_radians())), (0.0, 50.0)).unwrap();
        assert!((known.m_s2 - 9.806_197_8).abs() < 1e-7);
        let (a, b) = (46f64.to_radians(), 44f64.to_radians());
        let slope = (normal_m_s2(a, 0.0).unwrap() - normal_m_s2(b, 0.0).unwrap()) / 2.0;
        assert!((known.u_m_s2 - slope.hypot(3e-4).hypot(1.543e-4)).abs() < 5e-6, "{}", known.u_m_s2);
        let unknown = at_site(None, (0.0, 0.0)).unwrap();
        assert_eq!((unknown.m_s2, unknown.u_m_s2), (9.80665, 0.015));
        assert_eq!(at_site(Some((2.0, 0.0)), (0.0, 0.0)), None);
    }
}
