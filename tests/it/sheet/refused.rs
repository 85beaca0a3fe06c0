//! What is refused, with line, column and words.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use trajet::sheet::{Fault, open};

use super::full::FULL;

/// A sheet of one pair of marks, without a fault.
pub const SMALL: &str = r#"format = 1
[photo]
file = "c.jpg"
[scale]
marks = [[1020.0, 310.5], [3350.2, 322.8]]
length = "500 mm ± 0.3 mm"
[orifice]
centre = [812.4, 630.9]
diameter = "12.00 mm ± 0.02 mm"
[head]
reading = "412 mm ± 0.5 mm"
"#;

/// The faults of [`SMALL`] with `from` replaced by `to`, each as its whole text.
fn faults(from: &str, to: &str) -> Vec<String> {
    assert!(SMALL.contains(from), "{from}");
    let opened = open(&SMALL.replacen(from, to, 1));
    assert_eq!(opened.checked.is_none(), !opened.faults.is_empty());
    opened.faults.iter().map(Fault::to_string).collect()
}

#[test]
fn a_fault_tells_line_column_what_stands_there_and_what_to_write() {
    let table: &[(&str, &str, &str)] = &[
        (
            "\"12.00 mm ± 0.02 mm\"",
            "\"12.00\"",
            "line 9, column 13: orifice.diameter: 12.00 has no unit, found `\"12.00\"`\n  hint: units of length: m, mm, cm, um, in, ft, yd",
        ),
        (
            "\"12.00 mm ± 0.02 mm\"",
            "12",
            "line 9, column 12: orifice.diameter: a bare number where a length with its unit belongs, found `12`\n  hint: write it as text, as in \"12 mm\"",
        ),
        (
            "\"12.00 mm ± 0.02 mm\"",
            "\"12,00 mm\"",
            "line 9, column 13: orifice.diameter: `12,00` has a comma, which some read as a decimal point and some not, found `\"12,00 mm\"`\n  hint: write 12.00",
        ),
        (
            "\"12.00 mm ± 0.02 mm\"",
            "\"12.00 mm ± 0.02 s\"",
            "line 9, column 29: orifice.diameter: `s` is a unit of time, not of length, found `\"12.00 mm ± 0.02 s\"`\n  hint: units of length: m, mm, cm, um, in, ft, yd",
        ),
        (
            "\"12.00 mm ± 0.02 mm\"",
            "\"-12 mm\"",
            "line 9, column 12: orifice.diameter: the diameter is negative, found `\"-12 mm\"`\n  hint: give a value above zero",
        ),
        (
            "\"12.00 mm ± 0.02 mm\"",
            "\"12 mm ± 13 mm\"",
            "line 9, column 12: orifice.diameter: the diameter is less than its own uncertainty, found `\"12 mm ± 13 mm\"`\n  hint: ± takes a standard uncertainty",
        ),
        (
            "diameter = \"12.00 mm ± 0.02 mm\"",
            "",
            "line 7, column 1: orifice.diameter: the orifice's diameter is not stated\n  hint: as in diameter = \"12.00 mm ± 0.02 mm\" under [orifice]",
        ),
        (
            "[812.4, 630.9]",
            "[812.4]",
            "line 8, column 10: orifice.centre: a point has two numbers, x and y, not 1, found `[812.4]`\n  hint: as in [812.4, 630.9]",
        ),
        (
            "[812.4, 630.9]",
            "[812.4, nan]",
            "line 8, column 18: orifice.centre[2]: NaN is not a finite number, found `nan`",
        ),
        (
            "[812.4, 630.9]",
            "\"there\"",
            "line 8, column 10: orifice.centre: text where a list belongs, found `\"there\"`\n  hint: as in [812.4, 630.9]",
        ),
        (
            "[812.4, 630.9]",
            "[-3.0, 630.9]",
            "line 8, column 10: orifice.centre: the mark at (-3, 630.9) lies outside the photo, found `[-3.0, 630.9]`\n  hint: pixel coordinates count from the top-left corner and are never negative",
        ),
        (
            "\"412 mm ± 0.5 mm\"",
            "\"0 mm\"",
            "line 11, column 11: head.reading: the head is zero, found `\"0 mm\"`\n  hint: give a value above zero",
        ),
        (
            "\"412 mm ± 0.5 mm\"",
            "[\"3 mm\", \"2 mm\", \"1 mm\"]",
            "line 11, column 11: head.reading: 3 head readings, at most two are taken: the start's and the end's, found `[\"3 mm\", \"2 mm\", \"1 mm\"]`\n  hint: as in reading = [\"412 mm\", \"410 mm\"]",
        ),
        (
            "[[1020.0, 310.5], [3350.2, 322.8]]",
            "[[1020.0, 310.5], [1020.0, 310.5]]",
            "line 5, column 9: scale.marks: the two scale marks are the same point, found `[[1020.0, 310.5], [1020.0, 310.5]]`\n  hint: mark two graduations far apart",
        ),
        (
            "[[1020.0, 310.5], [3350.2, 322.8]]",
            "[[1020.0, 310.5], [1023.0, 310.5]]",
            "line 5, column 9: scale.marks: the two scale marks are only 3 px apart, found `[[1020.0, 310.5], [1023.0, 310.5]]`\n  hint: mark two graduations far apart",
        ),
        (
            "[[1020.0, 310.5], [3350.2, 322.8]]",
            "[1020.0, 310.5]",
            "line 5, column 9: scale.marks: a list of numbers where a list of points belongs, found `[1020.0, 310.5]`\n  hint: put each point in brackets of its own, as in [[402.0, 210.0], [415.5, 2710.0]]",
        ),
        (
            "[[1020.0, 310.5], [3350.2, 322.8]]",
            "[[1020.0, 310.5]]",
            "line 5, column 9: scale.marks: two points are needed, not 1, found `[[1020.0, 310.5]]`\n  hint: as in [[402.0, 210.0], [415.5, 2710.0]]",
        ),
        (
            "length = \"500 mm ± 0.3 mm\"",
            "",
            "line 4, column 1: scale.length: two scale marks without the length between them\n  hint: as in length = \"500 mm ± 0.3 mm\"",
        ),
        (
            "\"c.jpg\"",
            "3",
            "line 3, column 8: photo.file: a number where text belongs, found `3`\n  hint: as in \"c-run2.jpg\"",
        ),
        (
            "file = \"c.jpg\"",
            "",
            "line 2, column 1: photo.file: no photo is named\n  hint: as in file = \"c-run2.jpg\" under [photo]",
        ),
        (
            "format = 1",
            "format = 2",
            "line 1, column 10: format: format 2 is not known here, found `2`\n  hint: this version reads format = 1",
        ),
        (
            "[orifice]",
            "[orifice",
            "line 7, column 9: not a TOML text: unclosed table, expected `]`\n  hint: text stands in \"quotes\", lists in [ ], sections under [names]",
        ),
        (
            "[photo]\nfile = \"c.jpg\"",
            "photo = \"c.jpg\"",
            "line 2, column 9: photo: text where a section belongs, found `\"c.jpg\"`\n  hint: write [photo] and its keys below",
        ),
    ];
    for (from, to, expected) in table {
        assert_eq!(faults(from, to), [*expected], "{to}");
    }
}

/// What is added to [`SMALL`], and a part of each fault that it must give.
#[test]
fn what_cannot_be_is_refused() {
    let table: &[(&str, &[&str])] = &[
        ("[stream]\nlevel = 1.5", &["line 13, column 9: stream.level: the level is outside 0 to 1, found `1.5`"]),
        ("[stream]\nlevel = \"high\"", &["a level is `auto` or a number from 0 to 1"]),
        (
            "[stream]\ntone = \"grey\"",
            &[
                "stream.tone: `grey` is none of the words known here, found `\"grey\"`\n  hint: one of bright, dark, either",
            ],
        ),
        ("[stream]\nlook_in = [[1, 2], [3, 4]]", &["stream.look_in: an area needs three points or more, not 2"]),
        ("[stream]\nleave_out = [[1, 2], [3, 4], [5, 9]]", &["in one more pair of brackets"]),
        (
            "[stream]\nleave_out = [[[1, 2], [3, 4]]]",
            &["stream.leave_out[1]: an area needs three points or more, not 2"],
        ),
        ("[stream]\nuntil = \"-3 mm\"", &["the last x to use is negative"]),
        ("[trajectory]\nlaunch = \"steep\"", &["`steep` is no launch"]),
        ("[trajectory]\nlaunch = \"95 deg\"", &["a right angle or more"]),
        ("[trajectory]\ncorrections = [\"wind\"]", &["trajectory.corrections[1]: `wind` is none of the words"]),
        ("[vertical]\nplumb = [[5.0, 5.0], [5.0, 6.0]]", &["the two marks of the plumb line are only 1 px apart"]),
        ("[vertical]\nplumb = [[5.0, 5.0], [500.0, 5.0]]", &["does not tell which way is down"]),
        ("[lens]\nstraight = [[[1, 2], [300, 4]]]", &["lens.straight[1]: a straight edge with 2 points tells nothing"]),
        ("[lens]\nk1 = 7", &["beyond 1 is no photo"]),
        ("[camera]\ndistance = \"0 m\"", &["the camera's distance is zero"]),
        ("[site]\nlatitude = \"91 deg\"", &["outside -90 deg to 90 deg"]),
        ("[site]\ngravity = \"9.8 cm/s^2\"", &["not the gravity of the Earth's surface"]),
        ("[site]\naltitude = \"40 km\"", &["`km` is not a unit of length"]),
        ("[water]\ntemperature = \"180 degC\"", &["not liquid"]),
        ("[plane]\nmarks = []", &["the plane has 0 marks, at least four are needed"]),
        ("[plane]\nmarks = [{ px = [1, 2], at = [\"0 mm\"] }]", &["two bench coordinates, not 1"]),
        ("[plane]\nmarks = [{ px = [1, 2] }]", &["a mark here needs both px and at"]),
        (
            "[plane]\nmarks = [{ px = [0, 0], at = [\"0 mm\", \"0 mm\"] }, { px = [100, 0], at = [\"1 mm\", \"0 mm\"] }, \
             { px = [200, 0], at = [\"2 mm\", \"0 mm\"] }, { px = [200, 300], at = [\"2 mm\", \"3 mm\"] }]",
            &["the marks lie on one line in the photo, or too many of them do"],
        ),
        ("[flow]\ntimed = []", &["no filling is listed"]),
        ("[flow]\ntimed = [{ volume = \"1 L\" }]", &["flow.timed[1].time: a filling without its time"]),
        ("[flow]\ntimed = [{ time = \"1 s\" }]", &["a filling without volume or mass"]),
        ("[flow]\ntimed = [{ volume = \"1 L\", mass = \"1 kg\", time = \"1 s\" }]", &["both a volume and a mass"]),
        (
            "[flow]\ntimed = [{ mass = \"1 kg\", time = \"9 s\" }]",
            &["water.temperature: the water was weighed, and its volume needs its temperature"],
        ),
        ("[flow]\ntimed = [{ volume = \"1 L\", time = \"0 s\" }]", &["flow.timed[1].time: the time is zero"]),
        ("[flow]\ntimed = [{ volume = \"0 L\", time = \"-1 s\" }]", &["the volume is zero", "the time is negative"]),
        (
            "[flow]\nrunning = [{ volume = \"2 L\", time = \"6 s\" }, { volume = \"1 L\", time = \"5 s\" }]",
            &["flow.running[2].volume: the volume does not rise", "flow.running[2].time: the time does not rise"],
        ),
        ("[flow]\nrunning = [{ volume = \"2 L\", time = \"6 s\" }]", &["needs two marks or more, not 1"]),
        (
            "[water]\ntemperature = \"18 degC\"\n[flow]\nrunning = [{ volume = \"2 L\", time = \"6 s\" }, { mass = \"3 kg\", time = \"9 s\" }]",
            &["mixes volumes and masses"],
        ),
        (
            "[flow]\ndischarge = \"1 L/s\"\ntimed = [{ volume = \"1 L\", time = \"6 s\" }]",
            &["line 12, column 1: flow: the flow is stated in more than one way"],
        ),
        (
            "[water]\ntemperature = \"18 degC\"\n[flow]\ntimed = [{ volume = \"1 L\", time = \"6 s\" }, { mass = \"1 kg\", time = \"6 s\" }]",
            &["flow.timed: 1 of 2 fillings are weighed, the others are volumes"],
        ),
        (
            "[flow]\ndischarge = \"0 L/s\"\ntimed = [{ mass = \"1 kg\", time = \"0 s\" }]\n\
             running = [{ volume = \"2 L\", time = \"5 s\" }, { volume = \"1 L\", time = \"6 s\" }]",
            &[
                "the flow is stated in more than one way",
                "the discharge is zero",
                "flow.timed[1].time: the time is zero",
                "the water was weighed",
                "flow.running[2].volume: the volume does not rise",
            ],
        ),
        ("[flow]\ndischarge = \"0 L/s\"", &["the discharge is zero"]),
    ];
    for (addition, expected) in table {
        let opened = open(&format!("{SMALL}{addition}\n"));
        let told: Vec<_> = opened.faults.iter().map(Fault::to_string).collect();
        assert_eq!(told.len(), expected.len(), "{addition}: {told:#?}");
        for part in *expected {
            assert!(told.iter().any(|fault| fault.contains(part)), "{addition}: {told:#?}");
        }
        assert!(opened.checked.is_none());
    }
}

#[test]
fn rulers_are_read_in_order() {
    let ruler = |marks: &str| {
        let text =
            SMALL.replace("[[1020.0, 310.5], [3350.2, 322.8]]", marks).replace("length = \"500 mm ± 0.3 mm\"", "");
        open(&text).faults.iter().map(Fault::to_string).collect::<Vec<_>>().join("|")
    };
    let a = "{ px = [100, 10], at = \"0 mm\" }";
    assert_eq!(
        ruler(&format!("[{a}, {{ px = [400, 12], at = \"30 mm\" }}, {{ px = [200, 11], at = \"10 mm\" }}]")),
        ""
    );
    for (marks, part) in [
        (format!("[{a}]"), "a ruler needs two readings or more, not 1"),
        (format!("[{a}, {{ px = [104, 10], at = \"1 mm\" }}]"), "first and last reading are only 4 px apart"),
        (format!("[{a}, {{ px = [300, 10], at = \"0 mm\" }}]"), "0 mm is read at two places"),
        (
            format!(
                "[{a}, {{ px = [300, 10], at = \"10 mm\" }}, {{ px = [200, 10], at = \"20 mm\" }}, {{ px = [500, 10], at = \"30 mm\" }}]"
            ),
            "10 mm and 20 mm stand in the wrong order",
        ),
        (format!("[{a}, [300, 10]]"), "scale.marks[1]: a table where a list belongs"),
    ] {
        assert!(ruler(&marks).contains(part), "{marks}: {}", ruler(&marks));
    }
}

#[test]
fn all_faults_are_told_at_once_and_each_once() {
    let text = r#"format = 1
[photo]
file = 7
[[scale]]
marks = [[1.0, 2.0], [1.0, 2.0]]
length = "-5 mm"
[[scale]]
marks = [[1.0, 2.0], [1.0, 3.0]]
length = "5 l"
behind_jet = "4"
[orifice]
diameter = "12"
[head]
reading = "zero"
[flow]
timed = [ { volume = "1 gal", time = "5 s" }, { volume = "-1 L", time = "0 s" } ]
"#;
    let told: Vec<_> = open(text).faults.iter().map(|f| format!("{}:{} {}", f.line, f.column, f.about)).collect();
    assert_eq!(
        told,
        [
            "3:8 photo.file",
            "5:9 scale[1].marks",
            "6:10 scale[1].length",
            "8:9 scale[2].marks",
            "9:13 scale[2].length",
            "10:15 scale[2].behind_jet",
            "11:1 orifice.centre",
            "12:13 orifice.diameter",
            "14:12 head.reading",
            "16:25 flow.timed[1].volume",
            "16:58 flow.timed[2].volume",
            "16:73 flow.timed[2].time",
        ]
    );
    let empty: Vec<_> = open("").faults.iter().map(|f| f.about.clone()).collect();
    assert_eq!(empty, ["photo.file", "scale", "orifice.centre", "orifice.diameter"]);
}

#[test]
fn unknown_keys_are_notices_with_the_nearest_key() {
    let text = format!("{SMALL}[orifce]\nedge = \"sharp\"\n[water]\ntemprature = \"20 degC\"\nzzz = 1\n");
    let opened = open(&text);
    assert!(opened.checked.is_some(), "an unknown key stops nothing");
    let unknown: Vec<_> = opened.notices.iter().filter(|n| n.says.starts_with("unknown")).collect();
    let told: Vec<_> = unknown.iter().map(|n| (n.about.as_str(), n.says.as_str(), n.hint.as_deref())).collect();
    assert_eq!(
        told,
        [
            ("orifce", "unknown section `orifce` in line 12, not used", Some("did you mean orifice?")),
            (
                "water.temprature",
                "unknown key `temprature` in line 15, not used",
                Some("did you mean water.temperature?")
            ),
            ("water.zzz", "unknown key `zzz` in line 16, not used", None),
        ]
    );
}

/// A sheet with a few bytes changed, cut or doubled.
fn mangled() -> impl Strategy<Value = String> {
    let edit = (any::<prop::sample::Index>(), 0..40usize, "[-+0-9.,e\\[\\]{}=\"#'a-z \n±]{0,6}");
    (prop::sample::select(vec![FULL, SMALL]), prop::collection::vec(edit, 1..6)).prop_map(|(text, edits)| {
        let mut chars: Vec<char> = text.chars().collect();
        for (at, cut, new) in edits {
            let at = at.index(chars.len());
            let end = (at + cut).min(chars.len() - 1).max(at);
            chars.splice(at..end, new.chars());
        }
        chars.into_iter().collect()
    })
}

#[test]
fn deep_and_long_texts_are_answered() {
    for (deep, n) in [("[", 200_000), ("a = {", 50_000), ("a.", 200_000), ("x = [", 100_000), ("x = [[[[[[[[", 1)] {
        let opened = open(&deep.repeat(n));
        assert_eq!(opened.faults.len(), 1, "a text that is no TOML has one fault");
    }
    let nested = format!("{SMALL}[lens]\nstraight = {}{}\n", "[".repeat(60), "]".repeat(60));
    assert!(!open(&nested).faults.is_empty());
    let points = "[1000.5, 700.25], ".repeat(20_000);
    let opened = open(&format!("{SMALL}[stream]\nby_hand = [{points}]\n"));
    assert!(opened.checked.is_some());
    let faulty = "[1000.5, -7], ".repeat(1000);
    assert_eq!(open(&format!("{SMALL}[stream]\nby_hand = [{faulty}]\n")).faults.len(), 1000);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, rng_seed: RngSeed::Fixed(20260101), ..ProptestConfig::with_cases(400) })]

    #[test]
    fn no_text_makes_open_panic(text in prop_oneof![mangled(), "\\PC{0,80}", "[\\[\\]{}=\"#'a-z0-9. \n]{0,80}"]) {
        let opened = open(&text);
        prop_assert_eq!(opened.checked.is_some(), opened.faults.is_empty());
        for fault in &opened.faults {
            prop_assert!(!fault.says.is_empty() && fault.line <= text.lines().count().max(1) + 1, "{}", fault);
        }
        let mut sheet = opened.sheet;
        for step in 0..4 {
            match step {
                0 => sheet.orifice_centre = Some(trajet::point::PixelPoint::new(1.0, 2.0)),
                1 => sheet.stream.by_hand.push(trajet::point::PixelPoint::new(3.0, 4.0)),
                2 => sheet.scales.truncate(1),
                _ => (sheet.flow, sheet.plane, sheet.title) = (None, None, Some("new".into())),
            }
            let written = trajet::sheet::write(&text, &sheet);
            prop_assert_eq!(&open(&written).sheet, &sheet, "{}\nbecame\n{}", text, written);
        }
    }

    #[test]
    fn no_bytes_make_open_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = open(&String::from_utf8_lossy(&bytes));
    }
}
