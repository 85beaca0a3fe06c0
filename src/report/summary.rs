//! Many sheets in one table: a row for each, to see at a glance how a batch went.

use super::series_table::{cell, columns};
use super::table::Paint;
use crate::measure::{Findings, Found};

/// One sheet of a batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The sheet, as it was asked for.
    pub sheet: String,
    /// What was found; `None` where it was not measured.
    pub found: Option<Shown>,
}

/// What a row shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    velocity: Option<Found>,
    cv: Option<Found>,
    cd: Option<Found>,
    cc: Option<Found>,
    notices: usize,
}

impl From<&Findings> for Shown {
    fn from(f: &Findings) -> Self {
        let [velocity, cv, cd, cc] = [&f.velocity, &f.cv, &f.cd, &f.cc].map(Clone::clone);
        Self { velocity, cv, cd, cc, notices: f.notices.len() }
    }
}

/// The table, in the order of the rows.
pub fn text(rows: &[Row], paint: Paint) -> String {
    let mut cells = vec![["sheet", "V, m/s", "Cv", "Cd", "Cc", "notices"].map(str::to_owned)];
    for row in rows {
        let sheet = super::printable(&row.sheet).replace('\n', " ");
        cells.push(match &row.found {
            Some(f) => {
                let [v, cv, cd, cc] = [&f.velocity, &f.cv, &f.cd, &f.cc].map(|found| cell(found.as_ref()));
                [sheet, v, cv, cd, cc, f.notices.to_string()]
            }
            None => {
                let [v, cv, cd, cc, notices] = ["not measured", "", "", "", ""].map(str::to_owned);
                [sheet, v, cv, cd, cc, notices]
            }
        });
    }
    let mut out = String::new();
    columns(&mut out, &cells, paint);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_for_each_sheet() {
        let found = |value: f64, u: f64| Some(Found { value, u, lo: 0.0, hi: 0.0, unit: String::new() });
        let f = Findings { velocity: found(2.8865, 0.0051), cv: found(0.9704, 0.0018), ..Findings::default() };
        let rows = [
            Row { sheet: "a/run1.toml".into(), found: Some(Shown::from(&f)) },
            Row { sheet: "b.toml".into(), found: None },
        ];
        let expected = "  sheet        V, m/s           Cv               Cd  Cc  notices\n  \
                          a/run1.toml  2.8865 ± 0.0051  0.9704 ± 0.0018  -   -   0\n  \
                          b.toml       not measured\n";
        assert_eq!(text(&rows, Paint(false)), expected);
    }
}
