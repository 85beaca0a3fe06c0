//! A card in a sheet: what is refused, what is assumed, and the way to a result.

use crate::support::carded::Carded;
use crate::support::drawn::Drawn;
use crate::support::laid_out::{LaidOut, sheet_for};
use trajet::sheet::{Fault, open};

const SHEET: &str = "format = 1\n[photo]\nfile = \"c.jpg\"\n[card]\npaper = \"A4\"\ncheck_line = \"99.7 mm ± 0.1 mm\"\n\
    behind_jet = \"0 mm ± 1 mm\"\nmarks = [{ number = 3, px = [10, 20] }, { number = 4, px = [40, 20] }, { number = 9, px = [10, 50] }]\n\
    [vertical]\nplumb = [[1, 2], [1, 900]]\n[orifice]\ncentre = [5, 6]\ndiameter = \"12 mm ± 0.02 mm\"\nedge = \"sharp\"\n";

#[test]
fn what_is_wrong_with_a_card_is_told() {
    assert_eq!(open(SHEET).faults, []);
    for (from, to, about, says) in [
        ("paper = \"A4\"\n", "", "card.paper", "the card's paper is missing"),
        ("\"A4\"", "\"A5\"", "card.paper", "`A5` is none of the words known here"),
        ("99.7 mm", "9.97 mm", "card.check_line", "a check line of 9.97 mm is none"),
        ("number = 9", "number = 43", "card.marks[3].number", "the card of paper A4 has no mark 43"),
        ("number = 9", "number = 4", "card.marks[3].number", "mark 4 is named twice"),
        ("number = 9", "number = 0", "card.marks[3].number", "0 is no number of a mark"),
        ("number = 9, ", "", "card.marks[3]", "a mark of the card needs both number and px"),
        (", { number = 9, px = [10, 50] }", "", "card.marks", "2 marks of the card, at least 3 are needed"),
        ("px = [10, 50]", "px = [-10, 50]", "card.marks[3].px", "the mark at (-10, 50) lies outside the photo"),
    ] {
        let opened = open(&SHEET.replacen(from, to, 1));
        let told: Vec<(&str, &str)> =
            opened.faults.iter().map(|f: &Fault| (f.about.as_str(), f.says.as_str())).collect();
        assert_eq!(told, [(about, says)], "{to}");
        assert!(opened.faults[0].hint.is_some() && opened.checked.is_none());
    }
    let hint = open(&SHEET.replace("check_line", "check-line")).notices;
    assert!(hint.iter().any(|n| n.hint.as_deref() == Some("did you mean card.check_line?")), "{hint:?}");
}

#[test]
fn a_print_that_nobody_measured_is_told() {
    let opened = open(&SHEET.replace("check_line = \"99.7 mm ± 0.1 mm\"\n", ""));
    let notice = opened.notices.iter().find(|n| n.about == "card.check_line").unwrap();
    assert_eq!(notice.says, "nobody says what check line A of the card measures: 100 mm ± 1 mm assumed");
}

/// A drawn jet with a rendered card beside it, seen squarely at the same 2 px/mm.
fn bench(card: &Carded) -> LaidOut {
    let bench = LaidOut::new();
    let scene = card.painted();
    bench.put_photo("jet.png", &Drawn::default().photo_with(|p, grey| scene(p).unwrap_or(grey)));
    bench
}

fn card() -> Carded {
    Carded { size: (1200, 900), px_per_mm: 2.0, middle: [240.0, 592.0], roll: 1.0, ..Carded::default() }
}

fn value(json: &serde_json::Value, of: &str) -> (f64, f64) {
    (json[of]["value"].as_f64().unwrap(), json[of]["u"].as_f64().unwrap())
}

/// From the photo alone to the velocity: the starter sheet has the card, and what it gives is the drawn jet's.
#[test]
fn a_photo_with_a_card_needs_no_ruler() {
    let bench = bench(&card());
    assert_eq!(bench.run(&["new", "jet.png"]).status, 0);
    let text = std::fs::read_to_string(bench.path("jet.toml")).unwrap();
    assert!(text.contains("[card]\npaper = \"A4\"\n") && text.contains("with 42 of its marks"), "{text}");
    let filled = [
        ("# check_line = \"99.7 mm ± 0.1 mm\"", "check_line = \"100 mm ± 0.1 mm\""),
        ("# behind_jet = \"0 mm ± 1 mm\"", "behind_jet = \"0 mm ± 0.5 mm\""),
        ("# plumb = [[402.0, 210.0], [415.5, 2710.0]]", "plumb = [[50.0, 50.0], [50.0, 850.0]]"),
        ("# centre = [812.4, 630.9]", "centre = [100.0, 120.0]"),
        ("# diameter = \"12.00 mm ± 0.02 mm\"", "diameter = \"12.50 mm ± 0.02 mm\""),
        ("# reading = \"412 mm ± 0.5 mm\"", "reading = \"238.9 mm ± 0.5 mm\""),
        ("[site]", "[site]\ngravity = \"9.81 m/s^2 ± 0.0005 m/s^2\""),
    ];
    let text = filled.iter().fold(text, |text, (from, to)| {
        assert!(text.contains(from), "{from}\n{text}");
        text.replacen(from, to, 1)
    });
    bench.put("jet.toml", &text);
    let told = bench.run(&["measure", "jet.toml", "--json"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let found: serde_json::Value = serde_json::from_str(&told.out).unwrap();
    let (v, u) = value(&found, "velocity");
    assert!((v - 2.1).abs() < 2.0 * u && u < 0.02, "{v} ± {u}");
    let inputs: Vec<&str> =
        found["budget"]["velocity"].as_array().unwrap().iter().map(|r| r["input"].as_str().unwrap()).collect();
    assert!(inputs.contains(&"card.check_line") && inputs.contains(&"card.marks"), "{inputs:?}");

    // left out, the marks are found when it is measured, and the same comes out
    let (head, rest) = text.split_once("marks = [\n").unwrap();
    bench.put("found.toml", format!("{head}{}", rest.split_once("]\n").unwrap().1.trim_start_matches(|c| c != '\n')));
    let again = bench.run(&["measure", "found.toml", "--json"]);
    assert_eq!(again.status, 0, "{}", again.err);
    assert!(again.err.contains("42 of the card's marks are found in the photo"), "{}", again.err);
    let again: serde_json::Value = serde_json::from_str(&again.out).unwrap();
    assert!((value(&again, "velocity").0 - v).abs() < 0.2 * u, "{again}");

    // and the findings and the record tell which
    for (json, is_found) in [(&found, false), (&again, true)] {
        let marks = json["card"]["marks"].as_array().unwrap();
        assert_eq!((marks.len(), &json["card"]["paper"], &json["card"]["found"]), (42, &"A4".into(), &is_found.into()));
        let off = |m: &serde_json::Value| m["off_px"][0].as_f64().unwrap().hypot(m["off_px"][1].as_f64().unwrap());
        assert!(marks.iter().all(|m| off(m) < 0.3), "{marks:?}");
    }
    assert_eq!(bench.run(&["report", "found.toml", "-o", "found.html"]).status, 0);
    let record = std::fs::read_to_string(bench.path("found.html")).unwrap();
    for text in ["42 marks of the A4 scale card found in the photo", "found, its mark 42", "Close-up of the scale card"]
    {
        assert!(record.contains(text), "{text}");
    }
}

#[test]
fn an_upright_card_is_no_plumb_line_and_its_marks_are_named() {
    let bench = bench(&card());
    let scale = sheet_for("jet.png").split_once("[scale]").unwrap().1.split_once("[vertical]").unwrap().0.to_owned();
    let sheet = sheet_for("jet.png").replace(&format!("[scale]{scale}"), "[card]\npaper = \"A4\"\n");
    let (before, rest) = sheet.split_once("[vertical]").unwrap();
    let after = rest.split_once("\n[").unwrap().1;
    bench.put("upright.toml", format!("{before}[{after}"));
    let told = bench.run(&["measure", "upright.toml"]);
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(told.err.contains("that the scale card stands upright is not taken for granted"), "{}", told.err);
    // three columns of marks as a mirror shows them: no camera sees them so
    let card = trajet::card::Card::new(trajet::card::Paper::A4);
    let mirrored = |m: &trajet::card::CodedMark| {
        let [x, y] = [600.0 - 2.0 * m.centre_mm[0], 300.0 + 2.0 * m.centre_mm[1]];
        format!("{{ number = {}, px = [{x}, {y}] }}", m.number)
    };
    let marks: Vec<String> = card.marks.iter().map(mirrored).collect();
    let stated = format!("paper = \"A4\"\nmarks = [{}]\n", marks.join(", "));
    bench.put("mirrored.toml", sheet.replace("paper = \"A4\"\n", &stated));
    let told = bench.run(&["measure", "mirrored.toml"]);
    assert!(told.status == 1 && told.err.contains("card.marks"), "{}", told.err);
}

#[test]
fn a_mark_that_was_moved_is_named_by_its_number() {
    let bench = bench(&card());
    assert_eq!(bench.run(&["new", "jet.png"]).status, 0);
    let text = std::fs::read_to_string(bench.path("jet.toml")).unwrap();
    let line = text.lines().find(|l| l.contains("number = 17,")).unwrap();
    let (before, px) = line.split_once("px = [").unwrap();
    let (x, after) = px.split_once(',').unwrap();
    let moved = format!("{before}px = [{},{after}", x.parse::<f64>().unwrap() + 3.0);
    let card = text.replacen(line, &moved, 1);
    let card = card.split_once("[card]\n").unwrap().1.split_once("[vertical]").unwrap().0;
    let sheet = sheet_for("jet.png");
    let scale = sheet.split_once("[scale]").unwrap().1.split_once("[vertical]").unwrap().0;
    bench.put("moved.toml", sheet.replace(&format!("[scale]{scale}"), &format!("[card]\n{card}")));
    let told = bench.run(&["measure", "moved.toml"]);
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(told.err.contains("mark 17 of the card lies 3.0 px from where the other marks put it"), "{}", told.err);
}

#[test]
fn a_card_that_is_not_there_is_refused() {
    let bench = LaidOut::new();
    bench.put_jet("jet.toml");
    let sheet = sheet_for("jet.png");
    bench.put("card.toml", format!("{sheet}\n[card]\npaper = \"A3\"\n"));
    let told = bench.run(&["measure", "card.toml"]);
    assert_eq!(told.status, 1);
    assert!(told.err.contains("card.paper: no A3 scale card is found in the photo"), "{}", told.err);
}
