//! What the sheet says of the camera, gathered as observations of one adjustment.
//!
//! Everything stated or clicked is an observation with a standard uncertainty; where something is stated exactly
//! (u = 0) it is a constant. What nothing in the sheet determines is kept by a prior ([`assumptions`](super::assumptions)), which is
//! an observation like any other and so stands in the budget under its own name.

use super::Frame;
use super::assumptions::*;
use super::model::{
    AXIS, Edge, Entry, K1, K2, LN_FOCAL, Mark, PITCH, PlacedCard, Problem, ROLL, Ruler, Seen, Term, YAW, line_angle_deg,
};
use super::start::card::pairs;
use super::view::{Pose, View};
use crate::quantity::{Kind, Length};
use crate::sheet::{Checked, Given, Origin, Placed};

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
            card: None,
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
        problem.card(sheet, &view)?;
        problem.mark("orifice.centre", sheet.orifice, Mark::Orifice);
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

    fn mark(&mut self, name: &'static str, placed: Placed, spot: Mark) {
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
                self.mark("scale.marks", *placed, Mark::Scale { scale: ruler, mark });
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
            self.mark("plane.marks", *placed, Mark::Plane { mark: i });
        }
    }

    fn card(&mut self, sheet: &Checked, view: &View) -> Option<()> {
        let Some(card) = sheet.card.as_ref().filter(|c| !c.marks.is_empty()) else { return Some(()) };
        let pairs = pairs(card);
        // Where the start view puts the marks, as one sees them; their depth shifts them little.
        let sign = self.direction.sign();
        let seen: Vec<[f64; 2]> = pairs
            .iter()
            .map(|(_, px)| view.bench_from_pixel(*px).map(|p| [sign * p.x_mm, p.y_mm]))
            .collect::<Option<_>>()?;
        let n = seen.len() as f64;
        let middle = seen.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / n, m[1] + p[1] / n]);
        let turned = pairs.iter().zip(&seen).fold([0.0; 2], |t, ((c, _), p)| {
            let (x, y) = (p[0] - middle[0], p[1] - middle[1]);
            [t[0] + c[0] * y - c[1] * x, t[1] + c[0] * x + c[1] * y]
        });
        let place = self.unknown(sign * middle[0], 1e-3);
        self.unknown(middle[1], 1e-3);
        self.unknown(turned[0].atan2(turned[1]), 1e-6);
        let behind = self.length("card.behind_jet", &card.behind_jet);
        let stretch = self.check_line("card.check_line", &card.check_line);
        let upright = match &card.upright_line {
            Some(line) => [self.check_line("card.upright_line", line), Term::Exact(0.0)],
            None => {
                let index = self.unknown(0.0, 1e-6);
                self.assume("card.aspect", 0.0, PRINT_ASPECT, "", index, 1.0);
                [stretch, Term::Unknown(index)]
            }
        };
        self.card =
            Some(PlacedCard { place, behind, stretch, upright, marks: pairs.into_iter().map(|(mm, _)| mm).collect() });
        for (mark, (_, placed)) in card.marks.iter().enumerate() {
            self.mark("card.marks", *placed, Mark::Card { mark });
        }
        Some(())
    }

    /// By how much a card is printed too large, as its check line of 100 mm tells.
    fn check_line(&mut self, name: &'static str, line: &Given<Length>) -> Term {
        let (value, u) = (1e3 * line.value.si(), 1e3 * line.u.si());
        let stretch = value / CHECK_MM - 1.0;
        if u <= 0.0 {
            return Term::Exact(stretch);
        }
        let index = self.unknown(stretch, 1e-6);
        self.observe(name, value, u, "mm", Seen::Unknown { index, factor: CHECK_MM, offset: CHECK_MM });
        self.entries.last_mut().iter_mut().for_each(|e| e.prior = line.origin == Origin::Assumed);
        Term::Unknown(index)
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
        // who is seen by a card to stand askew did not try to stand square
        let askew_deg = if self.card.is_some() { DEG * self.start[YAW].hypot(self.start[PITCH]) } else { 0.0 };
        let u_deg = askew_deg.max(SQUARENESS_DEG);
        self.assume("camera.squareness", 0.0, u_deg, "deg", YAW, DEG);
        self.assume("camera.squareness", 0.0, u_deg, "deg", PITCH, DEG);
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
}

/// Length of a card's check lines as designed, mm.
const CHECK_MM: f64 = 100.0;
const DEG: f64 = 180.0 / std::f64::consts::PI;

/// Whether an edge is made of one ruler's own marks. These bear on the lens already, as marks of a straight
/// ruler; counting the same clicks twice would claim more than they know.
fn is_marks_of_a_scale(points: &[Placed], sheet: &Checked) -> bool {
    sheet.scales.iter().any(|s| points.iter().all(|p| s.marks.iter().any(|(m, _)| m.at == p.at)))
}
