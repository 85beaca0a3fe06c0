//! What the adjusted marks say of one another: marks that are off, edges that bend, marks that
//! scatter more than they should, and what the sheet leaves open.

use super::adjust::Solution;
use super::observations::{CAMERA, Entry, K1, Moved, PITCH, Problem, Seen, Spot, YAW};
use crate::notice::Notice;
use crate::quantity::Kind;
use crate::sheet::Checked;

/// Normalised residual from which a mark is called off. W. Baarda, "A testing procedure for use in geodetic
/// networks" (Delft 1968), tests each mark by w = r / (u sqrt(redundancy)), standard normal while all is well;
/// 3.5 is exceeded by one sound mark in 2000, so by one sheet of fifty marks in forty.
const OFF: f64 = 3.5;
/// Below this redundancy number a mark is checked by nothing else, and its residual says nothing.
const CHECKED: f64 = 1e-3;
/// Marks named at most; beyond that the sheet has one large fault rather than many small ones.
const MOST_NAMED: usize = 4;
/// A lens that seems to distort more than this at the corner is more likely an edge that bends.
const MOST_K1: f64 = 0.15;
/// A prior counts as replaced by data when they leave less than this share of its uncertainty.
const REPLACED: f64 = 0.5;

/// Normalised residual of entry `i` after Baarda; `None` where nothing checks the entry.
pub(super) fn normalised(solution: &Solution, i: usize) -> Option<f64> {
    let redundancy = solution.redundancy(i);
    (redundancy > CHECKED).then(|| solution.residuals[i] / redundancy.sqrt())
}

/// Names the observations that the others contradict, one after the other: the largest normalised residual is
/// taken out, the rest adjusted anew, until none is off. Nothing is taken out of the result itself.
pub(super) fn off(problem: &Problem, solution: &Solution, sheet: &Checked) -> Vec<Notice> {
    let (mut problem, mut solution) = (problem.clone(), solution.clone());
    let mut notices: Vec<Notice> = Vec::new();
    for _ in 0..MOST_NAMED {
        let worst = (0..problem.entries.len())
            .filter(|&i| !problem.entries[i].prior)
            .filter_map(|i| Some((i, normalised(&solution, i)?.abs())))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((worst, w)) = worst.filter(|(_, w)| *w > OFF) else { break };
        let together: Vec<usize> = match spot(&problem.entries[worst]) {
            Some(at) => (0..problem.entries.len()).filter(|&i| spot(&problem.entries[i]) == Some(at)).collect(),
            None => vec![worst],
        };
        let before: Vec<f64> = together.iter().map(|&i| problem.entries[i].u).collect();
        for &i in &together {
            problem.entries[i].u *= 1e5;
        }
        let Ok(without) = Solution::find(&Moved { problem: &problem, by: &[] }, &solution.unknowns) else { break };
        let off: Vec<f64> = together.iter().map(|&i| without.residuals[i] * problem.entries[i].u).collect();
        let off = off.iter().map(|v| v * v).sum::<f64>().sqrt();
        let notice = told(&problem, sheet, worst, off, w, before[0]);
        if !notices.iter().any(|n| n.about == notice.about && n.says == notice.says) {
            notices.push(notice);
        }
        solution = without;
    }
    notices
}

/// The mark that an entry is a coordinate of.
fn spot(entry: &Entry) -> Option<Spot> {
    match entry.seen {
        Seen::Pixel { spot, .. } | Seen::Straight { spot, .. } => Some(spot),
        _ => None,
    }
}

fn told(problem: &Problem, sheet: &Checked, worst: usize, off: f64, w: f64, u: f64) -> Notice {
    let entry = &problem.entries[worst];
    match spot(entry) {
        Some(Spot::Ruler { ruler, mark }) => {
            let at_mm = 1e3 * sheet.scales[ruler].marks[mark].1.value.si();
            let name = if sheet.scales.len() > 1 { format!(" of scale {}", ruler + 1) } else { String::new() };
            Notice::new("scale.marks", format!("the mark at {at_mm} mm{name} lies {off:.1} px from where the other marks put it"))
                .hint("place it again, or correct its reading")
        }
        Some(Spot::Plane(i)) => {
            Notice::new("plane.marks", format!("plane mark {} lies {off:.1} px from where the other marks put it", i + 1))
                .hint("place it again, or correct its coordinates")
        }
        Some(Spot::Orifice) => {
            Notice::new("orifice.centre", format!("the orifice centre lies {off:.1} px from where the plane marks put it"))
                .hint("plane marks are stated from the orifice centre, x along the jet and y downwards")
        }
        Some(Spot::Edge { edge, point }) => Notice::new(
            "lens.straight",
            format!(
                "straight edge {} bends: its point {} lies {off:.1} px off the line through the others",
                problem.edge_number(edge) + 1,
                point + 1
            ),
        )
        .hint("leave the edge out if it is not straight on the bench, or place the point again"),
        None => Notice::new(
            entry.name,
            format!(
                "{} {} ± {} {} and the other marks disagree by {off:.2} {}, {w:.1} times what their uncertainties allow",
                entry.name, short(entry.value), short(u), entry.unit, entry.unit
            ),
        )
        .hint("check it against the marks"),
    }
}

/// A number with four significant digits at most, for a message.
fn short(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let unit = 10f64.powf(value.abs().log10().floor() - 3.0);
    (value / unit).round() * unit
}

/// By how much the marks scatter more than their uncertainties allow: the Birge ratio, the root of the
/// variance factor over all that is not assumed, where it is too large to be chance (5 %); else 1.
///
/// R. T. Birge, Phys. Rev. 40 (1932) 207; the bound is the chi-squared quantile after Wilson and Hilferty,
/// Proc. Nat. Acad. Sci. 17 (1931) 684.
pub(super) fn birge_ratio(problem: &Problem, solution: &Solution) -> f64 {
    let (mut sum, mut free) = (0.0, 0.0);
    for (i, entry) in problem.entries.iter().enumerate() {
        if !entry.prior {
            sum += solution.residuals[i].powi(2);
            free += solution.redundancy(i);
        }
    }
    if free < 0.5 {
        return 1.0;
    }
    let spread = 2.0 / (9.0 * free);
    let bound = (1.0 - spread + 1.645 * spread.sqrt()).powi(3);
    if sum / free > bound { (sum / free).sqrt() } else { 1.0 }
}

/// The notice about marks whose uncertainties were enlarged.
pub(super) fn enlarged(ratio: f64) -> Notice {
    Notice::new(
        if ratio > 3.0 { "calibration" } else { "scale.marks" },
        format!(
            "the marks scatter {ratio:.1} times as much as their uncertainties say; all of them were enlarged by that"
        ),
    )
    .hint("look for a mark that is off, or state larger uncertainties")
}

/// What the sheet leaves to assumption.
pub(super) fn left_open(problem: &Problem, solution: &Solution, sheet: &Checked) -> Vec<Notice> {
    let mut notices = Vec::new();
    if sheet.plumb.is_none() && sheet.level.is_none() && sheet.plane.len() < 2 {
        notices.push(
            Notice::new("vertical", "nothing vertical is marked: the photo's own vertical is taken, doubtful by 1 deg")
                .hint("mark two points of a plumb line or of anything vertical"),
        );
    }
    let behind = sheet.scales.iter().map(|s| s.behind_jet.value.si()).chain([sheet.plane_behind_jet.value.si()]);
    let farthest_mm = behind.fold(0.0, |a: f64, b| if b.abs() > a.abs() { 1e3 * b } else { a });
    if farthest_mm != 0.0 && sheet.camera_distance.is_none() {
        let assumed = problem.entries.iter().any(|e| e.name == "camera.focal_length" && e.prior);
        let source =
            if assumed { "a guessed focal length" } else { "the focal length in the photo's metadata, doubtful" };
        notices.push(
            Notice::new(
                "camera.distance",
                format!("a scale stands {farthest_mm} mm behind the jet and no camera distance is stated: it is had from {source}"),
            )
            .hint("state the distance from the camera to the jet's plane"),
        );
    }
    let posterior = |i: usize| solution.covariance[(i, i)].sqrt();
    let prior = |i: usize| {
        let assumed = |e: &&Entry| e.prior && matches!(e.seen, Seen::Unknown { index, .. } if index == i);
        problem.entries.iter().find(assumed).map(|e| match e.seen {
            Seen::Unknown { factor, .. } => e.u / factor,
            _ => e.u,
        })
    };
    let open = |i: usize| prior(i).is_some_and(|u| posterior(i) > REPLACED * u);
    if open(YAW) || open(PITCH) {
        let u_deg = posterior(YAW).max(posterior(PITCH)).to_degrees();
        notices.push(
            Notice::new(
                "camera.squareness",
                format!("the marks do not tell how squarely the camera looked: {u_deg:.1} deg askew are allowed for"),
            )
            .hint("mark readings along two rulers at right angles, or four points of the jet's plane"),
        );
    }
    if open(K1) {
        notices.push(
            Notice::new(
                "lens",
                format!(
                    "nothing tells how the lens distorts: {:.1} % at the corner are allowed for",
                    100.0 * posterior(K1)
                ),
            )
            .hint("mark three or more points along each of two straight edges that pass near the photo's borders"),
        );
    }
    let k1 = solution.unknowns[..CAMERA][K1];
    if k1.abs() > MOST_K1 {
        notices.push(
            Notice::new(
                "lens.straight",
                format!("the marks make the lens distort by {:.0} % at the corner", 100.0 * k1),
            )
            .hint("check that the edges and rulers are straight on the bench"),
        );
    }
    notices
}
