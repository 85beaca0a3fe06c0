//! Each line in plain words: what it is, its formula, where to measure, and what to mind.

use crate::app::line::Line;

/// What there is to say about a line, paragraph by paragraph.
pub fn about(line: Line) -> &'static [&'static str] {
    match line {
        Line::Photo => &[
            "A photo of the whole jet from the side, taken level and square to the jet's plane, from as far away as the room allows.",
            "Several photos of the same steady jet (a burst) average its surface waves. A dry photo is the same view without the jet; it takes out what stands behind.",
            "Mind: no flash and no stroboscope where somebody could be sensitive to flicker; camera, lamps and leads above the splash and behind a residual-current device.",
        ],
        Line::Down => &[
            "Gravity bends the jet, so the photo must know where down is. With launch free the launch angle takes up most of a tilt; with launch level a tilt goes straight into V.",
            "Measure: two marks far apart on a hanging string, or on anything set upright or level. Both lines are adjusted together with the scale.",
        ],
        Line::Scale => &[
            "How many pixels a millimetre has in the jet's plane. V goes with the square root of a length, so 1 % of the scale is 0.5 % of V.",
            "Measure: hold a ruler in the jet's plane, as long as the jet, and mark graduations far apart. A ruler behind or before the jet needs its distance from it and the camera's.",
            "Marks of the bench plane, or points along straight edges, make good a camera that looked askew and a lens that bends.",
        ],
        Line::Orifice => &[
            "The centre is where the head is measured to, and the origin of x and drop. The area in Cd and Cc is A = π d² / 4, so 1 % of d is 2 % of Cd.",
            "Measure: the diameter with a calliper or plug gauge in several directions, at the edge that the water leaves last. The edge decides which published values apply.",
            "Mind: close the valve and empty the tank before fingers or a calliper go to the orifice; never look into an orifice under head.",
        ],
        Line::Stream => &[
            "Stations are points of the stream's middle line, midway between its two edges. The program looks for the trajectory from the orifice that most of the picture's edges vote for.",
            "If it follows something else: choose the tone, leave out what disturbs, end it earlier, or place stations by hand. Stations by hand alone replace the search.",
        ],
        Line::Trajectory => &[
            "y = y0 − x tan α + g x² / (2 V² cos² α): a parabola from the vena contracta, half a diameter out. V comes from its curvature, the launch angle α from its start.",
            "Launch free is right unless the angle was measured. Each station alone gives V = √(g x² / (2 cos² α (y + x tan α))); if these drift along the jet, something is off: vertical, origin, lens, drag.",
            "Corrections are applied only when chosen here; their size is told either way.",
        ],
        Line::Head => &[
            "Head H is the height of the still water surface above the orifice's centre. Ideal velocity Vi = √(2 g H), with the velocity of approach Q/A1 added where the tank's area is stated.",
            "Measure: with a point gauge or a sight glass away from the stream to the orifice, at start and end of the run. Marked in the same photo, the head cancels the scale in Cv.",
            "Mind: a closed tank under pressure only below its rated pressure and with a relief valve. Gravity follows from latitude and altitude.",
        ],
        Line::Discharge => &[
            "Q = volume / time, or mass / (density × time). Several timed fillings average the hand on the stop-watch; one filling read as it fills gives Q as a slope.",
            "Measure: catch the whole jet, fill for half a minute or longer, note the water's temperature: it sets density and viscosity.",
            "Mind: spilt water makes floors slippery; a full bucket is heavy; keep electricity away.",
        ],
        Line::Coefficients => &[
            "Cv = V / Vi, Cd = Q / (A Vi), Cc = Q / (A V), so Cd = Cv Cc. K = 1/Cv² − 1; head lost h = H (1 − Cv²); the jet carries Cv² of the head's energy.",
            "Re = ρ V D / μ, We = ρ V² D / σ with the jet's diameter D; Fr = V / √(g d). Below We of about 1000 surface tension slows the jet noticeably.",
            "The interval covers 95 %; the bars below tell which input to measure better first.",
        ],
        Line::Published => &[
            "What handbooks say of this kind of orifice, where they apply to this run. A difference beyond 2 u wants a reason: another edge, a small head, a misread diameter.",
        ],
        Line::Record => &[
            "The record holds all that another engineer needs to check the run: photo, marks, inputs, results, budgets, sources, and the hashes of the files.",
            "These numbers are for teaching, research and checks; not for custody transfer or billing, and no licensed design may rest on them alone.",
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_has_words_and_no_line_is_a_book() {
        for line in Line::ALL {
            let words: usize = about(line).iter().map(|p| p.split_whitespace().count()).sum();
            assert!((20..140).contains(&words), "{line:?}: {words}");
        }
    }
}
