//! The series' file: shared settings, differences, faults by file and line.

use trajet::sheet::series::{MOST_RUNS, read};
use trajet::sheet::{Edge, Flow, Launch};

const SHEET: &str = "format = 1\n[photo]\nfile = \"c-1.jpg\"\n[scale]\nmarks = [[10.0, 10.0], [900.0, 12.0]]\n\
                     length = \"500 mm ± 0.3 mm\"\n[orifice]\ncentre = [40.0, 50.0]\n[head]\nreading = \"250 mm\"\n";

const SERIES: &str = r#"format = 1
title = "Plate C"
sheets = ["c-1.toml"]
[shared]
orifice = { diameter = "10.00 mm ± 0.05 mm", edge = "rounded" }
head = { reading = "1 m", approach_area = "0.09 m^2" }
flow = { discharge = "0.2 L/s" }
[[run]]
name = "high"
sheet = "c-2.toml"
orifice = { edge = "sharp" }
head = { surface = [30.0, 5.0] }
flow = { timed = [{ volume = "10 L", time = "54.3 s" }] }
trajectory = { launch = "level" }
photo = { dry = "dry.jpg" }
"#;

#[test]
fn a_run_goes_before_its_sheet_and_that_before_what_is_shared() {
    let read = read(SERIES, "c.toml");
    assert!(read.notices.is_empty(), "{:?}", read.notices);
    let series = read.series.unwrap();
    assert_eq!(series.title, "Plate C");
    let names: Vec<_> = series.runs.iter().map(|r| (r.name.as_str(), r.sheet.as_deref().unwrap())).collect();
    assert_eq!(names, [("c-1", "c-1.toml"), ("high", "c-2.toml")]);

    let first = series.open_run(0, Some(SHEET));
    assert!(first.faults.is_empty(), "{:?}", first.faults);
    let sheet = first.opened.sheet;
    assert_eq!((sheet.edge, sheet.head.len()), (Some(Edge::Rounded), 1));
    assert!((sheet.head[0].value.value - 0.25).abs() < 1e-12, "the sheet's own head");
    assert!(sheet.approach_area.is_some() && matches!(sheet.flow, Some(Flow::Discharge(_))));
    assert!(!first.photos_by_series);

    let second = series.open_run(1, Some(SHEET));
    assert!(second.faults.is_empty(), "{:?}", second.faults);
    let sheet = &second.opened.sheet;
    assert_eq!((sheet.edge, sheet.launch), (Some(Edge::Sharp), Some(Launch::Level)));
    assert!(sheet.head.is_empty() && sheet.surface.is_some() && sheet.approach_area.is_some());
    assert!(matches!(sheet.flow, Some(Flow::Timed(_))));
    assert_eq!((sheet.photos[0].as_str(), sheet.dry.as_deref()), ("c-1.jpg", Some("dry.jpg")));
    assert!(!second.photos_by_series && second.dry_by_series);
}

#[test]
fn faults_are_told_in_the_file_and_line_where_they_stand() {
    let series = read(&SERIES.replace("0.2 L/s", "0.2 furlongs").replace("10 L\"", "10\""), "c.toml").series.unwrap();
    let sheet = SHEET.replace("500 mm ± 0.3 mm", "500");
    let first = series.open_run(0, Some(&sheet));
    let told: Vec<_> = first.faults.iter().map(|t| (t.in_series, t.fault.line, t.fault.about.as_str())).collect();
    assert_eq!(told, [(false, 6, "scale.length"), (true, 7, "flow.discharge")], "{:#?}", first.faults);
    assert!(first.opened.checked.is_none());
    let second = series.open_run(1, Some(&sheet));
    let told: Vec<_> = second.faults.iter().map(|t| (t.in_series, t.fault.line, t.fault.about.as_str())).collect();
    assert_eq!(told, [(false, 6, "scale.length"), (true, 13, "flow.timed[1].volume")], "{:#?}", second.faults);
    let column = SERIES.lines().nth(12).unwrap().find("\"10 L\"").unwrap() + 1;
    assert_eq!(second.faults[1].fault.column, column + 1, "at the number within the quotes");
}

#[test]
fn unknown_keys_are_told_with_the_nearest_known_one() {
    let text = "format = 1\nsheet = [\"a.toml\"]\nsheets = [\"b.toml\"]\n[orifice]\nedge = \"sharp\"\n[shared.orifice]\n\
                diametre = \"1 mm\"\n[[run]]\nsheet = \"d.toml\"\nheed = { reading = \"1 m\" }\n";
    let notices = read(text, "c.toml").notices;
    let told: Vec<_> = notices.iter().map(|n| (n.says.as_str(), n.hint.as_deref().unwrap_or(""))).collect();
    assert_eq!(
        told,
        [
            ("unknown key `sheet` in line 2, not used", "did you mean sheets?"),
            (
                "unknown key `orifice` in line 4, not used",
                "what all runs share stands under [shared], as [shared.orifice]"
            ),
            ("unknown key `diametre` in line 7, not used", "did you mean orifice.diameter?"),
            ("unknown section `heed` in line 10, not used", "did you mean head?"),
        ]
    );
}

#[test]
fn what_a_series_lists_wrongly_is_told_all_at_once() {
    let text = "sheets = [\"a.toml\", \"./c.toml\", \"b/../a.toml\", \"\", 4]\nshared = 3\n[[run]]\nname = 1\n";
    let faults = read(text, "c.toml").faults;
    let told: Vec<_> = faults.iter().map(|f| (f.line, f.says.as_str())).collect();
    assert_eq!(
        told,
        [
            (1, "a number where text belongs"),
            (2, "a number where a section belongs"),
            (4, "a number where text belongs"),
        ],
        "{faults:#?}"
    );
    let faults = read("sheets = [\"a.toml\", \"./c.toml\",\n\"b/../a.toml\", \"\"]\n", "c.toml").faults;
    let told: Vec<_> = faults.iter().map(|f| (f.line, f.column, f.says.as_str())).collect();
    assert_eq!(
        told,
        [
            (1, 21, "the series lists itself"),
            (2, 1, "b/../a.toml is listed twice, first in line 1"),
            (2, 16, "the sheet's name is empty"),
        ]
    );
}

#[test]
fn a_series_without_runs_with_too_many_or_without_sense_is_refused() {
    let says = |text: &str| read(text, "c.toml").faults.iter().map(|f| f.says.clone()).collect::<Vec<_>>();
    assert_eq!(says("format = 1\n"), ["the series has no runs"]);
    assert_eq!(says("format = 1\nsheets = []\n"), ["the series has no runs"]);
    let many: Vec<String> = (0..10_000).map(|i| format!("\"{i}.toml\"")).collect();
    let many = format!("sheets = [{}]\n", many.join(", "));
    assert_eq!(says(&many), [format!("10000 runs, and a series takes at most {MOST_RUNS}")]);
    assert!(says("sheets = [")[0].starts_with("not a TOML text"));
    assert_eq!(says("format = 2\nsheets = [\"a.toml\"]\n"), ["format 2 is not known here"]);
}

#[test]
fn a_series_within_a_series_and_a_sheet_that_is_no_toml_are_refused() {
    let series = read("sheets = [\"a.toml\"]\n", "c.toml").series.unwrap();
    let other = series.open_run(0, Some("format = 1\nsheets = [\"c.toml\"]\n"));
    assert_eq!(other.faults.len(), 1);
    assert_eq!((other.faults[0].fault.line, other.faults[0].fault.says.as_str()), (2, "this is a series, not a sheet"));
    let none = series.open_run(0, Some("\u{0}PNG"));
    assert!(none.faults[0].fault.says.starts_with("not a TOML text"));
    assert!(!series.open_run(7, None).faults.is_empty());
}
