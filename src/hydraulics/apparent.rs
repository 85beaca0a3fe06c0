//! What velocity a trajectory seems to show when the jet did not follow the plain parabola.
//!
//! Second-order effects (surface tension, drag) bend the path a little; how much of that lands in
//! the velocity depends on how the velocity is read from the path.

use super::finite;
use nalgebra::{Matrix3, Vector3};

/// How a velocity is read from a trajectory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Estimator {
    /// The last point alone: `V = x sqrt(g / (2 y))`.
    SinglePoint,
    /// `y = a x^2`: level launch at a known origin.
    Level,
    /// `y = c + a x^2`: level launch with a free vertical offset.
    LevelAndOffset,
    /// `y = b x + a x^2`: free launch angle at a known origin.
    FreeLaunch,
    /// `y = c + b x + a x^2`: free launch angle and free vertical offset.
    FreeLaunchAndOffset,
}

/// What an estimator reads from a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apparent {
    /// Speed at x = 0 in m/s, `sqrt(g (1 + b^2) / (2 a))`.
    pub velocity_m_s: f64,
    /// Launch angle at x = 0 in rad, upwards positive, `-atan(b)`; 0 where it was not fitted.
    pub launch_rad: f64,
}

/// What `estimator` reads from points (x along, y down, in m) by ordinary least squares.
///
/// `None` with fewer points than parameters, or where the path does not bend down.
pub fn read_path(points_m: &[(f64, f64)], gravity_m_s2: f64, estimator: Estimator) -> Option<Apparent> {
    let &(x_last, y_last) = points_m.last()?;
    let (b, a) = match estimator {
        Estimator::SinglePoint => (0.0, y_last / (x_last * x_last)),
        Estimator::Level => fit(points_m, [false, false])?,
        Estimator::LevelAndOffset => fit(points_m, [true, false])?,
        Estimator::FreeLaunch => fit(points_m, [false, true])?,
        Estimator::FreeLaunchAndOffset => fit(points_m, [true, true])?,
    };
    let velocity_m_s = finite((gravity_m_s2 * (1.0 + b * b) / (2.0 * a)).sqrt())?;
    (velocity_m_s > 0.0).then_some(Apparent { velocity_m_s, launch_rad: -b.atan() })
}

/// Slope and curvature (b, a) of `y = c + b x + a x^2`; c and b are held at 0 unless `free`.
fn fit(points_m: &[(f64, f64)], free: [bool; 2]) -> Option<(f64, f64)> {
    let parameters = 1 + usize::from(free[0]) + usize::from(free[1]);
    let reach = points_m.iter().map(|p| p.0.abs()).fold(0.0, f64::max);
    if points_m.len() < parameters || reach <= 0.0 {
        return None;
    }
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for &(x, y) in points_m {
        let u = x / reach;
        let row = Vector3::new(f64::from(u8::from(free[0])), if free[1] { u } else { 0.0 }, u * u);
        normal += row * row.transpose();
        right += row * y;
    }
    for i in 0..2 {
        if !free[i] {
            normal[(i, i)] = 1.0; // the parameter stays 0
        }
    }
    let solved = normal.cholesky()?.solve(&right);
    Some((solved[1] / reach, solved[2] / (reach * reach)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_estimator_reads_a_true_parabola() {
        let (g, v): (f64, f64) = (9.81, 2.5);
        let level: Vec<_> = (0..20).map(|i| f64::from(i) * 0.02).map(|x| (x, g * x * x / (2.0 * v * v))).collect();
        for estimator in
            [Estimator::SinglePoint, Estimator::Level, Estimator::FreeLaunch, Estimator::FreeLaunchAndOffset]
        {
            let read = read_path(&level, g, estimator).unwrap();
            assert!((read.velocity_m_s / v - 1.0).abs() < 1e-12 && read.launch_rad.abs() < 1e-12, "{estimator:?}");
        }
        let launch = 4f64.to_radians();
        let up: Vec<_> = level
            .iter()
            .map(|&(x, _)| (x, 0.003 - x * launch.tan() + g * x * x / (2.0 * (v * launch.cos()).powi(2))))
            .collect();
        let read = read_path(&up, g, Estimator::FreeLaunchAndOffset).unwrap();
        assert!((read.velocity_m_s / v - 1.0).abs() < 1e-11 && (read.launch_rad - launch).abs() < 1e-11);
    }

    #[test]
    fn too_few_points_or_an_upward_bend_give_nothing() {
        assert_eq!(read_path(&[], 9.81, Estimator::SinglePoint), None);
        assert_eq!(read_path(&[(0.1, 0.1), (0.2, 0.3)], 9.81, Estimator::FreeLaunchAndOffset), None);
        assert_eq!(read_path(&[(0.1, -0.1)], 9.81, Estimator::SinglePoint), None);
        assert_eq!(read_path(&[(0.0, 0.1)], 9.81, Estimator::SinglePoint), None);
    }
}
