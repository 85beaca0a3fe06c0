//! The photo on the screen, in tiles: an overview first, then what is in sight at the detail that the screen can show.
//!
//! Detail comes in steps of two (1, 2, 4 ... photo pixels a texel), so that however large the photo, about one
//! screenful of texels is enough; tiles are cut from the photo itself, a few a frame, and the least lately seen are dropped.

use super::picture::{Overview, part};
use super::view::View;
use crate::photo::Photo;
use crate::point::PixelPoint;
use eframe::egui::{Color32, Context, Painter, Rect, TextureFilter, TextureHandle, TextureOptions, pos2};
use std::collections::HashMap;
use std::time::{Duration, Instant};

/// Texels along a tile's side.
const SIDE: usize = 1024;
/// Tiles that are kept: 64 of them are 256 MB at the most.
const KEPT: usize = 64;
/// What cutting tiles may take of a frame.
const A_FRAME: Duration = Duration::from_millis(6);
/// Reduced pictures are read between their texels; magnified ones show the photo's pixels as they are.
const OPTIONS: TextureOptions = TextureOptions { magnification: TextureFilter::Nearest, ..TextureOptions::LINEAR };

/// A tile: photo pixels a texel, column and row.
type Place = (usize, usize, usize);

/// The textures of one photo.
#[derive(Default)]
pub struct Tiles {
    overview: Option<TextureHandle>,
    tiles: HashMap<Place, Tile>,
    frame: u64,
}

struct Tile {
    texture: TextureHandle,
    seen: u64,
}

impl Tiles {
    /// Paints the photo; asks for another frame while tiles are still to come.
    pub fn paint(&mut self, painter: &Painter, view: &View, photo: &Photo, overview: &Overview) {
        let ctx = painter.ctx();
        self.frame += 1;
        let whole = Rect::from_min_max(
            view.screen_from_pixel(PixelPoint::new(0.0, 0.0)),
            view.screen_from_pixel(PixelPoint::new(photo.width as f64, photo.height as f64)),
        );
        let texture = self.overview.get_or_insert_with(|| {
            // where the device has mipmaps, they smooth it when it is small on the screen
            let options = OPTIONS.with_mipmap_mode(Some(TextureFilter::Linear));
            ctx.load_texture("photo", overview.image.clone(), options)
        });
        // the last block of a row may reach beyond the photo
        let reach = |n: usize, size: usize| (size as f32 / overview.factor as f32) / n as f32;
        let [columns, rows] = overview.image.size;
        let uv = Rect::from_min_max(pos2(0.0, 0.0), pos2(reach(columns, photo.width), reach(rows, photo.height)));
        painter.image(texture.id(), whole, uv, Color32::WHITE);
        let step = detail(view.scale * f64::from(ctx.pixels_per_point()));
        if step < overview.factor {
            let missing = self.fill(ctx, view, photo, overview.white, step, painter);
            if missing {
                ctx.request_repaint();
            }
        }
        self.forget();
    }

    /// Paints the tiles in sight, and makes missing ones, nearest to the middle first, as long as the frame has time.
    fn fill(&mut self, ctx: &Context, view: &View, photo: &Photo, white: u16, step: usize, painter: &Painter) -> bool {
        let side = SIDE.min(ctx.input(|i| i.max_texture_side));
        let covers = side * step;
        let [left, top, right, bottom] = view.in_sight();
        let range = |from: f64, to: f64, size: usize| {
            let last = size.div_ceil(covers);
            let first = (from / covers as f64).floor().clamp(0.0, last as f64) as usize;
            first..((to / covers as f64).ceil().clamp(0.0, last as f64) as usize)
        };
        let mut missing = Vec::new();
        for row in range(top, bottom, photo.height) {
            for column in range(left, right, photo.width) {
                let place = (step, column, row);
                match self.tiles.get_mut(&place) {
                    Some(tile) => {
                        tile.seen = self.frame;
                        put(painter, view, photo, tile.texture.id(), place, covers);
                    }
                    None => missing.push(place),
                }
            }
        }
        let far = |(_, column, row): &Place| {
            let middle = |n: usize| (n as f64 + 0.5) * covers as f64;
            view.middle.distance(PixelPoint::new(middle(*column), middle(*row)))
        };
        missing.sort_by(|a, b| far(a).total_cmp(&far(b)));
        let begun = Instant::now();
        let mut made = 0;
        for place in &missing {
            let (_, column, row) = *place;
            let from = [column * covers, row * covers];
            let size = [covers.min(photo.width - from[0]), covers.min(photo.height - from[1])];
            let texture = ctx.load_texture("photo tile", part(photo, white, from, size, step), OPTIONS);
            put(painter, view, photo, texture.id(), *place, covers);
            self.tiles.insert(*place, Tile { texture, seen: self.frame });
            made += 1;
            if begun.elapsed() > A_FRAME {
                break;
            }
        }
        made < missing.len()
    }

    /// Drops the tiles that were not seen for longest.
    fn forget(&mut self) {
        while self.tiles.len() > KEPT {
            let oldest = self.tiles.iter().filter(|(_, t)| t.seen < self.frame).min_by_key(|(_, t)| t.seen);
            let Some(place) = oldest.map(|(place, _)| *place) else { return };
            self.tiles.remove(&place);
        }
    }
}

/// Photo pixels a texel for `scale` screen pixels a photo pixel: the largest power of two that loses nothing.
fn detail(scale: f64) -> usize {
    let mut step = 1;
    while 2.0 * step as f64 * scale <= 1.0 {
        step *= 2;
    }
    step
}

fn put(
    painter: &Painter,
    view: &View,
    photo: &Photo,
    texture: eframe::egui::TextureId,
    (step, column, row): Place,
    covers: usize,
) {
    let from = [column * covers, row * covers];
    let to = [(from[0] + covers).min(photo.width), (from[1] + covers).min(photo.height)];
    let corner = |at: [usize; 2]| view.screen_from_pixel(PixelPoint::new(at[0] as f64, at[1] as f64));
    let uv = |k: usize| {
        let pixels = (to[k] - from[k]) as f32;
        pixels / ((to[k] - from[k]).div_ceil(step) * step) as f32
    };
    let rect = Rect::from_min_max(corner(from), corner(to));
    painter.image(texture, rect, Rect::from_min_max(pos2(0.0, 0.0), pos2(uv(0), uv(1))), Color32::WHITE);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn detail_is_what_the_screen_can_show() {
        for (scale, step) in [(8.0, 1), (1.0, 1), (0.51, 1), (0.5, 2), (0.3, 2), (0.25, 4), (0.08, 8)] {
            assert_eq!(detail(scale), step, "{scale}");
        }
    }
}
