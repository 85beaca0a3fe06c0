//! Pooled coefficients: against published values, and against simulated series of known truth.

use super::{findings, sheets};
use trajet::measure::Findings;
use trajet::measure::series::{Run, SeriesFindings, analyse};
use trajet::uncertainty::random::Draw;

fn together(heads_mm: &[f64], all: &[Findings]) -> SeriesFindings {
    let sheets = sheets(heads_mm);
    let names: Vec<String> = (1..=all.len()).map(|i| format!("run {i}")).collect();
    let runs: Vec<Run> =
        (0..all.len()).map(|i| Run { name: &names[i], sheet: &sheets[i], findings: &all[i] }).collect();
    analyse("c.toml", "Plate C", &runs)
}

/// 1.5 and 1.0, each uncertain by 10 % of its own and by 20 % that both share: a shared share moves both alike, so the
/// mean lies midway in the logarithm with the whole 20 % left in it, not at the 0.88 below both that the absolute errors
/// would give (R. Frühwirth, D. Neudecker and H. Leeb, 2012, EPJ Web Conf. 27:00008, on Peelle's puzzle).
#[test]
fn a_shared_relative_error_does_not_pull_the_mean_below_the_runs() {
    let all = [1.5, 1.0].map(|x| {
        let parts = [("stream.stations", 0.1 * x), ("orifice.diameter", 0.2 * x)];
        findings(&[("cd", x, &parts)])
    });
    let told = together(&[300.0, 600.0], &all);
    let pooled = &told.pooled["cd"];
    let mean = 1.5_f64.ln() / 2.0;
    // beyond the 10 %, the runs differ: chi-squared 8.2 of 1
    assert!((pooled.found.value - mean.exp()).abs() < 1e-9, "{pooled:?}");
    assert!(pooled.found.u / pooled.found.value > 0.2 && pooled.between_runs > 0.0);
    assert!(pooled.budget.iter().any(|row| row.input == "orifice.diameter" && row.shared));
}

/// Without anything shared it is the weighted mean of every textbook: weights 1/u^2, 1/u^2 summed; and a shared
/// part of equal size in all adds to the variance and leaves mean and chi-squared alone.
#[test]
fn independent_runs_pool_as_a_weighted_mean_and_a_shared_error_stays_whole() {
    let (x, u) = ([0.970_f64, 0.972, 0.968], [0.002_f64, 0.003, 0.004]);
    let sum: f64 = u.iter().map(|u| 1.0 / (u * u)).sum();
    let mean = x.iter().zip(&u).map(|(x, u)| x.ln() / (u * u)).sum::<f64>() / sum;
    // below its two degrees of freedom, so that nothing is added between the runs
    let chi2: f64 = x.iter().zip(&u).map(|(x, u)| ((x.ln() - mean) / u).powi(2)).sum();
    for shared in [0.0, 0.01] {
        let all: Vec<Findings> = (0..3)
            .map(|i| {
                let parts = [("stream.stations", u[i] * x[i]), ("orifice.diameter", shared * x[i])];
                findings(&[("cv", x[i], &parts)])
            })
            .collect();
        let told = together(&[300.0, 600.0, 900.0], &all);
        let pooled = &told.pooled["cv"];
        assert!((pooled.found.value - mean.exp()).abs() < 1e-12);
        let relative = pooled.found.u / pooled.found.value;
        assert!((relative.powi(2) - (1.0 / sum + shared * shared)).abs() < 1e-12);
        let test = pooled.test.unwrap();
        assert!((test.chi2 - chi2).abs() < 1e-6 && test.dof == 2, "{test:?} {chi2}");
        assert!((test.probability - (-0.5 * chi2).exp()).abs() < 1e-7);
    }
}

#[test]
fn one_run_is_told_alone_and_the_rest_is_absent_with_a_reason() {
    let one = findings(&[("cv", 0.97, &[("stream.stations", 0.002)]), ("head", 400.0, &[("head.reading", 0.5)])]);
    let told = together(&[400.0], &[one]);
    assert_eq!(told.pooled["cv"].found.value, 0.97);
    assert_eq!((told.pooled["cv"].test, told.head_line.is_none(), told.exponent.is_none()), (None, true, true));
    for about in ["cv", "cd", "cc", "head_line", "exponent"] {
        assert!(told.notices.iter().any(|n| n.about == about), "{about}: {:#?}", told.notices);
    }
}

/// The seventh of eight runs is 4 % high in Cd: it is named, and it alone; the scatter widens the pooled value.
#[test]
fn an_outlying_run_is_named() {
    let heads: Vec<f64> = (1..=8).map(|i| 100.0 * f64::from(i)).collect();
    let noise = [0.3, -0.8, 0.5, 0.9, -0.4, -0.6, 0.1, 0.2];
    let all: Vec<Findings> = (0..8)
        .map(|i| {
            let cd = 0.61 * (1.0 + 0.005 * noise[i] + if i == 6 { 0.04 } else { 0.0 });
            findings(&[("cd", cd, &[("flow.time", 0.005 * 0.61), ("orifice.diameter", -0.008 * 0.61)])])
        })
        .collect();
    let told = together(&heads, &all);
    let named: Vec<&str> = told.runs.iter().filter(|r| !r.outlying.is_empty()).map(|r| r.run.as_str()).collect();
    assert_eq!(named, ["run 7"]);
    assert!(told.runs[6].off["cd"] > 6.0, "{:?}", told.runs[6].off);
    assert!(told.pooled["cd"].between_runs > 0.003, "{:?}", told.pooled["cd"]);
}

/// What `series` simulated series say: shares of 95 % intervals that hold the truth for Cv, Cd, the slope's Cv, the datum
/// error and the exponent; and the share of chi-squared tests of Cd below 5 %.
///
/// Five heads; Cv .97, Cc .63; shared errors of the diameter (0.4 %: twice in Cd) and of the ruler (0.15 % of Cv, by
/// half in V), own errors of stations, heads (0.6 mm) and flow, all drawn from what is stated.
fn covered(series: u64, datum_mm: f64) -> [f64; 6] {
    let heads = [150.0, 300.0, 500.0, 750.0, 1100.0];
    let (cv0, cd0) = (0.97, 0.97 * 0.63);
    let sheets = sheets(&heads);
    let area = std::f64::consts::FRAC_PI_4 * 0.012_f64.powi(2);
    let mut counts = [0.0; 6];
    for n in 0..series {
        let z = |lane| Draw::new(20_260_101, n).normal(lane);
        let (diameter, ruler) = (0.004 * z(0), 0.0015 * z(1));
        let all: Vec<Findings> = (0..5)
            .map(|i| {
                let lane = 2 + 3 * i as u32;
                let (u_own, u_flow, u_h) = (0.002, 0.003, 0.6);
                let read = heads[i] + u_h * z(lane) - datum_mm;
                let velocity = cv0 * (2.0 * 9.81 * heads[i] / 1000.0).sqrt() * (1.0 + ruler + u_own * z(lane + 1));
                let q = 1000.0 * cd0 * area * (2.0 * 9.81 * heads[i] / 1000.0).sqrt() * (1.0 + u_flow * z(lane + 2));
                let ideal = (2.0 * 9.81 * read / 1000.0).sqrt();
                let cv = velocity / ideal;
                let cd = q / 1000.0 / (area * (1.0 + diameter).powi(2)) / ideal;
                let by_head = -0.5 * u_h / read;
                findings(&[
                    ("head", read, &[("head.reading", u_h)]),
                    ("discharge", q, &[("flow.time", q * u_flow)]),
                    (
                        "cv",
                        cv,
                        &[
                            ("head.reading", cv * by_head),
                            ("scale.length", cv * 0.0015),
                            ("stream.stations", cv * u_own),
                        ],
                    ),
                    (
                        "cd",
                        cd,
                        &[
                            ("head.reading", cd * by_head),
                            ("flow.time", cd * u_flow),
                            ("orifice.diameter", -2.0 * cd * 0.004),
                        ],
                    ),
                ])
            })
            .collect();
        let runs: Vec<Run> = (0..5).map(|i| Run { name: "run", sheet: &sheets[i], findings: &all[i] }).collect();
        let told = analyse("c.toml", "", &runs);
        let line = told.head_line.unwrap();
        let exponent = told.exponent.unwrap();
        let holds = |f: &trajet::measure::Found, truth: f64| f64::from(u8::from(f.lo <= truth && truth <= f.hi));
        for (count, held) in counts.iter_mut().zip([
            holds(&told.pooled["cv"].found, cv0),
            holds(&told.pooled["cd"].found, cd0),
            holds(&line.cv, cv0),
            holds(&line.datum_error, datum_mm),
            holds(&exponent.found, 0.5),
            f64::from(u8::from(told.pooled["cd"].test.unwrap().probability < 0.05)),
        ]) {
            *count += held / series as f64;
        }
    }
    counts
}

/// 1000 series; the figures of 5000 stand at the ignored test below.
#[test]
fn intervals_of_simulated_series_hold_the_truth() {
    let [cv, cd, slope, datum, exponent, poor] = covered(1000, 0.0);
    for (what, share) in [("cv", cv), ("cd", cd), ("slope", slope), ("datum", datum), ("exponent", exponent)] {
        assert!((0.93..=0.97).contains(&share), "{what}: {share}");
    }
    assert!((0.03..=0.07).contains(&poor), "{poor}");
}

/// Last measured, 5000 series, no datum error: Cv 94.70, Cd 94.88, Cv of the slope 95.18, datum error 95.02, exponent
/// 94.86 %; 5.48 % of chi-squared tests of Cd below 5 %. Heads read 5 mm low: slope 95.18 and
/// datum error 95.02 % still, Cv 33, exponent 20 %, and 79 % of the tests of Cd speak.
#[test]
#[ignore = "5000 series twice; numbers recorded above"]
fn intervals_of_five_thousand_simulated_series_hold_the_truth() {
    for datum_mm in [0.0, 5.0] {
        let shares = covered(5000, datum_mm);
        println!("datum {datum_mm} mm: cv, cd, slope, datum, exponent, poor: {shares:.4?}");
        // with a datum error the pooled coefficients and the exponent are wrong by it; the line is not
        for share in if datum_mm == 0.0 { &shares[..5] } else { &shares[2..4] } {
            assert!((0.93..=0.97).contains(share), "{shares:?}");
        }
    }
}
