//! Files that are not there, or are something else.

use super::{refused, untouched};
use crate::support::laid_out::{LaidOut, sheet_for};

#[test]
fn a_missing_sheet_ends_with_status_2() {
    let bench = LaidOut::new();
    refused(&untouched(&bench, &["measure", "gone.toml"]), 2, &["cannot read the sheet", "gone.toml"]);
}

#[test]
fn a_folder_without_sheets_ends_with_status_2() {
    let bench = LaidOut::new();
    std::fs::create_dir(bench.path("runs")).unwrap();
    refused(&untouched(&bench, &["measure", "runs"]), 2, &["no sheets (*.toml with [photo]) in the folder: runs"]);
}

#[test]
fn a_missing_photo_is_told_with_the_sheet_that_names_it() {
    let bench = LaidOut::new();
    bench.put("run.toml", sheet_for("gone.jpg"));
    let told = untouched(&bench, &["measure", "run.toml"]);
    refused(&told, 2, &["run.toml: photo: cannot read the photo", "gone.jpg", "hint: photo.file"]);
}

#[test]
fn a_folder_given_as_the_photo_is_told() {
    let bench = LaidOut::new();
    std::fs::create_dir(bench.path("photos")).unwrap();
    bench.put("run.toml", sheet_for("photos"));
    let told = untouched(&bench, &["measure", "run.toml"]);
    refused(&told, 2, &["run.toml: photo: the photo is a folder, not a file", "photos"]);
    refused(&untouched(&bench, &["new", "photos"]), 2, &["the photo is a folder, not a file: photos"]);
    refused(&untouched(&bench, &["new", "gone.jpg"]), 2, &["cannot read the photo", "gone.jpg"]);
}

#[test]
fn new_never_writes_over_a_sheet() {
    let bench = LaidOut::new();
    bench.put("run.jpg", include_bytes!("../../photos/progressive.jpg")).put("run.toml", "format = 1 # mine\n");
    let told = untouched(&bench, &["new", "run.jpg"]);
    refused(&told, 2, &["there is a sheet already, nothing was written over", "run.toml"]);
}
