//! `--json`: the contract's keys, one object or an array, no number that is none.

use crate::support::laid_out::LaidOut;
use serde_json::Value;

/// Keys of the contract, in its order.
const KEYS: [&str; 20] = [
    "format",
    "sheet",
    "velocity",
    "launch_angle",
    "cv",
    "cd",
    "cc",
    "k",
    "ideal_velocity",
    "head",
    "discharge",
    "reynolds",
    "weber",
    "head_lost",
    "jet_power",
    "stations",
    "budget",
    "notices",
    "inputs",
    "fit",
];

fn json(bench: &LaidOut, sheets: &[&str]) -> Value {
    let told = bench.run(&[&["measure", "--json"], sheets].concat());
    assert_eq!(told.status, 0, "{}", told.err);
    for none in ["NaN", "nan", "inf", "Infinity"] {
        let alone = told.out.split(|c: char| !c.is_alphanumeric()).any(|word| word == none);
        assert!(!alone, "{none} in\n{}", told.out);
    }
    serde_json::from_str(&told.out).unwrap()
}

#[test]
fn one_sheet_is_an_object_and_several_are_an_array_in_their_order() {
    let bench = LaidOut::new();
    bench.put_jet("b.toml").put_jet("a.toml");
    assert!(json(&bench, &["a.toml"]).is_object());
    let several = json(&bench, &["b.toml", "a.toml"]);
    let names: Vec<_> = several.as_array().unwrap().iter().map(|f| f["sheet"].as_str().unwrap()).collect();
    assert_eq!(names, ["b.toml", "a.toml"]);
}

/// So that the n-th element is the n-th sheet; its results are null and it says why.
#[test]
fn a_refused_sheet_of_many_has_its_place_in_the_array() {
    let bench = LaidOut::new();
    bench.put_jet("a.toml").put_jet("c.toml").put("b.toml", "format = 1\n[photo]\nfile = \"gone.jpg\"\n");
    let told = bench.run(&["measure", "--json", "a.toml", "b.toml", "c.toml"]);
    assert_eq!(told.status, 1);
    let all: Vec<Value> = serde_json::from_str(&told.out).unwrap();
    let names: Vec<_> = all.iter().map(|f| f["sheet"].as_str().unwrap()).collect();
    assert_eq!(names, ["a.toml", "b.toml", "c.toml"]);
    assert!(
        all[0].get("refused").is_none() && all[1]["velocity"].is_null() && all[1]["stations"] == Value::Array(vec![])
    );
    for line in all[1]["refused"].as_array().unwrap() {
        assert!(told.err.contains(line.as_str().unwrap()), "{line}\n{}", told.err);
    }
    // all of one sheet stand on stderr alone, as before
    assert_eq!(bench.run(&["measure", "--json", "b.toml"]).out, "");
    // and such an array makes a workbook of what was measured
    bench.put("all.json", &told.out).put("none.json", serde_json::to_string(&all[1]).unwrap());
    let book = bench.run(&["report", "all.json", "-o", "all.xlsx"]);
    assert!(book.status == 0 && book.err.contains("b.toml could not be measured: it is left out"), "{}", book.err);
    let none = bench.run(&["report", "none.json", "-o", "none.html"]);
    assert!(none.status == 1 && none.err.contains("nothing was measured: b.toml: "), "{}", none.err);
}

#[test]
fn every_key_of_the_contract_is_there() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    let findings = json(&bench, &["run.toml"]);
    for key in KEYS {
        assert!(findings.get(key).is_some(), "no {key}");
    }
    assert_eq!(findings["format"], 1);
    let result = |key: &str| ["value", "u", "lo", "hi"].map(|part| findings[key][part].as_f64().unwrap());
    for (key, unit) in [("velocity", "m/s"), ("launch_angle", "deg"), ("cv", ""), ("head", "mm"), ("head_lost", "mm")] {
        let [value, u, lo, hi] = result(key);
        assert!(lo < value && value < hi && u > 0.0, "{key}");
        assert_eq!(findings[key]["unit"], unit, "{key}");
    }
    for key in ["px", "x_mm", "y_mm", "u_px", "width_mm", "off_mm", "used", "velocity", "cv"] {
        assert!(findings["stations"][0].get(key).is_some(), "no {key} in a station");
    }
    for key in ["input", "value", "u", "sensitivity", "share"] {
        assert!(findings["budget"]["velocity"][0].get(key).is_some(), "no {key} in a row of the budget");
    }
    for key in ["photo sha256", "sheet sha256", "trajet", "seed"] {
        assert!(findings["inputs"][key].is_string(), "no {key} in inputs");
    }
}

/// The drawn jet has no flow: what follows from one is null, with a notice that says so.
#[test]
fn what_cannot_be_had_is_null_with_a_notice() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    let findings = json(&bench, &["run.toml"]);
    for key in ["cd", "cc", "discharge", "jet_power"] {
        assert!(findings[key].is_null(), "{key}");
    }
    let notices = findings["notices"].as_array().unwrap();
    assert!(notices.iter().any(|n| n["about"] == "flow" && n["hint"].is_string()), "{notices:?}");
}

/// A drawn jet of 2.1 m/s and the head of Cv = 0.97, launched level.
#[test]
fn the_drawn_jets_truths_lie_in_their_intervals() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    let findings = json(&bench, &["run.toml"]);
    for (key, truth) in [("velocity", 2.1), ("cv", 0.97), ("launch_angle", 0.0)] {
        let [lo, hi] = ["lo", "hi"].map(|end| findings[key][end].as_f64().unwrap());
        assert!(lo <= truth && truth <= hi, "{key}: {truth} is not in {lo} to {hi}");
    }
}

/// The shares of a budget sum to one: the inputs of a sheet are independent.
#[test]
fn shares_sum_to_one() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    let findings = json(&bench, &["run.toml"]);
    for key in ["velocity", "cv"] {
        let rows = findings["budget"][key].as_array().unwrap();
        let shares: Vec<f64> = rows.iter().map(|row| row["share"].as_f64().unwrap()).collect();
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{key}: {shares:?}");
        assert!(shares.windows(2).all(|w| w[0] >= w[1]), "{key}: largest first: {shares:?}");
    }
}
