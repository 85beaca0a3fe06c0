//! What must not change: properties of the whole pipeline on drawn photos.

#![allow(clippy::unwrap_used, reason = "a test ends at the first thing that is missing")]

use crate::support::drawn::Drawn;
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder};
use image::{DynamicImage, ExtendedColorType, ImageBuffer, ImageEncoder, Luma};
use little_exif::{exif_tag::ExifTag, filetype::FileExtension, metadata::Metadata as Tags};
use std::collections::BTreeMap;
use trajet::measure::{Draws, Findings, Found, Job, measure};
use trajet::photo::{Limits, Photo, Pixels, read};
use trajet::point::PixelPoint;
use trajet::sheet;

fn drawn() -> Drawn {
    Drawn { size: (1200, 1200), orifice: PixelPoint::new(100.0, 560.0), ..Drawn::default() }
}

/// A sheet for [`drawn`].
struct Sheet {
    length: &'static str,
    diameter: &'static str,
    head: &'static str,
    discharge: &'static str,
    gravity: &'static str,
    mirrored: bool,
    /// Stations placed by hand instead of found.
    by_hand: bool,
}

impl Default for Sheet {
    fn default() -> Self {
        Self {
            length: "200 mm ± 0.2 mm",
            diameter: "12.5 mm ± 0.02 mm",
            head: "reading = \"239 mm ± 0.5 mm\"",
            discharge: "0.165 L/s ± 0.001 L/s",
            gravity: "9.81 m/s^2 ± 0.0005 m/s^2",
            mirrored: false,
            by_hand: false,
        }
    }
}

impl Sheet {
    const SURFACE: &'static str = "surface = [60.0, 82.0]";

    fn measured(&self, photo: Photo) -> Findings {
        let x = |x: f64| if self.mirrored { photo.width as f64 - x } else { x };
        let text = format!(
            "format = 1\n[photo]\nfile = \"a.png\"\n\
             [scale]\nmarks = [[{}, 1150.0], [{}, 1150.0]]\nlength = \"{}\"\nbehind_jet = \"0 mm ± 1 mm\"\n\
             [vertical]\nplumb = [[{}, 50.0], [{}, 1150.0]]\n\
             [orifice]\ncentre = [{}, 560.0]\ndiameter = \"{}\"\nedge = \"sharp\"\n\
             [head]\n{}\n[flow]\ndischarge = \"{}\"\n[site]\ngravity = \"{}\"\n[water]\ntemperature = \"18 degC\"\n{}",
            x(500.0),
            x(900.0),
            self.length,
            x(1150.0),
            x(1150.0),
            x(100.0),
            self.diameter,
            self.head,
            self.discharge,
            self.gravity,
            if self.by_hand { hand_placed() } else { String::new() },
        );
        let opened = sheet::open(&text);
        assert!(opened.faults.is_empty(), "{:?}", opened.faults);
        let photos = [photo];
        measure(&Job {
            sheet_name: "a.toml",
            sheet: &opened.checked.unwrap(),
            photos: &photos,
            dry: None,
            notices: Vec::new(),
            inputs: BTreeMap::new(),
            seed: 1,
            draws: Draws::None,
        })
        .unwrap()
    }
}

/// Stations on the drawn parabola, as a `[stream]`.
fn hand_placed() -> String {
    let d = drawn();
    let k = Drawn::G / (2.0 * d.speed_m_s.powi(2) * 1000.0 * d.px_per_mm);
    let points = (1..20).map(|i| {
        let x = 40.0 * f64::from(i);
        format!("[{:.3}, {:.3}]", d.orifice.x + x, d.orifice.y + k * x * x)
    });
    format!("[stream]\nby_hand = [{}]\n", points.collect::<Vec<_>>().join(", "))
}

fn of(found: &Option<Found>) -> (f64, f64) {
    found.as_ref().map(|f| (f.value, f.u)).unwrap()
}

/// Largest relative difference of the results' values and of their uncertainties.
fn apart(a: &Findings, b: &Findings) -> (f64, f64) {
    let all = |f: &Findings| {
        [&f.velocity, &f.cv, &f.cd, &f.cc, &f.cc_from_width, &f.reynolds, &f.head]
            .map(|r| r.as_ref().map_or((1.0, 1.0), |r| (r.value, r.u)))
    };
    let (mut value, mut u) = (0.0f64, 0.0f64);
    for ((va, ua), (vb, ub)) in all(a).into_iter().zip(all(b)) {
        value = value.max((va / vb - 1.0).abs());
        u = u.max((ua / ub - 1.0).abs());
    }
    (value, u)
}

#[test]
fn cv_does_not_change_with_gravity() {
    let low = Sheet { gravity: "9.78 m/s^2 ± 0.0005 m/s^2", ..Sheet::default() }.measured(drawn().photo());
    let high = Sheet { gravity: "9.83 m/s^2 ± 0.0005 m/s^2", ..Sheet::default() }.measured(drawn().photo());
    let ratio = of(&high.velocity).0 / of(&low.velocity).0;
    assert!((ratio - (9.83f64 / 9.78).sqrt()).abs() < 1e-6, "{ratio}");
    assert!((of(&high.cv).0 / of(&low.cv).0 - 1.0).abs() < 1e-6);
    // and the truth is where it was drawn
    let v = of(&low.velocity).0 / (9.78f64 / Drawn::G).sqrt();
    assert!((v / 2.1 - 1.0).abs() < 1e-3, "{v}");
}

#[test]
fn cv_does_not_change_with_the_scale_where_the_photo_shows_the_head() {
    let with = |length| Sheet { length, head: Sheet::SURFACE, ..Sheet::default() }.measured(drawn().photo());
    let (a, b) = (with("200 mm ± 0.2 mm"), with("206 mm ± 0.2 mm"));
    let ratio = of(&b.velocity).0 / of(&a.velocity).0;
    assert!((ratio - 1.03f64.sqrt()).abs() < 2e-4, "{ratio}");
    assert!((of(&b.cv).0 / of(&a.cv).0 - 1.0).abs() < 1e-4, "{:?} {:?}", a.cv, b.cv);
    let scale = a.budget["cv"].iter().find(|r| r.input == "scale.length").unwrap();
    assert!(scale.share < 1e-3, "{scale:?}");
}

#[test]
fn a_mirrored_photo_tells_the_same() {
    let drawn = drawn();
    let plain = drawn.photo();
    let mut mirrored = plain.clone();
    if let Pixels::Grey16(v) = &mut mirrored.pixels {
        v.chunks_mut(drawn.size.0).for_each(<[u16]>::reverse);
    }
    let (a, b) = (Sheet::default().measured(plain), Sheet { mirrored: true, ..Sheet::default() }.measured(mirrored));
    let (value, u) = apart(&a, &b);
    eprintln!("mirrored: {value:.1e} {u:.1e}");
    assert!(value < 1e-4 && u < 0.02, "{value} {u}");
}

#[test]
fn units_of_the_sheet_change_nothing() {
    // Hand-placed stations show the numbers alone. The search for the stream ends when it moves no more than it needs
    // to, so that its last digits differ with the rounding of the scale: measured 3e-6, and 9e-4 of u.
    for (by_hand, most, most_u) in [(true, 1e-8, 1e-6), (false, 1e-5, 3e-3)] {
        let metric = Sheet { by_hand, ..Sheet::default() }.measured(drawn().photo());
        let inches = Sheet {
            length: "7.87401574803 in ± 0.00787401574803 in",
            diameter: "0.492125984252 in ± 0.000787401574803 in",
            head: "reading = \"9.40944881890 in ± 0.0196850393701 in\"",
            discharge: "165 mL/s ± 1 mL/s",
            by_hand,
            ..Sheet::default()
        };
        let (value, u) = apart(&metric, &inches.measured(drawn().photo()));
        eprintln!("units, by hand {by_hand}: {value:.1e} {u:.1e}");
        assert!(value < most && u < most_u, "{value} {u}");
    }
}

/// A TIFF-headed block of tags with an orientation alone, as PNG carries it.
fn orientation_block(orientation: u8) -> Vec<u8> {
    let mut block = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    block.extend([orientation, 0, 0, 0, 0, 0, 0]);
    block
}

#[test]
fn a_turned_file_tells_the_same() {
    let photo = drawn().photo();
    let (w, h) = (photo.width as u32, photo.height as u32);
    let Pixels::Grey16(samples) = &photo.pixels else { panic!("drawn in 16-bit grey") };
    let eight = samples.iter().map(|v| (v / 257) as u8).collect();
    let upright = DynamicImage::ImageLuma8(ImageBuffer::<Luma<u8>, _>::from_raw(w, h, eight).unwrap());
    let png = |picture: &DynamicImage, orientation: u8| {
        let mut out = Vec::new();
        let mut encoder = PngEncoder::new(&mut out);
        encoder.set_exif_metadata(orientation_block(orientation)).unwrap();
        encoder.write_image(picture.as_bytes(), picture.width(), picture.height(), ExtendedColorType::L8).unwrap();
        read(&out, Limits::default()).unwrap().value
    };
    let jpeg = |picture: &DynamicImage| {
        let mut out = Vec::new();
        picture.write_with_encoder(JpegEncoder::new_with_quality(&mut out, 95)).unwrap();
        out
    };
    let tagged = |mut bytes: Vec<u8>, orientation: u16| {
        let mut tags = Tags::new();
        tags.set_tag(ExifTag::Orientation(vec![orientation]));
        tags.write_to_vec(&mut bytes, FileExtension::JPEG).unwrap();
        bytes
    };
    let same = |a: &Findings, b: &Findings, what: &str| {
        assert_eq!(a.stations.len(), b.stations.len(), "{what}");
        let px = a.stations.iter().zip(&b.stations).map(|(a, b)| (a.px[0] - b.px[0]).hypot(a.px[1] - b.px[1]));
        let (px, (value, _)) = (px.fold(0.0, f64::max), apart(a, b));
        eprintln!("{what}: {px:.1e} px, {value:.1e}");
        assert!(px < 0.01 && value < 1e-4, "{what}: {px} px, {value}");
    };
    let sheet = Sheet::default();
    let plain = sheet.measured(png(&upright, 1));
    same(&plain, &sheet.measured(png(&upright.rotate270(), 6)), "PNG 6");
    same(&plain, &sheet.measured(png(&upright.rotate90(), 8)), "PNG 8");
    same(&plain, &sheet.measured(png(&upright.rotate180(), 3)), "PNG 3");
    // A picture encoded a second time in another position is another picture (measured 0.014 px, 4e-4 of a result): so
    // the same bytes of a JPEG, turned by its tag and turned by the `image` crate.
    let stored = upright.rotate90();
    let bytes = jpeg(&stored);
    let by_hand = image::load_from_memory(&bytes).unwrap().rotate270();
    let plain = sheet.measured(png(&DynamicImage::ImageLuma8(by_hand.to_luma8()), 1));
    same(&plain, &sheet.measured(read(&tagged(bytes, 8), Limits::default()).unwrap().value), "JPEG 8");
}
