//! The window's own waits: the first picture, new stations after another level, a frame while panning. No window is opened.

use criterion::{BatchSize, Criterion};
use eframe::egui::{Context, Event, Modifiers, PointerButton, Pos2, RawInput, Rect, Vec2};
use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use std::fs;
use std::hint::black_box;
use std::path::Path;
use trajet::app::command::Command;
use trajet::app::document::Document;
use trajet::app::measurer::{Answer, Measurer, Request};
use trajet::app::photo_table::PhotoTable;
use trajet::app::photo_table::picture::Overview;
use trajet::app::state::State;
use trajet::app::window::Window;
use trajet::photo::{Limits, read};
use trajet::point::PixelPoint;
use trajet::sheet::entry::{Entry, points, put};

const SHEET: &str = include_str!("../../samples/plate-c-run2.toml");
const PHOTO: &[u8] = include_bytes!("../../samples/plate-c-run2.jpg");

/// The sample with its photo enlarged by `scale` and its marks moved with it.
fn enlarged(scale: f64) -> (String, Vec<u8>) {
    let photo = image::load_from_memory(PHOTO).expect("the sample can be read").to_rgb8();
    let to = |n: u32| (f64::from(n) * scale).round() as u32;
    let large = image::imageops::resize(&photo, to(photo.width()), to(photo.height()), FilterType::Triangle);
    let mut bytes = Vec::new();
    large.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 90)).expect("a picture can be written");
    let moved = |text: String, (key, p): (String, PixelPoint)| {
        let at = Entry::Point(PixelPoint::new(p.x * scale, p.y * scale));
        put(&text, &key, &at).expect("a mark can be put where one is")
    };
    (points(SHEET).into_iter().fold(SHEET.to_owned(), moved), bytes)
}

/// A sheet at work, with the measurer that has seen its photo.
struct Bench {
    state: State,
    measurer: Measurer,
}

impl Bench {
    fn open(folder: &Path, text: &str, photo: &[u8]) -> Self {
        fs::write(folder.join("plate-c-run2.jpg"), photo).expect("the folder can be written");
        let mut state = State::default();
        state.show(Document::open(&folder.join("sheet.toml"), text));
        let mut bench = Self { state, measurer: Measurer::default() };
        bench.measure(true);
        assert!(bench.state.is_current() && bench.state.live.evidence.is_some(), "{:?}", bench.state.live.refused);
        bench
    }

    /// Answers the sheet as it is now: to the last answer, or only the first findings.
    fn measure(&mut self, to_the_end: bool) {
        let document = self.state.document.as_ref().expect("a sheet is open");
        let request = Request {
            revision: document.revision(),
            version: document.now().clone(),
            name: document.name(),
            folder: document.folder().to_owned(),
        };
        let mut answers: Vec<Answer> = Vec::new();
        self.measurer.answer(&request, &|| !to_the_end, &mut |answer| answers.push(answer));
        answers.into_iter().for_each(|answer| self.state.hear(answer));
    }
}

pub fn app(c: &mut Criterion) {
    let (sheet24, photo24) = enlarged(2f64.sqrt());
    let mut group = c.benchmark_group("app");
    group.sample_size(10);
    group.bench_function("first picture, 24 Mpx: decode and overview", |b| {
        b.iter(|| Overview::new(&read(black_box(&photo24), Limits::default()).expect("it was just written").value));
    });
    let photo = read(&photo24, Limits::default()).expect("it was just written").value;
    group.bench_function("overview alone, 24 Mpx", |b| b.iter(|| Overview::new(black_box(&photo))));
    for (name, text, bytes) in [("12 Mpx", SHEET, PHOTO), ("24 Mpx", sheet24.as_str(), photo24.as_slice())] {
        let folder = tempfile::tempdir().expect("a folder can be made");
        let mut bench = Bench::open(folder.path(), text, bytes);
        let mut level = 0.2;
        for (what, to_the_end) in [("first stations and results", false), ("the whole search again too", true)] {
            group.bench_function(format!("another level, {name}: {what}"), |b| {
                b.iter(|| {
                    level = if level > 0.4 { 0.2 } else { level + 0.01 };
                    let typed = format!("{level:.3}");
                    bench.state.apply(Command::Put { key: "stream.level".into(), typed });
                    bench.measure(to_the_end);
                    let measured = bench.state.live.measured.as_ref().expect("there is a stream at each level");
                    assert_eq!(measured.sheet.stream.level, bench.state.level());
                });
            });
        }
        let mark = bench.state.marks()[0].clone();
        let mut n = 0;
        group.bench_function(format!("a step of a drag, {name}: results anew"), |b| {
            b.iter(|| {
                n = (n + 1) % 20;
                let to = PixelPoint::new(mark.at.x + 0.1 * f64::from(n), mark.at.y);
                bench.state.apply(Command::Move { key: mark.key.clone(), to });
                bench.measure(false);
            });
        });
        if name == "24 Mpx" {
            panning(&mut group, &bench.state);
        } else {
            whole_window(&mut group);
        }
    }
    group.finish();
}

/// A frame of everything, the sheet's line of thirty readings in hand, as at every step of a drag.
fn whole_window(group: &mut criterion::BenchmarkGroup<criterion::measurement::WallTime>) {
    let ctx = Context::default();
    let sheet = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/plate-c-run2.toml");
    let mut window = Window::new(&ctx, Some(sheet), None);
    let screen = Rect::from_min_size(Pos2::ZERO, Vec2::new(1280.0, 800.0));
    let frame = |window: &mut Window, events: Vec<Event>| {
        let input =
            RawInput { screen_rect: Some(screen), max_texture_side: Some(16384), events, ..RawInput::default() };
        window.attend(&ctx);
        let output = ctx.run_ui(input, |ui| window.show(ui));
        black_box(ctx.tessellate(output.shapes, output.pixels_per_point));
    };
    while !window.is_settled() {
        frame(&mut window, Vec::new());
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let key = |pressed| Event::Key {
        key: eframe::egui::Key::Num3,
        physical_key: None,
        pressed,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    frame(&mut window, vec![key(true), key(false)]);
    let mut n = 0.0;
    group.bench_function("a frame of the whole window, 12 Mpx, thirty readings in hand", |b| {
        b.iter(|| {
            n = (n + 1.0) % 300.0;
            frame(&mut window, vec![Event::PointerMoved(Pos2::new(100.0 + n, 300.0))]);
        });
    });
}

/// The processor's part of a frame: input, layout, overlay and tessellation; what the graphics device does is not in it.
fn panning(group: &mut criterion::BenchmarkGroup<criterion::measurement::WallTime>, state: &State) {
    let ctx = Context::default();
    let mut table = PhotoTable::default();
    let screen = Rect::from_min_size(Pos2::ZERO, Vec2::new(1280.0, 800.0));
    let mut frame = |events: Vec<Event>| {
        let input =
            RawInput { screen_rect: Some(screen), max_texture_side: Some(16384), events, ..RawInput::default() };
        let output = ctx.run_ui(input, |ui| table.show(ui, state, &mut Vec::new()));
        black_box(ctx.tessellate(output.shapes, output.pixels_per_point));
    };
    let start = Pos2::new(640.0, 120.0);
    let button = |pressed| Event::PointerButton {
        pos: start,
        button: PointerButton::Middle,
        pressed,
        modifiers: Modifiers::NONE,
    };
    frame(vec![Event::PointerMoved(start)]);
    frame(vec![button(true)]);
    let mut n = 0;
    group.bench_function("a frame while panning, 24 Mpx, all layers of a new sheet", |b| {
        b.iter_batched(
            || {
                n += 1;
                start + Vec2::new((n % 200) as f32 - 100.0, (n % 90) as f32)
            },
            |at| frame(vec![Event::PointerMoved(at)]),
            BatchSize::SmallInput,
        );
    });
}
