//! Tests: rules of the source tree that no compiler holds.
//!
//! The tree is read as text. What stands from the first `#[cfg(test)]` of a file on is its unit tests and is
//! not bound by the rules on imports and on the outside world.

#![allow(clippy::unwrap_used, reason = "tests: a failure here is a failed test")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Folder (or file) under `src`, and the ones it may use. The order is that of the data's way, so that nobody
/// stands in the list of one above it (`the_order_is_the_order_of_the_way`); some may use less than all above.
const MAY_USE: [(&str, &[&str]); 16] = [
    ("notice", &[]),
    ("point", &[]),
    // the normal distribution and what goes with it: any stage may ask
    ("statistics", &[]),
    ("quantity", &[]),
    // what is printed where; a sheet names its marks, the calibration finds them
    ("card", &[]),
    ("sheet", &["notice", "point", "quantity", "card"]),
    ("photo", &["notice", "point"]),
    ("calibration", &["notice", "point", "statistics", "quantity", "card", "sheet", "photo"]),
    ("jet", &["notice", "point", "statistics", "quantity", "sheet", "photo", "calibration"]),
    // a fit of curves through points with uncertainties: it knows neither photo nor water
    ("trajectory", &["notice", "point"]),
    // what a handbook says: it knows neither photo nor fit
    ("hydraulics", &["notice", "point", "quantity", "sheet"]),
    // budget and Monte Carlo over named inputs and a closure: it knows nothing of what they mean
    ("uncertainty", &["notice", "statistics"]),
    (
        "measure",
        &[
            "notice",
            "point",
            "statistics",
            "quantity",
            "card",
            "sheet",
            "photo",
            "calibration",
            "jet",
            "trajectory",
            "hydraulics",
            "uncertainty",
        ],
    ),
    ("report", &["notice", "point", "statistics", "quantity", "card", "sheet", "photo", "measure"]),
    (
        "cli",
        &[
            "notice",
            "point",
            "statistics",
            "quantity",
            "card",
            "sheet",
            "photo",
            "calibration",
            "jet",
            "trajectory",
            "hydraulics",
            "uncertainty",
            "measure",
            "report",
        ],
    ),
    (
        "app",
        &[
            "notice",
            "point",
            "statistics",
            "quantity",
            "card",
            "sheet",
            "photo",
            "calibration",
            "jet",
            "trajectory",
            "hydraulics",
            "uncertainty",
            "measure",
            "report",
            // one way to read and write files
            "cli",
        ],
    ),
];

/// Longest file, in lines.
const MOST_LINES: usize = 500;

struct Source {
    path: PathBuf,
    text: String,
}

impl Source {
    /// The text above the unit tests.
    fn shipped(&self) -> &str {
        let marks = ["#[cfg(test)]", "#![cfg(test)]"];
        let end = marks.iter().filter_map(|m| self.text.find(m)).min().unwrap_or(self.text.len());
        &self.text[..end]
    }

    /// The folder, or the file without `.rs`, right under `src`.
    fn module(&self) -> String {
        let first = self.path.strip_prefix(root().join("src")).unwrap().components().next().unwrap();
        first.as_os_str().to_string_lossy().trim_end_matches(".rs").to_owned()
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every `.rs` file under a folder of the project.
fn sources(folder: &str) -> Vec<Source> {
    fn gather(at: &Path, into: &mut Vec<Source>) {
        for entry in std::fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                gather(&path, into);
            } else if path.extension().is_some_and(|e| e == "rs") {
                into.push(Source { text: std::fs::read_to_string(&path).unwrap(), path });
            }
        }
    }
    let mut found = Vec::new();
    gather(&root().join(folder), &mut found);
    assert!(!found.is_empty(), "no sources under {folder}");
    found
}

/// The names that follow `crate::` in the text, also in `crate::{a, b::c}`; comments and doc links count too, since
/// a link to a stage below is a dependence in the reader's head.
fn used_modules(text: &str) -> BTreeSet<String> {
    let word = |s: &str| s.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut used = BTreeSet::new();
    for after in text.split("crate::").skip(1) {
        let Some(group) = after.strip_prefix('{') else {
            used.insert(word(after));
            continue;
        };
        let (mut depth, mut start) = (0, true);
        for (i, c) in group.char_indices() {
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => break,
                '}' => depth -= 1,
                ',' if depth == 0 => start = true,
                c if start && !c.is_whitespace() => {
                    used.insert(word(&group[i..]));
                    start = false;
                }
                _ => {}
            }
        }
    }
    used
}

fn none(offences: Vec<String>, rule: &str) {
    assert!(offences.is_empty(), "{rule}:\n{}", offences.join("\n"));
}

#[test]
fn imports_are_read_rightly() {
    let text = "use crate::{point::{PixelPoint, BenchPoint}, notice, sheet::Tone};\nlet a = crate::jet::trace();";
    let expected = ["jet", "notice", "point", "sheet"].map(str::to_owned);
    assert_eq!(used_modules(text), BTreeSet::from(expected));
}

#[test]
fn the_order_is_the_order_of_the_way() {
    for (i, (name, may)) in MAY_USE.iter().enumerate() {
        for used in *may {
            assert!(MAY_USE[..i].iter().any(|(above, _)| above == used), "{name} may not use {used}: not above it");
        }
    }
}

#[test]
fn a_stage_uses_only_the_stages_above_it() {
    let mut offences = Vec::new();
    for source in sources("src") {
        let module = source.module();
        if ["lib", "main"].contains(&module.as_str()) {
            continue;
        }
        let Some((_, may)) = MAY_USE.iter().find(|(name, _)| *name == module) else {
            offences.push(format!("{}: not in the list of this test; say what it may use", source.path.display()));
            continue;
        };
        for used in used_modules(source.shipped()) {
            if used != module && !may.contains(&used.as_str()) {
                offences.push(format!("{}: {module} may not use {used}", source.path.display()));
            }
        }
    }
    none(offences, "folder order");
}

#[test]
fn no_file_is_longer_than_five_hundred_lines() {
    let mut offences = Vec::new();
    for source in sources("src").iter().chain(&sources("tests")) {
        let lines = source.text.lines().count();
        if lines > MOST_LINES {
            offences.push(format!("{}: {lines} lines", source.path.display()));
        }
    }
    none(offences, "split what is longer");
}

#[test]
fn nothing_below_the_faces_touches_the_outside_world() {
    // `env!` is the compiler's and stays allowed
    const OUTSIDE: [&str; 9] = [
        "std::fs",
        "std::time",
        "std::env",
        "std::net",
        "std::process",
        "std::io::stdin",
        "println!",
        "SystemTime",
        "Instant::now",
    ];
    let mut offences = Vec::new();
    for source in sources("src") {
        if ["cli", "app", "main"].contains(&source.module().as_str()) {
            continue;
        }
        for name in OUTSIDE.iter().filter(|name| source.shipped().contains(**name)) {
            offences.push(format!("{}: {name}", source.path.display()));
        }
    }
    none(offences, "files, clocks, the environment and seeds belong to the faces");
}

#[test]
fn only_the_window_names_its_toolkit() {
    let mut offences = Vec::new();
    for source in sources("src") {
        if source.module() != "app" && ["egui", "eframe"].iter().any(|name| source.text.contains(name)) {
            offences.push(source.path.display().to_string());
        }
    }
    none(offences, "egui is named in `app` alone");
}

#[test]
fn each_published_constant_names_its_source() {
    let mut offences = Vec::new();
    let mut seen = 0;
    for source in sources("src").iter().filter(|s| s.module() == "hydraulics") {
        let lines: Vec<&str> = source.shipped().lines().collect();
        for (i, line) in lines.iter().enumerate() {
            let Some(declared) = line.trim_start().strip_prefix("pub const ").filter(|d| !d.starts_with("fn ")) else {
                continue;
            };
            // a list of names or a citation is no value; numbers and rows of a published table are
            let kind = declared.split('=').next().unwrap_or("");
            if !["f64", "usize", "u32", "Published"].iter().any(|t| kind.contains(t)) {
                continue;
            }
            seen += 1;
            let start = lines[..i].iter().rposition(|l| !l.trim_start().starts_with("///")).map_or(0, |at| at + 1);
            let words = lines[start..i].iter().flat_map(|l| l.trim_start()[3..].split_whitespace());
            let doc = words.collect::<Vec<_>>().join(" ").to_lowercase();
            let told = ["source:", "source of each:", "common practice, no source", "own estimate"];
            if !told.iter().any(|t| doc.contains(t)) {
                offences.push(format!("{}:{}: {}", source.path.display(), i + 1, line.trim()));
            }
        }
    }
    assert!(seen > 20, "only {seen} constants seen: does this test still read them?");
    none(offences, "say where the value is from, or that it has no source");
}

#[test]
fn nothing_is_left_for_later() {
    // spelt in halves, so that this file does not find itself
    let marks = [["TO", "DO"], ["FIX", "ME"], ["todo", "!"], ["unimplemented", "!"], ["XX", "X"]].map(|m| m.concat());
    let mut offences = Vec::new();
    for source in sources("src").iter().chain(&sources("tests")) {
        for (i, line) in source.text.lines().enumerate() {
            if marks.iter().any(|m| line.contains(m.as_str())) {
                offences.push(format!("{}:{}: {}", source.path.display(), i + 1, line.trim()));
            }
        }
    }
    none(offences, "done, or an issue");
}

#[test]
fn the_files_that_the_pages_name_are_there() {
    let mut seen = 0;
    let mut offences = Vec::new();
    for page in ["README.md", "DEVELOPERS.md", "samples/README.md"] {
        let text = std::fs::read_to_string(root().join(page)).unwrap();
        for name in text.split('`').skip(1).step_by(2) {
            let is_path = name.contains('/') && !name.contains([' ', '*', '<', '=']);
            let is_path = is_path || name.ends_with(".md");
            let under = ["", "src", "src/jet", "src/measure", "src/trajectory", "tests/it", "samples"];
            if is_path {
                seen += 1;
                if !under.iter().any(|folder| root().join(folder).join(name).exists()) {
                    offences.push(format!("{page}: `{name}`"));
                }
            }
        }
    }
    assert!(seen > 20, "only {seen} names seen: does this test still read them?");
    none(offences, "no such file");
}
