//! What the strip draws for each line, and what it copies.

use super::*;
use crate::app::sheet_panel::tests::measured_sample;
use crate::report::figure::{Axis, Figure, Frame, Layer};
use eframe::egui::vec2;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

fn axes(figure: &Figure) -> (&Axis, &Axis) {
    let Frame::Axes { x, y, .. } = &figure.frame else { panic!("the strip has axes") };
    (x, y)
}

#[test]
fn every_view_of_the_sample_has_axes_with_units_and_named_layers() {
    let state = measured_sample();
    let measured = state.live.measured.as_ref().unwrap();
    for (view, y_label) in [
        (View::Off, "distance from the trajectory / mm"),
        (View::Velocity, "V at the vena contracta / (m/s)"),
        (View::Cv, "Cv"),
        (View::Width, "width of the stream / mm"),
        (View::Filling, "volume caught / L"),
    ] {
        let figure = view.figure(&state, measured).unwrap();
        let (x, y) = axes(&figure);
        assert!(y.label.starts_with(y_label), "{}", y.label);
        assert!(["x / mm", "time / s"].contains(&x.label.as_str()));
        assert!(figure.layers.iter().filter(|l| l.name().is_some()).count() >= 2, "{view:?}");
    }
}

#[test]
fn cv_by_station_is_that_of_the_findings() {
    let state = measured_sample();
    let findings = &state.live.measured.as_ref().unwrap().findings;
    let figure = cv::figure(findings).unwrap();
    let points = figure.layers.iter().find_map(|l| match l {
        Layer::Marks { points, .. } => Some(points),
        _ => None,
    });
    for ([x, cv], u) in points.unwrap() {
        let station = findings.stations.iter().find(|s| s.x_mm == *x).unwrap();
        assert!((station.cv.unwrap() - cv).abs() < 1e-9, "{x}: {:?} {cv}", station.cv);
        assert!(u.is_some_and(|u| u > 0.0));
    }
}

#[test]
fn the_timed_fillings_lie_on_the_line_of_the_discharge() {
    let state = measured_sample();
    let measured = state.live.measured.as_ref().unwrap();
    let figure = filling::figure(measured.sheet.flow.as_ref(), &measured.findings).unwrap();
    let q = measured.findings.discharge.as_ref().unwrap().value;
    for layer in &figure.layers {
        match layer {
            Layer::Line { points, .. } => assert!((points[1][1] - q * points[1][0]).abs() < 1e-9),
            // within 1 %: the sheet's three volumes and times scatter by 0.3 %
            Layer::Marks { points, .. } => {
                assert!(points.len() == 3 && points.iter().all(|([t, v], _)| (v / (q * t) - 1.0).abs() < 0.01));
            }
            _ => {}
        }
    }
    assert!(filling::figure(None, &measured.findings).is_err());
}

#[test]
fn edges_stand_out_across_the_stream() {
    use crate::jet::EvidencePlate;
    // a level stream of 20 px between rims at 90 and 110 px, in cells of 2 px
    let values = (0..100 * 100).map(|i| if [45, 54].contains(&(i / 100)) { 40.0 } else { 1.0 }).collect();
    let plate = EvidencePlate { width: 100, height: 100, factor: 2, values, automatic: 0.2, histogram: Vec::new() };
    let station = |i: usize| crate::measure::StationRow {
        px: [20.0 + 2.0 * i as f64, 100.0],
        x_mm: 20.0 + 2.0 * i as f64,
        y_mm: 0.0,
        u_px: 0.1,
        width_mm: Some(20.0),
        off_mm: 0.0,
        used: true,
        velocity: None,
        velocity_u: None,
        cv: None,
    };
    let found = crate::measure::Found { value: 1.0, u: 0.0, lo: 1.0, hi: 1.0, unit: "px/mm".into() };
    let findings = crate::measure::Findings {
        stations: (0..60).map(station).collect(),
        fit: [("px_per_mm".to_owned(), found)].into(),
        ..Default::default()
    };
    let figure = across::figure(&findings, Some(&plate), None).unwrap();
    let Layer::Line { points, .. } = &figure.layers[0] else { panic!("the mean is a line") };
    for [across, mean] in points {
        // the rims' cells reach from 90 to 92 px and from 108 to 110 px; the stations lie at 100 px
        let at_a_rim = (-10.0..-8.0).contains(across) || (8.0..10.0).contains(across);
        assert_eq!(*mean, if at_a_rim { 40.0 } else { 1.0 }, "{across}");
    }
    assert!(across::figure(&findings, None, None).is_err());
}

#[test]
fn the_strip_follows_the_line_and_the_choice() {
    let mut state = measured_sample();
    state.apply(Command::TakeLine(Line::Trajectory));
    let mut h = Harness::builder().with_size(vec2(820.0, 200.0)).build_ui_state(
        |ui, (strip, state): &mut (Strip, State)| strip.show(ui, state, &mut Vec::new()),
        (Strip::default(), state),
    );
    h.run_steps(3);
    assert!(h.query_by_label("V at the vena contracta / (m/s)").is_some());
    assert!(h.query_by_label_contains("single stations against x").is_some(), "the drawing says what it shows");
    h.get_by_label("stream width").click();
    h.run_steps(3);
    assert!(h.query_by_label("width of the stream / mm").is_some());
    h.state_mut().1.apply(Command::TakeLine(Line::Discharge));
    h.run_steps(3);
    assert!(h.query_by_label("volume caught / L").is_some());
    h.state_mut().1.apply(Command::Units(crate::app::command::Units::UsCustomary));
    h.run_steps(3);
    assert!(h.query_by_label("volume caught / gal (US)").is_some());
}

#[test]
fn numbers_are_copied_with_their_axes() {
    let state = measured_sample();
    let figure = View::Width.figure(&state, state.live.measured.as_ref().unwrap()).unwrap();
    let text = drawn::numbers(&figure);
    assert!(text.starts_with("x / mm\twidth of the stream / mm\tu\tof\n"));
    let findings = &state.live.measured.as_ref().unwrap().findings;
    let measured = findings.stations.iter().filter(|s| s.width_mm.is_some()).count();
    assert!(measured > 100 && text.lines().count() > measured, "{} lines of {measured} stations", text.lines().count());
    assert!(text.lines().all(|l| l.split('\t').count() == 4));
}
