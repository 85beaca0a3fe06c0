//! Type, spacing and colours of all widgets: calm, paper-like, light and dark.

use eframe::egui::{
    Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, Stroke, Style, TextStyle, Theme, Visuals,
    vec2,
};
use std::sync::Arc;

use super::palette;

/// The typeface of the records too: of a weight that is read on paper and slate, its figures all of one width.
const TYPEFACE: &[u8] = include_bytes!("../../assets/font/DejaVuSansCondensed.ttf");
/// The same in bold, for what stands out.
const BOLD: &[u8] = include_bytes!("../../assets/font/DejaVuSansCondensed-Bold.ttf");

/// Sets the look for light and dark; which of them follows the desktop unless the user chooses.
pub fn apply(ctx: &Context) {
    // where the desktop says nothing: paper
    ctx.options_mut(|o| o.fallback_theme = Theme::Light);
    ctx.set_visuals_of(Theme::Light, paper());
    ctx.set_visuals_of(Theme::Dark, slate());
    ctx.set_fonts(fonts());
    ctx.all_styles_mut(type_and_spacing);
}

fn bold_family() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// The family of what stands out; the usual one where this look is not applied.
pub fn bold(ctx: &Context) -> FontFamily {
    let there = ctx.fonts(|f| f.definitions().families.contains_key(&bold_family()));
    if there { bold_family() } else { FontFamily::Proportional }
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    for (name, bytes, family) in [("plain", TYPEFACE, FontFamily::Proportional), ("bold", BOLD, bold_family())] {
        fonts.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
        let others = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
        let all = std::iter::once(name.to_owned()).chain(others.into_iter().filter(|f| f != "plain"));
        fonts.families.insert(family, all.collect());
    }
    fonts
}

fn type_and_spacing(style: &mut Style) {
    for (kind, size) in
        [(TextStyle::Body, 13.5), (TextStyle::Button, 13.5), (TextStyle::Small, 11.5), (TextStyle::Heading, 19.0)]
    {
        if let Some(font) = style.text_styles.get_mut(&kind) {
            font.size = size;
        }
    }
    style.spacing.item_spacing = vec2(8.0, 5.0);
    style.spacing.button_padding = vec2(8.0, 3.0);
    style.spacing.interact_size.y = 22.0;
}

/// What is quieter than the rest, but is to be read: 5.7 and 6.6 times the luminance of what it stands on, or its.
pub const QUIET_ON_PAPER: Color32 = Color32::from_rgb(98, 98, 94);
/// The same on slate.
pub const QUIET_ON_SLATE: Color32 = Color32::from_rgb(165, 166, 164);

/// Ink on paper.
fn paper() -> Visuals {
    let mut v = Visuals::light();
    v.panel_fill = Color32::from_rgb(247, 246, 242);
    v.window_fill = v.panel_fill;
    v.extreme_bg_color = Color32::WHITE;
    v.faint_bg_color = Color32::from_rgb(238, 236, 230);
    v.widgets.noninteractive.fg_stroke = Stroke::new(1.0, Color32::from_rgb(30, 32, 36));
    v.widgets.noninteractive.bg_stroke = Stroke::new(1.0, Color32::from_rgb(205, 202, 193));
    v.widgets.inactive.fg_stroke = Stroke::new(1.0, Color32::from_rgb(30, 32, 36));
    v.weak_text_color = Some(QUIET_ON_PAPER);
    v.hyperlink_color = Color32::from_rgb(0, 96, 150);
    held(&mut v, Color32::WHITE, Color32::from_rgb(226, 224, 217), Color32::from_rgb(0, 96, 150));
    square(&mut v);
    v
}

/// Chalk on slate.
fn slate() -> Visuals {
    let mut v = Visuals::dark();
    v.panel_fill = Color32::from_rgb(32, 34, 37);
    v.window_fill = v.panel_fill;
    v.extreme_bg_color = Color32::from_rgb(22, 23, 26);
    v.faint_bg_color = Color32::from_rgb(42, 45, 49);
    v.widgets.noninteractive.fg_stroke = Stroke::new(1.0, Color32::from_rgb(222, 222, 218));
    v.widgets.inactive.fg_stroke = Stroke::new(1.0, Color32::from_rgb(222, 222, 218));
    v.weak_text_color = Some(QUIET_ON_SLATE);
    held(&mut v, Color32::from_rgb(22, 23, 26), Color32::from_rgb(58, 61, 66), palette::SKY);
    square(&mut v);
    v
}

/// What has the keyboard, or is pressed: an outline in the accent, never a filling that looks like a choice made.
fn held(v: &mut Visuals, paper: Color32, button: Color32, accent: Color32) {
    let text = v.widgets.inactive.fg_stroke;
    let active = &mut v.widgets.active;
    (active.bg_fill, active.weak_bg_fill) = (paper, button);
    (active.bg_stroke, active.fg_stroke) = (Stroke::new(1.6, accent), text);
}

fn square(v: &mut Visuals) {
    let corner = CornerRadius::same(2);
    for w in [
        &mut v.widgets.noninteractive,
        &mut v.widgets.inactive,
        &mut v.widgets.hovered,
        &mut v.widgets.active,
        &mut v.widgets.open,
    ] {
        w.corner_radius = corner;
    }
    v.menu_corner_radius = corner;
    v.window_corner_radius = corner;
}
