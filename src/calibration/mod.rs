//! Pixel <-> bench millimetre: one camera model and one adjustment for all that a sheet may say.
//!
//! ```text
//! scales, plane marks, straight edges,      observations      adjust      Calibration
//! plumb or level line, camera distance, -->  with their   -->  least  -->  view, its change with
//! focal length, priors for the rest        uncertainties      squares     each observation, notices
//! ```
//! The camera is a pinhole with radial distortion before the jet's plane ([`view`], [`lens`]). Two marks and a
//! plumb line leave most of it to priors and the result is the similarity that they give; each further mark
//! narrows what the priors hold. Nothing is fixed by fiat, so everything has its place in the budget.

use crate::notice::Warned;
use crate::point::{BenchPoint, PixelPoint};
use crate::sheet::Checked;
use std::sync::Arc;

pub mod lens;
pub mod plane;
pub mod view;
mod assumptions;
mod adjust;
mod model;
mod observations;
mod start;
mod judgement;
pub mod card;
pub mod ruler;

pub use judgement::{MarkResidual, Straightness};
pub use model::Mark;
pub use view::{Pose, View};

use adjust::{Solution, Unsolved};
use model::{AXIS, CAMERA, Entry, K1, K2, LN_FOCAL, LN_SCALE, Moved, PITCH, Problem, ROLL, YAW};

/// Which way the jet runs in the photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// To the right.
    Right,
    /// To the left.
    Left,
}

impl Direction {
    /// +1 to the right, -1 to the left.
    pub fn sign(self) -> f64 {
        match self {
            Direction::Right => 1.0,
            Direction::Left => -1.0,
        }
    }
}

/// What the photo says of its own camera.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Width as displayed, px.
    pub width: f64,
    /// Height as displayed, px.
    pub height: f64,
    /// 35 mm equivalent focal length from the metadata, mm.
    pub focal_length_35mm: Option<f64>,
}

impl Frame {
    /// Half the diagonal, px: the unit of radius of the lens' coefficients.
    pub fn half_diagonal_px(&self) -> f64 {
        0.5 * self.width.hypot(self.height)
    }

    /// Pixels of a 35 mm equivalent focal length, by the diagonals' ratio (CIPA DCG-001).
    fn focal_px(&self, equivalent_mm: f64) -> f64 {
        equivalent_mm * 2.0 * self.half_diagonal_px() / assumptions::FULL_FRAME_DIAGONAL_MM
    }
}

/// Why a sheet gives no calibration.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct NoCalibration {
    /// What is wrong, with the value seen.
    pub reason: String,
    /// The field of the sheet it is about.
    pub about: String,
    /// What to do.
    pub hint: String,
}

/// One observation of the adjustment: a coordinate of a mark, a stated length, a prior.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Name of the row of the budget that it belongs to: `scale.marks`.
    pub name: &'static str,
    /// As observed, in `unit`.
    pub value: f64,
    /// Standard uncertainty, enlarged where the marks scatter more than they should.
    pub u: f64,
    /// Unit of value, uncertainty and residual; empty for a pure number.
    pub unit: &'static str,
    /// Observed less fitted.
    pub residual: f64,
    /// The residual over its own standard deviation (Baarda's w); `None` where no other observation checks this one.
    pub standardised: Option<f64>,
    /// Whether it is an assumption of ours.
    pub assumed: bool,
}

/// All observations of one name, which make one row of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The name.
    pub name: &'static str,
    /// The value, where the group is one observation.
    pub value: Option<f64>,
    /// Standard uncertainty of each member (root mean square where they differ).
    pub u: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Indices into [`Calibration::observations`].
    pub members: Vec<usize>,
    /// Independent deviations, each of one standard uncertainty, that together move the view as the members
    /// do: for any result f, the variance that the group causes is, to first order, the sum over these of
    /// ((f(view_at(d)) - f(view_at(-d))) / 2)^2, with [`Calibration::view_at`]. Never more of them than the
    /// camera has unknowns, however many marks there are. One-sided differences would count the second order
    /// of `camera.squareness` (a cosine) as if it were the first.
    pub deviations: Vec<Vec<f64>>,
}

/// One number of the camera as adjusted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// What: `scale`, `roll`, `yaw`, `pitch`, `focal length`, `k1`, `k2`, `axis x`, `axis y`, `camera distance`.
    pub name: &'static str,
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Unit of both.
    pub unit: &'static str,
}

/// The adjusted camera, with how it depends on everything observed. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Calibration {
    view: View,
    fit: Arc<Fit>,
}

#[derive(Debug)]
struct Fit {
    /// The key of the marks, for errors.
    about: &'static str,
    problem: Problem,
    unknowns: Vec<f64>,
    /// Change of the camera's unknowns per unit of each observation.
    pull: Vec<[f64; CAMERA]>,
    /// Standard uncertainties of the camera's unknowns.
    u_camera: [f64; CAMERA],
    observations: Vec<Observation>,
    estimates: Vec<Estimate>,
    marks: Vec<MarkResidual>,
    edges: Vec<Straightness>,
}

/// Adjusts the camera to all that `sheet` says of it, with notices about marks that are off and what stays open.
///
/// # Errors
/// [`NoCalibration`] for fewer marks than needed, equal marks, marks on one line, marks that cross, or marks
/// that no camera sees so.
pub fn calibrate(sheet: &Checked, frame: &Frame, direction: Direction) -> Result<Warned<Calibration>, NoCalibration> {
    calibrate_read(sheet, frame, direction, &[])
}

/// As [`calibrate`], with what was read in the photo of the sheet's rulers, in their order: their lines are observations beside
/// the marks.
///
/// # Errors
/// As [`calibrate`].
pub fn calibrate_read(
    sheet: &Checked,
    frame: &Frame,
    direction: Direction,
    read: &[Option<ruler::Graduation>],
) -> Result<Warned<Calibration>, NoCalibration> {
    let about = judgement::marks_of(sheet);
    let start = start::pose(sheet, frame, direction)?;
    let mut problem = Problem::new(sheet, frame, &start, read).ok_or_else(|| no_view(about))?;
    let mut solution = solve(&problem, &[], &problem.start, about)?;
    let mut notices = judgement::off(&problem, &solution, sheet);
    if judgement::set_metadata_aside(&mut problem, &notices) {
        solution = solve(&problem, &[], &solution.unknowns, about)?;
    }
    // lines read from the photo scatter for reasons of their own, clicks for theirs
    for lines in [true, false] {
        let ratio = judgement::birge_ratio(&problem, &solution, lines);
        if ratio > 1.0 {
            notices.push(judgement::enlarged(ratio, sheet, lines));
            problem.entries.iter_mut().filter(|e| !e.prior && e.is_line() == lines).for_each(|e| e.u *= ratio);
            solution = solve(&problem, &[], &solution.unknowns, about)?;
        }
    }
    let value = Calibration::new(problem, &solution, about).ok_or_else(|| no_view(about))?;
    notices.extend(judgement::left_open(&value.fit.problem, &solution, &value.fit.distance(&value.view), sheet));
    Ok(Warned { value, notices })
}

/// `about`: the key of the marks, for the errors.
fn solve(problem: &Problem, by: &[f64], start: &[f64], about: &str) -> Result<Solution, NoCalibration> {
    Solution::find(&Moved { problem, by }, start).map_err(|why| match why {
        Unsolved::NoStart => no_view(about),
        Unsolved::Open => NoCalibration {
            reason: "the marks leave the camera's place open".into(),
            about: about.into(),
            hint: "add a mark, or spread the marks".into(),
        },
        Unsolved::Restless => NoCalibration {
            reason: "no camera sees the marks where they are: the adjustment finds no rest".into(),
            about: about.into(),
            hint: "check each mark's reading, and which of them stand behind the jet".into(),
        },
    })
}

fn no_view(about: &str) -> NoCalibration {
    NoCalibration {
        reason: "no camera sees the marks where they are: one lies beyond the horizon or outside what the lens shows"
            .into(),
        about: about.into(),
        hint: "check the marks, lens.k1 and camera.distance".into(),
    }
}

impl Calibration {
    fn new(problem: Problem, solution: &Solution, about: &'static str) -> Option<Self> {
        let unknowns = solution.unknowns.clone();
        let view = View::new(problem.pose(&unknowns[..CAMERA]))?;
        let pull = (0..problem.entries.len())
            .map(|i| {
                let per_u = solution.pull(i, CAMERA);
                std::array::from_fn(|k| per_u[k] / problem.entries[i].u)
            })
            .collect::<Vec<[f64; CAMERA]>>();
        let observation = |(i, entry): (usize, &Entry)| Observation {
            name: entry.name,
            value: entry.value,
            u: entry.u,
            unit: entry.unit,
            residual: solution.residuals[i] * entry.u,
            standardised: judgement::normalised(solution, i),
            assumed: entry.prior,
        };
        let observations = problem.entries.iter().enumerate().map(observation).collect();
        let u_camera = std::array::from_fn(|k| solution.covariance[(k, k)].sqrt());
        let marks = judgement::mark_residuals(&problem, solution);
        let edges = judgement::straightness(&problem, solution);
        let mut fit =
            Fit { about, problem, unknowns, pull, u_camera, observations, estimates: Vec::new(), marks, edges };
        fit.estimates = fit.estimates(&view);
        Some(Self { view, fit: Arc::new(fit) })
    }

    /// See [`View::bench_from_pixel`].
    pub fn bench_from_pixel(&self, pixel: PixelPoint) -> Option<BenchPoint> {
        self.view.bench_from_pixel(pixel)
    }

    /// See [`View::pixel_from_bench`].
    pub fn pixel_from_bench(&self, point: BenchPoint) -> Option<PixelPoint> {
        self.view.pixel_from_bench(point)
    }

    /// See [`View::jacobian`].
    pub fn jacobian(&self, pixel: PixelPoint) -> [[f64; 2]; 2] {
        self.view.jacobian(pixel)
    }

    /// Pixels per millimetre at the orifice.
    pub fn px_per_mm(&self) -> f64 {
        self.view.px_per_mm()
    }

    /// The adjusted camera.
    pub fn view(&self) -> View {
        self.view
    }

    /// Everything observed, with residuals.
    pub fn observations(&self) -> &[Observation] {
        &self.fit.observations
    }

    /// The numbers of the camera with their standard uncertainties.
    pub fn estimates(&self) -> &[Estimate] {
        &self.fit.estimates
    }

    /// How far each mark lies from where the adjusted camera puts it.
    pub fn mark_residuals(&self) -> &[MarkResidual] {
        &self.fit.marks
    }

    /// How straight the sheet's straight edges come out. Edges made of one scale's own marks are not among them:
    /// the same clicks stand there already, as marks of a straight ruler.
    pub fn straightness(&self) -> &[Straightness] {
        &self.fit.edges
    }

    /// The camera that the adjustment would give, to first order, had observation i been larger by
    /// `deviations[i]` (missing ones: 0). Allocates nothing. A deviation so large that no camera answers is
    /// halved until one does.
    pub fn view_at(&self, deviations: &[f64]) -> View {
        let mut shift = [0.0; CAMERA];
        for (pull, deviation) in self.fit.pull.iter().zip(deviations) {
            for (s, p) in shift.iter_mut().zip(pull) {
                *s += p * deviation;
            }
        }
        for _ in 0..10 {
            if let Some(view) = self.fit.shifted(&shift) {
                return view;
            }
            shift = shift.map(|s| 0.5 * s);
        }
        self.view
    }

    /// The camera that the adjustment gives with observation i larger by `deviations[i]`: solved anew, to check
    /// [`view_at`](Self::view_at) by.
    ///
    /// # Errors
    /// [`NoCalibration`] where the moved marks have no solution.
    pub fn readjusted(&self, deviations: &[f64]) -> Result<View, NoCalibration> {
        let about = self.fit.about;
        let solution = solve(&self.fit.problem, deviations, &self.fit.unknowns, about)?;
        View::new(self.fit.problem.pose(&solution.unknowns[..CAMERA])).ok_or_else(|| no_view(about))
    }

    /// The observations gathered by name, in the order of their first member.
    pub fn groups(&self) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        for (i, o) in self.fit.observations.iter().enumerate() {
            match groups.iter_mut().find(|g| g.name == o.name) {
                Some(group) => group.members.push(i),
                None => groups.push(Group {
                    name: o.name,
                    value: Some(o.value),
                    u: o.u,
                    unit: o.unit,
                    members: vec![i],
                    deviations: Vec::new(),
                }),
            }
        }
        for group in &mut groups {
            if group.members.len() > 1 {
                let n = group.members.len() as f64;
                group.value = None;
                group.u = (group.members.iter().map(|&i| self.fit.observations[i].u.powi(2)).sum::<f64>() / n).sqrt();
            }
            group.deviations = self.fit.independent(&group.members);
        }
        groups
    }
}

impl Fit {
    /// The camera with its unknowns moved by `shift`.
    fn shifted(&self, shift: &[f64; CAMERA]) -> Option<View> {
        let camera: [f64; CAMERA] = std::array::from_fn(|k| self.unknowns[k] + shift[k]);
        View::new(self.problem.pose(&camera))
    }

    /// Independent deviations of the members that carry all they do to the camera: the right singular vectors of
    /// (camera unknowns in their standard uncertainties) by (members in theirs).
    fn independent(&self, members: &[usize]) -> Vec<Vec<f64>> {
        let matrix = nalgebra::DMatrix::from_fn(CAMERA, members.len(), |k, j| {
            let i = members[j];
            self.pull[i][k] * self.observations[i].u / self.u_camera[k]
        });
        let svd = matrix.svd(false, true);
        let Some(right) = svd.v_t else { return Vec::new() };
        let carries = |(_, size): &(usize, &f64)| **size > 1e-6;
        svd.singular_values
            .iter()
            .enumerate()
            .filter(carries)
            .map(|(row, _)| {
                let mut deviations = vec![0.0; self.observations.len()];
                for (j, &i) in members.iter().enumerate() {
                    deviations[i] = right[(row, j)] * self.observations[i].u;
                }
                deviations
            })
            .collect()
    }

    /// The distance is no unknown of its own: its uncertainty by differences through the camera.
    fn distance(&self, view: &View) -> Estimate {
        let value = view.distance_mm();
        let at = |shift: [f64; CAMERA]| self.shifted(&shift).map_or(value, |v| v.distance_mm());
        let moved = |(pull, observation): (&[f64; CAMERA], &Observation)| {
            0.5 * (at(pull.map(|p| p * observation.u)) - at(pull.map(|p| -p * observation.u)))
        };
        let u = self.pull.iter().zip(&self.observations).map(|pair| moved(pair).powi(2)).sum::<f64>().sqrt();
        Estimate { name: "camera distance", value, u, unit: "mm" }
    }

    fn estimates(&self, view: &View) -> Vec<Estimate> {
        let pose = view.pose();
        let u = |k: usize| self.u_camera[k];
        let deg = |name, value: f64, k| Estimate { name, value: value.to_degrees(), u: u(k).to_degrees(), unit: "deg" };
        let px = |name, value, u| Estimate { name, value, u, unit: "px" };
        let number = |name, value, k| Estimate { name, value, u: u(k), unit: "" };
        vec![
            Estimate { name: "scale", value: pose.scale_px_mm, u: pose.scale_px_mm * u(LN_SCALE), unit: "px/mm" },
            deg("roll", pose.roll_rad, ROLL),
            deg("yaw", pose.yaw_rad, YAW),
            deg("pitch", pose.pitch_rad, PITCH),
            px("focal length", pose.focal_px, pose.focal_px * u(LN_FOCAL)),
            number("k1", pose.lens.k1, K1),
            number("k2", pose.lens.k2, K2),
            px("axis x", pose.lens.centre.x, u(AXIS)),
            px("axis y", pose.lens.centre.y, u(AXIS + 1)),
            self.distance(view),
        ]
    }
}
