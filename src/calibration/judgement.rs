//! What the adjusted marks say of one another: marks that are off, edges that bend, marks that
//! scatter more than they should, and what the sheet leaves open.

use super::Estimate;
use super::adjust::Solution;
use super::assumptions::UNKNOWN_FOCAL;
use super::model::{CAMERA, Entry, K1, Mark, Moved, PITCH, Problem, Seen, YAW};
use crate::notice::Notice;
use crate::quantity::{Kind, Length};
use crate::sheet::Checked;

/// Normalised residual from which a mark is called off. W. Baarda, "A testing procedure for use in geodetic
/// networks", Publications on Geodesy, New Series 2(5), Delft 1968, tests each mark by w = r / (u sqrt(redundancy)), standard normal while all is well;
/// 3.5 is exceeded by one sound mark in 2000, so by one sheet of fifty marks in forty.
const OFF: f64 = 3.5;
/// Below this redundancy number a mark is checked by nothing else, and its residual says nothing.
const CHECKED: f64 = 1e-3;
/// The focal length's entry.
const METADATA: &str = "camera.focal_length";
/// Marks named at most; beyond that the sheet has one large fault rather than many small ones.
const MOST_NAMED: usize = 4;
/// A lens that seems to distort more than this at the corner is more likely an edge that bends.
const MOST_K1: f64 = 0.15;
/// A vertical that its own marks leave open by more than this is told: 0.25 deg are some 0.3 % of a velocity.
const DOUBTFUL_DEG: f64 = 0.25;
/// A doubt of the camera's distance that costs more than this share of every length is told.
const DOUBTFUL_SHARE: f64 = 2e-4;
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
    let (mut tested, mut left) = (problem.clone(), solution.clone());
    let (mut notices, mut bent) = (Vec::new(), Vec::new());
    for _ in 0..MOST_NAMED {
        let worst = (0..tested.entries.len())
            .filter(|&i| !tested.entries[i].prior)
            .filter_map(|i| Some((i, normalised(&left, i)?.abs() * doubt(&tested.entries[i]))))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((worst, w)) = worst.filter(|(_, w)| *w > OFF) else { break };
        let together: Vec<usize> = match spot(&tested.entries[worst]) {
            Some(at) => (0..tested.entries.len()).filter(|&i| spot(&tested.entries[i]) == Some(at)).collect(),
            None => vec![worst],
        };
        // two marks whose ruler was read: which of them is off nothing tells, and without one of them the ruler could turn
        let pair = pair_with_lines(problem, worst, sheet);
        let apart =
            2.0 * together.iter().map(|&i| (left.residuals[i] * tested.entries[i].u).powi(2)).sum::<f64>().sqrt();
        for (i, entry) in tested.entries.iter_mut().enumerate() {
            if pair.is_some() && scale_of(entry) == pair {
                entry.u *= 10.0;
            } else if pair.is_none() && together.contains(&i) {
                entry.u *= 1e5;
            }
        }
        let Ok(without) = Solution::find(&Moved { problem: &tested, by: &[] }, &left.unknowns) else { break };
        left = without;
        let off = together.iter().map(|&i| (left.residuals[i] * tested.entries[i].u).powi(2)).sum::<f64>().sqrt();
        match problem.entries[worst].seen {
            Seen::Straight { edge, .. } if bent.contains(&edge) => {}
            Seen::Straight { edge, point, .. } => {
                bent.push(edge);
                notices.push(bends(&straightness(problem, solution)[edge], point, off));
            }
            _ => notices.push(told(problem, worst, sheet, if pair.is_some() { apart } else { off }, w)),
        }
    }
    notices
}

/// Takes nearly all weight from a focal length that the marks contradict; `true` where one was.
pub(super) fn set_metadata_aside(problem: &mut Problem, notices: &[Notice]) -> bool {
    let contradicted = notices.iter().any(|n| n.about == METADATA);
    for entry in problem.entries.iter_mut().filter(|e| contradicted && e.name == METADATA) {
        entry.u = UNKNOWN_FOCAL * entry.value;
    }
    contradicted
}

/// How far a mark lies from where the adjusted camera puts it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarkResidual {
    /// Which mark.
    pub mark: Mark,
    /// As placed less as adjusted: to the right and downwards, px.
    pub residual_px: [f64; 2],
    /// The larger of its two normalised residuals (Baarda's w, unsigned); `None` where nothing else checks the mark.
    pub normalised: Option<f64>,
}

/// Every mark, in the order of the observations.
pub(super) fn mark_residuals(problem: &Problem, solution: &Solution) -> Vec<MarkResidual> {
    let mut marks: Vec<MarkResidual> = Vec::new();
    for (i, entry) in problem.entries.iter().enumerate() {
        let Seen::Pixel { spot, axis } = entry.seen else { continue };
        if axis == 0 {
            marks.push(MarkResidual { mark: spot, residual_px: [0.0; 2], normalised: None });
        }
        let Some(mark) = marks.last_mut() else { continue };
        mark.residual_px[axis] = solution.residuals[i] * entry.u;
        let w = normalised(solution, i).map(f64::abs);
        mark.normalised = w.into_iter().chain(mark.normalised).reduce(f64::max);
    }
    marks
}

/// How straight an edge of the sheet comes out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Straightness {
    /// Its place in the sheet's list, from 0.
    pub edge: usize,
    /// Root mean square of its points' distances from the line, px.
    pub rms_px: f64,
    /// The largest of them, px.
    pub largest_px: f64,
}

/// Every edge that took part, as adjusted.
pub(super) fn straightness(problem: &Problem, solution: &Solution) -> Vec<Straightness> {
    let points = problem.entries.iter().enumerate().filter_map(|(i, entry)| match entry.seen {
        Seen::Straight { edge, .. } => Some((edge, solution.residuals[i] * entry.u)),
        _ => None,
    });
    let mut edges: Vec<Vec<f64>> = Vec::new();
    for (edge, residual) in points {
        edges.resize_with(edges.len().max(edge + 1), Vec::new);
        edges[edge].push(residual);
    }
    let told = |(edge, residuals): (usize, &Vec<f64>)| Straightness {
        edge: problem.edge_number(edge),
        rms_px: (residuals.iter().map(|r| r * r).sum::<f64>() / residuals.len() as f64).sqrt(),
        largest_px: residuals.iter().fold(0.0, |a, r| a.max(r.abs())),
    };
    edges.iter().enumerate().map(told).collect()
}

fn bends(edge: &Straightness, point: usize, off: f64) -> Notice {
    let (number, rms) = (edge.edge + 1, edge.rms_px);
    let says = format!(
        "straight edge {number} bends by {rms:.1} px rms: its point {} lies {off:.1} px off the line of the others",
        point + 1
    );
    Notice::new("lens.straight", says)
        .doubt()
        .hint("leave the edge out if it is not straight on the bench, or place the point again")
}

/// Of two observations that contradict only each other both have the same w, but for rounding. Metadata are the more
/// doubtful; of a mark and what is stated of it the mark, since that tells which.
fn doubt(entry: &Entry) -> f64 {
    match entry.seen {
        _ if entry.name == METADATA => 1.001,
        Seen::Unknown { .. } => 0.999,
        _ => 1.0,
    }
}

/// The scale, two marks whose ruler was read in the photo, that entry `i` is a coordinate of a mark of.
fn pair_with_lines(problem: &Problem, i: usize, sheet: &Checked) -> Option<usize> {
    scale_of(&problem.entries[i]).filter(|s| sheet.scales[*s].is_pair && problem.rulers[*s].lines.is_some())
}

/// The scale that an entry is a coordinate of a mark of.
fn scale_of(entry: &Entry) -> Option<usize> {
    if let Some(Mark::Scale { scale, .. }) = spot(entry) { Some(scale) } else { None }
}

/// The mark that an entry is one of two coordinates of.
fn spot(entry: &Entry) -> Option<Mark> {
    if let Seen::Pixel { spot, .. } = entry.seen { Some(spot) } else { None }
}

fn told(problem: &Problem, worst: usize, sheet: &Checked, off: f64, w: f64) -> Notice {
    let entry = &problem.entries[worst];
    if let Seen::Division { ruler, distance_mm, .. } = entry.seen {
        let from_mm = problem.rulers[ruler].lines.as_ref().map_or(0.0, |l| l.from_mm);
        let name = if sheet.scales.len() > 1 { format!(" of scale {}", ruler + 1) } else { String::new() };
        let says = format!(
            "the lines{name} near {} mm lie {off:.2} px from where the others put them",
            short(from_mm + distance_mm)
        );
        return Notice::new("scale.graduation", says)
            .hint("is the ruler covered or bent there? mark a stretch of it that is straight and free");
    }
    let notice = match spot(entry) {
        Some(Mark::Scale { .. }) if pair_with_lines(problem, worst, sheet).is_some() => {
            let says = format!("the distance of the two marks is {off:.1} px off what the ruler's lines make it");
            Notice::new("scale.marks", says).hint("place both again, or correct the length")
        }
        Some(Mark::Scale { scale: ruler, mark }) => {
            let at_mm = short_mm(sheet.scales[ruler].marks[mark].1.value);
            let name = if sheet.scales.len() > 1 { format!(" of scale {}", ruler + 1) } else { String::new() };
            Notice::new(
                "scale.marks",
                format!("the mark at {at_mm} mm{name} lies {off:.1} px from where the other marks put it"),
            )
            .hint("place it again, or correct its reading")
        }
        Some(Mark::Plane { mark: i }) => Notice::new(
            "plane.marks",
            format!("plane mark {} lies {off:.1} px from where the other marks put it", i + 1),
        )
        .hint("place it again, or correct its coordinates"),
        Some(Mark::Card { mark: i }) => {
            let number = sheet.card.as_ref().and_then(|c| c.marks.get(i)).map_or(0, |m| m.0);
            Notice::new(
                "card.marks",
                format!("mark {number} of the card lies {off:.1} px from where the other marks put it"),
            )
            .hint("take it out of card.marks, or place it again; is the card flat?")
        }
        Some(Mark::Orifice) => Notice::new(
            "orifice.centre",
            format!("the orifice centre lies {off:.1} px from where the plane marks put it"),
        )
        .hint("plane marks are stated from the orifice centre, x along the jet and y downwards"),
        None => {
            let unit = if entry.unit.is_empty() { String::new() } else { format!(" {}", entry.unit) };
            let says = format!(
                "{} \u{b1} {}{unit} and the marks disagree by {}{unit}, {w:.1} times what their uncertainties allow",
                short(entry.value),
                short(entry.u),
                short(off)
            );
            if entry.name == METADATA {
                let says = format!("the focal length in the photo's metadata, {says}: it is set aside");
                // it is set aside: nothing hangs on it any more
                return Notice::new(entry.name, says)
                    .hint("was the photo cropped after it was taken, or the distance misread?");
            }
            Notice::new(entry.name, says).hint("check it, and the marks")
        }
    };
    notice.doubt()
}

/// A length in mm to the micrometre, for a message.
pub(super) fn short_mm(length: Length) -> f64 {
    (1e6 * length.si()).round() / 1e3
}

/// A number to four significant digits, for a message.
fn short(value: f64) -> String {
    let decimals = if value == 0.0 { 0.0 } else { 3.0 - value.abs().log10().floor() };
    format!("{value:.*}", decimals.clamp(0.0, 9.0) as usize)
}

/// By how much the marks scatter more than their uncertainties allow: the Birge ratio, the root of the
/// variance factor over all that is not assumed, where it is too large to be chance (5 %); else 1.
///
/// R. T. Birge, Phys. Rev. 40 (1932) 207; the bound is the chi-squared quantile after Wilson and Hilferty,
/// Proc. Nat. Acad. Sci. 17 (1931) 684.
/// Of lines read from the photo (`lines`), or of all else.
pub(super) fn birge_ratio(problem: &Problem, solution: &Solution, lines: bool) -> f64 {
    let (mut sum, mut free) = (0.0, 0.0);
    for (i, entry) in problem.entries.iter().enumerate() {
        // Metadata of a cropped photo are wrong as a whole; that says nothing of the clicks.
        if !entry.prior && entry.name != METADATA && entry.is_line() == lines {
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

/// The key of the marks that a sheet's scale comes from, the first of its kinds.
pub(super) fn marks_of(sheet: &Checked) -> &'static str {
    match (sheet.scales.is_empty(), sheet.plane.is_empty(), sheet.card.is_some()) {
        (true, false, _) => "plane.marks",
        (true, true, true) => "card.marks",
        _ => "scale.marks",
    }
}

/// The notice about marks whose uncertainties were enlarged.
pub(super) fn enlarged(ratio: f64, sheet: &Checked, lines: bool) -> Notice {
    if lines {
        let says = format!(
            "the lines read on rulers scatter {ratio:.1} times as much as a camera with a simple lens sees them; their \
             uncertainties were enlarged by that"
        );
        return Notice::new("scale.graduation", says).hint("is a ruler bent, or not parallel to the jet's plane?");
    }
    let about = marks_of(sheet);
    let says = format!(
        "the marks scatter {ratio:.1} times as much as their uncertainties say; all of these were enlarged by that"
    );
    Notice::new(about, says).doubt().hint("look for a mark that is off, or state larger uncertainties")
}

/// What the sheet leaves to assumption.
pub(super) fn left_open(problem: &Problem, solution: &Solution, distance: &Estimate, sheet: &Checked) -> Vec<Notice> {
    let mut notices = Vec::new();
    if sheet.plumb.is_none() && sheet.level.is_none() && sheet.plane.len() < 2 {
        let says = "nothing vertical is marked: the photo's own vertical is taken, doubtful by 1 deg";
        // what a card leans on may lean itself
        let notice = match sheet.card {
            Some(_) => Notice::new("vertical", format!("{says}; that the scale card stands upright is not taken for granted"))
                .hint(
                    "mark two points of a plumb line (plumb) or of a level line (level) under [vertical]; where the card was set \
                     up with a level, two of its marks one above the other are such a plumb line",
                ),
            None => Notice::new("vertical", says).hint("mark two points of a plumb line or of anything vertical"),
        };
        notices.push(notice);
    }
    for (i, edge) in sheet.straight.iter().enumerate().filter(|(_, edge)| edge.len() < 3) {
        let says = format!("straight edge {} has {} points, which say nothing of the lens", i + 1, edge.len());
        notices.push(Notice::new("lens.straight", says).hint("mark three or more points along it"));
    }
    for entry in &problem.entries {
        if matches!(entry.seen, Seen::Line { .. }) && entry.u > DOUBTFUL_DEG {
            notices.push(
                Notice::new(entry.name, format!("its two marks are so close that they leave {:.1} deg open", entry.u))
                    .hint("mark two points as far apart as the photo shows"),
            );
        }
    }
    let behind = sheet.scales.iter().map(|s| &s.behind_jet).chain(sheet.card.iter().map(|c| &c.behind_jet));
    let behind = behind.chain([&sheet.plane_behind_jet]).map(|b| b.value.si());
    let farthest_mm = behind.fold(0.0, |a: f64, b| if (1e3 * b).abs() > a.abs() { 1e3 * b } else { a });
    // What the doubt of the distance D does to a length by a scale b behind: b/D u(D)/D.
    let doubt = farthest_mm.abs() / distance.value * distance.u / distance.value;
    if sheet.camera_distance.is_none() && doubt > DOUBTFUL_SHARE {
        let assumed = problem.entries.iter().any(|e| e.name == "camera.focal_length" && e.prior);
        let source =
            if assumed { "a guessed focal length" } else { "the focal length in the photo's metadata, doubtful" };
        let side = if farthest_mm > 0.0 { "behind" } else { "in front of" };
        notices.push(
            Notice::new(
                "camera.distance",
                format!(
                    "a scale stands {} mm {side} the jet and no camera distance is stated: {:.2} m \u{b1} {:.2} m are had from {source}",
                    farthest_mm.abs(),
                    1e-3 * distance.value,
                    1e-3 * distance.u
                ),
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
