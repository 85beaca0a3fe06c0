//! Type, spacing and colours of all widgets: calm, paper-like, light and dark.

use eframe::egui::{Color32, Context, CornerRadius, Stroke, Style, TextStyle, Theme, Visuals, vec2};

/// Sets the look for light and dark; which of them follows the desktop unless the user chooses.
pub fn apply(ctx: &Context) {
    // where the desktop says nothing: paper
    ctx.options_mut(|o| o.fallback_theme = Theme::Light);
    ctx.set_visuals_of(Theme::Light, paper());
    ctx.set_visuals_of(Theme::Dark, slate());
    ctx.all_styles_mut(type_and_spacing);
}

fn type_and_spacing(style: &mut Style) {
    for (kind, size) in
        [(TextStyle::Body, 14.0), (TextStyle::Button, 14.0), (TextStyle::Small, 12.0), (TextStyle::Heading, 20.0)]
    {
        if let Some(font) = style.text_styles.get_mut(&kind) {
            font.size = size;
        }
    }
    style.spacing.item_spacing = vec2(8.0, 5.0);
    style.spacing.button_padding = vec2(8.0, 3.0);
    style.spacing.interact_size.y = 22.0;
}

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
    square(&mut v);
    v
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
