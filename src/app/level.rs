//! The level on the histogram of what it cuts: drag it, or move it with the arrow keys.

use eframe::egui::accesskit::Action;
use eframe::egui::{Event, EventFilter, Key, Rect, Response, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::command::Command;
use super::palette;
use crate::jet::EvidencePlate;

/// The key that it states.
pub const KEY: &str = "stream.level";
/// Its height in points.
const HEIGHT: f32 = 52.0;
/// How far an arrow key moves it.
const STEP: f64 = 0.01;

/// Shows the histogram with the level on it, and the automatic one as a short stroke. `stated` is the sheet's level;
/// `None` where the automatic one is taken. Delete goes back to that.
pub fn show(ui: &mut Ui, plate: &EvidencePlate, stated: Option<f64>, commands: &mut Vec<Command>) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click_and_drag());
    let now = stated.unwrap_or(plate.automatic);
    let mut to = now;
    if let Some(at) = response.interact_pointer_pos()
        && (response.dragged() || response.clicked())
    {
        response.request_focus();
        to = f64::from((at.x - rect.left()) / rect.width());
    }
    if response.has_focus() {
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        let mut is_over = false;
        for event in ui.input(|i| i.events.clone()) {
            let Event::Key { key, pressed, modifiers, .. } = event else { continue };
            let way = match key {
                Key::ArrowRight => 1.0,
                Key::ArrowLeft => -1.0,
                Key::Delete | Key::Backspace if pressed => {
                    commands.extend([put(String::new()), Command::Still]);
                    continue;
                }
                _ => continue,
            };
            is_over |= !pressed;
            let by = if modifiers.shift {
                10.0
            } else if modifiers.ctrl {
                0.1
            } else {
                1.0
            };
            to += if pressed { way * by * STEP } else { 0.0 };
        }
        if is_over && to == now {
            commands.push(Command::Still);
        }
    }
    let asked = |action| ui.input(|i| i.num_accesskit_action_requests(response.id, action)) as f64;
    to += STEP * (asked(Action::Increment) - asked(Action::Decrement));
    to = (to.clamp(0.0, 1.0) * 1000.0).round() / 1000.0;
    if to != now && to.is_finite() {
        commands.push(put(to.to_string()));
    }
    if response.drag_stopped() || response.clicked() {
        commands.push(Command::Still);
    }
    paint(ui, rect, plate, to, response.has_focus());
    response.widget_info(|| WidgetInfo::slider(true, to, "level"));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_min_numeric_value(0.0);
        node.set_max_numeric_value(1.0);
        node.add_action(Action::Increment);
        node.add_action(Action::Decrement);
    });
    response
}

fn put(typed: String) -> Command {
    Command::Put { key: KEY.into(), typed }
}

fn paint(ui: &Ui, rect: Rect, plate: &EvidencePlate, level: f64, focused: bool) {
    let painter = ui.painter_at(rect.expand(2.0));
    let visuals = ui.visuals();
    painter.rect_filled(rect, 2.0, visuals.extreme_bg_color);
    // the logarithm of the counts: edges are few beside the flat of the photo
    let most = plate.histogram.iter().copied().max().unwrap_or(0);
    let tall = |n: u32| f64::from(n).ln_1p() / f64::from(most.max(1)).ln_1p();
    let classes = plate.histogram.len().max(1);
    let x = |share: f64| rect.left() + (share * f64::from(rect.width())) as f32;
    for (i, &n) in plate.histogram.iter().enumerate() {
        let (from, to) = (i as f64 / classes as f64, (i + 1) as f64 / classes as f64);
        let top = rect.bottom() - 0.86 * rect.height() * tall(n) as f32;
        let bar = Rect::from_min_max(pos2(x(from), top), pos2(x(to), rect.bottom()));
        let colour = if to > level { palette::EVIDENCE } else { visuals.weak_text_color() };
        painter.rect_filled(bar, 0.0, colour);
    }
    let line = Stroke::new(1.0, visuals.text_color());
    painter.vline(x(plate.automatic), rect.top()..=rect.top() + 0.3 * rect.height(), line);
    let at = x(level);
    painter.vline(at, rect.y_range(), Stroke::new(2.0, palette::IN_HAND));
    let tip = vec![pos2(at - 6.0, rect.top()), pos2(at + 6.0, rect.top()), pos2(at, rect.top() + 8.0)];
    painter.add(Shape::convex_polygon(tip, palette::IN_HAND, Stroke::NONE));
    if focused {
        painter.rect_stroke(rect, 2.0, visuals.selection.stroke, eframe::egui::StrokeKind::Outside);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::{Modifiers, PointerButton, Pos2};
    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT, Queryable};

    struct Bench {
        level: Option<f64>,
        said: Vec<Command>,
    }

    fn bench() -> Harness<'static, Bench> {
        let histogram = (0..96).map(|i| 96_000 / (1 + i * i)).collect();
        let plate = EvidencePlate { width: 1, height: 1, factor: 1, values: vec![0.0], automatic: 0.25, histogram };
        let show_it = move |ui: &mut Ui, bench: &mut Bench| {
            let mut commands = Vec::new();
            show(ui, &plate, bench.level, &mut commands);
            for command in &commands {
                if let Command::Put { typed, .. } = command {
                    bench.level = typed.parse().ok();
                }
            }
            bench.said.extend(commands);
        };
        let mut harness = Harness::new_ui_state(show_it, Bench { level: None, said: Vec::new() });
        harness.run();
        harness
    }

    #[test]
    fn it_is_dragged_and_set_by_keys() {
        let mut h = bench();
        assert_eq!(h.get_by_label("level").accesskit_node().numeric_value(), Some(0.25), "the automatic one");
        let rect = h.get_by_label("level").rect();
        let at = |share: f32| Pos2::new(rect.left() + share * rect.width(), rect.center().y);
        let button = |pos, pressed| Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        h.hover_at(at(0.25));
        h.event(button(at(0.25), true));
        h.step();
        for share in [0.3, 0.4, 0.5] {
            h.hover_at(at(share));
            h.step();
        }
        h.event(button(at(0.5), false));
        h.run();
        assert!((h.state().level.unwrap() - 0.5).abs() < 0.01, "{:?}", h.state().level);
        assert_eq!(h.state().said.last(), Some(&Command::Still));
        h.state_mut().level = Some(0.5);
        h.run();
        for (modifiers, key, expected) in [
            (Modifiers::NONE, Key::ArrowLeft, 0.49),
            (Modifiers::SHIFT, Key::ArrowRight, 0.59),
            (Modifiers::CTRL, Key::ArrowRight, 0.591),
        ] {
            h.key_press_modifiers(modifiers, key);
            h.run();
            assert_eq!(h.state().level, Some(expected));
        }
        h.key_press(Key::Delete);
        h.run();
        assert_eq!(h.state().level, None);
    }
}
