//! The homography of a plane from four or more of its points: the normalised direct linear
//! transform, the start of the adjustment where plane marks are given.
//!
//! Source: R. I. Hartley, "In defense of the eight-point algorithm", IEEE Trans. Pattern
//! Analysis and Machine Intelligence 19 (1997) 580-593, for the normalisation.

use nalgebra::{DMatrix, Matrix3, Vector3};

/// The matrix H that takes plane points to picture points, (u w, v w, w) = H (x, y, 1), scaled so that
/// its last element is 1 where that is possible and with w positive at the first point.
///
/// Exact for four points, least algebraic error for more. `None` for fewer than four pairs, or where the
/// points do not fix it: all but one on one line, or two of four the same.
pub fn picture_from_plane(pairs: &[([f64; 2], [f64; 2])]) -> Option<Matrix3<f64>> {
    if pairs.len() < 4 {
        return None;
    }
    let from_plane = normalisation(pairs.iter().map(|p| p.0))?;
    let from_picture = normalisation(pairs.iter().map(|p| p.1))?;
    // A row of zeros is added so that four points (eight rows) still give the ninth right singular vector.
    let mut a = DMatrix::zeros(2 * pairs.len() + 1, 9);
    for (i, (plane, picture)) in pairs.iter().enumerate() {
        let p = from_plane * Vector3::new(plane[0], plane[1], 1.0);
        let q = from_picture * Vector3::new(picture[0], picture[1], 1.0);
        for k in 0..3 {
            a[(2 * i, k)] = p[k];
            a[(2 * i, 6 + k)] = -q[0] * p[k];
            a[(2 * i + 1, 3 + k)] = p[k];
            a[(2 * i + 1, 6 + k)] = -q[1] * p[k];
        }
    }
    let svd = a.svd(false, true);
    let right = svd.v_t?;
    let values = &svd.singular_values;
    let mut order: Vec<usize> = (0..9).collect();
    order.sort_by(|&i, &j| values[j].total_cmp(&values[i]));
    // Two vanishing singular values: a whole family of homographies fits.
    if values[order[7]] < 1e-6 * values[order[0]] {
        return None;
    }
    let h = Matrix3::from_row_iterator(right.row(order[8]).iter().copied());
    let mut h = from_picture.try_inverse()? * h * from_plane;
    let first = h * Vector3::new(pairs[0].0[0], pairs[0].0[1], 1.0);
    h /= if h[(2, 2)].abs() > 1e-12 * h.norm() { h[(2, 2)] } else { first[2] };
    let first = h * Vector3::new(pairs[0].0[0], pairs[0].0[1], 1.0);
    if first[2] < 0.0 {
        h = -h;
    }
    h.iter().all(|v| v.is_finite()).then_some(h)
}

/// The similarity that puts the points' centroid at the origin and their mean distance at sqrt 2.
fn normalisation(points: impl Iterator<Item = [f64; 2]> + Clone) -> Option<Matrix3<f64>> {
    let n = points.clone().count() as f64;
    let (sx, sy) = points.clone().fold((0.0, 0.0), |(x, y), p| (x + p[0], y + p[1]));
    let (cx, cy) = (sx / n, sy / n);
    let mean = points.map(|p| (p[0] - cx).hypot(p[1] - cy)).sum::<f64>() / n;
    let k = std::f64::consts::SQRT_2 / mean;
    k.is_finite().then(|| Matrix3::new(k, 0.0, -k * cx, 0.0, k, -k * cy, 0.0, 0.0, 1.0))
}

/// How far the points are from lying on one line: the smaller principal spread over the larger, 0 for a
/// line, 1 for a round cloud; 0 for coincident points.
pub fn roundness(points: &[[f64; 2]]) -> f64 {
    let n = points.len() as f64;
    let cx = points.iter().map(|p| p[0]).sum::<f64>() / n;
    let cy = points.iter().map(|p| p[1]).sum::<f64>() / n;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (x, y) = (p[0] - cx, p[1] - cy);
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    let half = 0.5 * (xx + yy);
    let apart = (0.5 * (xx - yy)).hypot(xy);
    if half + apart <= 0.0 { 0.0 } else { ((half - apart).max(0.0) / (half + apart)).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_line_are_refused() {
        let pairs: Vec<_> = (0..6).map(|i| ([f64::from(i), 0.0], [100.0 * f64::from(i), 5.0])).collect();
        assert!(picture_from_plane(&pairs).is_none());
        assert!(roundness(&[[0.0, 0.0], [1.0, 1.0], [5.0, 5.0]]) < 1e-9);
        assert!((roundness(&[[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]]) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn three_of_four_on_a_line_are_refused() {
        let pairs =
            [([0.0, 0.0], [0.0, 0.0]), ([1.0, 0.0], [10.0, 0.0]), ([2.0, 0.0], [20.0, 0.0]), ([0.0, 1.0], [0.0, 9.0])];
        assert!(picture_from_plane(&pairs).is_none());
    }

    #[test]
    fn agrees_with_opencv() {
        // recomputed with OpenCV 4; method of Hartley, IEEE Trans. PAMI 19 (1997) 580
        let file = include_str!("../../tests/published/opencv_reference.json");
        let file: serde_json::Value = serde_json::from_str(file).unwrap();
        let points = |key: &str| -> Vec<[f64; 2]> { serde_json::from_value(file["homography"][key].clone()).unwrap() };
        let pairs: Vec<_> = points("src_mm").into_iter().zip(points("dst_px")).collect();
        let h = picture_from_plane(&pairs).unwrap();
        let expected: [[f64; 3]; 3] = serde_json::from_value(file["homography"]["H"].clone()).unwrap();
        for (i, row) in expected.iter().enumerate() {
            for (k, value) in row.iter().enumerate() {
                assert!((h[(i, k)] - value).abs() < 1e-11 * value.abs().max(1e-2), "H[{i}][{k}] {} {value}", h[(i, k)]);
            }
        }
        for (mm, px) in points("test_points_mm").into_iter().zip(points("test_points_px")) {
            let q = h * Vector3::new(mm[0], mm[1], 1.0);
            assert!((q[0] / q[2] - px[0]).abs() < 1e-9 && (q[1] / q[2] - px[1]).abs() < 1e-9);
        }
    }

    #[test]
    fn exact_for_four_points_and_for_more() {
        let truth = Matrix3::new(3.2, -0.13, 103.0, 0.14, 3.8, 57.0, -4.1e-4, 2.1e-4, 1.0);
        let image = |p: [f64; 2]| {
            let q = truth * Vector3::new(p[0], p[1], 1.0);
            (p, [q[0] / q[2], q[1] / q[2]])
        };
        let points = [[0.0, 0.0], [200.0, 0.0], [200.0, 100.0], [0.0, 100.0], [77.0, 31.0], [150.0, 90.0]];
        for n in 4..=6 {
            let pairs: Vec<_> = points[..n].iter().copied().map(image).collect();
            assert!((picture_from_plane(&pairs).unwrap() - truth).norm() < 1e-8 * truth.norm(), "{n} points");
        }
    }
}
