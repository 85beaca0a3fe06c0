//! One benchmark group a stage. `cargo bench -- photo` runs one group.
use criterion::{Criterion, criterion_group, criterion_main};
use image::{DynamicImage, RgbImage, codecs::jpeg::JpegEncoder};
use std::hint::black_box;
use trajet::photo::{Limits, Mix, read};

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

criterion_group!(benches, photo);
criterion_main!(benches);
