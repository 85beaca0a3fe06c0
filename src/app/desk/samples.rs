//! Samples that come with the program, for the first minutes.

use std::path::{Path, PathBuf};

use crate::app::document::Document;
use crate::cli::files;

/// A sample: a photo with its sheet.
pub struct Sample {
    /// What it is called.
    pub title: &'static str,
    /// What it shows.
    pub says: &'static str,
    /// The files' name without ending.
    pub stem: &'static str,
    photo: &'static [u8],
    sheet: &'static str,
}

macro_rules! sample {
    ($stem:literal, $title:literal, $says:literal) => {
        Sample {
            title: $title,
            says: $says,
            stem: $stem,
            photo: include_bytes!(concat!("../../../samples/", $stem, ".jpg")),
            sheet: include_str!(concat!("../../../samples/", $stem, ".toml")),
        }
    };
}

/// All samples.
pub static SAMPLES: [Sample; 3] = [
    sample!("plate-c-run2", "Plate C, run 2", "clear water, a sharp-edged orifice, two rulers"),
    sample!("nozzle-n-up", "Nozzle N, upwards", "a dyed jet that rises; squared paper behind it, the camera askew"),
    sample!("old-print-run11", "An old print, run 11", "a scanned, scratched print with two marks"),
];

/// Puts the files of sample `n` among the program's own data, and gives its document. A sheet that is there already is
/// opened as it is.
///
/// # Errors
/// What went wrong with the files, in words.
pub fn lay_out(n: usize, data: &Path) -> Result<Document, String> {
    let sample = SAMPLES.get(n).ok_or("there is no such sample")?;
    let folder = folder(data, "samples")?;
    files::create("photo", &folder.join(format!("{}.jpg", sample.stem)), sample.photo)?;
    let sheet = folder.join(format!("{}.toml", sample.stem));
    files::create("sheet", &sheet, sample.sheet.as_bytes())?;
    super::opening::open(&sheet)
}

/// The photo of the first sample with a sheet that has yet to be filled, saved nowhere.
///
/// # Errors
/// What went wrong with the files, in words.
pub fn lay_out_photo(data: &Path) -> Result<Document, String> {
    let sample = SAMPLES.first().ok_or("there is no sample")?;
    let folder = folder(data, "first-steps")?;
    let photo = folder.join(format!("{}.jpg", sample.stem));
    files::create("photo", &photo, sample.photo)?;
    super::opening::begin(&photo, &[])
}

fn folder(data: &Path, name: &str) -> Result<PathBuf, String> {
    let folder = data.join(name);
    match std::fs::create_dir_all(&folder) {
        Ok(()) => Ok(folder),
        Err(e) => Err(format!("cannot make the folder: {}: {}", files::in_words(&e), folder.display())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sample_is_laid_out_whole_and_once() {
        let data = tempfile::tempdir().unwrap();
        for n in 0..SAMPLES.len() {
            let document = lay_out(n, data.path()).unwrap();
            assert!(document.opened().checked.is_some(), "{:?}", document.opened().faults);
            assert!(document.folder().join(&document.opened().sheet.photos[0]).is_file());
            std::fs::write(document.path(), "title = \"mine\"\n").unwrap();
            assert_eq!(lay_out(n, data.path()).unwrap().text(), "title = \"mine\"\n");
        }
        assert!(lay_out(99, data.path()).is_err());
    }
}
