//! Published coefficients by kind of orifice, each with its source, its place there and its range.
//!
//! All values come from one public text that was read for this table: W. C. Unwin, "Hydraulics",
//! Encyclopaedia Britannica, 11th ed., vol. 14 (1911), which collects the experiments of others. Where the
//! text gives no uncertainty, the row's `u` is an estimate of ours from how rows for the same orifice
//! differ.

mod rows;

pub use rows::ROWS;

use super::finite;
use crate::sheet::Edge;
use rows::{SMITH, SMITH_DIAMETERS_FT};

/// Which coefficient a row gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Coefficient {
    /// Of velocity.
    Cv,
    /// Of discharge.
    Cd,
    /// Of contraction.
    Cc,
}

/// Where a row's value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Measured.
    Experiment,
    /// Derived; no orifice need meet it.
    Theory,
}

/// One published value, or table, or fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Published {
    /// The kind of orifice.
    pub edge: Edge,
    /// Which coefficient.
    pub coefficient: Coefficient,
    /// Measured or derived.
    pub basis: Basis,
    /// Who found it.
    pub by: &'static str,
    /// Section, table or equation of [`SOURCE`].
    pub place: &'static str,
    /// For what it holds, in words.
    pub range: &'static str,
    /// Standard uncertainty to compare with; 0 for theory.
    pub u: f64,
    law: Law,
}

/// The text that every row was read in.
pub const SOURCE: &str = "W. C. Unwin, \"Hydraulics\", Encyclopaedia Britannica, 11th ed., vol. 14 (1911)";

#[derive(Clone, Copy, Debug, PartialEq)]
enum Law {
    Constant(f64),
    /// A value for diameters (in m) and heads (in ft), each from..=to.
    Near(f64, [f64; 2], [f64; 2]),
    /// Rows of (head in ft, value), straight between them, for diameters (in m) from..=to.
    ByHead(&'static [(f64, f64)], [f64; 2]),
    /// Rows of (diameter in in, value), straight between them.
    ByDiameter(&'static [(f64, f64)]),
    /// Smith's table, for diameters (in ft) from..to.
    Smith([f64; 2]),
    /// Unwin's fit to Mair's experiments.
    MairFit,
}

/// The run that published values are to be set beside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Kind of orifice.
    pub edge: Edge,
    /// Its diameter in m.
    pub diameter_m: f64,
    /// Head above its centre in m, where known.
    pub head_m: Option<f64>,
}

/// A published value under the conditions of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Applied {
    /// The row.
    pub row: &'static Published,
    /// Its value here.
    pub value: f64,
}

const FOOT_M: f64 = 0.3048;
const INCH_M: f64 = 0.0254;

impl Published {
    /// The value under `conditions`; `None` for another kind of orifice, outside the range, or where the head
    /// is needed and not known.
    pub fn value(&self, conditions: &Conditions) -> Option<f64> {
        if self.edge != conditions.edge {
            return None;
        }
        let head_ft = conditions.head_m.map(|h| h / FOOT_M);
        let diameter_m = conditions.diameter_m;
        let within = |[from, to]: [f64; 2], at: f64| (from..=to).contains(&at);
        match self.law {
            Law::Constant(value) => Some(value),
            Law::Near(value, diameters_m, heads_ft) => {
                (within(diameters_m, diameter_m) && within(heads_ft, head_ft?)).then_some(value)
            }
            Law::ByHead(rows, diameters_m) => {
                within(diameters_m, diameter_m).then(|| between(rows, head_ft?)).flatten()
            }
            Law::ByDiameter(rows) => between(rows, diameter_m / INCH_M),
            Law::Smith([from, to]) => {
                let d = diameter_m / FOOT_M;
                // the two rows of the table share this border; one of them holds there
                (d >= from && (d < to || to >= 1.0)).then(|| smith(head_ft?, d)).flatten()
            }
            Law::MairFit => {
                let (h, d) = (head_ft?, diameter_m / INCH_M);
                (within([0.74, 2.01], h) && within([0.99, 3.01], d)).then(|| mair_fit(h, d))
            }
        }
        .and_then(finite)
    }
}

/// Unwin's fit to Mair's experiments: head in ft, diameter in in.
fn mair_fit(head_ft: f64, diameter_in: f64) -> f64 {
    0.6075 + 0.0098 / head_ft.sqrt() - 0.0037 * diameter_in
}

/// Smith's table, between its rows and columns by the logarithms of head and diameter in ft; `None` beyond it and where a
/// corner is empty.
fn smith(head_ft: f64, diameter_ft: f64) -> Option<f64> {
    let heads = SMITH.map(|(h, _)| h);
    let (row, down) = place_of(&heads, head_ft)?;
    let (column, across) = place_of(&SMITH_DIAMETERS_FT, diameter_ft)?;
    let along = |i: usize| between_two(SMITH[i].1[column], SMITH[i].1[column + 1], across);
    finite(between_two(along(row), along(row + 1), down))
}

/// A share of 0 or 1 asks nothing of the other end.
fn between_two(a: f64, b: f64, share: f64) -> f64 {
    if share <= 0.0 {
        a
    } else if share >= 1.0 {
        b
    } else {
        a + share * (b - a)
    }
}

/// The step of `knots` that holds `at`, and its share of that step, by logarithms.
fn place_of(knots: &[f64], at: f64) -> Option<(usize, f64)> {
    let i = knots.windows(2).position(|pair| (pair[0]..=pair[1]).contains(&at))?;
    Some((i, (at / knots[i]).ln() / (knots[i + 1] / knots[i]).ln()))
}

/// Straight between the rows; `None` beyond them.
fn between(rows: &[(f64, f64)], at: f64) -> Option<f64> {
    let pair = rows.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&at))?;
    Some(between_two(pair[0].1, pair[1].1, (at - pair[0].0) / (pair[1].0 - pair[0].0)))
}

/// The rows that hold under `conditions`, in the order of [`ROWS`].
pub fn what_applies(conditions: &Conditions) -> Vec<Applied> {
    ROWS.iter().filter_map(|row| row.value(conditions).map(|value| Applied { row, value })).collect()
}

impl Applied {
    /// The measured value less the published one, over their combined standard uncertainty.
    ///
    /// `None` where both are given as exact.
    pub fn difference_in_u(&self, measured: f64, u_measured: f64) -> Option<f64> {
        finite((measured - self.value) / u_measured.hypot(self.row.u))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(edge: Edge, diameter_m: f64, head_m: Option<f64>) -> Conditions {
        Conditions { edge, diameter_m, head_m }
    }

    /// Unwin 1911, sec. 20, "Coefficients of Discharge from Circular Orifices": J. G. Mair, heads of 0.75 to 2 ft, diameters
    /// of 1 to 3 in by quarters.
    const MAIR: [(f64, [f64; 9]); 6] = [
        (0.75, [0.616, 0.614, 0.616, 0.610, 0.616, 0.612, 0.607, 0.607, 0.609]),
        (1.0, [0.613, 0.612, 0.612, 0.611, 0.612, 0.611, 0.604, 0.608, 0.609]),
        (1.25, [0.613, 0.614, 0.610, 0.608, 0.612, 0.608, 0.605, 0.605, 0.606]),
        (1.5, [0.610, 0.612, 0.611, 0.606, 0.610, 0.607, 0.603, 0.607, 0.605]),
        (1.75, [0.612, 0.611, 0.611, 0.605, 0.611, 0.605, 0.604, 0.607, 0.605]),
        (2.0, [0.609, 0.613, 0.609, 0.606, 0.609, 0.606, 0.604, 0.604, 0.605]),
    ];

    #[test]
    fn the_fit_to_mair_is_that_of_his_table() {
        let mut worst: f64 = 0.0;
        for (head, row) in MAIR {
            for (i, c) in row.into_iter().enumerate() {
                worst = worst.max((mair_fit(head, 1.0 + 0.25 * i as f64) - c).abs());
            }
        }
        // measured 0.0046, at 3/4 ft and 2 in; hence its u of 0.005
        assert!((0.003..0.005).contains(&worst), "{worst}");
        let mair = ROWS.iter().find(|r| r.by.contains("Mair")).unwrap();
        let value = mair.value(&at(Edge::Sharp, 2.0 * INCH_M, Some(FOOT_M))).unwrap();
        assert!((value - (0.6075 + 0.0098 - 0.0074)).abs() < 1e-12);
        assert_eq!(mair.value(&at(Edge::Sharp, 0.5 * INCH_M, Some(FOOT_M))), None);
        assert_eq!(mair.value(&at(Edge::Sharp, 2.0 * INCH_M, Some(2.5 * FOOT_M))), None, "his heads end at 2 ft");
    }

    #[test]
    fn smith_holds_where_his_table_does() {
        let value = |d_ft: f64, h_ft: f64| smith(h_ft, d_ft);
        assert_eq!(value(0.04, 1.0), Some(0.623));
        assert_eq!(value(0.02, 20.0), Some(0.601));
        assert_eq!(value(1.0, 20.0), Some(0.594));
        // half-way by logarithms: sqrt(1 x 2) ft, sqrt(.02 x .04) ft
        let middle = value(0.0008f64.sqrt(), 2f64.sqrt()).unwrap();
        assert!((middle - (0.644 + 0.623 + 0.632 + 0.614) / 4.0).abs() < 1e-12, "{middle}");
        // empty corners, and beyond
        assert_eq!((value(0.02, 0.5), value(0.05, 0.35), value(0.01, 1.0), value(0.1, 25.0)), (None, None, None, None));
        assert!(value(0.04, 0.5).is_some(), "that column begins at 0.4 ft");
        // each diameter belongs to one row
        for d_ft in [0.021, 0.049, 0.05, 0.3, 0.99] {
            let here = what_applies(&at(Edge::Sharp, d_ft * FOOT_M, Some(2.0 * FOOT_M)));
            assert_eq!(here.iter().filter(|a| a.row.by == "Hamilton Smith").count(), 1, "{d_ft} ft");
        }
    }

    #[test]
    fn small_sharp_edges_differ_as_their_u_says() {
        let here = what_applies(&at(Edge::Sharp, 0.010, Some(1.25 * FOOT_M)));
        let cd: Vec<f64> = here.iter().filter(|a| a.row.u == 0.015).map(|a| a.value).collect();
        assert_eq!(cd.len(), 3, "{here:?}");
        let mean = cd.iter().sum::<f64>() / 3.0;
        let s = (cd.iter().map(|c| (c - mean).powi(2)).sum::<f64>() / 2.0).sqrt();
        assert!((s - 0.0144).abs() < 0.0005, "{s}");
    }

    #[test]
    fn bovey_is_straight_between_rows_and_ends_with_them() {
        let bovey = ROWS.iter().find(|r| r.by.contains("Bovey")).unwrap();
        let value = |h_ft: f64| bovey.value(&at(Edge::Sharp, 0.0127, Some(h_ft * FOOT_M)));
        assert!((value(1.0).unwrap() - 0.620).abs() < 1e-12);
        assert!((value(3.0).unwrap() - 0.6105).abs() < 1e-12);
        assert!((value(19.9).unwrap() - 0.603).abs() < 1e-12);
        assert_eq!((value(0.9), value(21.0)), (None, None));
        assert_eq!(bovey.value(&at(Edge::Sharp, 0.025, Some(1.0))), None);
        assert_eq!(bovey.value(&at(Edge::Sharp, 0.0127, None)), None);
    }

    #[test]
    fn what_applies_to_a_plate_and_to_others() {
        let of = |edge| what_applies(&at(edge, 0.012, Some(0.412)));
        let sharp = of(Edge::Sharp);
        assert_eq!(sharp.len(), 6);
        // Cd 0.6176 by Bovey at 1.352 ft.
        let bovey = sharp.iter().find(|a| a.row.by.contains("Bovey")).unwrap();
        assert!((bovey.value - (0.620 - 0.007 * (0.412 / FOOT_M - 1.0))).abs() < 1e-12);
        assert!((bovey.difference_in_u(0.610, 0.020).unwrap() - (0.610 - bovey.value) / 0.025).abs() < 1e-12);
        assert_eq!(of(Edge::Rounded).len(), 4);
        assert_eq!(of(Edge::ShortTube).len(), 4);
        assert_eq!(of(Edge::ReEntrant).len(), 4);
        assert_eq!(of(Edge::Nozzle).len(), 3);
        // Freeman's 7/8 in
        assert_eq!(what_applies(&at(Edge::Nozzle, 0.875 * INCH_M, None)).last().map(|a| a.value), Some(0.982));
    }

    #[test]
    fn unwin_hangs_together() {
        // Sec. 17: 0.97 x 0.64 = 0.62; sec. 19: c_r of the bellmouth .087 .069 .052 .012 .012.
        assert!((0.97f64 * 0.64 - 0.62).abs() < 0.001);
        for ((_, cv), cr) in rows::WEISBACH_BELLMOUTH.iter().zip([0.087, 0.069, 0.052, 0.012, 0.012]) {
            assert!((1.0 / (cv * cv) - 1.0 - cr).abs() < 0.0006, "{cv}");
        }
        // Castel's three columns, sec. 50: c = c_v c_c.
        let castel =
            |c: Coefficient| ROWS.iter().find(|r| r.by == "P. Castel" && r.edge == Edge::Nozzle && r.coefficient == c);
        let value = |c: Coefficient| castel(c).unwrap().value(&at(Edge::Nozzle, 0.0155, None)).unwrap();
        assert!((value(Coefficient::Cv) * value(Coefficient::Cc) - value(Coefficient::Cd)).abs() < 0.0005);
        // Mouthpieces, eq. 2.
        assert!((1.0 / f64::hypot(1.0, 1.0 / 0.64 - 1.0) - 0.8716).abs() < 5e-5);
    }
}
