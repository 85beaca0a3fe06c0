//! The photo table: the photo with marks, stations and trajectory on it.
//!
//! ```text
//! view      which part of the photo is in sight, and how large
//! picture   the photo's samples as colours       tiles    those on the screen
//! overlay   what lies on the photo, as a list    paint    that list on the screen
//! pointer, keys   what the user does with it     close_up the pixels about the pointer
//! evidence  what the threshold sees
//! ```

mod close_up;
mod evidence;
mod keys;
mod overlay;
mod paint;
pub mod picture;
mod pointer;
mod tiles;
mod view;

#[cfg(test)]
mod behaviour;

use eframe::egui::{self, Align2, FontId, Rect, Response, Role, Sense, Ui, WidgetInfo};
use std::sync::Arc;

use super::command::{Command, Layer};
use super::measurer::Pictures;
use super::palette;
use super::state::State;
use crate::point::PixelPoint;
use close_up::CloseUp;
use evidence::EvidenceLayer;
use pointer::Drag;
use tiles::Tiles;
use view::View;

/// Where the photo table is looking, and what is being done on it.
#[derive(Default)]
pub struct PhotoTable {
    view: Option<View>,
    /// Whether the whole photo is kept in the frame.
    fits: bool,
    /// The pictures that the tiles are of.
    pictures: Option<Arc<Pictures>>,
    tiles: Tiles,
    close_up: CloseUp,
    evidence: EvidenceLayer,
    drag: Drag,
    /// The mark in hand in the frame before.
    mark: Option<String>,
    /// Whether the pointer took it: it is in sight then.
    by_pointer: bool,
    /// Whether the mark in hand was nudged since it was taken.
    nudged: bool,
    /// Whether marks are being placed at the cross in the middle, by keyboard.
    crosshair: bool,
    /// Who it is, for the keyboard.
    pub id: Option<egui::Id>,
}

impl PhotoTable {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
        let frame = ui.available_rect_before_wrap();
        let response = ui.allocate_rect(frame, Sense::click_and_drag());
        self.id = Some(response.id);
        let painter = ui.painter_at(frame);
        painter.rect_filled(frame, 0.0, ui.visuals().extreme_bg_color);
        let Some(pictures) = state.live.pictures.clone() else {
            *self = Self::default();
            let says = match state.live.no_pictures.first() {
                Some(reason) => reason.says.clone(),
                None => "reading the photo".into(),
            };
            let (font, colour) = (FontId::proportional(15.0), ui.visuals().text_color());
            let galley = painter.layout(says.clone(), font, colour, 0.8 * frame.width());
            painter.galley(Align2::CENTER_CENTER.anchor_size(frame.center(), galley.size()).min, galley, colour);
            response.widget_info(|| info(&says));
            return;
        };
        let Some(photo) = pictures.set.photos.first() else { return };
        let size_px = [photo.width as f64, photo.height as f64];
        if self.pictures.as_ref().is_none_or(|p| !Arc::ptr_eq(p, &pictures)) {
            *self = Self { pictures: Some(pictures.clone()), fits: true, id: self.id, ..Self::default() };
        }
        let mut view = match self.view {
            Some(view) if !self.fits => View { frame, ..view },
            _ => View::fitted(frame, size_px),
        };
        if self.mark != state.mark {
            if !self.by_pointer
                && let Some(mark) = in_hand(state)
            {
                let revealed = view.revealing(mark);
                self.fits &= revealed == view;
                view = revealed;
            }
            self.mark = state.mark.clone();
            self.nudged = false;
        }
        self.by_pointer = false;
        view = self.point(ui, &response, state, view, size_px, commands);
        view = self.press(ui, &response, state, view, size_px, commands).held(size_px);
        if self.fits {
            view = View::fitted(frame, size_px);
        }
        self.view = Some(view);

        self.tiles.paint(&painter, &view, photo, &pictures.overview);
        if let Some(plate) = state.live.evidence.as_ref().filter(|_| state.layers.contains(&Layer::Evidence)) {
            self.evidence.paint(&painter, &view, plate, state.level().unwrap_or(plate.automatic));
        }
        let items = overlay::items(state, size_px);
        paint::paint(&painter, &view, &items);
        let at_cross = state.placing.is_some() && (self.crosshair || !response.contains_pointer());
        if at_cross {
            paint::crosshair(&painter, frame, frame.center(), palette::IN_HAND);
        }
        if let Some(prompt) = state.prompt() {
            paint::says(&painter, frame, &format!("{prompt}; Esc ends"));
        }
        if let Some(at) = self.looked_at(ui, &response, state, &view) {
            self.close_up.paint(&painter, &view, photo, pictures.overview.white, at, &items);
        }
        if response.has_focus() {
            let stroke = ui.visuals().selection.stroke;
            painter.rect_stroke(frame.shrink(1.0), 0.0, stroke, egui::StrokeKind::Inside);
        }
        let cross = (state.placing.is_some() && self.crosshair).then_some(view.middle);
        let says = says(state, cross);
        response.widget_info(|| info(&says));
        // a picture's value is not read out, its description is
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_description(says));
        announce(ui, &response, state, &view, commands);
    }

    /// The place that the close-up shows, if any.
    fn looked_at(&self, ui: &Ui, response: &Response, state: &State, view: &View) -> Option<PixelPoint> {
        if matches!(self.drag, Drag::Mark { .. }) || self.nudged {
            return in_hand(state);
        }
        state.placing?;
        if self.crosshair {
            return Some(view.middle);
        }
        let pointer = ui.input(|i| i.pointer.hover_pos()).filter(|_| response.contains_pointer())?;
        (self.drag == Drag::Nothing).then(|| view.pixel_from_screen(pointer))
    }
}

/// Where the mark in hand is.
fn in_hand(state: &State) -> Option<PixelPoint> {
    let key = state.mark.as_ref()?;
    state.marks().iter().find(|m| m.key == *key).map(|m| m.at)
}

fn info(value: &str) -> WidgetInfo {
    let mut info = WidgetInfo::labeled(Role::Canvas, true, "photo");
    info.current_text_value = Some(value.to_owned());
    info
}

/// What is in hand, in words; while placing by keyboard, where the cross is.
fn says(state: &State, cross: Option<PixelPoint>) -> String {
    if let Some(kind) = state.placing {
        let at = cross.map_or_else(String::new, |at| format!(", cross at {}", close_up::says(at)));
        return format!("placing: {}{at}", kind.name());
    }
    let named = named_marks(state);
    match state.mark.as_ref().and_then(|key| named.iter().find(|(mark, _)| mark.key == *key)) {
        Some((mark, name)) => format!("in hand: {name} at {}", close_up::says(mark.at)),
        None => format!("{} marks, none in hand", named.len()),
    }
}

/// All marks with a name: `plumb line, mark 2`.
fn named_marks(state: &State) -> Vec<(super::marks::Mark, String)> {
    let marks = state.marks();
    let name = |i: usize| {
        let kind = marks[i].kind;
        match kind.whole() {
            Some(1) => kind.name(),
            _ => format!("{}, mark {}", kind.name(), marks[..=i].iter().filter(|m| m.kind == kind).count()),
        }
    };
    (0..marks.len()).map(|i| (marks[i].clone(), name(i))).collect()
}

/// Tells those who do not see the photo of every mark, and takes it in hand for them.
fn announce(ui: &Ui, response: &Response, state: &State, view: &View, commands: &mut Vec<Command>) {
    if !state.layers.contains(&Layer::Marks) {
        return;
    }
    for (mark, name) in named_marks(state) {
        let at = view.screen_from_pixel(mark.at);
        if !view.frame.contains(at) {
            continue;
        }
        let id = response.id.with(&mark.key);
        let told = ui.interact(Rect::from_center_size(at, egui::Vec2::splat(12.0)), id, Sense::hover());
        told.widget_info(|| WidgetInfo::selected(Role::ListItem, true, state.mark.as_ref() == Some(&mark.key), &name));
        ui.ctx().accesskit_node_builder(id, |node| node.add_action(egui::accesskit::Action::Click));
        if ui.input(|i| i.has_accesskit_action_request(id, egui::accesskit::Action::Click)) {
            commands.push(Command::TakeMark(Some(mark.key)));
        }
    }
}
