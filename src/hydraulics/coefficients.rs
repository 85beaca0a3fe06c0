//! The coefficients, losses and numbers of the flow.
//!
//! Each function gives `None` where an argument that must be positive is not, so that a result
//! is always a finite number.

use super::finite;
use std::f64::consts::PI;

/// Area of a circle in m2, `pi d^2 / 4`. `None` unless d is positive.
pub fn circle_area_m2(diameter_m: f64) -> Option<f64> {
    positive([diameter_m]).map(|_| PI * diameter_m * diameter_m / 4.0)
}

/// Coefficient of velocity, `Cv = V / Vi`. Source: Unwin 1911, "Hydraulics", sec. 17.
pub fn cv(velocity_m_s: f64, ideal_velocity_m_s: f64) -> Option<f64> {
    ratio(velocity_m_s, ideal_velocity_m_s)
}

/// Velocity from one point (x along, y down) of a jet that starts level, `V = x sqrt(g / (2 y))`, m/s.
///
/// Source: Unwin 1911, "Hydraulics", sec. 18.
pub fn single_point_velocity_m_s(x_m: f64, y_m: f64, gravity_m_s2: f64) -> Option<f64> {
    positive([x_m, y_m, gravity_m_s2]).and_then(|_| finite(x_m * (gravity_m_s2 / (2.0 * y_m)).sqrt()))
}

/// Velocity from one point of a jet that starts `launch_rad` above the level, m/s:
/// `V^2 = g x^2 / (2 cos^2(launch) (y + x tan(launch)))`. `None` where the point lies on or above
/// the launch line.
pub fn single_point_velocity_inclined_m_s(x_m: f64, y_m: f64, gravity_m_s2: f64, launch_rad: f64) -> Option<f64> {
    let fall_m = y_m + x_m * launch_rad.tan();
    (launch_rad.abs() < PI / 2.0)
        .then_some(())
        .and(single_point_velocity_m_s(x_m, fall_m, gravity_m_s2))
        .and_then(|v| finite(v / launch_rad.cos()))
}

/// Coefficient of velocity from one point of a level jet, `Cv = x / (2 sqrt(y H))`: gravity cancels,
/// and so does the scale where head and point come from one photo. Source: Unwin 1911, sec. 18.
pub fn single_point_cv(x_m: f64, y_m: f64, head_m: f64) -> Option<f64> {
    positive([x_m, y_m, head_m]).and_then(|_| finite(x_m / (2.0 * (y_m * head_m).sqrt())))
}

/// Coefficient of discharge, `Cd = Q / (A Vi)`. Source: Unwin 1911, sec. 17.
pub fn cd(discharge_m3_s: f64, diameter_m: f64, ideal_velocity_m_s: f64) -> Option<f64> {
    ratio(discharge_m3_s, circle_area_m2(diameter_m)? * positive([ideal_velocity_m_s])?[0])
}

/// Coefficient of contraction from the flow, `Cc = Q / (A V)`: the head cancels, so that its
/// uncertainty must not enter. For a tube or nozzle, whose jet has no flat velocity profile, it is
/// 1/beta, the reciprocal of the momentum factor, rather than an area ratio.
pub fn cc(discharge_m3_s: f64, diameter_m: f64, velocity_m_s: f64) -> Option<f64> {
    ratio(discharge_m3_s, circle_area_m2(diameter_m)? * positive([velocity_m_s])?[0])
}

/// Coefficient of contraction from the stream's width in the photo, `Cc = (dj / d)^2`.
pub fn cc_from_width(jet_diameter_m: f64, diameter_m: f64) -> Option<f64> {
    ratio(jet_diameter_m, diameter_m).map(|r| r * r)
}

/// Diameter of the vena contracta in m from the flow, `dj = sqrt(4 Q / (pi V))`.
pub fn vena_contracta_diameter_m(discharge_m3_s: f64, velocity_m_s: f64) -> Option<f64> {
    ratio(discharge_m3_s, velocity_m_s).map(|area| (4.0 * area / PI).sqrt())
}

/// Diameter in m of a free stream a drop y below its vena contracta,
/// `dj (1 + 2 g y / V^2)^(-1/4)`: continuity and Bernoulli without surface tension. In a photo its
/// *vertical* thickness is this over the cosine of its slope. `None` above the jet's highest reach.
pub fn stream_diameter_m(jet_diameter_m: f64, velocity_m_s: f64, drop_m: f64, gravity_m_s2: f64) -> Option<f64> {
    positive([jet_diameter_m, velocity_m_s, gravity_m_s2])?;
    let growth = 1.0 + 2.0 * gravity_m_s2 * drop_m / (velocity_m_s * velocity_m_s);
    positive([growth]).and_then(|_| finite(jet_diameter_m * growth.powf(-0.25)))
}

/// Coefficient of loss (of resistance), `K = 1/Cv^2 - 1`; negative where Cv exceeds 1.
/// Source: Unwin 1911, sec. 17 (there c_r).
pub fn loss_coefficient(cv: f64) -> Option<f64> {
    positive([cv]).and_then(|_| finite(1.0 / (cv * cv) - 1.0))
}

/// Head lost in m, `hL = H (1 - Cv^2)`. Source: Unwin 1911, sec. 17.
pub fn head_lost_m(head_m: f64, cv: f64) -> Option<f64> {
    positive([head_m, cv]).and_then(|_| finite(head_m * (1.0 - cv * cv)))
}

/// Power of the jet in W, `P = rho Q V^2 / 2`.
pub fn jet_power_w(density_kg_m3: f64, discharge_m3_s: f64, velocity_m_s: f64) -> Option<f64> {
    positive([density_kg_m3, discharge_m3_s, velocity_m_s])
        .and_then(|_| finite(0.5 * density_kg_m3 * discharge_m3_s * velocity_m_s * velocity_m_s))
}

/// Efficiency of the orifice as a nozzle: jet power over supplied power, `Cv^2`.
pub fn efficiency(cv: f64) -> Option<f64> {
    positive([cv]).and_then(|_| finite(cv * cv))
}

/// Reynolds number `rho V L / mu` with the length L in m (orifice or jet diameter).
pub fn reynolds(velocity_m_s: f64, length_m: f64, density_kg_m3: f64, viscosity_pa_s: f64) -> Option<f64> {
    positive([velocity_m_s, length_m, density_kg_m3])
        .and_then(|_| ratio(density_kg_m3 * velocity_m_s * length_m, viscosity_pa_s))
}

/// Weber number `rho V^2 L / sigma` with the length L in m (for a jet its diameter).
pub fn weber(velocity_m_s: f64, length_m: f64, density_kg_m3: f64, surface_tension_n_m: f64) -> Option<f64> {
    positive([velocity_m_s, length_m, density_kg_m3])
        .and_then(|_| ratio(density_kg_m3 * velocity_m_s * velocity_m_s * length_m, surface_tension_n_m))
}

/// Froude number `V / sqrt(g L)` with the length L in m (for a jet its diameter).
pub fn froude(velocity_m_s: f64, length_m: f64, gravity_m_s2: f64) -> Option<f64> {
    positive([length_m, gravity_m_s2]).and_then(|_| ratio(velocity_m_s, (gravity_m_s2 * length_m).sqrt()))
}

/// Head over orifice diameter, H/d.
pub fn head_to_diameter(head_m: f64, diameter_m: f64) -> Option<f64> {
    ratio(head_m, diameter_m)
}

fn positive<const N: usize>(values: [f64; N]) -> Option<[f64; N]> {
    values.iter().all(|v| v.is_finite() && *v > 0.0).then_some(values)
}

fn ratio(over: f64, under: f64) -> Option<f64> {
    positive([over, under]).and_then(|_| finite(over / under))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_from_nothing() {
        assert_eq!(cv(2.0, 0.0), None);
        assert_eq!(cd(1e-4, -0.01, 2.0), None);
        assert_eq!(cc(f64::NAN, 0.01, 2.0), None);
        assert_eq!(single_point_cv(0.3, 0.0, 0.4), None);
        assert_eq!(stream_diameter_m(0.01, 1.0, -1.0, 9.81), None);
        assert_eq!(single_point_velocity_inclined_m_s(0.3, -0.1, 9.81, 0.1), None);
    }

    #[test]
    fn an_inclined_jet_gives_its_speed_back() {
        let (v, launch, g): (f64, f64, f64) = (2.0, 5f64.to_radians(), 9.80665);
        let x = 0.4;
        let y = -x * launch.tan() + g * x * x / (2.0 * (v * launch.cos()).powi(2));
        assert!((single_point_velocity_inclined_m_s(x, y, g, launch).unwrap() - v).abs() < 1e-14);
    }

    proptest::proptest! {
        /// Cc = Q/(A V): whatever the head, Cd/Cv gives the same, so its uncertainty cannot enter.
        #[test]
        fn contraction_does_not_depend_on_head(
            q in 1e-6..1e-2f64, d in 1e-3..0.1f64, v in 0.2..20.0f64, h1 in 0.01..20.0f64, h2 in 0.01..20.0f64,
        ) {
            let direct = cc(q, d, v).unwrap();
            for h in [h1, h2] {
                let ideal = crate::hydraulics::head::ideal_velocity_m_s(9.81, h).unwrap();
                let by_way_of_head = cd(q, d, ideal).unwrap() / cv(v, ideal).unwrap();
                proptest::prop_assert!((by_way_of_head / direct - 1.0).abs() < 1e-13);
            }
        }

        /// Cv from one point is the same under any gravity, and in any unit of length.
        #[test]
        fn single_point_cv_does_not_depend_on_gravity_or_scale(
            x in 0.01..5.0f64, y in 0.01..5.0f64, h in 0.01..20.0f64, g in 0.5..30.0f64, scale in 0.1..1000.0f64,
        ) {
            let want = single_point_cv(x, y, h).unwrap();
            let v = single_point_velocity_m_s(x, y, g).unwrap();
            let ideal = crate::hydraulics::head::ideal_velocity_m_s(g, h).unwrap();
            proptest::prop_assert!((cv(v, ideal).unwrap() / want - 1.0).abs() < 1e-13);
            let scaled = single_point_cv(x * scale, y * scale, h * scale).unwrap();
            proptest::prop_assert!((scaled / want - 1.0).abs() < 1e-13);
        }
    }
}
