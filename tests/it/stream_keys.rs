//! The keys of `[stream]` overrule what the search would do: areas, level, tone, `until`, stations by hand.

use crate::support::drawn::{Drawn, measured};
use trajet::jet::{Areas, EvidencePlate, Ground, Trace, still_there, trace, trace_near, trace_on};
use trajet::measure::Findings;
use trajet::point::PixelPoint;
use trajet::sheet::{self, Tone};

fn polygon(corners: [[f64; 2]; 4]) -> Vec<PixelPoint> {
    corners.map(PixelPoint::from).to_vec()
}

/// A sheet for the drawn jet with these lines under `[stream]`.
fn findings(stream: &str) -> Findings {
    let text = format!(
        "format = 1\n[photo]\nfile = \"drawn.png\"\n[scale]\nmarks = [[100, 60], [1100, 60]]\nlength = \"500 mm ± 0.2 mm\"\n\
         behind_jet = \"0 mm ± 0.5 mm\"\n[vertical]\nplumb = [[1150, 50], [1150, 850]]\n[orifice]\ncentre = [100, 120]\n\
         diameter = \"12.5 mm ± 0.05 mm\"\nedge = \"sharp\"\n[head]\nreading = \"230 mm ± 0.5 mm\"\n[stream]\n{stream}\n"
    );
    let opened = sheet::open(&text);
    let checked = opened.checked.unwrap_or_else(|| panic!("{:?}", opened.faults));
    measured(&checked, &[Drawn::default().photo()], None).unwrap()
}

#[test]
fn no_station_lies_in_an_area_left_out_or_beside_the_one_looked_in() {
    let drawn = Drawn::default();
    let photo = drawn.photo();
    let out = polygon([[400.0, 0.0], [500.0, 0.0], [500.0, 900.0], [400.0, 900.0]]);
    let mut prospect = drawn.prospect();
    prospect.areas = Areas::new(&[], std::slice::from_ref(&out));
    let found = trace(&photo, &prospect).unwrap().value;
    assert!(found.stations.iter().all(|s| s.at.x < 402.0 || s.at.x > 498.0));
    assert!(found.stations.iter().any(|s| s.at.x > 520.0), "the stream goes on beyond the area");

    let only = polygon([[0.0, 0.0], [600.0, 0.0], [600.0, 900.0], [0.0, 900.0]]);
    prospect.areas = Areas::new(&only, &[]);
    let found = trace(&photo, &prospect).unwrap().value;
    assert!(found.stations.len() > 40 && found.stations.iter().all(|s| s.at.x < 602.0));
}

#[test]
fn a_level_by_hand_and_every_tone_find_the_same_stream() {
    let drawn = Drawn::default();
    let photo = drawn.photo();
    for (level, tone) in
        [(Some(0.05), Tone::Either), (Some(0.5), Tone::Either), (None, Tone::Bright), (None, Tone::Dark)]
    {
        let mut prospect = drawn.prospect();
        prospect.level = level;
        prospect.tone = tone;
        let found = trace(&photo, &prospect).unwrap().value;
        let off = found.stations.iter().filter(|s| s.sound).map(|s| drawn.off_px(s.at).0.abs()).fold(0.0, f64::max);
        assert!(off < 0.5, "{level:?} {tone:?}: {off} px off");
    }
}

#[test]
fn until_ends_the_stations() {
    let found = findings("until = \"300 mm\"");
    let last = found.stations.iter().map(|s| s.x_mm).fold(0.0, f64::max);
    assert!(last <= 300.0 && last > 290.0, "{last}");
}

#[test]
fn stations_by_hand_alone_replace_the_threshold() {
    let k = Drawn::G / (2.0 * 2.1f64.powi(2) * 2000.0);
    let points: Vec<String> = (1..=12)
        .map(|i| {
            let x = 80.0 * f64::from(i);
            format!("[{:.2}, {:.2}]", 100.0 + x, 120.0 + k * x * x)
        })
        .collect();
    let found = findings(&format!("by_hand = [{}]", points.join(", ")));
    assert_eq!(found.stations.len(), 12);
    let v = found.velocity.unwrap();
    assert!(v.lo < 2.1 && 2.1 < v.hi && (v.value / 2.1 - 1.0).abs() < 2e-3, "{v:?}");
    assert!(found.stream_width.is_none() && found.notices.iter().any(|n| n.about == "stream"));
}

#[test]
fn stations_by_hand_stand_among_found_ones() {
    let k = Drawn::G / (2.0 * 2.1f64.powi(2) * 2000.0);
    let at = [500.0, 120.0 + k * 400.0 * 400.0];
    let found = findings(&format!("tone = \"bright\"\nby_hand = [[{:.2}, {:.2}]]", at[0], at[1]));
    assert!(found.stations.len() > 60);
    let hand = found.stations.iter().filter(|s| s.width_mm.is_none()).count();
    assert_eq!(hand, 1);
    assert!(found.stations.windows(2).all(|w| w[0].x_mm < w[1].x_mm), "in order from the orifice");
}

#[test]
fn kept_gradients_give_the_same_stations_to_the_last_bit() {
    let drawn = Drawn::default();
    let photo = drawn.photo();
    let mut prospect = drawn.prospect();
    let ground = Ground::new(&photo, prospect.width_px);
    let out = polygon([[400.0, 0.0], [500.0, 0.0], [500.0, 900.0], [400.0, 900.0]]);
    for (level, areas) in [
        (None, Areas::default()),
        (Some(0.1), Areas::default()),
        (Some(0.6), Areas::new(&[], std::slice::from_ref(&out))),
    ] {
        (prospect.level, prospect.areas) = (level, areas);
        assert_eq!(trace_on(&photo, &ground, &prospect), trace(&photo, &prospect), "{level:?}");
    }
    assert!(!ground.suits(3.0 * prospect.width_px), "a stream three times as wide is looked for in coarser cells");
}

#[test]
fn what_the_threshold_sees_is_the_stream_first() {
    let drawn = Drawn::default();
    let prospect = drawn.prospect();
    let ground = Ground::new(&drawn.photo(), prospect.width_px);
    let plate: &EvidencePlate = ground.plate();
    assert_eq!(plate.histogram.iter().sum::<u32>() as usize, plate.values.len());
    let mut before = 1.0;
    for level in [0.05, plate.automatic, 0.5, 1.0] {
        let share = plate.share_above(level);
        assert!(share <= before, "a higher level sees no more");
        before = share;
    }
    // at the automatic level what is seen lies at the stream's edges
    let least = EvidencePlate::full_at(plate.automatic);
    let cells = plate.values.iter().enumerate().filter(|(_, v)| **v >= least);
    let at = |i: usize| {
        let cell = |n: usize| (n as f64 + 0.5) * plate.factor as f64;
        PixelPoint::new(cell(i % plate.width), cell(i / plate.width))
    };
    let (near, all) = cells.fold((0, 0), |(near, all), (i, _)| {
        (near + usize::from(drawn.off_px(at(i)).0.abs() < prospect.width_px), all + 1)
    });
    assert!(all > 100 && near * 10 > all * 9, "{near} of {all} cells seen lie at the stream");
}

#[test]
fn near_a_stream_found_before_the_same_one_is_found() {
    let drawn = Drawn::default();
    let photo = drawn.photo();
    let mut prospect = drawn.prospect();
    let ground = Ground::new(&photo, prospect.width_px);
    let found = trace_on(&photo, &ground, &prospect).unwrap().value;
    prospect.level = Some(0.4);
    let near = trace_near(&photo, &ground, &prospect, &found).unwrap().value;
    assert!(near.stations.len() * 10 > found.stations.len() * 9);
    let off = near.stations.iter().filter(|s| s.sound).map(|s| drawn.off_px(s.at).0.abs()).fold(0.0, f64::max);
    assert!(off < 0.5, "{off} px off");
    assert!(still_there(&ground, &prospect, &found));
    // a trajectory that no water follows
    let (angle, speed) = found.launched.unwrap();
    let elsewhere = Trace { launched: Some((angle + 0.4, speed)), ..found };
    assert!(!still_there(&ground, &prospect, &elsewhere));
}
