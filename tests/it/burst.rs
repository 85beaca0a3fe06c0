//! Bursts and dry photos: drawn views of one bench, moved by a known shift and turn, with a jet that
//! waves on its own; what does not match is refused.
#![allow(clippy::unwrap_used, reason = "a test ends at the first thing that is missing")]

use trajet::photo::{Metadata, Mix, Movement, NoMatch, NoStack, Photo, Pixels, difference, register, stack};
use trajet::point::PixelPoint;

const WIDTH: usize = 640;
const HEIGHT: usize = 480;

/// Uniform numbers of a stated seed.
fn uniform(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }
}

/// A step from 0 to 1 over about two pixels.
fn step(distance: f64) -> f64 {
    0.5 + 0.5 * (distance / 1.2).tanh()
}

/// Things on a bench, as bright and dark boxes with soft edges; a ruler along the top.
fn bench(seed: u64) -> impl Fn(f64, f64) -> f64 {
    let mut draw = uniform(seed);
    let boxes: Vec<[f64; 5]> = (0..14)
        .map(|_| {
            let (x, y) = (draw() * WIDTH as f64, draw() * HEIGHT as f64);
            [x, y, 20.0 + 60.0 * draw(), 20.0 + 60.0 * draw(), 0.5 * draw() - 0.25]
        })
        .collect();
    move |x, y| {
        let mut v = 0.45 + 0.1 * (x / 200.0).sin();
        let near = |[left, top, w, h, _]: &&[f64; 5]| {
            x > left - 9.0 && x < left + w + 9.0 && y > top - 9.0 && y < top + h + 9.0
        };
        for [left, top, w, h, tone] in boxes.iter().filter(near) {
            v += tone * step(x - left) * step(left + w - x) * step(y - top) * step(top + h - y);
        }
        if !(10.0..50.0).contains(&y) {
            return v;
        }
        let tick = (x / 12.0).fract() * 12.0;
        v - 0.2 * step(tick - 3.0) * step(9.0 - tick) * step(y - 20.0) * step(40.0 - y)
    }
}

/// How a view is taken.
#[derive(Clone, Copy)]
struct Shot {
    movement: Movement,
    jet: bool,
    /// Seed of noise and waves.
    seed: u64,
}

fn shot(angle_deg: f64, shift_px: [f64; 2], seed: u64) -> Shot {
    let movement = Movement { angle_rad: angle_deg.to_radians(), shift_px, ..Movement::none(WIDTH, HEIGHT) };
    Shot { movement, jet: true, seed }
}

fn jet(x: f64, y: f64, phase: f64) -> f64 {
    let middle = 90.0 + 0.0007 * x * x + 3.0 * (x / 25.0 + phase).sin();
    if (y - middle).abs() > 20.0 {
        return 0.0;
    }
    0.35 * step(y - middle + 10.0) * step(middle + 10.0 - y)
}

fn taken(scene: &dyn Fn(f64, f64) -> f64, shot: Shot) -> Photo {
    let mut draw = uniform(shot.seed);
    let phase = draw() * 6.0;
    let mut values = Vec::with_capacity(WIDTH * HEIGHT);
    for i in 0..WIDTH * HEIGHT {
        let here = PixelPoint::new((i % WIDTH) as f64 + 0.5, (i / WIDTH) as f64 + 0.5);
        let p = shot.movement.first_from_here(here);
        let mut v = scene(p.x, p.y) + if shot.jet { jet(p.x, p.y, phase) } else { 0.0 };
        // Sum of four uniform numbers, close to normal: standard deviation 2 of 255.
        v += ((0..4).map(|_| draw()).sum::<f64>() - 2.0) * 3.0_f64.sqrt() * 2.0 / 255.0;
        v = shot.movement.gain * v + shot.movement.offset;
        values.push((v * 255.0).round().clamp(0.0, 255.0) as u8);
    }
    Photo { width: WIDTH, height: HEIGHT, pixels: Pixels::Grey8(values), metadata: Metadata::default() }
}

/// The largest error of a movement at the middle and the corners, in pixels.
fn worst(found: &Movement, truth: &Movement) -> f64 {
    let (w, h) = (WIDTH as f64, HEIGHT as f64);
    [[w / 2.0, h / 2.0], [0.0, 0.0], [w, 0.0], [0.0, h], [w, h]]
        .into_iter()
        .map(|p| found.transform_from_first(p.into()).distance(truth.transform_from_first(p.into())))
        .fold(0.0, f64::max)
}

#[test]
fn shake_is_found_to_a_few_hundredths_of_a_pixel() {
    let scene = bench(1);
    let first = taken(&scene, shot(0.0, [0.0, 0.0], 10));
    for (i, (angle, shift)) in
        [(0.0, [0.0, 0.0]), (0.1, [0.37, -0.62]), (-0.4, [3.3, 2.8]), (1.0, [-14.6, 9.2]), (0.0, [31.5, -24.25])]
            .into_iter()
            .enumerate()
    {
        let mut shot = shot(angle, shift, 20 + i as u64);
        (shot.movement.gain, shot.movement.offset) = (1.0 - 0.06 * i as f64, 0.01 * i as f64);
        let found = register(&first, &taken(&scene, shot), Mix::LUMA).unwrap();
        let off = worst(&found, &shot.movement);
        assert!(off < 0.05, "{angle} deg, {shift:?}: off by {off:.3} px, found {found:?}");
        let at_middle = (found.shift_px[0] - shift[0]).hypot(found.shift_px[1] - shift[1]);
        assert!(at_middle < 4.0 * found.u_px, "{at_middle:.4} px off, stated {:.4}", found.u_px);
        assert!((found.gain - shot.movement.gain).abs() < 0.01 && found.agreement > 0.6, "{found:?}");
    }
}

#[test]
fn there_and_back_is_the_same_point() {
    let movement = shot(1.7, [5.0, -3.0], 0).movement;
    let p = PixelPoint::new(100.25, 400.75);
    assert!(movement.first_from_here(movement.transform_from_first(p)).distance(p) < 1e-9);
}

#[test]
fn another_view_another_size_and_an_empty_view_are_refused() {
    let first = taken(&bench(1), shot(0.0, [0.0, 0.0], 30));
    let mut dry = shot(0.0, [0.0, 0.0], 31);
    for seed in 2..4 {
        let refused = register(&first, &taken(&bench(seed), dry), Mix::LUMA);
        assert!(matches!(refused, Err(NoMatch::Scene { .. })), "{refused:?}");
    }
    dry.jet = false;
    let wall = |_: f64, _: f64| 0.5;
    let refused = register(&taken(&wall, dry), &taken(&wall, Shot { seed: 32, ..dry }), Mix::LUMA).unwrap_err();
    assert!(matches!(refused, NoMatch::Scene { .. } | NoMatch::Featureless { .. }), "{refused}");

    let blank = Photo { width: 16, height: 16, pixels: Pixels::Grey8(vec![90; 256]), metadata: Metadata::default() };
    let refused = register(&blank, &blank, Mix::LUMA).unwrap_err().to_string();
    assert!(refused.contains("too little in it"), "{refused}");

    let mut small = first.clone();
    small.height -= 1;
    let said = register(&first, &small, Mix::LUMA).unwrap_err().to_string();
    assert!(said.starts_with("it is 640 x 479 pixels, the other 640 x 480;"), "{said}");
}

#[test]
fn a_burst_gives_the_still_bench_in_its_mean_and_the_waves_in_its_spread() {
    let scene = bench(1);
    let photos: Vec<Photo> = [(0.0, [0.0, 0.0]), (0.1, [1.4, -0.7]), (-0.15, [-2.3, 1.1]), (0.05, [0.4, 3.6])]
        .into_iter()
        .enumerate()
        .map(|(i, (angle, shift))| taken(&scene, shot(angle, shift, 40 + i as u64)))
        .collect();
    let found = stack(&photos, Mix::LUMA, 2).unwrap();
    assert_eq!((found.mean.width, found.mean.height, found.factor), (320, 240, 2));
    let (mut still, mut n) = (0.0, 0.0);
    for y in (130..230).step_by(3) {
        for x in (10..150).step_by(3) {
            let (px, py) = (2.0 * x as f64 + 1.0, 2.0 * y as f64 + 1.0);
            let mean = [-0.5, 0.5].into_iter().flat_map(|a| [-0.5, 0.5].map(|b| scene(px + a, py + b))).sum::<f64>();
            still += (f64::from(found.mean.value(x, y)) - mean / 4.0).powi(2);
            n += 1.0;
        }
    }
    let rms = (still / n).sqrt() * 255.0;
    // Noise of 2 over 2 x 2 pixels, two to four photos in the mean: 0.5 to 0.7.
    assert!(rms < 1.0, "{rms:.2} of 255");
    let spread = |x: f64, y: f64| f64::from(found.spread.sample(x / 2.0, y / 2.0)) * 255.0;
    let rim = (0..20).map(|i| 100.0 + 10.0 * i as f64).map(|x| spread(x, 100.0 + 0.0007 * x * x)).sum::<f64>() / 20.0;
    let beside = (0..20).map(|i| spread(100.0 + 10.0 * i as f64, 400.0)).sum::<f64>() / 20.0;
    assert!(rim > 8.0 * beside, "at the stream's rim {rim:.1}, beside it {beside:.1}");
}

#[test]
fn a_burst_names_the_photo_that_does_not_belong() {
    let (here, there) = (bench(1), bench(3));
    let a = taken(&here, shot(0.0, [0.0, 0.0], 50));
    let b = taken(&here, shot(0.1, [1.0, 1.0], 51));
    let c = taken(&there, shot(0.0, [0.0, 0.0], 52));
    let refused = stack(&[a.clone(), b, c], Mix::LUMA, 4).unwrap_err();
    assert!(
        refused.to_string().starts_with("photo 3 of the burst does not match the first: it does not show"),
        "{refused}"
    );
    assert_eq!(stack(&[a], Mix::LUMA, 4), Err(NoStack::TooFew { count: 1 }));
}

#[test]
fn the_dry_photo_leaves_the_jet_alone() {
    let scene = bench(1);
    let wet = taken(&scene, shot(0.0, [0.0, 0.0], 60));
    let mut dry = shot(-0.2, [2.4, -1.3], 61);
    dry.jet = false;
    (dry.movement.gain, dry.movement.offset) = (0.8, 0.05);
    let found = difference(&wet, &taken(&scene, dry), Mix::LUMA, 1).unwrap();
    assert!(found.notices[0].says.contains("contrast is"), "{:?}", found.notices);
    let found = found.value;
    assert!((found.movement.gain - 0.8).abs() < 0.015, "{:?}", found.movement);
    let sd = f64::from(found.sd) * 255.0;
    // Noise of 2 in both, the dry one's raised by 1/0.8 and lowered a little by interpolation: 2.8 to 3.2.
    assert!((2.3..3.5).contains(&sd), "{sd:.2} of 255");
    let at = |x: f64, off: f64| found.plate.sample(x, 90.0 + 0.0007 * x * x + off);
    for x in [120.0, 250.0, 380.0, 500.0] {
        assert!((at(x, 0.0) - 0.35).abs() < 0.04, "in the stream: {}", at(x, 0.0));
        assert!(at(x, 40.0).abs() < 0.04 && at(x, -40.0).abs() < 0.04, "beside it: {}", at(x, 40.0));
    }
}
