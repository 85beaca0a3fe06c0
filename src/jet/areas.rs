//! Where to look: the kept-in and left-out areas of the sheet.

use crate::point::PixelPoint;

/// The areas of a sheet's `[stream]` section.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Areas {
    look_in: Vec<PixelPoint>,
    leave_out: Vec<Vec<PixelPoint>>,
}

impl Areas {
    /// `look_in`: the only polygon to look in, or empty for everywhere; `leave_out`: polygons to pass over.
    pub fn new(look_in: &[PixelPoint], leave_out: &[Vec<PixelPoint>]) -> Self {
        Self { look_in: look_in.to_vec(), leave_out: leave_out.to_vec() }
    }

    /// Whether a stream may be looked for at `p`.
    pub fn admits(&self, p: PixelPoint) -> bool {
        (self.look_in.is_empty() || inside(&self.look_in, p)) && !self.leave_out.iter().any(|area| inside(area, p))
    }

    /// The same areas with each corner carried elsewhere: into another photo of the same bench.
    #[must_use]
    pub fn moved(&self, carry: impl Fn(PixelPoint) -> PixelPoint) -> Self {
        let all = |area: &[PixelPoint]| area.iter().map(|p| carry(*p)).collect::<Vec<_>>();
        Self { look_in: all(&self.look_in), leave_out: self.leave_out.iter().map(|a| all(a)).collect() }
    }

    /// Whether nothing is kept in or left out.
    pub fn is_everywhere(&self) -> bool {
        self.look_in.is_empty() && self.leave_out.is_empty()
    }
}

/// Even-odd rule: a point is inside where a ray from it crosses the outline an odd number of times.
fn inside(polygon: &[PixelPoint], p: PixelPoint) -> bool {
    let mut odd = false;
    for (i, &a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            odd = !odd;
        }
    }
    odd
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Vec<PixelPoint> {
        [[x, y], [x + side, y], [x + side, y + side], [x, y + side]].map(PixelPoint::from).to_vec()
    }

    #[test]
    fn left_out_wins_over_looked_in() {
        let areas = Areas::new(&square(0.0, 0.0, 10.0), &[square(4.0, 4.0, 2.0)]);
        assert!(areas.admits(PixelPoint::new(1.0, 1.0)));
        assert!(!areas.admits(PixelPoint::new(5.0, 5.0)));
        assert!(!areas.admits(PixelPoint::new(11.0, 5.0)));
        assert!(Areas::default().admits(PixelPoint::new(-5.0, 1e9)));
    }
}
