//! One round's picture of the stream: the band along a curve, its rims, their course, the middles.

use super::band::Band;
use super::curve::{Smooth, robust};
use super::edges::blur_px;
use super::outline::Outline;
use super::rims::{Change, RimBounds, Rims, common_half_width, rims, strays};
use super::search::Candidate;
use super::stations::{Middle, median};
use super::trace::Prospect;
use super::view::View;
use super::waves::{Waves, told_by_scatter};
use super::{End, Path, Station};
use crate::point::PixelPoint;

/// How far from the orifice a trajectory may begin, in widths: at least, and for each width of its length. The lens and a camera
/// askew bend it.
const START_OFF: f64 = 0.75;
const START_OFF_A_WIDTH: f64 = 0.02;
/// By which share its speed may lie beyond those that are looked for, for the same reasons.
const SPEED_OFF: f64 = 0.12;

/// How far half of its middle may stray from a parabola, in widths: at least, and for each width of its length, which lens and
/// camera bend. Of 165 drawn and rendered streams it was 0.23 at most, at a length of 152 with a barrel lens and a camera askew;
/// where the edges of a tank and of a print were followed, 0.44 at 45 and 0.18 at 9.
const STRAY: f64 = 0.12;
const STRAY_A_WIDTH: f64 = 0.003;

/// How a round goes about it.
pub(crate) struct Round {
    /// How far the middle may lie from the curve, in widths.
    pub freedom: f64,
    /// Width of the derivative that places the edges, px.
    pub sigma: f64,
    /// Every how many px along the curve the photo is read.
    pub stride: usize,
    /// Half width at the orifice where an earlier round found it, px.
    pub half_px: Option<f64>,
    /// Degree of the course of the middle beside the curve: what lens and perspective make of a parabola.
    pub degree: usize,
}

/// One round's picture of the stream: the band along a curve and what it bears.
pub(crate) struct Sketch {
    /// The curve that the band lies along.
    pub path: Path,
    middles: Vec<Middle>,
    outline: Outline,
    /// Columns that the middles are means of.
    group: usize,
    /// What the rims along it are worth together.
    pub score: f64,
    /// Why the stream ends.
    pub end: End,
    /// Blur of the edges as seen in this round.
    pub blur_px: f64,
    /// Half width at the orifice that most columns agree on.
    pub half_px: f64,
}

impl Sketch {
    pub fn new(view: View, path: Path, p: &Prospect, candidate: &Candidate, how: &Round) -> Option<Self> {
        let Round { freedom, sigma, stride, half_px, degree } = *how;
        let width = p.width_px;
        let reach = (1.1 * width + freedom * width + 6.0).ceil() as usize;
        let column_px = ((width / 7.0).round() as usize).max(2);
        let band = Band::new(view, &path, column_px, stride, reach, &p.areas);
        if band.columns.len() < 8 {
            return None;
        }
        let change = Change::new(&band, 1.0, 1.0 * width);
        let ratio = p.diameter_px / 2.0;
        let mut bounds = RimBounds {
            middle_px: freedom * width,
            half_px: (0.4 * ratio, 1.1 * ratio),
            expected_px: 0.82 * ratio,
            half_at: 0.0,
            tone: p.tone,
        }
        .adapted_to_band(&band, &change, width);
        let v0 = candidate.speed_m_s;
        let px_per_m = p.px_per_mm * 1000.0;
        let drop = |s: f64| {
            let q = path.at(s, 0.0);
            (q.x - p.orifice.x) * p.down[0] + (q.y - p.orifice.y) * p.down[1]
        };
        let thinning = |s: f64| (1.0 + 2.0 * p.g_m_s2 * (drop(s) / px_per_m).max(0.0) / (v0 * v0)).powf(-0.25);
        let mut half = half_px;
        let mut found = Vec::new();
        if half.is_none() {
            found = rims(&band, &change, &bounds, thinning, |_| 0.15);
            half = common_half_width(&band, &found, thinning);
            bounds = bounds.adapted_to_rims(&band, &change, &found);
        }
        if let Some(half) = half {
            bounds.expected_px = half;
            found = rims(&band, &change, &bounds, thinning, |_| 0.13);
            bounds = bounds.adapted_to_rims(&band, &change, &found);
            let stretch = (6.0 * width / column_px as f64).ceil() as usize;
            let stray = strays(&band, &found, |s| half * thinning(s), stretch);
            if stray.iter().any(|d| d.abs() > 0.06) {
                found = rims(&band, &change, &bounds, thinning, |i| if stray[i].abs() > 0.06 { 0.04 } else { 0.13 });
            }
        }
        let half_px = common_half_width(&band, &found, thinning).or(half).unwrap_or(0.5 * width);
        let (first, last, end) = extent(&band, &found, p);
        let seen: f64 = found[first..=last].iter().map(|r| f64::from(r.quality)).sum::<f64>();
        let near = ((width / 12.0).round() as usize).max(2);
        let placing = if sigma > 1.0 { &Change::new(&band, sigma, width) } else { &change };
        let thin: Vec<f64> = band.columns.iter().map(|c| thinning(c.s_px)).collect();
        let near = near.max(sigma.ceil() as usize);
        let outline = Outline::new(&band, placing, &found, &thin, first..=last, (near, width, degree));
        let blur_px = blur_px(&outline.edges, sigma).unwrap_or(0.0);
        let group = ((width / 3.0 / column_px as f64).round() as usize).max(1);
        Some(Self {
            path,
            middles: outline.middles(group),
            outline,
            group,
            score: seen * column_px as f64 / width,
            end,
            blur_px,
            half_px,
        })
    }

    /// Narrow end of the stream's width: what the edges' derivative must fit into.
    pub fn width_px(&self) -> f64 {
        let mut widths: Vec<f64> = self.middles.iter().filter_map(|m| m.width_px).collect();
        if widths.is_empty() { 0.0 } else { median(&mut widths) }
    }

    pub fn last_px(&self) -> f64 {
        self.middles.last().map_or(0.0, |m| m.s_px)
    }

    /// Offset of the stream's middle from the curve.
    pub fn smooth(&self, degree: usize) -> Option<Smooth> {
        if let Some(course) = &self.outline.course {
            return Some(course.middle.clone());
        }
        let points: Vec<_> = self.middles.iter().map(|m| (m.s_px, m.offset_px, 1.0)).collect();
        if points.len() < 8 { None } else { Smooth::fit(&points, degree, 0.1) }
    }

    /// Points of the middle that was seen, a column apart or more.
    pub fn seen_points(&self) -> Vec<PixelPoint> {
        self.middles.iter().map(|m| self.path.at(m.s_px, m.offset_px)).collect()
    }

    /// Whether most of the middle lies a width or more from another sketch's.
    pub fn lies_beside(&self, other: &Self, width_px: f64) -> bool {
        let points = self.seen_points();
        let on = points.iter().filter(|p| other.path.locate(**p).is_some_and(|(_, n)| n.abs() < width_px)).count();
        2 * on < points.len()
    }

    /// Whether the middle is a trajectory from the orifice at a speed that was looked for. The curve may leave the one that
    /// the search took up, and where that led along something else, what is followed in the end is no such trajectory.
    pub fn is_trajectory(&self, p: &Prospect) -> bool {
        is_trajectory(&self.seen_points(), self.last_px() / p.width_px, p)
    }

    /// The stations: means over as many columns as bring the middle of the stream nearest.
    pub fn stations(&self) -> Vec<Station> {
        let course = self.smooth(6);
        let off = |middles: &[Middle]| -> Vec<f64> {
            let course = |s: f64| course.as_ref().map_or(0.0, |c| c.at(s));
            middles.iter().map(|m| m.offset_px - course(m.s_px)).collect()
        };
        let mut middles = self.middles.clone();
        let columns: Vec<(usize, f64)> = self.outline.columns(|s| course.as_ref().map_or(0.0, |c| c.at(s)));
        if let Some(waves) = Waves::new(&columns) {
            let k = waves.best_mean(self.group, columns.len());
            middles = self.outline.middles(k);
            let strayed = off(&middles);
            told_by_scatter(&mut middles, &strayed, waves.deviation_px(k));
        }
        if middles.is_empty() {
            return Vec::new();
        }
        let off = off(&middles);
        let scale = 1.4826 * median(&mut off.iter().map(|o| o.abs()).collect::<Vec<_>>());
        let station = |(m, off): (&Middle, &f64)| {
            let i = ((m.s_px / self.path.step_px).round() as usize).min(self.path.len() - 1);
            Station {
                at: self.path.at(m.s_px, m.offset_px),
                normal: self.path.normals[i],
                s_px: m.s_px,
                u_px: m.u_px,
                width_px: m.width_px,
                by_hand: false,
                sound: off.abs() <= (4.0 * scale).max(0.3),
            }
        };
        middles.iter().zip(&off).map(station).collect()
    }
}

/// Whether points of a middle `length` widths long lie on a parabola from the orifice that a speed looked for gives.
fn is_trajectory(points: &[PixelPoint], length: f64, p: &Prospect) -> bool {
    let placed = points.iter().map(|q| {
        let (dx, dy) = ((q.x - p.orifice.x) / p.width_px, (q.y - p.orifice.y) / p.width_px);
        (dx * p.down[1] - dy * p.down[0], dx * p.down[0] + dy * p.down[1])
    });
    let (rows, drop): (Vec<_>, Vec<_>) = placed.map(|(x, y)| (vec![1.0, x, x * x], (y, 1.0))).unzip();
    let Some(fit) = robust(&rows, &drop, 0.02) else { return false };
    let (start, slope, bend) = (fit[0], fit[1], fit[2]);
    if bend <= 0.0 {
        return false;
    }
    let off = |(r, (y, _)): (&Vec<f64>, &(f64, f64))| {
        let along = slope + 2.0 * bend * r[1];
        (y - start - slope * r[1] - bend * r[2]).abs() / along.hypot(1.0)
    };
    let stray = median(&mut rows.iter().zip(&drop).map(off).collect::<Vec<_>>());
    let width_m = p.width_px / (1000.0 * p.px_per_mm);
    let speed = (0.5 * p.g_m_s2 * width_m / bend).sqrt() * slope.hypot(1.0);
    stray <= STRAY + STRAY_A_WIDTH * length
        && start.abs() <= slope.hypot(1.0) * (START_OFF + START_OFF_A_WIDTH * length)
        && speed >= p.speeds_m_s.0 * (1.0 - SPEED_OFF)
        && speed <= p.speeds_m_s.1 * (1.0 + SPEED_OFF)
}

/// First and last column of the stream: the stretch that collects most quality above a third of its usual value.
fn extent(band: &Band, found: &[Rims], p: &Prospect) -> (usize, usize, End) {
    let mut sorted: Vec<f64> = found.iter().map(|r| f64::from(r.quality)).collect();
    let usual = {
        sorted.sort_unstable_by(f64::total_cmp);
        sorted[sorted.len() * 7 / 10]
    };
    let first = band.columns.iter().position(|c| c.s_px > 0.9 * p.diameter_px).unwrap_or(0);
    let (mut sum, mut best, mut last) = (0.0, f64::MIN, first);
    for (i, r) in found.iter().enumerate().skip(first) {
        sum += f64::from(r.quality) - 0.4 * usual.max(0.3);
        if sum > best {
            best = sum;
            last = i;
        }
    }
    let beyond = band.columns.get(last + 2).or(band.columns.last());
    let end = match beyond {
        Some(c) if !c.seen || last + 3 >= found.len() => End::Frame,
        _ => End::Lost,
    };
    (first, last.max(first), end)
}

#[cfg(test)]
mod tests {
    use super::super::Areas;
    use super::*;
    use crate::sheet::Tone;

    /// A stream 20 px wide at 2 px/mm, looked for at 1.5 to 2.5 m/s.
    fn looked_for() -> Prospect {
        Prospect {
            orifice: PixelPoint::new(100.0, 100.0),
            down: [0.0, 1.0],
            px_per_mm: 2.0,
            diameter_px: 25.0,
            width_px: 20.0,
            g_m_s2: 9.81,
            speeds_m_s: (1.5, 2.5),
            angles_rad: (-0.7, 1.0),
            to_the_right: None,
            frame_px: (1200.0, 900.0),
            tone: Tone::Either,
            level: None,
            areas: Areas::default(),
        }
    }

    /// Whether the fall at `speed` m/s for 800 px is taken for a trajectory, each point moved down by `off(x)` px.
    fn falls(speed: f64, off: impl Fn(f64) -> f64) -> bool {
        let fall = |x: f64| 9.81 / (2.0 * speed * speed) * x * x / 2000.0;
        let points: Vec<_> = (2..80)
            .map(|i| 10.0 * f64::from(i))
            .map(|x| PixelPoint::new(100.0 + x, 100.0 + fall(x) + off(x)))
            .collect();
        is_trajectory(&points, 45.0, &looked_for())
    }

    #[test]
    fn a_fall_from_the_orifice_is_a_trajectory() {
        assert!(falls(2.0, |_| 0.0));
        // what a barrel of 3 % over 2000 px makes of it: a third-degree bend of some px
        assert!(falls(2.0, |x| 6.0 * ((x - 400.0) / 400.0).powi(3)));
        assert!(falls(2.0, |x| 3.0 * (x / 30.0).sin()));
    }

    #[test]
    fn an_edge_that_bends_to_and_fro_or_elsewhere_is_none() {
        assert!(!falls(2.0, |x| 15.0 * (x / 60.0).sin()));
        assert!(!falls(3.5, |_| 0.0), "too fast");
        assert!(!falls(2.0, |_| 60.0), "not from the orifice");
        assert!(!falls(2.0, |x| -0.01 * x * x), "upwards");
    }
}
