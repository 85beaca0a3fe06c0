//! Line 1: title, photo, burst, dry photo.

use crate::app::command::{Command, FileCommand};
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::{Form, put};
use crate::quantity::show_plain;
use eframe::egui::Ui;

const WIDE: f32 = 236.0;

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    form.field(ui, "title", &Field { width: WIDE, ..Field::new("title", "title of the run", "Plate C, run 2") });
    let burst = form.count("photo.files");
    if burst == 0 {
        form.field(ui, "photo", &Field { width: WIDE, ..Field::new("photo.file", "photo file", "c-run2.jpg") });
    }
    for n in 1..=burst {
        let (key, name) = (format!("photo.files[{n}]"), format!("photo {n} of the burst"));
        form.row(ui, if n == 1 { "photos" } else { "" }, |form, ui| {
            ui.horizontal(|ui| {
                form.edit(ui, &Field { width: WIDE - 70.0, ..Field::new(&key, &name, "c-2.jpg") });
                form.remove(ui, &key, &name);
            });
            form.tell(ui, &key);
        });
    }
    form.row(ui, "", |form, ui| {
        ui.horizontal_wrapped(|ui| {
            if !form.state.live.no_pictures.is_empty() && ui.button("Look for the photo...").clicked() {
                form.ask(Command::File(FileCommand::AskPhoto));
            }
            if ui.button("Add a photo of the burst").clicked() {
                form.ask(add_to_burst(form, burst));
            }
        });
        form.tell(ui, "photo.files");
        form.tell(ui, "photo.file");
    });
    form.field(
        ui,
        "dry photo",
        &Field { width: WIDE, ..Field::new("photo.dry", "dry photo file", "none; the same view without the jet") },
    );
    let Some(pictures) = &form.state.live.pictures else { return };
    let Some(photo) = pictures.set.photos.first() else { return };
    let about = &photo.metadata;
    let lens =
        about.focal_length_35mm.or(about.focal_length_mm).map(|f| format!("focal length {}", show_plain(f, "mm")));
    let size = format!("{} × {} px", photo.width, photo.height);
    let parts: Vec<String> =
        [Some(size), about.camera.clone(), about.taken.clone(), lens].into_iter().flatten().collect();
    form.row(ui, "metadata", |form, ui| form.remark(ui, &parts.join(", ")));
}

/// A single photo becomes the first of a burst.
fn add_to_burst(form: &Form, burst: usize) -> Command {
    if burst > 0 {
        return put(&format!("photo.files[{}]", burst + 1), "");
    }
    let first = form.state.typed("photo.file");
    let name = if first.is_empty() { " ".to_owned() } else { first };
    Command::Together(vec![
        Command::Remove("photo.file".into()),
        put("photo.files[1]", &name),
        put("photo.files[2]", ""),
    ])
}
