//! What the series is made of: its runs, those that are outlying, notices, hashes.

use super::super::record::{Block, Table};
use super::symbol;
use crate::measure::Found;
use crate::measure::series::{COEFFICIENTS, SeriesFindings};
use crate::quantity::{show, show_in_u, show_plain};

pub(super) fn title(found: &SeriesFindings) -> Vec<Block> {
    let mut table = Table::new("The series", &[("", 0.28), ("", 0.72)]);
    let mut fact = |name: &str, value: String| {
        if !value.is_empty() {
            table.row([name.to_owned(), value]);
        }
    };
    fact("title", found.title.clone());
    fact("series", found.series.clone());
    fact("runs", show_plain(found.runs.len() as f64, ""));
    let heads: Vec<&Found> = found.runs.iter().filter_map(|run| run.head.as_ref()).collect();
    let by_value = |a: &&&Found, b: &&&Found| a.value.total_cmp(&b.value);
    if let (Some(low), Some(high)) = (heads.iter().min_by(by_value), heads.iter().max_by(by_value)) {
        let [low, high] = [low, high].map(|h| show(h.value, h.u, &h.unit));
        fact("heads", format!("from {low} to {high}"));
    }
    for (name, value) in &found.inputs {
        fact(name, value.clone());
    }
    vec![Block::Table(table)]
}

pub(super) fn runs(found: &SeriesFindings) -> Vec<Block> {
    let unit = |of: fn(&crate::measure::series::RunRow) -> Option<&Found>, symbol: &str| {
        let unit = found.runs.iter().find_map(of).map_or("", |f| f.unit.as_str());
        if unit.is_empty() { symbol.to_owned() } else { format!("{symbol} / ({unit})") }
    };
    let [head, velocity, discharge] =
        [unit(|r| r.head.as_ref(), "H"), unit(|r| r.velocity.as_ref(), "V"), unit(|r| r.discharge.as_ref(), "Q")];
    let columns = [
        ("run", 0.16),
        (head.as_str(), 0.14),
        (velocity.as_str(), 0.14),
        (discharge.as_str(), 0.14),
        ("Cv", 0.14),
        ("Cd", 0.14),
        ("Cc", 0.14),
    ];
    let mut table = Table::new("Runs: value ± standard uncertainty", &columns);
    for run in &found.runs {
        let plain = |f: &Option<Found>| f.as_ref().map_or_else(|| "none".to_owned(), |f| show(f.value, f.u, ""));
        let marked = |key: &str, f: &Option<Found>| {
            let outlying = run.outlying.iter().any(|k| k == key);
            format!("{}{}", plain(f), if outlying { ", outlying" } else { "" })
        };
        table.row([
            run.run.clone(),
            plain(&run.head),
            plain(&run.velocity),
            plain(&run.discharge),
            marked("cv", &run.cv),
            marked("cd", &run.cd),
            marked("cc", &run.cc),
        ]);
    }
    vec![Block::Heading("Runs".into()), Block::Table(table)]
}

pub(super) fn outlying(found: &SeriesFindings) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Outlying runs".into())];
    let columns = [("run", 0.3), ("coefficient", 0.16), ("of this run", 0.3), ("off the others", 0.24)];
    let mut table = Table::new("Runs that the others do not bear out; they are pooled all the same", &columns);
    for run in &found.runs {
        for key in COEFFICIENTS.iter().filter(|key| run.outlying.iter().any(|k| k == *key)) {
            let own = match *key {
                "cv" => &run.cv,
                "cd" => &run.cd,
                _ => &run.cc,
            };
            let own = own.as_ref().map_or_else(String::new, |f| show(f.value, f.u, ""));
            let off = run.off.get(*key).map_or_else(String::new, |off| show_in_u(*off));
            table.row([run.run.clone(), symbol(key).to_owned(), own, off]);
        }
    }
    if table.rows.is_empty() {
        blocks.push(Block::Paragraph("None: every run agrees with what the others give.".into()));
    } else {
        blocks.push(Block::Table(table));
        let says = "The last column is how far the run lies from what the other runs give, in the standard uncertainty u of \
                    that difference. Look into such a run before it is left out: its sheet, its photo, its head.";
        blocks.push(Block::Paragraph(says.into()));
    }
    blocks
}

pub(super) fn notices(found: &SeriesFindings) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Notices".into())];
    if found.notices.is_empty() {
        blocks.push(Block::Paragraph("None of the series; those of a run stand in its own record.".into()));
        return blocks;
    }
    let columns = [("about", 0.2), ("what is the case", 0.45), ("what can be done", 0.35)];
    let mut table = Table::new("What a reader should know about this series", &columns);
    for n in &found.notices {
        table.row([n.about.clone(), n.says.clone(), n.hint.clone().unwrap_or_default()]);
    }
    blocks.push(Block::Table(table));
    blocks
}

pub(super) fn inputs(found: &SeriesFindings) -> Vec<Block> {
    let mut table =
        Table::new("What each run was made from", &[("run", 0.16), ("sheet", 0.2), ("input", 0.2), ("value", 0.44)]);
    for run in &found.runs {
        for (i, (name, value)) in run.inputs.iter().enumerate() {
            let first = |text: &String| if i == 0 { text.clone() } else { String::new() };
            table.row([first(&run.run), first(&run.sheet), name.clone(), value.clone()]);
        }
    }
    vec![Block::Heading("Inputs".into()), Block::Table(table)]
}
