//! Rulers read from the picture: drawn ones of known places.

use crate::support::drawn::Lots;
use trajet::calibration::ruler::graduation;
use trajet::photo::{Metadata, Photo, Pixels};
use trajet::point::PixelPoint;

const SIZE: (usize, usize) = (1400, 220);

/// A ruler 3 degrees askew, its scale shrinking by 2 % from end to end; lines every millimetre, longer at 5 and 10.
struct Ruler {
    px_per_mm: f64,
    seed: u64,
}

impl Ruler {
    fn axes() -> (f64, f64) {
        3f64.to_radians().sin_cos()
    }

    /// px along the ruler of a reading.
    fn along(&self, mm: f64) -> f64 {
        self.px_per_mm * (mm - 0.01 * mm * mm / 350.0)
    }

    fn mark(&self, mm: f64) -> PixelPoint {
        let (sin, cos) = Self::axes();
        let s = self.along(mm);
        PixelPoint::new(60.0 + s * cos, 90.0 + s * sin)
    }

    fn photo(&self, lines: bool) -> Photo {
        let (sin, cos) = Self::axes();
        let mut lots = Lots::new(self.seed);
        let mut pixels = Vec::with_capacity(SIZE.0 * SIZE.1);
        for i in 0..SIZE.0 * SIZE.1 {
            let (x, y) = ((i % SIZE.0) as f64 + 0.5 - 60.0, (i / SIZE.0) as f64 + 0.5 - 90.0);
            let (s, n) = (x * cos + y * sin, -x * sin + y * cos);
            let soft = |d: f64| 0.5 + 0.5 * (d / 1.2).tanh();
            let mut v = 0.35 + 0.45 * soft(n + 30.0) * soft(25.0 - n) * soft(s + 20.0) * soft(1300.0 - s);
            // inverse of `along`, to first order exact enough after two steps
            let mut mm = s / self.px_per_mm;
            for _ in 0..3 {
                mm = s / self.px_per_mm + 0.01 * mm * mm / 350.0;
            }
            let nearest = mm.round();
            let long = if nearest % 10.0 == 0.0 {
                24.0
            } else if nearest % 5.0 == 0.0 {
                16.0
            } else {
                10.0
            };
            if lines && (0.0..=350.0).contains(&nearest) && n < 0.0 && n > -long {
                let d = s - self.along(nearest);
                v -= 0.45 * (-0.5 * (d / 0.8).powi(2)).exp();
            }
            v += 0.01 * lots.normal();
            pixels.push((v.clamp(0.0, 1.0) * 65535.0).round() as u16);
        }
        Photo { width: SIZE.0, height: SIZE.1, pixels: Pixels::Grey16(pixels), metadata: Metadata::default() }
    }

    /// Marks every 50 mm with clicks off by `u_px` normal noise in each direction.
    fn clicks(&self, u_px: f64) -> Vec<(PixelPoint, f64)> {
        let mut lots = Lots::new(self.seed + 100);
        (0..7)
            .map(|k| {
                let p = self.mark(50.0 * f64::from(k));
                (PixelPoint::new(p.x + u_px * lots.normal(), p.y + u_px * lots.normal()), 50.0 * f64::from(k))
            })
            .collect()
    }
}

fn ends(marks: &[PixelPoint]) -> f64 {
    marks[0].distance(marks[marks.len() - 1])
}

/// Over eight drawn rulers the distance between the end marks is at most a third as wrong as the clicks have it.
#[test]
fn many_lines_beat_two_clicks() {
    let (mut clicked, mut read) = (0.0, 0.0);
    for seed in 0..8 {
        let ruler = Ruler { px_per_mm: 3.6, seed };
        let marks = ruler.clicks(0.7);
        let truth = ruler.mark(0.0).distance(ruler.mark(300.0));
        let found = graduation(&ruler.photo(true), &marks, 0.7, None).unwrap().value;
        assert_eq!(found.pitch_mm, 1.0);
        let off = ends(&found.marks) - truth;
        assert!(off.abs() < 3.0 * found.u_px, "{off} px, u {}", found.u_px);
        read += off.powi(2);
        clicked += (marks[0].0.distance(marks[6].0) - truth).powi(2);
        let change = found.px_per_mm.1 / found.px_per_mm.0 - 1.0;
        assert!((change + 0.0172).abs() < 0.002, "change of scale {change}");
    }
    eprintln!(
        "rms over 8 rulers: clicked {:.3} px, read {:.3} px",
        (clicked / 8.0_f64).sqrt(),
        (read / 8.0_f64).sqrt()
    );
    assert!(read.sqrt() * 3.0 <= clicked.sqrt());
}

#[test]
fn a_click_that_is_off_is_told() {
    let ruler = Ruler { px_per_mm: 3.6, seed: 3 };
    let mut marks = ruler.clicks(0.3);
    marks[2].0.x += 6.0;
    let found = graduation(&ruler.photo(true), &marks, 0.7, None).unwrap();
    assert!(found.notices.iter().any(|n| n.says.starts_with("the mark at 100.0 mm")), "{:?}", found.notices);
    assert_eq!(found.notices.iter().filter(|n| n.says.starts_with("the mark at")).count(), 1);
    assert!((found.value.off_px[2] - 6.0).abs() < 1.0);
}

#[test]
fn no_ruler_and_a_wrong_length_are_refused() {
    let ruler = Ruler { px_per_mm: 3.6, seed: 4 };
    let refused = graduation(&ruler.photo(false), &ruler.clicks(0.7), 0.7, None).unwrap_err();
    assert!(refused.reason.contains("no graduation"), "{refused}");
    let wrong: Vec<_> = ruler.clicks(0.7).into_iter().map(|(p, mm)| (p, mm * 5.0 / 6.0)).collect();
    let refused = graduation(&ruler.photo(true), &wrong, 0.7, None).unwrap_err();
    assert!(refused.reason.contains("no usual graduation"), "{refused}");
    assert!(graduation(&ruler.photo(true), &wrong[..1], 0.7, None).is_err());
    let fine = Ruler { px_per_mm: 1.5, seed: 5 };
    assert!(graduation(&fine.photo(true), &fine.clicks(0.7), 0.7, Some(1.0)).is_err());
}
