//! Where everything on a card is, in millimetres from its top left corner.

use super::code;
use crate::report::record::Paper;

/// Cells a side of a mark: the coded middle and a black rim one cell wide.
pub const CELLS: usize = code::SIDE + 2;
/// Side of a mark, mm: six cells of 3 mm, which a phone sees as 3 px or more each from 2.5 m.
const MARK_MM: f64 = 18.0;
/// Distance between centres of neighbouring marks, mm: a white cell and more all round.
const PITCH_MM: f64 = 30.0;
/// White border that every printer can keep, mm.
const BORDER_MM: f64 = 15.0;
/// Room at the foot for ruler, check line and notes, mm.
const FOOT_MM: f64 = 62.0;
/// Length of the check line, mm.
const CHECK_MM: f64 = 100.0;

/// One coded mark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CodedMark {
    /// Its number on the card, from 0, row by row.
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
        (0..code::SIDE * code::SIDE)
            .filter(|i| self.word >> (15 - i) & 1 == 1)
            .map(|i| {
                let (row, column) = (i / code::SIDE, i % code::SIDE);
                ([left + (column + 1) as f64 * cell, top + (row + 1) as f64 * cell], cell)
            })
            .collect()
    }
}

/// A card.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// The paper.
    pub paper: Paper,
    /// Its marks.
    pub marks: Vec<CodedMark>,
    /// Left end of the ruler's edge, mm.
    pub ruler_mm: [f64; 2],
    /// Length of the ruler, whole centimetres, mm.
    pub ruler_length_mm: f64,
    /// Left end of the check line, mm.
    pub check_mm: [f64; 2],
    /// Its length, mm.
    pub check_length_mm: f64,
}

impl Card {
    /// The card for a paper: as many marks as fit.
    pub fn new(paper: Paper) -> Self {
        let [width, height] = paper.size_mm();
        let fit = |room: f64| ((room - MARK_MM) / PITCH_MM).floor() as usize + 1;
        let columns = fit(width - 2.0 * BORDER_MM);
        let rows = fit(height - 2.0 * BORDER_MM - FOOT_MM);
        let left = 0.5 * (width - (columns - 1) as f64 * PITCH_MM);
        let top = BORDER_MM + 0.5 * MARK_MM;
        let marks = code::words(columns * rows)
            .into_iter()
            .enumerate()
            .map(|(number, word)| {
                let (row, column) = (number / columns, number % columns);
                let centre_mm = [left + column as f64 * PITCH_MM, top + row as f64 * PITCH_MM];
                CodedMark { number, centre_mm, side_mm: MARK_MM, word }
            })
            .collect();
        let ruler_length_mm = 10.0 * ((width - 2.0 * BORDER_MM) / 10.0).floor();
        let foot = height - BORDER_MM - FOOT_MM;
        let ruler_mm = [0.5 * (width - ruler_length_mm), foot + 18.0];
        Self {
            paper,
            marks,
            ruler_mm,
            ruler_length_mm,
            check_mm: [ruler_mm[0], foot + 36.0],
            check_length_mm: CHECK_MM,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_paper_has_distinct_marks_within_its_border() {
        for (paper, count) in [(Paper::A4, 42), (Paper::A3, 99), (Paper::Letter, 36)] {
            let card = Card::new(paper);
            assert_eq!(card.marks.len(), count, "{paper:?}");
            let [width, height] = paper.size_mm();
            for mark in &card.marks {
                let [x, y] = mark.centre_mm;
                let half = 0.5 * mark.side_mm + BORDER_MM - 1e-9;
                assert!(
                    x >= half && x <= width - half && y >= half && y <= height - half - FOOT_MM,
                    "{paper:?} {mark:?}"
                );
            }
        }
    }

    #[test]
    fn white_cells_lie_inside_the_rim() {
        let mark = CodedMark { number: 0, centre_mm: [9.0, 9.0], side_mm: 18.0, word: 1 << 15 | 1 };
        assert_eq!(mark.white_cells(), [([3.0, 3.0], 3.0), ([12.0, 12.0], 3.0)]);
    }
}
