//! A scale card rendered into a view of exactly known pose.
//!
//! A pinhole of its own (not the product's): a point X, Y of the card (mm from its middle, as one looks at it) lies at
//! R (X, Y, 0) + T before the camera; the ideal picture is the middle of the photo + f (X/Z, Y/Z); the lens moves it
//! radially by 1 + k1 r^2, r in half diagonals. Each pixel is the mean of 3 x 3 rays, then the whole is blurred in linear
//! light, encoded as sRGB (IEC 61966-2-1), made noisy, and compressed as JPEG.

use super::drawn::Lots;
use rayon::prelude::*;
use trajet::card::{Card, Paper, code};
use trajet::point::PixelPoint;

/// A view of a card.
#[derive(Clone, Debug)]
pub struct Carded {
    pub size: (usize, usize),
    pub paper: Paper,
    /// Degrees.
    pub yaw: f64,
    pub pitch: f64,
    pub roll: f64,
    /// Focal length, px.
    pub focal_px: f64,
    /// Pixels of a millimetre at the card's middle, seen squarely.
    pub px_per_mm: f64,
    /// Where the card's middle is, px.
    pub middle: [f64; 2],
    /// Distortion at the corner.
    pub k1: f64,
    /// Standard deviation, px.
    pub blur_px: f64,
    /// Standard deviation of the noise, of 1.
    pub noise: f64,
    /// Quality of the JPEG.
    pub quality: u8,
    /// Light at the left and at the right border, of 1.
    pub light: [f64; 2],
    /// Share of the marks that something hides; one by one, or one half of the card.
    pub hidden: f64,
    pub one_by_one: bool,
    /// How the print is stretched across and upright.
    pub print: [f64; 2],
    pub seed: u64,
}

impl Default for Carded {
    fn default() -> Self {
        Self {
            size: (1600, 1200),
            paper: Paper::A4,
            yaw: 0.0,
            pitch: 0.0,
            roll: 0.0,
            focal_px: 1500.0,
            px_per_mm: 2.5,
            middle: [800.0, 600.0],
            k1: 0.0,
            blur_px: 0.8,
            noise: 0.01,
            quality: 90,
            light: [0.8, 0.8],
            hidden: 0.0,
            one_by_one: true,
            print: [1.0, 1.0],
            seed: 1,
        }
    }
}

type Vector = [f64; 3];

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Where the card is, worked out.
pub struct Placed {
    /// The card's x, y and its backward normal, as the camera sees them.
    pub axes: [Vector; 3],
    /// The card's middle, mm before the camera.
    pub middle: Vector,
    focal_px: f64,
    centre: [f64; 2],
    half_diagonal: f64,
    k1: f64,
}

impl Placed {
    /// The pixel of a point of the card's plane, mm from its middle.
    pub fn pixel(&self, at: [f64; 2]) -> [f64; 2] {
        let p: Vector = std::array::from_fn(|i| self.middle[i] + at[0] * self.axes[0][i] + at[1] * self.axes[1][i]);
        let ideal = [self.focal_px * p[0] / p[2], self.focal_px * p[1] / p[2]];
        let r2 = (ideal[0].powi(2) + ideal[1].powi(2)) / self.half_diagonal.powi(2);
        let stretch = 1.0 + self.k1 * r2;
        [self.centre[0] + ideal[0] * stretch, self.centre[1] + ideal[1] * stretch]
    }

    /// The point of the card's plane that a pixel shows.
    fn point(&self, pixel: [f64; 2]) -> [f64; 2] {
        let d = [pixel[0] - self.centre[0], pixel[1] - self.centre[1]];
        // the lens undone by repetition
        let mut ideal = d;
        for _ in 0..if self.k1 == 0.0 { 0 } else { 8 } {
            let r2 = (ideal[0].powi(2) + ideal[1].powi(2)) / self.half_diagonal.powi(2);
            ideal = d.map(|v| v / (1.0 + self.k1 * r2));
        }
        let ray = [ideal[0] / self.focal_px, ideal[1] / self.focal_px, 1.0];
        let t = dot(self.axes[2], self.middle) / dot(self.axes[2], ray);
        let off: Vector = std::array::from_fn(|i| ray[i] * t - self.middle[i]);
        [dot(off, self.axes[0]), dot(off, self.axes[1])]
    }
}

impl Carded {
    pub fn placed(&self) -> Placed {
        let [yaw, pitch, roll] = [self.yaw, self.pitch, self.roll].map(f64::to_radians);
        let turn = |v: Vector| -> Vector {
            let [x, y, z] = v;
            let (s, c) = yaw.sin_cos();
            let [x, z] = [c * x + s * z, -s * x + c * z];
            let (s, c) = pitch.sin_cos();
            let [y, z] = [c * y - s * z, s * y + c * z];
            let (s, c) = roll.sin_cos();
            [c * x - s * y, s * x + c * y, z]
        };
        let centre = [0.5 * self.size.0 as f64, 0.5 * self.size.1 as f64];
        let half_diagonal = centre[0].hypot(centre[1]);
        let depth = self.focal_px / self.px_per_mm;
        // the lens moves the middle a little, which matters to nobody
        let ray = [(self.middle[0] - centre[0]) / self.focal_px, (self.middle[1] - centre[1]) / self.focal_px, 1.0];
        Placed {
            axes: [turn([1.0, 0.0, 0.0]), turn([0.0, 1.0, 0.0]), turn([0.0, 0.0, 1.0])],
            middle: ray.map(|v| v * depth),
            focal_px: self.focal_px,
            centre,
            half_diagonal,
            k1: self.k1,
        }
    }

    /// A mark's middle, mm from the card's middle, as printed.
    pub fn mark_mm(&self, card: &Card, number: usize) -> [f64; 2] {
        let [w, h] = self.paper.size_mm();
        let c = card.mark(number).unwrap().centre_mm;
        [(c[0] - 0.5 * w) * self.print[0], (c[1] - 0.5 * h) * self.print[1]]
    }

    /// Numbers of the marks that nothing hides.
    pub fn open(&self, card: &Card) -> Vec<usize> {
        let mut lots = Lots::new(self.seed ^ 0x5eed);
        let [_, h] = self.paper.size_mm();
        let count = card.marks.len();
        let hidden: Vec<bool> = if self.one_by_one {
            let mut order: Vec<usize> = (0..count).collect();
            for i in (1..count).rev() {
                order.swap(i, (lots.uniform() * (i + 1) as f64) as usize);
            }
            let many = (self.hidden * count as f64).round() as usize;
            (0..count).map(|i| order[..many].contains(&i)).collect()
        } else {
            let line = (card.marks[count - 1].centre_mm[1] + 30.0).min(h) * self.hidden;
            card.marks.iter().map(|m| m.centre_mm[1] - 0.5 * m.side_mm < line).collect()
        };
        card.marks.iter().filter(|m| !hidden[m.number - 1]).map(|m| m.number).collect()
    }

    /// Grey values as a file holds them, before it is compressed.
    pub fn grey(&self) -> Vec<u8> {
        let (w, h) = self.size;
        let scene = Scene::new(self);
        let placed = self.placed();
        let corners = self.paper.size_mm().map(|s| 0.5 * s);
        let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]
            .map(|[x, y]: [f64; 2]| placed.pixel([x * corners[0], y * corners[1]]));
        let reach = |k: usize| {
            let all = corners.iter().map(|c| c[k]);
            (all.clone().fold(f64::INFINITY, f64::min) - 9.0, all.fold(f64::NEG_INFINITY, f64::max) + 9.0)
        };
        let (across, down) = (reach(0), reach(1));
        let mut linear = vec![0.0_f32; w * h];
        linear.par_chunks_mut(w).enumerate().for_each(|(row, values)| {
            let mut rays = Lots::new(self.seed ^ 0x4a75 ^ (row as u64) << 20);
            for (column, value) in values.iter_mut().enumerate() {
                let (x, y) = (column as f64, row as f64);
                // off the card one ray is enough
                let on = x > across.0 && x < across.1 && y > down.0 && y < down.1;
                let n = if on { 3 } else { 1 };
                let mut sum = 0.0;
                for k in 0..n * n {
                    // anywhere in its share of the pixel: edges along rows of pixels would else jump
                    let [u, v] = [rays.uniform(), rays.uniform()];
                    let pixel = [x + (f64::from(k % n) + u) / f64::from(n), y + (f64::from(k / n) + v) / f64::from(n)];
                    sum += if on { scene.reflects(placed.point(pixel), pixel) } else { scene.behind(pixel) };
                }
                let share = x / w as f64;
                let light = self.light[0] * (1.0 - share) + self.light[1] * share;
                *value = (sum / f64::from(n * n) * light) as f32;
            }
        });
        let blurred = blurred(linear, w, h, self.blur_px);
        let mut lots = Lots::new(self.seed);
        let code = |v: f32| if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        let byte =
            |v: &f32| (255.0 * (f64::from(code(*v)) + self.noise * lots.normal())).round().clamp(0.0, 255.0) as u8;
        blurred.iter().map(byte).collect()
    }

    /// The card as grey, of 1, at a point of a photo that is drawn otherwise; `None` where it does not lie there.
    pub fn painted(&self) -> impl Fn(PixelPoint) -> Option<f64> + use<> {
        let (scene, placed, [w, h]) = (Scene::new(self), self.placed(), self.paper.size_mm());
        move |p| {
            let at = placed.point([p.x, p.y]);
            if at[0].abs() > 0.5 * w || at[1].abs() > 0.5 * h {
                return None;
            }
            let rays = (0..25).map(|k| [f64::from(k % 5) - 2.0, f64::from(k / 5) - 2.0].map(|v| v / 5.0));
            Some(rays.map(|[u, v]| scene.reflects(placed.point([p.x + u, p.y + v]), [p.x, p.y])).sum::<f64>() / 25.0)
        }
    }

    /// The photo as a JPEG file.
    pub fn jpeg(&self) -> Vec<u8> {
        let mut file = Vec::new();
        let (w, h) = self.size;
        image::codecs::jpeg::JpegEncoder::new_with_quality(&mut file, self.quality)
            .encode(&self.grey(), w as u32, h as u32, image::ExtendedColorType::L8)
            .unwrap();
        file
    }
}

/// What lies before the camera.
struct Scene {
    of: Carded,
    card: Card,
    columns: usize,
    /// Things that hide: a disc in the card's plane, mm, and its grey.
    discs: Vec<([f64; 2], f64, f64)>,
    /// Above this y of the card all is hidden, mm from its middle.
    covered: f64,
    /// Bars of the background: (place, period, grey).
    bars: [(f64, f64, f64); 3],
}

impl Scene {
    fn new(of: &Carded) -> Self {
        let card = Card::new(of.paper);
        let mut lots = Lots::new(of.seed ^ 0xbac4);
        let first = card.marks[0].centre_mm[1];
        let columns = card.marks.iter().filter(|m| (m.centre_mm[1] - first).abs() < 1e-9).count();
        let open = of.open(&card);
        let mut discs = Vec::new();
        let mut covered = f64::NEG_INFINITY;
        for mark in &card.marks {
            let hidden = !open.contains(&mark.number);
            let at = of.mark_mm(&card, mark.number);
            if hidden && of.one_by_one {
                let off = [lots.uniform() - 0.5, lots.uniform() - 0.5].map(|u| 0.4 * mark.side_mm * u);
                let grey = 0.05 + 0.8 * lots.uniform();
                discs.push(([at[0] + off[0], at[1] + off[1]], 0.55 * mark.side_mm, grey));
            } else if hidden {
                covered = covered.max(at[1] + 0.7 * mark.side_mm);
            }
        }
        let bars = std::array::from_fn(|_| {
            (lots.uniform() * 500.0, 40.0 + 200.0 * lots.uniform(), 0.05 + 0.5 * lots.uniform())
        });
        Self { of: of.clone(), card, columns, discs, covered, bars }
    }

    /// Reflectance of the card at a point mm from its middle, or of what hides it, or lies behind it.
    fn reflects(&self, at: [f64; 2], pixel: [f64; 2]) -> f64 {
        let [w, h] = self.of.paper.size_mm();
        let on = [at[0] / self.of.print[0] + 0.5 * w, at[1] / self.of.print[1] + 0.5 * h];
        if !(on[0] >= 0.0 && on[1] >= 0.0 && on[0] <= w && on[1] <= h) {
            return self.behind(pixel);
        }
        if at[1] < self.covered {
            return 0.25;
        }
        if let Some(disc) = self.discs.iter().find(|d| (d.0[0] - at[0]).hypot(d.0[1] - at[1]) < d.1) {
            return disc.2;
        }
        let first = self.card.marks[0].centre_mm;
        let column = ((on[0] - first[0]) / self.card.pitch_mm).round();
        let row = ((on[1] - first[1]) / self.card.pitch_mm).round();
        let (white, black) = (0.85, 0.04);
        if !(column >= 0.0 && row >= 0.0 && column < self.columns as f64) {
            return white;
        }
        let Some(mark) = self.card.marks.get(row as usize * self.columns + column as usize) else { return white };
        let cells = [0, 1].map(|i| ((on[i] - mark.centre_mm[i]) / mark.side_mm + 0.5) * 6.0);
        if !cells.iter().all(|c| (0.0..6.0).contains(c)) {
            return white;
        }
        let [c, r] = cells.map(|c| c as usize);
        let coded = (1..5).contains(&c) && (1..5).contains(&r);
        if coded && code::is_white(mark.word, r - 1, c - 1) { white } else { black }
    }

    fn behind(&self, [x, y]: [f64; 2]) -> f64 {
        let [a, b, c] = self.bars;
        let bar = |of: (f64, f64, f64), v: f64| if ((v + of.0) / of.1).fract() < 0.3 { of.2 } else { 0.0 };
        0.1 + bar(a, x) + 0.5 * bar(b, y) + 0.3 * bar(c, x + 0.6 * y)
    }
}

fn blurred(values: Vec<f32>, w: usize, h: usize, sigma: f64) -> Vec<f32> {
    if sigma <= 0.0 {
        return values;
    }
    let reach = (4.0 * sigma).ceil() as isize;
    let raw: Vec<f64> = (-reach..=reach).map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp()).collect();
    let sum: f64 = raw.iter().sum();
    let kernel: Vec<f32> = raw.iter().map(|v| (v / sum) as f32).collect();
    let clamp = |i: isize, n: usize| i.clamp(0, n as isize - 1) as usize;
    let mut across = vec![0.0_f32; w * h];
    for (i, out) in across.iter_mut().enumerate() {
        let (x, y) = ((i % w) as isize, i / w);
        *out = kernel.iter().enumerate().map(|(k, g)| g * values[y * w + clamp(x + k as isize - reach, w)]).sum();
    }
    let mut out = vec![0.0_f32; w * h];
    for (k, g) in kernel.iter().enumerate() {
        for y in 0..h {
            let from = clamp(y as isize + k as isize - reach, h) * w;
            let (row, above) = (&mut out[y * w..(y + 1) * w], &across[from..from + w]);
            row.iter_mut().zip(above).for_each(|(o, v)| *o += g * v);
        }
    }
    out
}
