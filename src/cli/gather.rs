//! From what was typed to the sheets that are meant: files as they are, every sheet of a folder, every line of a list.

use super::files;
use crate::sheet;
use clap::Args;
use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Which sheets, as it is typed.
#[derive(Debug, Args)]
pub struct Which {
    /// Bench sheets (TOML), or folders: of a folder every sheet in it and below.
    #[arg(required_unless_present = "list", value_name = "SHEET or FOLDER")]
    pub sheets: Vec<PathBuf>,
    /// Also every sheet or folder that this text file names, one a line, relative to where you are; - reads stdin.
    #[arg(long, value_name = "FILE")]
    pub list: Option<PathBuf>,
}

/// The sheets that are meant.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Gathered {
    /// Their paths, each file once: as typed, within a folder by name.
    pub sheets: Vec<PathBuf>,
    /// Whether more than one was asked for: a folder or a list is many even where it holds one.
    pub many: bool,
}

impl Which {
    /// Finds them, or says in one line why not.
    pub(crate) fn gather(&self) -> Result<Gathered, String> {
        let listed = self.list.as_deref().map(listed).transpose()?.unwrap_or_default();
        let mut many = self.list.is_some() || self.sheets.len() > 1;
        let mut seen = BTreeSet::new();
        let mut sheets = Vec::new();
        for path in self.sheets.iter().chain(&listed) {
            if !path.is_dir() {
                push(&mut sheets, &mut seen, path.clone());
                continue;
            }
            many = true;
            let before = sheets.len();
            for file in files_below(path)? {
                if is_one(&file) {
                    push(&mut sheets, &mut seen, file);
                }
            }
            if sheets.len() == before {
                return Err(format!("no sheets (*.toml with [photo]) in the folder: {}", path.display()));
            }
        }
        if sheets.is_empty() {
            return Err("the list names no sheet".into());
        }
        Ok(Gathered { sheets, many })
    }
}

/// One sheet measured twice would only be written twice.
fn push(sheets: &mut Vec<PathBuf>, seen: &mut BTreeSet<PathBuf>, path: PathBuf) {
    if seen.insert(path.canonicalize().unwrap_or_else(|_| path.clone())) {
        sheets.push(path);
    }
}

/// Lines of a list; empty ones and those that begin with # do not count.
fn listed(list: &Path) -> Result<Vec<PathBuf>, String> {
    let bytes = if list == Path::new("-") {
        let mut bytes = Vec::new();
        std::io::stdin()
            .lock()
            .read_to_end(&mut bytes)
            .map_err(|e| format!("cannot read stdin: {}", files::in_words(&e)))?;
        bytes
    } else {
        files::read("list", list)?
    };
    let text = String::from_utf8(bytes).map_err(|_| format!("the list is not text (UTF-8): {}", list.display()))?;
    let lines = text.trim_start_matches('\u{feff}').lines().map(str::trim);
    Ok(lines.filter(|l| !l.is_empty() && !l.starts_with('#')).map(PathBuf::from).collect())
}

/// Every TOML file below the folder, by name; hidden ones are somebody else's.
fn files_below(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let hidden = |e: &walkdir::DirEntry| e.depth() > 0 && e.file_name().to_string_lossy().starts_with('.');
    let walk = walkdir::WalkDir::new(folder).follow_links(true).sort_by_file_name().into_iter();
    let mut found = Vec::new();
    for entry in walk.filter_entry(|e| !hidden(e)) {
        let entry = entry.map_err(|e| format!("cannot look through the folder: {e}"))?;
        let toml = entry.path().extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
        if toml && entry.file_type().is_file() {
            found.push(entry.into_path());
        }
    }
    Ok(found)
}

/// Whether a TOML file is a sheet. One that cannot be read counts, so that its fault is told, not passed over.
fn is_one(path: &Path) -> bool {
    let text = files::read("sheet", path).ok().and_then(|bytes| String::from_utf8(bytes).ok());
    text.is_none_or(|text| matches!(sheet::what_is(&text), sheet::What::Sheet | sheet::What::Unreadable))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gather(sheets: &[&Path], list: Option<&Path>) -> Result<Gathered, String> {
        let which = Which { sheets: sheets.iter().map(|p| (*p).to_owned()).collect(), list: list.map(Path::to_owned) };
        which.gather()
    }

    #[test]
    fn folders_and_lists_give_each_sheet_once_and_in_order() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::create_dir_all(at("b/deep")).unwrap();
        std::fs::create_dir_all(at(".kept")).unwrap();
        for sheet in ["b/deep/run.toml", "b/run2.TOML", "b/run1.toml", "a.toml", ".kept/x.toml"] {
            std::fs::write(at(sheet), "format = 1\n[photo]\nfile = \"x.jpg\"\n").unwrap();
        }
        std::fs::write(at("series.toml"), "format = 1\nsheets = [\"a.toml\"]\n").unwrap();
        std::fs::write(at("other.toml"), "[package]\nname = \"x\"\n").unwrap();
        std::fs::write(at("broken.toml"), "format = = 1\n").unwrap();
        let expected = ["a.toml", "b/deep/run.toml", "b/run1.toml", "b/run2.TOML", "broken.toml"].map(at);
        let all = gather(&[folder.path()], None).unwrap();
        assert_eq!((all.sheets.as_slice(), all.many), (expected.as_slice(), true));
        std::fs::write(at("list.txt"), format!("# two\n\n{}\r\n{}\n", at("b").display(), at("a.toml").display()))
            .unwrap();
        let some = gather(&[&at("a.toml")], Some(&at("list.txt"))).unwrap();
        assert_eq!(some.sheets, ["a.toml", "b/deep/run.toml", "b/run1.toml", "b/run2.TOML"].map(at));
        let one = gather(&[&at("a.toml")], None).unwrap();
        assert!(!one.many);
        assert!(
            gather(&[&at(".kept/.none")], None).unwrap().sheets.len() == 1,
            "a missing file is told when it is read"
        );
        std::fs::create_dir(at("empty")).unwrap();
        assert!(gather(&[&at("empty")], None).unwrap_err().contains("no sheets"));
    }
}
