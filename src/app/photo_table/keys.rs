//! What the keyboard does on the photo: every marking can be made with it alone.
//!
//! ```text
//! arrows              nudge the mark in hand by 1 px (Shift 10, Ctrl 0.1); while placing, move the photo under the cross
//! Enter, Shift+Enter  next mark, the one before; while placing, place at the cross
//! Delete, Backspace   take the mark in hand away
//! Esc                 lay the mark down, stop placing
//! A                   draw the station by hand that is in hand to the middle of the stream
//! + - F P             magnify, reduce, fit, one photo pixel for one of the screen
//! ```

use super::PhotoTable;
use super::pointer::{NOTCH, tenths, within};
use super::view::View;
use crate::app::command::Command;
use crate::app::marks::MarkKind;
use crate::app::sheet_panel::field::id_of;
use crate::app::state::State;
use crate::point::PixelPoint;
use eframe::egui::{Event, EventFilter, Key, Modifiers, Response, Ui, Vec2, vec2};

/// How far an arrow moves the photo under the cross, in points.
const STEP: f32 = 10.0;

impl PhotoTable {
    /// Reads the keyboard, unless a field has it; gives the view as it is then.
    pub(super) fn press(
        &mut self,
        ui: &Ui,
        response: &Response,
        state: &State,
        view: View,
        size_px: [f64; 2],
        commands: &mut Vec<Command>,
    ) -> View {
        let focused = ui.memory(|m| m.focused());
        // the field that waits for the value of the mark just placed leaves it the arrows until something is typed
        let is_waiting = |id| state.awaited.as_ref().is_some_and(|key| id_of(key) == id && state.typed(key).is_empty());
        let only_arrows = match focused {
            Some(id) if id == response.id => false,
            Some(id) if is_waiting(id) && state.mark.is_some() => true,
            Some(_) => return view,
            None => false,
        };
        if !only_arrows {
            let filter = EventFilter { tab: false, horizontal_arrows: true, vertical_arrows: true, escape: true };
            ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        }
        let mut view = view;
        // Moves in one frame add up, and the state knows of them only after it
        let mut at = state.mark.as_ref().and_then(|key| state.marks().iter().find(|m| m.key == *key).cloned());
        let events = ui.input(|i| i.events.clone());
        for event in events {
            let Event::Key { key, pressed, modifiers, .. } = event else { continue };
            if let Some(way) = arrow(key) {
                if !pressed {
                    if self.nudged && at.is_some() {
                        commands.push(Command::Still);
                    }
                } else if state.placing.is_some() && (at.is_none() || self.crosshair) && !only_arrows {
                    self.crosshair = true;
                    self.fits = false;
                    view = view.panned(-STEP * by(modifiers) as f32 * way).held(size_px);
                } else if let Some(mark) = &mut at {
                    let step = by(modifiers);
                    let to = PixelPoint::new(mark.at.x + step * f64::from(way.x), mark.at.y + step * f64::from(way.y));
                    mark.at = within(to, size_px);
                    commands.push(Command::Move { key: mark.key.clone(), to: mark.at });
                    self.nudged = true;
                } else {
                    self.fits = false;
                    view = view.panned(-4.0 * STEP * by(modifiers) as f32 * way).held(size_px);
                }
                continue;
            }
            if !pressed || modifiers.command || modifiers.alt || only_arrows {
                continue;
            }
            let middle = view.frame.center();
            match key {
                Key::Enter if state.placing.is_some() => {
                    self.crosshair = true;
                    commands.push(Command::PlaceAt(within(tenths(view.middle), size_px)));
                }
                Key::Enter => commands.extend(next(state, modifiers.shift)),
                Key::Delete | Key::Backspace => {
                    if let Some(mark) = at.take() {
                        commands.extend([Command::Remove(mark.key), Command::Still]);
                    }
                }
                Key::A => {
                    if let Some(mark) = at.as_ref().filter(|m| m.kind == MarkKind::ByHand) {
                        commands.push(Command::Attract(mark.key.clone()));
                    }
                }
                Key::Escape if state.mark.is_some() || state.placing.is_some() => {
                    self.nudged = false;
                    commands.push(Command::TakeMark(None));
                }
                Key::Escape => response.surrender_focus(),
                Key::F => self.fits = true,
                Key::P => {
                    self.fits = false;
                    let one = 1.0 / f64::from(ui.ctx().pixels_per_point());
                    view = view.zoomed(one / view.scale, middle, size_px);
                }
                Key::Plus | Key::Equals | Key::Minus => {
                    self.fits = false;
                    let factor = if key == Key::Minus { NOTCH.recip() } else { NOTCH };
                    // the mark in hand stays where it is seen
                    let fixed = at.as_ref().map_or(middle, |m| view.screen_from_pixel(m.at));
                    let fixed = if view.frame.contains(fixed) && !self.crosshair { fixed } else { middle };
                    view = view.zoomed(factor, fixed, size_px);
                }
                _ => {}
            }
        }
        view
    }
}

/// Pixels that an arrow nudges by.
fn by(modifiers: Modifiers) -> f64 {
    match (modifiers.shift, modifiers.ctrl || modifiers.command) {
        (true, _) => 10.0,
        (false, true) => 0.1,
        (false, false) => 1.0,
    }
}

fn arrow(key: Key) -> Option<Vec2> {
    Some(match key {
        Key::ArrowLeft => vec2(-1.0, 0.0),
        Key::ArrowRight => vec2(1.0, 0.0),
        Key::ArrowUp => vec2(0.0, -1.0),
        Key::ArrowDown => vec2(0.0, 1.0),
        _ => return None,
    })
}

/// Takes the mark after the one in hand, or before it, in the sheet's order; the ends are joined.
fn next(state: &State, back: bool) -> Option<Command> {
    let marks = state.marks();
    let count = marks.len();
    let now = state.mark.as_ref().and_then(|key| marks.iter().position(|m| m.key == *key));
    let to = match (now, back) {
        _ if count == 0 => return None,
        (None, false) => 0,
        (None, true) => count - 1,
        (Some(i), false) => (i + 1) % count,
        (Some(i), true) => (i + count - 1) % count,
    };
    Some(Command::TakeMark(Some(marks[to].key.clone())))
}
