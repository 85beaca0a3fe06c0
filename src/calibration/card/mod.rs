//! A scale card found in a photo: which card it is, and where the middle of each of its marks is.
//!
//! ```text
//! quads    dark patches with four straight sides, in the photo and in its halves, quarters, eighths
//! reading  the cells of each, and the word that they are most like: paper, number, turn
//! agreed   the readings that one view of one card explains: a homography and the lens' barrel
//! shift    every mark of the card, also those not read, laid over the photo where that view puts it, and moved
//!          until it fits to a few hundredths of a pixel
//! ```
//! A mark's middle is where the card's own middle of it is seen: under perspective not the mean of its corners. Blur of a
//! photo whose grey values bend light (gamma) widens white on all sides alike; a mark laid over the photo as a whole
//! keeps its middle by that.

mod agreed;
mod quads;
mod reading;
mod shift;

use crate::card::{Card, Paper};
use crate::photo::{Mix, Photo, Plate};
use crate::point::PixelPoint;
use crate::sheet::ScaleCard;
use agreed::Seen;
use rayon::prelude::*;
use reading::Read;

/// Fewest marks of a card: a homography has eight unknowns, four points.
pub const LEAST_MARKS: usize = 4;
/// Fewest of them whose word was read; the others are where the view of these puts them.
const LEAST_READ: usize = 3;
/// How often the view is made anew from the marks it led to.
const ROUNDS: usize = 3;
/// No middle is claimed to be better known than this, px: marks of sharp rendered views lie 0.006 to 0.010 px rms off their true
/// place.
const LEAST_U_PX: f64 = 0.01;
/// What is expected of a middle's scatter, px, counted as one observation among those of the marks: four marks alone, which any
/// homography fits, show none. Common practice, no source.
const EXPECTED_U_PX: f64 = 0.05;
/// The photo is searched at full size and halved so many times: a mark may be 10 px to 800 px wide.
const HALVED: usize = 3;
/// A photo with a side below this, also a halved one, shows no card.
const LEAST_SIDE_PX: usize = 60;

/// A mark of a card, found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoundMark {
    /// Its number on the card.
    pub number: usize,
    /// Where its middle is.
    pub at: PixelPoint,
}

/// A card, found.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundCard {
    /// Which card.
    pub paper: Paper,
    /// Its marks that are to be seen, in the order of their numbers.
    pub marks: Vec<FoundMark>,
    /// Standard uncertainty of each coordinate of a mark, px: the scatter about one view of a flat card.
    pub u_px: f64,
}

impl FoundCard {
    /// As a sheet states it, places to a hundredth of a pixel.
    pub fn stated(&self) -> ScaleCard {
        let round = |v: f64| (100.0 * v).round() / 100.0;
        let place = |m: &FoundMark| (m.number, PixelPoint::new(round(m.at.x), round(m.at.y)));
        let marks = self.marks.iter().map(place).collect();
        ScaleCard { paper: Some(self.paper), marks, ..ScaleCard::default() }
    }
}

/// The card in the photo, of `paper` or of whatever paper; of several the one with most marks. `None` where fewer than
/// [`LEAST_MARKS`] marks of one card are to be seen.
///
/// Cells of a mark may be as small as about 3 px.
pub fn find(photo: &Photo, paper: Option<Paper>) -> Option<FoundCard> {
    let mut levels = vec![photo.plate(Mix::LUMA)];
    while let Some(last) =
        levels.last().filter(|l| levels.len() <= HALVED && l.width.min(l.height) >= 2 * LEAST_SIDE_PX)
    {
        levels.push(halved(last));
    }
    let words = reading::Words::new(paper);
    let reads: Vec<Read> = levels
        .par_iter()
        .enumerate()
        .flat_map_iter(|(halvings, plate)| {
            let factor = f64::from(1 << halvings);
            quads::quads(plate).into_iter().filter_map(|q| words.read(plate, q)).map(move |r| r.enlarged(factor))
        })
        .collect();
    let papers = Paper::ALL.into_iter().filter(|p| paper.is_none_or(|wanted| wanted == *p));
    let full = levels.first().filter(|l| l.width.min(l.height) >= LEAST_SIDE_PX)?;
    let found = papers.filter_map(|p| {
        let reads: Vec<Read> = reads.iter().filter(|r| r.paper == p).copied().collect();
        one(full, &Card::new(p), &reads)
    });
    found.max_by_key(|f| f.marks.len())
}

/// Each value the mean of a block of 2 x 2; a last odd row or column is dropped.
fn halved(plate: &Plate) -> Plate {
    let (width, height) = (plate.width / 2, plate.height / 2);
    let mut values = vec![0.0; width * height];
    values.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let upper = &plate.values[2 * y * plate.width..];
        let lower = &plate.values[(2 * y + 1) * plate.width..];
        for (x, value) in row.iter_mut().enumerate() {
            *value = 0.25 * (upper[2 * x] + upper[2 * x + 1] + lower[2 * x] + lower[2 * x + 1]);
        }
    });
    Plate { width, height, values }
}

/// The card from readings of its own words.
fn one(plate: &Plate, card: &Card, reads: &[Read]) -> Option<FoundCard> {
    let frame = [plate.width as f64, plate.height as f64];
    let (mut view, read) = agreed::view(card, reads, frame)?;
    if read.len() < LEAST_READ {
        return None;
    }
    let mut blur_px = shift::blur(plate, card, &read, &view);
    let mut seen: Vec<Seen> = Vec::new();
    let mut u_px = 0.0;
    for round in 0..ROUNDS {
        seen = shift::fitted(plate, card, &view, blur_px);
        (view, u_px) = agreed::refined(card, &mut seen, frame)?;
        if round == 0 {
            let numbers: Vec<usize> = seen.iter().map(|s| s.number).collect();
            blur_px = shift::blur(plate, card, &numbers, &view);
        }
    }
    let kept = seen.iter().filter(|s| read.contains(&s.number)).count();
    if seen.len() < LEAST_MARKS || kept < LEAST_READ {
        return None;
    }
    let marks = seen.iter().map(|s| FoundMark { number: s.number, at: PixelPoint::new(s.at[0], s.at[1]) }).collect();
    Some(FoundCard { paper: card.paper, marks, u_px: u_px.max(LEAST_U_PX) })
}
