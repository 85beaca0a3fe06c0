//! Files as other programs read them: HTML parsed by the rules of the HTML standard, the workbook's cells, the table of
//! stations, the PDF's text and structure.

use super::{fixture, page};
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use std::collections::BTreeSet;
use trajet::measure::Findings;
use trajet::report::{Paper, csv, html, series, xlsx};

/// An element's name with its attributes.
type Element = (String, Vec<(String, String)>);

/// What the parser of the HTML standard has to complain about, and every element with its attributes.
fn parsed(page: &str) -> (Vec<String>, Vec<Element>) {
    use html5ever::tendril::TendrilSink;
    let options = html5ever::ParseOpts {
        tokenizer: html5ever::tokenizer::TokenizerOpts { exact_errors: true, ..Default::default() },
        tree_builder: html5ever::tree_builder::TreeBuilderOpts { exact_errors: true, ..Default::default() },
    };
    let dom = html5ever::parse_document(RcDom::default(), options).one(page);
    let mut elements = Vec::new();
    fn gather(node: &Handle, into: &mut Vec<(String, Vec<(String, String)>)>) {
        if let NodeData::Element { name, attrs, .. } = &node.data {
            let attrs = attrs.borrow();
            let attrs = attrs.iter().map(|a| (a.name.local.to_string(), a.value.to_string())).collect();
            into.push((name.local.to_string(), attrs));
        }
        node.children.borrow().iter().for_each(|child| gather(child, into));
    }
    gather(&dom.document, &mut elements);
    let errors = dom.errors.borrow().iter().map(|e| e.to_string()).collect();
    (errors, elements)
}

/// No parse error, one id once, every reference within the file, nothing that runs, every picture told in words.
fn holds(page: &str) {
    let (errors, elements) = parsed(page);
    assert_eq!(errors, Vec::<String>::new());
    let mut ids = BTreeSet::new();
    for (element, attributes) in &elements {
        assert!(!["script", "link", "iframe", "object", "base", "form"].contains(&element.as_str()), "{element}");
        for (name, value) in attributes {
            assert!(!name.starts_with("on"), "{element} {name}");
            match name.as_str() {
                "id" => assert!(ids.insert(value.clone()), "id {value} twice"),
                "src" | "href" | "srcset" | "action" => {
                    assert!(value.starts_with("data:image/jpeg;base64,"), "{value}")
                }
                _ => {}
            }
            assert!(!value.contains("url(") || value.starts_with("url(#"), "{value}");
        }
    }
    for (element, attributes) in &elements {
        let of = |key: &str| attributes.iter().find(|(name, _)| name == key).map(|(_, value)| value.as_str());
        for reference in
            [of("aria-labelledby"), of("clip-path").map(|v| v.trim_start_matches("url(#").trim_end_matches(')'))]
        {
            assert!(reference.is_none_or(|id| ids.contains(id)), "{element} refers to {reference:?}");
        }
        assert!(element != "svg" || of("aria-labelledby").is_some());
    }
    let count = |name: &str| elements.iter().filter(|(e, _)| e == name).count();
    assert_eq!((count("html"), count("title") - count("svg"), count("h1"), count("main")), (1, 1, 1, 1));
    assert_eq!(count("table"), count("caption"));
    let style = page.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    assert!(!style.contains("url(") && !style.contains("@import"));
}

#[test]
fn a_record_is_valid_html() {
    holds(&page(&fixture::findings()));
    let mut odd = fixture::findings();
    odd.title = "a < b & \"c\" </title><h1>\u{0}\u{7}".into();
    odd.stations.clear();
    odd.budget.clear();
    holds(&page(&odd));
    // and the check itself finds what is wrong
    let (errors, _) = parsed("<!DOCTYPE html><p><table><p></table></span>");
    assert!(!errors.is_empty());
}

#[test]
fn the_record_of_a_series_is_valid_html() {
    holds(&html::page(&series::document(&super::series::found()), Paper::A4));
}

/// Every cell that shows a number is one: read back by another crate.
#[test]
fn numbers_in_the_workbook_are_numbers() {
    use calamine::{Data, Reader, Xlsx};
    let runs = [fixture::findings(), Findings { sheet: "none.toml".into(), ..Findings::default() }];
    let open = |bytes: Vec<u8>| Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
    let mut book = open(xlsx::workbook(&runs).unwrap());
    assert_eq!(book.sheet_names(), ["runs", "stations", "budgets", "notices"]);
    let sheet = book.worksheet_range("runs").unwrap();
    let head: Vec<String> = sheet.rows().next().unwrap().iter().map(ToString::to_string).collect();
    let at = |name: &str| head.iter().position(|h| h.starts_with(name)).unwrap();
    let v = runs[0].velocity.as_ref().unwrap();
    assert_eq!(head[at("velocity / (m/s)")], "velocity / (m/s)");
    let first = sheet.rows().nth(1).unwrap();
    for (name, value) in [("velocity / ", v.value), ("velocity u", v.u), ("velocity lo", v.lo), ("velocity hi", v.hi)] {
        assert_eq!(first[at(name)], Data::Float(value), "{name}");
    }
    for row in sheet.rows().skip(1) {
        assert!(row[2..].iter().all(|c| matches!(c, Data::Float(_) | Data::Empty)), "{row:?}");
    }
    let stations = book.worksheet_range("stations").unwrap();
    assert_eq!(stations.rows().count(), 1 + runs[0].stations.len());
    for (row, s) in stations.rows().skip(1).zip(&runs[0].stations) {
        assert_eq!([&row[1], &row[2], &row[4]], [&Data::Float(s.px[0]), &Data::Float(s.px[1]), &Data::Float(s.x_mm)]);
        assert_eq!(row[11], Data::Bool(s.used));
        assert!(row[1..11].iter().all(|c| matches!(c, Data::Float(_) | Data::Empty)), "{row:?}");
    }
    let budgets = book.worksheet_range("budgets").unwrap();
    for row in budgets.rows().skip(1) {
        assert!(row[5..].iter().all(|c| matches!(c, Data::Float(_))), "{row:?}");
    }
    let found = super::series::found();
    let mut book = open(xlsx::of_series(&found, &runs).unwrap());
    let series = book.worksheet_range("series").unwrap();
    assert!(series.rows().skip(1).all(|row| row[2..6].iter().all(|c| matches!(c, Data::Float(_)))));
    assert!(series.rows().count() > 4);
}

/// The table of stations read back gives the stations, to the last bit.
#[test]
fn the_table_of_stations_reads_back_to_the_same_values() {
    let mut f = fixture::findings();
    f.sheet = "comma, \"quote\" and\nline.toml".into();
    f.stations[0].x_mm = 0.1 + 0.2;
    let bytes = csv::stations(std::slice::from_ref(&f)).unwrap();
    let mut reader = ::csv::Reader::from_reader(bytes.as_slice());
    let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), f.stations.len());
    for (i, (row, s)) in rows.iter().zip(&f.stations).enumerate() {
        let number = |k: usize| (!row[k].is_empty()).then(|| row[k].parse::<f64>().unwrap());
        assert_eq!((&row[0], &row[1]), (f.sheet.as_str(), (i + 1).to_string().as_str()));
        let all: Vec<_> = (2..9).map(number).collect();
        let expected =
            [Some(s.px[0]), Some(s.px[1]), Some(s.u_px), Some(s.x_mm), Some(s.y_mm), s.width_mm, Some(s.off_mm)];
        assert_eq!(all, expected);
        assert_eq!((row[9].parse::<bool>().unwrap(), number(10), number(11)), (s.used, s.velocity, s.cv));
    }
}

#[cfg(feature = "pdf")]
mod pdf {
    use super::*;
    use lopdf::{Document, Object, ObjectId};
    use trajet::report::{Record, pdf::pdf};

    fn file() -> Document {
        let (f, sheet, photo) = (fixture::findings(), fixture::sheet("Plate C, run 2"), fixture::photo());
        let record = Record { findings: &f, sheet: Some(&sheet), photo: Some(&photo) };
        Document::load_mem(&pdf(&record, Paper::A4).unwrap()).unwrap()
    }

    #[test]
    fn its_text_comes_in_reading_order() {
        let file = file();
        let pages: Vec<u32> = file.get_pages().keys().copied().collect();
        let text = file.extract_text(&pages).unwrap().replace('\n', " ");
        let mut from = 0;
        for said in [
            "Record of a jet measurement",
            "Plate C, run 2",
            "The run",
            "Apparatus",
            "Results",
            "velocity at the vena contracta",
            "Notices",
            "Budgets of uncertainty",
            "Inputs",
            "Formulae",
            "Cautions",
            "Signatures",
            "Stations",
        ] {
            let at = text[from..].find(said).unwrap_or_else(|| panic!("no {said} from there on: {}", &text[from..]));
            from += at;
        }
    }

    /// Kinds of the structure's elements, with the words for pictures.
    fn kinds(file: &Document, of: &Object, into: &mut Vec<(String, Option<String>)>) {
        let of = match of {
            Object::Reference(id) => file.get_object(*id).unwrap(),
            other => other,
        };
        match of {
            Object::Array(all) => all.iter().for_each(|one| kinds(file, one, into)),
            Object::Dictionary(one) => {
                if let Ok(kind) = one.get(b"S").and_then(Object::as_name) {
                    let alt = one.get(b"Alt").ok().map(|alt| lopdf::decode_text_string(alt).unwrap());
                    into.push((String::from_utf8_lossy(kind).into_owned(), alt));
                }
                if let Ok(inner) = one.get(b"K") {
                    kinds(file, inner, into);
                }
            }
            _ => {}
        }
    }

    #[test]
    fn it_says_what_is_a_heading_a_table_and_a_figure() {
        let file = file();
        let catalog = file.catalog().unwrap();
        assert_eq!(catalog.get(b"Lang").unwrap().as_str().unwrap(), b"en");
        let tree: ObjectId = catalog.get(b"StructTreeRoot").unwrap().as_reference().unwrap();
        let mut all = Vec::new();
        kinds(&file, &Object::Reference(tree), &mut all);
        let count = |kind: &str| all.iter().filter(|(k, _)| k == kind).count();
        let figures = 8;
        assert_eq!((count("H1"), count("Figure")), (1, figures));
        assert!(count("H2") >= 8 && count("Table") >= 6 && count("TH") > 20 && count("LI") == 7, "{all:?}");
        // a row is as long as the table is wide, empty cells and all
        assert!(all.iter().filter(|(k, _)| k == "Figure").all(|(_, alt)| alt.as_ref().is_some_and(|a| a.len() > 20)));
        assert_eq!(count("Caption"), figures + count("Table"));
    }
}
