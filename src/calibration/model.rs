//! The model of the adjustment: its unknowns, its observations, and what each observation should
//! be at given unknowns.
//!
//! Unknowns: eleven of the camera ([`CAMERA`]), then, as the sheet brings them: for each ruler its place and
//! direction in its own plane, its depth, its stretch, the true places of its readings; the true places of plane
//! marks and their depth; for a scale card its place, turn, depth and how it was printed; for each straight edge its
//! line in the ideal picture.

use super::Direction;
use super::adjust::Equations;
use super::lens::Radial;
use super::view::{Pose, View};
use crate::point::{BenchPoint, PixelPoint};

/// Unknowns of the camera: orifice x, y (px); ln scale; roll, yaw, pitch (rad); ln focal length; k1, k2; axis x, y (px).
pub(super) const CAMERA: usize = 11;
pub(super) const LN_SCALE: usize = 2;
pub(super) const ROLL: usize = 3;
pub(super) const YAW: usize = 4;
pub(super) const PITCH: usize = 5;
pub(super) const LN_FOCAL: usize = 6;
pub(super) const K1: usize = 7;
pub(super) const K2: usize = 8;
pub(super) const AXIS: usize = 9;

/// A number that is stated exactly, or an unknown of the adjustment.
#[derive(Clone, Copy, Debug)]
pub(super) enum Term {
    Exact(f64),
    Unknown(usize),
}

impl Term {
    fn at(self, unknowns: &[f64]) -> f64 {
        match self {
            Term::Exact(value) => value,
            Term::Unknown(i) => unknowns[i],
        }
    }
}

/// A straight ruler parallel to the jet's plane: the place of its first reading (two unknowns) and its
/// direction (the third), its depth, and its readings.
#[derive(Clone, Debug)]
pub(super) struct Ruler {
    pub place: usize,
    pub first_mm: f64,
    /// By how much its true lengths exceed its readings, as a share.
    pub stretch: Term,
    pub behind: Term,
    pub at: Vec<Term>,
}

/// A scale card parallel to the jet's plane: the place of its origin in the bench plane (two unknowns) and its turn there,
/// clockwise as seen (the third), its depth, how it was printed, and its marks.
#[derive(Clone, Debug)]
pub(super) struct PlacedCard {
    pub place: usize,
    pub behind: Term,
    /// By how much it is printed too wide, as a share.
    pub stretch: Term,
    /// By how much it is printed too high, as a share: the sum of both.
    pub upright: [Term; 2],
    /// Marks, mm from its origin, as designed.
    pub marks: Vec<[f64; 2]>,
}

/// A line in the ideal picture: its direction and its offset from `middle` (two unknowns).
#[derive(Clone, Debug)]
pub(super) struct Edge {
    pub line: usize,
    pub middle: [f64; 2],
    /// Its place in the sheet's list.
    pub number: usize,
}

/// One of the marks on the photo, by its place in the sheet, counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Mark of a scale.
    Scale {
        /// Which scale.
        scale: usize,
        /// Which of its marks.
        mark: usize,
    },
    /// Plane mark.
    Plane {
        /// Which.
        mark: usize,
    },
    /// Mark of the scale card.
    Card {
        /// Which of those that are seen.
        mark: usize,
    },
    /// The orifice's centre.
    Orifice,
}

/// What the model says an observation should be.
#[derive(Clone, Copy, Debug)]
pub(super) enum Seen {
    /// One pixel coordinate of a mark.
    Pixel { spot: Mark, axis: usize },
    /// An unknown itself, times `factor`, plus `offset`.
    Unknown { index: usize, factor: f64, offset: f64 },
    /// Distance of the camera to the jet's plane.
    Distance,
    /// Direction in the photo, in degrees, of a line parallel to the bench axis `axis` through `from`, as far as `to`.
    Line { from: PixelPoint, to: PixelPoint, axis: usize },
    /// How far a point of an edge is from the edge's line.
    Straight { edge: usize, point: usize, at: PixelPoint },
}

/// One observation of the adjustment.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    /// Name of its budget row.
    pub name: &'static str,
    /// Observed value.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Whether it is an assumption of ours rather than something stated, clicked or recorded.
    pub prior: bool,
    /// What it should be.
    pub seen: Seen,
}

/// The whole adjustment: observations, and what they follow from.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    pub entries: Vec<Entry>,
    pub direction: Direction,
    pub unit_px: f64,
    pub rulers: Vec<Ruler>,
    pub plane: Vec<[Term; 2]>,
    pub plane_behind: Term,
    pub card: Option<PlacedCard>,
    pub edges: Vec<Edge>,
    /// Start values of all unknowns.
    pub start: Vec<f64>,
    pub steps: Vec<f64>,
    /// For each unknown the entries that it has a say in.
    pub touched: Vec<Vec<usize>>,
}

impl Problem {
    /// The camera that the first [`CAMERA`] unknowns describe.
    pub fn pose(&self, camera: &[f64]) -> Pose {
        Pose {
            orifice: PixelPoint::new(camera[0], camera[1]),
            scale_px_mm: camera[LN_SCALE].exp(),
            roll_rad: camera[ROLL],
            yaw_rad: camera[YAW],
            pitch_rad: camera[PITCH],
            focal_px: camera[LN_FOCAL].exp(),
            lens: Radial {
                centre: PixelPoint::new(camera[AXIS], camera[AXIS + 1]),
                unit_px: self.unit_px,
                k1: camera[K1],
                k2: camera[K2],
            },
            direction: self.direction,
        }
    }

    /// The place of edge `edge` in the sheet's list.
    pub fn edge_number(&self, edge: usize) -> usize {
        self.edges[edge].number
    }

    /// Where a mark should be in the photo.
    fn pixel(&self, spot: Mark, view: &View, unknowns: &[f64]) -> Option<PixelPoint> {
        match spot {
            Mark::Orifice => Some(view.pose().orifice),
            Mark::Plane { mark: i } => {
                let [x, y] = self.plane[i];
                let point = BenchPoint::new(x.at(unknowns), y.at(unknowns));
                view.pixel_from_space(point, self.plane_behind.at(unknowns))
            }
            Mark::Card { mark } => {
                let card = self.card.as_ref()?;
                let stretch = card.stretch.at(unknowns);
                let upright = card.upright.iter().map(|t| t.at(unknowns)).sum::<f64>();
                let (x, y) = (card.marks[mark][0] * (1.0 + stretch), card.marks[mark][1] * (1.0 + upright));
                let (sin, cos) = unknowns[card.place + 2].sin_cos();
                let point = BenchPoint::new(
                    unknowns[card.place] + self.direction.sign() * (x * cos - y * sin),
                    unknowns[card.place + 1] + x * sin + y * cos,
                );
                view.pixel_from_space(point, card.behind.at(unknowns))
            }
            Mark::Scale { scale: ruler, mark } => {
                let ruler = &self.rulers[ruler];
                let along = (ruler.at[mark].at(unknowns) - ruler.first_mm) * (1.0 + ruler.stretch.at(unknowns));
                let (sin, cos) = unknowns[ruler.place + 2].sin_cos();
                let point =
                    BenchPoint::new(unknowns[ruler.place] + along * cos, unknowns[ruler.place + 1] + along * sin);
                view.pixel_from_space(point, ruler.behind.at(unknowns))
            }
        }
    }

    /// What the model says entry `i` should be.
    pub fn fitted(&self, i: usize, view: &View, unknowns: &[f64]) -> Option<f64> {
        match self.entries[i].seen {
            Seen::Pixel { spot, axis } => {
                let p = self.pixel(spot, view, unknowns)?;
                Some(if axis == 0 { p.x } else { p.y })
            }
            Seen::Unknown { index, factor, offset } => Some(offset + factor * unknowns[index]),
            Seen::Distance => Some(view.distance_mm()),
            Seen::Line { from, to, axis } => {
                let (a, b) = (view.ideal_from_pixel(from)?, view.ideal_from_pixel(to)?);
                let way = view.direction_at(a, axis);
                let length = way[0].hypot(way[1]);
                let along = ((b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1]) / length;
                let end = [a[0] + way[0] * along / length, a[1] + way[1] * along / length];
                let (fitted, marked) = (line_angle_deg(from, view.pixel_from_ideal(end)?, axis), self.entries[i].value);
                // The turn that is nearest to the marked one.
                Some(fitted - 360.0 * ((fitted - marked) / 360.0).round())
            }
            Seen::Straight { edge, at, .. } => {
                let edge = &self.edges[edge];
                let p = view.ideal_from_pixel(at)?;
                let (sin, cos) = unknowns[edge.line].sin_cos();
                // Minus: as the mark moves by +d across the edge, observed (0) less fitted grows by d.
                Some(unknowns[edge.line + 1] - (cos * (p[1] - edge.middle[1]) - sin * (p[0] - edge.middle[0])))
            }
        }
    }

    /// The unknowns that have a say in what is seen.
    pub fn unknowns_of(&self, seen: &Seen) -> Vec<usize> {
        let mut own: Vec<usize> = Vec::new();
        let mut terms: Vec<Term> = Vec::new();
        match *seen {
            Seen::Unknown { index, .. } => return vec![index],
            Seen::Distance | Seen::Line { .. } | Seen::Pixel { spot: Mark::Orifice, .. } => {}
            Seen::Pixel { spot: Mark::Plane { mark: i }, .. } => {
                terms.extend(self.plane[i]);
                terms.push(self.plane_behind);
            }
            Seen::Pixel { spot: Mark::Scale { scale: ruler, mark }, .. } => {
                let ruler = &self.rulers[ruler];
                own.extend(ruler.place..ruler.place + 3);
                terms.extend([ruler.stretch, ruler.behind, ruler.at[mark]]);
            }
            Seen::Pixel { spot: Mark::Card { .. }, .. } => {
                if let Some(card) = &self.card {
                    own.extend(card.place..card.place + 3);
                    terms.extend([card.behind, card.stretch, card.upright[0], card.upright[1]]);
                }
            }
            Seen::Straight { edge, .. } => own.extend(self.edges[edge].line..self.edges[edge].line + 2),
        }
        own.extend(terms.iter().filter_map(|t| if let Term::Unknown(i) = t { Some(*i) } else { None }));
        own.extend(0..CAMERA);
        own
    }
}

/// Angle in degrees of the line from `a` to `b`, clockwise as seen: from image-down for a plumb line (`axis` 1),
/// marked from above to below; from image-right for a level line (`axis` 0), folded to -90..90 because it does not
/// matter which end of that comes first.
pub(super) fn line_angle_deg(a: PixelPoint, b: PixelPoint, axis: usize) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    if axis == 1 { (-dx).atan2(dy).to_degrees() } else { (dy / dx).atan().to_degrees() }
}

/// A [`Problem`] with its observed values moved: what [`Equations`] are solved for.
pub(super) struct Moved<'a> {
    pub problem: &'a Problem,
    /// Added to each observed value; empty for none.
    pub by: &'a [f64],
}

impl Equations for Moved<'_> {
    fn rows(&self) -> usize {
        self.problem.entries.len()
    }

    fn rows_of(&self, i: usize) -> &[usize] {
        &self.problem.touched[i]
    }

    fn residuals(&self, unknowns: &[f64], rows: Option<&[usize]>, out: &mut [f64]) -> bool {
        let problem = self.problem;
        let Some(view) = View::new(problem.pose(&unknowns[..CAMERA])) else { return false };
        let mut row = |i: usize| {
            let Some(fitted) = problem.fitted(i, &view, unknowns) else { return false };
            let entry = &problem.entries[i];
            out[i] = (entry.value + self.by.get(i).copied().unwrap_or(0.0) - fitted) / entry.u;
            out[i].is_finite()
        };
        match rows {
            Some(rows) => rows.iter().all(|&i| row(i)),
            None => (0..problem.entries.len()).all(row),
        }
    }

    fn step(&self, i: usize) -> f64 {
        self.problem.steps[i]
    }
}
