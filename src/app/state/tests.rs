//! State and commands, without a window.

use super::*;
use std::path::Path;

fn state() -> State {
    let mut state = State::default();
    state.show(Document::open(Path::new("c.toml"), "format = 1\n[photo]\nfile = \"c.jpg\"\n"));
    state
}

fn place(state: &mut State, x: f64, y: f64) {
    state.apply(Command::PlaceAt(PixelPoint::new(x, y)));
}

#[test]
fn the_job_is_done_by_lines_and_clicks() {
    let mut s = state();
    s.apply(Command::TakeLine(Line::Down));
    assert_eq!(s.placing, Some(MarkKind::Plumb));
    place(&mut s, 10.0, 20.0);
    assert_eq!(s.placing, Some(MarkKind::Plumb), "a plumb line needs two");
    place(&mut s, 11.0, 900.0);
    assert_eq!((s.placing, s.mark.as_deref()), (None, Some("vertical.plumb[2]")));
    place(&mut s, 500.0, 500.0);
    assert_eq!(s.marks().len(), 2, "a click with nothing in hand places nothing");

    s.apply(Command::TakeLine(Line::Scale));
    place(&mut s, 100.0, 100.0);
    place(&mut s, 900.0, 100.0);
    s.apply(Command::TakeLine(Line::Orifice));
    place(&mut s, 50.0, 60.0);
    for (key, typed) in [("scale[1].length", "300 mm"), ("orifice.diameter", "3/8 in"), ("head.reading", "251 mm")] {
        s.apply(Command::Put { key: key.into(), typed: typed.into() });
        assert_eq!(s.typed(key), typed);
    }
    let opened = s.document.as_ref().unwrap().opened();
    assert!(opened.checked.is_some(), "{:?}", opened.faults);
    assert_eq!(s.next_unfinished(), None);
    for _ in 0..8 {
        s.apply(Command::Undo);
    }
    assert!(s.document.as_ref().unwrap().is_saved(), "eight steps were made: {}", s.text());
    for _ in 0..8 {
        s.apply(Command::Redo);
    }
    assert_eq!(s.typed("head.reading"), "251 mm");
}

#[test]
fn what_was_typed_wrong_stays_to_be_mended() {
    let mut s = state();
    s.apply(Command::Put { key: "orifice.diameter".into(), typed: "12".into() });
    assert_eq!(s.typed("orifice.diameter"), "12");
    assert!(s.document.as_ref().unwrap().opened().faults.iter().any(|f| f.about == "orifice.diameter"));
    s.apply(Command::Put { key: "orifice.diameter".into(), typed: String::new() });
    assert_eq!(s.entry("orifice.diameter"), None);
}

#[test]
fn a_mark_taken_away_is_no_longer_in_hand() {
    let mut s = state();
    s.apply(Command::Place(Some(MarkKind::ByHand)));
    place(&mut s, 1.0, 2.0);
    place(&mut s, 3.0, 4.0);
    s.apply(Command::Remove("stream.by_hand[2]".into()));
    assert_eq!((s.mark.clone(), s.marks().len()), (None, 1));
    s.apply(Command::Undo);
    assert_eq!(s.marks().len(), 2);
}

#[test]
fn several_commands_are_one_step_and_rows_keep_their_places() {
    let mut s = state();
    let put = |key: &str, typed: &str| Command::Put { key: key.into(), typed: typed.into() };
    s.apply(Command::Together(vec![put("flow.timed[1].volume", "5 L"), put("flow.timed[1].time", "35 s")]));
    s.apply(put("flow.timed[2].volume", ""));
    s.apply(put("flow.timed[1].volume", ""));
    assert_eq!(s.typed("flow.timed[1].time"), "35 s");
    assert_eq!(s.entry("flow.timed"), Some(Entry::Group(2)));
    for _ in 0..3 {
        s.apply(Command::Undo);
    }
    assert!(s.document.as_ref().unwrap().is_saved(), "{}", s.text());
}

#[test]
fn older_answers_are_dropped() {
    let mut s = state();
    s.hear(Answer::Measured { revision: 5, result: Err(vec![Notice::new("stream", "none")]), passing: false });
    s.hear(Answer::Measured { revision: 4, result: Err(Vec::new()), passing: false });
    assert_eq!(s.live.refused.len(), 1);
}
