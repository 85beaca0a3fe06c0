//! The record as one HTML file that needs nothing else: style, figures and photo are inside, there is no script.

use super::record::{Block, Document, Record, Table};
use super::svg::{Place, svg};
use crate::card::Paper;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style sheet; the paper's name comes before it.
const STYLE: &str = include_str!("style.css");

/// A longer word, in characters, breaks anywhere: a hash, a file name.
const LONG_WORD: usize = 26;

/// The record as HTML, for printing on `paper`.
pub fn html(record: &Record, paper: Paper) -> String {
    page(&record.document(), paper)
}

/// A document as HTML, for printing on `paper`.
pub fn page(document: &Document, paper: Paper) -> String {
    let title = clean(&document.title);
    let style = format!("@page {{ size: {}; }}\n{STYLE}", paper.name().to_lowercase());
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " - " (document.kind) }
                style { (PreEscaped(style)) }
            }
            body {
                header {
                    p.kind { (document.kind) }
                    h1 { (title) }
                }
                main { @for section in sections(&document.blocks) { (set_section(section)) } }
                footer { p { "Made by Trajet " (env!("CARGO_PKG_VERSION")) ". The numbers of this record are those of the findings file, rounded to what their uncertainty deserves." } }
            }
        }
    };
    page.into_string()
}

/// The blocks cut before each heading.
fn sections(blocks: &[Block]) -> Vec<&[Block]> {
    let mut starts: Vec<usize> = (0..blocks.len()).filter(|i| matches!(blocks[*i], Block::Heading(_))).collect();
    if starts.first() != Some(&0) {
        starts.insert(0, 0);
    }
    starts.push(blocks.len());
    starts.windows(2).map(|w| &blocks[w[0]..w[1]]).filter(|s| !s.is_empty()).collect()
}

/// A section; what comes before the first heading is none.
fn set_section(blocks: &[Block]) -> Markup {
    let inside = html! { @for block in blocks { (set(block)) } };
    match blocks.first() {
        Some(Block::Heading(_)) => html! { section { (inside) } },
        _ => html! { div.section { (inside) } },
    }
}

fn set(block: &Block) -> Markup {
    html! {
        @match block {
            Block::Heading(text) => h2 { (clean(text)) },
            Block::Subheading(text) => h3 { (clean(text)) },
            Block::Paragraph(text) => p { (clean(text)) },
            Block::List(items) => ul { @for item in items { li { (clean(item)) } } },
            Block::Table(table) => (set_table(table)),
            Block::Figure(figure) => figure {
                (PreEscaped(svg(figure, Place::Html)))
                figcaption { (clean(&figure.caption)) }
            },
            Block::Signatures(who) => div.signatures {
                @for name in who { p { span.line {} (clean(name)) ", name, date" } }
            },
        }
    }
}

fn set_table(table: &Table) -> Markup {
    let has_heads = table.heads.iter().any(|h| !h.is_empty());
    let percent = |share: &f64| format!("width:{}%", (100.0 * share).round());
    html! {
        div.wide { table {
            caption { (clean(&table.caption)) }
            colgroup { @for share in &table.widths { col style=(percent(share)); } }
            @if has_heads { thead { tr { @for head in &table.heads { th scope="col" { (clean(head)) } } } } }
            tbody { @for row in &table.rows { tr {
                @for (i, cell) in row.iter().enumerate() {
                    @if i == 0 { th.long[is_long(cell)] scope="row" { (clean(cell)) } } @else {
                        // a reason why there is no result, which has no interval, is none
                        @let is_result = table.results == Some(i) && row.get(i + 1).is_some_and(|c| !c.is_empty());
                        td.result[is_result].long[is_long(cell)] { (clean(cell)) }
                    }
                }
            } } }
        } }
    }
}

/// Whether it has a word that may not hold a column open.
fn is_long(cell: &str) -> bool {
    cell.split_whitespace().any(|word| word.chars().count() > LONG_WORD)
}

/// Without control characters, which HTML does not allow.
fn clean(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() || *c == '\n').collect()
}
