//! The close-up: what lies under the pointer or under the mark in hand, its pixels large enough to be counted.

use super::overlay::Item;
use super::paint;
use super::picture::part;
use super::view::View;
use crate::app::palette;
use crate::photo::Photo;
use crate::point::PixelPoint;
use eframe::egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, TextureHandle, TextureOptions, Vec2, pos2, vec2,
};

/// Its size and its distance from the pointer, in points.
const SIZE: Vec2 = vec2(208.0, 208.0);
const AWAY: f32 = 30.0;
/// Points of the screen for a pixel of the photo, at least: pixels can be counted, and what is about them is known again.
const MAGNIFIED: f64 = 5.0;
/// Height of the line that tells the place.
const CAPTION: f32 = 20.0;

/// The close-up's texture.
#[derive(Default)]
pub struct CloseUp {
    texture: Option<TextureHandle>,
}

impl CloseUp {
    /// Paints it for the place `at`, which the view shows.
    pub fn paint(&mut self, painter: &Painter, view: &View, photo: &Photo, white: u16, at: PixelPoint, items: &[Item]) {
        let outer = place(view.frame, view.screen_from_pixel(at));
        let frame = Rect::from_min_max(outer.min, outer.max - vec2(0.0, CAPTION));
        let close = View { frame, scale: MAGNIFIED.max(2.0 * view.scale), middle: at };
        let inner = painter.with_clip_rect(frame.intersect(painter.clip_rect()));
        painter.rect_filled(outer, 2.0, Color32::BLACK);
        let [left, top, right, bottom] = close.in_sight();
        let from = |v: f64, size: usize| v.floor().clamp(0.0, size as f64) as usize;
        let (x0, x1) = (from(left, photo.width), from(right + 1.0, photo.width));
        let (y0, y1) = (from(top, photo.height), from(bottom + 1.0, photo.height));
        if x1 > x0 && y1 > y0 {
            let image = part(photo, white, [x0, y0], [x1 - x0, y1 - y0], 1);
            let texture = match &mut self.texture {
                Some(texture) => {
                    texture.set(image, TextureOptions::NEAREST);
                    texture
                }
                none => none.insert(painter.ctx().load_texture("close-up", image, TextureOptions::NEAREST)),
            };
            let corner = |x: usize, y: usize| close.screen_from_pixel(PixelPoint::new(x as f64, y as f64));
            let all = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            inner.image(texture.id(), Rect::from_min_max(corner(x0, y0), corner(x1, y1)), all, Color32::WHITE);
        }
        // the mark in hand lies under the cross, and labels would hide what they tell of
        let beside = |item: &&Item| !matches!(item, Item::Label { .. } | Item::Mark { in_hand: true, .. });
        let around: Vec<Item> = items.iter().filter(beside).cloned().collect();
        paint::paint(&inner, &close, &around);
        paint::crosshair(&inner, frame, frame.center(), palette::IN_HAND);
        let middle = pos2(outer.center().x, outer.max.y - 0.5 * CAPTION);
        painter.text(middle, Align2::CENTER_CENTER, says(at), FontId::monospace(12.0), Color32::WHITE);
        painter.rect_stroke(outer, 2.0, Stroke::new(1.0, palette::IN_HAND), StrokeKind::Outside);
    }
}

/// `1518.9, 818.7 px`.
pub fn says(at: PixelPoint) -> String {
    format!("{:.1}, {:.1} px", at.x, at.y)
}

/// Where it goes: to the right of the pointer and below, or to the other side where there is no room.
pub fn place(frame: Rect, pointer: Pos2) -> Rect {
    let along = |pointer: f32, size: f32, end: f32| {
        if pointer + AWAY + size <= end { pointer + AWAY } else { pointer - AWAY - size }
    };
    let min = pos2(along(pointer.x, SIZE.x, frame.right()), along(pointer.y, SIZE.y, frame.bottom()));
    Rect::from_min_size(min, SIZE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_never_lies_under_the_pointer_and_stays_in_the_frame() {
        let frame = Rect::from_min_size(pos2(0.0, 24.0), vec2(850.0, 600.0));
        for i in 0..=20 {
            for j in 0..=20 {
                let pointer = frame.min + vec2(i as f32 / 20.0, j as f32 / 20.0) * frame.size();
                let seen = place(frame, pointer);
                assert!(!seen.expand(AWAY - 1.0).contains(pointer), "{pointer:?}");
                assert!(frame.contains_rect(seen), "{pointer:?} {seen:?}");
            }
        }
    }
}
