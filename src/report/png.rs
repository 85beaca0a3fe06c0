//! A figure as PNG, for where SVG is not taken.

use super::figure::Figure;
use super::pdf::{NoPdf, figure_fonts};
use super::svg::{Place, svg};
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};
use resvg::tiny_skia::{Color, Pixmap, Transform};

/// Pixels for each CSS pixel, of which a figure has 640 across: 1440 px, 200 in an inch of print at 7 in.
const PX_PER_UNIT: f32 = 2.25;

/// The figure on white.
///
/// # Errors
/// Where the figure cannot be drawn: a fault of ours.
pub fn png(figure: &Figure) -> Result<Vec<u8>, NoPdf> {
    let failed = |why: String| NoPdf(format!("figure {}: {why}", figure.name));
    let tree = usvg::Tree::from_str(&svg(figure, Place::File), &figure_fonts()).map_err(|e| failed(e.to_string()))?;
    let side = |units: f32| (units * PX_PER_UNIT).ceil() as u32;
    let (width, height) = (side(tree.size().width()), side(tree.size().height()));
    let mut map = Pixmap::new(width, height).ok_or_else(|| failed("it has no size".into()))?;
    map.fill(Color::WHITE);
    let scale = Transform::from_scale(width as f32 / tree.size().width(), height as f32 / tree.size().height());
    resvg::render(&tree, scale, &mut map.as_mut());
    let mut out = Vec::new();
    PngEncoder::new(&mut out)
        .write_image(map.data(), width, height, ExtendedColorType::Rgba8)
        .map_err(|e| failed(e.to_string()))?;
    Ok(out)
}
