//! The camera before the jet's plane, and the transforms that follow from it.
//!
//! ```text
//!  bench axes: x along the jet, y down, z away from the camera; origin at the orifice
//!  camera axes: X right, Y down, Z forward
//!  camera point = R (s x, y, z) + T      s = +1 for a jet to the right, -1 to the left
//!  R = Rz(roll) Rx(pitch) Ry(yaw)
//!  ideal picture = centre + f (X/Z, Y/Z)     photo = lens(ideal picture)
//! ```
//! T follows from where the orifice is seen and from the scale there: its depth is
//! f / (scale at the orifice).

use super::Direction;
use super::lens::Radial;
use crate::point::{BenchPoint, PixelPoint};
use nalgebra::{Matrix3, Rotation3, Vector3};

/// What one camera before one plane is, in numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Where the orifice's centre is in the photo.
    pub orifice: PixelPoint,
    /// Pixels per millimetre at the orifice's depth, square to the axis, in the ideal picture.
    pub scale_px_mm: f64,
    /// Turn of the camera about its axis: positive when the bench's horizontal falls to the right in the photo.
    pub roll_rad: f64,
    /// Turn of the plane about the vertical: positive when its right side is nearer.
    pub yaw_rad: f64,
    /// Turn about the horizontal: positive when the plane's lower side is farther.
    pub pitch_rad: f64,
    /// Focal length in pixels.
    pub focal_px: f64,
    /// The lens, and the point of the photo where the optical axis meets it.
    pub lens: Radial,
    /// Which way the jet runs.
    pub direction: Direction,
}

/// A [`Pose`] worked out into its transforms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    pose: Pose,
    rotation: Matrix3<f64>,
    orifice_mm: Vector3<f64>,
    ideal_from_bench: Matrix3<f64>,
    bench_from_ideal: Matrix3<f64>,
}

impl View {
    /// The transforms of `pose`; `None` where the orifice is outside what the lens can show or the camera
    /// looks along the plane.
    pub fn new(pose: Pose) -> Option<Self> {
        let seen = [pose.orifice.x - pose.lens.centre.x, pose.orifice.y - pose.lens.centre.y];
        let [qx, qy] = pose.lens.ideal_from_photo(seen)?;
        let (f, depth) = (pose.focal_px, pose.focal_px / pose.scale_px_mm);
        let rotation = *(Rotation3::from_axis_angle(&Vector3::z_axis(), pose.roll_rad)
            * Rotation3::from_axis_angle(&Vector3::x_axis(), pose.pitch_rad)
            * Rotation3::from_axis_angle(&Vector3::y_axis(), pose.yaw_rad))
        .matrix();
        let orifice_mm = Vector3::new(qx / f, qy / f, 1.0) * depth;
        let project = Matrix3::from_diagonal(&Vector3::new(f, f, 1.0)) / depth;
        let along = rotation.column(0) * pose.direction.sign();
        let ideal_from_bench = project * Matrix3::from_columns(&[along, rotation.column(1).into(), orifice_mm]);
        let bench_from_ideal = ideal_from_bench.try_inverse()?;
        bench_from_ideal.iter().all(|v| v.is_finite()).then_some(Self {
            pose,
            rotation,
            orifice_mm,
            ideal_from_bench,
            bench_from_ideal,
        })
    }

    /// The numbers behind it.
    pub fn pose(&self) -> &Pose {
        &self.pose
    }

    /// Distance of the camera to the jet's plane in millimetres, square to the plane.
    pub fn distance_mm(&self) -> f64 {
        self.rotation.column(2).dot(&self.orifice_mm)
    }

    /// The point of the jet's plane that `pixel` shows; `None` beyond the plane's horizon, or where the lens
    /// shows nothing.
    pub fn bench_from_pixel(&self, pixel: PixelPoint) -> Option<BenchPoint> {
        self.bench_from_ideal(self.ideal_from_pixel(pixel)?).map(|(point, _)| point)
    }

    /// The bench point at an ideal one, and the orifice's depth over its own: 0 on the horizon, negative beyond it.
    fn bench_from_ideal(&self, [qx, qy]: [f64; 2]) -> Option<(BenchPoint, f64)> {
        let h = &self.bench_from_ideal;
        let w = h[(2, 0)] * qx + h[(2, 1)] * qy + h[(2, 2)];
        if w < HORIZON {
            return None;
        }
        let over = 1.0 / w;
        let x_mm = (h[(0, 0)] * qx + h[(0, 1)] * qy + h[(0, 2)]) * over;
        let y_mm = (h[(1, 0)] * qx + h[(1, 1)] * qy + h[(1, 2)]) * over;
        Some((BenchPoint { x_mm, y_mm }, w))
    }

    /// Where the photo shows `point` of the jet's plane; `None` behind the camera, or where the lens model ends.
    pub fn pixel_from_bench(&self, point: BenchPoint) -> Option<PixelPoint> {
        self.pixel_from_space(point, 0.0)
    }

    /// Where the photo shows the point `behind_mm` behind `point` of the jet's plane.
    pub fn pixel_from_space(&self, point: BenchPoint, behind_mm: f64) -> Option<PixelPoint> {
        let h = &self.ideal_from_bench;
        let (x, y) = (point.x_mm, point.y_mm);
        let (f, depth) = (self.pose.focal_px, self.pose.focal_px / self.pose.scale_px_mm);
        let back = self.rotation.column(2) * (behind_mm / depth);
        let w = h[(2, 0)] * x + h[(2, 1)] * y + h[(2, 2)] + back[2];
        if w < HORIZON {
            return None;
        }
        let ideal = [
            (h[(0, 0)] * x + h[(0, 1)] * y + h[(0, 2)] + f * back[0]) / w,
            (h[(1, 0)] * x + h[(1, 1)] * y + h[(1, 2)] + f * back[1]) / w,
        ];
        self.pixel_from_ideal(ideal)
    }

    /// The photo's point for an ideal one, in pixels from the centre.
    pub(super) fn pixel_from_ideal(&self, ideal: [f64; 2]) -> Option<PixelPoint> {
        let lens = &self.pose.lens;
        let [x, y] = lens.photo_from_ideal(ideal)?;
        Some(PixelPoint::new(lens.centre.x + x, lens.centre.y + y))
    }

    /// The ideal point, in pixels from the centre, of a pixel.
    pub(super) fn ideal_from_pixel(&self, pixel: PixelPoint) -> Option<[f64; 2]> {
        let lens = &self.pose.lens;
        lens.ideal_from_photo([pixel.x - lens.centre.x, pixel.y - lens.centre.y])
    }

    /// The direction, in the ideal picture at `ideal`, in which a line parallel to the bench axis `axis`
    /// (0: x to the right, 1: y down) runs: towards that axis' vanishing point. Independent of the line's depth.
    pub(super) fn direction_at(&self, ideal: [f64; 2], axis: usize) -> [f64; 2] {
        let r = self.rotation.column(axis);
        let f = self.pose.focal_px;
        [f * r[0] - ideal[0] * r[2], f * r[1] - ideal[1] * r[2]]
    }

    /// d(bench mm) / d(pixel) at `pixel`: rows are bench x and y, columns pixel x and y. All zero where
    /// [`bench_from_pixel`](Self::bench_from_pixel) is `None`.
    pub fn jacobian(&self, pixel: PixelPoint) -> [[f64; 2]; 2] {
        let mut out = [[0.0; 2]; 2];
        let Some(ideal) = self.ideal_from_pixel(pixel) else { return out };
        let Some((point, w)) = self.bench_from_ideal(ideal) else { return out };
        let h = &self.bench_from_ideal;
        let plane = |row: usize, bench: f64, col: usize| (h[(row, col)] - bench * h[(2, col)]) / w;
        let lens = self.pose.lens.ideal_by_photo(ideal);
        for (row, bench) in [point.x_mm, point.y_mm].into_iter().enumerate() {
            for (col, slope) in out[row].iter_mut().enumerate() {
                *slope = plane(row, bench, 0) * lens[0][col] + plane(row, bench, 1) * lens[1][col];
            }
        }
        out
    }

    /// Pixels per millimetre at the orifice: the square root of the ratio of areas there.
    pub fn px_per_mm(&self) -> f64 {
        let j = self.jacobian(self.pose.orifice);
        (j[0][0] * j[1][1] - j[0][1] * j[1][0]).abs().sqrt().recip()
    }
}

/// Least ratio of the orifice's depth to a point's depth that counts as this side of the horizon: a point a
/// million times farther than the orifice is on no bench.
const HORIZON: f64 = 1e-6;

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A camera some degrees askew with a barrel lens, as bench photos have them.
    pub(in crate::calibration) fn askew(direction: Direction) -> View {
        let lens = Radial { centre: PixelPoint::new(2000.0, 1500.0), unit_px: 2500.0, k1: -0.03, k2: 0.0 };
        View::new(Pose {
            orifice: PixelPoint::new(700.0, 800.0),
            scale_px_mm: 3.0,
            roll_rad: 0.02,
            yaw_rad: 0.06,
            pitch_rad: -0.05,
            focal_px: 3100.0,
            lens,
            direction,
        })
        .unwrap()
    }

    proptest! {
        #[test]
        fn there_and_back(x in 0.0..4000.0f64, y in 0.0..3000.0f64, left in any::<bool>()) {
            let view = askew(if left { Direction::Left } else { Direction::Right });
            let pixel = PixelPoint::new(x, y);
            let bench = view.bench_from_pixel(pixel).unwrap();
            prop_assert!(view.pixel_from_bench(bench).unwrap().distance(pixel) < 1e-8);
        }

        #[test]
        fn jacobian_agrees_with_differences(x in 0.0..4000.0f64, y in 0.0..3000.0f64) {
            let view = askew(Direction::Right);
            let j = view.jacobian(PixelPoint::new(x, y));
            let h = 0.05;
            for (col, (dx, dy)) in [(h, 0.0), (0.0, h)].into_iter().enumerate() {
                let up = view.bench_from_pixel(PixelPoint::new(x + dx, y + dy)).unwrap();
                let down = view.bench_from_pixel(PixelPoint::new(x - dx, y - dy)).unwrap();
                prop_assert!((j[0][col] - (up.x_mm - down.x_mm) / (2.0 * h)).abs() < 1e-8);
                prop_assert!((j[1][col] - (up.y_mm - down.y_mm) / (2.0 * h)).abs() < 1e-8);
            }
        }
    }

    #[test]
    fn the_orifice_is_the_origin() {
        let view = askew(Direction::Left);
        let bench = view.bench_from_pixel(view.pose().orifice).unwrap();
        assert!(bench.distance(BenchPoint::default()) < 1e-9);
        assert!(view.pixel_from_bench(BenchPoint::new(100.0, 0.0)).unwrap().x < view.pose().orifice.x);
    }

    #[test]
    fn beyond_the_horizon_there_is_nothing() {
        let pose = Pose { yaw_rad: 1.3, ..*askew(Direction::Right).pose() };
        let view = View::new(pose).unwrap();
        let seen: Vec<bool> =
            (0..41).map(|i| view.bench_from_pixel(PixelPoint::new(100.0 * f64::from(i), 1500.0)).is_some()).collect();
        assert!(seen.contains(&true) && seen.contains(&false));
    }

    #[test]
    fn depth_moves_a_point_towards_the_axis() {
        let square = Pose {
            roll_rad: 0.0,
            yaw_rad: 0.0,
            pitch_rad: 0.0,
            lens: Radial { k1: 0.0, ..askew(Direction::Right).pose().lens },
            ..*askew(Direction::Right).pose()
        };
        let view = View::new(square).unwrap();
        let distance = view.distance_mm();
        assert!((distance - 3100.0 / 3.0).abs() < 1e-9);
        let near = view.pixel_from_bench(BenchPoint::new(900.0, 100.0)).unwrap();
        let far = view.pixel_from_space(BenchPoint::new(900.0, 100.0), 40.0).unwrap();
        let shrink = distance / (distance + 40.0);
        assert!((far.x - 2000.0 - (near.x - 2000.0) * shrink).abs() < 1e-9);
        assert!((far.y - 1500.0 - (near.y - 1500.0) * shrink).abs() < 1e-9);
    }
}
