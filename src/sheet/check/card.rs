//! The check of a scale card.

use super::{Check, assumed, defaults};
use crate::card::{Card, Paper};
use crate::point::PixelPoint;
use crate::quantity::{Kind, Length, Reading, show_plain};
use crate::sheet::{CheckedCard, Given, Placed, Sheet};

/// Length of the check lines, m.
const CHECK_M: f64 = 0.1;
/// A check line shorter or longer than these shares of it is none.
const LEAST_PRINT: f64 = 0.5;
const MOST_PRINT: f64 = 2.0;
/// Fewest marks: two would leave open which side of them the card lies on.
const LEAST_MARKS: usize = 3;

impl Check<'_> {
    /// `None` where there is no card, or one whose paper is missing, which was told.
    pub(super) fn card(&mut self, sheet: &Sheet, distance: Option<Given<Length>>) -> Option<CheckedCard> {
        let card = sheet.card.as_ref()?;
        let check_line = match card.check_line {
            Some(reading) => self.check_line(reading, "card.check_line"),
            None => {
                let u = show_plain(1000.0 * CHECK_M * defaults::PRINT_RELATIVE_U, "mm");
                let says = format!("nobody says what check line A of the card measures: 100 mm ± {u} assumed");
                let hint = "measure it with a steel rule, as in check_line = \"99.7 mm ± 0.1 mm\"";
                self.notice("card.check_line", says, hint);
                assumed(CHECK_M, CHECK_M * defaults::PRINT_RELATIVE_U)
            }
        };
        let upright_line = card.upright_line.map(|reading| self.check_line(reading, "card.upright_line"));
        let behind_jet = self.behind_jet(card.behind_jet, "card.behind_jet", "the card", distance);
        let Some(paper) = card.paper else {
            self.fault(
                "card.paper",
                "the card's paper is missing",
                "A4, A3 or Letter, as it stands at the card's foot",
            );
            return None;
        };
        let marks = self.card_marks(paper, &card.marks);
        Some(CheckedCard { paper, check_line, upright_line, behind_jet, marks })
    }

    fn check_line(&mut self, reading: Reading<Length>, about: &str) -> Given<Length> {
        let share = reading.value.si() / CHECK_M;
        if self.is_positive(&reading, about, "the check line") && !(LEAST_PRINT..=MOST_PRINT).contains(&share) {
            let says = format!("a check line of {} is none", show_plain(1000.0 * reading.value.si(), "mm"));
            self.fault(about, says, "on a card printed at 100 % it measures about 100 mm");
        }
        self.given(reading, about, defaults::CHECK_LINE_U_M, "mm")
    }

    fn card_marks(&mut self, paper: Paper, marks: &[(usize, PixelPoint)]) -> Vec<(usize, Placed)> {
        let about = "card.marks";
        if !marks.is_empty() && marks.len() < LEAST_MARKS {
            let says = format!("{} marks of the card, at least {LEAST_MARKS} are needed", marks.len());
            self.fault(about, says, "leave marks out, and they are found in the photo");
        }
        let count = Card::count(paper);
        let placed = marks.iter().enumerate().map(|(i, (number, px))| {
            let number_key = format!("{about}[{}].number", i + 1);
            if !(1..=count).contains(number) {
                let says = format!("the card of paper {} has no mark {number}", paper.name());
                self.fault(&number_key, says, &format!("its marks are numbered from 1 to {count}"));
            } else if marks[..i].iter().any(|(other, _)| other == number) {
                self.fault(&number_key, format!("mark {number} is named twice"), "name each mark once");
            }
            let placed = self.mark(*px, &format!("{about}[{}].px", i + 1));
            (*number, Placed { u_px: defaults::CARD_MARK_U_PX, ..placed })
        });
        placed.collect()
    }
}
