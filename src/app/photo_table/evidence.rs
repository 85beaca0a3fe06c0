//! The evidence layer: what the threshold sees, over the photo.

use super::view::View;
use crate::app::palette;
use crate::jet::EvidencePlate;
use crate::point::PixelPoint;
use eframe::egui::{Color32, ColorImage, Painter, Rect, TextureHandle, TextureOptions, pos2};
use rayon::prelude::*;
use std::sync::Arc;

/// Longest side of its texture.
const SIDE: usize = 2048;
/// How much of the photo shows through.
const OPACITY: f32 = 0.6;

/// The texture, and what it was made of.
#[derive(Default)]
pub struct EvidenceLayer {
    made: Option<(Arc<EvidencePlate>, f64, TextureHandle)>,
}

impl EvidenceLayer {
    /// Paints every place whose gradient counts in full at the level.
    pub fn paint(&mut self, painter: &Painter, view: &View, plate: &Arc<EvidencePlate>, level: f64) {
        let step = plate.width.max(plate.height).div_ceil(SIDE).max(1);
        let fresh = self.made.as_ref().is_none_or(|(p, l, _)| !Arc::ptr_eq(p, plate) || *l != level);
        if fresh {
            let image = seen(plate, level, step);
            match &mut self.made {
                Some((p, l, texture)) => {
                    texture.set(image, TextureOptions::NEAREST);
                    (*p, *l) = (plate.clone(), level);
                }
                none => {
                    let texture = painter.ctx().load_texture("evidence", image, TextureOptions::NEAREST);
                    *none = Some((plate.clone(), level, texture));
                }
            }
        }
        let Some((_, _, texture)) = &self.made else { return };
        let [columns, rows] = texture.size();
        let reach = |n: usize| (n * step * plate.factor) as f64;
        let corner = |x: f64, y: f64| view.screen_from_pixel(PixelPoint::new(x, y));
        let rect = Rect::from_min_max(corner(0.0, 0.0), corner(reach(columns), reach(rows)));
        let all = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        painter.image(texture.id(), rect, all, Color32::WHITE.gamma_multiply(OPACITY));
    }
}

/// Cells of `step` x `step`, coloured where any of them counts in full; those that fill no whole cell are left out.
fn seen(plate: &EvidencePlate, level: f64, step: usize) -> ColorImage {
    let least = EvidencePlate::full_at(level);
    let size = [plate.width / step, plate.height / step];
    let mut pixels = vec![Color32::TRANSPARENT; size[0] * size[1]];
    pixels.par_chunks_mut(size[0].max(1)).enumerate().for_each(|(j, line)| {
        for row in plate.values[j * step * plate.width..][..step * plate.width].chunks_exact(plate.width.max(1)) {
            for (pixel, block) in line.iter_mut().zip(row.chunks_exact(step)) {
                if block.iter().any(|v| *v >= least) {
                    *pixel = palette::EVIDENCE;
                }
            }
        }
    });
    ColorImage::new(size, pixels)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_above_the_level_is_coloured() {
        let mut values = vec![0.0; 4 * 4];
        values[5] = 13.0;
        let plate = EvidencePlate { width: 4, height: 4, factor: 2, values, automatic: 0.25, histogram: Vec::new() };
        let count = |level, step| seen(&plate, level, step).pixels.iter().filter(|p| p.a() > 0).count();
        // level 1 is 24 deviations
        assert_eq!((count(0.5, 1), count(0.6, 1)), (1, 0));
        assert_eq!(seen(&plate, 0.5, 2).pixels[0], palette::EVIDENCE);
        assert_eq!((count(0.5, 2), count(0.0, 1)), (1, 1), "a gradient of nothing is never seen");
    }
}
