//! What the strip draws for each line, and what it copies.

use super::*;
use crate::app::sheet_panel::tests::measured_sample;
use crate::report::figure::Axis;
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
        let figure = view.figure(measured).unwrap();
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
    let figure = View::Width.figure(state.live.measured.as_ref().unwrap()).unwrap();
    let text = numbers(&figure);
    assert!(text.starts_with("x / mm\twidth of the stream / mm\tu\tof\n"));
    assert!(text.lines().count() > 400 && text.lines().all(|l| l.split('\t').count() == 4));
}
