//! A ruler read from the picture: the many lines of its graduation in place of two clicks.
//!
//! ```text
//! strips    the photo along the line between the end marks, on parallel lines beside it
//! spectrum  how many divisions lie between the marks: the strongest line over its surroundings
//! phases    where the divisions lie along the ruler, from the local phase of that line
//! course    a smooth course through the phases: scale, and its change along the ruler
//! ```
//! Only distances along the ruler are read, not which line is which: the marks as clicked give the place of the
//! whole, the graduation the distances between them. The local phase of a grating is the phase-measuring principle of
//! fringe analysis (M. Takeda, H. Ina and S. Kobayashi, 1982, J. Opt. Soc. Am. 72:156).

mod phases;
mod spectrum;

use crate::notice::{Notice, Warned};
use crate::photo::{Mix, Photo};
use crate::point::PixelPoint;
use rayon::prelude::*;

/// Graduations that rulers carry, mm: metric, then parts of an inch.
const ROUND_MM: [f64; 12] =
    [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.4 / 32.0, 25.4 / 16.0, 25.4 / 10.0, 25.4 / 8.0, 6.35, 12.7];
/// How far a found graduation may lie from a round one: a click at each end, 3 px off over a ruler of 500 px.
const ROUND_WITHIN: f64 = 0.012;
/// Fewest divisions between the marks that are worth reading.
const LEAST_DIVISIONS: f64 = 24.0;
/// Fewest pixels of a division.
const LEAST_PERIOD_PX: f64 = 2.6;
/// Samples a pixel along the ruler, about.
const SAMPLES_A_PX: f64 = 2.0;
/// A line of the spectrum this many times above the median around it may be a graduation. Lines of rendered rulers stand out 450
/// times and more; harmonics of a bar of blocks reach as far, and fall at [`MOST_SCATTER`] or [`LEAST_GAIN`].
const LEAST_STRENGTH: f64 = 100.0;
/// Scatter of the phases above which the graduation is not followed, in divisions and in px.
const MOST_SCATTER: (f64, f64) = (0.05, 0.3);
/// How many times surer than the two end clicks a reading must be to be worth taking.
const LEAST_GAIN: f64 = 4.0;
/// What is left of the distance between the end marks beyond the scatter, px: ticks that lean on a line that the lens bends.
/// Measured on six rendered rulers: 0.02, 0.02, 0.03, 0.08, 0.12 and 0.15 px.
const LEFT_OVER_U_PX: f64 = 0.15;

/// A ruler as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Graduation {
    /// The graduation, mm.
    pub pitch_mm: f64,
    /// Divisions between the end marks as the picture counts them; near a whole number where the marks are well placed.
    pub divisions: f64,
    /// The marks, moved along the ruler to where the graduation puts them, in the order given.
    pub marks: Vec<PixelPoint>,
    /// How far each mark was clicked from there along the ruler, px.
    pub off_px: Vec<f64>,
    /// Standard uncertainty of the distance between the end marks, px.
    pub u_px: f64,
    /// Scale at the first and at the last mark, px/mm.
    pub px_per_mm: (f64, f64),
}

/// Why no graduation was read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{reason}")]
pub struct NoGraduation {
    /// What is the case.
    pub reason: String,
    /// What to do.
    pub hint: &'static str,
}

/// Reads the graduation of the ruler under `marks` (place in the photo, reading in mm), each clicked with the standard
/// uncertainty `u_px`; `pitch_mm` where the user states the graduation, else a round one must come out.
///
/// Notices tell of marks more than three standard uncertainties off, and of a scale that changes along the ruler.
///
/// # Errors
/// [`NoGraduation`] for fewer than two marks, divisions too small or too few, and where the picture shows none.
pub fn graduation(
    photo: &Photo,
    marks: &[(PixelPoint, f64)],
    u_px: f64,
    pitch_mm: Option<f64>,
) -> Result<Warned<Graduation>, NoGraduation> {
    let no = |reason: String, hint| Err(NoGraduation { reason, hint });
    let (Some(first), Some(last)) = (
        marks.iter().min_by(|a, b| a.1.total_cmp(&b.1)).copied(),
        marks.iter().max_by(|a, b| a.1.total_cmp(&b.1)).copied(),
    ) else {
        return no("a ruler needs two marks".into(), "mark two readings far apart");
    };
    let (length_mm, length_px) = (last.1 - first.1, first.0.distance(last.0));
    if !(length_mm > 0.0 && length_px >= 100.0) {
        return no(
            format!("the end marks lie {length_px:.0} px and {length_mm} mm apart"),
            "mark two readings at least 100 px apart",
        );
    }
    let (lo, hi) = match pitch_mm {
        Some(pitch) => (0.97 * length_mm / pitch, 1.03 * length_mm / pitch),
        None => (LEAST_DIVISIONS, length_px / LEAST_PERIOD_PX),
    };
    if lo < 0.9 * LEAST_DIVISIONS || hi > 1.05 * length_px / LEAST_PERIOD_PX || hi <= lo {
        return no(
            format!("{lo:.0} to {hi:.0} divisions in {length_px:.0} px are too few or too fine to be read"),
            "keep to the marks as clicked, or take the photo from nearer",
        );
    }
    let strips = strips(photo, first.0, last.0);
    let found = spectrum::strongest(&strips, lo, hi);
    let Some(line) = found.filter(|f| f.strength >= LEAST_STRENGTH) else {
        return no(
            "no graduation shows along the line between the marks".into(),
            "mark along the ruler's edge where its lines are, or keep to the marks as clicked",
        );
    };
    let seen_mm = length_mm / line.divisions;
    let round = |p: &f64| (p / seen_mm - 1.0).abs();
    let nearest = match pitch_mm {
        Some(pitch) => pitch,
        None => ROUND_MM.into_iter().min_by(|a, b| round(a).total_cmp(&round(b))).unwrap_or(seen_mm),
    };
    if pitch_mm.is_none() && round(&nearest) > ROUND_WITHIN {
        return no(
            format!(
                "the picture shows {:.1} divisions between the marks, {seen_mm:.3} mm each: no usual graduation",
                line.divisions
            ),
            "check the marks' readings or the stated length",
        );
    }
    let divisions = length_mm / nearest;
    let course = phases::course(&strips[line.strip], divisions, length_px);
    let period_px = length_px / divisions;
    let Some(course) = course.filter(|c| c.scatter_px <= (MOST_SCATTER.0 * period_px).min(MOST_SCATTER.1)) else {
        return no(
            format!("the {nearest} mm graduation cannot be followed from one end mark to the other"),
            "mark a stretch of the ruler that nothing covers, or keep to the marks as clicked",
        );
    };
    let (read_u, clicked_u) = (course.ends_u_px.hypot(LEFT_OVER_U_PX), std::f64::consts::SQRT_2 * u_px);
    if LEAST_GAIN * read_u > clicked_u {
        return no(
            format!(
                "the {nearest} mm graduation gives the distance between the end marks to {read_u:.2} px, hardly better than the clicks ({clicked_u:.2} px)"
            ),
            "keep to the marks as clicked",
        );
    }
    Ok(told(marks, first, length_mm, length_px, nearest, divisions, &course, u_px))
}

/// Puts the marks where the graduation has them and tells what is odd.
#[allow(clippy::too_many_arguments, reason = "one caller; each is one number of the ruler")]
fn told(
    marks: &[(PixelPoint, f64)],
    first: (PixelPoint, f64),
    length_mm: f64,
    length_px: f64,
    pitch_mm: f64,
    divisions: f64,
    course: &phases::Course,
    u_px: f64,
) -> Warned<Graduation> {
    let last = marks.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(first.0, |m| m.0);
    let along = [(last.x - first.0.x) / length_px, (last.y - first.0.y) / length_px];
    // even spacing between the clicked ends, then what the graduation says of it
    let placed = |mm: f64| {
        let even = (mm - first.1) / length_mm * length_px;
        even + course.shift_px(even)
    };
    let clicked = |p: PixelPoint| (p.x - first.0.x) * along[0] + (p.y - first.0.y) * along[1];
    let mut off: Vec<f64> = marks.iter().map(|(p, mm)| clicked(*p) - placed(*mm)).collect();
    // the place of the whole is the clicks' to give; the median, so that one bad click does not move it
    let mut sorted = off.clone();
    sorted.sort_unstable_by(f64::total_cmp);
    let whole = 0.5 * (sorted[(sorted.len() - 1) / 2] + sorted[sorted.len() / 2]);
    off.iter_mut().for_each(|o| *o -= whole);
    let moved =
        marks.iter().zip(&off).map(|((p, _), o)| PixelPoint::new(p.x - o * along[0], p.y - o * along[1])).collect();
    let mut notices = Vec::new();
    for ((p, mm), o) in marks.iter().zip(&off).filter(|(_, o)| o.abs() > 3.0 * u_px) {
        let says = format!(
            "the mark at {mm:.1} mm, ({:.1}, {:.1}) px, lies {:.1} px from where the graduation has it",
            p.x,
            p.y,
            o.abs()
        );
        notices.push(Notice::new("scale.marks", says).doubt().hint("look at the mark again"));
    }
    let scale = |s: f64| (length_px / length_mm) * (1.0 + course.slope(s));
    let px_per_mm = (scale(0.0), scale(length_px));
    let change = px_per_mm.1 / px_per_mm.0 - 1.0;
    if change.abs() > 0.005 {
        let says = format!("the scale changes by {:.1} % along the ruler: the camera looked askew", 100.0 * change);
        notices.push(Notice::new("scale.marks", says).hint("mark several readings along it, or the plane"));
    }
    let stretch = course.shift_px(length_px) - course.shift_px(0.0);
    Warned {
        value: Graduation {
            pitch_mm,
            divisions: divisions * (1.0 - stretch / length_px),
            marks: moved,
            off_px: off,
            u_px: course.ends_u_px.hypot(LEFT_OVER_U_PX),
            px_per_mm,
        },
        notices,
    }
}

/// The photo along the line from `a` to `b` and beside it: each strip the mean of a few parallel lines.
fn strips(photo: &Photo, a: PixelPoint, b: PixelPoint) -> Vec<Vec<f64>> {
    let length = a.distance(b);
    let along = [(b.x - a.x) / length, (b.y - a.y) / length];
    let reach = (0.03 * length).clamp(8.0, 60.0) as i64;
    let thick = ((reach / 6) | 1).max(3);
    // a whole number of samples from mark to mark, so that the last division ends with the last sample
    let samples = (length * SAMPLES_A_PX) as usize;
    let step = length / samples as f64;
    let lines: Vec<Vec<f32>> = (-reach..=reach)
        .into_par_iter()
        .map(|n| {
            let (ox, oy) = (a.x - n as f64 * along[1], a.y + n as f64 * along[0]);
            (0..samples)
                .map(|i| {
                    let s = i as f64 * step;
                    photo.sample(ox + s * along[0], oy + s * along[1], Mix::LUMA)
                })
                .collect()
        })
        .collect();
    let (thick, half) = (thick as usize, (thick / 2).max(1) as usize);
    (0..=lines.len().saturating_sub(thick))
        .step_by(half)
        .map(|k| (0..samples).map(|i| lines[k..k + thick].iter().map(|l| f64::from(l[i])).sum::<f64>()).collect())
        .collect()
}
