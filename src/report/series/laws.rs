//! What the runs give together: pooled coefficients with their budgets, and how they go with the head.

use super::super::record::{Block, Table};
use super::{chance, symbol};
use crate::measure::series::{COEFFICIENTS, Law, SeriesFindings};
use crate::quantity::{show, show_interval, show_plain, show_value, two_digits};

/// Rows of a smaller share of a pooled variance are left out of its budget.
const LEAST_SHARE: f64 = 1e-3;

pub(super) fn pooled(found: &SeriesFindings) -> Vec<Block> {
    let columns = [
        ("coefficient", 0.13),
        ("value ± u", 0.21),
        ("95 % interval", 0.22),
        ("runs", 0.08),
        ("whether the runs agree", 0.36),
    ];
    let mut table = Table::new("Coefficients pooled over the runs, with what the runs share counted once", &columns);
    for key in COEFFICIENTS {
        let Some(p) = found.pooled.get(key) else {
            table.row([symbol(key).to_owned(), "none".into(), String::new(), String::new(), "see the notices".into()]);
            continue;
        };
        let f = &p.found;
        let mut agree = chance(p.test);
        if agree.is_empty() {
            agree = "one run alone cannot tell".into();
        }
        if p.between_runs > 0.0 {
            let beyond = show_plain(two_digits(p.between_runs), "");
            agree.push_str(&format!("; {beyond} between runs beyond their uncertainties, included in u"));
        }
        let runs = show_plain(p.runs.len() as f64, "");
        table.row([symbol(key).to_owned(), show(f.value, f.u, ""), show_interval(f.lo, f.hi, ""), runs, agree]);
    }
    let says = "Chi-squared is the sum of squares that the runs leave over, weighted by their covariance, beside its degrees \
                of freedom; the chance is that of a larger one where the runs differ by their stated uncertainties only.";
    vec![Block::Heading("Pooled coefficients".into()), Block::Table(table), Block::Paragraph(says.into())]
}

pub(super) fn laws(found: &SeriesFindings) -> Vec<Block> {
    let columns =
        [("law", 0.25), ("value ± u", 0.22), ("95 % interval", 0.22), ("verdict", 0.16), ("whether it holds", 0.15)];
    let mut table = Table::new("How the runs go with the head", &columns);
    if let Some(line) = &found.head_line {
        let (cv, datum) = (&line.cv, &line.datum_error);
        let name = "Cv from the slope of V² against H".to_owned();
        table.row([name, show(cv.value, cv.u, ""), show_interval(cv.lo, cv.hi, ""), String::new(), chance(line.test)]);
        let verdict = if line.significant { "differs from 0" } else { "0 lies within" };
        let interval = show_interval(datum.lo, datum.hi, &datum.unit);
        let value = show(datum.value, datum.u, &datum.unit);
        table.row(["to be added to the heads as read".to_owned(), value, interval, verdict.into(), chance(line.test)]);
    }
    let mut law = |name: String, law: &Law| {
        let f = &law.found;
        let beside = show_plain(law.expected, "");
        let verdict = if law.significant { format!("{beside} lies outside") } else { format!("{beside} lies within") };
        let interval = show_interval(f.lo, f.hi, "");
        table.row([name, show_value(f.value, f.u, "") + &u(f.u), interval, verdict, chance(law.test)]);
    };
    if let Some(exponent) = &found.exponent {
        law("exponent of Q against H".into(), exponent);
    }
    for key in COEFFICIENTS {
        if let Some(trend) = found.trends.get(key) {
            law(format!("trend of {} {}", symbol(key), trend.found.unit), trend);
        }
    }
    if table.rows.is_empty() {
        let says = "None: the notices say what the runs lack for it.";
        return vec![Block::Heading("Laws".into()), Block::Paragraph(says.into())];
    }
    vec![Block::Heading("Laws".into()), Block::Table(table)]
}

/// ` ± 0.0012`.
fn u(u: f64) -> String {
    format!(" ± {}", show_plain(two_digits(u), ""))
}

pub(super) fn budgets(found: &SeriesFindings) -> Vec<Block> {
    let mut blocks = vec![
        Block::Heading("Budgets of the pooled coefficients".into()),
        Block::Paragraph(
            "Each input's share of the pooled variance. What runs share does not average out, however many runs there are; \
             correlations between runs can make a share negative."
                .into(),
        ),
    ];
    for key in COEFFICIENTS {
        let Some(pooled) = found.pooled.get(key) else { continue };
        let caption = format!("Budget of the pooled {}", symbol(key));
        let mut table = Table::new(&caption, &[("input", 0.4), ("share", 0.2), ("in several runs", 0.4)]);
        for row in pooled.budget.iter().filter(|row| row.share.abs() >= LEAST_SHARE) {
            let shared = if row.shared { "one and the same thing" } else { "of each run by itself" };
            table.row([row.input.clone(), show_value(100.0 * row.share, 1.0, "%"), shared.to_owned()]);
        }
        blocks.push(Block::Table(table));
    }
    blocks
}

/// What was computed, with sources.
const FORMULAE: [(&str, &str); 5] = [
    (
        "C = Σ wᵢ Cᵢ,  w = S⁻¹ 1 / (1ᵀ S⁻¹ 1)",
        "pooled coefficient, weights of least variance; S is the covariance of the runs, which what they share causes \
         (A. C. Aitken, 1935, Proc. R. Soc. Edinb. 55:42); no weight is negative",
    ),
    ("V² / (2 g) = Cv² (H + h₀)", "the line of V² against H; h₀ is what must be added to the heads as read"),
    ("ln Q = ln k + n ln H", "exponent n of the discharge; 0.5 where Cd does not change with the head"),
    ("C = C₀ + t H", "trend t of a coefficient"),
    (
        "u → u √(χ² / ν)",
        "where a line leaves more over than the uncertainties bear (R. T. Birge, 1932, Phys. Rev. 40:207), and Student's t \
         of its ν degrees of freedom",
    ),
];

pub(super) fn formulae() -> Vec<Block> {
    let mut table = Table::new("Formulae and symbols", &[("formula", 0.38), ("what it gives", 0.62)]);
    for (formula, gives) in FORMULAE {
        table.row([formula.to_owned(), gives.to_owned()]);
    }
    let says = "How each run was measured stands in its own record. H is the head, V the velocity at the vena contracta, Q the \
                discharge, g gravity. Uncertainties behind ± are standard uncertainties.";
    vec![Block::Heading("Formulae".into()), Block::Table(table), Block::Paragraph(says.into())]
}
