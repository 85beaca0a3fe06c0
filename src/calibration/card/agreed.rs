//! The readings that one view of one card explains.

use super::EXPECTED_U_PX;
use super::reading::Read;
use crate::calibration::lens::Radial;
use crate::calibration::plane::picture_from_plane;
use crate::card::{Card, CodedMark};
use crate::point::PixelPoint;
use nalgebra::{Matrix3, Vector3};

/// A mark whose neighbours are predicted from it alone: how far off these may be, in sides of a mark, and how much more
/// for each pitch of distance; farther than so many pitches it says nothing.
const OFF_ALONE: f64 = 0.15;
const OFF_FARTHER: f64 = 0.10;
const REACH: f64 = 3.2;
/// How far off a reading may be from the view of all, in sides of a mark: a lens' barrel bends the card by less.
const OFF: f64 = 0.3;
/// The view of all is made anew as often as it gains readings, at most so often.
const MOST_ROUNDS: usize = 12;
/// Barrel or pincushion beyond this is no lens', and what is expected of it; the scatter that this is weighed against, px.
const MOST_K1: f64 = 0.15;
const K1_U: f64 = 0.03;
const PLACE_U_PX: f64 = 0.1;
/// With fewer marks the lens stays as expected.
const LEAST_FOR_LENS: usize = 8;
/// A mark this many times the scatter off the view is not on the card's plane, or half hidden.
const OUTLYING: f64 = 4.0;
/// No scatter counts as less, px.
const LEAST_SCATTER_PX: f64 = 0.05;

/// A mark's middle as seen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    pub number: usize,
    pub at: [f64; 2],
}

/// Where the photo shows a point of the card: a homography, and the lens.
#[derive(Clone, Copy, Debug)]
pub(super) struct CardView {
    h: Matrix3<f64>,
    lens: Radial,
}

type Pair = ([f64; 2], [f64; 2]);

impl CardView {
    /// From points of the card (mm) and of the photo (px), the lens distorting by `k1`.
    fn new(pairs: &[Pair], frame: [f64; 2], k1: f64) -> Option<Self> {
        let centre = PixelPoint::new(0.5 * frame[0], 0.5 * frame[1]);
        let lens = Radial { centre, unit_px: 0.5 * frame[0].hypot(frame[1]), k1, k2: 0.0 };
        let ideal = |(mm, px): &Pair| Some((*mm, lens.ideal_from_photo([px[0] - centre.x, px[1] - centre.y])?));
        let pairs: Vec<Pair> = pairs.iter().map(ideal).collect::<Option<_>>()?;
        Some(Self { h: picture_from_plane(&pairs)?, lens })
    }

    /// The same with the distortion that leaves the least, weighed against what is expected of a lens.
    fn with_lens(pairs: &[Pair], frame: [f64; 2]) -> Option<Self> {
        let cost = |k1: f64| {
            let Some(view) = Self::new(pairs, frame, k1) else { return f64::INFINITY };
            view.squares(pairs) / PLACE_U_PX.powi(2) + (k1 / K1_U).powi(2)
        };
        // golden section (J. Kiefer, 1953, Proc. Amer. Math. Soc. 4:502)
        let golden = 0.5 * (5f64.sqrt() - 1.0);
        let (mut lo, mut hi) = (-MOST_K1, MOST_K1);
        let (mut a, mut b) = (hi - golden * (hi - lo), lo + golden * (hi - lo));
        let (mut at_a, mut at_b) = (cost(a), cost(b));
        while hi - lo > 1e-4 {
            if at_a <= at_b {
                (hi, b, at_b) = (b, a, at_a);
                a = hi - golden * (hi - lo);
                at_a = cost(a);
            } else {
                (lo, a, at_a) = (a, b, at_b);
                b = lo + golden * (hi - lo);
                at_b = cost(b);
            }
        }
        Self::new(pairs, frame, 0.5 * (lo + hi))
    }

    /// The pixel of a point of the card; `None` behind the camera or beyond the lens.
    pub fn pixel(&self, mm: [f64; 2]) -> Option<[f64; 2]> {
        let p = self.h * Vector3::new(mm[0], mm[1], 1.0);
        if p[2] <= 0.0 {
            return None;
        }
        let [x, y] = self.lens.photo_from_ideal([p[0] / p[2], p[1] / p[2]])?;
        Some([x + self.lens.centre.x, y + self.lens.centre.y])
    }

    /// Sum of the squared distances, px^2.
    fn squares(&self, pairs: &[Pair]) -> f64 {
        let off = |(mm, px): &Pair| self.pixel(*mm).map_or(f64::INFINITY, |p| distance(p, *px).powi(2));
        pairs.iter().map(off).sum()
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A mark's corners on the card, in the order of [`Read::corners`].
fn corners_mm(mark: &CodedMark) -> [[f64; 2]; 4] {
    let ([x, y], half) = (mark.centre_mm, 0.5 * mark.side_mm);
    [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
}

/// The crossing of a quad's diagonals: where the middle of a square is seen.
fn middle(quad: &[[f64; 2]; 4]) -> [f64; 2] {
    let [a, b, c, d] = *quad;
    let (p, q) = ([c[0] - a[0], c[1] - a[1]], [d[0] - b[0], d[1] - b[1]]);
    let t = ((b[0] - a[0]) * q[1] - (b[1] - a[1]) * q[0]) / (p[0] * q[1] - p[1] * q[0]);
    [a[0] + t * p[0], a[1] + t * p[1]]
}

fn side_px(quad: &[[f64; 2]; 4]) -> f64 {
    (0..4).map(|i| distance(quad[i], quad[(i + 1) % 4])).sum::<f64>() / 4.0
}

/// The view that most readings share, and the numbers of these, in order.
pub(super) fn view(card: &Card, reads: &[Read], frame: [f64; 2]) -> Option<(CardView, Vec<usize>)> {
    let alone = |seed: &Read| {
        let mark = card.mark(seed.number)?;
        let pairs: Vec<Pair> = corners_mm(mark).into_iter().zip(seed.corners).collect();
        let view = CardView::new(&pairs, frame, 0.0)?;
        let agrees = |read: &&Read| {
            let Some(other) = card.mark(read.number) else { return false };
            let pitches = distance(mark.centre_mm, other.centre_mm) / card.pitch_mm;
            let Some(at) = view.pixel(other.centre_mm).filter(|_| pitches <= REACH) else { return false };
            distance(at, middle(&read.corners)) <= (OFF_ALONE + OFF_FARTHER * pitches) * side_px(&seed.corners)
        };
        Some(distinct(reads.iter().filter(agrees)))
    };
    let seeds = reads.iter().filter_map(|seed| Some((alone(seed)?, seed)));
    let (mut agreed, _) = seeds.max_by(|a, b| a.0.len().cmp(&b.0.len()).then(a.1.like.total_cmp(&b.1.like)))?;
    if agreed.len() < 2 {
        return None;
    }
    let mut best: Option<(CardView, Vec<Read>)> = None;
    for _ in 0..MOST_ROUNDS {
        let pairs: Vec<Pair> = agreed
            .iter()
            .filter_map(|r| card.mark(r.number).map(|m| corners_mm(m).into_iter().zip(r.corners)))
            .flatten()
            .collect();
        let view = if agreed.len() < LEAST_FOR_LENS {
            CardView::new(&pairs, frame, 0.0)?
        } else {
            CardView::with_lens(&pairs, frame)?
        };
        let off = |read: &Read| {
            let at = card.mark(read.number).and_then(|m| view.pixel(m.centre_mm));
            at.map_or(f64::INFINITY, |at| distance(at, middle(&read.corners)) / side_px(&read.corners))
        };
        let mut near: Vec<&Read> = reads.iter().filter(|r| off(r) <= OFF).collect();
        near.sort_by(|a, b| off(a).total_cmp(&off(b)));
        let near = distinct(near.into_iter());
        let gained = best.as_ref().is_none_or(|(_, before)| near.len() > before.len());
        if !gained {
            break;
        }
        agreed.clone_from(&near);
        best = Some((view, near));
    }
    let (view, read) = best?;
    let mut numbers: Vec<usize> = read.iter().map(|r| r.number).collect();
    numbers.sort_unstable();
    Some((view, numbers))
}

/// The first reading of each number.
fn distinct<'a>(reads: impl Iterator<Item = &'a Read>) -> Vec<Read> {
    let mut taken: Vec<Read> = Vec::new();
    for read in reads {
        if taken.iter().all(|t| t.number != read.number) {
            taken.push(*read);
        }
    }
    taken
}

/// The view of middles, with the lens as far as they bear it, and their scatter about it, px; middles that lie off are
/// taken away, the worst first.
pub(super) fn refined(card: &Card, seen: &mut Vec<Seen>, frame: [f64; 2]) -> Option<(CardView, f64)> {
    loop {
        let pairs: Vec<Pair> = seen.iter().filter_map(|s| Some((card.mark(s.number)?.centre_mm, s.at))).collect();
        let bears_lens = pairs.len() >= LEAST_FOR_LENS;
        let view = if bears_lens { CardView::with_lens(&pairs, frame)? } else { CardView::new(&pairs, frame, 0.0)? };
        let free = 2.0 * pairs.len() as f64 - if bears_lens { 9.0 } else { 8.0 };
        let u_px = ((view.squares(&pairs) + EXPECTED_U_PX.powi(2)) / (free.max(0.0) + 1.0)).sqrt();
        let mut off: Vec<f64> =
            pairs.iter().map(|(mm, px)| view.pixel(*mm).map_or(f64::INFINITY, |p| distance(p, *px))).collect();
        let worst = (0..off.len()).max_by(|a, b| off[*a].total_cmp(&off[*b]))?;
        let largest = off[worst];
        off.sort_by(f64::total_cmp);
        // of a two-dimensional normal scatter half lies within 1.18 standard deviations
        let scatter = (off[off.len() / 2] / 1.18).max(LEAST_SCATTER_PX);
        if largest <= OUTLYING * scatter || pairs.len() <= super::LEAST_MARKS {
            return Some((view, u_px));
        }
        seen.remove(worst);
    }
}
