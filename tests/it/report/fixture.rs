//! A small run with something used, something left out, and something absent (no flow).

use std::collections::BTreeMap;
use trajet::measure::{BudgetRow, Findings, Found, PathPoint, StationRow};
use trajet::notice::Notice;
use trajet::photo::{Metadata, Photo, Pixels};
use trajet::sheet::{self, Checked};

pub fn sheet(title: &str) -> Checked {
    let text = format!(
        "format = 1\ntitle = \"{title}\"\n[photo]\nfile = \"c-run2.jpg\"\n\
         [scale]\nmarks = [[20.0, 10.0], [180.0, 12.0]]\nlength = \"400 mm ± 0.3 mm\"\n\
         [vertical]\nplumb = [[190.0, 10.0], [190.0, 110.0]]\n\
         [orifice]\ncentre = [12.0, 30.0]\ndiameter = \"10.00 mm ± 0.05 mm\"\nedge = \"sharp\"\n\
         [head]\nreading = \"451 mm ± 0.6 mm\"\n"
    );
    let opened = sheet::open(&text);
    opened.checked.unwrap_or_else(|| panic!("{:?}", opened.faults))
}

pub fn photo() -> Photo {
    let (width, height) = (200, 120);
    let pixels = Pixels::Grey8((0..width * height).map(|i| (i % 200) as u8).collect());
    Photo { width, height, pixels, metadata: Metadata::default() }
}

fn found(value: f64, u: f64, unit: &str) -> Option<Found> {
    Some(Found { value, u, lo: value - 2.0 * u, hi: value + 2.0 * u, unit: unit.into() })
}

pub fn findings() -> Findings {
    let stations = (0..20).map(|i| {
        let x_mm = 20.0 + 20.0 * f64::from(i);
        StationRow {
            px: [12.0 + 0.4 * x_mm, 30.0 + 1e-4 * x_mm * x_mm],
            x_mm,
            y_mm: 6.1e-4 * x_mm * x_mm,
            u_px: 0.04,
            width_mm: Some(7.9 - 1e-3 * x_mm),
            off_mm: 0.3 * (f64::from(i) * 0.9).sin(),
            used: i != 13,
            velocity: Some(2.83 + 0.01 * (f64::from(i) * 0.9).sin()),
            velocity_u: Some(0.6 / (1.0 + f64::from(i))),
            cv: Some(0.95),
        }
    });
    let path = (0..=20).map(|i| {
        let x_mm = 20.0 * f64::from(i);
        let speed_up = (1.0f64 + (1.22e-3 * x_mm).powi(2)).sqrt();
        PathPoint { px: [12.0 + 0.4 * x_mm, 30.0 + 1e-4 * x_mm * x_mm], x_mm, y_mm: 6.1e-4 * x_mm * x_mm, speed_up }
    });
    let row = |input: &str, share| BudgetRow {
        input: input.into(),
        value: "400 mm".into(),
        u: "0.3 mm".into(),
        sensitivity: 0.003_512_3,
        share,
    };
    let budget = vec![row("scale.length", 0.7), row("head.reading", 0.299), row("site.gravity", 0.001)];
    let plain = |value: f64, unit: &str| Found { value, u: 0.0, lo: value, hi: value, unit: unit.into() };
    Findings {
        format: 1,
        sheet: "c-run2.toml".into(),
        title: "Plate C, run 2".into(),
        velocity: found(2.8312, 0.0061, "m/s"),
        launch_angle: found(0.21, 0.1, "deg"),
        cv: found(0.9519, 0.0021, ""),
        k: found(0.1036, 0.0049, ""),
        ideal_velocity: found(2.97412, 0.0020, "m/s"),
        head: found(451.0, 0.6, "mm"),
        head_lost: found(42.3, 1.8, "mm"),
        stream_width: found(7.92, 0.11, "mm"),
        stations: stations.collect(),
        fitted: path.clone().collect(),
        predicted: path.collect(),
        budget: BTreeMap::from([("velocity".into(), budget.clone()), ("cv".into(), budget)]),
        fit: BTreeMap::from([("px_per_mm".into(), plain(0.4, "px/mm")), ("rms_off".into(), plain(0.2123, "mm"))]),
        notices: vec![
            Notice::new("vertical", "the plumb line is short").hint("mark a longer one"),
            Notice::new("flow", "no flow: discharge, Cd, Cc and the jet's power are absent").hint("state a flow"),
        ],
        inputs: BTreeMap::from([("photo sha256".into(), "77fe".repeat(16)), ("trajet".into(), "0.1.0".into())]),
        ..Findings::default()
    }
}
