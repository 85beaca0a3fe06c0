//! The panel by its accessible names, as a user without a mouse or a screen has it.

use super::*;
use crate::app::document::Document;
use crate::app::measurer::{Answer, Measurer, Request};
use crate::quantity::show;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// The panel with the state that it shows.
type Panelled = Harness<'static, (SheetPanel, State)>;

fn panel(state: State) -> Panelled {
    let mut harness = Harness::builder().with_size(eframe::egui::vec2(430.0, 1600.0)).build_ui_state(
        |ui, (panel, state): &mut (SheetPanel, State)| {
            let mut commands = Vec::new();
            panel.show(ui, state, &mut commands);
            commands.into_iter().for_each(|c| state.apply(c));
        },
        (SheetPanel::default(), state),
    );
    harness.run_steps(3);
    harness
}

fn opened(text: &str, line: Line) -> Panelled {
    let mut state = State::default();
    state.show(Document::open(Path::new("c.toml"), text));
    state.apply(Command::TakeLine(line));
    panel(state)
}

fn type_into(harness: &mut Panelled, name: &str, text: &str) {
    harness.get_by_label(name).focus();
    harness.run_steps(2);
    harness.get_by_label(name).type_text(text);
    harness.run_steps(3);
}

fn click(harness: &mut Panelled, name: &str) {
    harness.get_by_label(name).click();
    harness.run_steps(4);
}

/// The first sample, measured once for all tests.
pub fn measured_sample() -> State {
    static MEASURED: OnceLock<(String, Arc<crate::app::measurer::Measured>)> = OnceLock::new();
    let (text, measured) = MEASURED.get_or_init(|| {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples");
        let text = std::fs::read_to_string(folder.join("plate-c-run2.toml")).unwrap();
        let document = Document::open(&folder.join("plate-c-run2.toml"), &text);
        let request =
            Request { revision: 1, version: document.now().clone(), name: document.name(), folder: folder.clone() };
        let mut found = None;
        Measurer::default().answer(&request, &|| false, &mut |answer| {
            if let Answer::Measured { result: Ok(measured), .. } = answer {
                found = Some(measured);
            }
        });
        (text, found.expect("the sample can be measured"))
    });
    let mut state = State::default();
    state.show(Document::open(Path::new("plate-c-run2.toml"), text));
    let revision = state.document.as_ref().unwrap().revision();
    state.hear(Answer::Measured { revision, result: Ok(measured.clone()), passing: false });
    state
}

const BEGUN: &str = "format = 1\n[photo]\nfile = \"c.jpg\"\n";

#[test]
fn a_diameter_is_typed_by_its_label_and_read_back() {
    let mut h = opened(BEGUN, Line::Orifice);
    type_into(&mut h, "orifice diameter", "4 3/8 in");
    assert_eq!(h.state().1.typed("orifice.diameter"), "4 3/8 in");
    assert!(h.query_by_label("= 111.125 mm").is_some(), "how it was read stands beside it");
    h.state_mut().1.apply(Command::Units(Units::UsCustomary));
    h.run_steps(2);
    assert!(h.query_by_label("= 4.375 in").is_some());
    assert_eq!(h.state().1.typed("orifice.diameter"), "4 3/8 in", "the sheet keeps what was typed");
}

#[test]
fn a_fault_stands_beside_its_field_until_it_is_mended() {
    let mut h = opened(BEGUN, Line::Orifice);
    type_into(&mut h, "orifice diameter", "12");
    let fault = |h: &Panelled| h.query_by_label_contains("12 has no unit").is_some();
    assert!(fault(&h));
    type_into(&mut h, "orifice diameter", " mm");
    assert_eq!(h.state().1.typed("orifice.diameter"), "12 mm");
    assert!(!fault(&h));
    h.state_mut().1.apply(Command::Undo);
    h.run_steps(2);
    assert_eq!(h.get_by_label("orifice diameter").value().as_deref(), Some(""), "typing is one step of undo");
}

#[test]
fn enter_moves_on_and_leaves_the_next_edit_a_step_of_its_own() {
    let mut h = opened("format = 1\n[photo]\nfile = \"c.jpg\"\n[site]\n", Line::Head);
    type_into(&mut h, "latitude of the site", "52.1 deg");
    h.key_press(Key::Enter);
    h.run_steps(3);
    assert!(!h.get_by_label("latitude of the site").is_focused());
    assert!(h.get_by_label("altitude of the site").is_focused());
    h.get_by_label("altitude of the site").type_text("40 m");
    h.run_steps(3);
    h.state_mut().1.apply(Command::Undo);
    assert_eq!(h.state().1.typed("site.latitude"), "52.1 deg");
    assert_eq!(h.state().1.typed("site.altitude"), "");
}

#[test]
fn an_edge_and_a_launch_are_chosen() {
    let mut h = opened(BEGUN, Line::Orifice);
    click(&mut h, "re-entrant");
    assert_eq!(h.state().1.typed("orifice.edge"), "re-entrant");
    h.state_mut().1.apply(Command::TakeLine(Line::Trajectory));
    h.run_steps(3);
    click(&mut h, "stated");
    type_into(&mut h, "launch angle, upwards positive", " ± 0.2 deg");
    assert!(h.state().1.typed("trajectory.launch").contains("± 0.2 deg"));
    click(&mut h, "air drag");
    click(&mut h, "surface tension");
    assert_eq!(h.state().1.typed("trajectory.corrections[2]"), "surface-tension");
    click(&mut h, "air drag");
    assert_eq!(h.state().1.typed("trajectory.corrections[1]"), "surface-tension");
}

#[test]
fn fillings_are_added_typed_weighed_and_taken_away() {
    let mut h = opened(BEGUN, Line::Discharge);
    click(&mut h, "timed fillings");
    type_into(&mut h, "volume of filling 1", "5 L");
    type_into(&mut h, "time of filling 1", "35.2 s");
    click(&mut h, "add a filling");
    click(&mut h, "filling 2 by mass");
    type_into(&mut h, "mass of filling 2", "4.99 kg");
    type_into(&mut h, "time of filling 2", "35.1 s");
    let state = |h: &Panelled, key: &str| h.state().1.typed(key);
    assert_eq!(state(&h, "flow.timed[2].mass"), "4.99 kg");
    let about_flow = |h: &Panelled| {
        let opened = h.state().1.document.as_ref().unwrap().opened();
        opened.faults.iter().filter(|f| f.about.starts_with("flow")).count()
    };
    assert_eq!(about_flow(&h), 1, "a volume and a mass: {}", h.state().1.text());
    click(&mut h, "remove filling 1");
    assert_eq!(about_flow(&h), 0, "{}", h.state().1.text());
    assert_eq!(state(&h, "flow.timed[1].mass"), "4.99 kg");
    click(&mut h, "one filling, read as it fills");
    assert_eq!(state(&h, "flow.running[1].mass"), "4.99 kg", "rows go along");
    h.state_mut().1.apply(Command::Undo);
    assert_eq!(state(&h, "flow.timed[1].mass"), "4.99 kg", "and come back in one step");
}

#[test]
fn lines_are_chosen_by_click_and_by_arrows() {
    let mut h = opened(BEGUN, Line::Head);
    h.key_press(Key::ArrowDown);
    h.run_steps(3);
    assert_eq!(h.state().1.line, Line::Discharge);
    h.key_press(Key::ArrowUp);
    h.key_press(Key::ArrowUp);
    h.run_steps(3);
    assert_eq!(h.state().1.line, Line::Trajectory);
    h.get_by_label_contains("4 Orifice:").click();
    h.run_steps(3);
    assert_eq!(h.state().1.line, Line::Orifice);
    assert!(h.state().1.placing.is_some(), "its mark is in hand");
}

#[test]
fn the_foot_leads_to_the_line_that_needs_something() {
    let mut h = opened(BEGUN, Line::Record);
    h.get_by_label_contains("next: 3 Scale").click();
    h.run_steps(3);
    assert_eq!(h.state().1.line, Line::Scale);
}

#[test]
fn a_ruler_becomes_readings_and_plane_marks_take_coordinates() {
    let text = "format = 1\n[scale]\nmarks = [[0.0, 0.0], [900.0, 0.0]]\nlength = \"300 mm\"\n\
                [plane]\nmarks = [{ px = [1.0, 2.0] }]\n";
    let mut h = opened(text, Line::Scale);
    click(&mut h, "read more graduations");
    assert_eq!(h.state().1.typed("scale[1].marks[2].at"), "300 mm");
    assert_eq!(h.state().1.entry("scale[1].length"), None);
    type_into(&mut h, "drop of plane mark 1", "-20 mm");
    type_into(&mut h, "x of plane mark 1", "90 mm");
    assert_eq!(h.state().1.typed("plane.marks[1].at[1]"), "90 mm", "{}", h.state().1.text());
    assert_eq!(h.state().1.typed("plane.marks[1].at[2]"), "-20 mm");
}

#[test]
fn results_are_shown_and_those_of_the_sheet_before_say_so() {
    let mut state = measured_sample();
    state.apply(Command::TakeLine(Line::Coefficients));
    let cv = state.live.measured.as_ref().unwrap().findings.cv.clone().unwrap();
    let mut h = panel(state);
    let (value, _) = show(cv.value, cv.u, "").split_once(" ± ").map(|(v, u)| (v.to_owned(), u.to_owned())).unwrap();
    assert!(h.query_by_label(&value).is_some(), "Cv {value} stands in the table");
    assert!(h.query_by_label_contains("of the sheet before").is_none());
    assert!(h.query_by_label_contains("clicks on rulers: 28 %").is_some(), "the budget of Cv names its largest input");
    click(&mut h, "budget of Cd");
    assert!(h.query_by_label_contains("orifice diameter: 92 %").is_some());

    h.state_mut().1.apply(Command::Put { key: "orifice.diameter".into(), typed: "10".into() });
    h.run_steps(3);
    assert!(h.query_by_label(&value).is_some(), "the last results stay");
    assert!(h.query_by_label("of the sheet before").is_some());
}

#[test]
fn every_line_opens_with_a_whole_sheet_and_with_none() {
    for state in [measured_sample(), opened("", Line::Photo).into_state().1] {
        let mut h = panel(state);
        for line in Line::ALL {
            h.state_mut().1.apply(Command::TakeLine(line));
            h.run_steps(2);
            click(&mut h, "In plain words");
            let words = plain_words::about(line).first().unwrap();
            assert!(h.query_by_label(words).is_some(), "{line:?}");
        }
    }
}
