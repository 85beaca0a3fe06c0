//! Blocks onto pages.

use super::super::figure::{Figure, Frame};
use super::super::record::{Block, Table};
use super::super::svg::{Layout, Place, layout, svg};
use super::{Pages, Role};

const TEXT: f64 = 9.0;
const SMALL: f64 = 8.0;
const LEADING: f64 = 1.35;
/// Room between columns.
const GUTTER: f64 = 6.0;
/// A heading stays with at least this much of a table or text that follows, points.
const KEPT_TOGETHER: f64 = 70.0;
/// What a heading and a subheading take themselves, points.
const HEADING: f64 = 30.0;
const SUBHEADING: f64 = 20.0;
/// What lines to sign on take, points.
const SIGNATURES: f64 = 60.0;

/// The kind of document, above its title.
pub(super) fn kind(pages: &mut Pages, text: &str) {
    pages.within(Role::Paragraph, |pages| running(pages, text, TEXT, false, 90, 0.0));
}

/// The title of the whole.
pub(super) fn title(pages: &mut Pages, text: &str) {
    pages.within(Role::Heading(1), |pages| running(pages, text, 17.0, true, 0, 0.0));
    let (left, right, y) = (pages.left(), pages.left() + pages.width(), pages.y);
    pages.rule([left, y], [right, y], 1.2, 0);
    pages.y += 8.0;
}

/// All blocks, in order.
pub(super) fn blocks(pages: &mut Pages, blocks: &[Block]) {
    for (i, one) in blocks.iter().enumerate() {
        pages.need(kept(pages, &blocks[i..]));
        block(pages, one);
    }
}

/// Height of what may not be parted from the first of `blocks`, points: a heading stays with what it heads, and with what the
/// sentences under it lead to; a figure is whole.
fn kept(pages: &Pages, blocks: &[Block]) -> f64 {
    let lines = |text: &str| pages.regular.lines(text, TEXT, pages.width()).len() as f64 * TEXT * LEADING + 4.0;
    match blocks {
        [Block::Heading(_), Block::Paragraph(text), rest @ ..] => {
            let leads = matches!(rest.first(), Some(Block::Subheading(_) | Block::Table(_)));
            HEADING + lines(text) + if leads { kept(pages, rest) } else { 0.0 }
        }
        [Block::Heading(_), rest @ ..] => HEADING + kept(pages, rest),
        [Block::Subheading(_), rest @ ..] => SUBHEADING + kept(pages, rest),
        [Block::Figure(f), ..] => Fitted::new(pages, f).height(),
        [Block::Table(_), ..] => KEPT_TOGETHER,
        [Block::Signatures(_), ..] => SIGNATURES,
        _ => 0.0,
    }
}

/// One block.
fn block(pages: &mut Pages, block: &Block) {
    match block {
        Block::Heading(text) => {
            pages.y += 10.0;
            pages.within(Role::Heading(2), |pages| running(pages, text, 13.0, true, 0, 0.0));
            pages.y += 2.0;
        }
        Block::Subheading(text) => {
            pages.y += 6.0;
            pages.within(Role::Heading(3), |pages| running(pages, text, 10.0, true, 0, 0.0));
        }
        Block::Paragraph(text) => {
            pages.within(Role::Paragraph, |pages| running(pages, text, TEXT, false, 0, 0.0));
            pages.y += 4.0;
        }
        Block::List(items) => pages.within(Role::List, |pages| items.iter().for_each(|text| item(pages, text))),
        Block::Table(t) => pages.within(Role::Table, |pages| table(pages, t)),
        Block::Figure(f) => figure(pages, f),
        Block::Signatures(who) => signatures(pages, who),
    }
}

fn item(pages: &mut Pages, text: &str) {
    pages.need(TEXT * LEADING);
    let at = [pages.left(), pages.y + TEXT];
    pages.within(Role::Item, |pages| {
        pages.within(Role::Bullet, |pages| pages.text(at, "•", TEXT, false, 0));
        pages.within(Role::ItemText, |pages| running(pages, text, TEXT, false, 0, 10.0));
    });
    pages.y += 2.0;
}

/// Text that breaks into lines and runs over pages.
fn running(pages: &mut Pages, text: &str, size: f64, bold: bool, grey: u8, indent: f64) {
    let face = if bold { &pages.bold } else { &pages.regular };
    for line in face.lines(text, size, pages.width() - indent) {
        pages.need(size * LEADING);
        let at = [pages.left() + indent, pages.y + size];
        pages.text(at, &line, size, bold, grey);
        pages.y += size * LEADING;
    }
}

fn table(pages: &mut Pages, table: &Table) {
    pages.y += 4.0;
    pages.within(Role::Caption, |pages| running(pages, &table.caption, SMALL, false, 80, 0.0));
    let has_heads = table.heads.iter().any(|h| !h.is_empty());
    if has_heads {
        pages.within(Role::Heads, |pages| row(pages, table, &table.heads, true));
    }
    pages.within(Role::Rows, |pages| {
        for (i, cells) in table.rows.iter().enumerate() {
            // the last row goes to no page alone
            let last = table.rows.get(i + 1).filter(|_| i + 2 == table.rows.len());
            let with_last = last.map_or(0.0, |cells| height(pages, table, cells, false));
            let new_page = pages.need(height(pages, table, cells, false) + with_last);
            if new_page && has_heads {
                pages.beside(|pages| row(pages, table, &table.heads, true));
            }
            row(pages, table, cells, false);
        }
    });
    pages.y += 8.0;
}

fn wrapped(pages: &Pages, table: &Table, cells: &[String], bold: bool) -> Vec<Vec<String>> {
    let face = if bold { &pages.bold } else { &pages.regular };
    let width = |share: &f64| pages.width() * share - GUTTER;
    cells.iter().zip(&table.widths).map(|(cell, share)| face.lines(cell, SMALL, width(share))).collect()
}

fn height(pages: &Pages, table: &Table, cells: &[String], bold: bool) -> f64 {
    let most = wrapped(pages, table, cells, bold).iter().map(Vec::len).max().unwrap_or(1);
    most as f64 * SMALL * LEADING + 3.0
}

fn row(pages: &mut Pages, table: &Table, cells: &[String], bold: bool) {
    let height = height(pages, table, cells, bold);
    let wrapped = wrapped(pages, table, cells, bold);
    pages.within(Role::Row, |pages| {
        let mut x = pages.left();
        for (column, (lines, share)) in wrapped.iter().zip(&table.widths).enumerate() {
            let role = match (bold, column) {
                (true, _) => Role::ColumnHead,
                (false, 0) => Role::RowHead,
                (false, _) => Role::Cell,
            };
            pages.within(role, |pages| {
                for (i, line) in lines.iter().enumerate() {
                    let at = [x, pages.y + SMALL + 1.0 + i as f64 * SMALL * LEADING];
                    // an empty cell holds a space: a row without it would be short of a column
                    pages.text(at, if line.is_empty() { " " } else { line }, SMALL, bold, 0);
                }
            });
            x += pages.width() * share;
        }
    });
    pages.y += height;
    let (left, right, y) = (pages.left(), pages.left() + pages.width(), pages.y);
    if bold {
        pages.rule([left, y], [right, y], 0.8, 0);
    } else {
        pages.rule([left, y], [right, y], 0.3, 190);
    }
}

/// A figure as it fits on a page.
struct Fitted {
    layout: Layout,
    scale: f64,
    size: [f64; 2],
    /// Height of the caption, points.
    below: f64,
}

impl Fitted {
    fn new(pages: &Pages, figure: &Figure) -> Self {
        let layout = layout(figure);
        let caption = pages.regular.lines(&figure.caption, SMALL, pages.width());
        let below = caption.len() as f64 * SMALL * LEADING + 12.0;
        let room = pages.page_height() - HEADING - SUBHEADING - below;
        let scale = (pages.width() / layout.size[0]).min(room / layout.size[1]);
        let size = layout.size.map(|v| v * scale);
        Self { layout, scale, size, below }
    }

    fn height(&self) -> f64 {
        self.size[1] + self.below
    }
}

fn figure(pages: &mut Pages, figure: &Figure) {
    let Fitted { layout, scale, size, .. } = Fitted::new(pages, figure);
    let at = [pages.left() + 0.5 * (pages.width() - size[0]), pages.y + 4.0];
    pages.within(Role::Figure(figure.description.clone()), |pages| {
        if let Frame::Photo { picture, .. } = &figure.frame {
            let [left, top, width, height] = layout.plot.map(|v| v * scale);
            pages.picture([at[0] + left, at[1] + top], [width, height], picture.jpeg.clone());
        }
        pages.drawing(at, size, svg(figure, Place::Over));
        pages.y += size[1] + 6.0;
        pages.within(Role::Caption, |pages| running(pages, &figure.caption, SMALL, false, 40, 0.0));
    });
    pages.y += 6.0;
}

fn signatures(pages: &mut Pages, who: &[String]) {
    pages.need(SIGNATURES);
    pages.y += 40.0;
    let each = pages.width() / who.len().max(1) as f64;
    for (i, name) in who.iter().enumerate() {
        let x = pages.left() + i as f64 * each;
        let y = pages.y;
        pages.rule([x, y], [x + each - 20.0, y], 0.6, 0);
        let text = format!("{name}, name, date");
        pages.within(Role::Paragraph, |pages| pages.text([x, y + 11.0], &text, SMALL, false, 0));
    }
    pages.y += 16.0;
}
