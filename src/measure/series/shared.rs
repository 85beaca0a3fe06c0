//! Which inputs are one and the same thing in which runs.
//!
//! An input is shared by two runs when it has the same name in their budgets and their sheets state the same thing of
//! it:
//!
//! | input | shared when |
//! | --- | --- |
//! | diameter, gravity, water temperature, approach area, stated launch, camera distance, lens | same value and uncertainty |
//! | lengths and readings of scales, coordinates of plane marks, their distance behind the jet | same values in the same order |
//! | clicked marks (scale, plane, plumb, level, straight edges, orifice, water surface) | the very same pixels: clicks carried over, not made anew |
//! | assumed lens (focal length, distortion, centre), ruler's graduation | same statement of the lens; as many scales: one camera and one ruler serve a series |
//! | the camera's squareness; terms of second order, which it leads | the orifice is clicked within a few pixels: the camera was not moved |
//! | bow of the seen middle, width of the stream's edges | same stated tone: the same light bends the same way |
//! | head readings, timed volumes, scatter of the stations, lines of a ruler | never: they are taken or read anew in each run; what is wrong with the ruler itself is its graduation |
//!
//! Shared inputs that stand for several marks contribute one signed number for each coordinate
//! ([`crate::measure::Findings::contributions`]), so their covariance is the sum of products, with no assumption on how
//! they add up.

use crate::sheet::{Checked, CheckedCard, Launch, ScaleLine};
use std::collections::HashMap;

/// How far two clicks of one thing lie apart at most when the camera was not moved, px: a tremor, not a new view.
const SAME_VIEW_PX: f64 = 4.0;

/// Whether two sheets state the same of an input.
type Same = fn(&Checked, &Checked) -> bool;

/// For each input that runs may share: the class of each run. Runs of one class share it.
#[derive(Clone, Debug, Default)]
pub(super) struct Sharing {
    classes: HashMap<&'static str, Vec<usize>>,
}

impl Sharing {
    pub(super) fn of<'a>(sheets: impl Iterator<Item = &'a Checked>) -> Self {
        let sheets: Vec<&Checked> = sheets.collect();
        let classes = SHARED.iter().map(|(name, same)| {
            // Each run is held against the first of each class only, which makes classes of what need not be transitive.
            let mut firsts: Vec<usize> = Vec::new();
            let class = |(i, sheet): (usize, &&Checked)| {
                let found = firsts.iter().position(|&first| same(sheets[first], sheet));
                found.unwrap_or_else(|| {
                    firsts.push(i);
                    firsts.len() - 1
                })
            };
            (*name, sheets.iter().enumerate().map(class).collect())
        });
        Self { classes: classes.collect() }
    }

    /// The class of each run for the input `name`; `None` where runs never share it.
    pub(super) fn classes(&self, name: &str) -> Option<&[usize]> {
        self.classes.get(name).map(Vec::as_slice)
    }
}

const SHARED: &[(&str, Same)] = &[
    ("orifice.diameter", |a, b| a.diameter == b.diameter),
    ("site.gravity", same_site),
    ("site.latitude", same_site),
    ("water.temperature", |a, b| a.temperature == b.temperature),
    ("head.approach_area", |a, b| a.approach_area == b.approach_area),
    ("head.surface", |a, b| a.surface == b.surface),
    ("trajectory.launch", |a, b| matches!(a.launch, Launch::Stated(_)) && a.launch == b.launch),
    ("scale.length", |a, b| same_scales(a, b, |s| s.marks.iter().map(|m| m.1).collect())),
    ("scale.at", |a, b| same_scales(a, b, |s| s.marks.iter().map(|m| m.1).collect())),
    ("scale.behind_jet", |a, b| same_scales(a, b, |s| vec![s.behind_jet])),
    ("scale.marks", |a, b| same_scales(a, b, |s| s.marks.iter().map(|m| m.0).collect())),
    ("scale.graduation", |a, b| a.scales.len() == b.scales.len()),
    ("plane.at", |a, b| a.plane.iter().map(|m| m.1).eq(b.plane.iter().map(|m| m.1))),
    ("plane.marks", |a, b| a.plane.iter().map(|m| m.0).eq(b.plane.iter().map(|m| m.0))),
    ("plane.behind_jet", |a, b| a.plane_behind_jet == b.plane_behind_jet),
    ("card.check_line", |a, b| same_card(a, b, |c| c.check_line)),
    ("card.upright_line", |a, b| same_card(a, b, |c| c.upright_line)),
    ("card.aspect", |a, b| same_card(a, b, |c| c.upright_line)),
    ("card.behind_jet", |a, b| same_card(a, b, |c| c.behind_jet)),
    ("card.marks", same_card_marks),
    ("vertical.plumb", |a, b| a.plumb == b.plumb),
    ("vertical.level", |a, b| a.level == b.level),
    ("orifice.centre", |a, b| a.orifice == b.orifice),
    ("lens.straight", |a, b| a.straight == b.straight),
    ("lens.k1", |a, b| a.k1 == b.k1),
    ("lens.k2", |a, b| a.k1 == b.k1),
    ("lens.centre", |a, b| a.k1 == b.k1),
    ("camera.focal_length", |a, b| a.k1 == b.k1),
    ("camera.distance", |a, b| a.camera_distance == b.camera_distance),
    ("camera.squareness", same_view),
    ("second order", same_view),
    ("stream.middle", |a, b| a.stream.tone == b.stream.tone),
    ("stream.width", |a, b| a.stream.tone == b.stream.tone),
];

/// Marks that were found anew in each photo are not the same.
fn same_card_marks(a: &Checked, b: &Checked) -> bool {
    a.card.as_ref().is_some_and(|c| !c.marks.is_empty()) && same_card(a, b, |c| c.marks.clone())
}

/// The same card, and the same of it.
fn same_card<T: PartialEq>(a: &Checked, b: &Checked, of: impl Fn(&CheckedCard) -> T) -> bool {
    let (Some(a), Some(b)) = (&a.card, &b.card) else { return false };
    a.paper == b.paper && of(a) == of(b)
}

fn same_view(a: &Checked, b: &Checked) -> bool {
    (a.orifice.at.x - b.orifice.at.x).hypot(a.orifice.at.y - b.orifice.at.y) <= SAME_VIEW_PX
}

fn same_site(a: &Checked, b: &Checked) -> bool {
    a.gravity == b.gravity && a.latitude == b.latitude && a.altitude == b.altitude
}

fn same_scales<T: PartialEq>(a: &Checked, b: &Checked, of: impl Fn(&ScaleLine) -> Vec<T>) -> bool {
    a.scales.len() == b.scales.len() && a.scales.iter().zip(&b.scales).all(|(a, b)| of(a) == of(b))
}
