//! `trajet new`: a starter sheet beside each photo.

use super::{Outcome, args, files, say};
use crate::calibration::card::{self, FoundCard};
use crate::photo::{self, Limits};
use crate::sheet::{PhotoFacts, starter};
use std::path::Path;

/// Runs the command.
pub(crate) fn run(args: &args::New) -> Outcome {
    args.photos.iter().map(|p| one(p)).max().unwrap_or(Outcome::Done)
}

fn one(path: &Path) -> Outcome {
    let tell = |text: String, outcome| {
        say::line(&text);
        outcome
    };
    let sheet = path.with_extension("toml");
    if sheet.exists() {
        return tell(in_the_way(&sheet), Outcome::Unusable);
    }
    let bytes = match files::read("photo", path) {
        Ok(bytes) => bytes,
        Err(e) => return tell(e, Outcome::Unusable),
    };
    let photo = match photo::read(&bytes, Limits::default()) {
        Ok(photo) => photo.value,
        Err(e) => return tell(format!("{e}: {}", path.display()), Outcome::Refused),
    };
    let m = &photo.metadata;
    let found = card::find(&photo, None);
    let facts = PhotoFacts {
        taken: m.taken.clone(),
        camera: m.camera.clone(),
        latitude_deg: m.latitude_deg,
        altitude_m: m.altitude_m,
        size_px: u32::try_from(photo.width).ok().zip(u32::try_from(photo.height).ok()),
        card: found.as_ref().map(FoundCard::stated),
    };
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    match files::create("sheet", &sheet, starter(&name, &facts).as_bytes()) {
        Ok(false) => tell(in_the_way(&sheet), Outcome::Unusable),
        Ok(true) => match say::result(format!("{}\n", sheet.display()).as_bytes()) {
            Ok(()) => Outcome::Done,
            Err(e) => tell(format!("cannot write to stdout: {}", files::in_words(&e)), Outcome::Unusable),
        },
        Err(e) => tell(e, Outcome::Unusable),
    }
}

fn in_the_way(sheet: &Path) -> String {
    format!("there is a sheet already, nothing was written over; move it away first: {}", sheet.display())
}
