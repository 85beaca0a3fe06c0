//! Which of several movements it was: what the cells of the picture vote for, and when that is no verdict.

use super::refine::{Fit, LEAST_CELLS};
use super::{Movement, NoMatch};

/// Share of agreeing parts of the picture below which two photos are taken for different views. Of 104 drawn pairs of one
/// bench 91 gave as much; of the pairs of two benches, of which 14 share a ruler and a jet, none.
const LEAST_AGREEMENT: f64 = 0.5;
/// Uncertainty of the shift above which the view is called featureless, in pixels.
const MOST_U_PX: f64 = 0.25;
/// Lead from which a movement is dropped on the way down the pyramid.
const CLEAR_LEAD: f64 = 4.0;
/// Share of the best score below which a movement is dropped.
const CLEARLY_LESS: f64 = 0.4;
/// Most movements that are followed down the pyramid.
const MOST: usize = 6;
/// Lead that the verdict needs.
const LEAST_LEAD: f64 = 2.5;
/// Smallest difference of a cell's correlations that is a vote.
const A_VOTE: f64 = 0.15;

impl Fit {
    fn score(&self) -> f64 {
        super::refine::score(&self.cells)
    }

    /// By how many standard deviations the cells vote for this fit rather than `other`: each votes with the difference of
    /// its correlations, and where nothing but chance decided, votes would be of either sign.
    fn lead(&self, other: &Fit) -> f64 {
        let votes: Vec<f64> = self
            .cells
            .iter()
            .zip(&other.cells)
            .filter(|(here, there)| here.is_inside && there.is_inside && (here.agrees || there.agrees))
            .map(|(here, there)| here.correlation - there.correlation)
            .filter(|d| d.abs() > A_VOTE)
            .collect();
        let square: f64 = votes.iter().map(|d| d * d).sum();
        if square > 0.0 { votes.iter().sum::<f64>() / square.sqrt() } else { 0.0 }
    }
}

/// Puts the best first and drops those that it leads clearly.
pub(super) fn keep_likely(fits: &mut Vec<Fit>) {
    fits.sort_by(|a, b| b.score().total_cmp(&a.score()));
    let mut i = 1;
    while i < fits.len() {
        if fits[0].lead(&fits[i]) > CLEAR_LEAD || fits[i].score() < CLEARLY_LESS * fits[0].score() || i >= MOST {
            fits.remove(i);
        } else {
            i += 1;
        }
    }
}

/// The movement of the best of `fits`, sorted.
pub(super) fn decide(fits: &[Fit]) -> Result<Movement, NoMatch> {
    let Some((best, others)) = fits.split_first() else {
        return Err(NoMatch::Featureless { u_px: f64::INFINITY });
    };
    let movement = best.movement;
    let is_other_scene = movement.agreement < LEAST_AGREEMENT;
    let has_content = best.cells.iter().filter(|c| c.has_content).count() >= LEAST_CELLS;
    // Where nothing agrees nothing is known of the shift either, but that is not for want of things in view.
    if movement.u_px > MOST_U_PX && !(is_other_scene && has_content) {
        return Err(NoMatch::Featureless { u_px: movement.u_px });
    }
    if is_other_scene {
        return Err(NoMatch::Scene { agreement: movement.agreement, needed: LEAST_AGREEMENT });
    }
    let likely = |o: &&Fit| o.movement.agreement >= LEAST_AGREEMENT * best.movement.agreement;
    let rival = others.iter().filter(likely).map(|o| (best.lead(o), o)).min_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, rival)) = rival.filter(|(lead, _)| *lead < LEAST_LEAD) {
        let by = |k: usize| rival.movement.shift_px[k] - movement.shift_px[k];
        return Err(NoMatch::Ambiguous { by_px: [by(0), by(1)] });
    }
    Ok(movement)
}
