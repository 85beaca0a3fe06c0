//! Tests: the whole window, walked page by page by what it announces to those who do not see it.

use super::*;
use crate::app::line::Line;
use eframe::egui::accesskit::{Action, Role};
use egui_kittest::Harness;
use egui_kittest::kittest::{AccessKitNode, By, NodeT, Queryable};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};
use tempfile::TempDir;

pub type Walked = Harness<'static, Window>;

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

/// The window with program data of its own, on a screen of the smallest size that is served.
pub fn window(open: Option<PathBuf>) -> (Walked, TempDir) {
    let data = tempfile::tempdir().unwrap();
    let folder = data.path().to_owned();
    let harness = Harness::builder()
        .with_size(egui::vec2(1280.0, 800.0))
        .build_eframe(move |cc| Window::new(&cc.egui_ctx, open, Some(&folder)));
    (harness, data)
}

/// Goes on until `holds`.
pub fn until(harness: &mut Walked, what: &str, holds: impl Fn(&Walked) -> bool) {
    let end = Instant::now() + Duration::from_secs(240);
    while !holds(harness) {
        let said = &harness.state().state.said;
        assert!(Instant::now() < end, "{what}: not within four minutes; said {said:?}");
        std::thread::sleep(Duration::from_millis(20));
        harness.run_steps(2);
    }
    harness.run_steps(3);
}

/// Can be pressed, typed into or moved. Texts that can be selected, splitters and scroll bars are the toolkit's own.
fn is_control(node: &AccessKitNode) -> bool {
    if matches!(node.role(), Role::Label | Role::Splitter | Role::ScrollBar) {
        return false;
    }
    let can = |action| node.data().supports_action(action);
    node.is_text_input() || can(Action::Click) || can(Action::Focus) || can(Action::Increment)
}

/// Every control has a name, and no two on one page have the same. What is amiss is gathered, to be told at once.
#[derive(Default)]
struct Check {
    amiss: Vec<String>,
    pages: usize,
}

impl Check {
    fn page(&mut self, harness: &Walked, page: &str) {
        let mut named: BTreeMap<String, usize> = BTreeMap::new();
        for node in harness.query_all(By::new().predicate(is_control)) {
            let node = node.accesskit_node();
            if node.is_hidden() || node.is_root() {
                continue;
            }
            // what a control holds is no name for it
            let label = node.label().filter(|l| !l.trim().is_empty() && !node.label_comes_from_value());
            match label {
                Some(label) => *named.entry(format!("{:?} {label}", node.role())).or_default() += 1,
                None => {
                    let (role, value) = (node.role(), node.value());
                    self.amiss.push(format!("{page}: a {role:?} has no name: {value:?}, {:?}", node.bounding_box()));
                }
            }
        }
        self.pages += 1;
        let twice = named.iter().filter(|(_, count)| **count > 1);
        self.amiss.extend(twice.map(|(name, count)| format!("{page}: {count} of {name}")));
        assert!(named.len() > 8, "{page}: too few controls were met: {named:?}");
    }

    fn lines(&mut self, h: &mut Walked, of: &str) {
        for line in Line::ALL {
            h.state_mut().state.apply(Command::TakeLine(line));
            h.run_steps(4);
            self.page(h, &format!("{of}, line {}", line.number()));
        }
    }

    fn end(self, pages: usize) {
        assert!(self.amiss.is_empty(), "{}", self.amiss.join("\n"));
        assert_eq!(self.pages, pages);
    }
}

pub fn press(harness: &mut Walked, name: &str) {
    harness.get_by_label(name).click();
    harness.run_steps(4);
}

#[test]
fn every_control_of_every_page_has_a_name_of_its_own() {
    let (mut h, _data) = window(None);
    h.run_steps(3);
    let mut check = Check::default();
    check.page(&h, "start");
    for menu in ["Sheet", "Edit", "View", "Help"] {
        press(&mut h, menu);
        check.page(&h, menu);
        press(&mut h, menu);
    }
    h.key_press(egui::Key::F1);
    h.run_steps(3);
    check.page(&h, "keys and cautions");
    h.key_press(egui::Key::F1);
    h.run_steps(3);
    press(&mut h, "Mark a photo step by step");
    until(&mut h, "the guide", |h| h.state().state.guided && h.state().state.live.pictures.is_some());
    check.lines(&mut h, "begun");
    h.state_mut().state.apply(Command::EndGuide);
    h.state_mut().carry_out(Command::File(FileCommand::Close));
    h.run_steps(2);
    assert!(h.state().state.document.is_some(), "a sheet that is not saved asks first");
    check.page(&h, "asked");
    check.end(18);
}

#[test]
fn so_it_is_on_a_whole_sheet_with_one_of_everything() {
    let text = std::fs::read_to_string(samples().join("plate-c-run2.toml")).unwrap();
    let (mut h, _data) = window(Some(samples().join("plate-c-run2.toml")));
    until(&mut h, "the sample", |h| h.state().is_settled());
    let mut check = Check::default();
    check.lines(&mut h, "plate C");
    let put = |key: &str, typed: &str| Command::Put { key: key.into(), typed: typed.into() };
    let mut all = vec![
        put("photo.dry", "none.jpg"),
        put("stream.level", "0.3"),
        put("trajectory.launch", "0.1 deg"),
        put("camera.distance", "far"),
        put("head.reading[2]", "450 mm"),
    ];
    let mark = |key: String, x: f64| Command::Move { key, to: crate::point::PixelPoint::new(x, 200.0 + x) };
    for i in 1..=3 {
        for list in
            ["stream.look_in", "stream.leave_out[1]", "stream.leave_out[2]", "stream.by_hand", "lens.straight[3]"]
        {
            all.push(mark(format!("{list}[{i}]"), 700.0 + 50.0 * f64::from(i)));
        }
    }
    all.extend([1, 2].map(|i| mark(format!("vertical.level[{i}]"), f64::from(i) * 90.0)));
    all.push(mark("head.surface".into(), 50.0));
    all.into_iter().for_each(|c| h.state_mut().state.apply(c));
    check.lines(&mut h, "one of everything");
    for way in ["one filling, read as it fills", "known"] {
        h.state_mut().state.apply(Command::TakeLine(Line::Discharge));
        h.run_steps(3);
        press(&mut h, way);
        check.page(&h, way);
    }
    assert_eq!(std::fs::read_to_string(samples().join("plate-c-run2.toml")).unwrap(), text, "nothing was written");
    check.end(24);
}

#[test]
fn a_series_is_named_all_over() {
    let data = tempfile::tempdir().unwrap();
    let series = data.path().join("plate.toml");
    let sheets =
        ["plate-c-run2", "old-print-run11"].map(|s| samples().join(s).with_extension("toml").display().to_string());
    std::fs::write(&series, format!("format = 1\ntitle = \"two\"\nsheets = {sheets:?}\n")).unwrap();
    let (mut h, _data) = window(Some(series));
    until(&mut h, "the series", |h| h.state().state.runs.is_some());
    let mut check = Check::default();
    check.page(&h, "series");
    check.end(1);
}
