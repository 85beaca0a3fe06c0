//! The table to read, from findings made by hand.

use std::collections::BTreeMap;
use trajet::measure::{BudgetRow, CorrectionRow, Findings, Found};
use trajet::report::table::{Paint, text};

fn found(value: f64, u: f64, unit: &str) -> Option<Found> {
    Some(Found { value, u, lo: value - 2.0 * u, hi: value + 2.0 * u, unit: unit.to_owned() })
}

fn row(input: &str, value: &str, u: &str, share: f64) -> BudgetRow {
    BudgetRow { input: input.to_owned(), value: value.to_owned(), u: u.to_owned(), sensitivity: 1.0, share }
}

fn by_hand() -> Findings {
    let plain = |value: f64, unit: &str| Found { value, u: 0.0, lo: value, hi: value, unit: unit.to_owned() };
    Findings {
        format: 1,
        sheet: "c-run2.toml".to_owned(),
        title: "Plate C, run 2".to_owned(),
        velocity: found(2.77412, 0.0061, "m/s"),
        launch_angle: found(-0.21, 0.1, "deg"),
        head: found(412.0, 0.5, "mm"),
        ideal_velocity: found(2.8427, 0.0018, "m/s"),
        cv: found(0.97587, 0.0025, ""),
        k: found(0.0504, 0.0054, ""),
        reynolds: found(29_123.0, 190.0, ""),
        budget: BTreeMap::from([(
            "velocity".to_owned(),
            vec![
                row("scale.length", "500.00 mm", "0.3 mm", 0.61),
                row("scale.marks", "4 readings", "0.7 px", 0.3896),
                row("head.reading", "412.00 mm", "0.5 mm", 0.0004),
            ],
        )]),
        fit: BTreeMap::from([
            ("stations".to_owned(), plain(412.0, "")),
            ("stations_used".to_owned(), plain(409.0, "")),
            ("effective_stations".to_owned(), plain(61.4, "")),
            ("rms_off".to_owned(), plain(0.0812, "mm")),
            ("rms_off_px".to_owned(), plain(0.31, "px")),
        ]),
        corrections: vec![CorrectionRow {
            correction: "surface-tension".to_owned(),
            applied: false,
            velocity: found(2.7778, 0.0061, "m/s"),
            cv: found(0.9792, 0.0025, ""),
            cd: None,
            velocity_change: 0.001_325,
            velocity_change_u: 0.000_187,
            cv_change: 0.003_419,
            cv_change_u: 0.000_484,
            cd_change: 0.002_091,
            cd_change_u: 0.000_296,
        }],
        ..Findings::default()
    }
}

/// Decimal points stand below one another; what is absent is a dash; shares below 0.05 % are left out.
const EXPECTED: &str = "\
Plate C, run 2 (c-run2.toml)
  velocity V          2.7741 m/s  ± 0.0061     95 %: 2.7619 to 2.7863 m/s
  launch angle       -0.21   deg  ± 0.10       95 %: -0.41 to -0.01 deg
  head H            412.00   mm   ± 0.50       95 %: 411.00 to 413.00 mm
  ideal velocity      2.8427 m/s  ± 0.0018     95 %: 2.8391 to 2.8463 m/s
  Cv                  0.9759      ± 0.0025     95 %: 0.9709 to 0.9809
  Cd                  -
  Cc                  -
  K                   0.0504      ± 0.0054     95 %: 0.0396 to 0.0612
  discharge Q         -
  head lost           -
  jet power           -
  stream width        -
  Reynolds        29120           ± 190        95 %: 28740 to 29500
  Weber               -
  409 of 412 stations, worth 61 independent ones; off the trajectory 0.081 mm = 0.31 px rms
  if corrected
    surface-tension  V +0.133 % ± 0.019 %, Cv +0.342 % ± 0.048 %
  what the uncertainty of V is made of
     61.0 %  scale.length         500.00 mm ± 0.3 mm
     39.0 %  scale.marks          4 readings ± 0.7 px
";

#[test]
fn the_table_reads_as_it_should() {
    let printed = text(&by_hand(), Paint(false));
    assert_eq!(printed, EXPECTED, "\n{printed}");
}

#[test]
fn colour_changes_nothing_but_colour() {
    let mut painted = text(&by_hand(), Paint(true));
    for code in ["\u{1b}[0m", "\u{1b}[1m", "\u{1b}[2m"] {
        assert!(painted.contains(code));
        painted = painted.replace(code, "");
    }
    assert_eq!(painted, text(&by_hand(), Paint(false)));
}

#[test]
fn a_sheet_without_a_title_goes_by_its_file() {
    let findings = Findings { title: String::new(), ..by_hand() };
    assert_eq!(text(&findings, Paint(false)).lines().next(), Some("c-run2.toml"));
}
