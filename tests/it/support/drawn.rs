//! A drawn jet of exactly known truth: no photo, but one where every pixel follows from a formula.
//!
//! A band of given width follows the parabola of a speed and a launch angle; its edges are blurred by a
//! Gaussian (plus the pixel's own box), it may be transparent (rims without a core), and have waves; white noise is added.

use trajet::jet::{Areas, Prospect};
use trajet::measure::{Findings, Job, Refused, measure};
use trajet::photo::{Metadata, Photo, Pixels};
use trajet::point::PixelPoint;
use trajet::sheet::{Checked, Tone};
use trajet::statistics::normal_cdf;

/// A small generator of its own (xorshift64*, S. Vigna, 2016, ACM Trans. Math. Softw. 42:30): tests need no other.
pub struct Lots(u64);

impl Lots {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Box and Muller, 1958.
    pub fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.uniform()).ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

#[derive(Clone, Debug)]
pub struct Drawn {
    pub size: (usize, usize),
    pub orifice: PixelPoint,
    pub px_per_mm: f64,
    pub speed_m_s: f64,
    pub angle_rad: f64,
    pub to_the_right: bool,
    pub width_px: f64,
    pub blur_px: f64,
    /// Grey of the background and of the stream's core, 0 to 1.
    pub background: f64,
    pub core: f64,
    /// Grey of rims as thick as a sixth of the width; `None` for a stream without rims.
    pub rim: Option<f64>,
    pub noise: f64,
    /// Amplitude of a wave of the middle in px; it grows from nothing along the first half of the jet.
    pub wave_px: f64,
    /// Where the wave stands.
    pub phase_rad: f64,
    pub seed: u64,
}

impl Default for Drawn {
    fn default() -> Self {
        Self {
            size: (1200, 900),
            orifice: PixelPoint::new(100.0, 120.0),
            px_per_mm: 2.0,
            speed_m_s: 2.1,
            angle_rad: 0.0,
            to_the_right: true,
            width_px: 20.0,
            blur_px: 1.0,
            background: 0.25,
            core: 0.65,
            rim: None,
            noise: 0.01,
            wave_px: 0.0,
            phase_rad: 0.0,
            seed: 1,
        }
    }
}

impl Drawn {
    /// Gravity of the drawn world.
    pub const G: f64 = 9.81;

    fn curvature(&self) -> f64 {
        let px_per_m = 1000.0 * self.px_per_mm;
        Self::G / (2.0 * self.speed_m_s.powi(2) * self.angle_rad.cos().powi(2) * px_per_m)
    }

    /// Signed distance of a pixel from the true middle, downwards positive, and the distance along x from the orifice.
    pub fn off_px(&self, p: PixelPoint) -> (f64, f64) {
        let (n, t) = self.off_parabola_px(p);
        (n - self.wave(t), t)
    }

    /// Signed distance of a pixel from the parabola itself, without its waves, and the distance along x.
    pub fn off_parabola_px(&self, p: PixelPoint) -> (f64, f64) {
        let x = (p.x - self.orifice.x) * if self.to_the_right { 1.0 } else { -1.0 };
        let y = p.y - self.orifice.y;
        let (k, b) = (self.curvature(), -self.angle_rad.tan());
        // nearest point by Newton from the point below
        let mut t = x;
        for _ in 0..30 {
            let (f, df) = (b * t + k * t * t, b + 2.0 * k * t);
            let step = ((t - x) + (f - y) * df) / (1.0 + df * df + (f - y) * 2.0 * k).max(0.1);
            t -= step;
            if step.abs() < 1e-10 {
                break;
            }
        }
        let (f, df) = (b * t + k * t * t, b + 2.0 * k * t);
        let n = ((y - f) - df * (x - t)) / df.hypot(1.0);
        (n, t)
    }

    fn wave(&self, x: f64) -> f64 {
        let grown = (x / (0.5 * self.size.0 as f64)).clamp(0.0, 1.0);
        self.wave_px * grown * (x / (1.7 * self.width_px) * std::f64::consts::TAU / 3.0 + self.phase_rad).sin()
    }

    /// The photo, 16-bit grey so that rounding adds nothing.
    pub fn photo(&self) -> Photo {
        self.photo_with(|_, v| v)
    }

    /// The photo with things painted over the stream and its background, before the noise: place and grey -> grey.
    pub fn photo_with(&self, paint: impl Fn(PixelPoint, f64) -> f64) -> Photo {
        let (w, h) = self.size;
        let mut lots = Lots::new(self.seed);
        let s = self.blur_px.hypot(1.0 / 12f64.sqrt());
        let step = |n: f64| normal_cdf(n / s);
        let mut pixels = Vec::with_capacity(w * h);
        for iy in 0..h {
            for ix in 0..w {
                let p = PixelPoint::new(ix as f64 + 0.5, iy as f64 + 0.5);
                let mut v = self.background;
                // far from the parabola nothing needs the foot point
                let rough = p.y
                    - self.orifice.y
                    - (-self.angle_rad.tan() * (p.x - self.orifice.x).abs()
                        + self.curvature() * (p.x - self.orifice.x).powi(2));
                if rough.abs() < 12.0 * self.width_px {
                    let (n, t) = self.off_px(p);
                    if t > 0.0 && n.abs() < self.width_px {
                        let half = 0.5 * self.width_px;
                        let band = |a: f64| step(n + a) - step(n - a);
                        match self.rim {
                            None => v += (self.core - self.background) * band(half),
                            Some(rim) => {
                                let inner = half - self.width_px / 6.0;
                                v += (rim - self.background) * band(half) + (self.core - rim) * band(inner);
                            }
                        }
                    }
                }
                v = paint(p, v) + self.noise * lots.normal();
                pixels.push((v.clamp(0.0, 1.0) * 65535.0).round() as u16);
            }
        }
        Photo { width: w, height: h, pixels: Pixels::Grey16(pixels), metadata: Metadata::default() }
    }

    /// The sheet that states this scene: two scale marks, a plumb line, the head of a Cv of 0.97.
    pub fn sheet(&self, more: &str) -> Checked {
        let (o, k) = (self.orifice, self.px_per_mm);
        let (w, h) = (self.size.0 as f64, self.size.1 as f64);
        let head_mm = 1000.0 * (self.speed_m_s / 0.97).powi(2) / (2.0 * Self::G);
        let text = format!(
            "format = 1\n[photo]\nfile = \"drawn.png\"\n[scale]\nmarks = [[10.0, {y}], [{x}, {y}]]\nlength = \"{length} mm +- 0.1 mm\"\n\
             [vertical]\nplumb = [[20.0, 10.0], [20.0, {y}]]\n[orifice]\ncentre = [{}, {}]\ndiameter = \"{} mm +- 0.01 mm\"\n\
             edge = \"sharp\"\n[head]\nreading = \"{head_mm} mm +- 0.5 mm\"\n[site]\ngravity = \"{} m/s^2\"\n{more}",
            o.x,
            o.y,
            self.width_px / 0.8 / k,
            Self::G,
            y = h - 20.0,
            x = w - 10.0,
            length = (w - 20.0) / k,
        );
        let opened = trajet::sheet::open(&text);
        opened.checked.unwrap_or_else(|| panic!("{:?}", opened.faults))
    }

    /// What is known before looking.
    pub fn prospect(&self) -> Prospect {
        Prospect {
            orifice: self.orifice,
            down: [0.0, 1.0],
            px_per_mm: self.px_per_mm,
            diameter_px: self.width_px / 0.8,
            width_px: self.width_px,
            g_m_s2: Self::G,
            speeds_m_s: (0.62 * self.speed_m_s, 1.1 * self.speed_m_s),
            angles_rad: (-0.6, 0.9),
            to_the_right: None,
            frame_px: (self.size.0 as f64, self.size.1 as f64),
            tone: Tone::Either,
            level: None,
            areas: Areas::default(),
        }
    }
}

/// Measures a drawn scene.
pub fn measured(sheet: &Checked, photos: &[Photo], dry: Option<&Photo>) -> Result<Findings, Refused> {
    measure(&Job {
        sheet_name: "drawn.toml",
        sheet,
        photos,
        dry,
        notices: Vec::new(),
        inputs: Default::default(),
        seed: 1,
        draws: trajet::measure::Draws::None,
    })
}

/// Things that stand still on the bench, as soft-edged boxes: something for a registration to hold on to.
pub struct Things(Vec<[f64; 5]>);

impl Things {
    /// Things spread over 900 x 700 px.
    pub fn new(seed: u64) -> Self {
        let mut lots = Lots::new(seed);
        let mut one = || {
            let [x, y, w, h] = [900.0, 700.0, 60.0, 60.0].map(|size| size * lots.uniform());
            [x, y, x + 20.0 + w, y + 20.0 + h, 0.4 * lots.uniform() - 0.2]
        };
        Self((0..30).map(|_| one()).collect())
    }

    /// Ten times as many.
    pub fn crowded(seed: u64) -> Self {
        Self((0..10).flat_map(|i| Self::new(seed + i).0).collect())
    }

    /// What they add to the grey at a place of the bench.
    pub fn at(&self, at: PixelPoint) -> f64 {
        let soft = |d: f64| normal_cdf(d / 1.2);
        let near =
            |[x, y, x1, y1, _]: &&[f64; 5]| at.x > x - 8.0 && at.x < x1 + 8.0 && at.y > y - 8.0 && at.y < y1 + 8.0;
        self.0
            .iter()
            .filter(near)
            .map(|[x, y, x1, y1, tone]| tone * soft(at.x - x) * soft(x1 - at.x) * soft(at.y - y) * soft(y1 - at.y))
            .sum()
    }
}
