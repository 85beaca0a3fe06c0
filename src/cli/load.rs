//! From a sheet's path to all that one measurement works from.

use super::{Outcome, files};
use crate::notice::Notice;
use crate::photo::{self, Limits, Photo};
use crate::sheet::{self, Checked};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// Seed of everything that is drawn, unless a later option says otherwise: stated in the findings.
const SEED: u64 = 20_240_206;

/// A sheet with its photos in memory.
pub(crate) struct Loaded {
    pub name: String,
    pub sheet: Checked,
    pub photos: Vec<Photo>,
    pub dry: Option<Photo>,
    pub notices: Vec<Notice>,
    pub inputs: BTreeMap<String, String>,
    pub seed: u64,
}

/// Why it is not: lines for stderr, and the exit status.
pub(crate) struct NotLoaded {
    pub lines: Vec<String>,
    pub outcome: Outcome,
}

/// The sheet's file name as it is told.
pub(crate) fn name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

/// Reads the sheet and its photos.
pub(crate) fn load(path: &Path) -> Result<Loaded, NotLoaded> {
    let unusable = |line: String| NotLoaded { lines: vec![line], outcome: Outcome::Unusable };
    let refused = |lines: Vec<String>| NotLoaded { lines, outcome: Outcome::Refused };
    let bytes = files::read("sheet", path).map_err(unusable)?;
    let name = name(path);
    let Ok(text) = std::str::from_utf8(&bytes) else {
        let line =
            format!("{name}: this is no sheet: not text (UTF-8); is it a photo? `trajet new PHOTO` writes its sheet");
        return Err(refused(vec![line]));
    };
    let opened = sheet::open(text);
    let Some(checked) = opened.checked else {
        return Err(refused(opened.faults.iter().map(|f| format!("{name}: {f}")).collect()));
    };
    let mut inputs = BTreeMap::from([
        ("trajet".to_owned(), env!("CARGO_PKG_VERSION").to_owned()),
        ("sheet sha256".to_owned(), sha256(&bytes)),
        ("seed".to_owned(), SEED.to_string()),
    ]);
    let mut notices = opened.notices;
    let mut read = |key: String, file: &str| -> Result<Photo, NotLoaded> {
        let at = path.parent().unwrap_or(Path::new("")).join(file);
        let bytes = files::read("photo", &at).map_err(unusable)?;
        let photo =
            photo::read(&bytes, Limits::default()).map_err(|e| refused(vec![format!("{name}: {file}: {e}")]))?;
        inputs.insert(key, sha256(&bytes));
        notices.extend(photo.notices);
        Ok(photo.value)
    };
    let mut photos = Vec::new();
    for (i, file) in checked.photos.iter().enumerate() {
        let key = if i == 0 { "photo sha256".to_owned() } else { format!("photo {} sha256", i + 1) };
        photos.push(read(key, file)?);
    }
    let dry = checked.dry.as_deref().map(|file| read("dry photo sha256".to_owned(), file)).transpose()?;
    Ok(Loaded { name, sheet: checked, photos, dry, notices, inputs, seed: SEED })
}

fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}
