//! Published coefficients by kind of orifice, each with its source, its place there and its range.
//!
//! All values come from one public text that was read for this table: W. C. Unwin, "Hydraulics",
//! Encyclopaedia Britannica, 11th ed., vol. 14 (1911), which collects the experiments of others. Where the
//! text gives no uncertainty, the row's `u` is an estimate of ours from how rows for the same orifice
//! differ (Bovey's table and Unwin's fit differ by up to 0.005).

use super::finite;
use crate::sheet::Edge;

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
    /// Rows of (head in ft, value), straight between them, for diameters (in m) from..=to.
    ByHead(&'static [(f64, f64)], [f64; 2]),
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

/// Source: Unwin 1911, sec. 20, table "Coefficient of Discharge for Sharp-edged Orifices", circular: H. T. Bovey,
/// Montreal, area 0.196 sq. in. (0.5 in); head in ft.
const BOVEY: [(f64, f64); 11] = [
    (1.0, 0.620),
    (2.0, 0.613),
    (4.0, 0.608),
    (6.0, 0.607),
    (8.0, 0.606),
    (10.0, 0.605),
    (12.0, 0.604),
    (14.0, 0.604),
    (16.0, 0.603),
    (18.0, 0.603),
    (20.0, 0.603),
];

/// Source: Unwin 1911, sec. 19: L. J. Weisbach, bell-mouthed orifice; head in ft.
const WEISBACH_BELLMOUTH: [(f64, f64); 5] =
    [(0.66, 0.959), (1.64, 0.967), (11.48, 0.975), (55.77, 0.994), (337.93, 0.994)];

/// Any diameter.
const ANY_M: [f64; 2] = [0.0, f64::INFINITY];

use Basis::{Experiment, Theory};
use Coefficient::{Cc, Cd, Cv};

/// Every row. Source of each: [`SOURCE`], at its `place`.
pub const ROWS: [Published; 15] = [
    row(
        Edge::Sharp,
        Cv,
        Experiment,
        "W. C. Unwin",
        "sec. 17",
        "well-formed simple orifices, most heads",
        0.01,
        Law::Constant(0.97),
    ),
    row(
        Edge::Sharp,
        Cc,
        Experiment,
        "W. C. Unwin",
        "sec. 17",
        "sharp-edged, in a plane surface; an average",
        0.01,
        Law::Constant(0.64),
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "W. C. Unwin",
        "sec. 17",
        "sharp-edged, in a plane surface",
        0.01,
        Law::Constant(0.62),
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "H. T. Bovey",
        "sec. 20, table for sharp-edged orifices, circular",
        "d 0.5 in (taken for 10 to 16 mm), head 1 to 20 ft; straight between rows",
        0.005,
        Law::ByHead(&BOVEY, [0.010, 0.016]),
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "J. G. Mair, fitted by Unwin",
        "sec. 20, c = 0.6075 + 0.0098/sqrt(h ft) - 0.0037 d in",
        "d 1 to 3 in, water of 51 to 55 degF (taken for heads of 1 to 20 ft)",
        0.005,
        Law::MairFit,
    ),
    row(
        Edge::Rounded,
        Cv,
        Experiment,
        "L. J. Weisbach",
        "sec. 19, table",
        "bellmouth of the form of the contracted vein, head 0.66 to 338 ft; straight between rows",
        0.005,
        Law::ByHead(&WEISBACH_BELLMOUTH, ANY_M),
    ),
    row(
        Edge::Rounded,
        Cd,
        Experiment,
        "L. J. Weisbach",
        "sec. 19, table (Cd = Cv)",
        "bellmouth of the form of the contracted vein, head 0.66 to 338 ft; straight between rows",
        0.005,
        Law::ByHead(&WEISBACH_BELLMOUTH, ANY_M),
    ),
    row(Edge::Rounded, Cc, Theory, "W. C. Unwin", "sec. 19", "area taken at the smaller end", 0.0, Law::Constant(1.0)),
    row(
        Edge::ShortTube,
        Cv,
        Experiment,
        "W. C. Unwin",
        "cylindrical mouthpieces, at eq. 2",
        "runs full",
        0.01,
        Law::Constant(0.82),
    ),
    row(
        Edge::ShortTube,
        Cv,
        Theory,
        "W. C. Unwin",
        "cylindrical mouthpieces, eq. 2: 1/sqrt(1 + (1/0.64 - 1)^2), printed 0.87",
        "runs full, without friction",
        0.0,
        Law::Constant(0.87),
    ),
    row(
        Edge::ShortTube,
        Cd,
        Experiment,
        "W. C. Unwin",
        "cylindrical mouthpieces, at eq. 2 (Cc = 1)",
        "runs full",
        0.01,
        Law::Constant(0.82),
    ),
    row(
        Edge::ReEntrant,
        Cc,
        Theory,
        "J. C. Borda",
        "sec. 37",
        "jet clear of the tube's walls; 1/2 exactly",
        0.0,
        Law::Constant(0.5),
    ),
    row(
        Edge::ReEntrant,
        Cd,
        Experiment,
        "J. C. Borda",
        "sec. 37",
        "jet clear of the tube's walls",
        0.01,
        Law::Constant(0.5149),
    ),
    row(
        Edge::ReEntrant,
        Cd,
        Experiment,
        "G. Bidone",
        "sec. 37",
        "jet clear of the tube's walls",
        0.01,
        Law::Constant(0.5547),
    ),
    row(
        Edge::ReEntrant,
        Cd,
        Experiment,
        "L. J. Weisbach",
        "sec. 37",
        "jet clear of the tube's walls",
        0.01,
        Law::Constant(0.5324),
    ),
];

#[expect(clippy::too_many_arguments, reason = "one call is one row of the table, read across")]
const fn row(
    edge: Edge,
    coefficient: Coefficient,
    basis: Basis,
    by: &'static str,
    place: &'static str,
    range: &'static str,
    u: f64,
    law: Law,
) -> Published {
    Published { edge, coefficient, basis, by, place, range, u, law }
}

impl Published {
    /// The value under `conditions`; `None` for another kind of orifice, outside the range, or where the head
    /// is needed and not known.
    pub fn value(&self, conditions: &Conditions) -> Option<f64> {
        if self.edge != conditions.edge {
            return None;
        }
        let head_ft = conditions.head_m.map(|h| h / FOOT_M);
        match self.law {
            Law::Constant(value) => Some(value),
            Law::ByHead(rows, [from, to]) => {
                ((from..=to).contains(&conditions.diameter_m)).then(|| between(rows, head_ft?)).flatten()
            }
            Law::MairFit => {
                let (h, d) = (head_ft?, conditions.diameter_m / INCH_M);
                ((1.0..=20.0).contains(&h) && (0.99..=3.01).contains(&d))
                    .then(|| 0.6075 + 0.0098 / h.sqrt() - 0.0037 * d)
            }
        }
        .and_then(finite)
    }
}

/// Straight between the rows; `None` beyond them.
fn between(rows: &[(f64, f64)], at: f64) -> Option<f64> {
    let pair = rows.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&at))?;
    let share = (at - pair[0].0) / (pair[1].0 - pair[0].0);
    Some(pair[0].1 + share * (pair[1].1 - pair[0].1))
}

/// The rows that hold under `conditions`, in the order of [`ROWS`]; empty for a converging nozzle, for which no value
/// has been read.
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

    #[test]
    fn bovey_and_the_fit_to_mair_differ_as_known() {
        // The fit put against Bovey's 0.5 in, outside the fit's own diameters: -0.0045 at 1 ft, +0.0051
        // at 16 ft of (table less fit, recomputed); hence u = 0.005 of each.
        let fit = |h: f64| 0.6075 + 0.0098 / h.sqrt() - 0.0037 * 0.5;
        assert!((fit(1.0) - 0.620 + 0.0045).abs() < 1e-3);
        assert!((fit(16.0) - 0.603 - 0.0051).abs() < 1e-4);
        let mair = ROWS.iter().find(|r| r.by.contains("Mair")).unwrap();
        let value = mair.value(&at(Edge::Sharp, 2.0 * INCH_M, Some(4.0 * FOOT_M))).unwrap();
        assert!((value - (0.6075 + 0.0049 - 0.0074)).abs() < 1e-12);
        assert_eq!(mair.value(&at(Edge::Sharp, 0.5 * INCH_M, Some(1.0))), None);
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
        assert_eq!(sharp.len(), 4);
        // Cd 0.6176 by Bovey at 1.352 ft.
        let bovey = sharp.iter().find(|a| a.row.by.contains("Bovey")).unwrap();
        assert!((bovey.value - (0.620 - 0.007 * (0.412 / FOOT_M - 1.0))).abs() < 1e-12);
        assert!((bovey.difference_in_u(0.610, 0.012).unwrap() - (0.610 - bovey.value) / 0.013).abs() < 1e-12);
        assert_eq!(of(Edge::Rounded).len(), 3);
        assert_eq!(of(Edge::ShortTube).len(), 3);
        assert_eq!(of(Edge::ReEntrant).len(), 4);
        assert!(of(Edge::Nozzle).is_empty());
    }

    #[test]
    fn unwin_hangs_together() {
        // Sec. 17: 0.97 x 0.64 = 0.62; sec. 19: c_r of the bellmouth .087 .069 .052 .012 .012.
        assert!((0.97f64 * 0.64 - 0.62).abs() < 0.001);
        for ((_, cv), cr) in WEISBACH_BELLMOUTH.iter().zip([0.087, 0.069, 0.052, 0.012, 0.012]) {
            assert!((1.0 / (cv * cv) - 1.0 - cr).abs() < 0.0006, "{cv}");
        }
        // Mouthpieces, eq. 2.
        assert!((1.0 / f64::hypot(1.0, 1.0 / 0.64 - 1.0) - 0.8716).abs() < 5e-5);
    }
}
