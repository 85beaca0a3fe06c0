//! Where the marks of a card are found, and that none are found where there is no card.

use super::plane::found;
use crate::support::carded::Carded;
use trajet::calibration::card::find;
use trajet::card::{Card, Paper};
use trajet::photo::{self, Limits, Photo, Pixels};

/// Root mean square of how far marks were found from where they were rendered, px, and how many; none may be another's or
/// one that is hidden.
fn off_px(view: &Carded) -> (f64, usize) {
    let card = Card::new(view.paper);
    let (placed, open) = (view.placed(), view.open(&card));
    let found = found(view).unwrap_or_else(|| panic!("not found: {view:?}"));
    assert_eq!(found.paper, view.paper);
    let mut sum = 0.0;
    for mark in &found.marks {
        assert!(open.contains(&mark.number), "mark {} is hidden: {view:?}", mark.number);
        let [x, y] = placed.pixel(view.mark_mm(&card, mark.number));
        sum += (mark.at.x - x).powi(2) + (mark.at.y - y).powi(2);
    }
    ((0.5 * sum / found.marks.len() as f64).sqrt(), found.marks.len())
}

#[test]
fn marks_are_found_to_hundredths_of_a_pixel() {
    let plain = Carded { roll: 2.0, yaw: 5.0, ..Carded::default() };
    for view in [plain.clone(), Carded { paper: Paper::Letter, ..plain.clone() }] {
        let (off, count) = off_px(&view);
        assert!(off < 0.02 && count == Card::count(view.paper), "{off:.3} px, {count} marks");
    }
    // cells of 3 px
    let far = Carded { px_per_mm: 1.0, ..plain.clone() };
    let (off, count) = off_px(&far);
    assert!(off < 0.06 && count == 42, "{off:.3} px, {count} marks");
    let large = Carded { paper: Paper::A3, px_per_mm: 1.6, ..plain };
    let (off, count) = off_px(&large);
    assert!(off < 0.03 && count == 42, "{off:.3} px, {count} marks");
}

/// Each of what the card is made to bear alone, then all of it together.
#[test]
fn a_card_bears_what_it_is_made_for() {
    let plain = Carded { roll: 3.0, ..Carded::default() };
    let hard = Carded {
        yaw: 45.0,
        blur_px: 3.0,
        quality: 60,
        noise: 0.02,
        hidden: 0.5,
        k1: -0.03,
        light: [0.25, 0.9],
        ..plain.clone()
    };
    let views = [
        ("half hidden, one by one", Carded { hidden: 0.5, ..plain.clone() }, 0.02, 21),
        ("half hidden, one piece", Carded { hidden: 0.5, one_by_one: false, ..plain.clone() }, 0.02, 15),
        ("yaw 45", Carded { yaw: 45.0, ..plain.clone() }, 0.02, 42),
        ("blur 3 px", Carded { blur_px: 3.0, ..plain.clone() }, 0.03, 42),
        ("JPEG 60", Carded { quality: 60, noise: 0.02, ..plain.clone() }, 0.02, 42),
        ("barrel 3 %", Carded { k1: -0.03, middle: [420.0, 440.0], ..plain.clone() }, 0.02, 42),
        ("light from one side", Carded { light: [0.08, 1.1], ..plain.clone() }, 0.02, 42),
        ("turned over", Carded { roll: 178.0, ..plain }, 0.02, 42),
        ("all together", hard, 0.05, 19),
    ];
    for (name, view, within_px, least) in views {
        let (off, count) = off_px(&view);
        println!("{name}: {count} marks, {off:.3} px");
        assert!(off < within_px && count >= least, "{name}: {off:.3} px, {count} marks");
    }
}

#[test]
fn where_there_is_no_card_none_is_found() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    for name in ["plate-c-run2.jpg", "nozzle-n-up.jpg", "old-print-run11.jpg"] {
        let bytes = std::fs::read(folder.join(name)).unwrap();
        let photo = photo::read(&bytes, Limits::default()).unwrap().value;
        assert_eq!(find(&photo, None), None, "{name}");
    }
    let tiny = Photo { width: 3, height: 2, pixels: Pixels::Grey8(vec![0; 6]), metadata: photo::Metadata::default() };
    assert_eq!(find(&tiny, None), None);
    // a card of another paper than the one that is asked for
    let view = Carded::default();
    let photo = photo::read(&view.jpeg(), Limits::default()).unwrap().value;
    assert_eq!(find(&photo, Some(Paper::Letter)), None);
}
