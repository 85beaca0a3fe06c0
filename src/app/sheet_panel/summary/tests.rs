//! What closed lines say of a sheet that is begun, whole, measured and changed again.

use super::super::said::said;
use super::*;
use crate::app::command::{Command, Units};
use crate::app::document::Document;
use crate::app::sheet_panel::tests::measured_sample;
use std::path::Path;

fn state(text: &str) -> State {
    let mut state = State::default();
    state.show(Document::open(Path::new("c.toml"), text));
    state
}

fn of(line: Line, state: &State) -> LineSummary {
    summary(line, state, &said(state))
}

fn put(state: &mut State, key: &str, typed: &str) {
    state.apply(Command::Put { key: key.into(), typed: typed.into() });
}

#[test]
fn a_sheet_that_is_begun_says_what_is_missing() {
    let s = state("format = 1\n[photo]\nfile = \"c.jpg\"\n");
    for (line, standing, from) in [
        (Line::Photo, Standing::Good, Some(Origin::Typed)),
        (Line::Down, Standing::Doubtful, Some(Origin::Assumed)),
        (Line::Scale, Standing::Missing, None),
        (Line::Orifice, Standing::Missing, None),
        (Line::Stream, Standing::Missing, None),
        (Line::Head, Standing::Missing, None),
        (Line::Discharge, Standing::Missing, None),
        (Line::Record, Standing::Missing, None),
    ] {
        let summary = of(line, &s);
        assert_eq!((summary.standing, summary.from), (standing, from), "{line:?}: {summary:?}");
        assert!(!summary.value.is_empty() && !summary.stale, "{line:?}");
    }
}

#[test]
fn a_value_is_shown_with_its_uncertainty_in_the_chosen_units() {
    let mut s = state("format = 1\n[photo]\nfile = \"c.jpg\"\n[orifice]\ncentre = [5.0, 9.0]\n");
    put(&mut s, "orifice.diameter", "4 3/8 in ± 0.002 in");
    let orifice = of(Line::Orifice, &s);
    assert_eq!((orifice.value.as_str(), orifice.standing), ("111.125 mm ± 0.051 mm", Standing::Doubtful));
    assert_eq!(orifice.more, "sharp edge, assumed");
    put(&mut s, "orifice.edge", "nozzle");
    s.apply(Command::Units(Units::UsCustomary));
    let orifice = of(Line::Orifice, &s);
    assert_eq!((orifice.value.as_str(), orifice.standing), ("4.3750 in ± 0.0020 in", Standing::Good));
    put(&mut s, "orifice.diameter", "12");
    assert_eq!(of(Line::Orifice, &s).standing, Standing::Missing, "a length without a unit is no diameter");
    put(&mut s, "head.reading", "412 mm ± 0.5 mm");
    assert_eq!(of(Line::Head, &s).value, "16.220 in ± 0.020 in");
}

#[test]
fn a_measured_sheet_is_told_with_what_it_costs_and_a_changed_one_as_of_before() {
    let mut s = measured_sample();
    let v = of(Line::Trajectory, &s);
    let found = s.live.measured.as_ref().unwrap().findings.velocity.clone().unwrap();
    assert_eq!(v.value, crate::quantity::show(found.value, found.u, "m/s"));
    assert_eq!((v.from, v.standing, v.stale), (Some(Origin::Computed), Standing::Good, false));
    let scale = of(Line::Scale, &s);
    assert_eq!(scale.standing, Standing::Doubtful, "readings without an uncertainty are assumed");
    assert!(scale.cost.as_ref().unwrap().ends_with("% of V's variance"), "{scale:?}");
    assert!(of(Line::Coefficients, &s).value.starts_with("Cv 0.97"));
    assert!(of(Line::Orifice, &s).cost.is_none(), "what is typed with its uncertainty is no doubt");
    // nobody states the water's temperature: assumed, but it costs V, Cv, Cd and Cc nothing worth a word
    assert_eq!(of(Line::Discharge, &s).standing, Standing::Good);

    put(&mut s, "orifice.diameter", "10.1 mm ± 0.05 mm");
    for line in [Line::Stream, Line::Trajectory, Line::Discharge, Line::Coefficients, Line::Published] {
        let summary = of(line, &s);
        assert!(summary.stale && summary.standing == Standing::Doubtful, "{line:?}");
    }
    assert_eq!(of(Line::Record, &s).standing, Standing::Missing, "nothing can be written of the sheet before");
    assert!(of(Line::Trajectory, &s).spoken(Line::Trajectory).contains("of the sheet before"));
}
