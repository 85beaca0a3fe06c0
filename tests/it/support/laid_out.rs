//! A folder of its own with a drawn photo and its sheet, and the program run on it.

#![allow(clippy::unwrap_used, reason = "tests: a failure here is a failed test")]

use super::drawn::Drawn;
use assert_cmd::Command;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::OnceLock;
use trajet::photo::{Photo, Pixels};

/// The program.
pub fn trajet() -> Command {
    let mut program = Command::cargo_bin("trajet").unwrap();
    // no test of the command line may open a window
    program.env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
    program
}

/// A folder that goes away with the value.
pub struct LaidOut {
    folder: tempfile::TempDir,
}

/// What the program said, and with which status it ended.
pub struct Told {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl LaidOut {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    pub fn put(&self, file: &str, bytes: impl AsRef<[u8]>) -> &Self {
        std::fs::write(self.path(file), bytes).unwrap();
        self
    }

    /// Saves a drawn photo as PNG.
    pub fn put_photo(&self, file: &str, photo: &Photo) -> &Self {
        self.put(file, png(photo))
    }

    /// A jet that can be measured: `jet.png` and its sheet.
    pub fn put_jet(&self, sheet: &str) -> &Self {
        static JET: OnceLock<Vec<u8>> = OnceLock::new();
        self.put("jet.png", JET.get_or_init(|| png(&Drawn::default().photo()))).put(sheet, sheet_for("jet.png"))
    }

    /// Every file's bytes, by name.
    pub fn contents(&self) -> BTreeMap<String, Vec<u8>> {
        let files = std::fs::read_dir(self.folder.path()).unwrap().map(|e| e.unwrap());
        let files = files.filter(|e| e.file_type().unwrap().is_file());
        files.map(|e| (e.file_name().into_string().unwrap(), std::fs::read(e.path()).unwrap())).collect()
    }

    /// Runs the program in the folder.
    pub fn run(&self, args: &[&str]) -> Told {
        let output = trajet().current_dir(self.folder.path()).args(args).output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        let told = Told { status: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) };
        assert!(!told.err.contains("panicked"), "{}", told.err);
        told
    }
}

fn png(photo: &Photo) -> Vec<u8> {
    let Pixels::Grey16(pixels) = &photo.pixels else { panic!("drawn photos are 16-bit grey") };
    let (w, h) = (photo.width as u32, photo.height as u32);
    let image = image::ImageBuffer::<image::Luma<u16>, _>::from_raw(w, h, pixels.clone()).unwrap();
    let mut bytes = std::io::Cursor::new(Vec::new());
    image.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// The sheet of [`Drawn::default`] (2 px to the millimetre, 2.1 m/s) with this photo. The head is that of
/// Cv = 0.97: (2.1 / 0.97)^2 / (2 x 9.81) = 0.2389 m.
pub fn sheet_for(photo: &str) -> String {
    format!(
        r#"format = 1
title = "Plate B, drawn"

[photo]
file = "{photo}"

[scale]
marks = [[100.0, 800.0], [1100.0, 800.0]]
length = "500 mm ± 0.1 mm"
behind_jet = "0 mm ± 0.5 mm"

[vertical]
plumb = [[50.0, 50.0], [50.0, 850.0]]

[orifice]
centre = [100.0, 120.0]
diameter = "12.5 mm ± 0.02 mm"
edge = "sharp"

[head]
reading = "238.9 mm ± 0.5 mm"

[water]
temperature = "18 degC ± 0.5 degC"

[site]
gravity = "9.81 m/s^2 ± 0.0005 m/s^2"
"#
    )
}
