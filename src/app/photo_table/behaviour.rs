//! Tests: the photo table as a user drives it, on a real sheet, without a window.

use super::PhotoTable;
use crate::app::command::Command;
use crate::app::document::Document;
use crate::app::line::Line;
use crate::app::marks::MarkKind;
use crate::app::measurer::{Answer, Pictures};
use crate::app::state::State;
use crate::cli::load::PhotoSet;
use crate::photo::{Metadata, Photo, Pixels};
use crate::point::PixelPoint;
use eframe::egui::{self, Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, PointerButton, Pos2, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use std::path::Path;
use std::sync::Arc;

const SIZE: [usize; 2] = [2000, 1500];

struct Bench {
    state: State,
    table: PhotoTable,
    /// What is typed in a field beside it.
    typed: String,
}

impl Bench {
    fn at(&self, p: PixelPoint) -> Pos2 {
        self.table.view.unwrap().screen_from_pixel(p)
    }

    fn mark(&self, key: &str) -> PixelPoint {
        self.state.marks().iter().find(|m| m.key == key).unwrap().at
    }
}

fn bench(sheet: &str, line: Line) -> Harness<'static, Bench> {
    let mut state = State::default();
    state.show(Document::open(Path::new("c.toml"), sheet));
    let pixels = (0..3 * SIZE[0] * SIZE[1]).map(|i| (i / 40 % 256) as u8).collect();
    let photo = Photo { width: SIZE[0], height: SIZE[1], pixels: Pixels::Rgb8(pixels), metadata: Metadata::default() };
    let set = PhotoSet { photos: vec![photo], ..PhotoSet::default() };
    state.hear(Answer::Pictures { revision: 1, pictures: Ok(Arc::new(Pictures::new(Vec::new(), set).unwrap())) });
    state.apply(Command::TakeLine(line));
    let mut harness = Harness::builder().with_size(vec2(900.0, 640.0)).build_ui_state(
        |ui, bench: &mut Bench| {
            let mut commands = Vec::new();
            let label = ui.label("field");
            ui.text_edit_singleline(&mut bench.typed).labelled_by(label.id);
            bench.table.show(ui, &bench.state, &mut commands);
            for command in commands {
                bench.state.apply(command);
            }
        },
        Bench { state, table: PhotoTable::default(), typed: String::new() },
    );
    harness.run();
    harness
}

const PLAIN: &str = "format = 1\n[photo]\nfile = \"c.jpg\"\n";
const MARKED: &str = "format = 1\n[photo]\nfile = \"c.jpg\"\n[scale]\nmarks = [[200.0, 300.0], [1500.0, 320.0]]\n[orifice]\ncentre = [400.0, 800.0]\n";

fn click(harness: &mut Harness<Bench>, p: PixelPoint) {
    let at = harness.state().at(p);
    press(harness, at, true);
    press(harness, at, false);
    harness.run();
}

fn press(harness: &mut Harness<Bench>, at: Pos2, pressed: bool) {
    harness.hover_at(at);
    harness.event(Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    });
    harness.step();
}

fn close_up_is_shown(harness: &Harness<Bench>) -> bool {
    // its caption is the only text that ends so
    harness.output().shapes.iter().any(|s| {
        let egui::Shape::Text(text) = &s.shape else { return false };
        text.galley.text().ends_with(" px")
    })
}

#[test]
fn a_scale_is_placed_by_two_clicks() {
    let mut h = bench(PLAIN, Line::Scale);
    let places = [PixelPoint::new(300.0, 400.0), PixelPoint::new(1700.0, 410.0)];
    for place in places {
        assert_eq!(h.state().state.placing, Some(MarkKind::Scale(1)));
        click(&mut h, place);
    }
    let marks = h.state().state.marks();
    assert_eq!(h.state().state.placing, None);
    // half a point of the screen at this magnification, from float screen coordinates and the rounding to tenths
    assert!(marks.len() == 2 && marks.iter().zip(places).all(|(m, p)| m.at.distance(p) < 0.1), "{marks:?}");
    assert!(h.state().state.text().contains("marks"), "{}", h.state().state.text());
    click(&mut h, PixelPoint::new(900.0, 900.0));
    assert_eq!(h.state().state.marks().len(), 2, "with nothing to place a click places nothing");
}

#[test]
fn nothing_is_placed_beside_the_photo() {
    let mut h = bench(PLAIN, Line::Scale);
    click(&mut h, PixelPoint::new(-8.0, 400.0));
    assert!(h.state().state.marks().is_empty());
}

#[test]
fn a_mark_is_dragged_and_it_is_one_step() {
    let mut h = bench(MARKED, Line::Scale);
    let key = "scale.marks[2]";
    let from = h.state().mark(key);
    // taken a little beside its middle: it must not jump there
    let start = h.state().at(from) + vec2(3.0, 2.0);
    press(&mut h, start, true);
    for i in 1..=6 {
        h.hover_at(start + i as f32 * vec2(10.0, 5.0));
        h.step();
        assert!(i < 2 || close_up_is_shown(&h), "the close-up is shown while a mark is dragged");
    }
    press(&mut h, start + vec2(60.0, 30.0), false);
    h.run();
    let scale = h.state().table.view.unwrap().scale;
    let to = PixelPoint::new(from.x + 60.0 / scale, from.y + 30.0 / scale);
    let bench = h.state_mut();
    assert!(bench.mark(key).distance(to) < 0.15, "{:?} {to:?}", bench.mark(key));
    assert_eq!(bench.state.mark.as_deref(), Some(key));
    bench.state.apply(Command::Undo);
    assert_eq!(bench.mark(key), from, "one step");
}

#[test]
fn a_mark_cannot_be_dragged_off_the_photo() {
    let mut h = bench(MARKED, Line::Orifice);
    let start = h.state().at(h.state().mark("orifice.centre"));
    press(&mut h, start, true);
    for x in [100.0, 40.0, 0.0] {
        h.hover_at(Pos2::new(x, start.y));
        h.step();
    }
    press(&mut h, Pos2::new(0.0, start.y), false);
    h.run();
    assert_eq!(h.state().mark("orifice.centre").x, 0.0);
}

#[test]
fn keys_nudge_and_each_mark_is_its_own_step() {
    let mut h = bench(MARKED, Line::Photo);
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(h.state().state.mark.as_deref(), Some("scale.marks[1]"));
    let from = h.state().mark("scale.marks[1]");
    for (modifiers, key) in
        [(Modifiers::NONE, Key::ArrowRight), (Modifiers::SHIFT, Key::ArrowDown), (Modifiers::CTRL, Key::ArrowLeft)]
    {
        h.key_press_modifiers(modifiers, key);
        h.run();
    }
    let expected = PixelPoint::new(from.x + 1.0 - 0.1, from.y + 10.0);
    assert!(h.state().mark("scale.marks[1]").distance(expected) < 1e-9);
    assert!(close_up_is_shown(&h), "the close-up is shown beside a mark that is nudged");
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(h.state().state.mark.as_deref(), Some("scale.marks[2]"));
    assert!(!close_up_is_shown(&h));
    h.key_press(Key::Delete);
    h.run();
    let bench = h.state_mut();
    assert_eq!((bench.state.marks().len(), bench.state.mark.clone()), (2, None));
    bench.state.apply(Command::Undo);
    assert_eq!(bench.state.marks().len(), 3);
    h.run();
    h.key_press(Key::Enter);
    h.run();
    assert!(h.state().state.mark.is_some());
    h.key_press(Key::Escape);
    h.run();
    assert_eq!(h.state().state.mark, None);
}

#[test]
fn marks_are_placed_by_keyboard_alone() {
    let mut h = bench(PLAIN, Line::Scale);
    let middle = PixelPoint::new(0.5 * SIZE[0] as f64, 0.5 * SIZE[1] as f64);
    h.key_press(Key::Enter);
    h.run();
    for _ in 0..3 {
        h.key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
    }
    h.run();
    assert!(close_up_is_shown(&h));
    let aimed = h.state().table.view.unwrap().middle;
    let told = h.get_by_label("photo").accesskit_node().value().unwrap();
    assert_eq!(told, format!("placing: scale, cross at {:.1}, {:.1} px", aimed.x, aimed.y));
    assert!(aimed.x > middle.x + 100.0 && aimed.y == middle.y);
    h.key_press(Key::Enter);
    h.run();
    let marks = h.state().state.marks();
    assert_eq!(marks.len(), 2);
    assert!(marks[0].at == middle && marks[1].at.distance(aimed) < 0.1, "{marks:?} {aimed:?}");
}

#[test]
fn a_field_keeps_its_keys() {
    let mut h = bench(MARKED, Line::Scale);
    let before = h.state().state.text().to_owned();
    h.state_mut().state.apply(Command::TakeMark(Some("scale.marks[1]".into())));
    h.run();
    h.get_by_role(egui::Role::TextInput).focus();
    h.run();
    h.get_by_role(egui::Role::TextInput).type_text("12");
    for key in [Key::Backspace, Key::ArrowLeft, Key::Delete, Key::Enter] {
        h.key_press(key);
        h.run();
    }
    assert_eq!(h.state().state.text(), before);
    assert_eq!(h.state().typed, "");
}

#[test]
fn the_wheel_keeps_the_pixel_under_the_pointer() {
    let mut h = bench(MARKED, Line::Photo);
    let pointer = Pos2::new(251.0, 377.0);
    h.hover_at(pointer);
    h.run();
    let before = h.state().table.view.unwrap();
    for _ in 0..5 {
        h.event(Event::MouseWheel {
            unit: MouseWheelUnit::Line,
            delta: vec2(0.0, 1.0),
            phase: egui::TouchPhase::Move,
            source: MouseWheelSource::Wheel,
            modifiers: Modifiers::NONE,
        });
        h.step();
    }
    let after = h.state().table.view.unwrap();
    assert!((after.scale / before.scale - 1.2f64.powi(5)).abs() < 1e-6);
    assert!(after.pixel_from_screen(pointer).distance(before.pixel_from_screen(pointer)) < 1e-2);
    h.key_press(Key::F);
    h.run();
    assert!((h.state().table.view.unwrap().scale - before.scale).abs() < 1e-9);
}

#[test]
fn two_fingers_and_empty_ground_move_the_photo() {
    let mut h = bench(MARKED, Line::Photo);
    let centre = Pos2::new(450.0, 320.0);
    h.hover_at(centre);
    h.run();
    let before = h.state().table.view.unwrap();
    h.event(Event::MouseWheel {
        unit: MouseWheelUnit::Point,
        delta: vec2(12.0, -7.5),
        phase: egui::TouchPhase::Move,
        source: MouseWheelSource::Trackpad,
        modifiers: Modifiers::NONE,
    });
    h.step();
    let moved = |h: &Harness<Bench>| -> Vec2 {
        let view = h.state().table.view.unwrap();
        view.screen_from_pixel(before.middle) - before.screen_from_pixel(before.middle)
    };
    assert!((moved(&h) - vec2(12.0, -7.5)).length() < 1e-3);
    press(&mut h, centre, true);
    for i in 1..=5 {
        h.hover_at(centre + i as f32 * vec2(8.0, 0.0));
        h.step();
    }
    press(&mut h, centre + vec2(40.0, 0.0), false);
    h.run();
    assert!((moved(&h) - vec2(52.0, -7.5)).length() < 0.5, "{:?}", moved(&h));
    assert_eq!(h.state().state.marks(), bench(MARKED, Line::Photo).state().state.marks());
}

#[test]
fn the_close_up_follows_the_pointer_while_placing() {
    let mut h = bench(PLAIN, Line::Orifice);
    assert_eq!(h.state().state.placing, Some(MarkKind::Orifice));
    let p = PixelPoint::new(700.0, 600.0);
    let at = h.state().at(p);
    h.hover_at(at);
    h.run();
    assert!(close_up_is_shown(&h));
    h.key_press(Key::Escape);
    h.run();
    assert!(!close_up_is_shown(&h));
}

#[test]
fn what_is_in_hand_is_told_and_every_mark_can_be_taken_by_name() {
    let mut h = bench(MARKED, Line::Photo);
    assert_eq!(h.get_by_label("photo").accesskit_node().value().as_deref(), Some("3 marks, none in hand"));
    h.get_by_label("scale, mark 2").click();
    h.run();
    assert_eq!(h.state().state.mark.as_deref(), Some("scale.marks[2]"));
    let value = h.get_by_label("photo").accesskit_node().value();
    assert_eq!(value.as_deref(), Some("in hand: scale, mark 2 at 1500.0, 320.0 px"));
}

#[test]
fn a_mark_taken_elsewhere_comes_into_sight() {
    let mut h = bench(MARKED, Line::Photo);
    h.hover_at(Pos2::new(800.0, 600.0));
    for _ in 0..12 {
        h.key_press(Key::Plus);
    }
    h.run();
    let key = "scale.marks[1]";
    let frame = h.state().table.view.unwrap().frame;
    let at = h.state().at(h.state().mark(key));
    assert!(!frame.contains(at));
    h.state_mut().state.apply(Command::TakeMark(Some(key.into())));
    h.run();
    let at = h.state().at(h.state().mark(key));
    assert!(frame.contains(at));
}
