//! Where the photo table is looking: between pixels of the photo and points of the screen.

use crate::point::PixelPoint;
use eframe::egui::{Pos2, Rect, Vec2, pos2};

/// Largest magnification: points of the screen for a pixel of the photo.
const MOST: f64 = 64.0;
/// How much farther out than the whole photo one may go.
const LEAST_OF_FIT: f64 = 0.5;
/// Part of the frame that the fitted photo leaves free, on each side, in points.
const MARGIN: f32 = 12.0;

/// A view of a photo in a frame on the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// The frame on the screen.
    pub frame: Rect,
    /// Points of the screen for a pixel of the photo.
    pub scale: f64,
    /// The pixel in the middle of the frame.
    pub middle: PixelPoint,
}

impl View {
    /// The whole photo of `size_px` in the frame.
    pub fn fitted(frame: Rect, size_px: [f64; 2]) -> Self {
        let room = (frame.size() - Vec2::splat(2.0 * MARGIN)).max(Vec2::splat(1.0));
        let scale = (f64::from(room.x) / size_px[0]).min(f64::from(room.y) / size_px[1]);
        Self { frame, scale, middle: PixelPoint::new(0.5 * size_px[0], 0.5 * size_px[1]) }
    }

    /// Where a pixel of the photo is on the screen.
    pub fn screen_from_pixel(&self, p: PixelPoint) -> Pos2 {
        let centre = self.frame.center();
        let to = |v: f64, middle: f64, centre: f32| (f64::from(centre) + (v - middle) * self.scale) as f32;
        pos2(to(p.x, self.middle.x, centre.x), to(p.y, self.middle.y, centre.y))
    }

    /// Which pixel of the photo a point of the screen shows.
    pub fn pixel_from_screen(&self, s: Pos2) -> PixelPoint {
        let centre = self.frame.center();
        let to = |v: f32, centre: f32, middle: f64| middle + (f64::from(v) - f64::from(centre)) / self.scale;
        PixelPoint::new(to(s.x, centre.x, self.middle.x), to(s.y, centre.y, self.middle.y))
    }

    /// Moved with the photo by `delta` points.
    #[must_use]
    pub fn panned(self, delta: Vec2) -> Self {
        let middle = PixelPoint::new(
            self.middle.x - f64::from(delta.x) / self.scale,
            self.middle.y - f64::from(delta.y) / self.scale,
        );
        Self { middle, ..self }
    }

    /// Magnified by `factor`; what `fixed` shows stays there.
    #[must_use]
    pub fn zoomed(self, factor: f64, fixed: Pos2, size_px: [f64; 2]) -> Self {
        let least = (LEAST_OF_FIT * Self::fitted(self.frame, size_px).scale).min(MOST);
        let scale = (self.scale * factor).clamp(least, MOST);
        let kept = self.pixel_from_screen(fixed);
        let moved = Self { scale, ..self };
        let slid = moved.screen_from_pixel(kept);
        moved.panned(fixed - slid)
    }

    /// With the middle brought back where it left the photo.
    #[must_use]
    pub fn held(self, size_px: [f64; 2]) -> Self {
        let middle = PixelPoint::new(self.middle.x.clamp(0.0, size_px[0]), self.middle.y.clamp(0.0, size_px[1]));
        Self { middle, ..self }
    }

    /// With `p` in sight: unchanged where it is well inside the frame, else brought to the middle.
    #[must_use]
    pub fn revealing(self, p: PixelPoint) -> Self {
        let inner = self.frame.shrink(self.frame.size().min_elem() * 0.08);
        if inner.contains(self.screen_from_pixel(p)) { self } else { Self { middle: p, ..self } }
    }

    /// The part of the photo that is in sight: left, top, right, bottom in pixels.
    pub fn in_sight(&self) -> [f64; 4] {
        let (a, b) = (self.pixel_from_screen(self.frame.min), self.pixel_from_screen(self.frame.max));
        [a.x, a.y, b.x, b.y]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SIZE: [f64; 2] = [6000.0, 4000.0];

    fn view(scale: f64, x: f64, y: f64) -> View {
        let frame = Rect::from_min_max(pos2(0.0, 24.0), pos2(850.0, 630.0));
        View { frame, scale, middle: PixelPoint::new(x, y) }
    }

    proptest! {
        #[test]
        fn there_and_back(scale in 0.05..64.0f64, x in 0.0..6000.0f64, y in 0.0..4000.0f64, sx in 0.0..850.0f32, sy in 24.0..630.0f32) {
            let v = view(scale, x, y);
            let s = pos2(sx, sy);
            // f32 on the screen holds a 16 384th of a point here
            prop_assert!((v.screen_from_pixel(v.pixel_from_screen(s)) - s).length() < 2e-4);
            let p = v.pixel_from_screen(s);
            prop_assert!(v.pixel_from_screen(v.screen_from_pixel(p)).distance(p) * scale < 2e-4);
        }

        #[test]
        fn zooming_keeps_what_the_pointer_shows(
            scale in 0.1..40.0f64, factor in 0.2..5.0f64, sx in 0.0..850.0f32, sy in 24.0..630.0f32,
        ) {
            let v = view(scale, 3000.0, 2000.0);
            let s = pos2(sx, sy);
            let zoomed = v.zoomed(factor, s, SIZE);
            let off = zoomed.pixel_from_screen(s).distance(v.pixel_from_screen(s));
            // float rounding of the screen point, in pixels of the coarser view
            prop_assert!(off * scale.min(zoomed.scale) < 1e-3, "{off} px off");
        }
    }

    #[test]
    fn the_whole_photo_fits() {
        let v = View::fitted(view(1.0, 0.0, 0.0).frame, SIZE);
        let [left, top, right, bottom] = v.in_sight();
        assert!(left < 0.0 && top < 0.0 && right > SIZE[0] && bottom > SIZE[1]);
        let free = v.frame.width().min(v.frame.height()) as f64;
        assert!((right - left - SIZE[0]) * v.scale < 0.1 * free || (bottom - top - SIZE[1]) * v.scale < 0.1 * free);
    }

    #[test]
    fn zoom_has_ends_and_the_photo_cannot_be_lost() {
        let v = view(1.0, 3000.0, 2000.0);
        let middle = v.frame.center();
        assert_eq!(v.zoomed(1e9, middle, SIZE).scale, MOST);
        let far = v.zoomed(1e-9, middle, SIZE).scale;
        assert!((far - 0.5 * View::fitted(v.frame, SIZE).scale).abs() < 1e-12);
        let held = v.panned(Vec2::splat(1e6)).held(SIZE);
        assert_eq!(held.middle, PixelPoint::new(0.0, 0.0));
    }

    #[test]
    fn what_is_in_sight_stays_put() {
        let v = view(2.0, 3000.0, 2000.0);
        assert_eq!(v.revealing(PixelPoint::new(3050.0, 2050.0)), v);
        assert_eq!(v.revealing(PixelPoint::new(50.0, 60.0)).middle, PixelPoint::new(50.0, 60.0));
    }
}
