//! Published values beside the results.

use super::{Findings, Found, PublishedRow};
use crate::hydraulics::published::{Applied, Basis, Coefficient, Conditions, ROWS, SOURCE};
use crate::quantity::Kind;
use crate::sheet::Checked;

/// Every row for the orifice's kind: with the difference where it applies, with the reason where it does not.
pub(crate) fn rows(sheet: &Checked, findings: &Findings) -> Vec<PublishedRow> {
    let conditions = Conditions {
        edge: sheet.edge,
        diameter_m: sheet.diameter.value.si(),
        head_m: findings.head.as_ref().map(|h| h.value / 1000.0),
    };
    let near = ROWS.iter().filter(|row| row.edge == sheet.edge);
    near.map(|row| {
        let (what, measured): (&str, &Option<Found>) = match row.coefficient {
            Coefficient::Cv => ("cv", &findings.cv),
            Coefficient::Cd => ("cd", &findings.cd),
            Coefficient::Cc => ("cc", &findings.cc),
        };
        let value = row.value(&conditions);
        let difference =
            value.zip(measured.as_ref()).and_then(|(value, m)| Applied { row, value }.difference_in_u(m.value, m.u));
        let why_not = match (value, conditions.head_m) {
            (Some(_), _) => None,
            (None, None) => Some("the head is not known".to_owned()),
            (None, Some(head_m)) => Some(format!(
                "this run has d {:.2} mm and a head of {:.0} mm; it holds for: {}",
                1000.0 * conditions.diameter_m,
                1000.0 * head_m,
                row.range
            )),
        };
        PublishedRow {
            what: what.to_owned(),
            by: row.by.to_owned(),
            source: SOURCE.to_owned(),
            place: row.place.to_owned(),
            basis: match row.basis {
                Basis::Experiment => "experiment",
                Basis::Theory => "theory",
            }
            .to_owned(),
            range: row.range.to_owned(),
            value,
            u: row.u,
            difference_in_u: difference,
            why_not,
        }
    })
    .collect()
}
