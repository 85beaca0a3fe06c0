//! Outputs that cannot be written, or would be written over an input; several sheets of which some are bad.

use super::{refused, untouched};
use crate::support::laid_out::{LaidOut, sheet_for};
use std::io::Read;
use std::process::{Command, Stdio};

#[test]
fn stations_are_never_written_over_an_input() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    for (out, says) in [("run.toml", "names a sheet"), ("./jet.png", "names a photo of a sheet")] {
        let told = untouched(&bench, &["measure", "run.toml", "--stations", out]);
        refused(&told, 2, &["--stations", says, "choose another file", out]);
    }
    // of two sheets the one with a fault guards its photo too
    bench.put("other.png", "kept").put("bad.toml", sheet_for("other.png").replace("12.5 mm", "-12.5 mm"));
    let told = untouched(&bench, &["measure", "run.toml", "bad.toml", "--stations", "other.png"]);
    refused(&told, 2, &["names a photo of a sheet", "other.png"]);
}

#[test]
fn stations_that_cannot_be_written_are_told_before_anything_is_measured() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    std::fs::create_dir(bench.path("out")).unwrap();
    for out in ["out", "gone/stations.csv"] {
        let told = untouched(&bench, &["measure", "run.toml", "--stations", out]);
        assert_eq!(told.status, 2, "{}", told.err);
        assert_eq!(told.out, "", "hours of a batch must not end in this");
        let said = told.err.contains("cannot write the stations") && told.err.contains(out);
        assert!(said, "{}", told.err);
    }
}

#[test]
fn one_bad_sheet_does_not_keep_the_others_from_being_measured() {
    let bench = LaidOut::new();
    let good = sheet_for("jet.png");
    bench.put_jet("first.toml").put("last.toml", good.replace("Plate B", "Plate E"));
    bench.put("bad.toml", good.replace("12.5 mm", "-12.5 mm"));
    let told = untouched(&bench, &["measure", "first.toml", "bad.toml", "last.toml", "gone.toml"]);
    assert_eq!(told.status, 2, "{}", told.err);
    let at = |text: &str| told.out.find(text).unwrap_or_else(|| panic!("no `{text}` in\n{}", told.out));
    assert!(at("Plate B, drawn (first.toml)") < at("Plate E, drawn (last.toml)"));
    assert!(!told.out.contains("(bad.toml)"), "no table of its own");
    assert!(at("Plate E, drawn (last.toml)") < at("bad.toml"), "the summary names it");
    assert!(told.err.contains("bad.toml: line 17") && told.err.contains("gone.toml"), "{}", told.err);
    let told = untouched(&bench, &["measure", "--json", "bad.toml", "first.toml"]);
    assert_eq!(told.status, 1, "{}", told.err);
    let all = trajet::report::json::read(&told.out).unwrap();
    assert!(told.out.starts_with('['), "several sheets asked for are an array");
    assert_eq!(all.iter().map(|f| f.sheet.as_str()).collect::<Vec<_>>(), ["bad.toml", "first.toml"]);
    assert!(all[0].refused[0].contains("line 17") && all[0].velocity.is_none(), "{:?}", all[0]);
    assert!(all[1].refused.is_empty() && all[1].velocity.is_some());
}

/// `trajet measure run.toml | head -c 0`
#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("trajet"))
        .args(["measure", "run.toml", "--json"])
        .current_dir(bench.path(""))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut err = String::new();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert!(child.wait().unwrap().success(), "{err}");
    assert!(!err.contains("panicked") && !err.contains("cannot write"), "{err}");
}
