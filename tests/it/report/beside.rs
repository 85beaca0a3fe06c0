//! What stands beside the results, in the record and in the terminal's table.

use super::fixture;
use std::collections::BTreeMap;
use trajet::measure::{
    CauseRow, CorrectionRow, DrawnRow, Findings, Found, MonteCarloTable, PublishedRow, SinglePointView,
};
use trajet::report::record::{Block, Record};
use trajet::report::table::{Paint, text};

fn found(value: f64, u: f64, unit: &str) -> Option<Found> {
    Some(Found { value, u, lo: value - 2.0 * u, hi: value + 2.0 * u, unit: unit.into() })
}

fn published(what: &str, by: &str, why_not: Option<&str>) -> PublishedRow {
    let applies = why_not.is_none();
    PublishedRow {
        what: what.into(),
        by: by.into(),
        source: "Hydraulics (1911)".into(),
        place: "sec. 17".into(),
        basis: "experiment".into(),
        range: "most heads".into(),
        value: applies.then_some(0.97),
        u: 0.01,
        difference_in_u: applies.then_some(-1.7713),
        why_not: why_not.map(Into::into),
    }
}

fn correction(name: &str, applied: bool) -> CorrectionRow {
    CorrectionRow {
        correction: name.into(),
        applied,
        velocity: found(2.8350, 0.0062, "m/s"),
        cv: found(0.9552, 0.0022, ""),
        cd: None,
        velocity_change: 0.001325,
        velocity_change_u: 0.000187,
        cv_change: 0.003419,
        cv_change_u: 0.000484,
        cd_change: 0.0,
        cd_change_u: 0.0,
    }
}

pub fn findings() -> Findings {
    let drawn = DrawnRow {
        mean: 2.8311,
        u: Some(0.0064),
        lo: 2.8184,
        hi: 2.8439,
        unit: "m/s".into(),
        u_over_linear: Some(1.0492),
        verdict: "agrees".into(),
        says: "agrees".into(),
    };
    let cause =
        |cause: &str, can_be| CauseRow { cause: cause.into(), says: "+0.40 deg".into(), explains: 0.751, can_be };
    Findings {
        cc: found(0.6276, 0.0066, ""),
        cc_from_width: found(0.676, 0.033, ""),
        published: vec![published("cv", "W. C. Unwin", None), published("cd", "J. G. Mair", Some("d is too small"))],
        corrections: vec![correction("surface-tension", false), correction("air-drag", true)],
        single_point: Some(SinglePointView {
            launch_deg: 0.0,
            rise: -0.022831,
            rise_u: 0.003352,
            x_mm: [6.24, 946.6],
            significant: true,
            causes: vec![cause("launch", true), cause("air drag", false)],
        }),
        monte_carlo: Some(MonteCarloTable {
            draws: 20_000,
            refused: 3,
            seed: 7,
            stable: true,
            results: BTreeMap::from([("velocity".into(), drawn)]),
        }),
        ..fixture::findings()
    }
}

/// Headings, paragraphs and cells (joined by ` | `), one a line.
fn lines(findings: &Findings) -> String {
    let sheet = fixture::sheet("Plate C, run 2");
    let record = Record { findings, sheet: Some(&sheet), photo: None };
    let mut lines = Vec::new();
    for block in record.blocks() {
        match block {
            Block::Heading(t) | Block::Subheading(t) | Block::Paragraph(t) => lines.push(t),
            Block::Table(t) => lines.extend(t.rows.iter().map(|r| r.join(" | "))),
            _ => {}
        }
    }
    lines.join("\n")
}

#[test]
fn the_record_has_a_section_for_each() {
    let all = lines(&findings());
    for line in [
        "Q / (A V), from the flow | 0.6276 ± 0.0066 | 0.6144 to 0.6408",
        // 0.0484 over hypot(0.033, 0.0066) = 0.033654
        "From the width less from the flow: +0.048 ± 0.034, +1.4 u in their combined standard uncertainty.",
        "Cv | W. C. Unwin, in Hydraulics (1911), sec. 17 (experiment) | 0.970 ± 0.010 | most heads | -1.8 u",
        "| none here | most heads | does not apply: d is too small",
        "the stations' velocities change by -2.28 % ± 0.34 % from x = 6.2 mm to x = 946.6 mm. It stands out",
        "launch | +0.40 deg | 75 % | yes",
        "air drag | +0.40 deg | 75 % | no: not of this size",
        "surface-tension | not applied | 2.8350 m/s ± 0.0062 m/s (+0.133 % ± 0.019 %)",
        "air-drag | applied | ",
        "drawn together 20000 times",
        "seed 7; 3 draws gave no result",
        "V | budget | 2.8312 m/s ± 0.0061 m/s",
        "V | drawn | 2.8311 m/s ± 0.0064 m/s | 2.8184 to 2.8439 m/s | agrees (u 1.049 times what the budget gives)",
    ] {
        assert!(all.contains(line), "{line}\n\n{all}");
    }
}

#[test]
fn what_was_not_found_makes_no_section_and_no_block() {
    let all = lines(&fixture::findings());
    for heading in ["Contraction by two ways", "Published", "single stations", "Corrections considered", "Monte Carlo"]
    {
        assert!(!all.contains(heading), "{heading}");
        assert!(lines(&findings()).contains(heading), "{heading}");
    }
    let printed = text(&fixture::findings(), Paint(false));
    for block in ["Cc from the width", "published", "corrected", "monte carlo"] {
        assert!(!printed.contains(block), "{printed}");
    }
}

#[test]
fn the_table_tells_only_what_applies() {
    let printed = text(&findings(), Paint(false));
    let expected = "\
  Cc from the width   0.676 ± 0.033, +1.4 u from that of the flow
  published, and this result less it in their combined u
    Cv  0.970 ± 0.010      -1.8 u  W. C. Unwin
  corrected for (in the results)
    air-drag         V +0.133 % ± 0.019 %, Cv +0.342 % ± 0.048 %
  if corrected
    surface-tension  V +0.133 % ± 0.019 %, Cv +0.342 % ± 0.048 %
  monte carlo, 20000 draws of seed 7, 3 of them without a result; two digits of every u are stable
    V   2.8311 m/s ± 0.0064 m/s     95 %: 2.8184 to 2.8439 m/s     agrees
";
    assert!(printed.contains(expected), "\n{printed}");
    assert!(!printed.contains("Mair"));
}
