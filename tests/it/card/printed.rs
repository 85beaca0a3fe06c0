//! The card as it is printed.

#![cfg(feature = "pdf")]

use lopdf::Document;
use trajet::card::{Card, Paper};
use trajet::report::card::pdf;

/// PDF points of a millimetre: 72 to the inch of 25.4 mm.
const POINT_MM: f64 = 25.4 / 72.0;

/// What a page draws, mm from its top left corner: rectangles as (left, top, width, height), straight strokes as their ends.
struct Drawn {
    areas: Vec<[f64; 4]>,
    strokes: Vec<[f64; 4]>,
}

fn drawn(file: &[u8]) -> (Drawn, [f64; 2]) {
    let document = Document::load_mem(file).unwrap();
    let page = *document.get_pages().values().next().unwrap();
    let sizes = document.get_dictionary(page).unwrap().get(b"MediaBox").unwrap().as_array().unwrap();
    let size: Vec<f64> = sizes.iter().map(|v| f64::from(v.as_float().unwrap())).collect();
    let content = document.get_and_decode_page_content(page).unwrap();
    let mut out = Drawn { areas: Vec::new(), strokes: Vec::new() };
    let (mut matrix, mut stack) = ([1.0, 0.0, 0.0, 1.0, 0.0, 0.0], Vec::new());
    let mut path: Vec<[f64; 2]> = Vec::new();
    for op in content.operations {
        let n: Vec<f64> = op.operands.iter().filter_map(|o| o.as_float().ok()).map(f64::from).collect();
        let mm = |m: &[f64; 6], x: f64, y: f64| {
            let p = [m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]];
            [p[0] * POINT_MM, (size[3] - p[1]) * POINT_MM]
        };
        match op.operator.as_str() {
            "q" => stack.push(matrix),
            "Q" => matrix = stack.pop().unwrap(),
            "cm" => {
                let m = matrix;
                matrix = [
                    n[0] * m[0] + n[1] * m[2],
                    n[0] * m[1] + n[1] * m[3],
                    n[2] * m[0] + n[3] * m[2],
                    n[2] * m[1] + n[3] * m[3],
                    n[4] * m[0] + n[5] * m[2] + m[4],
                    n[4] * m[1] + n[5] * m[3] + m[5],
                ];
            }
            "m" => path = vec![mm(&matrix, n[0], n[1])],
            "l" => path.push(mm(&matrix, n[0], n[1])),
            "re" => {
                path = vec![mm(&matrix, n[0], n[1]), mm(&matrix, n[0] + n[2], n[1] + n[3])];
            }
            "f" | "f*" => {
                let fold = |k: usize, f: fn(f64, f64) -> f64, from: f64| path.iter().map(|p| p[k]).fold(from, f);
                let (l, t) = (fold(0, f64::min, f64::INFINITY), fold(1, f64::min, f64::INFINITY));
                let (r, b) = (fold(0, f64::max, f64::NEG_INFINITY), fold(1, f64::max, f64::NEG_INFINITY));
                out.areas.push([l, t, r - l, b - t]);
            }
            "S" if path.len() == 2 => out.strokes.push([path[0][0], path[0][1], path[1][0], path[1][1]]),
            _ => {}
        }
    }
    (out, [size[2] * POINT_MM, size[3] * POINT_MM])
}

/// A file holds hundredths of a point or better.
const EXACT_MM: f64 = 0.005;

#[test]
fn marks_ruler_and_check_lines_are_printed_at_true_size() {
    for paper in Paper::ALL {
        let card = Card::new(paper);
        let (drawn, size) = drawn(&pdf(&card).unwrap());
        let wanted = paper.size_mm();
        assert!((size[0] - wanted[0]).abs() < 0.02 && (size[1] - wanted[1]).abs() < 0.02, "{paper:?}: {size:?}");
        for mark in &card.marks {
            let [left, top] = mark.centre_mm.map(|c| c - 0.5 * mark.side_mm);
            let is_it = |a: &&[f64; 4]| {
                [a[0] - left, a[1] - top, a[2] - mark.side_mm, a[3] - mark.side_mm].iter().all(|d| d.abs() < EXACT_MM)
            };
            assert_eq!(drawn.areas.iter().filter(is_it).count(), 1, "{paper:?} mark {}", mark.number);
        }
        let white: usize = card.marks.iter().map(|m| m.white_cells().len()).sum();
        assert_eq!(drawn.areas.len(), card.marks.len() + white, "nothing else is filled");
        let stroke = |from: [f64; 2], to: [f64; 2]| {
            let is_it = |s: &&[f64; 4]| {
                [s[0] - from[0], s[1] - from[1], s[2] - to[0], s[3] - to[1]].iter().all(|d| d.abs() < EXACT_MM)
            };
            assert_eq!(drawn.strokes.iter().filter(is_it).count(), 1, "{paper:?}: {from:?} to {to:?}");
        };
        let ([x, y], [u, v]) = (card.level_mm, card.upright_mm);
        stroke([x, y], [x + 100.0, y]);
        stroke([u, v], [u, v + 100.0]);
        for end in [0.0, 100.0] {
            stroke([x + end, y - 3.0], [x + end, y + 3.0]);
            stroke([u - 3.0, v + end], [u + 3.0, v + end]);
        }
        let [left, edge] = card.ruler_mm;
        for mm in 0..=card.ruler_length_mm as usize {
            let long = if mm % 10 == 0 {
                8.0
            } else if mm % 5 == 0 {
                6.0
            } else {
                4.0
            };
            stroke([left + mm as f64, edge], [left + mm as f64, edge - long]);
        }
    }
}
