//! Draws the overlay's list: every line a dark and a light hairline side by side, so that one of them shows on any
//! photo; kinds differ in shape and dashes as well as in colour; one accent for what is in hand.

use super::overlay::{Item, Role};
use super::view::View;
use crate::app::marks::MarkKind;
use crate::app::palette;
use crate::point::PixelPoint;
use eframe::egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};

/// The dark one of each pair of hairlines.
const DARK: Color32 = Color32::from_rgba_premultiplied(0, 0, 0, 200);
/// Behind labels.
const LABEL_GROUND: Color32 = Color32::from_rgba_premultiplied(0, 0, 0, 170);
/// Half the size of a mark, in points.
const MARK_SIZE: f32 = 9.0;

/// Radius of the ring about where the guide has the next mark, in points.
const NEAR: f32 = 36.0;
/// Radius of the ring about what was found and waits for consent, in points.
const FOUND: f32 = 6.0;

/// How a line is drawn.
struct Look {
    colour: Color32,
    width: f32,
    /// Dash and gap in points; `None` for a solid line.
    dashes: Option<(f32, f32)>,
}

impl Role {
    fn look(self) -> Look {
        let (colour, width, dashes) = match self {
            Self::Plumb | Self::Scale | Self::Orifice => (palette::MARKS, 1.0, None),
            Self::Level => (palette::MARKS, 1.0, Some((9.0, 4.0))),
            Self::Straight => (palette::MARKS, 1.0, Some((2.0, 4.0))),
            Self::LookIn => (palette::GREEN, 1.5, None),
            Self::LeaveOut => (palette::ORANGE, 1.5, Some((5.0, 4.0))),
            Self::Edge => (palette::EDGES, 1.0, None),
            Self::Fitted => (palette::FITTED, 1.5, None),
            Self::FittedBeyond => (palette::FITTED, 1.0, Some((3.0, 5.0))),
            Self::Predicted => (palette::PREDICTED, 1.2, Some((10.0, 5.0))),
        };
        Look { colour, width, dashes }
    }
}

/// Draws all items.
pub fn paint(painter: &Painter, view: &View, items: &[Item]) {
    for item in items {
        match item {
            Item::Line { points, role, closed } => line(painter, view, points, *closed, &role.look()),
            Item::Station { at, normal, u_px, used } => station(painter, view, *at, *normal, *u_px, *used),
            Item::Mark { mark, in_hand, of_line } => {
                glyph(painter, view.screen_from_pixel(mark.at), mark.kind, *in_hand, *of_line);
            }
            Item::Near(at) => {
                let look = Look { colour: palette::IN_HAND, width: 1.5, dashes: Some((6.0, 6.0)) };
                ring(painter, view.screen_from_pixel(*at), NEAR, &look);
            }
            Item::Found(at) => {
                let look = Look { colour: palette::MARKS, width: 1.5, dashes: None };
                ring(painter, view.screen_from_pixel(*at), FOUND, &look);
            }
            Item::Label { at, text, role } => label(painter, view.screen_from_pixel(*at), text, role.look().colour),
        }
    }
}

fn line(painter: &Painter, view: &View, points: &[PixelPoint], closed: bool, look: &Look) {
    let mut screen: Vec<Pos2> = points.iter().map(|p| view.screen_from_pixel(*p)).collect();
    if closed && let Some(first) = screen.first() {
        screen.push(*first);
    }
    // what is far outside would be dashed and tessellated for nothing
    for run in clipped(&screen, view.frame.expand(8.0)) {
        pair(painter, &run, look);
    }
}

/// A dark and a light hairline side by side.
fn pair(painter: &Painter, points: &[Pos2], look: &Look) {
    let half = 0.5 * look.width;
    for (off, colour) in [(half, DARK), (-half, look.colour)] {
        let beside = beside(points, off);
        let stroke = Stroke::new(look.width, colour);
        match look.dashes {
            None => {
                painter.add(Shape::line(beside, stroke));
            }
            Some((dash, gap)) => painter.extend(Shape::dashed_line(&beside, stroke, dash, gap)),
        }
    }
}

/// The line moved to its side by `off` points.
fn beside(points: &[Pos2], off: f32) -> Vec<Pos2> {
    let last = points.len().saturating_sub(1);
    let side = |i: usize| {
        let along = (points[(i + 1).min(last)] - points[i.saturating_sub(1)]).normalized();
        points[i] + off * along.rot90()
    };
    (0..points.len()).map(side).collect()
}

/// The parts of a line that lie in a rectangle (Liang and Barsky, segment by segment).
fn clipped(points: &[Pos2], rect: Rect) -> Vec<Vec<Pos2>> {
    let mut runs: Vec<Vec<Pos2>> = Vec::new();
    for pair in points.windows(2) {
        let (a, d) = (pair[0], pair[1] - pair[0]);
        let (mut from, mut to) = (0.0f32, 1.0f32);
        for (p, q) in
            [(-d.x, a.x - rect.min.x), (d.x, rect.max.x - a.x), (-d.y, a.y - rect.min.y), (d.y, rect.max.y - a.y)]
        {
            if p < 0.0 {
                from = from.max(q / p);
            } else if p > 0.0 {
                to = to.min(q / p);
            } else if q < 0.0 {
                to = -1.0;
            }
        }
        if from > to {
            continue;
        }
        let (first, second) = (a + from * d, a + to * d);
        match runs.last_mut() {
            Some(run) if from <= 0.0 && run.last() == Some(&a) => run.push(second),
            _ => runs.push(vec![first, second]),
        }
    }
    runs
}

/// A station: a dot while its uncertainty is too small to be seen, else a bar of its true length; a small cross where the
/// fit left it out.
fn station(painter: &Painter, view: &View, at: PixelPoint, normal: [f64; 2], u_px: f64, used: bool) {
    let centre = view.screen_from_pixel(at);
    if !view.frame.expand(8.0).contains(centre) {
        return;
    }
    let radius = (1.4 + 0.6 * view.scale as f32).min(3.0);
    if !used {
        let arm = radius + 1.5;
        for d in [vec2(arm, arm), vec2(arm, -arm)] {
            pair(painter, &[centre - d, centre + d], &Look { colour: palette::ORANGE, width: 1.0, dashes: None });
        }
        return;
    }
    let along = vec2(normal[0] as f32, normal[1] as f32);
    let reach = (u_px * view.scale) as f32;
    if reach > 3.0 {
        let look = Look { colour: palette::STATIONS, width: 1.0, dashes: None };
        let ends = [centre - reach * along, centre + reach * along];
        pair(painter, &ends, &look);
        for end in ends {
            let cap = 3.0 * along.rot90();
            pair(painter, &[end - cap, end + cap], &look);
        }
    }
    painter.circle_filled(centre, radius + 0.7, DARK);
    painter.circle_filled(centre, radius, palette::STATIONS);
}

fn label(painter: &Painter, at: Pos2, text: &str, colour: Color32) {
    let frame = painter.clip_rect().shrink(6.0);
    if !frame.expand(20.0).contains(at) {
        return;
    }
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(12.0), colour);
    let beside = Align2::LEFT_BOTTOM.anchor_size(at + vec2(8.0, -8.0), galley.size());
    let back = (frame.max - beside.max).min(Vec2::ZERO) + (frame.min - beside.min).max(Vec2::ZERO);
    let place = beside.translate(back);
    painter.rect_filled(place.expand2(vec2(4.0, 1.0)), 3.0, LABEL_GROUND);
    painter.galley(place.min, galley, colour);
}

/// A line of text at the top of the frame.
pub fn says(painter: &Painter, frame: Rect, text: &str) {
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(13.0), Color32::WHITE);
    let place = Align2::CENTER_TOP.anchor_size(frame.center_top() + vec2(0.0, 8.0), galley.size());
    painter.rect_filled(place.expand2(vec2(8.0, 4.0)), 3.0, LABEL_GROUND);
    painter.galley(place.min, galley, Color32::WHITE);
}

/// A mark: its kind's own shape, open in the middle so that what is marked stays in sight.
fn glyph(painter: &Painter, at: Pos2, kind: MarkKind, in_hand: bool, of_line: bool) {
    if !painter.clip_rect().expand(20.0).contains(at) {
        return;
    }
    let colour = if in_hand { palette::IN_HAND } else { palette::MARKS };
    let size = if in_hand { 1.3 * MARK_SIZE } else { MARK_SIZE };
    let width = if in_hand { 2.0 } else { 1.0 };
    let look =
        Look { colour: if of_line || in_hand { colour } else { colour.gamma_multiply(0.75) }, width, dashes: None };
    for stroke in shape(kind) {
        let points: Vec<Pos2> = stroke.iter().map(|[x, y]| at + size * vec2(*x, *y)).collect();
        pair(painter, &points, &look);
    }
    if in_hand {
        // a ring tells it from the others without colour
        ring(painter, at, 1.5 * size, &look);
    }
}

fn ring(painter: &Painter, at: Pos2, radius: f32, look: &Look) {
    let turn = |i: usize| Vec2::angled(i as f32 / 32.0 * std::f32::consts::TAU);
    let points: Vec<Pos2> = (0..=32).map(|i| at + radius * turn(i)).collect();
    pair(painter, &points, look);
}

/// Strokes of a kind's shape, about the mark, from -1 to 1.
fn shape(kind: MarkKind) -> Vec<Vec<[f32; 2]>> {
    let cross = |x: f32, y: f32| {
        vec![
            vec![[-x, 0.0], [-0.25, 0.0]],
            vec![[0.25, 0.0], [x, 0.0]],
            vec![[0.0, -y], [0.0, -0.25]],
            vec![[0.0, 0.25], [0.0, y]],
        ]
    };
    let outline = |corners: &[[f32; 2]]| {
        let mut points = corners.to_vec();
        points.extend(corners.first());
        vec![points]
    };
    match kind {
        // long where the line runs
        MarkKind::Plumb => cross(0.5, 1.0),
        MarkKind::Level => cross(1.0, 0.5),
        MarkKind::Scale(_) => [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]]
            .iter()
            .map(|[x, y]| vec![[0.75 * x, 0.75 * y], [0.2 * x, 0.2 * y]])
            .collect(),
        MarkKind::Plane => outline(&[[-0.65, -0.65], [0.65, -0.65], [0.65, 0.65], [-0.65, 0.65]])
            .into_iter()
            .chain(cross(0.65, 0.65))
            .collect(),
        // small: there are dozens of them
        MarkKind::Card => cross(0.45, 0.45),
        MarkKind::Straight(_) => outline(&[[0.0, -0.8], [0.8, 0.0], [0.0, 0.8], [-0.8, 0.0]]),
        MarkKind::Orifice => {
            let circle = (0..=24).map(|i| Vec2::angled(i as f32 / 24.0 * std::f32::consts::TAU));
            let ring: Vec<[f32; 2]> = circle.map(|v| [0.6 * v.x, 0.6 * v.y]).collect();
            std::iter::once(ring).chain(cross(1.0, 1.0)).collect()
        }
        MarkKind::LookIn => outline(&[[-0.45, -0.45], [0.45, -0.45], [0.45, 0.45], [-0.45, 0.45]]),
        MarkKind::LeaveOut(_) => {
            let mut square = outline(&[[-0.45, -0.45], [0.45, -0.45], [0.45, 0.45], [-0.45, 0.45]]);
            square.push(vec![[-0.45, 0.45], [0.45, -0.45]]);
            square
        }
        MarkKind::ByHand => outline(&[[0.0, -0.8], [0.75, 0.55], [-0.75, 0.55]]),
        // the sign for a free surface, its tip on it
        MarkKind::Surface => outline(&[[0.0, 0.0], [-0.6, -1.0], [0.6, -1.0]])
            .into_iter()
            .chain([vec![[-1.0, 0.0], [-0.25, 0.0]], vec![[0.25, 0.0], [1.0, 0.0]]])
            .collect(),
    }
}

/// A cross over the whole of `frame`, open about `at`.
pub fn crosshair(painter: &Painter, frame: Rect, at: Pos2, colour: Color32) {
    let look = Look { colour, width: 1.0, dashes: None };
    let gap = 5.0;
    for [a, b] in [
        [pos2(frame.left(), at.y), pos2(at.x - gap, at.y)],
        [pos2(at.x + gap, at.y), pos2(frame.right(), at.y)],
        [pos2(at.x, frame.top()), pos2(at.x, at.y - gap)],
        [pos2(at.x, at.y + gap), pos2(at.x, frame.bottom())],
    ] {
        pair(painter, &[a, b], &look);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_cut_at_the_frame() {
        let rect = Rect::from_min_max(pos2(0.0, 0.0), pos2(10.0, 10.0));
        let across = clipped(&[pos2(-1e6, 5.0), pos2(1e6, 5.0)], rect);
        assert_eq!(across.len(), 1);
        assert!((across[0][0].x - 0.0).abs() < 0.1 && (across[0][1].x - 10.0).abs() < 0.1, "{across:?}");
        assert!(clipped(&[pos2(-5.0, -5.0), pos2(-5.0, 20.0)], rect).is_empty());
        let inside = [pos2(1.0, 1.0), pos2(5.0, 5.0), pos2(9.0, 1.0)];
        assert_eq!(clipped(&inside, rect), vec![inside.to_vec()]);
        let out_and_in = [pos2(1.0, 1.0), pos2(1.0, -5.0), pos2(5.0, -5.0), pos2(5.0, 5.0)];
        assert_eq!(clipped(&out_and_in, rect).len(), 2);
    }

    #[test]
    fn every_kind_has_its_own_shape() {
        let kinds = [
            MarkKind::Plumb,
            MarkKind::Level,
            MarkKind::Scale(1),
            MarkKind::Plane,
            MarkKind::Card,
            MarkKind::Straight(1),
            MarkKind::Orifice,
            MarkKind::LookIn,
            MarkKind::LeaveOut(1),
            MarkKind::ByHand,
            MarkKind::Surface,
        ];
        for (i, a) in kinds.iter().enumerate() {
            assert!(kinds[i + 1..].iter().all(|b| shape(*a) != shape(*b)), "{a:?}");
        }
    }
}
