//! What is assumed where a sheet is silent, and that it is said.

use trajet::quantity::Kind;
use trajet::sheet::{Edge, Flow, Origin, check, open};

use super::full::sound;
use super::refused::SMALL;

#[test]
fn a_default_that_matters_is_a_notice() {
    let told: Vec<_> = sound(SMALL).notices.iter().map(|n| format!("{}: {}", n.about, n.says)).collect();
    assert_eq!(
        told,
        [
            "scale.behind_jet: the scale is taken to stand in the jet's plane, ± 2 mm",
            "vertical: no plumb line or level line: the photo's own vertical is taken, which is doubtful",
            "orifice.edge: the orifice's edge is not stated, sharp assumed",
            "water.temperature: no water temperature is stated, 20 degC ± 3 degC assumed",
            "site: no latitude and no gravity are stated, 9.80665 m/s^2 ± 0.015 m/s^2 assumed",
        ]
    );
}

#[test]
fn what_is_assumed_is_marked_so() {
    let checked =
        sound(&SMALL.replace(" ± 0.3 mm", "").replace(" ± 0.02 mm", "").replace(" ± 0.5 mm", "")).checked.unwrap();
    let scale = &checked.scales[0];
    assert_eq!((scale.marks[1].1.origin, scale.marks[1].1.u_origin), (Origin::Typed, Origin::Assumed));
    assert!((scale.marks[1].1.u.si() - 0.0005 / 3f64.sqrt()).abs() < 1e-12);
    assert_eq!(
        (scale.behind_jet.value.si(), scale.behind_jet.u.si(), scale.behind_jet.origin),
        (0.0, 0.002, Origin::Assumed)
    );
    assert_eq!((checked.diameter.u.si(), checked.diameter.u_origin), (5e-5, Origin::Assumed));
    assert_eq!((checked.head[0].u.si(), checked.head[0].u_origin), (6e-4, Origin::Assumed));
    assert_eq!(checked.orifice.u_px, 0.7);
    assert_eq!((checked.plumb, checked.level, checked.edge), (None, None, Edge::Sharp));
    assert_eq!((checked.temperature.value.0, checked.temperature.u.0), (20.0, 3.0));
    let gravity = checked.gravity.unwrap();
    // Normal gravity of WGS 84 at the equator and the pole (NIMA TR8350.2, 2000): the assumed value must reach both
    // within the sqrt(3) u of a rectangular distribution, to 0.001 m/s^2.
    for end in [9.7803253359, 9.8321849379] {
        assert!((gravity.value.si() - end).abs() <= 3f64.sqrt() * gravity.u.si() + 0.001);
    }
}

/// What is added to [`SMALL`], and a part of a notice that it must give.
#[test]
fn each_silence_is_told() {
    for (addition, about, part) in [
        ("[flow]\ntimed = [{ volume = \"1 L\", time = \"9 s\" }]", "flow.timed", "± 0.1 s of a stop-watch"),
        (
            "[flow]\ntimed = [{ volume = \"1 L\", time = \"9 s\" }]",
            "flow.timed",
            "volumes without an uncertainty, ± 0.6 %",
        ),
        (
            "[water]\ntemperature = \"18 degC\"\n[flow]\ntimed = [{ mass = \"1 kg\", time = \"9 s\" }]",
            "flow.timed",
            "masses without an uncertainty, ± 0.1 %",
        ),
        ("[flow]\ndischarge = \"0.2 L/s\"", "flow.discharge", "± 0.002 L/s assumed"),
        ("[camera]\ndistance = \"1.8 m\"", "camera.distance", "± 0.018 m assumed"),
        ("[lens]\nk1 = -0.03", "lens.k1", "± 0.003 assumed"),
        ("[trajectory]\nlaunch = \"5 deg\"", "trajectory.launch", "± 0.5 deg assumed"),
        ("approach_area = \"0.09 m^2\"", "head.approach_area", "± 0.0009 m^2 assumed"),
        ("surface = [900.0, 20.0]", "head.surface", "the reading is used"),
        ("[site]\nlatitude = \"52 deg\"", "site.altitude", "no height is stated, sea level ± 300 m assumed"),
        ("[site]\nlatitude = \"52 deg\"\ngravity = \"9.812 m/s^2\"", "site.latitude", "gravity is used"),
        ("[vertical]\nplumb = [[5, 5], [500, 9]]", "vertical.plumb", "nearer to level than to upright"),
        ("[vertical]\nlevel = [[5, 5], [9, 500]]", "vertical.level", "nearer to upright than to level"),
    ] {
        let notices = sound(&format!("{SMALL}{addition}\n")).notices;
        assert!(notices.iter().any(|n| n.about == about && n.says.contains(part)), "{addition}: {notices:#?}");
    }
    let behind = SMALL.replace("length =", "behind_jet = \"40 mm ± 1 mm\"\nlength =");
    let doubtful = "the scale stands 40 mm from the jet's plane, and no camera distance is stated";
    assert!(sound(&behind).notices.iter().any(|n| n.about == "scale.behind_jet" && n.says.starts_with(doubtful)));
    let measured = format!("{behind}[camera]\ndistance = \"1.8 m ± 0.01 m\"\n");
    assert!(!sound(&measured).notices.iter().any(|n| n.says.contains("doubtful") && n.about != "vertical"));
    let ruler = "[{ px = [100, 10], at = \"0 mm\" }, { px = [900, 12], at = \"400 mm\" }]";
    let ruler = SMALL.replace("[[1020.0, 310.5], [3350.2, 322.8]]", ruler).replace("length = \"500 mm ± 0.3 mm\"", "");
    // (0.3 + 0.2) mm / sqrt(6), for each of the two readings.
    let says = "readings without an uncertainty, ± 0.2 mm assumed for each";
    assert!(sound(&ruler).notices.iter().any(|n| n.about == "scale.marks" && n.says == says));
    let no_head = SMALL.replace("reading = \"412 mm ± 0.5 mm\"", "");
    assert!(sound(&no_head).notices.iter().any(|n| n.about == "head.reading" && n.says.contains("no Cv")));
}

#[test]
fn every_reading_of_the_flow_has_an_uncertainty_after_the_check() {
    let text = format!("{SMALL}[flow]\ntimed = [{{ volume = \"10 L ± 0.02 L\", time = \"40 s\" }}]\n");
    let Some(Flow::Timed(timed)) = sound(&text).checked.unwrap().flow else { panic!("not timed") };
    assert_eq!(timed[0].time.u.map(Kind::si), Some(0.1));
}

#[test]
fn the_surface_serves_where_no_head_was_read() {
    let text = SMALL.replace("reading = \"412 mm ± 0.5 mm\"", "surface = [900.0, 20.0]");
    let checked = sound(&text).checked.unwrap();
    assert!(checked.head.is_empty() && checked.surface.unwrap().at.y == 20.0);
}

#[test]
fn a_sheet_without_text_is_checked_the_same() {
    let opened = open(SMALL);
    let checked = check(opened.sheet.clone());
    assert_eq!(checked.checked, opened.checked);
    let faults = check(Default::default()).faults;
    assert_eq!(faults.len(), 4);
    assert!(faults.iter().all(|f| f.line == 0 && f.found.is_empty()));
}
