//! Marks and photos used wrongly: the program says which, and what to do.

use super::{altered, refused, untouched};
use crate::support::drawn::{Drawn, Things};
use crate::support::laid_out::LaidOut;
use trajet::photo::{Metadata, Photo, Pixels};

/// The sheet's two scale marks replaced by plane marks, told as (pixel, bench mm).
fn planed(marks: &[([f64; 2], [f64; 2])]) -> String {
    let mark = |([px, py], [x, y]): &([f64; 2], [f64; 2])| {
        format!("{{ px = [{px:?}, {py:?}], at = [\"{x} mm ± 0.2 mm\", \"{y} mm ± 0.2 mm\"] }}")
    };
    let marks: Vec<String> = marks.iter().map(mark).collect();
    let scale = "[scale]\nmarks = [[100.0, 800.0], [1100.0, 800.0]]\nlength = \"500 mm ± 0.1 mm\"\n";
    altered(&[(scale, &format!("[plane]\nmarks = [{}]\n", marks.join(", ")))])
}

/// The drawn bench's own coordinates: 2 px to the millimetre from the orifice at (100, 120) px.
fn on_the_bench(x: f64, y: f64) -> ([f64; 2], [f64; 2]) {
    ([100.0 + 2.0 * x, 120.0 + 2.0 * y], [x, y])
}

fn refuses(sheet: String, says: &[&str]) {
    let bench = LaidOut::new();
    bench.put_jet("run.toml").put("run.toml", sheet);
    refused(&untouched(&bench, &["measure", "run.toml"]), 1, says);
}

/// It is measured, and this is said about it.
fn tells(bench: &LaidOut, says: &[&str]) {
    let told = untouched(bench, &["measure", "run.toml"]);
    assert_eq!(told.status, 0, "{}", told.err);
    for text in says {
        assert!(told.err.contains(text), "nothing of `{text}` in:\n{}", told.err);
    }
}

#[test]
fn three_plane_marks_do_not_fix_a_plane() {
    let three = [(0.0, 0.0), (400.0, 0.0), (0.0, 300.0)].map(|(x, y)| on_the_bench(x, y));
    refuses(
        planed(&three),
        &["run.toml: line ", "plane.marks: ", "the plane has 3 marks, at least four are needed", "hint: "],
    );
}

#[test]
fn plane_marks_on_one_line_do_not_fix_a_plane() {
    let line = [0.0, 100.0, 250.0, 400.0].map(|x| on_the_bench(x, 0.5 * x));
    refuses(planed(&line), &["plane.marks: ", "on one line", "hint: "]);
}

#[test]
fn plane_marks_that_cross_are_told() {
    let mut four = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)].map(|(x, y)| on_the_bench(x, y));
    (four[2].0, four[3].0) = (four[3].0, four[2].0);
    refuses(planed(&four), &["plane.marks: the plane marks cross", "hint: "]);
}

#[test]
fn a_plane_mark_that_is_off_is_named() {
    let mut six = [(0.0, 0.0), (250.0, 0.0), (500.0, 0.0), (500.0, 350.0), (250.0, 350.0), (0.0, 350.0)]
        .map(|(x, y)| on_the_bench(x, y));
    six[3].0[1] += 15.0;
    let bench = LaidOut::new();
    bench.put_jet("run.toml").put("run.toml", planed(&six));
    tells(&bench, &["plane.marks: plane mark 4 lies 1", "place it again"]);
}

#[test]
fn a_reading_of_the_ruler_that_is_off_is_named() {
    let ruler = "[[scale]]\nmarks = [\
        { px = [100.0, 800.0], at = \"0 mm\" }, { px = [350.0, 800.0], at = \"125 mm\" }, { px = [612.0, 800.0], at = \"250 mm\" }, \
        { px = [850.0, 800.0], at = \"375 mm\" }, { px = [1100.0, 800.0], at = \"500 mm\" }]\n";
    let scale = "[scale]\nmarks = [[100.0, 800.0], [1100.0, 800.0]]\nlength = \"500 mm ± 0.1 mm\"\n";
    let bench = LaidOut::new();
    bench.put_jet("run.toml").put("run.toml", altered(&[(scale, ruler)]));
    tells(
        &bench,
        &["scale.marks: the mark at 250 mm lies 1", "px from where the other marks put it", "place it again"],
    );
}

#[test]
fn a_straight_edge_that_bends_is_named() {
    let edge = "[lens]\nstraight = [[[60.0, 870.0], [300.0, 870.0], [500.0, 870.0], [700.0, 861.0], [900.0, 870.0], [1150.0, 870.0]]]\n\n[orifice]";
    let bench = LaidOut::new();
    bench.put_jet("run.toml").put("run.toml", altered(&[("[orifice]", edge)]));
    tells(&bench, &["lens.straight: straight edge 1 bends by", "its point 4 lies", "leave the edge out"]);
}

/// A jet before things of the bench, and the same bench dry.
fn crowded(seed: u64, jet: bool) -> Photo {
    let things = Things::crowded(seed);
    let drawn = Drawn { seed: seed + u64::from(jet), core: if jet { 0.65 } else { 0.25 }, ..Drawn::default() };
    drawn.photo_with(|p, v| v + things.at(p))
}

#[test]
fn a_dry_photo_of_another_size_is_left_out_and_told() {
    let bench = LaidOut::new();
    let small =
        Photo { width: 64, height: 48, pixels: Pixels::Grey16(vec![9000; 64 * 48]), metadata: Metadata::default() };
    let named = altered(&[("file = \"jet.png\"", "file = \"jet.png\"\ndry = \"dry.png\"")]);
    bench.put_jet("run.toml").put("run.toml", named).put_photo("dry.png", &small);
    tells(
        &bench,
        &["photo.dry: ", "it is 64 x 48 pixels, the other 1200 x 900", "leave photo.dry out, or name the right one"],
    );
}

#[test]
fn a_burst_of_different_scenes_names_the_photo_that_does_not_belong() {
    let bench = LaidOut::new();
    bench.put_photo("one.png", &crowded(3, true)).put_photo("two.png", &crowded(71, true));
    let named = altered(&[("file = \"jet.png\"", "files = [\"one.png\", \"two.png\"]")]);
    bench.put("run.toml", named);
    tells(
        &bench,
        &["photo.files: photo 2 of the burst is left out: it does not show the same view", "keep in photo.files only"],
    );
}
