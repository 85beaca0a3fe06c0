//! The record of a series.

use super::xml;
use crate::series::{findings, sheets};
use trajet::measure::series::{Run, SeriesFindings, analyse};
use trajet::quantity::show;
use trajet::report::svg::{Place, svg};
use trajet::report::{Paper, html, series};

/// Five runs of one orifice: Cd falls with the head, and the fourth has a Cv that the others do not bear out.
pub fn found() -> SeriesFindings {
    let heads = [200.0, 350.0, 500.0, 650.0, 800.0];
    let sheets = sheets(&heads);
    let all: Vec<_> = heads
        .iter()
        .enumerate()
        .map(|(i, head): (usize, &f64)| {
            let cv = if i == 3 { 0.950 } else { 0.970 };
            let v = cv * (2.0 * 9.81 * head / 1000.0).sqrt();
            let cd = 0.62 - 2e-5 * head;
            let q = cd * 0.02 * head.sqrt();
            let mut f = findings(&[
                ("head", *head, &[("head.reading", 0.5)]),
                ("cv", cv, &[("scale.marks", 0.0012), ("head.reading", 0.25 * cv / head)]),
                ("cd", cd, &[("orifice.diameter", 0.005), ("flow.timed", 0.0005)]),
                ("cc", cd / cv, &[("orifice.diameter", 0.005), ("scale.marks", 0.0012)]),
                ("discharge", q, &[("flow.timed", 0.001 * q)]),
                ("velocity", v, &[("scale.marks", 0.0012 * v / cv)]),
                ("reynolds", 9500.0 * v, &[("water.temperature", 90.0 * v)]),
            ]);
            f.inputs.insert("sheet sha256".into(), format!("{i:x}").repeat(64));
            f
        })
        .collect();
    let names: Vec<String> = (1..=heads.len()).map(|i| format!("run {i}")).collect();
    let runs: Vec<Run> =
        (0..heads.len()).map(|i| Run { name: &names[i], sheet: &sheets[i], findings: &all[i] }).collect();
    let mut found = analyse("plate-c.toml", "Plate C over its range of heads", &runs);
    found.inputs.insert("series sha256".into(), "5e".repeat(32));
    found
}

#[test]
fn it_tells_runs_pooled_values_laws_and_outlying_ones() {
    let f = found();
    assert!(f.runs[3].outlying.contains(&"cv".to_owned()) && f.trends["cd"].significant);
    let page = html::page(&series::document(&f), Paper::A4);
    for key in ["cv", "cd", "cc"] {
        let pooled = &f.pooled[key].found;
        assert!(page.contains(&show(pooled.value, pooled.u, "")), "{key}");
    }
    let exponent = &f.exponent.as_ref().unwrap().found;
    for said in [
        "Record of a series of jet measurements",
        "Plate C over its range of heads",
        &show(exponent.value, exponent.u, ""),
        "0.5 lies ",
        ", outlying",
        "one and the same thing",
        "of each run by itself",
        "chi-squared ",
        &"5e".repeat(32),
        &"4".repeat(64),
        "RCD, GFCI",
        "checked by",
    ] {
        assert!(page.contains(said), "{said}");
    }
    assert!(!page.contains("NaN"));
    // what the runs lack is said
    let bare = SeriesFindings { format: 1, series: "bare.toml".into(), ..SeriesFindings::default() };
    let page = html::page(&series::document(&bare), Paper::A4);
    assert!(
        page.contains("No figure of Cv against the head: no run has a Cv and a head.")
            && page.contains("<h1>bare.toml")
    );
}

#[test]
fn its_figures_have_axes_units_and_curves() {
    let f = found();
    let figures = series::figures(&f);
    let names: Vec<&str> = figures.iter().map(|f| f.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "discharge-head",
            "velocity-head",
            "cv-head",
            "cd-head",
            "cc-head",
            "cv-reynolds",
            "cd-reynolds",
            "cc-reynolds"
        ]
    );
    for figure in &figures {
        let text = svg(figure, Place::File);
        assert_eq!(xml::fault(&text), None, "{}", figure.name);
        assert!(!text.contains("NaN") && text.contains("run, ± u"), "{}", figure.name);
    }
    let text = |name: &str| svg(figures.iter().find(|f| f.name == name).unwrap(), Place::File);
    assert!(text("cd-head").contains(">trend<") && text("cd-head").contains(">H / mm<"));
    assert!(text("cv-head").contains("outlying run, ± u") && !text("cv-head").contains(">trend<"));
    assert!(text("discharge-head").contains(">Q / (L/s)<"));
    assert!(text("velocity-head").contains("V² / (2 g) / mm") && text("velocity-head").contains("line of the runs"));
}

/// The drawn curve of Q goes through the runs: what is drawn is what was fitted.
#[test]
fn curves_go_through_the_runs() {
    let f = found();
    let law = f.exponent.as_ref().unwrap();
    for run in &f.runs {
        let (h, q) = (run.head.as_ref().unwrap().value, run.discharge.as_ref().unwrap().value);
        let drawn = (law.at_zero + law.found.value * h.ln()).exp();
        assert!((drawn / q - 1.0).abs() < 0.005, "{drawn} at {h} mm, where the run has {q}");
    }
    let trend = &f.trends["cd"];
    // the truth of the runs: 0.62 at no head, -0.002 per 100 mm
    assert!((trend.at_zero - 0.62).abs() < 1e-4 && (trend.found.value + 0.002).abs() < 1e-5, "{trend:?}");
}
