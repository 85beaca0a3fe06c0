//! One benchmark a stage.
use criterion::{criterion_group, criterion_main};

fn stages(_c: &mut criterion::Criterion) {}

criterion_group!(benches, stages);
criterion_main!(benches);
