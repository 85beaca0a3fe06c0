//! A photo as one lightness plate and, where it has colour, two plates of colour difference.
//!
//! Dyed water differs from its background in colour more than in lightness; clear water the
//! other way round. The three plates are measured side by side, each weighed by its own noise.

use super::grey::cubic_weights;
use super::{Photo, Pixels, Plate};

/// Lightness and two colour differences, after ITU-R BT.709: Y, and B-Y and R-Y scaled to the range -1/2..1/2.
pub(super) const OPPONENT: [[f32; 3]; 3] = [[0.2126, 0.7152, 0.0722], [-0.1146, -0.3854, 0.5], [0.5, -0.4542, -0.0458]];

/// A sample type and the value of its white.
trait Sample: Copy + Sync {
    const WHITE: f32;
    fn value(self) -> f32;
    fn whole(self) -> u32;
}

impl Sample for u8 {
    const WHITE: f32 = 255.0;
    fn value(self) -> f32 {
        f32::from(self)
    }
    fn whole(self) -> u32 {
        u32::from(self)
    }
}

impl Sample for u16 {
    const WHITE: f32 = 65535.0;
    fn value(self) -> f32 {
        f32::from(self)
    }
    fn whole(self) -> u32 {
        u32::from(self)
    }
}

impl Photo {
    /// How many plates [`Photo::channels`] gives: 1 for a grey photo, 3 for a colour one.
    pub fn channel_count(&self) -> usize {
        match self.pixels {
            Pixels::Grey8(_) | Pixels::Grey16(_) => 1,
            Pixels::Rgb8(_) | Pixels::Rgb16(_) => 3,
        }
    }

    /// Lightness (and two colour differences) averaged over blocks of `factor` x `factor` pixels; a ragged
    /// right or lower edge narrower than a block is dropped. Empty plates where the photo is smaller than a block.
    pub fn channels(&self, factor: usize) -> Vec<Plate> {
        self.channels_of_rows(factor, 0, self.height / factor.max(1))
    }

    /// [`Photo::channels`] for the block rows `from..to` only.
    pub fn channels_of_rows(&self, factor: usize, from: usize, to: usize) -> Vec<Plate> {
        let factor = factor.max(1);
        let to = to.min(self.height / factor);
        let lines = from.min(to) * factor..to * factor;
        let row = |samples: usize| lines.start * self.width * samples..lines.end * self.width * samples;
        match &self.pixels {
            Pixels::Grey8(v) => vec![block_grey(&v[row(1)], self.width, lines.len(), factor)],
            Pixels::Grey16(v) => vec![block_grey(&v[row(1)], self.width, lines.len(), factor)],
            Pixels::Rgb8(v) => block_colour(&v[row(3)], self.width, lines.len(), factor),
            Pixels::Rgb16(v) => block_colour(&v[row(3)], self.width, lines.len(), factor),
        }
    }

    /// Channels of the block (`bx`, `by`) of `factor` x `factor` pixels, which must lie in the photo.
    pub fn block_channels(&self, bx: usize, by: usize, factor: usize) -> [f32; 3] {
        let mut sum = [0.0f32; 3];
        for y in by * factor..(by + 1) * factor {
            for x in bx * factor..(bx + 1) * factor {
                let v = self.channel_values(x, y);
                (0..3).for_each(|c| sum[c] += v[c]);
            }
        }
        sum.map(|s| s / (factor * factor) as f32)
    }

    /// Values of the channels at the pixel (`ix`, `iy`), which must lie in the photo; the two colour differences are 0 in a grey photo.
    #[inline]
    pub fn channel_values(&self, ix: usize, iy: usize) -> [f32; 3] {
        let i = iy * self.width + ix;
        match &self.pixels {
            Pixels::Grey8(v) => [v[i].value() / u8::WHITE, 0.0, 0.0],
            Pixels::Grey16(v) => [v[i].value() / u16::WHITE, 0.0, 0.0],
            Pixels::Rgb8(v) => opponent(v, i),
            Pixels::Rgb16(v) => opponent(v, i),
        }
    }
}

impl Photo {
    /// Values of the channels at any place (pixel coordinates of [`crate::point`]), by cubic convolution
    /// with a = -1/2 (R. G. Keys, 1981, IEEE Trans. Acoust. Speech Signal Process. 29:1153, eq. 15); the border pixels go on beyond the frame.
    #[inline]
    pub fn channels_at(&self, x: f64, y: f64) -> [f32; 3] {
        match &self.pixels {
            Pixels::Grey8(v) => [self.cubic(v, 1, x, y)[0] / u8::WHITE, 0.0, 0.0],
            Pixels::Grey16(v) => [self.cubic(v, 1, x, y)[0] / u16::WHITE, 0.0, 0.0],
            Pixels::Rgb8(v) => mix(self.cubic(v, 3, x, y).map(|s| s / u8::WHITE)),
            Pixels::Rgb16(v) => mix(self.cubic(v, 3, x, y).map(|s| s / u16::WHITE)),
        }
    }

    /// Values of the channels at any place, linearly between the four nearest pixels: quicker, and smoother than the photo.
    #[inline]
    pub fn channels_near(&self, x: f64, y: f64) -> [f32; 3] {
        match &self.pixels {
            Pixels::Grey8(v) => [self.linear(v, 1, x, y)[0] / u8::WHITE, 0.0, 0.0],
            Pixels::Grey16(v) => [self.linear(v, 1, x, y)[0] / u16::WHITE, 0.0, 0.0],
            Pixels::Rgb8(v) => mix(self.linear(v, 3, x, y).map(|s| s / u8::WHITE)),
            Pixels::Rgb16(v) => mix(self.linear(v, 3, x, y).map(|s| s / u16::WHITE)),
        }
    }

    #[inline]
    fn linear<T: Sample>(&self, v: &[T], samples: usize, x: f64, y: f64) -> [f32; 3] {
        let fx = (x - 0.5).clamp(0.0, self.width as f64 - 1.001);
        let fy = (y - 0.5).clamp(0.0, self.height as f64 - 1.001);
        let (ix, iy) = (fx as usize, fy as usize);
        let (tx, ty) = ((fx - ix as f64) as f32, (fy - iy as f64) as f32);
        let above = &v[(iy * self.width + ix) * samples..];
        let below = &v[((iy + 1) * self.width + ix) * samples..];
        let mut sum = [0.0f32; 3];
        for (c, sum) in sum.iter_mut().enumerate().take(samples) {
            let along = |row: &[T]| row[c].value() + tx * (row[samples + c].value() - row[c].value());
            let (a, b) = (along(above), along(below));
            *sum = a + ty * (b - a);
        }
        sum
    }

    #[inline]
    fn cubic<T: Sample>(&self, v: &[T], samples: usize, x: f64, y: f64) -> [f32; 3] {
        let (fx, fy) = (x - 0.5, y - 0.5);
        let (ix, iy) = (fx.floor(), fy.floor());
        let (wx, wy) = (cubic_weights((fx - ix) as f32), cubic_weights((fy - iy) as f32));
        let (ix, iy) = (ix as i64, iy as i64);
        let column = |k: usize| (ix - 1 + k as i64).clamp(0, self.width as i64 - 1) as usize * samples;
        let columns = [column(0), column(1), column(2), column(3)];
        let mut sum = [0.0f32; 3];
        for (k, wy) in wy.iter().enumerate() {
            let row = (iy - 1 + k as i64).clamp(0, self.height as i64 - 1) as usize * self.width * samples;
            for c in 0..samples {
                let at = |i: usize| v[row + columns[i] + c].value();
                sum[c] += wy * (wx[0] * at(0) + wx[1] * at(1) + wx[2] * at(2) + wx[3] * at(3));
            }
        }
        sum
    }
}

#[inline]
fn mix(rgb: [f32; 3]) -> [f32; 3] {
    OPPONENT.map(|row| row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2])
}

#[inline]
fn opponent<T: Sample>(v: &[T], i: usize) -> [f32; 3] {
    mix([v[3 * i].value() / T::WHITE, v[3 * i + 1].value() / T::WHITE, v[3 * i + 2].value() / T::WHITE])
}

fn block_grey<T: Sample>(v: &[T], width: usize, height: usize, factor: usize) -> Plate {
    let (w, h) = (width / factor, height / factor);
    let scale = 1.0 / (T::WHITE * (factor * factor) as f32);
    let mut values = vec![0.0f32; w * h];
    values.chunks_mut(w.max(1)).enumerate().for_each(|(y, out)| {
        for dy in 0..factor {
            let row = &v[(y * factor + dy) * width..][..w * factor];
            for (o, block) in out.iter_mut().zip(row.chunks_exact(factor)) {
                *o += block.iter().map(|s| s.value()).sum::<f32>();
            }
        }
        out.iter_mut().for_each(|o| *o *= scale);
    });
    Plate { width: w, height: h, values }
}

fn block_colour<T: Sample>(v: &[T], width: usize, height: usize, factor: usize) -> Vec<Plate> {
    let (w, h) = (width / factor, height / factor);
    let scale = 1.0 / (T::WHITE * (factor * factor) as f32);
    let mut rows: [Vec<f32>; 3] = std::array::from_fn(|_| vec![0.0f32; w * h]);
    let [a, b, c] = &mut rows;
    let chunk = w.max(1);
    // whole numbers: a block of 256 x 256 samples of 16 bits just fits
    let mut sums = vec![[0u32; 3]; w];
    for (y, ((a, b), c)) in a.chunks_mut(chunk).zip(b.chunks_mut(chunk)).zip(c.chunks_mut(chunk)).enumerate() {
        sums.fill([0; 3]);
        for dy in 0..factor {
            let row = &v[(y * factor + dy) * width * 3..][..w * factor * 3];
            for (sum, block) in sums.iter_mut().zip(row.chunks_exact(3 * factor)) {
                for p in block.chunks_exact(3) {
                    sum[0] += p[0].whole();
                    sum[1] += p[1].whole();
                    sum[2] += p[2].whole();
                }
            }
        }
        for (i, s) in sums.iter().enumerate() {
            let [y, blue, red] = mix(s.map(|v| v as f32 * scale));
            a[i] = y;
            b[i] = blue;
            c[i] = red;
        }
    }
    rows.into_iter().map(|values| Plate { width: w, height: h, values }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Metadata;

    #[test]
    fn blocks_average_and_grey_has_no_colour() {
        let photo = |pixels, width, height| Photo { width, height, pixels, metadata: Metadata::default() };
        let grey = photo(Pixels::Grey8(vec![0, 255, 255, 0, 9, 9]), 2, 3);
        let plates = grey.channels(2);
        assert_eq!((plates.len(), plates[0].width, plates[0].height), (1, 1, 1));
        assert!((plates[0].values[0] - 0.5).abs() < 1e-6);
        let rgb = photo(Pixels::Rgb8([200u8; 12].to_vec()), 2, 2);
        let plates = rgb.channels(1);
        assert_eq!(plates.len(), 3);
        assert!(plates[0].values.iter().all(|v| (v - 200.0 / 255.0).abs() < 1e-5));
        assert!(plates[1].values.iter().chain(&plates[2].values).all(|v| v.abs() < 1e-4));
        assert!((rgb.channel_values(1, 1)[0] - 200.0 / 255.0).abs() < 1e-5);
        assert!(rgb.channels(3).iter().all(|p| p.values.is_empty()));
    }
}
