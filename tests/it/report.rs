//! What leaves the program: escaped, self-contained, honest about what is absent, well-formed.

mod beside;
mod fixture;
mod kept;
mod schema;
mod series;
mod valid;
mod xml;

use fixture::{findings, photo, sheet};
use trajet::measure::Findings;
use trajet::quantity::{show, show_interval};
use trajet::report::record::RESULTS;
use trajet::report::svg::{Place, svg};
use trajet::report::{Paper, Record, figure, html, xlsx};

fn page(findings: &Findings) -> String {
    let (sheet, photo) = (sheet("Plate C, run 2"), photo());
    html(&Record { findings, sheet: Some(&sheet), photo: Some(&photo) }, Paper::A4)
}

/// A title, a file name and a notice with markup stay text wherever they are shown.
#[test]
fn markup_in_what_a_user_wrote_stays_text() {
    let evil = "</title><script>alert('x')</script><img src=x onerror=y>";
    let mut f = findings();
    f.title = evil.into();
    f.sheet = format!("{evil}.toml");
    f.notices[0].says = evil.into();
    f.inputs.insert(evil.into(), evil.into());
    f.budget.get_mut("velocity").unwrap()[0].input = evil.into();
    let text = page(&f);
    assert!(!text.contains("<script") && !text.contains("<img") && !text.contains("onerror=y>"));
    assert!(text.matches("&lt;script&gt;").count() >= 5, "it is shown, not swallowed");
    assert_eq!(xml::fault(&svg(&figure::budget(&f, "velocity", "V").unwrap(), Place::File)), None);
}

/// Nothing outside the file is asked for: it opens without a network, and tells nobody that it was opened.
#[test]
fn a_page_refers_to_nothing_outside() {
    let text = page(&findings());
    for forbidden in ["http:", "https:", "//www", "@import", "<link", "<script", "<iframe", "<base"] {
        assert!(!text.contains(forbidden), "{forbidden}");
    }
    for attribute in [" src=\"", " href=\"", " srcset=\"", " xlink:href=\""] {
        for (at, _) in text.match_indices(attribute) {
            let value = &text[at + attribute.len()..];
            assert!(value.starts_with("data:image/jpeg;base64,"), "{}", &value[..40]);
        }
    }
    assert!(text.match_indices("url(").all(|(at, _)| text[at..].starts_with("url(#")));
    assert!(text.matches("data:image/jpeg").count() >= 3, "photo, orifice, scale");
}

#[test]
fn every_result_is_shown_by_the_one_rounding() {
    let (f, text) = (findings(), page(&findings()));
    let mut count = 0;
    for found in RESULTS.iter().filter_map(|r| (r.of)(&f)) {
        assert!(text.contains(&show(found.value, found.u, &found.unit)), "{found:?}");
        assert!(text.contains(&show_interval(found.lo, found.hi, &found.unit)), "{found:?}");
        count += 1;
    }
    assert_eq!(count, 8);
    // and the sheet's own quantities by the same
    assert!(text.contains("10.000 mm ± 0.050 mm") && text.contains("451.00 mm ± 0.60 mm"));
}

#[test]
fn an_absent_result_says_why() {
    let text = page(&findings());
    assert_eq!(
        text.matches("none: no flow: discharge, Cd, Cc and the jet&#39;s power are absent").count()
            + text.matches("none: no flow: discharge, Cd, Cc and the jet's power are absent").count(),
        4
    );
    let mut f = findings();
    f.notices.clear();
    assert!(page(&f).contains("none: it does not follow from what [flow] states"));
    // figures too
    f.stations.clear();
    let text = page(&f);
    assert!(text.contains("No figure of the residuals: no stations."), "{text}");
}

#[test]
fn cautions_and_signatures_are_in_every_record() {
    let text = page(&findings());
    for said in [
        "RCD, GFCI",
        "Wet floors",
        "Flashing lights",
        "Pressurised tanks",
        "eye height",
        "custody transfer",
        "Local codes",
        "measured by",
        "checked by",
    ] {
        assert!(text.contains(said), "{said}");
    }
}

/// Every figure is well-formed XML with a title for who does not see it, and no two in a page share an id.
#[test]
fn figures_are_well_formed_and_told_in_words() {
    let (f, sheet, photo) = (findings(), sheet("Plate C, run 2"), photo());
    let figures = Record { findings: &f, sheet: Some(&sheet), photo: Some(&photo) }.figures();
    let names: Vec<&str> = figures.iter().map(|f| f.name.as_str()).collect();
    assert_eq!(
        names,
        ["photo", "orifice", "scale-1", "residuals", "velocity", "width", "budget-velocity", "budget-cv"]
    );
    for figure in &figures {
        for place in [Place::File, Place::Html, Place::Over] {
            let text = svg(figure, place);
            assert_eq!(xml::fault(&text), None, "{}", figure.name);
            assert!(text.contains("<title id=") && !text.contains("NaN") && !text.contains("inf\""), "{}", figure.name);
        }
    }
    let mut ids: Vec<&str> = Vec::new();
    let text = page(&f);
    for (at, _) in text.match_indices(" id=\"") {
        let id = text[at + 5..].split('"').next().unwrap();
        assert!(!ids.contains(&id), "{id} twice");
        ids.push(id);
    }
}

/// The texts of a figure in the order of its drawing: legend, ticks, axes.
fn texts(svg: &str) -> Vec<String> {
    let after = svg.split("<text").skip(1);
    after.map(|t| t[t.find('>').unwrap() + 1..t.find("</text>").unwrap()].to_owned()).collect()
}

#[test]
fn axes_name_their_quantity_and_unit() {
    let f = findings();
    let of = |drawn: figure::Drawn| texts(&svg(&drawn.unwrap(), Place::File)).join(" | ");
    assert_eq!(
        of(figure::residuals(&f)),
        "fitted trajectory | station, ± u | left out of the fit | 0 | 100 | 200 | 300 | 400 | -0.4 | -0.2 | 0 | 0.2 | 0.4 | x / mm | \
         distance from the trajectory / mm (positive: below)"
    );
    assert_eq!(
        of(figure::width(&f)),
        "station | left out of the fit | continuity, from the vena contracta | 0 | 100 | 200 | 300 | 400 | 7.5 | 7.6 | 7.7 | 7.8 | 7.9 | \
         x / mm | width of the stream / mm"
    );
    assert_eq!(
        of(figure::budget(&f, "cv", "Cv")),
        "0 | 20 | 40 | 60 | 80 | scale.length | head.reading | 1 others | share of the variance of Cv / % | 70.0 % | 29.9 % | 0.1 %"
    );
}

#[test]
fn the_paper_is_the_one_asked_for() {
    let (f, sheet) = (findings(), sheet("Plate C, run 2"));
    let record = Record { findings: &f, sheet: Some(&sheet), photo: None };
    assert!(html(&record, Paper::Letter).contains("@page { size: letter; }"));
    assert!(html(&record, Paper::A4).contains("No photo was at hand"));
}

/// Equal runs give equal files, and numbers are stored as numbers (the workbook is read back in `xlsx` by hand too).
#[test]
fn a_workbook_is_the_same_every_time() {
    let runs = [findings(), findings()];
    let (a, b) = (xlsx::workbook(&runs).unwrap(), xlsx::workbook(&runs).unwrap());
    assert!(a.starts_with(b"PK"));
    assert!(a == b, "a clock or an order that changes got in");
}

#[cfg(feature = "pdf")]
mod pdf {
    use super::*;
    use trajet::card::Card;
    use trajet::report::card::pdf as print;
    use trajet::report::{pdf::pdf, png::png};

    fn pages(file: &[u8]) -> String {
        String::from_utf8_lossy(file).into_owned()
    }

    /// Sizes in points: ISO 216 A4 210 mm x 297 mm, Letter 8.5 in x 11 in, at 72 points an inch.
    #[test]
    fn a_record_is_set_on_its_paper_and_is_the_same_every_time() {
        let (f, sheet, photo) = (findings(), sheet("Plate C, run 2"), photo());
        let record = Record { findings: &f, sheet: Some(&sheet), photo: Some(&photo) };
        let file = pdf(&record, Paper::A4).unwrap();
        assert!(file.starts_with(b"%PDF-") && pages(&file).contains("/MediaBox[0 0 595.27"), "A4");
        assert!(pages(&file).contains("DejaVuSansCondensed"), "the font is embedded");
        assert!(!pages(&file).contains("/URI") && !pages(&file).contains("/JavaScript"));
        assert!(file == pdf(&record, Paper::A4).unwrap());
        let letter = pages(&pdf(&record, Paper::Letter).unwrap());
        assert!(letter.contains("/MediaBox[0 0 612"), "letter");
    }

    #[test]
    fn a_card_is_one_page_of_true_size() {
        let file = pages(&print(&Card::new(Paper::A3)).unwrap());
        assert!(file.contains("/MediaBox[0 0 841.8"), "A3 is 297 mm, 841.89 points wide");
        assert_eq!(file.matches("/Type/Page/").count(), 1);
    }

    /// The axes' texts are really painted: with no font an SVG renderer leaves them out silently.
    #[test]
    fn a_png_shows_its_text() {
        let figure = figure::residuals(&findings()).unwrap();
        let dark = |file: &[u8]| {
            let picture = image::load_from_memory(file).unwrap().to_luma8();
            // a strip below the plot that only the x axis's name lies in
            let (w, h) = picture.dimensions();
            let strip = picture.enumerate_pixels().filter(|(_, y, _)| *y + h / 14 > h);
            (w, strip.filter(|(_, _, p)| p.0[0] < 128).count())
        };
        let (width, ink) = dark(&png(&figure).unwrap());
        assert_eq!(width, 1440);
        assert!(ink > 50, "{ink} dark pixels where `x / mm` stands");
    }
}

/// The commands' own faults: told in one line, exit status 2, nothing written.
#[test]
fn an_ending_that_says_nothing_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| {
        let mut command = assert_cmd::Command::cargo_bin("trajet").unwrap();
        command.current_dir(folder.path()).args(args).assert()
    };
    for args in [
        ["report", "run.toml", "-o", "run.doc"].as_slice(),
        &["report", "a.toml", "b.toml", "-o", "both.html"],
        &["report", "missing.toml", "-o", "run.html"],
    ] {
        let told = run(args).code(2).get_output().clone();
        assert_eq!(String::from_utf8(told.stderr).unwrap().lines().count(), 1, "{args:?}");
        assert!(told.stdout.is_empty());
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    #[cfg(feature = "pdf")]
    {
        run(&["card", "-o", "card.pdf", "--paper", "letter"]).success();
        assert!(std::fs::read(folder.path().join("card.pdf")).unwrap().starts_with(b"%PDF-"));
    }
}
