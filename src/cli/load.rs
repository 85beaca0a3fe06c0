//! From a sheet's path to all that one measurement works from.

use super::{Outcome, files};
use crate::notice::Notice;
use crate::photo::{self, Limits, Photo};
use crate::sheet::{self, Checked};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Seed of everything that is drawn, unless a later option says otherwise: stated in the findings.
pub(crate) const SEED: u64 = 20_240_206;

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

impl NotLoaded {
    /// A file that cannot be read or written.
    pub(crate) fn unusable(line: String) -> Self {
        Self { lines: vec![line], outcome: Outcome::Unusable }
    }

    /// The work on it broke down, which is never the user's fault; what it was stands on stderr above.
    pub(crate) fn broken(name: &str) -> Self {
        let line =
            format!("{name}: the program failed on it, which is a fault of the program\n  hint: please report it");
        Self { lines: vec![line], outcome: Outcome::Refused }
    }
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
    let text = std::str::from_utf8(&bytes).map_err(|e| refused(vec![format!("{name}: {}", no_text(&bytes, e))]))?;
    let opened = sheet::open(text);
    let Some(checked) = opened.checked else {
        return Err(refused(opened.faults.iter().map(|f| format!("{name}: {f}")).collect()));
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    let sheet = Named { name, sha256: sha256(&bytes), folder, dry_folder: folder };
    photos(&sheet, checked, opened.notices)
}

/// A sheet's name, the hash of what states it, and the folders that its photos are relative to.
pub(crate) struct Named<'a> {
    pub name: String,
    pub sha256: String,
    pub folder: &'a Path,
    pub dry_folder: &'a Path,
}

/// Photos in memory, with what reading them told.
#[derive(Debug, Default)]
pub(crate) struct PhotoSet {
    pub photos: Vec<Photo>,
    pub dry: Option<Photo>,
    pub notices: Vec<Notice>,
    /// Their hashes, as the findings tell them.
    pub inputs: BTreeMap<String, String>,
}

impl PhotoSet {
    /// Reads photos relative to the sheet's folder, and the dry one to its own.
    pub fn read(named: &Named, files: &[String], dry: Option<&str>) -> Result<Self, NotLoaded> {
        let name = &named.name;
        let mut set = Self::default();
        let read = |set: &mut Self, key: String, folder: &Path, file: &str| -> Result<Photo, NotLoaded> {
            let bytes = files::read("photo", &folder.join(file))
                .map_err(|e| NotLoaded { lines: vec![missing(name, &e)], outcome: Outcome::Unusable })?;
            let photo = photo::read(&bytes, Limits::default())
                .map_err(|e| NotLoaded { lines: vec![format!("{name}: {file}: {e}")], outcome: Outcome::Refused })?;
            set.inputs.insert(key, sha256(&bytes));
            set.notices.extend(photo.notices);
            Ok(photo.value)
        };
        for (i, file) in files.iter().enumerate() {
            let photo = read(&mut set, photo_key(i), named.folder, file)?;
            set.photos.push(photo);
        }
        if let Some(file) = dry {
            set.dry = Some(read(&mut set, DRY_KEY.to_owned(), named.dry_folder, file)?);
        }
        Ok(set)
    }
}

/// What the hash of photo `i` is called.
fn photo_key(i: usize) -> String {
    if i == 0 { "photo sha256".to_owned() } else { format!("photo {} sha256", i + 1) }
}

/// What the hash of the dry photo is called.
const DRY_KEY: &str = "dry photo sha256";

/// What findings of this sheet would say went in, from hashes alone: nothing is decoded. `None` where the sheet has
/// faults or a file cannot be read; measuring it tells why.
pub(crate) fn inputs_now(path: &Path) -> Option<BTreeMap<String, String>> {
    let bytes = files::read("sheet", path).ok()?;
    let sheet = sheet::open(std::str::from_utf8(&bytes).ok()?).checked?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let hash = |file: &String| files::sha256("photo", &folder.join(file)).ok();
    let mut all = inputs(&sha256(&bytes));
    for (i, file) in sheet.photos.iter().enumerate() {
        all.insert(photo_key(i), hash(file)?);
    }
    if let Some(file) = &sheet.dry {
        all.insert(DRY_KEY.to_owned(), hash(file)?);
    }
    Some(all)
}

/// What the findings of a sheet with this hash tell of how they came about, but for its photos.
pub(crate) fn inputs(sheet_sha256: &str) -> BTreeMap<String, String> {
    BTreeMap::from([
        ("trajet".to_owned(), env!("CARGO_PKG_VERSION").to_owned()),
        ("sheet sha256".to_owned(), sheet_sha256.to_owned()),
        ("seed".to_owned(), SEED.to_string()),
    ])
}

/// Reads the photos of a checked sheet.
pub(crate) fn photos(named: &Named, checked: Checked, mut notices: Vec<Notice>) -> Result<Loaded, NotLoaded> {
    let set = PhotoSet::read(named, &checked.photos, checked.dry.as_deref())?;
    let mut inputs = inputs(&named.sha256);
    inputs.extend(set.inputs);
    notices.extend(set.notices);
    let name = named.name.clone();
    Ok(Loaded { name, sheet: checked, photos: set.photos, dry: set.dry, notices, inputs, seed: SEED })
}

/// The photos that a sheet names, as paths, also where it has faults; none where it cannot be read.
pub(crate) fn photos_named_by(path: &Path) -> Vec<PathBuf> {
    let text = files::read("sheet", path).ok().and_then(|bytes| String::from_utf8(bytes).ok());
    let Some(sheet) = text.map(|text| sheet::open(&text).sheet) else { return Vec::new() };
    let folder = path.parent().unwrap_or(Path::new(""));
    sheet.photos.iter().chain(&sheet.dry).map(|file| folder.join(file)).collect()
}

/// A photo that cannot be read, with the sheet that names it.
fn missing(sheet: &str, why: &str) -> String {
    format!("{sheet}: photo: {why}\n  hint: photo.file, photo.files and photo.dry are read from the sheet's own folder")
}

/// Why bytes are no text: a photo was named, or an editor wrote another encoding.
fn no_text(bytes: &[u8], e: std::str::Utf8Error) -> String {
    const SAVE_AGAIN: &str = "save it again with the encoding UTF-8";
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return format!("the sheet is UTF-16 text\n  hint: {SAVE_AGAIN}");
    }
    if bytes.contains(&0) {
        return "this is no sheet but a file of bytes; is it a photo? `trajet new PHOTO` writes its sheet".into();
    }
    let before = &bytes[..e.valid_up_to()];
    let line = before.iter().filter(|b| **b == b'\n').count() + 1;
    let seen = bytes.get(e.valid_up_to()).map_or_else(String::new, |b| format!(" (byte {b:02x})"));
    format!("line {line}: the sheet is not UTF-8 text{seen}\n  hint: {SAVE_AGAIN}")
}

/// SHA-256 in hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    files::hexadecimal(&Sha256::digest(bytes))
}
