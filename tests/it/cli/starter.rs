//! `trajet new`: a sheet whose faults are what is still to be done.

use crate::support::drawn::Drawn;
use crate::support::laid_out::LaidOut;

#[test]
fn what_a_starter_sheet_lacks_is_told_with_line_and_example() {
    let bench = LaidOut::new();
    bench.put_photo("run 7.png", &Drawn { size: (320, 240), ..Drawn::default() }.photo());
    let told = bench.run(&["new", "run 7.png"]);
    assert_eq!((told.status, told.out.as_str(), told.err.as_str()), (0, "run 7.toml\n", ""));
    let text = std::fs::read_to_string(bench.path("run 7.toml")).unwrap();
    assert!(text.contains("file = \"run 7.png\"") && text.contains("320 x 240 pixels"), "{text}");

    let told = bench.run(&["measure", "run 7.toml"]);
    assert_eq!((told.status, told.out.as_str()), (1, ""));
    let faults: Vec<&str> = told.err.lines().filter(|l| !l.starts_with("  hint: ")).collect();
    let to_do = ["scale.marks", "orifice.centre", "orifice.diameter"];
    assert_eq!(faults.len(), to_do.len(), "{}", told.err);
    for (fault, key) in faults.iter().zip(to_do) {
        assert!(fault.starts_with("run 7.toml: line ") && fault.contains(key), "{fault}");
    }
    assert_eq!(told.err.lines().count(), 2 * to_do.len(), "a fault without a hint:\n{}", told.err);
}

/// The comment signs taken away and marks put in, the starter sheet is a sheet that measures.
#[test]
fn a_starter_sheet_filled_in_is_measured() {
    let bench = LaidOut::new();
    bench.put_photo("jet.png", &Drawn::default().photo());
    assert_eq!(bench.run(&["new", "jet.png"]).status, 0);
    let mut text = std::fs::read_to_string(bench.path("jet.toml")).unwrap();
    for (line, filled) in [
        ("# marks = [[1020.0, 310.5], [3350.2, 322.8]]", "marks = [[100.0, 800.0], [1100.0, 800.0]]"),
        ("# length = \"500 mm ± 0.3 mm\"", "length = \"500 mm ± 0.3 mm\""),
        ("# plumb = [[402.0, 210.0], [415.5, 2710.0]]", "plumb = [[50.0, 50.0], [50.0, 850.0]]"),
        ("# centre = [812.4, 630.9]", "centre = [100.0, 120.0]"),
        ("# diameter = \"12.00 mm ± 0.02 mm\"", "diameter = \"12.50 mm ± 0.02 mm\""),
        ("# reading = \"412 mm ± 0.5 mm\"", "reading = \"238.9 mm ± 0.5 mm\""),
    ] {
        assert!(text.contains(line), "the starter sheet has no line `{line}`:\n{text}");
        text = text.replace(line, filled);
    }
    bench.put("jet.toml", text);
    let told = bench.run(&["measure", "jet.toml"]);
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(told.out.contains("Cv") && told.err.contains("notices"), "{}{}", told.out, told.err);
}
