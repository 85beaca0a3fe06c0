//! What a TOML file is, before it is read as that.

use super::file::tree;

/// What a text can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A sheet: it speaks of a photo or an orifice.
    Sheet,
    /// A series: it lists sheets, or runs.
    Series,
    /// TOML of another kind.
    Other,
    /// No TOML.
    Unreadable,
}

/// Top-level keys that only a series has.
pub(super) const OF_SERIES: [&str; 3] = ["sheets", "shared", "run"];
/// Sections that no sheet lacks; one is enough, for the other may be misspelt.
const OF_SHEET: [&str; 2] = ["photo", "orifice"];

/// Tells a sheet from a series by their top-level keys.
pub fn what_is(text: &str) -> What {
    let Ok(root) = tree::parse(text) else { return What::Unreadable };
    let has = |keys: &[&str]| root.as_table().is_some_and(|t| t.entries.iter().any(|e| keys.contains(&e.key.as_str())));
    if has(&OF_SERIES) {
        What::Series
    } else if has(&OF_SHEET) {
        What::Sheet
    } else {
        What::Other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_is_told() {
        assert_eq!(what_is("format = 1\n[photo]\nfile = \"a.jpg\""), What::Sheet);
        assert_eq!(what_is("[foto]\nfile = \"a.jpg\"\n[orifice]\n"), What::Sheet);
        assert_eq!(what_is("sheets = [\"a.toml\"]\n[shared]\norifice = {}"), What::Series);
        assert_eq!(what_is("[[run]]\nphoto = { file = \"a.jpg\" }"), What::Series);
        assert_eq!(what_is("[package]\nname = \"x\""), What::Other);
        assert_eq!(what_is("format = = 1"), What::Unreadable);
    }
}
