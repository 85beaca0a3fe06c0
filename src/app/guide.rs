//! The guided path over a sample's photo: five marks and three numbers, each told when it is its turn.

use eframe::egui::{RichText, Ui};

use super::command::Command;
use super::line::Line;
use super::marks::MarkKind;
use super::state::State;
use crate::point::PixelPoint;

/// A step of the path.
struct Step {
    line: Line,
    says: &'static str,
    done: fn(&State) -> bool,
    /// About where on the sample's photo, px.
    near: Option<(f64, f64)>,
}

fn marked(state: &State, kind: MarkKind, count: usize) -> bool {
    state.marks().iter().filter(|m| m.kind == kind).count() >= count
}

fn typed(state: &State, key: &str) -> bool {
    state.entry(key).is_some()
        && state.document.as_ref().is_some_and(|d| d.opened().faults.iter().all(|f| f.about != key))
}

/// The path over the photo of plate C.
static STEPS: [Step; 8] = [
    Step {
        line: Line::Down,
        says: "The rod of the tall stand was set plumb with a level. Click its left edge, high up.",
        done: |s| marked(s, MarkKind::Plumb, 1),
        near: Some((997.0, 750.0)),
    },
    Step {
        line: Line::Down,
        says: "Now click the same edge low down: the longer, the better down is known.",
        done: |s| marked(s, MarkKind::Plumb, 2),
        near: Some((1042.0, 2850.0)),
    },
    Step {
        line: Line::Scale,
        says: "The long ruler tells how big a pixel is. Click its 0 mm graduation, at the lower edge on the left.",
        done: |s| marked(s, MarkKind::Scale(1), 1),
        near: Some((678.0, 486.0)),
    },
    Step {
        line: Line::Scale,
        says: "Now its 600 mm graduation, on the right.",
        done: |s| marked(s, MarkKind::Scale(1), 2),
        near: Some((2842.0, 441.0)),
    },
    Step {
        line: Line::Scale,
        says: "Type the length between the two marks into the sheet: 600 mm",
        done: |s| typed(s, "scale[1].length") || typed(s, "scale.length"),
        near: None,
    },
    Step {
        line: Line::Orifice,
        says: "Click the middle of the orifice, where the water leaves the brass plate.",
        done: |s| marked(s, MarkKind::Orifice, 1),
        near: Some((443.0, 840.0)),
    },
    Step {
        line: Line::Orifice,
        says: "Type its diameter, with its standard uncertainty: 10.00 mm ± 0.05 mm (or +- for ±)",
        done: |s| typed(s, "orifice.diameter"),
        near: None,
    },
    Step {
        line: Line::Head,
        says: "Type the head that was read at the tank: 451 mm ± 0.6 mm",
        done: |s| typed(s, "head.reading"),
        near: None,
    },
];

fn now(state: &State) -> Option<(usize, &'static Step)> {
    STEPS.iter().enumerate().find(|(_, step)| state.guided && !(step.done)(state))
}

/// About where on the photo the next mark belongs.
pub fn near(state: &State) -> Option<PixelPoint> {
    now(state)?.1.near.map(|(x, y)| PixelPoint::new(x, y))
}

/// Shows what the next step is.
pub fn show(ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
    if !state.guided {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        match now(state) {
            Some((i, step)) => {
                ui.label(RichText::new(format!("Step {} of {}, line {}:", i + 1, STEPS.len(), step.line.number())).strong());
                ui.label(step.says);
                if state.line != step.line && ui.button(format!("Take line {} in hand", step.line.number())).clicked() {
                    commands.extend([Command::TakeLine(step.line), Command::Await]);
                }
            }
            None => {
                ui.label(RichText::new("Done:").strong());
                ui.label(
                    "line 6 has the velocity, line 9 the coefficients. A timed volume on line 8 adds Cd and Cc; more marks on \
                     line 3 narrow the uncertainty.",
                );
            }
        }
        if ui.button("End the guide").clicked() {
            commands.push(Command::EndGuide);
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::document::Document;
    use std::path::Path;

    #[test]
    fn following_the_guide_leads_to_a_sheet_that_can_be_measured() {
        let mut s = State::default();
        s.show(Document::fresh(Path::new("c.toml"), "format = 1\n[photo]\nfile = \"plate-c-run2.jpg\"\n"));
        s.guided = true;
        let words = ["600 mm", "10.00 mm ± 0.05 mm", "451 mm ± 0.6 mm"];
        let keys = ["scale[1].length", "orifice.diameter", "head.reading"];
        let mut said = 0;
        while let Some((_, step)) = now(&s) {
            s.apply(Command::TakeLine(step.line));
            match near(&s) {
                Some(at) => s.apply(Command::PlaceAt(at)),
                None => {
                    assert!(step.says.contains(words[said]), "{}", step.says);
                    s.apply(Command::Put { key: keys[said].into(), typed: words[said].into() });
                    said += 1;
                }
            }
        }
        let opened = s.document.as_ref().unwrap().opened();
        assert!(opened.checked.is_some(), "{:?}", opened.faults);
    }
}
