//! What the user chose for all sheets: the units of results, light or dark.

use std::path::{Path, PathBuf};

use eframe::egui::ThemePreference;

use crate::app::command::Units;
use crate::cli::files;
use crate::sheet::entry::{Entries, Entry};

/// The choices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choices {
    /// Units of results.
    pub units: Units,
    /// Light, dark, or as the desktop.
    pub theme: ThemePreference,
}

const UNITS: [(Units, &str); 2] = [(Units::Si, "SI"), (Units::UsCustomary, "US customary")];
const THEMES: [(ThemePreference, &str); 3] =
    [(ThemePreference::System, "as the desktop"), (ThemePreference::Light, "light"), (ThemePreference::Dark, "dark")];

impl Choices {
    /// Reads them; what is not there, or cannot be read, is as on the first day.
    pub fn read(data: Option<&Path>) -> Self {
        let text = data.and_then(|d| std::fs::read_to_string(file(d)).ok()).unwrap_or_default();
        let entries = Entries::of(&text);
        let word = |key: &str| match entries.entry(key) {
            Some(Entry::Text(word)) => word,
            _ => String::new(),
        };
        let (units, theme) = (word("units"), word("theme"));
        Self {
            units: UNITS.iter().find(|(_, w)| *w == units).map_or(Units::Si, |(u, _)| *u),
            theme: THEMES.iter().find(|(_, w)| *w == theme).map_or(ThemePreference::System, |(t, _)| *t),
        }
    }

    /// Writes them. That they cannot be written is no reason to trouble anybody.
    pub fn write(self, data: &Path) {
        let units = UNITS.iter().find(|(u, _)| *u == self.units).map_or("", |(_, w)| w);
        let theme = THEMES.iter().find(|(t, _)| *t == self.theme).map_or("", |(_, w)| w);
        if std::fs::create_dir_all(data).is_ok() {
            let text = format!("units = \"{units}\"\ntheme = \"{theme}\"\n");
            let _ = files::write("choices", &file(data), text.as_bytes());
        }
    }
}

fn file(data: &Path) -> PathBuf {
    data.join("choices.toml")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_are_kept_and_a_broken_file_is_none() {
        let data = tempfile::tempdir().unwrap();
        let first = Choices::read(Some(data.path()));
        assert_eq!(first, Choices { units: Units::Si, theme: ThemePreference::System });
        let chosen = Choices { units: Units::UsCustomary, theme: ThemePreference::Dark };
        chosen.write(data.path());
        assert_eq!(Choices::read(Some(data.path())), chosen);
        std::fs::write(file(data.path()), "units = [").unwrap();
        assert_eq!(Choices::read(Some(data.path())), first);
        assert_eq!(Choices::read(None), first);
    }
}
