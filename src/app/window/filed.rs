//! Tests: the document in the whole window: a moved photo, another file in the way, a change from outside, leaving.

use super::walked::{press, until, window};
use super::*;
use egui_kittest::kittest::Queryable;

const SHEET: &str = "format = 1\ntitle = \"mine\"\n[photo]\nfile = \"d.png\"\n";

#[test]
fn nothing_is_lost_and_nothing_is_written_over_unasked() {
    let root = tempfile::tempdir().unwrap();
    let (sheets, photos) = (root.path().join("sheets"), root.path().join("photos"));
    std::fs::create_dir_all(&sheets).unwrap();
    std::fs::create_dir_all(&photos).unwrap();
    image::GrayImage::new(40, 30).save(photos.join("d.png")).unwrap();
    let sheet = sheets.join("d.toml");
    std::fs::write(&sheet, SHEET).unwrap();
    let (mut h, _data) = window(Some(sheet.clone()));

    // a photo that moved is found nearby, and taken where the user says so
    until(&mut h, "the moved photo", |h| h.query_by_label("Take this one").is_some());
    press(&mut h, "Take this one");
    until(&mut h, "its picture", |h| h.state().state.live.pictures.is_some());
    assert_eq!(h.state().state.typed("photo.file"), photos.join("d.png").display().to_string());
    assert_eq!(std::fs::read_to_string(&sheet).unwrap(), SHEET, "nothing is saved unasked");

    // another sheet in the way of saving
    let other = sheets.join("other.toml");
    std::fs::write(&other, "format = 1\n").unwrap();
    let save_as = |h: &mut super::walked::Walked| {
        h.state_mut().carry_out(Command::File(FileCommand::SaveAs(other.clone())));
        h.run_steps(3);
    };
    save_as(&mut h);
    press(&mut h, "Do not save");
    assert_eq!(std::fs::read_to_string(&other).unwrap(), "format = 1\n");
    save_as(&mut h);
    press(&mut h, "Write over it");
    assert_eq!(std::fs::read_to_string(&other).unwrap(), h.state().state.text());

    // a change from outside is taken up where nothing is unsaved, and asked about where something is
    let text = |h: &super::walked::Walked| h.state().state.text().to_owned();
    let theirs = text(&h).replace("mine", "theirs");
    std::thread::sleep(std::time::Duration::from_millis(50));
    std::fs::write(&other, &theirs).unwrap();
    until(&mut h, "the change from outside", |h| text(h) == theirs);
    h.state_mut().state.apply(Command::Undo);
    assert!(text(&h).contains("mine"), "undo brings it back");
    std::fs::write(&other, theirs.replace("theirs", "once more")).unwrap();
    until(&mut h, "the question", |h| h.query_by_label("Keep mine").is_some());
    press(&mut h, "Keep mine");
    assert!(text(&h).contains("mine"));

    // leaving asks while something is not saved
    h.state_mut().carry_out(Command::File(FileCommand::Close));
    h.run_steps(3);
    press(&mut h, "Stay");
    assert!(h.state().state.document.is_some());
    h.state_mut().carry_out(Command::File(FileCommand::Close));
    h.run_steps(3);
    press(&mut h, "Close without saving");
    assert!(h.state().state.document.is_none());
}
