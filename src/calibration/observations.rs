//! What the sheet says about the camera, as equations of one adjustment.
//!
//! Unknowns: eleven of the camera ([`CAMERA`]), then, as the sheet brings them: for each ruler its place and
//! direction in its own plane, the true places of its readings, its depth; the true places of plane marks and
//! their depth; for each straight edge its line in the ideal picture. Everything stated or clicked is an
//! observation with a standard uncertainty; where something is stated exactly (u = 0) it is a constant.
//!
//! What nothing in the sheet determines is kept by a prior, which is an observation like any other and so
//! stands in the budget under its own name.

use super::adjust::Equations;
use super::lens::Radial;
use super::view::{Pose, View};
use super::{Direction, Frame};
use crate::point::{BenchPoint, PixelPoint};
use crate::quantity::{Kind, Length};
use crate::sheet::{Checked, Given, Origin, Placed};

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

/// How far from square to the jet's plane somebody who tries to stand square stands: 2.5 deg in yaw and in
/// pitch. Common practice, no source; cameras of bench photos we know are 1 to 5 deg off.
const SQUARENESS_DEG: f64 = 2.5;
/// Radial distortion where nothing tells of it: 3 % at the corner. Common practice, no source: phones and modern
/// cameras correct their own to a few tenths of a percent, uncorrected lenses show 1 to 3 %, some more, and a
/// photo does not tell which it is.
const K1_PRIOR: f64 = 0.03;
/// The r^4 term of such a lens. Common practice, no source.
const K2_PRIOR: f64 = 0.003;
/// How far the lens' axis meets the photo from its middle, as a share of the half-diagonal: 1 % for a photo
/// with its metadata, 4 % for a scan or a picture that may be cropped. Common practice, no source.
const AXIS_SHARE: f64 = 0.01;
const AXIS_SHARE_SCAN: f64 = 0.04;
/// Uncertainty of a focal length from metadata: it is rounded, makers differ between diagonal and long side
/// (4 % for a 4:3 picture), and it breathes with the focus. Common practice, no source.
const METADATA_FOCAL: f64 = 0.07;
/// Focal length where nothing is known, 35 mm equivalent in mm and its relative uncertainty: 26 mm (a
/// phone) and 65 mm (a portrait lens) lie one standard uncertainty out. Common practice, no source.
const UNKNOWN_FOCAL_MM: f64 = 40.0;
const UNKNOWN_FOCAL: f64 = 0.5;
/// Diagonal of the 36 mm x 24 mm frame that "35 mm equivalent" refers to (CIPA DCG-001).
pub(super) const FULL_FRAME_DIAGONAL_MM: f64 = 43.27;
/// How upright a photo is held when nobody marks the vertical. Common practice, no source.
const UPRIGHT_DEG: f64 = 1.0;
/// How true a thing is that passes for vertical or level: 1 mm in a metre, what a spirit level or a string in
/// moving air holds. Common practice, no source.
const TRUE_DEG: f64 = 0.06;
/// How true the graduation of a ruler is as a whole, besides the reading of each mark: 0.3 mm in a metre, a
/// workshop ruler. Common practice, no source; paper and plastic can be ten times worse.
const RULER_TRUE: f64 = 3e-4;
/// No mark is better than this, whatever is stated: keeps weights finite.
const LEAST_U_PX: f64 = 1e-3;

/// A number that is stated exactly, or an unknown of the adjustment.
#[derive(Clone, Copy, Debug)]
enum Term {
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
struct Ruler {
    place: usize,
    first_mm: f64,
    /// By how much its true lengths exceed its readings, as a share.
    stretch: Term,
    behind: Term,
    at: Vec<Term>,
}

/// A line in the ideal picture: its direction and its offset from `middle` (two unknowns).
#[derive(Clone, Debug)]
struct Edge {
    line: usize,
    middle: [f64; 2],
    /// Its place in the sheet's list.
    number: usize,
}

/// One of the marks on the photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Spot {
    /// Mark of a scale.
    Ruler { ruler: usize, mark: usize },
    /// Plane mark.
    Plane(usize),
    /// The orifice's centre.
    Orifice,
}

/// What the model says an observation should be.
#[derive(Clone, Copy, Debug)]
pub(super) enum Seen {
    /// One pixel coordinate of a mark.
    Pixel { spot: Spot, axis: usize },
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

/// The whole adjustment: observations, and how they follow from the unknowns.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    pub entries: Vec<Entry>,
    pub direction: Direction,
    unit_px: f64,
    rulers: Vec<Ruler>,
    plane: Vec<[Term; 2]>,
    plane_behind: Term,
    edges: Vec<Edge>,
    /// Start values of all unknowns.
    pub start: Vec<f64>,
    steps: Vec<f64>,
    /// For each unknown the entries that it has a say in.
    touched: Vec<Vec<usize>>,
}

impl Problem {
    /// All that the sheet says, to be adjusted from `start`.
    pub fn new(sheet: &Checked, frame: &Frame, start: &Pose) -> Option<Self> {
        let mut problem = Problem {
            entries: Vec::new(),
            direction: start.direction,
            unit_px: frame.half_diagonal_px(),
            rulers: Vec::new(),
            plane: Vec::new(),
            plane_behind: Term::Exact(0.0),
            edges: Vec::new(),
            start: vec![
                start.orifice.x,
                start.orifice.y,
                start.scale_px_mm.ln(),
                start.roll_rad,
                start.yaw_rad,
                start.pitch_rad,
                start.focal_px.ln(),
                start.lens.k1,
                start.lens.k2,
                start.lens.centre.x,
                start.lens.centre.y,
            ],
            touched: Vec::new(),
            steps: vec![1e-3, 1e-3, 1e-6, 1e-6, 1e-6, 1e-6, 1e-5, 1e-5, 1e-5, 1e-2, 1e-2],
        };
        let view = View::new(*start)?;
        problem.rulers(sheet, &view)?;
        problem.plane(sheet);
        problem.mark("orifice.centre", sheet.orifice, Spot::Orifice);
        problem.vertical(sheet);
        problem.camera(sheet, frame);
        problem.lens(sheet, frame);
        problem.edges(sheet, &view)?;
        problem.touched = vec![Vec::new(); problem.start.len()];
        for i in 0..problem.entries.len() {
            for unknown in problem.unknowns_of(&problem.entries[i].seen) {
                problem.touched[unknown].push(i);
            }
        }
        Some(problem)
    }

    /// The unknowns that have a say in what is seen.
    fn unknowns_of(&self, seen: &Seen) -> Vec<usize> {
        let mut own: Vec<usize> = Vec::new();
        let mut terms: Vec<Term> = Vec::new();
        match *seen {
            Seen::Unknown { index, .. } => return vec![index],
            Seen::Distance | Seen::Line { .. } | Seen::Pixel { spot: Spot::Orifice, .. } => {}
            Seen::Pixel { spot: Spot::Plane(i), .. } => {
                terms.extend(self.plane[i]);
                terms.push(self.plane_behind);
            }
            Seen::Pixel { spot: Spot::Ruler { ruler, mark }, .. } => {
                let ruler = &self.rulers[ruler];
                own.extend(ruler.place..ruler.place + 3);
                terms.extend([ruler.stretch, ruler.behind, ruler.at[mark]]);
            }
            Seen::Straight { edge, .. } => own.extend(self.edges[edge].line..self.edges[edge].line + 2),
        }
        own.extend(terms.iter().filter_map(|t| if let Term::Unknown(i) = t { Some(*i) } else { None }));
        own.extend(0..CAMERA);
        own
    }

    fn unknown(&mut self, start: f64, step: f64) -> usize {
        self.start.push(start);
        self.steps.push(step);
        self.start.len() - 1
    }

    /// A stated length in mm: exact, or an unknown with its observation.
    fn length(&mut self, name: &'static str, given: &Given<Length>) -> Term {
        let (value, u) = (1e3 * given.value.si(), 1e3 * given.u.si());
        if u <= 0.0 {
            return Term::Exact(value);
        }
        let index = self.unknown(value, 1e-3);
        self.observe(name, value, u, "mm", Seen::Unknown { index, factor: 1.0, offset: 0.0 });
        Term::Unknown(index)
    }

    fn observe(&mut self, name: &'static str, value: f64, u: f64, unit: &'static str, seen: Seen) {
        self.entries.push(Entry { name, value, u, unit, prior: false, seen });
    }

    fn assume(&mut self, name: &'static str, value: f64, u: f64, unit: &'static str, index: usize, factor: f64) {
        let seen = Seen::Unknown { index, factor, offset: 0.0 };
        self.entries.push(Entry { name, value, u, unit, prior: true, seen });
    }

    fn mark(&mut self, name: &'static str, placed: Placed, spot: Spot) {
        for (axis, value) in [placed.at.x, placed.at.y].into_iter().enumerate() {
            self.observe(name, value, placed.u_px.max(LEAST_U_PX), "px", Seen::Pixel { spot, axis });
        }
    }

    fn rulers(&mut self, sheet: &Checked, view: &View) -> Option<()> {
        for (ruler, scale) in sheet.scales.iter().enumerate() {
            let (first, last) = (scale.marks.first()?, scale.marks.last()?);
            // Where the start view puts both ends; their depth shifts them little and the adjustment settles it.
            let (a, b) = (view.bench_from_pixel(first.0.at)?, view.bench_from_pixel(last.0.at)?);
            let first_mm = 1e3 * first.1.value.si();
            let forward = (1e3 * last.1.value.si() - first_mm).signum();
            let angle = (forward * (b.y_mm - a.y_mm)).atan2(forward * (b.x_mm - a.x_mm));
            let place = self.unknown(a.x_mm, 1e-3);
            self.unknown(a.y_mm, 1e-3);
            self.unknown(angle, 1e-6);
            let behind = self.length("scale.behind_jet", &scale.behind_jet);
            // Two marks and a length have this in the length's own uncertainty.
            let stretch = if scale.is_pair {
                Term::Exact(0.0)
            } else {
                let index = self.unknown(0.0, 1e-6);
                self.assume("scale.graduation", 0.0, RULER_TRUE, "", index, 1.0);
                Term::Unknown(index)
            };
            let name = if scale.is_pair { "scale.length" } else { "scale.at" };
            let at = scale.marks.iter().map(|(_, reading)| self.length(name, reading)).collect();
            self.rulers.push(Ruler { place, first_mm, stretch, behind, at });
            for (mark, (placed, _)) in scale.marks.iter().enumerate() {
                self.mark("scale.marks", *placed, Spot::Ruler { ruler, mark });
            }
        }
        Some(())
    }

    fn plane(&mut self, sheet: &Checked) {
        if sheet.plane.is_empty() {
            return;
        }
        self.plane_behind = self.length("plane.behind_jet", &sheet.plane_behind_jet);
        for (i, (placed, [x, y])) in sheet.plane.iter().enumerate() {
            let at = [self.length("plane.at", x), self.length("plane.at", y)];
            self.plane.push(at);
            self.mark("plane.marks", *placed, Spot::Plane(i));
        }
    }

    fn vertical(&mut self, sheet: &Checked) {
        let lines = [("vertical.plumb", &sheet.plumb, 1), ("vertical.level", &sheet.level, 0)];
        for (name, marks, axis) in lines {
            let Some([a, b]) = marks else { continue };
            let u_px = a.u_px.hypot(b.u_px).max(LEAST_U_PX);
            let u = (u_px / a.at.distance(b.at)).to_degrees().hypot(TRUE_DEG);
            let seen = Seen::Line { from: a.at, to: b.at, axis };
            self.observe(name, line_angle_deg(a.at, b.at, axis), u, "deg", seen);
        }
        if sheet.plumb.is_none() && sheet.level.is_none() {
            self.assume("vertical", 0.0, UPRIGHT_DEG, "deg", ROLL, DEG);
        }
    }

    fn camera(&mut self, sheet: &Checked, frame: &Frame) {
        if let Some(distance) = &sheet.camera_distance {
            let u = (1e3 * distance.u.si()).max(1e-6);
            self.observe("camera.distance", 1e3 * distance.value.si(), u, "mm", Seen::Distance);
        }
        let known = frame.focal_length_35mm;
        let focal_mm = known.unwrap_or(UNKNOWN_FOCAL_MM);
        let u = focal_mm * if known.is_some() { METADATA_FOCAL } else { UNKNOWN_FOCAL };
        // The adjustment works with the logarithm, which cannot turn negative; to first order this is the same.
        let offset = focal_mm - focal_mm * frame.focal_px(focal_mm).ln();
        let seen = Seen::Unknown { index: LN_FOCAL, factor: focal_mm, offset };
        let prior = known.is_none();
        self.entries.push(Entry { name: "camera.focal_length", value: focal_mm, u, unit: "mm", prior, seen });
        self.assume("camera.squareness", 0.0, SQUARENESS_DEG, "deg", YAW, DEG);
        self.assume("camera.squareness", 0.0, SQUARENESS_DEG, "deg", PITCH, DEG);
    }

    fn lens(&mut self, sheet: &Checked, frame: &Frame) {
        match &sheet.k1 {
            Some(k1) => {
                let seen = Seen::Unknown { index: K1, factor: 1.0, offset: 0.0 };
                self.observe("lens.k1", k1.value.si(), k1.u.si().max(1e-9), "", seen);
                self.entries.last_mut().iter_mut().for_each(|e| e.prior = k1.origin == Origin::Assumed);
            }
            None => self.assume("lens.k1", 0.0, K1_PRIOR, "", K1, 1.0),
        }
        self.assume("lens.k2", 0.0, K2_PRIOR, "", K2, 1.0);
        let share = if frame.focal_length_35mm.is_some() { AXIS_SHARE } else { AXIS_SHARE_SCAN };
        let u = share * frame.half_diagonal_px();
        self.assume("lens.centre", frame.width / 2.0, u, "px", AXIS, 1.0);
        self.assume("lens.centre", frame.height / 2.0, u, "px", AXIS + 1, 1.0);
    }

    fn edges(&mut self, sheet: &Checked, view: &View) -> Option<()> {
        for (number, points) in sheet.straight.iter().enumerate() {
            if points.len() < 3 || is_marks_of_a_scale(points, sheet) {
                continue;
            }
            let ideal = points.iter().map(|p| view.ideal_from_pixel(p.at)).collect::<Option<Vec<_>>>()?;
            let n = ideal.len() as f64;
            let middle = [ideal.iter().map(|p| p[0]).sum::<f64>() / n, ideal.iter().map(|p| p[1]).sum::<f64>() / n];
            let (a, b) = (ideal[0], ideal[ideal.len() - 1]);
            let line = self.unknown((b[1] - a[1]).atan2(b[0] - a[0]), 1e-6);
            self.unknown(0.0, 1e-3);
            self.edges.push(Edge { line, middle, number });
            let edge = self.edges.len() - 1;
            for (point, placed) in points.iter().enumerate() {
                let seen = Seen::Straight { edge, point, at: placed.at };
                self.observe("lens.straight", 0.0, placed.u_px.max(LEAST_U_PX), "px", seen);
            }
        }
        Some(())
    }

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
    fn pixel(&self, spot: Spot, view: &View, unknowns: &[f64]) -> Option<PixelPoint> {
        match spot {
            Spot::Orifice => Some(view.pose().orifice),
            Spot::Plane(i) => {
                let [x, y] = self.plane[i];
                let point = BenchPoint::new(x.at(unknowns), y.at(unknowns));
                view.pixel_from_space(point, self.plane_behind.at(unknowns))
            }
            Spot::Ruler { ruler, mark } => {
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
}

const DEG: f64 = 180.0 / std::f64::consts::PI;

/// Angle in degrees of the line from `a` to `b`, clockwise as seen: from image-down for a plumb line (`axis` 1),
/// marked from above to below; from image-right for a level line (`axis` 0), folded to -90..90 because it does not
/// matter which end of that comes first.
pub(super) fn line_angle_deg(a: PixelPoint, b: PixelPoint, axis: usize) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    if axis == 1 { (-dx).atan2(dy).to_degrees() } else { (dy / dx).atan().to_degrees() }
}

/// Whether an edge is made of one ruler's own marks. These bear on the lens already, as marks of a straight
/// ruler; counting the same clicks twice would claim more than they know.
fn is_marks_of_a_scale(points: &[Placed], sheet: &Checked) -> bool {
    sheet.scales.iter().any(|s| points.iter().all(|p| s.marks.iter().any(|(m, _)| m.at == p.at)))
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
