//! V^2 against H, Q against H.

use super::{findings, sheets};
use trajet::measure::Findings;
use trajet::measure::series::{Run, SeriesFindings, analyse};

fn together(heads_mm: &[f64], all: &[Findings]) -> SeriesFindings {
    let sheets = sheets(heads_mm);
    let runs: Vec<Run> = sheets.iter().zip(all).map(|(sheet, findings)| Run { name: "run", sheet, findings }).collect();
    analyse("c.toml", "", &runs)
}

/// H. T. Bovey's Cd of a circular sharp orifice, 0.5 in, at heads of 1 to 20 ft (quoted by W. C. Unwin, Encyclopaedia
/// Britannica, 11th ed., 1911, "Hydraulics"): .620 at 1 ft falling to .603 at 20 ft. His discharges go as Cd sqrt(H), so
/// their exponent is 0.5 plus the slope of ln Cd against ln H: by ordinary least squares on the table, below 0.5.
#[test]
fn boveys_discharges_go_with_a_power_below_one_half() {
    let heads_ft = [1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0_f64];
    let cds = [0.620, 0.613, 0.608, 0.607, 0.606, 0.605, 0.604, 0.604, 0.603, 0.603, 0.603_f64];
    let heads_mm: Vec<f64> = heads_ft.iter().map(|h| h * 304.8).collect();
    let all: Vec<Findings> = heads_mm
        .iter()
        .zip(cds)
        .map(|(h, cd)| {
            let q = cd * h.sqrt();
            let u = 0.001 / cd; // the table's last digit
            findings(&[
                ("head", *h, &[("head.reading", 1e-4)]),
                ("discharge", q, &[("flow.time", q * u)]),
                ("cd", cd, &[("flow.time", cd * u)]),
            ])
        })
        .collect();
    let told = together(&heads_mm, &all);
    let (xs, ys): (Vec<f64>, Vec<f64>) = heads_ft.iter().zip(cds).map(|(h, c)| (h.ln(), c.ln())).unzip();
    let n = xs.len() as f64;
    let (mx, my) = (xs.iter().sum::<f64>() / n, ys.iter().sum::<f64>() / n);
    let slope = xs.iter().zip(&ys).map(|(x, y)| (x - mx) * (y - my)).sum::<f64>()
        / xs.iter().map(|x| (x - mx).powi(2)).sum::<f64>();
    let exponent = told.exponent.unwrap();
    // weights differ by Cd's own fall only: 3 % of a slope of -0.009
    assert!((exponent.found.value - (0.5 + slope)).abs() < 3e-4, "{} {slope}", exponent.found.value);
    assert!((0.490..0.493).contains(&exponent.found.value) && exponent.significant, "{exponent:?}");
    assert!(told.trends["cd"].found.value < 0.0 && told.trends["cd"].significant);
}

/// Heads read 3 mm too low, Cv .97: the line gives both back, exactly where nothing else errs.
#[test]
fn a_datum_error_of_the_head_is_found() {
    let heads = [150.0, 300.0, 500.0, 750.0, 1100.0];
    let read: Vec<f64> = heads.iter().map(|h| h - 3.0).collect();
    let all: Vec<Findings> = heads
        .iter()
        .map(|h| {
            let cv = 0.97 * (h / (h - 3.0)).sqrt();
            findings(&[
                ("head", h - 3.0, &[("head.reading", 0.5)]),
                ("cv", cv, &[("head.reading", -0.5 * cv * 0.5 / (h - 3.0)), ("stream.stations", 0.001)]),
            ])
        })
        .collect();
    let told = together(&read, &all);
    let line = told.head_line.unwrap();
    assert!((line.datum_error.value - 3.0).abs() < 1e-6, "{line:?}");
    assert!((line.cv.value - 0.97).abs() < 1e-8 && line.significant);
    assert!(told.notices.iter().any(|n| n.about == "head.reading" && n.says.contains("read low")));
}

#[test]
fn two_runs_give_a_line_without_a_test_and_equal_heads_give_none() {
    let run = |h: f64| {
        findings(&[
            ("head", h, &[("head.reading", 0.5)]),
            ("cv", 0.97, &[("head.reading", -0.5 * 0.97 * 0.5 / h), ("stream.stations", 0.002)]),
        ])
    };
    let two = together(&[300.0, 900.0], &[run(300.0), run(900.0)]);
    let line = two.head_line.unwrap();
    assert!(line.test.is_none() && line.datum_error.value.abs() < 1e-6 && !line.significant);
    let same = together(&[300.0, 301.0], &[run(300.0), run(301.0)]);
    assert!(same.head_line.is_none());
    assert!(same.notices.iter().any(|n| n.about == "head_line" && n.says.contains("span 1.0 mm")), "{same:#?}");
}
