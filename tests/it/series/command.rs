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
    assert!(err.contains("b.toml: line 3") && err.contains("the diameter is zero"), "{err}");
}

/// A series that lists itself, a sheet twice, one that is not there, and one that says everything wrong: one answer.
#[test]
fn every_fault_of_a_series_and_its_sheets_is_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let flow = "format = 1\n[flow]\ndischarge = \"0 L/s\"\ntimed = [{ mass = \"5 kg\", time = \"0 s\" }]\n\
                running = [{ volume = \"2 L\", time = \"5 s\" }, { volume = \"1 L\", time = \"6 s\" }]\n";
    std::fs::write(folder.path().join("flow.toml"), flow).unwrap();
    let sheets = "sheets = [\"c.toml\", \"missing.toml\", \"flow.toml\", \"./flow.toml\"]";
    let (code, out, err) = series(folder.path(), &format!("format = 1\n{sheets}\n"));
    assert_eq!((code, out.as_str()), (2, ""));
    for says in [
        "c.toml: line 2, column 11: sheets: the series lists itself",
        "./flow.toml is listed twice",
        "cannot read the sheet: no such file",
        "flow.toml: line 2, column 1: flow: the flow is stated in more than one way",
        "the discharge is zero",
        "flow.timed[1].time: the time is zero",
        "the water was weighed, and its volume needs its temperature",
        "the volume does not rise",
    ] {
        assert_eq!(err.matches(says).count(), 1, "{says}\n{err}");
    }
}

/// Ten thousand runs are one line, told before any sheet is opened.
#[test]
fn a_series_of_ten_thousand_runs_is_refused_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let sheets: Vec<String> = (0..10_000).map(|i| format!("\"r{i}.toml\"")).collect();
    let (code, _, err) = series(folder.path(), &format!("format = 1\nsheets = [{}]\n", sheets.join(", ")));
    assert_eq!(code, 1);
    assert_eq!(err.lines().count(), 2, "{err}");
    assert!(err.contains("10000 runs, and a series takes at most 1000"), "{err}");
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

/// What a run's inputs contribute, with sign, adds up to the uncertainty of its results: a series of one run pools to that run's own value and uncertainty.
#[test]
fn a_series_of_one_run_gives_that_run_back() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/plate-c-run2.toml");
    let text = format!("format = 1\ntitle = \"Plate C\"\nsheets = [{:?}]\n", sheet.display().to_string());
    std::fs::write(folder.path().join("c.toml"), text).unwrap();
    let mut command = Command::cargo_bin("trajet").unwrap();
    let out = command.args(["series", "--json", "--jobs", "1"]).arg(folder.path().join("c.toml")).output().unwrap();
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    let told: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    for key in ["cv", "cd", "cc"] {
        for number in ["value", "u"] {
            let of = |v: &serde_json::Value| v[number].as_f64().unwrap_or_else(|| panic!("{key} {number}: {told:#}"));
            let (run, pooled) = (of(&told["runs"][0][key]), of(&told["pooled"][key]));
            assert!((pooled / run - 1.0).abs() < 1e-6, "{key} {number}: {run} {pooled}");
        }
    }
    assert!(told["head_line"].is_null() && told["exponent"].is_null());
    assert!(String::from_utf8_lossy(&out.stderr).contains("nothing to compare it with"));
}

/// `trajet report` sees by its content that a file is a series, and writes page, workbook and figures.
#[test]
fn a_series_is_reported() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/plate-c-run2.toml");
    let text = format!("format = 1\ntitle = \"Plate C\"\nsheets = [{:?}]\n", sheet.display().to_string());
    std::fs::write(folder.path().join("c.toml"), text).unwrap();
    let run = |args: &[&str]| {
        let out = Command::cargo_bin("trajet").unwrap().current_dir(folder.path()).args(args).output().unwrap();
        assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    };
    run(&["report", "c.toml", "--figures", "figures", "--quiet"]);
    run(&["report", "c.toml", "-o", "c.xlsx", "--quiet"]);
    let page = std::fs::read_to_string(folder.path().join("c.html")).unwrap();
    assert!(page.contains("Record of a series of jet measurements") && page.contains("series sha256"));
    assert!(folder.path().join("figures/c-cd-head.svg").exists());
    assert!(std::fs::read(folder.path().join("c.xlsx")).unwrap().starts_with(b"PK"));
}
