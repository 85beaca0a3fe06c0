//! The cells of a quad, and the word that they are most like.

use super::quads::Quad;
use crate::calibration::plane::picture_from_plane;
use crate::card::{Card, Paper, code};
use crate::photo::Plate;
use nalgebra::{Matrix3, Vector3};

/// Cells a side, with the rim.
const CELLS: usize = code::SIDE + 2;
/// Least difference of the white around a mark to its black rim, of 1.
const LEAST_CONTRAST: f64 = 0.06;
/// Least correlation of the cells with their word: two cells of 16 misread leave about 0.75.
const LEAST_LIKE: f64 = 0.70;
/// By how much the second best word has to be less alike.
const LEAST_AHEAD: f64 = 0.08;

/// A mark whose word was read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Read {
    pub paper: Paper,
    /// Its number, from 1.
    pub number: usize,
    /// Its corners in the photo: the card's top left, top right, bottom right, bottom left one of it.
    pub corners: Quad,
    /// Correlation of its cells with the word.
    pub like: f64,
}

impl Read {
    /// The same in a photo larger by `factor`.
    pub fn enlarged(mut self, factor: f64) -> Self {
        self.corners = self.corners.map(|c| c.map(|v| v * factor));
        self
    }
}

/// A word in one of its turns, less its mean.
struct Turned {
    paper: Paper,
    number: usize,
    turn: usize,
    cells: [f64; 16],
    size: f64,
}

/// The words that may be found.
pub(super) struct Words(Vec<Turned>);

impl Words {
    /// Those of a paper, or of all.
    pub fn new(paper: Option<Paper>) -> Self {
        let papers = Paper::ALL.into_iter().filter(|p| paper.is_none_or(|wanted| wanted == *p));
        let mut all = Vec::new();
        for card in papers.map(Card::new) {
            for mark in &card.marks {
                for (turn, word) in code::turns(mark.word).into_iter().enumerate() {
                    let mut cells: [f64; 16] = std::array::from_fn(|i| {
                        f64::from(u8::from(code::is_white(word, i / code::SIDE, i % code::SIDE)))
                    });
                    let size = centred(&mut cells);
                    all.push(Turned { paper: card.paper, number: mark.number, turn, cells, size });
                }
            }
        }
        Self(all)
    }

    /// The mark that a quad is, if it is one.
    pub fn read(&self, plate: &Plate, quad: Quad) -> Option<Read> {
        let side = CELLS as f64;
        let square = [[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]];
        let pairs: Vec<_> = square.into_iter().zip(quad).collect();
        let h = picture_from_plane(&pairs)?;
        let at = |x: f64, y: f64| sample(plate, &h, x, y);
        let cell = |row: f64, column: f64| {
            let offsets = [-0.22, 0.0, 0.22];
            let sum: f64 = offsets.iter().flat_map(|dy| offsets.map(|dx| at(column + 0.5 + dx, row + 0.5 + dy))).sum();
            sum / 9.0
        };
        let around = |place: f64| (0..CELLS).map(move |i| (place, i as f64));
        let both = |list: Vec<(f64, f64)>| list.into_iter().flat_map(|(a, b)| [(a, b), (b, a)]).collect::<Vec<_>>();
        let rim = both(around(0.0).chain(around(side - 1.0)).collect());
        let beyond = both(around(-1.0).chain(around(side)).collect());
        let mean = |cells: &[(f64, f64)]| cells.iter().map(|(r, c)| cell(*r, *c)).sum::<f64>() / cells.len() as f64;
        let (black, white) = (mean(&rim), mean(&beyond));
        if white - black < LEAST_CONTRAST {
            return None;
        }
        // a rim of one tone: what spreads over half the way to white is no mark
        let spread = rim.iter().map(|(r, c)| (cell(*r, *c) - black).powi(2)).sum::<f64>() / rim.len() as f64;
        if spread.sqrt() > 0.3 * (white - black) {
            return None;
        }
        let mut cells: [f64; 16] =
            std::array::from_fn(|i| cell((i / code::SIDE + 1) as f64, (i % code::SIDE + 1) as f64));
        let size = centred(&mut cells);
        if size <= 0.3 * (white - black) {
            return None;
        }
        let like = |t: &Turned| cells.iter().zip(&t.cells).map(|(a, b)| a * b).sum::<f64>() / (size * t.size);
        let (mut best, mut second): (Option<(f64, &Turned)>, f64) = (None, -1.0);
        for turned in &self.0 {
            let this = like(turned);
            match best {
                Some((b, _)) if this <= b => second = second.max(this),
                _ => {
                    second = best.map_or(second, |b| b.0);
                    best = Some((this, turned));
                }
            }
        }
        let (like, word) = best?;
        if like < LEAST_LIKE || like - second < LEAST_AHEAD {
            return None;
        }
        // a word turned by a quarter clockwise: the card's top left is the quad's next corner
        let corners = std::array::from_fn(|i| quad[(i + word.turn) % 4]);
        Some(Read { paper: word.paper, number: word.number, corners, like })
    }
}

/// Takes the mean away; gives the length of what is left.
fn centred(cells: &mut [f64; 16]) -> f64 {
    let mean = cells.iter().sum::<f64>() / 16.0;
    cells.iter_mut().for_each(|c| *c -= mean);
    cells.iter().map(|c| c * c).sum::<f64>().sqrt()
}

fn sample(plate: &Plate, h: &Matrix3<f64>, x: f64, y: f64) -> f64 {
    let p = h * Vector3::new(x, y, 1.0);
    f64::from(plate.sample(p[0] / p[2], p[1] / p[2]))
}
