//! A curve in the photo, sampled every pixel of its length, with its normals.

use crate::point::PixelPoint;

/// A curve through the photo: points one step apart along the curve, each with the unit normal.
///
/// The normal is the tangent turned by +90 degrees in pixel axes (x right, y down): it points
/// *down* where the curve runs to the right and *up* where it runs to the left.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path {
    /// The points.
    pub points: Vec<PixelPoint>,
    /// Unit normals.
    pub normals: Vec<[f64; 2]>,
    /// Distance between neighbouring points along the curve in pixels.
    pub step_px: f64,
}

impl Path {
    /// Resamples a polyline at `step_px`; fewer than two distinct points give an empty path.
    pub fn from_polyline(line: &[PixelPoint], step_px: f64) -> Self {
        let mut points = Vec::new();
        let mut due = 0.0;
        let mut gone = 0.0;
        for pair in line.windows(2) {
            let length = pair[0].distance(pair[1]);
            if length <= 0.0 || !length.is_finite() {
                continue;
            }
            while due <= gone + length {
                let t = (due - gone) / length;
                points.push(PixelPoint::new(
                    pair[0].x + t * (pair[1].x - pair[0].x),
                    pair[0].y + t * (pair[1].y - pair[0].y),
                ));
                due += step_px;
            }
            gone += length;
        }
        let mut path = Self { normals: Vec::with_capacity(points.len()), points, step_px };
        path.find_normals();
        path
    }

    /// The curve moved along its normals by `offset_px(s)`, and sampled anew.
    #[must_use]
    pub fn moved(&self, offset_px: impl Fn(f64) -> f64) -> Self {
        let line: Vec<_> =
            (0..self.len()).map(|i| self.at(i as f64 * self.step_px, offset_px(i as f64 * self.step_px))).collect();
        Self::from_polyline(&line, self.step_px)
    }

    /// Number of points.
    pub fn len(&self) -> usize {
        self.points.len()
    }

    /// Whether it has no points.
    pub fn is_empty(&self) -> bool {
        self.points.is_empty()
    }

    /// The point at `s_px` along and `n_px` across; beyond the ends the end's tangent goes on.
    pub fn at(&self, s_px: f64, n_px: f64) -> PixelPoint {
        let last = self.len().saturating_sub(1);
        let f = (s_px / self.step_px).clamp(0.0, last as f64);
        let i = (f as usize).min(last.saturating_sub(1));
        let j = (i + 1).min(last);
        let t = f - i as f64;
        let mix = |a: f64, b: f64| a + t * (b - a);
        let (p, q) = (self.points[i], self.points[j]);
        let nx = mix(self.normals[i][0], self.normals[j][0]);
        let ny = mix(self.normals[i][1], self.normals[j][1]);
        let beyond = s_px - f * self.step_px;
        PixelPoint::new(mix(p.x, q.x) + n_px * nx + beyond * ny, mix(p.y, q.y) + n_px * ny - beyond * nx)
    }

    /// Where `p` lies: along the curve and across it, in px; `None` beyond the ends and on an empty path.
    pub fn locate(&self, p: PixelPoint) -> Option<(f64, f64)> {
        let squared = |q: &PixelPoint| (q.x - p.x).powi(2) + (q.y - p.y).powi(2);
        let (i, q) = self.points.iter().enumerate().min_by(|a, b| squared(a.1).total_cmp(&squared(b.1)))?;
        let n = self.normals[i];
        let (dx, dy) = (p.x - q.x, p.y - q.y);
        let (along, across) = (dx * n[1] - dy * n[0], dx * n[0] + dy * n[1]);
        (along.abs() <= self.step_px).then_some((i as f64 * self.step_px + along, across))
    }

    fn find_normals(&mut self) {
        let n = self.points.len();
        self.normals = (0..n)
            .map(|i| {
                let a = self.points[i.saturating_sub(2)];
                let b = self.points[(i + 2).min(n - 1)];
                let length = a.distance(b);
                if length > 0.0 { [-(b.y - a.y) / length, (b.x - a.x) / length] } else { [0.0, 1.0] }
            })
            .collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_line_keeps_length_and_normal() {
        let path = Path::from_polyline(&[PixelPoint::new(0.0, 0.0), PixelPoint::new(30.0, 40.0)], 1.0);
        assert_eq!(path.len(), 51);
        assert!((path.normals[20][0] + 0.8).abs() < 1e-12 && (path.normals[20][1] - 0.6).abs() < 1e-12);
        let p = path.at(10.0, 5.0);
        assert!((p.x - (6.0 - 4.0)).abs() < 1e-9 && (p.y - (8.0 + 3.0)).abs() < 1e-9);
        let beyond = path.at(60.0, 0.0);
        assert!((beyond.x - 36.0).abs() < 1e-9 && (beyond.y - 48.0).abs() < 1e-9);
    }

    #[test]
    fn what_was_placed_is_located() {
        let line: Vec<_> = (0..200).map(|i| PixelPoint::new(f64::from(i), 0.002 * f64::from(i).powi(2))).collect();
        let path = Path::from_polyline(&line, 1.0);
        for (s, n) in [(20.0, 3.0), (77.4, -6.0), (150.7, 0.2)] {
            let (s_too, n_too) = path.locate(path.at(s, n)).unwrap();
            assert!((s - s_too).abs() < 0.06 && (n - n_too).abs() < 0.02, "({s}, {n}) located at ({s_too}, {n_too})");
        }
        assert!(path.locate(PixelPoint::new(-50.0, 0.0)).is_none());
        assert!(Path::default().locate(PixelPoint::new(0.0, 0.0)).is_none());
    }

    #[test]
    fn moved_by_a_constant_is_parallel() {
        let path = Path::from_polyline(&[PixelPoint::new(0.0, 0.0), PixelPoint::new(100.0, 0.0)], 1.0);
        assert!((path.moved(|_| 3.0).points[50].y - 3.0).abs() < 1e-9);
    }

    #[test]
    fn degenerate_lines_are_empty() {
        assert!(Path::from_polyline(&[], 1.0).is_empty());
        assert!(Path::from_polyline(&[PixelPoint::new(1.0, 1.0); 3], 1.0).is_empty());
    }
}
