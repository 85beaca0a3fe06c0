//! Line 3: rulers, marks of the bench plane, camera, lens.

use crate::app::command::Command;
use crate::app::marks::MarkKind;
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::{Form, put};
use crate::sheet::entry::Entry;
use eframe::egui::{RichText, Ui};

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    card(ui, form);
    let rulers = (1..).take_while(|n| form.state.entry(&format!("scale[{n}]")).is_some()).count();
    for n in 1..=rulers.max(1) {
        ruler(ui, form, n, rulers);
    }
    if rulers > 0 {
        let another = MarkKind::Scale(rulers + 1);
        form.place(ui, another, "mark another ruler");
    }
    form.tell(ui, "scale");
    ui.separator();
    plane(ui, form);
    ui.separator();
    form.field(ui, "camera", &Field::new("camera.distance", "distance of the camera", "distance, as 1.8 m"));
    lens(ui, form);
}

/// The scale card: what is stated of it, or that one was found and waits for consent.
fn card(ui: &mut Ui, form: &mut Form) {
    if let Some(found) = form.state.card_offered() {
        let (marks, paper) = (found.marks.len(), found.paper.name());
        ui.horizontal_wrapped(|ui| {
            ui.label(format!("A scale card ({paper}) is in the photo: {marks} marks, ringed."));
            if ui.button("use it").accessible_name("use the scale card").clicked() {
                form.ask(Command::UseCard);
            }
        });
        ui.separator();
    }
    if form.state.entry("card").is_none() {
        return;
    }
    ui.horizontal(|ui| {
        ui.label(RichText::new("scale card").strong());
        form.remove(ui, "card", "the scale card");
    });
    form.choice(ui, "paper", "card.paper", &["A4", "A3", "Letter"], "as it stands at the card's foot");
    let line = |key, name| Field::new(key, name, "99.7 mm ± 0.1 mm");
    form.field(ui, "line A measures", &line("card.check_line", "what check line A of the card measures"));
    form.field(ui, "line B measures", &line("card.upright_line", "what check line B of the card measures"));
    form.field(
        ui,
        "behind the jet",
        &Field::new("card.behind_jet", "how far the card stands behind the jet", "0 mm ± 1 mm"),
    );
    form.row(ui, "marks", |form, ui| {
        let marks = form.count("card.marks");
        let says = match marks {
            0 => "looked for in the photo each time".to_owned(),
            n => format!("{n} as found in the photo; one taken in hand can be moved, or removed with Delete"),
        };
        form.remark(ui, &says);
        form.tell(ui, "card.marks");
    });
    form.tell(ui, "card");
    ui.separator();
}

fn ruler(ui: &mut Ui, form: &mut Form, n: usize, rulers: usize) {
    let at = |rest: &str| format!("scale[{n}]{rest}");
    let name = if rulers > 1 { format!("ruler {n}") } else { "ruler".to_owned() };
    ui.horizontal(|ui| {
        ui.label(RichText::new(&name).strong());
        if form.state.entry(&at("")).is_some() {
            form.remove(ui, &at(""), &name);
        }
    });
    let marks = form.count(&at(".marks"));
    let with_readings = matches!(form.state.entry(&at(".marks[1]")), Some(Entry::Group(_)));
    if with_readings {
        for i in 1..=marks {
            reading(ui, form, n, i);
        }
        form.row(ui, "", |form, ui| form.place(ui, MarkKind::Scale(n), "mark another graduation"));
    } else {
        form.row(ui, "marks", |form, ui| {
            form.marks_of_pair(ui, n, marks);
            form.tell(ui, &at(".marks"));
        });
        form.field(
            ui,
            "length between",
            &Field::new(&at(".length"), &format!("length between the marks of {name}"), "300 mm ± 0.2 mm"),
        );
    }
    form.tell(ui, &at(".marks"));
    form.field(
        ui,
        "behind the jet",
        &Field::new(&at(".behind_jet"), &format!("how far {name} stands behind the jet"), "0 mm ± 0.5 mm"),
    );
}

/// A graduation: its place and its reading.
fn reading(ui: &mut Ui, form: &mut Form, n: usize, i: usize) {
    let mark = format!("scale[{n}].marks[{i}]");
    let (px, at) = (format!("{mark}.px"), format!("{mark}.at"));
    form.row(ui, if i == 1 { "graduations" } else { "" }, |form, ui| {
        ui.horizontal(|ui| {
            let name = format!("graduation {i} of ruler {n}");
            form.edit(ui, &Field { width: 96.0, ..Field::new(&at, &format!("reading of {name}"), "100 mm") });
            form.mark(ui, &px, &name);
            form.remove(ui, &mark, &name);
        });
        form.tell(ui, &mark);
        form.tell(ui, &at);
    });
}

impl Form<'_> {
    /// The two marks of a pair; with both there they can become readings along the ruler.
    fn marks_of_pair(&mut self, ui: &mut Ui, n: usize, marks: usize) {
        ui.horizontal_wrapped(|ui| {
            for i in 1..=marks {
                self.mark(ui, &format!("scale[{n}].marks[{i}]"), &format!("mark {i} of ruler {n}"));
            }
            if marks < 2 {
                self.place(ui, MarkKind::Scale(n), if marks == 0 { "mark it" } else { "mark the second" });
            }
        });
        let of = if n > 1 { format!(" of ruler {n}") } else { String::new() };
        let name = format!("read more graduations{of}");
        if marks == 2 && ui.small_button("read more graduations").accessible_name(name).clicked() {
            self.ask(into_readings(self, n));
        }
    }
}

/// A pair and its length as the first two readings along a ruler, as one step.
fn into_readings(form: &Form, n: usize) -> Command {
    let at = |rest: &str| format!("scale[{n}]{rest}");
    let length = form.state.typed(&at(".length"));
    let mut steps = vec![Command::Remove(at(".length")), Command::Remove(at(".marks"))];
    for i in 1..=2 {
        if let Some(Entry::Point(to)) = form.state.entry(&at(&format!(".marks[{i}]"))) {
            steps.push(Command::Move { key: at(&format!(".marks[{i}].px")), to });
            steps.push(put(&at(&format!(".marks[{i}].at")), if i == 1 { "0 mm" } else { &length }));
        }
    }
    Command::Together(steps)
}

fn plane(ui: &mut Ui, form: &mut Form) {
    let count = form.count("plane.marks");
    ui.horizontal(|ui| {
        ui.label(RichText::new("bench plane").strong());
        if count > 0 {
            form.remove(ui, "plane", "the bench plane");
        }
    });
    if count == 0 {
        form.remark(ui, "Four or more points of the jet's plane with known x and drop from the orifice make good a camera that looked askew.");
    }
    for i in 1..=count {
        let mark = format!("plane.marks[{i}]");
        form.row(ui, if i == 1 { "x, drop" } else { "" }, |form, ui| {
            ui.horizontal(|ui| {
                let name = format!("plane mark {i}");
                for (j, axis) in [(1, "x"), (2, "drop")] {
                    let key = format!("{mark}.at[{j}]");
                    form.coordinate(ui, &mark, &key, &format!("{axis} of {name}"));
                }
                form.mark(ui, &format!("{mark}.px"), &name);
            });
            form.tell(ui, &mark);
            form.tell(ui, &format!("{mark}.at"));
            form.tell(ui, &format!("{mark}.at[1]"));
            form.tell(ui, &format!("{mark}.at[2]"));
        });
    }
    form.row(ui, "", |form, ui| {
        form.place(ui, MarkKind::Plane, if count == 0 { "mark a point" } else { "mark another point" });
        form.tell(ui, "plane.marks");
    });
    if count > 0 {
        form.field(
            ui,
            "behind the jet",
            &Field::new("plane.behind_jet", "how far the bench plane stands behind the jet", "0 mm ± 0.5 mm"),
        );
    }
}

impl Form<'_> {
    /// A coordinate of a plane mark. The second cannot be typed before the first is there, so that one comes along.
    fn coordinate(&mut self, ui: &mut Ui, mark: &str, key: &str, name: &str) {
        let before = self.commands.len();
        self.edit(ui, &Field { width: 80.0, ..Field::new(key, name, "0 mm") });
        let puts = self.commands[before..].iter().any(|c| matches!(c, Command::Put { .. }));
        if puts && self.state.entry(&format!("{mark}.at")).is_none() {
            self.commands.insert(before, put(&format!("{mark}.at[1]"), ""));
            if key.ends_with("[1]") {
                self.commands.insert(before + 1, put(&format!("{mark}.at[2]"), ""));
            }
        }
    }
}

fn lens(ui: &mut Ui, form: &mut Form) {
    let edges = form.count("lens.straight");
    for n in 1..=edges {
        let key = format!("lens.straight[{n}]");
        form.row(ui, &format!("straight edge {n}"), |form, ui| {
            form.marks(ui, MarkKind::Straight(n), "mark another point");
            form.remove(ui, &key, &format!("straight edge {n}"));
            form.tell(ui, &key);
        });
    }
    form.row(ui, "lens", |form, ui| {
        form.place(ui, MarkKind::Straight(edges + 1), "mark points along a straight edge");
        form.tell(ui, "lens.straight");
    });
    form.field(ui, "k1", &Field::new("lens.k1", "radial distortion k1", "unknown; as -0.031"));
}
