//! Drawn views of a bench before a board, every tone a formula: squared paper, bricks, stripes, clutter or nothing, a
//! tank, a ruler; and what moves between two photos: the camera, its exposure, the jet, its splash.

use crate::support::drawn::Lots;
use rayon::prelude::*;
use trajet::photo::{Metadata, Movement, Photo, Pixels};
use trajet::point::PixelPoint;

/// What stands behind the jet; lengths in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Board {
    Plain,
    /// Lines of this pitch both ways; every `major`-th is stronger, 0 for none.
    Squared {
        pitch: f64,
        major: u32,
    },
    /// Courses of this height, bricks two and a half times as long, every other course half a brick on.
    Bricks {
        course: f64,
    },
    /// Upright stripes.
    Stripes {
        pitch: f64,
    },
    /// Boxes of all tones and sizes.
    Clutter,
}

/// A bench that stands still.
#[derive(Clone, Debug)]
pub struct Bench {
    pub size: (usize, usize),
    pub board: Board,
    /// Where the board's pattern begins and ends; the pattern beyond the frame shows no edge of it.
    pub sheet: [f64; 4],
    /// How far the pattern leans, in rad.
    pub lean_rad: f64,
    /// Tank with its plate at the left.
    pub tank: bool,
    /// A ruler along the top.
    pub ruler: bool,
    boxes: Vec<[f64; 5]>,
}

/// A step from 0 to 1 over about two pixels.
fn step(distance: f64) -> f64 {
    0.5 + 0.5 * (distance / 1.2).tanh()
}

fn within(x: f64, from: f64, to: f64) -> f64 {
    if x < from - 9.0 || x > to + 9.0 { 0.0 } else { step(x - from) * step(to - x) }
}

/// How dark a line is at `x` that returns with `pitch`, `half` thick to either side.
fn line(x: f64, pitch: f64, half: f64) -> f64 {
    let off = x - pitch * (x / pitch).round();
    step(off + half) * step(half - off)
}

impl Bench {
    pub fn new(size: (usize, usize), board: Board, seed: u64) -> Self {
        let mut lots = Lots::new(seed);
        let (w, h) = (size.0 as f64, size.1 as f64);
        let sheet = [0.12 + 0.06 * lots.uniform(), 0.10 + 0.05 * lots.uniform(), 0.93, 0.90];
        let boxes = (0..if board == Board::Clutter { 24 } else { 0 })
            .map(|_| {
                let (x, y) = (lots.uniform() * w, lots.uniform() * h);
                let (a, b) = (0.03 + 0.09 * lots.uniform(), 0.03 + 0.09 * lots.uniform());
                [x, y, a * w, b * w, 0.5 * lots.uniform() - 0.25]
            })
            .collect();
        let lean_rad = 0.03 * (lots.uniform() - 0.5);
        let sheet = [sheet[0] * w, sheet[1] * h, sheet[2] * w, sheet[3] * h];
        Self { size, board, sheet, lean_rad, tank: true, ruler: true, boxes }
    }

    /// The same with a pattern that fills the frame and nothing before it.
    pub fn pattern_only(self) -> Self {
        let (w, h) = (self.size.0 as f64, self.size.1 as f64);
        Self { sheet: [-w, -h, 2.0 * w, 2.0 * h], tank: false, ruler: false, ..self }
    }

    /// Tone at a place of the first photo.
    pub fn at(&self, p: PixelPoint) -> f64 {
        let (w, h) = (self.size.0 as f64, self.size.1 as f64);
        let mut tone = 0.48;
        let [left, top, right, bottom] = self.sheet;
        let on = within(p.x, left, right) * within(p.y, top, bottom);
        if on > 0.0 {
            let (x, y) = (p.x - self.lean_rad * p.y, p.y + self.lean_rad * p.x);
            tone += on * self.pattern(x, y);
        }
        for [x, y, a, b, more] in &self.boxes {
            tone += more * within(p.x, *x, x + a) * within(p.y, *y, y + b);
        }
        if self.tank {
            let wall = within(p.x, -w, 0.09 * w) * within(p.y, 0.06 * h, 2.0 * h);
            let plate = within(p.x, 0.07 * w, 0.105 * w) * within(p.y, 0.16 * h, 0.27 * h);
            let bolt = |y: f64| within((p.x - 0.088 * w).hypot(p.y - y * h), -9.0, 0.006 * w);
            tone += wall * (0.22 - tone) * 0.8;
            tone += plate * (0.66 - tone);
            tone -= 0.3 * (bolt(0.18) + bolt(0.25));
        }
        if self.ruler {
            let ruler = within(p.y, 0.02 * h, 0.075 * h);
            let number = (p.x / (0.01 * w)).floor();
            let length = if number as i64 % 10 == 0 { 0.045 } else { 0.025 };
            let tick = line(p.x - 0.005 * w, 0.01 * w, 0.0012 * w) * within(p.y, 0.02 * h, (0.02 + length) * h);
            // for a figure: a box as wide as the number says
            let ten = (p.x / (0.1 * w)).floor();
            let figure = within(p.x, (0.1 * ten + 0.01) * w, (0.1 * ten + 0.012 + 0.001 * ten) * w)
                * within(p.y, 0.05 * h, 0.068 * h);
            tone += ruler * (0.72 - tone) - ruler * 0.4 * tick.max(figure);
        }
        tone
    }

    fn pattern(&self, x: f64, y: f64) -> f64 {
        match self.board {
            Board::Plain | Board::Clutter => 0.0,
            Board::Squared { pitch, major } => {
                let fine = line(x, pitch, 0.7).max(line(y, pitch, 0.7));
                let wide = pitch * f64::from(major.max(1));
                let strong = if major > 0 { line(x, wide, 1.2).max(line(y, wide, 1.2)) } else { 0.0 };
                0.15 - 0.16 * fine - 0.12 * strong
            }
            Board::Bricks { course } => {
                let half = if (y / course).floor() as i64 % 2 == 0 { 0.0 } else { 1.25 * course };
                let joint = line(y, course, 0.05 * course).max(line(x + half, 2.5 * course, 0.05 * course));
                -0.1 + 0.16 * joint
            }
            Board::Stripes { pitch } => 0.12 * (std::f64::consts::TAU * x / pitch).sin(),
        }
    }
}

/// How a view is taken.
#[derive(Clone, Copy, Debug)]
pub struct Shot {
    pub movement: Movement,
    pub jet: bool,
    /// How many drops of splash fly about.
    pub drops: usize,
    /// Standard deviation of the noise.
    pub noise: f64,
    /// How much darker a corner is than the middle.
    pub shading: f64,
    /// Quality of the JPEG, if it goes through one.
    pub jpeg: Option<u8>,
    /// Of waves, drops and noise.
    pub seed: u64,
}

impl Shot {
    pub fn new(size: (usize, usize), seed: u64) -> Self {
        let movement = Movement::none(size.0, size.1);
        Self { movement, jet: true, drops: 0, noise: 0.008, shading: 0.0, jpeg: None, seed }
    }

    pub fn moved(mut self, angle_deg: f64, shift_px: [f64; 2]) -> Self {
        (self.movement.angle_rad, self.movement.shift_px) = (angle_deg.to_radians(), shift_px);
        self
    }
}

/// The photo that a shot of a bench gives.
pub fn taken(bench: &Bench, shot: &Shot) -> Photo {
    let (width, height) = bench.size;
    let (w, h) = (width as f64, height as f64);
    let mut lots = Lots::new(shot.seed);
    let phase = lots.uniform() * 6.0;
    let mut tones: Vec<f64> = vec![0.0; width * height];
    tones.par_chunks_mut(width).enumerate().for_each(|(row, out)| {
        for (column, tone) in out.iter_mut().enumerate() {
            let here = PixelPoint::new(column as f64 + 0.5, row as f64 + 0.5);
            let p = shot.movement.first_from_here(here);
            *tone = bench.at(p);
            let along = (p.x - 0.1 * w) / w;
            if shot.jet && along > 0.0 {
                let middle = 0.215 * h + 0.75 * along * along * h + 0.004 * h * (60.0 * along + phase).sin();
                *tone += (0.8 - *tone) * 0.8 * within(p.y, middle - 0.012 * h, middle + 0.012 * h);
            }
        }
    });
    for _ in 0..shot.drops {
        // most of it where the jet lands, at the right and below
        let (x, y) = (w * lots.uniform().powf(0.6), h * (1.0 - lots.uniform().powi(2)));
        let (half, tone) = (w * (0.002 + 0.012 * lots.uniform().powi(2)), 0.15 + 0.8 * lots.uniform());
        for row in (y - half - 9.0).max(0.0) as usize..((y + half + 9.0).max(0.0) as usize).min(height) {
            for column in (x - half - 9.0).max(0.0) as usize..((x + half + 9.0).max(0.0) as usize).min(width) {
                let v = &mut tones[row * width + column];
                *v += (tone - *v) * 0.7 * step(half - (column as f64 + 0.5 - x).hypot(row as f64 + 0.5 - y));
            }
        }
    }
    let values = tones.iter().enumerate().map(|(i, tone)| {
        let (x, y) = ((i % width) as f64 / w - 0.5, (i / width) as f64 / h - 0.5);
        let lit = tone * (1.0 - 2.0 * shot.shading * (x * x + y * y));
        // four uniform numbers, close to normal and quick
        let noise = ((0..4).map(|_| lots.uniform()).sum::<f64>() - 2.0) * 3.0_f64.sqrt() * shot.noise;
        ((shot.movement.gain * lit + shot.movement.offset + noise) * 255.0).round().clamp(0.0, 255.0) as u8
    });
    let mut values: Vec<u8> = values.collect();
    if let Some(quality) = shot.jpeg {
        let mut bytes = Vec::new();
        image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality)
            .encode(&values, width as u32, height as u32, image::ExtendedColorType::L8)
            .unwrap();
        values = image::load_from_memory(&bytes).unwrap().into_luma8().into_raw();
    }
    Photo { width, height, pixels: Pixels::Grey8(values), metadata: Metadata::default() }
}

/// The largest error of a movement at the middle and the corners, in pixels.
pub fn worst_px(found: &Movement, truth: &Movement) -> f64 {
    let [mx, my] = truth.middle_px;
    let (w, h) = (2.0 * mx, 2.0 * my);
    [[mx, my], [0.0, 0.0], [w, 0.0], [0.0, h], [w, h]]
        .into_iter()
        .map(|p| found.transform_from_first(p.into()).distance(truth.transform_from_first(p.into())))
        .fold(0.0, f64::max)
}
