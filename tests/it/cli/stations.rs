//! `--stations`: every station of the findings, in full precision.

use crate::support::laid_out::LaidOut;

/// Equal to the last bit but one: the reader of JSON may miss the last (measured: 13.247925842133185 read as ...183).
fn same(field: &str, expected: Option<f64>) {
    let given = field.parse::<f64>().ok();
    let near = |(a, b): (f64, f64)| (a - b).abs() <= 2.0 * f64::EPSILON * b.abs();
    assert!(given.is_some() == expected.is_some() && given.zip(expected).is_none_or(near), "{field}, {expected:?}");
}

#[test]
fn the_csv_holds_the_stations_of_the_json() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml").put_jet("again.toml");
    let told = bench.run(&["measure", "run.toml", "again.toml", "--json", "--stations", "stations.csv"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let all = trajet::report::json::read(&told.out).unwrap();
    let mut csv = csv::Reader::from_path(bench.path("stations.csv")).unwrap();
    let header = csv.headers().unwrap().clone();
    let column = |name: &str| header.iter().position(|h| h == name).unwrap_or_else(|| panic!("no {name}: {header:?}"));
    let names = ["px_x (px)", "px_y (px)", "u (px)", "x (mm)", "drop (mm)", "off trajectory (mm)"];
    let (plain, used) = (names.map(column), column("used"));
    let (width, velocity, cv) = (column("width (mm)"), column("velocity (m/s)"), column("Cv"));
    let rows: Vec<csv::StringRecord> = csv.records().map(|r| r.unwrap()).collect();
    let stations = || all.iter().flat_map(|f| f.stations.iter().enumerate().map(move |(i, s)| (&f.sheet, i, s)));
    assert_eq!(rows.len(), stations().count());
    assert!(rows.len() > 120, "{} rows", rows.len());
    for (row, (sheet, i, s)) in rows.iter().zip(stations()) {
        assert_eq!((&row[0], &row[1]), (sheet.as_str(), (i + 1).to_string().as_str()));
        let expected = [s.px[0], s.px[1], s.u_px, s.x_mm, s.y_mm, s.off_mm];
        for (column, expected) in plain.iter().zip(expected) {
            same(&row[*column], Some(expected));
        }
        assert_eq!(row[used].parse::<bool>().unwrap(), s.used);
        for (column, expected) in [(width, s.width_mm), (velocity, s.velocity), (cv, s.cv)] {
            same(&row[column], expected);
        }
    }
}

#[test]
fn no_other_file_is_left_beside_the_csv() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    for _ in 0..2 {
        assert_eq!(bench.run(&["measure", "run.toml", "--quiet", "--stations", "stations.csv"]).status, 0);
    }
    assert_eq!(bench.contents().keys().collect::<Vec<_>>(), ["jet.png", "run.toml", "stations.csv"]);
}
