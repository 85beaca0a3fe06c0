//! Several runs of one orifice together: the series' file, what is pooled, the command.

mod command;
mod laws;
mod pooled;
mod text;

use std::collections::BTreeMap;
use trajet::measure::{Findings, Found};
use trajet::sheet::Checked;
use trajet::sheet::series;

/// Sheets of `heads.len()` runs with one orifice; each run has clicks of its own.
pub fn sheets(heads_mm: &[f64]) -> Vec<Checked> {
    let mut text = String::from(
        "format = 1\n[shared]\norifice = { diameter = \"12 mm ± 0.05 mm\", edge = \"sharp\" }\n\
         site = { gravity = \"9.81 m/s^2 ± 0.0005 m/s^2\" }\n",
    );
    for (i, head) in heads_mm.iter().enumerate() {
        text.push_str(&format!(
            "[[run]]\nphoto = {{ file = \"c-{i}.jpg\" }}\norifice = {{ centre = [{}.0, 300.0] }}\n\
             scale = {{ marks = [[100.0, {i}.0], [2100.0, {i}.0]], length = \"500 mm ± 0.3 mm\" }}\n\
             head = {{ reading = \"{head} mm ± 0.5 mm\" }}\n",
            300 + 20 * i
        ));
    }
    let series = series::read(&text, "c.toml").series.unwrap();
    (0..heads_mm.len())
        .map(|i| {
            let run = series.open_run(i, None);
            run.opened.checked.unwrap_or_else(|| panic!("{:?}", run.faults))
        })
        .collect()
}

/// A result with its contributions by input.
type Stated<'a> = (&'a str, f64, &'a [(&'a str, f64)]);

/// The unit that findings tell a result in.
fn unit(key: &str) -> &'static str {
    match key {
        "head" => "mm",
        "discharge" => "L/s",
        "velocity" => "m/s",
        _ => "",
    }
}

/// Findings that state these results.
pub fn findings(results: &[Stated]) -> Findings {
    let mut f = Findings { format: 1, sheet: "c.toml".into(), ..Findings::default() };
    for (key, value, parts) in results {
        let u = parts.iter().map(|(_, c)| c * c).sum::<f64>().sqrt();
        let found =
            Some(Found { value: *value, u, lo: value - 2.0 * u, hi: value + 2.0 * u, unit: unit(key).to_owned() });
        match *key {
            "cv" => f.cv = found,
            "cd" => f.cd = found,
            "cc" => f.cc = found,
            "head" => f.head = found,
            "discharge" => f.discharge = found,
            "velocity" => f.velocity = found,
            "reynolds" => f.reynolds = found,
            other => panic!("{other}"),
        }
        let parts: BTreeMap<String, Vec<f64>> = parts.iter().map(|(name, c)| ((*name).to_owned(), vec![*c])).collect();
        f.contributions.insert((*key).to_owned(), parts);
    }
    f
}
