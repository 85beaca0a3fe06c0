//! Sheets opened or saved last.

use std::path::{Path, PathBuf};

use crate::cli::files;

/// How many are remembered.
const MOST: usize = 12;

/// The list, one path a line in a file of the program's own.
pub struct Recent {
    file: Option<PathBuf>,
    paths: Vec<PathBuf>,
}

impl Recent {
    /// Reads it; a list that cannot be read is empty.
    pub fn read(data: Option<&Path>) -> Self {
        let file = data.map(|d| d.join("recent.txt"));
        let text = file.as_ref().and_then(|f| std::fs::read_to_string(f).ok()).unwrap_or_default();
        Self { file, paths: text.lines().map(PathBuf::from).filter(|p| p.is_file()).take(MOST).collect() }
    }

    /// All of it, newest first.
    pub fn all(&self) -> &[PathBuf] {
        &self.paths
    }

    /// Puts a sheet on top. That the list cannot be written is no reason to trouble anybody.
    pub fn add(&mut self, path: &Path) {
        self.paths.retain(|p| p != path);
        self.paths.insert(0, path.to_owned());
        self.paths.truncate(MOST);
        let Some(file) = &self.file else { return };
        let text: String = self.paths.iter().map(|p| format!("{}\n", p.display())).collect();
        let made = file.parent().is_some_and(|folder| std::fs::create_dir_all(folder).is_ok());
        if made {
            let _ = files::write("list", file, text.as_bytes());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_comes_first_and_what_is_gone_is_not_offered() {
        let data = tempfile::tempdir().unwrap();
        let sheets: Vec<PathBuf> = (0..15).map(|i| data.path().join(format!("{i}.toml"))).collect();
        let mut recent = Recent::read(Some(data.path()));
        for sheet in &sheets {
            std::fs::write(sheet, "").unwrap();
            recent.add(sheet);
        }
        recent.add(&sheets[10]);
        std::fs::remove_file(&sheets[14]).unwrap();
        let again = Recent::read(Some(data.path()));
        assert_eq!(again.all()[..3], [sheets[10].clone(), sheets[13].clone(), sheets[12].clone()]);
        assert_eq!(again.all().len(), MOST - 1);
    }
}
