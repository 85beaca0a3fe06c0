//! Points in the two planes that the work moves between.
//!
//! ```text
//!  pixel plane (the photo as displayed)      bench plane (the jet's plane)
//!  (0,0)+---> x                              orifice +---> x along the jet, mm
//!       |                                            |
//!       v y                                          v y, the drop, mm
//! ```
//! Pixel coordinates put (0, 0) on the top-left *corner* of the top-left pixel, so that
//! pixel's centre is (0.5, 0.5). A jet that runs to the left in the photo has positive
//! bench x all the same.

use serde::{Deserialize, Serialize};

/// A point of the photo as displayed, in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Default, Serialize, Deserialize)]
#[serde(from = "[f64; 2]", into = "[f64; 2]")]
pub struct PixelPoint {
    /// To the right.
    pub x: f64,
    /// Downwards.
    pub y: f64,
}

/// A point of the jet's plane, in millimetres from the orifice centre.
#[derive(Clone, Copy, Debug, PartialEq, Default, Serialize, Deserialize)]
#[serde(from = "[f64; 2]", into = "[f64; 2]")]
pub struct BenchPoint {
    /// Along the jet, away from the tank.
    pub x_mm: f64,
    /// Downwards: the drop.
    pub y_mm: f64,
}

impl PixelPoint {
    /// The point at (`x`, `y`).
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Straight distance to `other` in pixels.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

impl BenchPoint {
    /// The point at (`x_mm`, `y_mm`).
    pub const fn new(x_mm: f64, y_mm: f64) -> Self {
        Self { x_mm, y_mm }
    }

    /// Straight distance to `other` in millimetres.
    pub fn distance(self, other: Self) -> f64 {
        (self.x_mm - other.x_mm).hypot(self.y_mm - other.y_mm)
    }
}

impl From<[f64; 2]> for PixelPoint {
    fn from([x, y]: [f64; 2]) -> Self {
        Self { x, y }
    }
}

impl From<PixelPoint> for [f64; 2] {
    fn from(p: PixelPoint) -> Self {
        [p.x, p.y]
    }
}

impl From<[f64; 2]> for BenchPoint {
    fn from([x_mm, y_mm]: [f64; 2]) -> Self {
        Self { x_mm, y_mm }
    }
}

impl From<BenchPoint> for [f64; 2] {
    fn from(p: BenchPoint) -> Self {
        [p.x_mm, p.y_mm]
    }
}
