//! One benchmark group a stage. `cargo bench -- photo` runs one group.
use criterion::{Criterion, criterion_group, criterion_main};
use image::{DynamicImage, RgbImage, codecs::jpeg::JpegEncoder};
use std::collections::BTreeMap;
use std::hint::black_box;
use trajet::calibration::{Direction, Frame, calibrate};
use trajet::measure::sight::sight;
use trajet::measure::{Draws, Job, measure};
use trajet::photo::{Limits, Mix, read};
use trajet::trajectory::{FitOptions, Station, fit};

#[cfg(feature = "app")]
mod app;
#[cfg(not(feature = "app"))]
mod app {
    pub fn app(_: &mut criterion::Criterion) {}
}

/// A 12-megapixel JPEG with the grain of a camera, drawn from a stated seed.
fn twelve_megapixels() -> Vec<u8> {
    let mut state = 12_u32;
    let picture = RgbImage::from_fn(4000, 3000, |x, y| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let grain = (state >> 29) as u8;
        image::Rgb([40 + (x / 40) as u8 + grain, 60 + (y / 40) as u8 + grain, 90 + grain])
    });
    let mut out = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut out, 88);
    DynamicImage::ImageRgb8(picture).write_with_encoder(encoder).expect("a drawn picture can be written");
    out
}

fn photo(c: &mut Criterion) {
    let bytes = twelve_megapixels();
    let photo = read(&bytes, Limits::default()).expect("a drawn picture can be read").value;
    let mut group = c.benchmark_group("photo");
    group.sample_size(10);
    group.bench_function("read 12 Mpx JPEG", |b| b.iter(|| read(black_box(&bytes), Limits::default())));
    group.bench_function("plate", |b| b.iter(|| photo.plate(black_box(Mix::LUMA))));
    group.bench_function("reduced by 4", |b| b.iter(|| photo.reduced(black_box(Mix::LUMA), 4)));
    group.bench_function("noise", |b| b.iter(|| photo.noise(black_box(Mix::LUMA))));
    group.finish();
}

/// The stages after the photo, on the shipped sample of 12 megapixels.
fn sample(c: &mut Criterion) {
    let text = include_str!("../../samples/plate-c-run2.toml");
    let bytes = include_bytes!("../../samples/plate-c-run2.jpg");
    let sheet = trajet::sheet::open(text).checked.expect("the sample has no fault");
    let photos = [read(bytes, Limits::default()).expect("the sample can be read").value];
    let frame = Frame { width: photos[0].width as f64, height: photos[0].height as f64, focal_length_35mm: None };
    let job = |draws| Job {
        sheet_name: "plate-c-run2.toml",
        sheet: &sheet,
        photos: &photos,
        dry: None,
        notices: Vec::new(),
        inputs: BTreeMap::new(),
        seed: 1,
        draws,
    };
    let findings = measure(&job(Draws::None)).expect("the sample is measured");
    let stations: Vec<Station> =
        findings.stations.iter().map(|s| Station { x_mm: s.x_mm, y_mm: s.y_mm, u_mm: 0.1 }).collect();
    let mut group = c.benchmark_group("sample");
    group.sample_size(10);
    group.bench_function("sheet", |b| b.iter(|| trajet::sheet::open(black_box(text))));
    group.bench_function("photo", |b| b.iter(|| read(black_box(bytes), Limits::default())));
    group.bench_function("calibration", |b| b.iter(|| calibrate(black_box(&sheet), &frame, Direction::Right)));
    group.bench_function("sight: calibration and jet", |b| b.iter(|| sight(&job(Draws::None), &mut Vec::new())));
    group.bench_function("trajectory", |b| b.iter(|| fit(black_box(&stations), &FitOptions::default())));
    group.bench_function("measure: all but the photo", |b| b.iter(|| measure(&job(Draws::None))));
    group.bench_function("measure with 20 000 draws", |b| b.iter(|| measure(&job(Draws::Fixed(20_000)))));
    group.bench_function("report: JSON", |b| {
        b.iter(|| trajet::report::json::text(black_box(std::slice::from_ref(&findings))))
    });
    group.finish();
}

criterion_group!(benches, photo, sample, app::app);
criterion_main!(benches);
