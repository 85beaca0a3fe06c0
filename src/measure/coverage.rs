//! Do the intervals hold the truth as often as they say, and does Monte Carlo say the same as the budget?

#![cfg(test)]

use super::simulated::{CC, CV, Marks, simulated};
use super::{Draws, Findings, Found};

/// Of runs drawn with every input from its stated uncertainty: share of 95 % intervals that hold the truth, and the root
/// mean square of the error over its standard uncertainty, for V, Cv, Cd, Cc.
fn study(seed: u64, runs: u64, marks: Marks) -> [(&'static str, f64, f64); 4] {
    let mut held = [0.0; 4];
    let mut squares = [0.0; 4];
    let mut count = 0.0;
    for run in 0..runs {
        let Some(one) = simulated(seed, run, marks, 60) else { continue };
        let f = one.findings(Draws::None).unwrap();
        let truths = [one.velocity_m_s, CV, CV * CC, CC];
        let found = |f: Option<Found>| f.unwrap();
        let results = [found(f.velocity), found(f.cv), found(f.cd), found(f.cc)];
        count += 1.0;
        for (k, (r, truth)) in results.iter().zip(truths).enumerate() {
            held[k] += f64::from(u8::from(r.lo <= truth && truth <= r.hi));
            squares[k] += ((r.value - truth) / r.u).powi(2);
        }
    }
    assert!(count > 0.98 * runs as f64, "{count} of {runs} runs could be seen");
    let mut k = 0;
    ["velocity", "cv", "cd", "cc"].map(|name| {
        let row = (name, held[k] / count, (squares[k] / count).sqrt());
        k += 1;
        row
    })
}

/// 60 runs: a coverage of 95 % gives 51 or more of 60 but once in 500, and an rms between 0.7 and 1.3 but once in 1000.
/// The seed is fixed, so the test is a test of the code, not of luck.
#[test]
fn intervals_hold_the_truth() {
    for (name, held, rms) in study(7, 60, Marks::Two) {
        eprintln!("{name}: {:.1} % held, rms z {rms:.2}", 100.0 * held);
        assert!((0.85..=1.0).contains(&held), "{name}: {held}");
        assert!((0.7..1.3).contains(&rms), "{name}: {rms}");
    }
}

/// Last measured, seeds 11 to 14 with two marks, 11 and 12 with six, held in % and rms of error over u:
///
/// ```text
///                            V             Cv            Cd            Cc
/// two marks, plumb line  95.5, 0.984   95.5, 0.985   95.2, 0.986   95.1, 0.986
/// six plane marks        93.9, 1.049   94.4, 1.041   95.6, 0.986   95.7, 0.985
/// ```
/// Those of six marks are from when the simulation bowed the stream's middle over x, which moves V by 4 % more than over the
/// length along the stream, as `shape.rs` has it and the simulation now, too. Where the bow leads that makes an rms of up to
/// 1.04; not run again since.
///
/// With the bend of an unknown lens and an askew camera left in the stations' scatter (see `owned.rs`), and so counted
/// twice, V and Cv with two marks were held in 97.7 and 97.9 %.
const SEEDS: [u64; 4] = [11, 12, 13, 14];

#[test]
#[ignore = "two minutes: 4000 runs of each kind"]
fn intervals_hold_the_truth_in_93_to_97_percent() {
    for marks in [Marks::Two, Marks::Six] {
        let mut pooled = [0.0; 4];
        for seed in SEEDS {
            for (k, (name, held, rms)) in study(seed, 1000, marks).into_iter().enumerate() {
                eprintln!("{marks:?} {name}, seed {seed}: {:.1} % held, rms z {rms:.3}", 100.0 * held);
                pooled[k] += held / SEEDS.len() as f64;
            }
        }
        eprintln!("{marks:?}, all seeds: {pooled:.4?}");
        for held in pooled {
            assert!((0.93..=0.97).contains(&held), "{marks:?}: {pooled:?}");
        }
    }
}

fn drawn(marks: Marks, draws: u64, threads: usize) -> Findings {
    let one = simulated(3, 4, marks, 450).unwrap();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    pool.install(|| one.findings(Draws::Fixed(draws)).unwrap())
}

#[test]
fn draws_are_the_same_for_any_number_of_threads() {
    let (one, three) = (drawn(Marks::Two, 10_000, 1), drawn(Marks::Two, 10_000, 3));
    assert_eq!(one.monte_carlo, three.monte_carlo);
    let table = one.monte_carlo.unwrap();
    assert_eq!((table.draws, table.seed), (10_000, 1));
    assert_eq!(table.results.len(), 18);
}

/// JCGM 101:2008, 7.9.4: the draws go on until two digits of every u are stable, or to the last.
#[test]
fn draws_go_on_until_two_digits_are_stable() {
    let f = simulated(3, 4, Marks::Six, 12).unwrap().findings(Draws::Adaptive).unwrap();
    let table = f.monte_carlo.unwrap();
    assert!(table.draws > 20_000 && table.stable == (table.draws < 1_000_000), "{} draws", table.draws);
}

/// Standard uncertainties within 3 % of one another. Last measured: V 2.0 % and Cc 2.3 % more than the budget with two
/// marks (the camera's squareness enters by its cosine, which the linear budget does not see), 0.7 % at most
/// with six; of that 0.4 % is the sampling of 30 000 draws.
#[test]
fn budget_and_draws_agree() {
    for marks in [Marks::Two, Marks::Six] {
        let f = drawn(marks, 30_000, 2);
        let table = f.monte_carlo.unwrap();
        assert!(table.refused * 1000 <= table.draws, "{} refused", table.refused);
        for name in ["velocity", "cv", "cd", "cc", "head", "discharge"] {
            let row = &table.results[name];
            eprintln!("{marks:?} {name}: {:?}, {}", row.u_over_linear, row.says);
        }
        for name in ["velocity", "cv", "cd", "cc", "head", "discharge"] {
            let ratio = table.results[name].u_over_linear.unwrap();
            assert!((ratio - 1.0).abs() < 0.03, "{marks:?} {name}: {ratio}");
        }
    }
}

/// Measured at opt-level 3 over 20 000 draws of 450 stations: 14 us of processor time a draw, so 1.4 s for 100 000, shared by
/// the threads.
#[test]
#[ignore = "a measurement of time"]
fn a_hundred_thousand_draws() {
    let one = simulated(3, 4, Marks::Two, 450).unwrap();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap();
    let begun = std::time::Instant::now();
    pool.install(|| one.findings(Draws::None).unwrap());
    let without = begun.elapsed().as_secs_f64();
    let begun = std::time::Instant::now();
    pool.install(|| one.findings(Draws::Fixed(100_000)).unwrap());
    eprintln!("{:.2} s for the draws, {without:.2} s for the rest", begun.elapsed().as_secs_f64() - without);
}
