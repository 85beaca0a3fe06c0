//! A folder that a batch writes into, and what of it is there already.
//!
//! Findings of `runs/a/run1.toml` become `FOLDER/runs/a/run1.json`: the path as it was typed, so that each sheet has the
//! same place whether it is measured alone or with others. The JSON is written last. It says by hashes what it was made
//! from: a run that was killed at any moment and is started again finds by them what need not be done again.

use super::{files, load};
use crate::measure::{Draws, Findings};
use crate::report::json;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path, PathBuf};

/// Where each sheet's results go.
pub(crate) struct Into {
    /// For each sheet, without an ending that tells the kind.
    places: Vec<PathBuf>,
}

impl Into {
    /// Makes the folders and clears away what a killed run left unfinished in them.
    pub(crate) fn new(folder: &Path, sheets: &[PathBuf]) -> Result<Self, String> {
        let places: Vec<PathBuf> = sheets.iter().map(|sheet| folder.join(below(sheet))).collect();
        let mut first = BTreeMap::new();
        for (place, sheet) in places.iter().zip(sheets) {
            if let Some(other) = first.insert(place.with_extension("json"), sheet) {
                return Err(format!(
                    "two sheets would be written to one file; measure them into two folders: {}, {}",
                    other.display(),
                    sheet.display()
                ));
            }
        }
        places.iter().try_for_each(|place| files::make_folder_of(place))?;
        places.iter().filter_map(|place| place.parent()).collect::<BTreeSet<_>>().into_iter().for_each(files::sweep);
        Ok(Self { places })
    }

    /// The file of sheet `i` with this ending.
    pub(crate) fn file(&self, i: usize, ending: &str) -> PathBuf {
        self.places[i].with_extension(ending)
    }

    /// The findings of sheet `i` where they are there already, made from what `now` says would go in; and where `record`
    /// is a kind of record, that record with them.
    pub(crate) fn done(&self, i: usize, now: &BTreeMap<String, String>, record: Option<&str>) -> Option<Findings> {
        let text = String::from_utf8(files::read("findings", &self.file(i, "json")).ok()?).ok()?;
        let findings = json::read(&text).ok()?.pop().filter(|f| f.inputs == *now)?;
        match record {
            Some(ending) if !tells(&files::read("record", &self.file(i, ending)).ok()?, now) => None,
            _ => Some(findings),
        }
    }

    /// Writes the findings of sheet `i`.
    pub(crate) fn write(&self, i: usize, findings: &Findings) -> Result<(), String> {
        let text = json::text(std::slice::from_ref(findings)).map_err(|e| e.to_string())?;
        files::write("findings", &self.file(i, "json"), text.as_bytes())
    }
}

/// Whether a record was made by this version from these inputs: it holds every hash as text.
fn tells(record: &[u8], now: &BTreeMap<String, String>) -> bool {
    let holds = |text: &str| record.windows(text.len()).any(|w| w == text.as_bytes());
    let made_by = concat!("Trajet ", env!("CARGO_PKG_VERSION"));
    holds(made_by) && now.iter().filter(|(name, _)| name.ends_with("sha256")).all(|(_, hash)| holds(hash))
}

/// The path as typed, below the folder: an absolute one is taken from where one is, and what leads upwards is left out.
pub(crate) fn below(sheet: &Path) -> PathBuf {
    let here = std::env::current_dir().unwrap_or_default();
    let path = sheet.strip_prefix(&here).unwrap_or(sheet);
    path.components().filter(|c| matches!(c, Component::Normal(_))).collect()
}

/// What would go in now, with these draws.
pub(crate) fn inputs_now(sheet: &Path, draws: Draws) -> Option<BTreeMap<String, String>> {
    let mut now = load::inputs_now(sheet)?;
    now.extend(draws.stated().map(|n| ("draws".to_owned(), n)));
    Some(now)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sheet_has_its_place_by_the_path_as_typed() {
        let of = |path: &str| below(Path::new(path)).display().to_string();
        assert_eq!(of("./a/run1.toml"), "a/run1.toml");
        assert_eq!(of("../../a/run1.toml"), "a/run1.toml");
        let here = std::env::current_dir().unwrap();
        assert_eq!(below(&here.join("a/run1.toml")), Path::new("a/run1.toml"));
        let folder = tempfile::tempdir().unwrap();
        let two = ["a/run1.toml", "../a/run1.toml"].map(PathBuf::from);
        assert!(Into::new(folder.path(), &two).is_err_and(|e| e.contains("two sheets")));
        std::fs::create_dir(folder.path().join("a")).unwrap();
        std::fs::write(folder.path().join("a/.trajet-killed"), "part").unwrap();
        let into = Into::new(folder.path(), &two[..1]).unwrap();
        assert!(!folder.path().join("a/.trajet-killed").exists());
        assert_eq!(into.file(0, "html"), folder.path().join("a/run1.html"));
    }
}
