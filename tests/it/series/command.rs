//! `trajet series` as a program.

use assert_cmd::Command;
use std::path::Path;

fn series(folder: &Path, text: &str) -> (i32, String, String) {
    std::fs::write(folder.join("c.toml"), text).unwrap();
    let out = Command::cargo_bin("trajet").unwrap().arg("series").arg(folder.join("c.toml")).output().unwrap();
    let told = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (out.status.code().unwrap(), told(&out.stdout), told(&out.stderr))
}

#[test]
fn missing_sheets_and_faulty_ones_are_told_together() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("b.toml"), "format = 1\n[orifice]\ndiameter = \"0 mm\"\n").unwrap();
    let (code, out, err) = series(folder.path(), "format = 1\nsheets = [\"a.toml\", \"b.toml\"]\n");
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("c.toml: line 2, column 11: sheets: cannot read the sheet: no such file"), "{err}");
    assert!(err.contains("b.toml: line 3") && err.contains("the orifice's diameter is zero"), "{err}");
}

#[cfg(unix)]
#[test]
fn a_series_that_lists_itself_through_a_link_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink("c.toml", folder.path().join("other.toml")).unwrap();
    let (code, _, err) = series(folder.path(), "format = 1\nsheets = [\"other.toml\"]\n");
    assert_eq!(code, 1);
    assert!(err.contains("the series lists itself"), "{err}");
}

#[test]
fn a_series_that_is_not_there_is_no_panic() {
    let folder = tempfile::tempdir().unwrap();
    let out = Command::cargo_bin("trajet").unwrap().arg("series").arg(folder.path().join("no.toml")).output().unwrap();
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("cannot read the series"));
}
