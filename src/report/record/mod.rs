//! The record of one measurement as plain blocks: headings, paragraphs, tables, figures.
//!
//! Findings, sheet and photo become blocks once, here; [`crate::report::html`] and the PDF only set them. So both say
//! the same, in the same order, and a reader who checks one has checked the other. Each section is a function of its own;
//! what findings do not hold makes no section, and a result that is absent says why.

mod budgets;
mod cautions;
mod contraction;
mod corrections;
mod drawn;
mod figures;
mod formulae;
mod inputs;
mod published;
mod results;
mod single_point;
mod stations;
mod title;

pub use cautions::CAUTIONS;

pub use results::{RESULTS, Result as Listed, absent_because};

use super::figure::Figure;
use crate::measure::Findings;
use crate::photo::Photo;
use crate::sheet::Checked;
use std::collections::BTreeMap;

/// What a record is made of.
#[derive(Clone, Copy, Debug)]
pub struct Record<'a> {
    /// What was found.
    pub findings: &'a Findings,
    /// The sheet it was found from; without one, of findings that were kept, what only it tells says so.
    pub sheet: Option<&'a Checked>,
    /// The photo; without one its figures say so.
    pub photo: Option<&'a Photo>,
}

/// What a page or a PDF is set from.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// What kind of document it is, above its title.
    pub kind: &'static str,
    /// Its title.
    pub title: String,
    /// Hashes of what it was made from.
    pub hashes: Vec<String>,
    /// All of it, in order.
    pub blocks: Vec<Block>,
}

impl Document {
    /// The figures, each once.
    pub fn figures(self) -> Vec<Figure> {
        let figure = |block| match block {
            Block::Figure(figure) => Some(*figure),
            _ => None,
        };
        self.blocks.into_iter().filter_map(figure).collect()
    }
}

/// One piece of a record.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// The heading of a section.
    Heading(String),
    /// The heading of a part of a section.
    Subheading(String),
    /// Running text.
    Paragraph(String),
    /// Points, one line or more each.
    List(Vec<String>),
    /// A table.
    Table(Table),
    /// A figure.
    Figure(Box<Figure>),
    /// Lines to sign on, each with who signs there.
    Signatures(Vec<String>),
}

/// A table of texts.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Its columns' heads, with units.
    pub heads: Vec<String>,
    /// Share of the width that each column takes.
    pub widths: Vec<f64>,
    /// Its rows, each as long as `heads`.
    pub rows: Vec<Vec<String>>,
    /// The column of results, to be seen first.
    pub results: Option<usize>,
}

impl Table {
    pub(super) fn new(caption: &str, columns: &[(&str, f64)]) -> Self {
        Self {
            caption: caption.to_owned(),
            heads: columns.iter().map(|(head, _)| (*head).to_owned()).collect(),
            widths: columns.iter().map(|(_, width)| *width).collect(),
            rows: Vec::new(),
            results: None,
        }
    }

    pub(super) fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.into());
    }
}

impl Record<'_> {
    /// The title, or the sheet's name where it has none.
    pub fn title(&self) -> &str {
        if self.findings.title.is_empty() { &self.findings.sheet } else { &self.findings.title }
    }

    /// All of it, in order.
    pub fn blocks(&self) -> Vec<Block> {
        let sections: [fn(&Record) -> Vec<Block>; 15] = [
            title::title,
            results::results,
            results::notices,
            figures::photo,
            figures::curves,
            contraction::contraction,
            published::published,
            single_point::single_point,
            corrections::corrections,
            budgets::budgets,
            drawn::drawn,
            inputs::inputs,
            formulae::formulae,
            cautions::cautions,
            stations::stations,
        ];
        sections.iter().flat_map(|section| section(self)).collect()
    }

    /// It as a document.
    pub fn document(&self) -> Document {
        Document {
            kind: "Record of a jet measurement",
            title: self.title().to_owned(),
            hashes: hashes(&self.findings.inputs),
            blocks: self.blocks(),
        }
    }

    /// The figures, each once.
    pub fn figures(&self) -> Vec<Figure> {
        self.document().figures()
    }
}

/// The hashes among what went in.
pub(super) fn hashes(inputs: &BTreeMap<String, String>) -> Vec<String> {
    inputs.iter().filter(|(name, _)| name.ends_with("sha256")).map(|(_, hash)| hash.clone()).collect()
}

/// A figure, or the sentence that says why there is none.
pub(super) fn figure_or_why(what: &str, drawn: super::figure::Drawn) -> Block {
    match drawn {
        Ok(figure) => Block::Figure(Box::new(figure)),
        Err(why) => Block::Paragraph(format!("No figure of {what}: {why}.")),
    }
}
