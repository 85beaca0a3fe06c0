//! Paints a line of the sheet as it stands closed: number, name, value, origin, state.

use super::ink;
use super::summary::{LineSummary, from_word};
use crate::app::line::Line;
use crate::app::look;
use eframe::egui::text::{LayoutJob, TextWrapping};
use eframe::egui::{
    Align2, Color32, FontId, Galley, Rect, Response, Role, Sense, TextStyle, Ui, WidgetInfo, pos2, vec2,
};
use std::sync::Arc;

/// Where the columns begin, and where decimal points stand, in points from the left.
const NAME: f32 = 30.0;
const VALUE: f32 = 120.0;
const POINT: f32 = 152.0;
const FIRST_ROW: f32 = 22.0;
const SECOND_ROW: f32 = 15.0;

/// Shows the line; clicked, it is taken in hand.
pub fn header(ui: &mut Ui, line: Line, summary: &LineSummary, in_hand: bool) -> Response {
    let second = second_row(summary);
    let height = 5.0 + FIRST_ROW + if second.is_empty() { 0.0 } else { SECOND_ROW };
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, in_hand, summary.spoken(line)));
    if !ui.is_rect_visible(rect) {
        return response;
    }
    let painter = ui.painter_at(rect);
    let rule = ui.visuals().widgets.noninteractive.bg_stroke;
    painter.hline(rect.x_range(), rect.top() + 0.5, rule);
    if in_hand {
        painter.rect_filled(rect, 0.0, ui.visuals().faint_bg_color);
        painter.rect_filled(Rect::from_min_size(rect.min, vec2(3.0, height)), 0.0, ink::accent(ui));
    } else if response.hovered() {
        painter.rect_filled(rect, 0.0, ui.visuals().faint_bg_color.gamma_multiply(0.6));
    }
    if response.has_focus() {
        let stroke = eframe::egui::Stroke::new(1.5, ink::accent(ui));
        painter.rect_stroke(rect.shrink(1.0), 2.0, stroke, eframe::egui::StrokeKind::Inside);
    }
    let strong = ui.visuals().strong_text_color();
    let plain = ui.visuals().text_color();
    let quiet = ink::quiet(ui);
    let (body, small) = (TextStyle::Body.resolve(ui.style()), TextStyle::Small.resolve(ui.style()));
    let row = rect.top() + 2.0 + 0.5 * FIRST_ROW;
    let text = |x: f32, y: f32, align: Align2, text: &str, font: &FontId, colour: Color32| {
        painter.text(pos2(x, y), align, text, font.clone(), colour)
    };
    let number = line.number().to_string();
    text(rect.left() + NAME - 8.0, row, Align2::RIGHT_CENTER, &number, &body, quiet);
    let name = FontId::new(body.size, look::bold(ui.ctx()));
    text(rect.left() + NAME, row, Align2::LEFT_CENTER, line.name(), &name, strong);

    let colour = if summary.waits { quiet } else { ink::of_standing(ui, summary.standing) };
    let word = text(rect.right() - 6.0, row, Align2::RIGHT_CENTER, summary.standing.word(), &small, colour);
    ink::draw_standing(&painter, pos2(word.left() - 9.0, row), summary.standing, colour);

    let (value, u) = match summary.value.split_once(" ± ") {
        Some((value, u)) => (value, format!(" ± {u}")),
        None => (summary.value.as_str(), String::new()),
    };
    let fade = if summary.stale { 0.55 } else { 1.0 };
    let value_colour = if u.is_empty() { plain } else { strong }.gamma_multiply(fade);
    let room_to = word.left() - 20.0;
    let start = rect.left() + before_point(ui, value, &body).map_or(VALUE, |w| (POINT - w).max(VALUE - 14.0));
    let mut at = start;
    for (part, colour) in [(value, value_colour), (u.as_str(), quiet.gamma_multiply(fade))] {
        let galley = one_row(ui, part, &body, colour, room_to - at);
        let size = galley.size();
        painter.galley(pos2(at, row - 0.5 * size.y), galley, colour);
        at += size.x;
    }
    let below = rect.top() + 2.0 + FIRST_ROW + 0.5 * SECOND_ROW - 2.0;
    if !second.is_empty() {
        let room = (rect.right() - 6.0 - rect.left() - VALUE).max(40.0);
        let galley = one_row(ui, &second, &small, quiet.gamma_multiply(fade), room);
        painter.galley(pos2(rect.left() + VALUE, below - 0.5 * galley.size().y), galley, quiet);
    }
    response
}

/// The quieter row: where the value came from, what else there is, what it costs.
fn second_row(s: &LineSummary) -> String {
    let stale = s.stale.then_some("of the sheet before");
    let parts = [s.from.map(from_word), stale, s.cost.as_deref(), Some(s.more.as_str()).filter(|m| !m.is_empty())];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" \u{b7} ")
}

/// A text of one row, cut with an ellipsis where there is no room.
fn one_row(ui: &Ui, text: &str, font: &FontId, colour: Color32, room: f32) -> Arc<Galley> {
    let mut job = LayoutJob::simple_singleline(text.to_owned(), font.clone(), colour);
    job.wrap = TextWrapping::truncate_at_width(room.max(8.0));
    ui.painter().layout_job(job)
}

/// Width of what stands before the decimal point of a value that begins with a number.
fn before_point(ui: &Ui, value: &str, font: &FontId) -> Option<f32> {
    let is_number = value.trim_start_matches(['-', '+']).starts_with(|c: char| c.is_ascii_digit());
    let number = value.split(' ').next().filter(|n| is_number && n.contains('.'))?;
    let whole = number.split('.').next()?;
    let galley = ui.painter().layout_no_wrap(whole.to_owned(), font.clone(), Color32::PLACEHOLDER);
    Some(galley.size().x)
}
