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
                "a diameter of {:.2} mm and a head of {:.0} mm are not what it holds for",
                1000.0 * conditions.diameter_m,
                1000.0 * head_m,
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

#[cfg(test)]
mod tests {
    use crate::measure::Draws;
    use crate::measure::simulated::{Marks, simulated};

    #[test]
    fn every_row_of_the_kind_has_a_difference_or_a_reason() {
        let one = simulated(3, 4, Marks::Six, 60).unwrap();
        let f = one.findings(Draws::None).unwrap();
        assert_eq!(f.published.len(), 8);
        for row in &f.published {
            assert_eq!(row.value.is_some(), row.why_not.is_none(), "{row:?}");
            assert_eq!(row.value.is_some(), row.difference_in_u.is_some(), "{row:?}");
        }
        let mair = f.published.iter().find(|r| r.by.contains("Mair")).unwrap();
        assert!(mair.why_not.as_ref().unwrap().contains("diameter of 12.0"), "{mair:?}");
        let cv = f.published.iter().find(|r| r.what == "cv").unwrap();
        let found = f.cv.unwrap();
        let by_hand = (found.value - 0.97) / found.u.hypot(0.01);
        assert!((cv.difference_in_u.unwrap() - by_hand).abs() < 1e-12);
    }
}
