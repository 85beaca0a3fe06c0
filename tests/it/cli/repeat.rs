//! The same sheet gives the same bytes: twice, on one core, and beside others.

use crate::support::laid_out::{LaidOut, sheet_for, trajet};

fn printed(bench: &LaidOut, threads: Option<&str>, args: &[&str]) -> Vec<u8> {
    let mut program = trajet();
    program.current_dir(bench.path("")).args(["measure", "--json"]).args(args);
    if let Some(threads) = threads {
        program.env("RAYON_NUM_THREADS", threads);
    }
    let output = program.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

#[test]
fn a_sheet_measured_again_gives_the_same_bytes() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    let first = printed(&bench, None, &["run.toml"]);
    assert!(first == printed(&bench, None, &["run.toml"]), "twice");
    assert!(first == printed(&bench, Some("1"), &["run.toml"]), "on one thread");
    assert!(first == printed(&bench, Some("3"), &["run.toml"]), "on three threads");
}

#[test]
fn sheets_at_the_same_time_give_the_bytes_of_one_after_the_other() {
    let bench = LaidOut::new();
    bench.put_jet("a.toml").put_jet("b.toml");
    let together = printed(&bench, None, &["a.toml", "b.toml", "--jobs", "2"]);
    assert!(together == printed(&bench, None, &["a.toml", "b.toml", "--jobs", "1"]));
    let alone = [printed(&bench, None, &["a.toml"]), printed(&bench, None, &["b.toml"])];
    let alone: Vec<_> = alone.iter().map(|bytes| serde_json::from_slice::<serde_json::Value>(bytes).unwrap()).collect();
    assert_eq!(serde_json::from_slice::<Vec<serde_json::Value>>(&together).unwrap(), alone);
}

/// Editors of other systems put a byte order mark before the text and a carriage return at each line's end.
#[test]
fn a_sheet_from_another_systems_editor_measures_the_same() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml");
    bench.put("mark.toml", format!("\u{feff}{}", sheet_for("jet.png")));
    bench.put("returns.toml", sheet_for("jet.png").replace('\n', "\r\n"));
    let all = printed(&bench, None, &["run.toml", "mark.toml", "returns.toml"]);
    let all = trajet::report::json::read(&String::from_utf8(all).unwrap()).unwrap();
    for other in &all[1..] {
        assert_eq!((&other.velocity, &other.cv, &other.budget), (&all[0].velocity, &all[0].cv, &all[0].budget));
    }
}

#[test]
fn quiet_silences_notices_but_not_faults() {
    let bench = LaidOut::new();
    bench.put_jet("run.toml").put("bad.toml", "format = 1\n");
    let told = bench.run(&["measure", "run.toml", "bad.toml", "--quiet"]);
    assert_eq!(told.status, 1);
    assert!(told.out.contains("velocity V"));
    assert!(told.err.contains("bad.toml: ") && !told.err.contains("run.toml"), "{}", told.err);
}
