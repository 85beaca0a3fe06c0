//! What the pointer does on the photo: takes, drags and places marks, moves and magnifies the photo.

use super::PhotoTable;
use super::view::View;
use crate::app::command::{Command, Layer};
use crate::app::marks::Mark;
use crate::app::state::State;
use crate::point::PixelPoint;
use eframe::egui::{CursorIcon, Event, Key, MouseWheelSource, MouseWheelUnit, PointerButton, Pos2, Response, Ui, Vec2};

/// How near to a mark a press takes it, in points.
const GRAB: f32 = 10.0;
/// Magnification for one notch of the wheel.
pub const NOTCH: f64 = 1.2;

/// What a drag moves.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Drag {
    /// Nothing.
    #[default]
    Nothing,
    /// The photo under the frame.
    Photo,
    /// A mark, with what the pointer was off it when it was taken.
    Mark {
        /// The mark's key.
        key: String,
        /// From the pointer to the mark, in points.
        off: Vec2,
    },
}

impl PhotoTable {
    /// Reads the pointer; gives the view as it is then.
    pub(super) fn point(
        &mut self,
        ui: &Ui,
        response: &Response,
        state: &State,
        view: View,
        size_px: [f64; 2],
        commands: &mut Vec<Command>,
    ) -> View {
        let marks = if state.layers.contains(&Layer::Marks) { state.marks() } else { &[] };
        let mut view = view;
        if response.drag_started()
            && let Some(from) = ui.input(|i| i.pointer.press_origin())
        {
            let primary = response.drag_started_by(PointerButton::Primary) && !ui.input(|i| i.key_down(Key::Space));
            self.drag = match nearest(marks, &view, from) {
                Some(mark) if primary => {
                    if state.mark.as_ref() != Some(&mark.key) {
                        commands.push(Command::TakeMark(Some(mark.key.clone())));
                        self.by_pointer = true;
                    }
                    Drag::Mark { key: mark.key.clone(), off: view.screen_from_pixel(mark.at) - from }
                }
                _ => Drag::Photo,
            };
            self.nudged = false;
        }
        if response.dragged() {
            match &self.drag {
                Drag::Nothing => {}
                Drag::Photo => {
                    view = view.panned(response.drag_delta());
                    self.fits = false;
                }
                Drag::Mark { key, off } => {
                    if let Some(at) = response.interact_pointer_pos() {
                        let to = within(view.pixel_from_screen(at + *off), size_px);
                        commands.push(Command::Move { key: key.clone(), to });
                    }
                }
            }
        }
        if response.drag_stopped() && matches!(std::mem::take(&mut self.drag), Drag::Mark { .. }) {
            commands.push(Command::Still);
        }
        if response.clicked_by(PointerButton::Primary)
            && let Some(at) = response.interact_pointer_pos()
        {
            response.request_focus();
            self.click(marks, state, &view, at, size_px, commands);
        }
        if response.contains_pointer() {
            view = self.wheel(ui, view, size_px);
            let over = ui.input(|i| i.pointer.hover_pos()).and_then(|at| nearest(marks, &view, at));
            let icon = match (&self.drag, over) {
                (Drag::Photo, _) => CursorIcon::Grabbing,
                (Drag::Mark { .. }, _) => CursorIcon::None,
                _ if state.placing.is_some() => CursorIcon::Crosshair,
                (_, Some(_)) => CursorIcon::PointingHand,
                _ => CursorIcon::Default,
            };
            ui.ctx().set_cursor_icon(icon);
        }
        if ui.input(|i| i.pointer.is_moving() || i.pointer.any_pressed()) {
            self.crosshair = false;
            self.nudged &= !response.is_pointer_button_down_on();
        }
        view
    }

    fn click(
        &mut self,
        marks: &[Mark],
        state: &State,
        view: &View,
        at: Pos2,
        size_px: [f64; 2],
        commands: &mut Vec<Command>,
    ) {
        self.by_pointer = true;
        self.nudged = false;
        let pixel = view.pixel_from_screen(at);
        let inside = within(pixel, size_px) == tenths(pixel);
        if state.placing.is_some() {
            if inside {
                commands.extend([Command::PlaceAt(tenths(pixel)), Command::Await]);
            }
            return;
        }
        let taken = nearest(marks, view, at).map(|mark| mark.key.clone());
        if taken != state.mark {
            commands.push(Command::TakeMark(taken));
        }
    }

    /// The wheel magnifies about the pointer, as pinching does; scrolling with two fingers moves the photo.
    fn wheel(&mut self, ui: &Ui, view: View, size_px: [f64; 2]) -> View {
        let (mut pan, mut factor) = (Vec2::ZERO, 1.0);
        let pointer = ui.input(|i| {
            for event in &i.events {
                let Event::MouseWheel { unit, delta, modifiers, source, .. } = event else { continue };
                if modifiers.command || modifiers.ctrl {
                    continue;
                }
                // a wheel turns by notches; what comes finer is fingers
                let fingers = matches!(source, MouseWheelSource::Trackpad | MouseWheelSource::Momentum)
                    || *unit == MouseWheelUnit::Point
                    || delta.x != 0.0
                    || delta.y.fract() != 0.0;
                let points = if *unit == MouseWheelUnit::Point { *delta } else { 40.0 * *delta };
                if fingers || modifiers.shift {
                    pan += if modifiers.shift && delta.x == 0.0 { Vec2::new(points.y, 0.0) } else { points };
                } else {
                    factor *= NOTCH.powf(f64::from(delta.y));
                }
            }
            factor *= f64::from(i.zoom_delta());
            if let Some(touch) = i.multi_touch() {
                pan += touch.translation_delta;
            }
            i.pointer.hover_pos()
        });
        if pan == Vec2::ZERO && factor == 1.0 {
            return view;
        }
        self.fits = false;
        view.panned(pan).zoomed(factor, pointer.unwrap_or(view.frame.center()), size_px)
    }
}

/// The mark nearest to a point of the screen, where one is near enough to be taken.
fn nearest<'a>(marks: &'a [Mark], view: &View, at: Pos2) -> Option<&'a Mark> {
    let off = |mark: &Mark| view.screen_from_pixel(mark.at).distance(at);
    marks.iter().filter(|m| off(m) <= GRAB).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// A place to a tenth of a pixel: finer than any hand.
pub fn tenths(p: PixelPoint) -> PixelPoint {
    let round = |v: f64| (v * 10.0).round() / 10.0;
    PixelPoint::new(round(p.x), round(p.y))
}

/// The nearest place in the photo, to a tenth of a pixel.
pub fn within(p: PixelPoint, size_px: [f64; 2]) -> PixelPoint {
    tenths(PixelPoint::new(p.x.clamp(0.0, size_px[0]), p.y.clamp(0.0, size_px[1])))
}
