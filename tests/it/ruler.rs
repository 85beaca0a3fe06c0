//! Rulers read from the picture: drawn ones of known places, and pictures without any.

use crate::support::drawn::{Drawn, Lots, measured};
use trajet::calibration::ruler::{Graduation, Kind, graduation};
use trajet::photo::{Metadata, Photo, Pixels};
use trajet::point::PixelPoint;
use trajet::sheet::{Pitch, open};
use trajet::statistics::normal_cdf;

const SIZE: (usize, usize) = (1400, 260);
const LENGTH_MM: f64 = 300.0;

/// What is drawn on a ruler.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Drawing {
    /// Lines every `pitch`, longer at every fifth and tenth, of this thickness in px.
    Lines { pitch_mm: f64, thick_px: f64 },
    /// Dark and light blocks.
    Blocks { pitch_mm: f64 },
    /// Lines along and across.
    Squares { pitch_mm: f64 },
    /// Nothing.
    Bare,
}

/// A ruler askew, its scale shrinking from end to end, seen through blur, noise and gamma.
#[derive(Clone, Copy, Debug)]
struct Ruler {
    drawing: Drawing,
    px_per_mm: f64,
    /// Share of the scale lost from one end to the other.
    shrinks: f64,
    slope_deg: f64,
    /// How far the lines lean from square to the ruler, degrees, at its end; none at its start.
    leans_deg: f64,
    blur_px: f64,
    /// Grey of the lines, or of the dark blocks, and of what they stand on, before gamma.
    greys: (f64, f64),
    gamma: f64,
    noise: f64,
    seed: u64,
}

const STEEL: Ruler = Ruler {
    drawing: Drawing::Lines { pitch_mm: 1.0, thick_px: 0.8 },
    px_per_mm: 3.6,
    shrinks: 0.0172,
    slope_deg: 3.0,
    leans_deg: 0.0,
    blur_px: 0.9,
    greys: (0.25, 0.7),
    gamma: 1.0,
    noise: 0.01,
    seed: 1,
};

impl Ruler {
    fn axes(&self) -> (f64, f64) {
        self.slope_deg.to_radians().sin_cos()
    }

    /// px along the ruler of a reading; the scale falls evenly.
    fn along(&self, mm: f64) -> f64 {
        self.px_per_mm * (mm - 0.5 * self.shrinks * mm * mm / LENGTH_MM)
    }

    fn reading(&self, along: f64) -> f64 {
        let mut mm = along / self.px_per_mm;
        for _ in 0..6 {
            mm = along / self.px_per_mm + 0.5 * self.shrinks * mm * mm / LENGTH_MM;
        }
        mm
    }

    fn mark(&self, mm: f64) -> PixelPoint {
        let (sin, cos) = self.axes();
        let s = self.along(mm);
        PixelPoint::new(60.0 + s * cos, 110.0 + s * sin)
    }

    fn photo(&self) -> Photo {
        let (sin, cos) = self.axes();
        let mut lots = Lots::new(self.seed);
        let blur = self.blur_px.hypot(1.0 / 12f64.sqrt());
        let soft = |d: f64| normal_cdf(d / blur);
        let stroke = |d: f64, thick: f64| soft(d + 0.5 * thick) - soft(d - 0.5 * thick);
        let (dark, light) = self.greys;
        let mut pixels = Vec::with_capacity(SIZE.0 * SIZE.1);
        for i in 0..SIZE.0 * SIZE.1 {
            let (x, y) = ((i % SIZE.0) as f64 + 0.5 - 60.0, (i / SIZE.0) as f64 + 0.5 - 110.0);
            let (s, n) = (x * cos + y * sin, -x * sin + y * cos);
            // a line that leans meets the edge of the ruler, n = 0, at its reading
            let at_edge = s - n * (self.leans_deg * s / self.along(LENGTH_MM)).to_radians().tan();
            let mm = self.reading(at_edge);
            let on = soft(n + 40.0) * soft(-n + 12.0);
            let near = |pitch: f64| (mm / pitch).round();
            let off = |pitch: f64, k: f64| at_edge - self.along(k * pitch);
            let inside = |k: f64, pitch: f64| (-1e-9..=LENGTH_MM + 1e-9).contains(&(k * pitch));
            let cover = match self.drawing {
                Drawing::Lines { pitch_mm, thick_px } => {
                    let k = near(pitch_mm);
                    let long = if k % 10.0 == 0.0 {
                        24.0
                    } else if k % 5.0 == 0.0 {
                        16.0
                    } else {
                        10.0
                    };
                    let drawn = inside(k, pitch_mm) && n < 0.0 && n > -long;
                    if drawn { stroke(off(pitch_mm, k), thick_px) } else { 0.0 }
                }
                Drawing::Blocks { pitch_mm } => {
                    // dark from an even boundary to the next
                    let k = near(pitch_mm);
                    let d = soft(off(pitch_mm, k));
                    let inner = if k % 2.0 == 0.0 { d } else { 1.0 - d };
                    if (-1.0..=LENGTH_MM + 1.0).contains(&mm) { inner } else { 0.0 }
                }
                Drawing::Squares { pitch_mm } => {
                    let across = n - (n / (pitch_mm * self.px_per_mm)).round() * pitch_mm * self.px_per_mm;
                    stroke(off(pitch_mm, near(pitch_mm)), 1.2).max(stroke(across, 1.2))
                }
                Drawing::Bare => 0.0,
            };
            let ground = 0.35;
            let ruler = light + (dark - light) * cover;
            let linear = ground + (ruler - ground) * on;
            let v = linear.powf(1.0 / self.gamma) + self.noise * lots.normal();
            pixels.push((v.clamp(0.0, 1.0) * 65535.0).round() as u16);
        }
        Photo { width: SIZE.0, height: SIZE.1, pixels: Pixels::Grey16(pixels), metadata: Metadata::default() }
    }

    /// Marks at these readings with clicks off by `u_px` normal noise in each direction.
    fn clicks(&self, readings: &[f64], u_px: f64) -> Vec<(PixelPoint, f64)> {
        let mut lots = Lots::new(self.seed + 100);
        let mut one = |mm: f64| {
            let p = self.mark(mm);
            (PixelPoint::new(p.x + u_px * lots.normal(), p.y + u_px * lots.normal()), mm)
        };
        readings.iter().map(|mm| one(*mm)).collect()
    }

    fn every_50(&self) -> Vec<(PixelPoint, f64)> {
        self.clicks(&[0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0], 0.7)
    }

    /// True distance of the end marks, px.
    fn truth(&self) -> f64 {
        self.mark(0.0).distance(self.mark(LENGTH_MM))
    }
}

fn read_px(found: &Graduation) -> f64 {
    found.mean_px_per_mm() * LENGTH_MM
}

/// Over eight drawn rulers the distance between the end marks is at most a third as wrong as the clicks have it.
#[test]
fn many_lines_beat_two_clicks() {
    let (mut clicked, mut read) = (0.0, 0.0);
    for seed in 0..8 {
        let ruler = Ruler { seed, ..STEEL };
        let marks = ruler.every_50();
        let found = graduation(&ruler.photo(), &marks, 0.7, None).unwrap().value;
        assert_eq!((found.kind, found.pitch_mm), (Kind::Lines, 1.0));
        let off = read_px(&found) - ruler.truth();
        assert!(off.abs() < 3.0 * found.u_px, "{off} px, u {}", found.u_px);
        read += off.powi(2);
        clicked += (marks[0].0.distance(marks[6].0) - ruler.truth()).powi(2);
        assert!((found.change() + 0.0172).abs() < 0.002, "change of scale {}", found.change());
    }
    eprintln!(
        "rms over 8 rulers: clicked {:.3} px, read {:.3} px",
        (clicked / 8.0_f64).sqrt(),
        (read / 8.0_f64).sqrt()
    );
    assert!(read.sqrt() * 3.0 <= clicked.sqrt());
}

/// Every kind of ruler, near the limit of what can be read: the graduation is found, and the distance of the end marks lies
/// within three standard uncertainties of the drawn one.
#[test]
fn every_kind_of_ruler_is_read() {
    let lines = |pitch_mm, thick_px| Drawing::Lines { pitch_mm, thick_px };
    let faded = Ruler {
        drawing: Drawing::Blocks { pitch_mm: 25.0 },
        greys: (0.3, 0.5),
        blur_px: 1.5,
        gamma: 2.2,
        noise: 0.02,
        ..STEEL
    };
    let old = Ruler { greys: (0.4, 0.6), gamma: 1.6, noise: 0.02, px_per_mm: 4.2, ..STEEL };
    let rulers = [
        ("thirty-seconds of an inch", Ruler { drawing: lines(25.4 / 32.0, 0.7), ..STEEL }, 25.4 / 32.0),
        ("fine", Ruler { px_per_mm: 2.7, ..STEEL }, 1.0),
        ("faint", Ruler { greys: (0.61, 0.7), noise: 0.012, ..STEEL }, 1.0),
        ("white on black", Ruler { greys: (0.8, 0.1), ..STEEL }, 1.0),
        ("blurred", Ruler { blur_px: 1.2, ..STEEL }, 1.0),
        ("sloping", Ruler { slope_deg: 9.0, px_per_mm: 3.4, ..STEEL }, 1.0),
        ("leaning lines", Ruler { leans_deg: 4.0, ..STEEL }, 1.0),
        ("far askew", Ruler { shrinks: 0.07, px_per_mm: 3.9, ..STEEL }, 1.0),
        ("an old print", old, 1.0),
        ("sixteenths of an inch", Ruler { drawing: lines(25.4 / 16.0, 0.9), ..STEEL }, 25.4 / 16.0),
        ("centimetres", Ruler { drawing: lines(10.0, 1.5), ..STEEL }, 10.0),
        ("blocks of 10 mm", Ruler { drawing: Drawing::Blocks { pitch_mm: 10.0 }, gamma: 2.2, ..STEEL }, 10.0),
        ("blocks of 25 mm, faded", faded, 25.0),
        ("squared paper", Ruler { drawing: Drawing::Squares { pitch_mm: 5.0 }, greys: (0.5, 0.7), ..STEEL }, 5.0),
    ];
    let (mut shares, mut wrong) = (Vec::new(), Vec::new());
    for (name, ruler, pitch_mm) in rulers {
        // the end marks of a ruler in inches lie on its lines too
        let last = (LENGTH_MM / pitch_mm).floor() * pitch_mm;
        let marks = ruler.clicks(&[0.0, last], 0.7);
        let truth = ruler.mark(0.0).distance(ruler.mark(last));
        let found = match graduation(&ruler.photo(), &marks, 0.7, None) {
            Ok(found) => found.value,
            Err(e) => {
                wrong.push(format!("{name}: {e}"));
                continue;
            }
        };
        let kind = if matches!(ruler.drawing, Drawing::Blocks { .. }) { Kind::Blocks } else { Kind::Lines };
        let off = found.mean_px_per_mm() * last - truth;
        let clicked = marks[0].0.distance(marks[1].0) - truth;
        let told = format!(
            "{name}: {:?} of {} mm, off {off:+.3} px, u {:.3}, clicks off {clicked:+.2}",
            found.kind, found.pitch_mm, found.u_px
        );
        eprintln!("{told}");
        if found.kind != kind || (found.pitch_mm - pitch_mm).abs() > 1e-9 || off.abs() > 3.0 * found.u_px {
            wrong.push(told);
        }
        shares.push((off / clicked).abs());
    }
    assert_eq!(wrong, Vec::<String>::new());
    shares.sort_unstable_by(f64::total_cmp);
    let median = shares[shares.len() / 2];
    eprintln!("median of the error over that of the clicks: {median:.3}");
    assert!(median < 1.0 / 3.0, "{median}");
}

/// What gamma does to the edges of blocks, to and fro by turns, does not draw the bar out: an odd number of blocks too.
#[test]
fn gamma_does_not_draw_a_bar_out() {
    for last in [300.0, 270.0] {
        let ruler = Ruler { drawing: Drawing::Blocks { pitch_mm: 30.0 }, gamma: 2.2, blur_px: 2.0, ..STEEL };
        let marks = ruler.clicks(&[0.0, last], 0.0);
        let found = graduation(&ruler.photo(), &marks, 0.7, Some(30.0)).unwrap().value;
        let off = found.mean_px_per_mm() * last - ruler.mark(0.0).distance(ruler.mark(last));
        assert!(off.abs() < 0.15, "{last} mm: {off} px");
    }
}

#[test]
fn how_far_a_click_is_off_is_told() {
    let ruler = Ruler { seed: 3, ..STEEL };
    let mut marks = ruler.clicks(&[0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0], 0.3);
    marks[2].0.x += 6.0;
    let found = graduation(&ruler.photo(), &marks, 0.7, None).unwrap().value;
    assert!((found.off_px[2] - 6.0).abs() < 1.0, "{:?}", found.off_px);
    assert!(found.off_px.iter().enumerate().all(|(i, o)| i == 2 || o.abs() < 1.5), "{:?}", found.off_px);
}

#[test]
fn no_ruler_and_a_wrong_length_are_refused() {
    let ruler = Ruler { seed: 4, ..STEEL };
    let bare = Ruler { drawing: Drawing::Bare, ..ruler };
    let refused = graduation(&bare.photo(), &bare.every_50(), 0.7, None).unwrap_err();
    assert!(refused.reason.contains("no graduation"), "{refused}");
    let wrong: Vec<_> = ruler.every_50().into_iter().map(|(p, mm)| (p, mm * 5.0 / 6.0)).collect();
    let refused = graduation(&ruler.photo(), &wrong, 0.7, None).unwrap_err();
    assert!(refused.reason.contains("no usual graduation"), "{refused}");
    let refused = graduation(&ruler.photo(), &ruler.every_50(), 0.7, Some(1.3)).unwrap_err();
    assert!(refused.reason.contains("not 1.3 mm"), "{refused}");
    assert!(graduation(&ruler.photo(), &wrong[..1], 0.7, None).is_err());
    let fine = Ruler { px_per_mm: 1.5, seed: 5, ..STEEL };
    let refused = graduation(&fine.photo(), &fine.every_50(), 0.7, Some(1.0)).unwrap_err();
    assert!(refused.reason.contains("too fine"), "{refused}");
    let covered = Photo { pixels: covered(ruler.photo()), ..ruler.photo() };
    let refused = graduation(&covered, &ruler.every_50(), 0.7, Some(1.0)).unwrap_err();
    assert!(refused.reason.contains("cannot be followed"), "{refused}");
}

/// A hand over the middle third of the ruler.
fn covered(photo: Photo) -> Pixels {
    let Pixels::Grey16(mut grey) = photo.pixels else { panic!("drawn photos are 16-bit grey") };
    for (i, v) in grey.iter_mut().enumerate() {
        if (480..900).contains(&(i % SIZE.0)) {
            *v = 30_000 + (i as u16 & 0xff);
        }
    }
    Pixels::Grey16(grey)
}

/// Boards, edges, noise, noise in squares as a JPEG leaves it, a stream with waves: nothing is read where nothing is.
#[test]
fn nothing_is_read_where_there_is_no_ruler() {
    let mut lots = Lots::new(77);
    let mut scene = |paint: &dyn Fn(f64, f64, &mut Lots) -> f64| {
        let mut pixels = Vec::with_capacity(SIZE.0 * SIZE.1);
        for i in 0..SIZE.0 * SIZE.1 {
            let v = paint((i % SIZE.0) as f64, (i / SIZE.0) as f64, &mut lots);
            pixels.push((v.clamp(0.0, 1.0) * 65535.0) as u16);
        }
        Photo { width: SIZE.0, height: SIZE.1, pixels: Pixels::Grey16(pixels), metadata: Metadata::default() }
    };
    let squares: Vec<f64> = {
        let mut lots = Lots::new(5);
        (0..SIZE.0.div_ceil(8) * SIZE.1.div_ceil(8)).map(|_| 0.02 * lots.normal()).collect()
    };
    let edges: Vec<(f64, f64)> = {
        let mut lots = Lots::new(6);
        (0..40).map(|_| (SIZE.0 as f64 * lots.uniform(), 0.3 * lots.normal())).collect()
    };
    let scenes = [
        ("a board", scene(&|x, _, lots| 0.3 + 0.0001 * x + 0.01 * lots.normal())),
        (
            "noise in squares",
            scene(&|x, y, lots| {
                0.3 + squares[(y / 8.0) as usize * SIZE.0.div_ceil(8) + (x / 8.0) as usize] + 0.003 * lots.normal()
            }),
        ),
        (
            "upright edges at random",
            scene(&|x, _, lots| {
                0.5 + edges.iter().map(|(at, step)| step * normal_cdf((x - at) / 1.2)).sum::<f64>().sin() * 0.4
                    + 0.01 * lots.normal()
            }),
        ),
        (
            "a stream with waves",
            scene(&|x, y, lots| {
                let long = 3.0 * (x / 23.0 + 0.7 * (x / 171.0).sin()).sin();
                let middle = 110.0 + long + 2.0 * (x / 9.3 + (x / 57.0).sin()).sin();
                let band = normal_cdf((y - middle + 10.0) / 1.5) - normal_cdf((y - middle - 10.0) / 1.5);
                0.3 + 0.4 * band + 0.01 * lots.normal()
            }),
        ),
    ];
    let mut lots = Lots::new(9);
    for (name, photo) in &scenes {
        for i in 0..12 {
            let slope = 0.04 * (lots.uniform() - 0.5);
            let (x, y) = (30.0 + 100.0 * lots.uniform(), 60.0 + 100.0 * lots.uniform());
            let length = 500.0 + 700.0 * lots.uniform();
            let ends = [PixelPoint::new(x, y), PixelPoint::new(x + length, y + slope * length)];
            let mm = [100.0, 200.0, 300.0, 500.0, 304.8, 254.0][i % 6];
            let pitch = [None, None, Some(1.0), Some(10.0)][i % 4];
            if let Ok(found) = graduation(photo, &[(ends[0], 0.0), (ends[1], mm)], 0.7, pitch) {
                panic!("{name}: {:?}", found.value);
            }
        }
    }
}

/// A jet with a ruler below it, lines every 2 mm (4 px) over the 590 mm between the sheet's marks.
fn bench(lines: bool) -> (Drawn, Photo) {
    let drawn = Drawn::default();
    let (w, h) = (drawn.size.0 as f64, drawn.size.1 as f64);
    let photo = drawn.photo_with(|p, v| {
        let (x, y) = (p.x - 10.0, p.y - (h - 20.0));
        if y.abs() > 24.0 {
            return v;
        }
        let k = (x / 4.0).round();
        let drawn = lines && y < 0.0 && y > -12.0 && (0.0..=(w - 20.0) / 4.0).contains(&k);
        0.75 - if drawn { 0.4 * (-0.5 * ((x - 4.0 * k) / 0.8).powi(2)).exp() } else { 0.0 }
    });
    (drawn, photo)
}

#[test]
fn a_ruler_read_in_the_photo_outweighs_the_clicks() {
    let (drawn, photo) = bench(true);
    let mut sheet = drawn.sheet("");
    let photos = [photo];
    let exact = measured(&sheet, &photos, None).unwrap().velocity.unwrap();
    // both clicks 1.5 px too far out: the scale is 0.25 % too large
    sheet.scales[0].marks[0].0.at.x -= 1.5;
    sheet.scales[0].marks[1].0.at.x += 1.5;
    let clicked = measured(&sheet, &photos, None).unwrap();
    sheet.scales[0].graduation = Some(Pitch::Auto);
    let read = measured(&sheet, &photos, None).unwrap();

    let off = |f: &trajet::measure::Findings| f.velocity.as_ref().unwrap().value / exact.value - 1.0;
    eprintln!("velocity off by {:.5} clicked, {:.5} read", off(&clicked), off(&read));
    assert!(off(&clicked).abs() > 0.001 && off(&read).abs() < off(&clicked).abs() / 5.0);

    let [ruler] = read.rulers.as_slice() else { panic!("{:?}", read.rulers) };
    assert_eq!((ruler.scale, ruler.kind.as_str(), ruler.graduation.as_str()), (1, "lines", "2 mm"));
    assert!((ruler.px_per_mm - 2.0).abs() < 0.0005, "{}", ruler.px_per_mm);
    let told = |n: &&trajet::notice::Notice| n.says.contains("a graduation of 2 mm is read");
    assert_eq!(read.notices.iter().find(told).map(|n| n.about.as_str()), Some("scale.graduation"));
    let u = |f: &trajet::measure::Findings, input: &str| {
        f.budget["velocity"].iter().find(|r| r.input == input).map_or(0.0, |r| r.share.sqrt())
            * f.velocity.as_ref().unwrap().u
    };
    // the lines tell of the camera's angle and the lens too, so that less is left to assumption in all
    let (of_clicked, of_read) = (clicked.velocity.as_ref().unwrap().u, read.velocity.as_ref().unwrap().u);
    eprintln!("u of V: {of_clicked:.5} m/s clicked, {of_read:.5} m/s read");
    assert!(of_read < of_clicked && u(&read, "scale.lines") > 0.0);
    assert!(u(&read, "scale.marks") < u(&clicked, "scale.marks") / 3.0);
    assert!(clicked.rulers.is_empty() && u(&clicked, "scale.lines") == 0.0);
}

#[test]
fn without_a_ruler_in_the_photo_the_clicks_count() {
    let (drawn, photo) = bench(false);
    let mut sheet = drawn.sheet("");
    let photos = [photo];
    let clicked = measured(&sheet, &photos, None).unwrap();
    sheet.scales[0].graduation = Some(Pitch::Auto);
    let asked = measured(&sheet, &photos, None).unwrap();
    assert_eq!(asked.velocity, clicked.velocity);
    assert!(asked.rulers.is_empty());
    let told = asked.notices.iter().find(|n| n.about == "scale.graduation").expect("told");
    assert!(told.says.contains("nothing coarser shows; the marks count as clicked"), "{told:?}");
}

#[test]
fn a_pair_of_marks_that_its_ruler_contradicts_is_told() {
    let (drawn, photo) = bench(true);
    let mut sheet = drawn.sheet("");
    sheet.scales[0].graduation = Some(Pitch::Auto);
    sheet.scales[0].marks[1].0.at.x -= 6.0;
    let read = measured(&sheet, &[photo], None).unwrap();
    let told = |n: &&trajet::notice::Notice| n.says.contains("what the ruler's lines make it");
    assert_eq!(read.notices.iter().find(told).map(|n| n.about.as_str()), Some("scale.marks"), "{:?}", read.notices);
}

#[test]
fn a_graduation_that_cannot_be_is_a_fault() {
    for (pitch, says) in [
        ("0 mm", "a graduation of 0 mm"),
        ("-1 mm", "a graduation of -1 mm"),
        ("400 mm", "has 1.2 divisions"),
        ("1 mm +- 0.1 mm", "without an uncertainty"),
        ("1 kg", ""),
        ("fine", "`fine` is no graduation"),
    ] {
        let text = format!(
            "format = 1\n[scale]\nmarks = [[10.0, 20.0], [910.0, 21.0]]\nlength = \"500 mm\"\ngraduation = \"{pitch}\"\n"
        );
        let faults = open(&text).faults;
        let told =
            faults.iter().find(|f| f.about == "scale.graduation").unwrap_or_else(|| panic!("{pitch}: {faults:?}"));
        assert!(told.says.contains(says) && told.line == 5 && told.hint.is_some(), "{pitch}: {told:?}");
    }
    let one = "format = 1\n[[scale]]\nmarks = [{ px = [1.0, 2.0], at = \"0 mm\" }]\ngraduation = \"auto\"\n";
    assert!(open(one).faults.iter().any(|f| f.says.contains("two readings or more")));
}
