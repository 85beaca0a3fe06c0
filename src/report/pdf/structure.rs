//! What each piece of a document is, for readers who hear it: a tree beside the pages (ISO 32000-1, 14.8: tagged PDF).

use krilla::tagging::{Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};
use std::num::NonZeroU16;

/// What a piece is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Role {
    /// A heading; the title is of level 1.
    Heading(u16),
    Paragraph,
    List,
    Item,
    /// The sign before an item.
    Bullet,
    ItemText,
    Table,
    Caption,
    /// The rows that name the columns.
    Heads,
    Rows,
    Row,
    ColumnHead,
    RowHead,
    Cell,
    /// A picture, with what it shows in words.
    Figure(String),
}

impl Role {
    fn tag(&self) -> TagKind {
        match self {
            Self::Heading(level) => Tag::Hn(NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN), None).into(),
            Self::Paragraph => Tag::P.into(),
            Self::List => Tag::L(ListNumbering::Disc).into(),
            Self::Item => Tag::LI.into(),
            Self::Bullet => Tag::Lbl.into(),
            Self::ItemText => Tag::LBody.into(),
            Self::Table => Tag::Table.into(),
            Self::Caption => Tag::Caption.into(),
            Self::Heads => Tag::THead.into(),
            Self::Rows => Tag::TBody.into(),
            Self::Row => Tag::TR.into(),
            Self::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
            Self::RowHead => Tag::TH(TableHeaderScope::Row).into(),
            Self::Cell => Tag::TD.into(),
            Self::Figure(says) => Tag::Figure(Some(says.clone())).into(),
        }
    }
}

/// A document's pieces, in the order that they were opened.
#[derive(Debug, Default)]
pub(crate) struct Structure {
    pieces: Vec<Piece>,
    /// Those that are open, outermost first.
    open: Vec<usize>,
}

#[derive(Debug)]
struct Piece {
    role: Role,
    within: Option<usize>,
    drawn: Vec<Identifier>,
}

impl Structure {
    pub(crate) fn open(&mut self, role: Role) {
        self.pieces.push(Piece { role, within: self.open.last().copied(), drawn: Vec::new() });
        self.open.push(self.pieces.len() - 1);
    }

    pub(crate) fn close(&mut self) {
        self.open.pop();
    }

    /// The piece that is open; `None` for what belongs to none, such as rules and page numbers.
    pub(crate) fn current(&self) -> Option<usize> {
        self.open.last().copied()
    }

    /// Whether there is none at all: a drawing to print, no text to read.
    pub(crate) fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// Something of this piece stands on a page.
    pub(crate) fn drawn(&mut self, piece: usize, at: Identifier) {
        if let Some(piece) = self.pieces.get_mut(piece) {
            piece.drawn.push(at);
        }
    }

    pub(crate) fn tree(self) -> TagTree {
        let within: Vec<Option<usize>> = self.pieces.iter().map(|p| p.within).collect();
        let group =
            |piece: Piece| TagGroup::with_children(piece.role.tag(), piece.drawn.into_iter().map(Node::from).collect());
        let mut groups: Vec<Option<TagGroup>> = self.pieces.into_iter().map(|p| Some(group(p))).collect();
        let mut top = Vec::new();
        // what lies within another was opened after it: from the last backwards each is whole when its turn comes
        for i in (0..groups.len()).rev() {
            let Some(group) = groups[i].take() else { continue };
            match within[i].and_then(|at| groups[at].as_mut()) {
                // before those that came later, behind what the piece drew itself
                Some(outer) => {
                    let own = outer.children.iter().take_while(|c| matches!(c, Node::Leaf(_))).count();
                    outer.children.insert(own, group.into());
                }
                None => top.push(Node::from(group)),
            }
        }
        top.reverse();
        TagTree::from(top).with_lang(Some("en".into()))
    }
}
