//! What a result's uncertainty is made of, as bars.

use super::ink;
use super::tables::copy_as_text;
use crate::app::command::{Command, FileCommand};
use crate::measure::{BudgetRow, Findings};
use crate::quantity::show_plain;
use crate::report::figure::{self, Ink};
use eframe::egui::{Align2, Button, Label, Rect, RichText, Role, Sense, TextStyle, Ui, WidgetInfo, pos2, vec2};

/// Most bars; the rest is gathered. Below half a per cent a bar says nothing.
const MOST: usize = 8;
const LEAST: f64 = 0.005;

/// Inputs of the budget, and what they are called in plain words.
pub const INPUTS: [(&str, &str); 38] = [
    ("scale.marks", "clicks on rulers"),
    ("scale.at", "readings of rulers"),
    ("scale.length", "length of the scale"),
    ("scale.behind_jet", "rulers beside the jet's plane"),
    ("scale.graduation", "graduation of rulers"),
    ("plane.marks", "clicks on plane marks"),
    ("plane.at", "survey of plane marks"),
    ("plane.behind_jet", "marks beside the jet's plane"),
    ("card.marks", "marks of the scale card"),
    ("card.check_line", "check line of the scale card"),
    ("card.upright_line", "upright check line of the scale card"),
    ("card.aspect", "how evenly the scale card is printed"),
    ("card.behind_jet", "scale card beside the jet's plane"),
    ("lens.centre", "centre of the lens"),
    ("lens.k1", "distortion k1 of the lens"),
    ("lens.k2", "distortion k2 of the lens"),
    ("lens.straight", "clicks on straight edges"),
    ("camera.squareness", "squareness of the camera"),
    ("camera.focal_length", "focal length"),
    ("camera.distance", "distance of the camera"),
    ("vertical.plumb", "plumb line"),
    ("vertical.level", "level line"),
    ("orifice.centre", "click on the orifice"),
    ("orifice.diameter", "orifice diameter"),
    ("stream.middle", "middle of the stream's edges"),
    ("stream.width", "blur of the stream's edges"),
    ("stream.stations", "scatter of the stations"),
    ("head.reading", "head reading"),
    ("head.surface", "click on the water surface"),
    ("head.approach_area", "area of the tank"),
    ("flow.volume", "volume caught"),
    ("flow.mass", "mass caught"),
    ("flow.time", "time of the filling"),
    ("flow.discharge", "discharge"),
    ("water.temperature", "water temperature"),
    ("site.gravity", "gravity"),
    ("site.latitude", "latitude"),
    ("site.altitude", "altitude"),
];

/// Name of an input in plain words.
pub fn input_words(input: &str) -> String {
    let known = INPUTS.iter().find(|(key, _)| *key == input);
    known.map_or_else(|| input.replace(['.', '_'], " "), |(_, words)| (*words).to_owned())
}

/// The bars: name, value with uncertainty, share.
pub fn bars(rows: &[BudgetRow]) -> Vec<(String, String, f64)> {
    let large = rows.iter().take(MOST).take_while(|r| r.share >= LEAST).count();
    let (large, small) = rows.split_at(large);
    let mut bars: Vec<_> = large.iter().map(|r| (input_words(&r.input), stated(r), r.share)).collect();
    let rest: f64 = small.iter().map(|r| r.share).sum();
    let others = small.iter().filter(|r| r.share > 0.0).count();
    if rest >= LEAST {
        bars.push((format!("{others} others"), String::new(), rest));
    }
    bars
}

/// Shows the budget of one result.
pub fn budget(ui: &mut Ui, findings: &Findings, key: &str, symbol: &str, commands: &mut Vec<Command>) {
    let Some(rows) = findings.budget.get(key).filter(|rows| !rows.is_empty()) else { return };
    ui.horizontal_wrapped(|ui| {
        let says = format!("What the uncertainty of {symbol} is made of");
        ui.add(Label::new(RichText::new(says).small().color(ink::quiet(ui))).wrap());
        copy_as_text(ui, &format!("budget of {symbol}"), || {
            let lines =
                rows.iter().map(|r| format!("{}\t{}\t{}\t{}\n", r.input, r.value, r.u, show_plain(r.share, "")));
            std::iter::once("input\tvalue\tu\tshare\n".to_owned()).chain(lines).collect()
        });
        let picture = Button::new(RichText::new("picture").small().color(ink::quiet(ui))).frame(false);
        if ui.add(picture).accessible_name(format!("copy budget of {symbol} as picture")).clicked()
            && let Ok(figure) = figure::budget(findings, key, symbol)
        {
            commands.push(Command::File(FileCommand::CopyPicture(Box::new(figure))));
        }
    });
    for (name, value, share) in bars(rows) {
        bar(ui, &name, &value, share);
    }
}

fn bar(ui: &mut Ui, name: &str, value: &str, share: f64) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 17.0), Sense::hover());
    let percent = show_plain((100.0 * share).round(), "%");
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("{name}: {percent}, {value}")));
    let painter = ui.painter_at(rect);
    let small = TextStyle::Small.resolve(ui.style());
    let names = rect.left() + (0.44 * rect.width()).min(180.0);
    let room = (rect.right() - 40.0 - names).max(10.0);
    let y = rect.center().y;
    let text = ui.visuals().text_color();
    painter.text(pos2(rect.left(), y), Align2::LEFT_CENTER, name, small.clone(), text);
    let filled = Rect::from_min_max(pos2(names, y - 5.0), pos2(names + room * share.clamp(0.0, 1.0) as f32, y + 5.0));
    painter.rect_filled(filled, 0.0, ink::ink(ui, Ink::Sky));
    painter.text(pos2(filled.right() + 4.0, y), Align2::LEFT_CENTER, percent, small, text);
    if !value.is_empty() {
        response.on_hover_text(value);
    }
}

/// An input's value with its uncertainty; what inputs do together has none of its own.
fn stated(row: &BudgetRow) -> String {
    if row.u == "-" { row.value.clone() } else { format!("{} ± {}", row.value, row.u) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_are_gathered_and_nothing_is_lost() {
        let row = |input: &str, share| BudgetRow {
            input: input.into(),
            value: "1 mm".into(),
            u: "0.1 mm".into(),
            sensitivity: 1.0,
            share,
        };
        let rows =
            [row("scale.marks", 0.9), row("stream.middle", 0.09), row("a.b", 0.004), row("c", 0.004), row("d", 0.002)];
        let bars = bars(&rows);
        assert_eq!(
            bars.iter().map(|b| b.0.as_str()).collect::<Vec<_>>(),
            ["clicks on rulers", "middle of the stream's edges", "3 others"]
        );
        assert!((bars.iter().map(|b| b.2).sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
