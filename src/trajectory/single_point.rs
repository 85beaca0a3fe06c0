//! The square-and-yardstick reading: the velocity that one station alone gives.

/// Speed of the jet at its origin, in m/s, from one point of its path.
///
/// `V^2 = g x^2 / (2 cos^2(theta) (y + x tan(theta)))`, with `x_mm` along the jet and the drop
/// `y_mm`, both from the origin of the jet (the vena contracta) in mm, the launch angle in rad,
/// upwards positive, and g in m/s^2. For a level launch this is `V = x sqrt(g / (2 y))`: W. C.
/// Unwin, "Hydraulics", Encyclopaedia Britannica, 11th ed. 1911, section 18.
///
/// `None` where no jet passes through the point: at the origin or behind it, at or above the launch
/// line, at a launch angle of 90 degrees or more, or where an argument is not finite.
pub fn single_point_velocity(x_mm: f64, y_mm: f64, launch_angle_rad: f64, g_m_s2: f64) -> Option<f64> {
    let (x, y) = (x_mm * 1e-3, y_mm * 1e-3);
    let fall = y + x * launch_angle_rad.tan();
    if !(x > 0.0 && fall > 0.0 && g_m_s2 > 0.0 && launch_angle_rad.abs() < std::f64::consts::FRAC_PI_2) {
        return None;
    }
    let speed = x / launch_angle_rad.cos() * (g_m_s2 / (2.0 * fall)).sqrt();
    speed.is_finite().then_some(speed)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `tests/published/exact_trajectories.csv`: computed from the closed form with g = 9.80665,
    /// printed to 1e-12 m.
    #[test]
    fn every_point_of_an_exact_trajectory_gives_its_speed() {
        let text = include_str!("../../tests/published/exact_trajectories.csv");
        let mut seen = 0;
        for line in text.lines().filter(|l| !l.starts_with('#') && !l.starts_with('V')) {
            let v: Vec<f64> = line.split(',').map(|t| t.trim().parse().unwrap()).collect();
            if v[2] == 0.0 {
                assert_eq!(single_point_velocity(0.0, 0.0, v[1].to_radians(), 9.80665), None);
                continue;
            }
            let speed = single_point_velocity(v[2] * 1e3, v[3] * 1e3, v[1].to_radians(), 9.80665).unwrap();
            assert!((speed / v[0] - 1.0).abs() < 1e-9, "{line}: {speed}");
            seen += 1;
        }
        assert!(seen > 40);
    }

    #[test]
    fn a_point_that_no_jet_reaches_gives_nothing() {
        for (x, y, angle) in [
            (0.0, 1.0, 0.0),
            (-5.0, 1.0, 0.0),
            (5.0, 0.0, 0.0),
            (5.0, -1.0, 0.1),
            (5.0, 1.0, 1.6),
            (f64::NAN, 1.0, 0.0),
        ] {
            assert_eq!(single_point_velocity(x, y, angle, 9.81), None, "{x} {y} {angle}");
        }
    }
}
