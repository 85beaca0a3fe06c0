//! Keyboard: what holds everywhere in the window.

use eframe::egui::{Context, Id, Key, Modifiers};

use super::command::{Command, FileCommand};
use super::line::Line;
use super::state::State;

/// Turns key presses into commands. Bare keys are left to a text field that has the focus.
pub fn read(ctx: &Context, state: &State, commands: &mut Vec<Command>) {
    let shift = Modifiers::COMMAND | Modifiers::SHIFT;
    let mut chord = |modifiers, key, command: Command| {
        if ctx.input_mut(|i| i.consume_key(modifiers, key)) {
            commands.push(command);
        }
    };
    chord(shift, Key::Z, Command::Redo);
    chord(Modifiers::COMMAND, Key::Y, Command::Redo);
    chord(Modifiers::COMMAND, Key::Z, Command::Undo);
    chord(shift, Key::S, Command::File(FileCommand::AskSaveAs));
    chord(Modifiers::COMMAND, Key::S, Command::File(FileCommand::Save));
    chord(Modifiers::COMMAND, Key::O, Command::File(FileCommand::AskOpen));
    chord(Modifiers::COMMAND, Key::W, Command::File(FileCommand::Close));
    chord(Modifiers::NONE, Key::F1, Command::ShowHelp(!state.help));
    chord(Modifiers::COMMAND, Key::Q, Command::File(FileCommand::Quit));
    if state.document.is_none() || ctx.text_edit_focused() {
        return;
    }
    const DIGITS: [Key; 10] =
        [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6, Key::Num7, Key::Num8, Key::Num9, Key::Num0];
    for (key, line) in DIGITS.into_iter().zip(Line::ALL) {
        chord(Modifiers::NONE, key, Command::TakeLine(line));
    }
    chord(Modifiers::NONE, Key::R, Command::TakeLine(Line::Record));
}

/// Tab goes on from the photo, or from nowhere, into the fields of the line in hand; `head` is that line's.
pub fn into_the_line(ctx: &Context, head: Option<Id>, photo: Option<Id>) {
    let Some(head) = head.filter(|_| ctx.input(|i| i.modifiers.is_none() && i.key_pressed(Key::Tab))) else { return };
    ctx.memory_mut(|m| {
        if m.focused().is_none_or(|id| Some(id) == photo) {
            m.request_focus(head);
        }
    });
}
