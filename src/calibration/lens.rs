//! Radial distortion of the lens.
//!
//! The formula goes from the picture that an ideal pinhole would give to the photo as taken:
//!
//! ```text
//! photo = centre + (ideal - centre) (1 + k1 r^2 + k2 r^4)
//! ```
//! with r the *ideal* radius in units of `unit_px`, half the photo's diagonal. Negative k1
//! pulls corners inwards: barrel. This is the radial part of the model of Brown (1966) and
//! Conrady (1919) as vision software writes it; with r in focal lengths instead, its
//! coefficient is k1 (f / half-diagonal)^2. The inverse has no closed form and is found by
//! Newton's method from the first terms of the reverted series.

use crate::point::PixelPoint;

/// Radial distortion about a centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Radial {
    /// Centre of the distortion in the photo.
    pub centre: PixelPoint,
    /// The radius that counts as 1: half the photo's diagonal, in pixels.
    pub unit_px: f64,
    /// Coefficient of r^2.
    pub k1: f64,
    /// Coefficient of r^4.
    pub k2: f64,
}

/// Newton steps allowed. From the series two or three suffice to rounding for |k1| <= 0.1 within the photo.
const MOST_STEPS: usize = 12;

impl Radial {
    /// d(photo radius) / d(ideal radius) at squared ideal radius `s`, radii in units.
    fn slope(&self, s: f64) -> f64 {
        1.0 + s * (3.0 * self.k1 + 5.0 * self.k2 * s)
    }

    /// Stretch of the radius at squared ideal radius `s`.
    fn stretch(&self, s: f64) -> f64 {
        1.0 + s * (self.k1 + self.k2 * s)
    }

    /// The photo's point for `ideal`, in pixels from the centre both; `None` beyond the radius where the
    /// model folds back on itself (its slope is no longer positive).
    pub fn photo_from_ideal(&self, ideal: [f64; 2]) -> Option<[f64; 2]> {
        let s = (ideal[0] * ideal[0] + ideal[1] * ideal[1]) / (self.unit_px * self.unit_px);
        // Barrel folds at one radius; a test of the slope here and at half that radius finds it for the
        // sizes of k2 that lenses have.
        if !(self.slope(s) > 0.0 && self.slope(0.5 * s) > 0.0) {
            return None;
        }
        let stretch = self.stretch(s);
        Some([ideal[0] * stretch, ideal[1] * stretch])
    }

    /// The ideal point for the photo's, in pixels from the centre both: the inverse of
    /// [`photo_from_ideal`](Self::photo_from_ideal). `None` where no ideal point maps there.
    pub fn ideal_from_photo(&self, photo: [f64; 2]) -> Option<[f64; 2]> {
        if self.k1 == 0.0 && self.k2 == 0.0 {
            return Some(photo);
        }
        let s_photo = (photo[0] * photo[0] + photo[1] * photo[1]) / (self.unit_px * self.unit_px);
        // With q = r_ideal / r_photo: q (1 + k1 q^2 s + k2 q^4 s^2) = 1.
        let (a, b) = (self.k1 * s_photo, self.k2 * s_photo * s_photo);
        let mut q = 1.0 - a * (1.0 - a * (3.0 - 12.0 * a)) - b * (1.0 - 8.0 * a);
        for _ in 0..MOST_STEPS {
            let q2 = q * q;
            let slope = 1.0 + q2 * (3.0 * a + 5.0 * b * q2);
            if slope <= 0.0 {
                return None;
            }
            let step = (q * (1.0 + q2 * (a + b * q2)) - 1.0) / slope;
            q -= step;
            // Newton squares the error: what is left is some |3 a| step^2, below rounding.
            if step.abs() < 1e-8 {
                return (q > 0.0).then(|| [photo[0] * q, photo[1] * q]);
            }
        }
        None
    }

    /// d(ideal) / d(photo) at an ideal point, in pixels from the centre: the inverse of
    /// `stretch I + (stretch' / r) p p^T`, rows first.
    pub fn ideal_by_photo(&self, ideal: [f64; 2]) -> [[f64; 2]; 2] {
        let unit2 = self.unit_px * self.unit_px;
        let s = (ideal[0] * ideal[0] + ideal[1] * ideal[1]) / unit2;
        let stretch = self.stretch(s);
        let grow = 2.0 * (self.k1 + 2.0 * self.k2 * s) / unit2;
        let [x, y] = ideal;
        let (a, b, d) = (stretch + grow * x * x, grow * x * y, stretch + grow * y * y);
        let det = a * d - b * b;
        [[d / det, -b / det], [-b / det, a / det]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lens(k1: f64, k2: f64) -> Radial {
        Radial { centre: PixelPoint::new(2000.0, 1500.0), unit_px: 2500.0, k1, k2 }
    }

    #[test]
    fn barrel_pulls_the_corner_in_by_k1() {
        let corner = lens(-0.03, 0.0).photo_from_ideal([2000.0, 1500.0]).unwrap();
        assert!((corner[0] - 2000.0 * 0.97).abs() < 1e-9 && (corner[1] - 1500.0 * 0.97).abs() < 1e-9);
    }

    #[test]
    fn a_point_beyond_the_fold_has_no_image() {
        let barrel = lens(-0.1, 0.0); // folds at r = sqrt(1/0.3) = 1.83 and never shows more than 1.217
        assert_eq!(barrel.photo_from_ideal([2500.0 * 1.9, 0.0]), None);
        assert_eq!(barrel.ideal_from_photo([2500.0 * 1.3, 0.0]), None);
    }

    /// The radial part of the Brown-Conrady points recomputed with OpenCV 4: the printed points less their
    /// tangential part, which is an explicit sum (2 p1 x y + p2 (r^2 + 2 x^2), and the like).
    #[test]
    fn radial_part_agrees_with_opencv() {
        let file = include_str!("../../tests/published/opencv_reference.json");
        let file: serde_json::Value = serde_json::from_str(file).unwrap();
        let points = |key: &str| -> Vec<[f64; 2]> { serde_json::from_value(file["brown"][key].clone()).unwrap() };
        let d: [f64; 5] = serde_json::from_value(file["brown"]["D_k1_k2_p1_p2_k3"].clone()).unwrap();
        // With one focal length as the unit of our radii, the coefficients are theirs.
        let f = 2800.0;
        let lens = Radial { centre: PixelPoint::new(2000.0, 1500.0), unit_px: f, k1: d[0], k2: d[1] };
        for ([x, y], [px, py]) in points("normalised").into_iter().zip(points("distorted_px")) {
            let (p1, p2, r2) = (d[2], d[3], x * x + y * y);
            let tangential = [2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x), p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y];
            let photo = lens.photo_from_ideal([f * x, f * y]).unwrap();
            assert!((photo[0] + f * tangential[0] + 2000.0 - px).abs() < 1e-9);
            assert!((photo[1] + f * tangential[1] + 1500.0 - py).abs() < 1e-9);
            let back = lens.ideal_from_photo(photo).unwrap();
            assert!((back[0] - f * x).abs() < 1e-8 && (back[1] - f * y).abs() < 1e-8);
        }
    }

    proptest! {
        #[test]
        fn there_and_back(x in -2600.0..2600.0f64, y in -2000.0..2000.0f64, k1 in -0.08..0.08f64, k2 in -0.01..0.01f64) {
            let lens = lens(k1, k2);
            let photo = lens.photo_from_ideal([x, y]).unwrap();
            let back = lens.ideal_from_photo(photo).unwrap();
            prop_assert!((back[0] - x).abs() < 1e-8 && (back[1] - y).abs() < 1e-8);
        }

        #[test]
        fn derivative_agrees_with_differences(x in -2000.0..2000.0f64, y in -1500.0..1500.0f64, k1 in -0.08..0.08f64) {
            let lens = lens(k1, 0.004);
            let photo = lens.photo_from_ideal([x, y]).unwrap();
            let by = lens.ideal_by_photo([x, y]);
            for axis in 0..2 {
                let (mut up, mut down) = (photo, photo);
                up[axis] += 0.01;
                down[axis] -= 0.01;
                let (up, down) = (lens.ideal_from_photo(up).unwrap(), lens.ideal_from_photo(down).unwrap());
                for (row, slopes) in by.iter().enumerate() {
                    prop_assert!((slopes[axis] - (up[row] - down[row]) / 0.02).abs() < 1e-7);
                }
            }
        }
    }
}
