//! Where everything on a card is, in millimetres from its top left corner.

use super::{Paper, code};

/// Cells a side of a mark: the coded middle and a black rim one cell wide.
pub const CELLS: usize = code::SIDE + 2;
/// White border that every printer can keep, mm.
const BORDER_MM: f64 = 15.0;
/// Room at the foot for ruler, check line and notes, mm.
const FOOT_MM: f64 = 62.0;
/// Length of the check lines, mm.
const CHECK_MM: f64 = 100.0;
/// Distance of the upright check line from the left edge, mm: clear of the marks, and of what printers cannot reach.
const UPRIGHT_MM: f64 = 13.0;
/// Words of all papers: as many as there are.
const WORDS: usize = 120;

/// What differs between papers.
struct Grid {
    columns: usize,
    rows: usize,
    /// Side of a mark, mm. On A4 six cells of 3 mm, which a phone sees as 3 px or more each from 2.5 m.
    side_mm: f64,
    /// Distance between centres of neighbouring marks, mm.
    pitch_mm: f64,
    /// First of its words.
    first_word: usize,
}

const fn grid(paper: Paper) -> Grid {
    match paper {
        Paper::A4 => Grid { columns: 6, rows: 7, side_mm: 18.0, pitch_mm: 30.0, first_word: 0 },
        Paper::Letter => Grid { columns: 6, rows: 6, side_mm: 18.0, pitch_mm: 30.0, first_word: 42 },
        Paper::A3 => Grid { columns: 6, rows: 7, side_mm: 27.0, pitch_mm: 45.0, first_word: 78 },
    }
}

/// One coded mark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CodedMark {
    /// Its number on the card, from 1, row by row.
    pub number: usize,
    /// Its centre, mm from the card's top left corner.
    pub centre_mm: [f64; 2],
    /// Side of its black square, mm.
    pub side_mm: f64,
    /// The word in its middle; a set bit is white.
    pub word: u16,
}

impl CodedMark {
    /// Its white cells: top left corner and side in mm.
    pub fn white_cells(&self) -> Vec<([f64; 2], f64)> {
        let cell = self.side_mm / CELLS as f64;
        let [left, top] = self.centre_mm.map(|c| c - 0.5 * self.side_mm);
        let white = |row: usize, column: usize| code::is_white(self.word, row, column);
        (0..code::SIDE * code::SIDE)
            .map(|i| (i / code::SIDE, i % code::SIDE))
            .filter(|(row, column)| white(*row, *column))
            .map(|(row, column)| ([left + (column + 1) as f64 * cell, top + (row + 1) as f64 * cell], cell))
            .collect()
    }
}

/// A card.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// The paper.
    pub paper: Paper,
    /// Its marks, in the order of their numbers.
    pub marks: Vec<CodedMark>,
    /// Distance between centres of neighbouring marks, mm.
    pub pitch_mm: f64,
    /// Left end of the ruler's edge, mm.
    pub ruler_mm: [f64; 2],
    /// Length of the ruler, whole centimetres, mm.
    pub ruler_length_mm: f64,
    /// Left end of the level check line, mm.
    pub level_mm: [f64; 2],
    /// Upper end of the upright check line, mm.
    pub upright_mm: [f64; 2],
    /// Length of both, mm.
    pub check_length_mm: f64,
}

impl Card {
    /// The card for a paper.
    pub fn new(paper: Paper) -> Self {
        let [width, height] = paper.size_mm();
        let Grid { columns, rows, side_mm, pitch_mm, first_word } = grid(paper);
        let left = 0.5 * (width - (columns - 1) as f64 * pitch_mm);
        let top = BORDER_MM + 0.5 * side_mm;
        let marks = code::words(WORDS)
            .into_iter()
            .skip(first_word)
            .take(columns * rows)
            .enumerate()
            .map(|(i, word)| {
                let (row, column) = (i / columns, i % columns);
                let centre_mm = [left + column as f64 * pitch_mm, top + row as f64 * pitch_mm];
                CodedMark { number: i + 1, centre_mm, side_mm, word }
            })
            .collect();
        let ruler_length_mm = 10.0 * ((width - 2.0 * BORDER_MM) / 10.0).floor();
        let foot = height - BORDER_MM - FOOT_MM;
        let ruler_mm = [0.5 * (width - ruler_length_mm), foot + 18.0];
        Self {
            paper,
            marks,
            pitch_mm,
            ruler_mm,
            ruler_length_mm,
            level_mm: [ruler_mm[0], foot + 36.0],
            upright_mm: [UPRIGHT_MM, BORDER_MM + side_mm],
            check_length_mm: CHECK_MM,
        }
    }

    /// How many marks the card of a paper has.
    pub fn count(paper: Paper) -> usize {
        let Grid { columns, rows, .. } = grid(paper);
        columns * rows
    }

    /// The mark of a number.
    pub fn mark(&self, number: usize) -> Option<&CodedMark> {
        self.marks.get(number.checked_sub(1)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_paper_has_its_marks_within_its_border() {
        for (paper, count) in [(Paper::A4, 42), (Paper::A3, 42), (Paper::Letter, 36)] {
            let card = Card::new(paper);
            assert_eq!((card.marks.len(), Card::count(paper)), (count, count), "{paper:?}");
            let [width, height] = paper.size_mm();
            for mark in &card.marks {
                let [x, y] = mark.centre_mm;
                let half = 0.5 * mark.side_mm + BORDER_MM - 1e-9;
                assert!(
                    x >= half && x <= width - half && y >= half && y <= height - half - FOOT_MM,
                    "{paper:?} {mark:?}"
                );
                let cell = mark.side_mm / CELLS as f64;
                assert!(x - 0.5 * mark.side_mm > UPRIGHT_MM + 2.0 * cell, "the check line leaves them white around");
            }
        }
    }

    #[test]
    fn no_two_marks_of_whatever_paper_are_alike() {
        let mut all: Vec<u16> = Paper::ALL.iter().flat_map(|p| Card::new(*p).marks).map(|m| m.word).collect();
        assert_eq!(all.len(), WORDS);
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), WORDS);
    }

    #[test]
    fn white_cells_lie_inside_the_rim() {
        let mark = CodedMark { number: 1, centre_mm: [9.0, 9.0], side_mm: 18.0, word: 1 << 15 | 1 };
        assert_eq!(mark.white_cells(), [([3.0, 3.0], 3.0), ([12.0, 12.0], 3.0)]);
    }
}
