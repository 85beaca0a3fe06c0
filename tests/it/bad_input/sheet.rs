//! Sheets that state what cannot be.

use super::{altered, refused, untouched};
use crate::support::laid_out::{LaidOut, sheet_for};

/// The sheet with these changes is refused with these words. Its photo is not needed: the sheet comes first.
fn refuses(changes: &[(&str, &str)], says: &[&str]) {
    let bench = LaidOut::new();
    bench.put("run.toml", altered(changes));
    refused(&untouched(&bench, &["measure", "run.toml"]), 1, says);
}

#[test]
fn two_equal_scale_marks_are_told_with_their_line() {
    refuses(
        &[("[1100.0, 800.0]", "[100.0, 800.0]")],
        &["run.toml: line 8, column 9: scale.marks: ", "same point", "hint: mark two graduations far apart"],
    );
}

#[test]
fn a_head_of_zero_is_told_with_its_line() {
    refuses(&[("238.9 mm", "0 mm")], &["run.toml: line 21, column 11: head.reading: the head is zero", "hint: "]);
}

#[test]
fn a_negative_diameter_is_told_with_its_line() {
    refuses(
        &[("12.5 mm", "-12.5 mm")],
        &["run.toml: line 17, column 12: orifice.diameter: the diameter is negative", "hint: "],
    );
}

#[test]
fn five_faults_are_told_at_once() {
    refuses(
        &[
            ("format = 1", "format = 7"),
            ("[1100.0, 800.0]", "[100.0, 800.0]"),
            ("12.5 mm", "-12.5 mm"),
            ("\"sharp\"", "\"shrap\""),
            ("238.9 mm ± 0.5 mm", "238.9"),
        ],
        &["line 1, ", "line 8, ", "line 17, ", "line 18, ", "line 21, "],
    );
}

#[test]
fn a_decimal_comma_and_a_bare_gallon_are_told_with_a_way_out() {
    refuses(&[("238.9 mm", "238,9 mm")], &["head.reading: ", "238,9", "hint: "]);
    let flow = "[flow]\ntimed = [{ volume = \"1 gal\", time = \"20 s\" }]\n\n[water]";
    refuses(&[("[water]", flow)], &["flow.timed[1].volume: ", "gal (US)", "gal (imp)"]);
}

#[test]
fn what_is_no_toml_is_told_with_its_line() {
    refuses(&[("[orifice]", "[orifice")], &["run.toml: line 15, "]);
}

#[test]
fn a_sheet_that_is_not_utf8_is_told_with_its_line() {
    let bench = LaidOut::new();
    let mut bytes = b"format = 1\n# \xe9t\xe9\n".to_vec();
    bytes.extend(sheet_for("jet.png").lines().skip(1).flat_map(|l| format!("{l}\n").replace('±', "+-").into_bytes()));
    bench.put("run.toml", bytes);
    refused(
        &untouched(&bench, &["measure", "run.toml"]),
        1,
        &["run.toml: line 2: the sheet is not UTF-8 text (byte e9)", "hint: save it again"],
    );
}

#[test]
fn a_sheet_in_utf16_is_told() {
    let bench = LaidOut::new();
    let units = std::iter::once(0xFEFF).chain(sheet_for("jet.png").encode_utf16().collect::<Vec<_>>());
    bench.put("run.toml", units.flat_map(u16::to_le_bytes).collect::<Vec<_>>());
    let told = untouched(&bench, &["measure", "run.toml"]);
    refused(&told, 1, &["run.toml: the sheet is UTF-16 text", "hint: save it again with the encoding UTF-8"]);
}

#[test]
fn a_photo_given_as_the_sheet_is_told() {
    let bench = LaidOut::new();
    bench.put("jet.jpg", include_bytes!("../../photos/progressive.jpg"));
    refused(&untouched(&bench, &["measure", "jet.jpg"]), 1, &["jet.jpg: this is no sheet", "trajet new PHOTO"]);
}

#[test]
fn an_empty_sheet_says_what_a_sheet_needs() {
    let bench = LaidOut::new();
    bench.put("run.toml", "");
    refused(&untouched(&bench, &["measure", "run.toml"]), 1, &["photo", "scale", "orifice"]);
}

#[test]
fn a_weighed_flow_without_a_temperature_is_told_with_all_else() {
    let flow = "[flow]\ntimed = [{ mass = \"9.98 kg\", time = \"42 s\" }]\n";
    refuses(
        &[("[water]\ntemperature = \"18 degC ± 0.5 degC\"\n", flow), ("12.5 mm", "-12.5 mm")],
        &["water.temperature: the water was weighed", "hint: as in temperature = ", "the diameter is negative"],
    );
}

#[test]
fn a_series_of_ten_thousand_runs_is_refused_with_the_limit() {
    let bench = LaidOut::new();
    let sheets: Vec<String> = (0..10_000).map(|i| format!("\"run-{i}.toml\"")).collect();
    bench.put("all.toml", format!("format = 1\nsheets = [{}]\n", sheets.join(", ")));
    let told = untouched(&bench, &["series", "all.toml"]);
    refused(&told, 1, &["all.toml: run: 10000 runs, and a series takes at most 1000", "hint: split it into several"]);
}
