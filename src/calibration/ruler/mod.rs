//! A ruler read from the picture: the many lines of its graduation, or the edges of its blocks, in place of two clicks.
//!
//! ```text
//! strips    the photo along the line between the end marks, in rows beside it
//! phases    fine graduations: where the lines lie, from the local phase of the line they make in the spectrum
//! ticks     coarse ones and blocks: each line, each edge by itself
//! course    a smooth course through what was seen: scale, its change along the ruler, the lean of the lines
//! spectrum  where nothing fits: what the picture shows instead
//! ```
//! Only distances along the ruler are read, not which line is which: the marks as clicked give the place of the
//! whole, the graduation the distances between them. The local phase of a grating is the phase-measuring principle of
//! fringe analysis (M. Takeda, H. Ina and S. Kobayashi, 1982, J. Opt. Soc. Am. 72:156).

mod course;
mod phases;
mod spectrum;
mod strips;
mod ticks;

pub use ticks::Kind;

use crate::notice::{Notice, Warned};
use crate::photo::Photo;
use crate::point::PixelPoint;
use course::Course;
use strips::Strips;

/// Graduations that rulers and bars carry, mm: metric, then parts of an inch.
const ROUND_MM: [f64; 18] = [
    0.5,
    1.0,
    2.0,
    5.0,
    10.0,
    20.0,
    25.0,
    50.0,
    100.0,
    200.0,
    25.4 / 32.0,
    25.4 / 16.0,
    25.4 / 10.0,
    25.4 / 8.0,
    25.4 / 4.0,
    12.7,
    25.4,
    50.8,
];
/// How far the divisions counted may be from the length between the marks, as a share: a click of each end 3 px off over 500 px.
const ROUND_WITHIN: f64 = 0.012;
/// How far a reading may lie from a line of a graduation that nobody stated, in divisions.
const ON_A_LINE: f64 = 0.06;
/// Scatter about the course above which a graduation is not followed, in divisions and in px: of phases, of single lines.
const MOST_SCATTER: [(f64, f64); 2] = [(0.05, 0.3), (0.02, 0.6)];
/// Share of the places along the ruler at which it must be seen.
const LEAST_SEEN: f64 = 0.8;
/// Fewest lines or edges seen one by one: where the pitch is to be found, and where it is stated.
const LEAST_LINES: (usize, usize) = (8, 5);
/// How many times surer than the two end clicks a reading must be to be worth taking.
const LEAST_GAIN: f64 = 2.0;
/// Of readings no more than this many times less sure than the best the finest is told.
const AS_GOOD: f64 = 1.5;
/// What is left of the distance between the end marks beyond the scatter, px: marks and lines do not lie at the same height of
/// a ruler, and lines lean. Measured on rendered rulers of known truth: see DEVELOPERS.md.
pub(super) const LEFT_OVER_U_PX: f64 = 0.15;

/// A ruler as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Graduation {
    /// Lines, or blocks.
    pub kind: Kind,
    /// The graduation, mm: from line to line, or the length of a block.
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
    /// Where divisions were seen, condensed to a few.
    pub seen: Vec<SeenDivision>,
    origin: PixelPoint,
    along: [f64; 2],
    length_px: f64,
    length_mm: f64,
    course: Course,
}

/// Where one division was seen, the mean of those around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenDivision {
    /// Its distance from the first division, mm; the first mark lies near that, but need not lie on it.
    pub at_mm: f64,
    /// Its place along the line from the first mark to the last, px from the first.
    pub along_px: f64,
    /// By how much that place grows for each pixel beside the line.
    pub lean: f64,
    /// Standard uncertainty of the place, px, but for what the whole ruler shares ([`Graduation::u_px`]).
    pub u_px: f64,
}

/// Most places that a ruler's divisions are condensed to, and what each is sure to at best, px: lenses bend
/// more than the model's two terms, and paint is not drawn better.
const MOST_SEEN: usize = 12;
const SEEN_U_PX: f64 = 0.1;

impl Graduation {
    /// Distance between the end marks as the graduation has it, over their readings: the mean scale, px/mm.
    pub fn mean_px_per_mm(&self) -> f64 {
        (self.length_px + stretch_px(&self.course, self.length_px)) / self.length_mm
    }

    /// Change of the scale from the first mark to the last, as a share.
    pub fn change(&self) -> f64 {
        self.px_per_mm.1 / self.px_per_mm.0 - 1.0
    }

    /// The point where the line from the first mark to the last crosses each division between them.
    pub fn lines(&self) -> Vec<PixelPoint> {
        let period = self.length_px * self.pitch_mm / self.length_mm;
        let count = (self.length_px / period).round() as usize;
        let at = |k: usize| {
            let even = k as f64 * period;
            let s = even + self.course.shift_px(even, 0.0);
            PixelPoint::new(self.origin.x + s * self.along[0], self.origin.y + s * self.along[1])
        };
        (0..=count).map(at).collect()
    }

    /// The first mark, from which places along the line count, and the line's direction.
    pub fn line(&self) -> (PixelPoint, [f64; 2]) {
        (self.origin, self.along)
    }
}

/// By how much the graduation has the end marks farther apart than they were clicked.
fn stretch_px(course: &Course, length_px: f64) -> f64 {
    course.shift_px(length_px, 0.0) - course.shift_px(0.0, 0.0)
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

const KEEP: &str = "keep to the marks as clicked, or take the photo from nearer";

/// A graduation that is tried, and what came of it.
struct Tried {
    kind: Kind,
    /// Whether its lines were seen one by one.
    one_by_one: bool,
    pitch_mm: f64,
    course: Course,
    /// Mean power of each row at this period, where lines were not seen one by one.
    powers: Vec<f64>,
}

/// Reads the graduation of the ruler under `marks` (place in the photo, reading in mm), each clicked with the standard
/// uncertainty `u_px`; `pitch_mm` where the user states the graduation, else a usual one must come out, on which all readings lie.
///
/// Notices tell of a scale that changes along the ruler. Marks that are off have their distance in [`Graduation::off_px`].
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
    let by_reading = |a: &&(PixelPoint, f64), b: &&(PixelPoint, f64)| a.1.total_cmp(&b.1);
    let ends = (marks.iter().min_by(by_reading).copied(), marks.iter().max_by(by_reading).copied());
    let (Some(first), Some(last)) = ends else {
        return no("a ruler needs two marks".into(), "mark two readings far apart");
    };
    let (length_mm, length_px) = (last.1 - first.1, first.0.distance(last.0));
    if !(length_mm > 0.0 && length_px >= 100.0) {
        return no(
            format!("the end marks lie {length_px:.0} px and {length_mm} mm apart"),
            "mark two readings at least 100 px apart",
        );
    }
    let strips = Strips::new(photo, first.0, last.0);
    let pitches: Vec<f64> = match pitch_mm {
        Some(pitch) => vec![pitch],
        None => ROUND_MM.into_iter().filter(|p| all_on_lines(marks, first.1, *p)).collect(),
    };
    let mut followed: Vec<Tried> = Vec::new();
    let mut reason = None;
    for pitch in pitches {
        for tried in tries(&strips, pitch, length_mm) {
            match refused(&tried, length_mm, length_px, u_px, pitch_mm.is_some()) {
                None => followed.push(tried),
                // lines one by one are found anywhere: only a graduation that was asked for is missed
                Some(why) if pitch_mm.is_some() || !tried.one_by_one => reason = reason.or(Some(why)),
                Some(_) => {}
            }
        }
    }
    match chosen(followed, length_px / length_mm) {
        Some(tried) => Ok(told(marks, first, last, tried)),
        None => Err(reason.unwrap_or_else(|| shown_instead(&strips, length_mm, pitch_mm))),
    }
}

/// The finest graduation of those followed that is surely one: not much less sure than the best, and no overtone of a coarser one.
/// That is stronger in the very rows where the overtone is strongest; or it shows line by line, and the overtone, as far apart
/// as lines can be seen one by one, does not.
fn chosen(followed: Vec<Tried>, px_per_mm: f64) -> Option<Tried> {
    let u_px = |t: &Tried| t.course.ends_u_px.hypot(LEFT_OVER_U_PX);
    let best = followed.iter().map(u_px).fold(f64::INFINITY, f64::min);
    let line_by_line = |t: &Tried| t.one_by_one && t.kind == Kind::Lines;
    let is_overtone = |t: &Tried| {
        let far_apart = !t.one_by_one && t.pitch_mm * px_per_mm >= ticks::LEAST_PERIOD_PX;
        if far_apart && !followed.iter().any(|c| line_by_line(c) && c.pitch_mm == t.pitch_mm) {
            return followed.iter().any(|c| line_by_line(c) && c.pitch_mm > 1.5 * t.pitch_mm);
        }
        let strongest = (0..t.powers.len()).max_by(|a, b| t.powers[*a].total_cmp(&t.powers[*b]));
        strongest.is_some_and(|row| {
            let coarser = followed.iter().filter(|c| c.pitch_mm > 1.5 * t.pitch_mm);
            coarser.filter_map(|c| c.powers.get(row)).any(|power| *power > t.powers[row])
        })
    };
    let sound: Vec<bool> = followed.iter().map(|t| u_px(t) <= AS_GOOD * best && !is_overtone(t)).collect();
    let sound = followed.into_iter().zip(sound).filter(|(_, sound)| *sound).map(|(t, _)| t);
    sound.min_by(|a, b| a.pitch_mm.total_cmp(&b.pitch_mm).then(u_px(a).total_cmp(&u_px(b))))
}

/// Whether every reading lies on a line of this graduation, as seen from the first.
fn all_on_lines(marks: &[(PixelPoint, f64)], first_mm: f64, pitch_mm: f64) -> bool {
    marks.iter().all(|(_, mm)| {
        let divisions = (mm - first_mm) / pitch_mm;
        (divisions - divisions.round()).abs() <= ON_A_LINE
    })
}

/// The ways in which a graduation may show.
fn tries(strips: &Strips, pitch_mm: f64, length_mm: f64) -> Vec<Tried> {
    let divisions = length_mm / pitch_mm;
    let through = |(sightings, places): (Vec<course::Sighting>, usize)| {
        Course::through(&sightings, places, strips.length_px, strips.reach_px)
    };
    let seen = phases::SIDE_BY_SIDE.iter().find_map(|count| phases::seen(strips, divisions, *count));
    let fine = seen.and_then(|seen| {
        let course = through((seen.sightings, seen.windows))?;
        Some(Tried { kind: Kind::Lines, one_by_one: false, pitch_mm, course, powers: seen.powers })
    });
    let one_by_one = |kind| {
        let course = through(ticks::sightings(strips, divisions, kind)?)?;
        Some(Tried { kind, one_by_one: true, pitch_mm, course, powers: Vec::new() })
    };
    fine.into_iter().chain(one_by_one(Kind::Lines)).chain(one_by_one(Kind::Blocks)).collect()
}

/// Why a graduation that was followed is not taken.
fn refused(tried: &Tried, length_mm: f64, length_px: f64, u_px: f64, stated: bool) -> Option<NoGraduation> {
    let Tried { pitch_mm, course, kind, one_by_one, .. } = tried;
    let no = |reason: String, hint| Some(NoGraduation { reason, hint });
    let what = name(*pitch_mm, *kind);
    let period_px = length_px * pitch_mm / length_mm;
    let most = MOST_SCATTER[usize::from(*one_by_one)];
    let fewest = if stated { LEAST_LINES.1 } else { LEAST_LINES.0 };
    if course.scatter_px > (most.0 * period_px).min(most.1) || course.seen < LEAST_SEEN || course.places.len() < fewest
    {
        return no(
            format!("{what} cannot be followed from one end mark to the other"),
            "mark a stretch of the ruler that nothing covers, or keep to the marks as clicked",
        );
    }
    let stretch = stretch_px(course, length_px) / length_px;
    if stretch.abs() > ROUND_WITHIN {
        let says = format!(
            "{what}: the picture counts {:.1} divisions between the end marks, where their readings have {:.1}",
            length_mm / pitch_mm * (1.0 - stretch),
            length_mm / pitch_mm
        );
        return no(says, "check the marks' readings or the stated length");
    }
    let (read_u, clicked_u) = (course.ends_u_px.hypot(LEFT_OVER_U_PX), std::f64::consts::SQRT_2 * u_px);
    if LEAST_GAIN * read_u > clicked_u {
        return no(
            format!(
                "{what} gives the distance between the end marks to {read_u:.2} px, hardly better than the clicks ({clicked_u:.2} px)"
            ),
            "keep to the marks as clicked",
        );
    }
    None
}

/// `the 1 mm graduation`, `the bar of 50 mm blocks`; parts of an inch as such.
fn name(pitch_mm: f64, kind: Kind) -> String {
    let pitch = pitch_text(pitch_mm);
    match kind {
        Kind::Lines => format!("the {pitch} graduation"),
        Kind::Blocks => format!("the bar of {pitch} blocks"),
    }
}

/// A pitch as it stands on rulers: `1 mm`, `1/16 in`.
pub fn pitch_text(pitch_mm: f64) -> String {
    let whole_mm = (pitch_mm - pitch_mm.round()).abs() < 1e-9;
    for parts in [1.0, 2.0, 4.0, 8.0, 10.0, 16.0, 32.0, 64.0] {
        let inches = pitch_mm / 25.4 * parts;
        if !whole_mm && (inches - inches.round()).abs() < 1e-6 && inches >= 0.5 {
            let top = inches.round();
            return if parts == 1.0 { format!("{top} in") } else { format!("{top}/{parts} in") };
        }
    }
    format!("{} mm", (1e6 * pitch_mm).round() / 1e6)
}

/// What to say where nothing could be followed.
fn shown_instead(strips: &Strips, length_mm: f64, stated: Option<f64>) -> NoGraduation {
    if let Some(pitch) = stated {
        let period_px = strips.length_px * pitch / length_mm;
        if period_px < phases::LEAST_PERIOD_PX {
            let reason = format!("divisions of {period_px:.1} px are too fine to be read");
            return NoGraduation { reason, hint: KEEP };
        }
    }
    let mm_px = strips.length_px / length_mm;
    if mm_px < phases::LEAST_PERIOD_PX {
        let reason = format!("a millimetre is {mm_px:.1} px, too fine to be read, and nothing coarser shows");
        return NoGraduation { reason, hint: KEEP };
    }
    let pitches = stated.map_or_else(|| ROUND_MM.to_vec(), |p| vec![p]);
    let is_usual = |divisions: f64| pitches.iter().any(|p| (p * divisions / length_mm - 1.0).abs() < ROUND_WITHIN);
    match spectrum::strongest(strips) {
        Some(divisions) if is_usual(divisions) => NoGraduation {
            reason: format!("about {divisions:.0} divisions show between the marks, too faintly to be followed"),
            hint: KEEP,
        },
        Some(divisions) => NoGraduation {
            reason: format!(
                "the picture shows {divisions:.1} divisions between the marks, {:.3} mm each: {}",
                length_mm / divisions,
                stated.map_or_else(|| "no usual graduation".into(), |p| format!("not {}", pitch_text(p)))
            ),
            hint: "check the marks' readings or the stated length",
        },
        None => NoGraduation {
            reason: "no graduation shows along the line between the marks".into(),
            hint: "mark along the ruler's edge where its lines are, or keep to the marks as clicked",
        },
    }
}

/// Puts the marks where the graduation has them and tells what is odd.
fn told(
    marks: &[(PixelPoint, f64)],
    first: (PixelPoint, f64),
    last: (PixelPoint, f64),
    tried: Tried,
) -> Warned<Graduation> {
    let Tried { kind, pitch_mm, course, .. } = tried;
    let (length_mm, length_px) = (last.1 - first.1, first.0.distance(last.0));
    let along = [(last.0.x - first.0.x) / length_px, (last.0.y - first.0.y) / length_px];
    let clicked = |p: PixelPoint| (p.x - first.0.x) * along[0] + (p.y - first.0.y) * along[1];
    let across = |p: PixelPoint| (p.y - first.0.y) * along[0] - (p.x - first.0.x) * along[1];
    // even spacing between the clicked ends, then what the graduation says of it at the height of the mark
    let placed = |p: PixelPoint, mm: f64| {
        let even = (mm - first.1) / length_mm * length_px;
        even + course.shift_px(even, across(p))
    };
    let mut off: Vec<f64> = marks.iter().map(|(p, mm)| clicked(*p) - placed(*p, *mm)).collect();
    // the place of the whole is the clicks' to give; the median, so that one bad click does not move it
    let whole = course::median(off.iter().copied());
    off.iter_mut().for_each(|o| *o -= whole);
    let moved =
        marks.iter().zip(&off).map(|((p, _), o)| PixelPoint::new(p.x - o * along[0], p.y - o * along[1])).collect();
    let scale = |s: f64| (length_px / length_mm) * (1.0 + course.slope(s));
    let px_per_mm = (scale(0.0), scale(length_px));
    let change = px_per_mm.1 / px_per_mm.0 - 1.0;
    let mut notices = Vec::new();
    if change.abs() > 0.005 {
        let says = format!("the scale changes by {:.1} % along the ruler: the camera looked askew", 100.0 * change);
        notices.push(Notice::new("scale.graduation", says).hint("mark a second ruler at right angles, or the plane"));
    }
    let value = Graduation {
        kind,
        pitch_mm,
        divisions: length_mm / pitch_mm * (1.0 - stretch_px(&course, length_px) / length_px),
        marks: moved,
        off_px: off,
        u_px: course.ends_u_px.hypot(LEFT_OVER_U_PX),
        px_per_mm,
        seen: condensed(&course, length_px, length_mm, pitch_mm),
        origin: first.0,
        along,
        length_px,
        length_mm,
        course,
    };
    Warned { value, notices }
}

/// The places of a course as a few divisions, each the mean of its neighbours' distances from the course.
fn condensed(course: &Course, length_px: f64, length_mm: f64, pitch_mm: f64) -> Vec<SeenDivision> {
    let period_px = length_px * pitch_mm / length_mm;
    let a_group = course.places.len().div_ceil(MOST_SEEN);
    let mean = |places: &[(f64, f64)]| {
        let n = places.len() as f64;
        let even = |t: f64| 0.5 * (t + 1.0) * length_px;
        let beyond = places.iter().map(|(t, shift)| shift - course.shift_px(even(*t), 0.0)).sum::<f64>() / n;
        let t = places.iter().map(|p| p.0).sum::<f64>() / n;
        // a whole division nearest to the middle of the group
        let whole = (even(t) / period_px).round();
        let at = whole * period_px;
        SeenDivision {
            at_mm: whole * pitch_mm,
            along_px: at + course.shift_px(at, 0.0) + beyond,
            lean: course.lean_at(t),
            u_px: (course.scatter_px / n.sqrt()).hypot(SEEN_U_PX),
        }
    };
    course.places.chunks(a_group.max(1)).map(mean).collect()
}
