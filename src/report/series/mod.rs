//! The record of a series: the same kinds of blocks as the record of one run, from [`SeriesFindings`] alone.

mod figures;
mod laws;
mod runs;

pub use figures::{against_head, against_reynolds, discharge, velocity_head};

use super::figure::Figure;
use super::record::{Block, CAUTIONS, Document, figure_or_why, hashes};
use crate::measure::series::{COEFFICIENTS, SeriesFindings, Test};
use crate::quantity::{show_plain, two_digits};

/// The record of a series.
pub fn document(found: &SeriesFindings) -> Document {
    let mut blocks = runs::title(found);
    blocks.extend(laws::pooled(found));
    blocks.extend(laws::laws(found));
    blocks.extend(curves(found));
    blocks.extend(runs::runs(found));
    blocks.extend(runs::outlying(found));
    blocks.extend(runs::notices(found));
    blocks.extend(laws::budgets(found));
    blocks.extend(runs::inputs(found));
    blocks.extend(laws::formulae());
    blocks.push(Block::Heading("Cautions".into()));
    blocks.push(Block::List(CAUTIONS.iter().map(|c| (*c).to_owned()).collect()));
    blocks.push(Block::Heading("Signatures".into()));
    blocks.push(Block::Signatures(vec!["measured by".into(), "checked by".into()]));
    let mut all = hashes(&found.inputs);
    all.extend(found.runs.iter().flat_map(|run| hashes(&run.inputs)));
    let title = if found.title.is_empty() { &found.series } else { &found.title };
    Document { kind: "Record of a series of jet measurements", title: title.clone(), hashes: all, blocks }
}

/// Every figure of a series.
pub fn figures(found: &SeriesFindings) -> Vec<Figure> {
    document(found).figures()
}

fn curves(found: &SeriesFindings) -> Vec<Block> {
    let mut blocks = vec![
        Block::Heading("Over the range of heads".into()),
        figure_or_why("the discharge against the head", discharge(found)),
        figure_or_why("the velocity head against the head", velocity_head(found)),
    ];
    for key in COEFFICIENTS {
        blocks.push(figure_or_why(&format!("{} against the head", symbol(key)), against_head(found, key)));
    }
    for key in COEFFICIENTS {
        let what = format!("{} against the Reynolds number", symbol(key));
        blocks.push(figure_or_why(&what, against_reynolds(found, key)));
    }
    blocks
}

/// `Cv` of `cv`.
fn symbol(key: &str) -> &'static str {
    match key {
        "cv" => "Cv",
        "cd" => "Cd",
        _ => "Cc",
    }
}

/// `chi-squared 2.1 of 3, chance 55 %`; empty where there is no test.
fn chance(test: Option<Test>) -> String {
    let Some(t) = test else { return String::new() };
    let percent = if t.probability < 1e-3 {
        format!("below {}", show_plain(0.1, "%"))
    } else {
        show_plain(two_digits(100.0 * t.probability), "%")
    };
    format!("chi-squared {} of {}, chance {percent}", show_plain(two_digits(t.chi2), ""), t.dof)
}
