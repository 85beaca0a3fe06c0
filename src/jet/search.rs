//! The first curve: thresholded evidence votes along every trajectory that leaves the orifice.
//!
//! From a known orifice and a known vertical the trajectories are a family of two parameters: launch
//! angle and speed. Each is walked from the orifice outward and collects what the evidence in the
//! strip has over the evidence at its flanks; the walk ends where that collection is greatest.
//! Thousands of cells vote, so that a stream too faint for any threshold is found, and rulers, stands
//! and scratches, which follow no trajectory from the orifice, lose.

use super::evidence::{Cell, Evidence};
use super::trace::Prospect;
use crate::point::PixelPoint;
use rayon::prelude::*;

/// A trajectory in the photo: launch angle (upward positive) and the curvature of its parabola.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Candidate {
    /// +1 to the right, -1 to the left.
    pub side: f64,
    /// Launch angle in radians, upward positive.
    pub angle_rad: f64,
    /// Speed at the orifice in m/s.
    pub speed_m_s: f64,
    /// What its walk collected: cells of evidence above what chance gives.
    pub votes: f64,
    /// Where that collection was greatest: length along the curve in px.
    pub length_px: f64,
}

/// Evidence that a cell of the strip must have over its flanks, else the walk loses by it.
const CHANCE: f64 = 0.04;

/// Steps that the hurried walk of all trajectories may take together: what bounds the search's time.
const HURRIED_STEPS: f64 = 4.0e6;
/// First step in angle from a trajectory known before.
const NEAR_STEP_RAD: f64 = 0.005;
/// Trajectories that are walked again step by step.
const PROMISING: usize = 400;

impl Candidate {
    /// Points of the trajectory in the photo, about `step_px` apart, until it leaves the photo's frame (with `margin_px`).
    pub fn walk(&self, p: &Prospect, step_px: f64, mut visit: impl FnMut(PixelPoint, [f64; 2]) -> bool) {
        let px_per_m = p.px_per_mm * 1000.0;
        let along = [p.down[1] * self.side, -p.down[0] * self.side];
        let (sin, cos) = self.angle_rad.sin_cos();
        let (vx, vy) = (self.speed_m_s * cos * px_per_m, -self.speed_m_s * sin * px_per_m);
        let g = p.g_m_s2 * px_per_m;
        let mut t = 0.0;
        loop {
            let (x, y) = (vx * t, vy * t + 0.5 * g * t * t);
            let (ux, uy) = (vx, vy + g * t);
            // never near overflow, and this is the innermost loop
            let per_speed = 1.0 / (ux * ux + uy * uy).sqrt();
            let point =
                PixelPoint::new(p.orifice.x + along[0] * x + p.down[0] * y, p.orifice.y + along[1] * x + p.down[1] * y);
            // unit normal: the drop's side of the curve
            let (nx, ny) = (-uy * per_speed, ux * per_speed);
            let normal = [along[0] * nx + p.down[0] * ny, along[1] * nx + p.down[1] * ny];
            if !visit(point, normal) {
                return;
            }
            t += step_px * per_speed;
        }
    }

    /// With what its walk collects. A hurried walk takes the middle of the strip for the whole, the nearest cell for the place,
    /// and gives up where a third of the way has brought nothing.
    fn score(mut self, evidence: &Evidence, p: &Prospect, step_px: f64, hurried: bool) -> Self {
        let width = p.width_px;
        let skip = 1.5 * width;
        let give_up = if hurried { 0.33 * p.reach_px() } else { f64::INFINITY };
        let (mut total, mut best, mut best_at, mut gone) = (0.0, 0.0, 0.0, 0.0);
        let weight = step_px / width;
        self.walk(p, step_px, |c, n| {
            gone += step_px;
            if gone < skip {
                return true;
            }
            let at = |o: f64| {
                let (x, y) = (c.x + o * width * n[0], c.y + o * width * n[1]);
                if hurried { evidence.nearest(x, y) } else { evidence.at(x, y) }
            };
            let Some(centre) = at(0.0) else { return false };
            let (Some(above), Some(below)) = (at(-1.15), at(1.15)) else { return true };
            let inside = if hurried {
                centre[0]
            } else {
                let (Some(a), Some(b)) = (at(-0.33), at(0.33)) else { return true };
                (centre[0] + a[0] + b[0]) / 3.0
            };
            let ridge = inside - above[0].max(below[0]);
            let over = f64::from(ridge.max(contrast(&centre, &above, &below))).clamp(-0.35, 0.45);
            total += (over - CHANCE) * weight;
            if total > best {
                best = total;
                best_at = gone;
            }
            best > 0.0 || gone < give_up
        });
        self.votes = best;
        self.length_px = best_at;
        self
    }
}

/// How much the strip differs from both of its flanks, less what the flanks differ from each other.
#[inline]
fn contrast(centre: &Cell, above: &Cell, below: &Cell) -> f32 {
    let (mut own, mut flanks) = (0.0, 0.0);
    for c in 1..4 {
        own += (centre[c] - 0.5 * (above[c] + below[c])).powi(2);
        flanks += (above[c] - below[c]).powi(2);
    }
    0.45 * (own.sqrt() - flanks.sqrt())
}

/// The `keep` best distinct trajectories, best first; empty where none collects anything.
pub(crate) fn search(evidence: &Evidence, p: &Prospect, keep: usize) -> Vec<Candidate> {
    let reach = p.reach_px();
    let tolerance = 0.45 * p.width_px;
    let angle_step = (1.5 * tolerance / reach).min(0.02);
    let mut all = Vec::new();
    for &side in p.sides() {
        let (lo, hi) = p.angles_rad;
        let count = ((hi - lo) / angle_step).ceil().max(1.0) as usize;
        for i in 0..=count {
            let angle_rad = lo + (hi - lo) * i as f64 / count as f64;
            // the drop at the end of the frame goes as 1 / V^2: even steps in 1 / V^2 are even steps there
            let (slow, fast) = (1.0 / p.speeds_m_s.0.powi(2), 1.0 / p.speeds_m_s.1.powi(2));
            let px_per_m = p.px_per_mm * 1000.0;
            let per_unit = 0.5 * p.g_m_s2 * reach * reach / px_per_m * 0.5;
            let steps = ((slow - fast) * per_unit / (1.8 * tolerance)).ceil().clamp(1.0, 400.0) as usize;
            for j in 0..=steps {
                let inverse = fast + (slow - fast) * j as f64 / steps as f64;
                all.push(Candidate { side, angle_rad, speed_m_s: inverse.powf(-0.5), votes: 0.0, length_px: 0.0 });
            }
        }
    }
    // first a thin walk of all, then the promising ones step by step
    let thin = (HURRIED_STEPS / all.len() as f64).clamp(32.0, 400.0);
    let coarse_step = (1.5 * reach / thin).max(evidence.factor);
    let mut scored: Vec<_> = all.into_par_iter().map(|c| c.score(evidence, p, coarse_step, true)).collect();
    scored.sort_unstable_by(|a, b| b.votes.total_cmp(&a.votes));
    scored.truncate(PROMISING);
    let mut fine: Vec<_> = scored.into_par_iter().map(|c| c.score(evidence, p, 2.0 * evidence.factor, false)).collect();
    fine.sort_unstable_by(|a, b| b.votes.total_cmp(&a.votes));
    let mut kept: Vec<Candidate> = Vec::new();
    for c in fine {
        if kept.len() >= keep || c.votes <= 0.0 {
            break;
        }
        if kept.iter().all(|k| k.differs(&c, p)) {
            kept.push(c.climbed(evidence, p, angle_step));
        }
    }
    kept.sort_unstable_by(|a, b| b.votes.total_cmp(&a.votes));
    kept
}

impl Candidate {
    /// Whether two trajectories are more than two widths apart somewhere along the shorter one.
    fn differs(&self, other: &Self, p: &Prospect) -> bool {
        if self.side != other.side {
            return true;
        }
        let length = self.length_px.min(other.length_px).max(6.0 * p.width_px);
        let end = |c: &Self| {
            let (mut gone, mut last) = (0.0, p.orifice);
            c.walk(p, p.width_px, |q, _| {
                gone += p.width_px;
                last = q;
                gone < length
            });
            last
        };
        end(self).distance(end(other)) > 2.0 * p.width_px
    }

    /// The greatest distance to another trajectory from the same orifice over the length of the longer one.
    fn off_px(&self, other: &Self, p: &Prospect) -> f64 {
        let length = self.length_px.max(other.length_px);
        let points = |c: &Self| {
            let (mut gone, mut points) = (0.0, Vec::new());
            c.walk(p, p.width_px, |q, _| {
                gone += p.width_px;
                points.push(q);
                gone < length
            });
            points
        };
        points(self).iter().zip(points(other)).map(|(a, b)| a.distance(b)).fold(0.0, f64::max)
    }

    /// Whether a trajectory known before is still, within the width that the rims are looked for about it, the best one about it.
    pub fn is_still_best(launched: (f64, f64), to_the_right: bool, evidence: &Evidence, p: &Prospect) -> bool {
        let side = if to_the_right { 1.0 } else { -1.0 };
        let before = Self { side, angle_rad: launched.0, speed_m_s: launched.1, votes: 0.0, length_px: 0.0 };
        let now = Self::near(launched, to_the_right, evidence, p);
        now.first().is_some_and(|now| now.off_px(&before, p) < p.width_px)
    }

    /// The best trajectory about one of (angle, speed) known before; empty where it collects nothing.
    pub fn near(
        (angle_rad, speed_m_s): (f64, f64),
        to_the_right: bool,
        evidence: &Evidence,
        p: &Prospect,
    ) -> Vec<Self> {
        let side = if to_the_right { 1.0 } else { -1.0 };
        let before = Self { side, angle_rad, speed_m_s, votes: 0.0, length_px: 0.0 };
        let found = before.climbed(evidence, p, NEAR_STEP_RAD);
        if found.votes > 0.0 { vec![found] } else { Vec::new() }
    }

    /// Hill climb in angle and speed with halving steps.
    fn climbed(self, evidence: &Evidence, p: &Prospect, angle_step: f64) -> Self {
        let mut best = self.score(evidence, p, 1.5 * evidence.factor, false);
        let mut da = angle_step;
        let mut dv = 0.02 * best.speed_m_s;
        for _ in 0..7 {
            loop {
                let tried = [(da, 0.0), (-da, 0.0), (0.0, dv), (0.0, -dv), (da, dv), (-da, -dv), (da, -dv), (-da, dv)]
                    .into_iter()
                    .map(|(a, v)| {
                        Self { angle_rad: best.angle_rad + a, speed_m_s: best.speed_m_s + v, ..best }.score(
                            evidence,
                            p,
                            evidence.factor,
                            false,
                        )
                    })
                    .max_by(|a, b| a.votes.total_cmp(&b.votes));
                match tried {
                    Some(t) if t.votes > best.votes + 1e-9 => best = t,
                    _ => break,
                }
            }
            da *= 0.5;
            dv *= 0.5;
        }
        best
    }
}
