//! What was written once opens for ever: findings and sheets of earlier formats, in `tests/kept`.

use crate::support::laid_out::LaidOut;
use trajet::report::json;

const FINDINGS_1: &str = include_str!("../../kept/findings-1.json");
const SHEET_1: &str = include_str!("../../kept/sheet-1.toml");

#[test]
fn findings_of_format_1_are_read_and_reported() {
    let found = json::read(FINDINGS_1).unwrap().pop().unwrap();
    let v = found.velocity.as_ref().unwrap();
    // what the file says, read off it by eye
    let told: serde_json::Value = serde_json::from_str(FINDINGS_1).unwrap();
    assert_eq!((v.value, v.unit.as_str()), (told["velocity"]["value"].as_f64().unwrap(), "m/s"));
    assert_eq!(found.stations.len(), told["stations"].as_array().unwrap().len());
    assert!(found.published.is_empty() && found.monte_carlo.is_none() && found.fitted.is_empty());
    let bench = LaidOut::new();
    bench.put("run11.json", FINDINGS_1);
    for out in ["run11.html", "run11.xlsx"] {
        let told = bench.run(&["report", "run11.json", "-o", out]);
        assert_eq!(told.status, 0, "{}", told.err);
        assert!(told.out.is_empty());
    }
    let page = String::from_utf8(bench.contents()["run11.html"].clone()).unwrap();
    for said in [
        "No photo was at hand when this record was made.",
        "The sheet was not at hand",
        &found.inputs["photo sha256"],
        &trajet::quantity::show(v.value, v.u, &v.unit),
    ] {
        assert!(page.contains(said), "{said}");
    }
    // the photo and the sheet are missing, and the user is told
    let told = bench.run(&["report", "run11.json"]);
    assert!(told.err.contains("the sheet is not beside the findings"), "{}", told.err);
    #[cfg(feature = "pdf")]
    assert_eq!(bench.run(&["report", "run11.json", "-o", "run11.pdf"]).status, 0);
}

#[test]
fn a_sheet_of_format_1_is_read_whole() {
    let opened = trajet::sheet::open(SHEET_1);
    assert_eq!(opened.faults, []);
    assert!(opened.notices.iter().all(|n| !n.says.contains("unknown key")), "{:?}", opened.notices);
    let sheet = opened.checked.unwrap();
    assert_eq!(
        (sheet.photos.as_slice(), sheet.plumb.is_some(), sheet.flow.is_some()),
        (["jet.png".to_owned()].as_slice(), true, true)
    );
}

/// Findings beside their sheet and photo give the record that measuring gives; beside others they say so.
#[test]
fn kept_findings_show_sheet_and_photo_where_they_are_still_the_same() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    assert_eq!(bench.run(&["report", "run.toml", "--into", "found"]).status, 0);
    let json = std::fs::read(bench.path("found/run.json")).unwrap();
    let measured = std::fs::read(bench.path("found/run.html")).unwrap();
    bench.put("kept.json", &json);
    let told = bench.run(&["report", "kept.json"]);
    assert_eq!((told.status, told.err.as_str()), (0, ""));
    assert!(bench.contents()["kept.html"] == measured, "the same record");
    bench.put("run.toml", "format = 1\n");
    let told = bench.run(&["report", "kept.json"]);
    assert!(told.status == 0 && told.err.contains("the sheet is not beside"), "{}", told.err);
    // what are no findings
    for (text, says) in [("{}", "no findings of a sheet"), ("photo", "no findings"), ("[]", "one sheet")] {
        bench.put("kept.json", text);
        let told = bench.run(&["report", "kept.json"]);
        assert!(told.status == 1 && told.err.contains(says), "{text}: {}", told.err);
    }
    let later = String::from_utf8(json).unwrap().replacen("\"format\": 1", "\"format\": 9", 1);
    bench.put("kept.json", later);
    assert!(bench.run(&["report", "kept.json"]).err.contains("format 9 is not known here"));
}
