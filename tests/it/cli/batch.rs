//! Many sheets: folders, lists, a folder of findings, and what a run that was killed leaves to the next.

use crate::support::laid_out::{LaidOut, sheet_for, trajet};
use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, SystemTime};

/// Sheets of one drawn photo in folders of their own: `runs/a/0.toml` and so on.
fn bench(names: &[&str]) -> LaidOut {
    let bench = LaidOut::new();
    bench.put_jet("jet.toml");
    for name in names {
        let path = bench.path("runs").join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::copy(bench.path("jet.png"), path.with_file_name("jet.png")).unwrap();
        std::fs::write(&path, format!("{}# {name}\n", sheet_for("jet.png"))).unwrap();
    }
    bench
}

/// Every file below the folder with its bytes and when it was written.
fn below(folder: &Path) -> BTreeMap<String, (Vec<u8>, SystemTime)> {
    let files = walkdir::WalkDir::new(folder).into_iter().map(Result::unwrap).filter(|e| e.file_type().is_file());
    files
        .map(|e| {
            let name = e.path().strip_prefix(folder).unwrap().display().to_string();
            (name, (std::fs::read(e.path()).unwrap(), e.metadata().unwrap().modified().unwrap()))
        })
        .collect()
}

#[test]
fn a_folder_is_measured_into_another_once() {
    let bench = bench(&["a/1.toml", "a/2.toml", "b/1.toml"]);
    bench.put("runs/a/bad.toml", "format = 1\n[photo]\nfile = \"jet.png\"\n");
    bench.put("runs/a/series.toml", "format = 1\nsheets = [\"1.toml\", \"2.toml\"]\n");
    let first = bench.run(&["measure", "runs", "--into", "found", "--jobs", "2", "--stations", "all.csv"]);
    assert_eq!(first.status, 1, "one is refused: {}", first.err);
    let rows: Vec<&str> = first.out.lines().map(|l| l.split_whitespace().next().unwrap()).collect();
    assert_eq!(rows, ["sheet", "runs/a/1.toml", "runs/a/2.toml", "runs/a/bad.toml", "runs/b/1.toml"]);
    assert!(first.out.contains("runs/a/bad.toml  not measured"), "{}", first.out);
    // every failure stands at the end, and before it nothing: notices are in the findings
    assert!(first.err.starts_with("bad.toml: "), "{}", first.err);
    assert!(first.err.ends_with("4 sheets: 3 measured, 1 not measured\n"), "{}", first.err);
    let found = below(&bench.path("found"));
    assert_eq!(found.keys().collect::<Vec<_>>(), ["runs/a/1.json", "runs/a/2.json", "runs/b/1.json"]);
    let alone = bench.run(&["measure", "--json", "runs/b/1.toml"]).out;
    assert!(found["runs/b/1.json"].0 == alone.as_bytes(), "the same as measured alone");
    // again: nothing is done twice, the same is told
    let again = bench.run(&["measure", "runs", "--into", "found", "--jobs", "1", "--stations", "again.csv"]);
    assert_eq!((again.status, &again.out), (1, &first.out));
    assert!(again.err.ends_with("4 sheets: 3 already there, 1 not measured\n"), "{}", again.err);
    assert!(below(&bench.path("found")) == found, "files were written again");
    assert!(bench.contents()["all.csv"] == bench.contents()["again.csv"]);
    // a sheet that was edited, a photo that changed, findings of another version or cut short: these anew, others not
    bench.put("runs/a/1.toml", sheet_for("jet.png").replace("238.9 mm", "239.4 mm"));
    let other =
        String::from_utf8(found["runs/b/1.json"].0.clone()).unwrap().replace("\"trajet\": \"", "\"trajet\": \"0.0.");
    bench.put("found/runs/b/1.json", other);
    let changed = bench.run(&["measure", "runs", "--into", "found"]);
    assert!(changed.err.ends_with("4 sheets: 2 measured, 1 already there, 1 not measured\n"), "{}", changed.err);
    bench.put("found/runs/a/2.json", &found["runs/a/2.json"].0[..100]);
    let mut photo = std::fs::read(bench.path("runs/b/jet.png")).unwrap();
    photo.extend(b"more bytes after the picture's end");
    bench.put("runs/b/jet.png", photo);
    let changed = bench.run(&["measure", "runs", "--into", "found"]);
    assert!(changed.err.ends_with("4 sheets: 2 measured, 1 already there, 1 not measured\n"), "{}", changed.err);
    // other draws are other findings
    let drawn = bench.run(&["measure", "runs/b/1.toml", "--into", "found", "--draws", "10000"]);
    assert_eq!(drawn.status, 0, "{}", drawn.err);
    assert!(bench.run(&["measure", "runs", "--into", "found"]).err.contains("1 measured, 2 already there"));
}

#[test]
fn a_list_is_measured_like_its_lines_typed() {
    let bench = bench(&["a.toml", "b.toml"]);
    bench.put("list.txt", "# two runs\nruns/b.toml\n\nruns/a.toml\r\nruns/b.toml\n");
    let listed = bench.run(&["measure", "--json", "--list", "list.txt"]);
    let typed = bench.run(&["measure", "--json", "runs/b.toml", "runs/a.toml"]);
    assert!(listed.status == 0 && listed.out == typed.out, "{}", listed.err);
    let piped = trajet()
        .current_dir(bench.path(""))
        .args(["measure", "--json", "--list", "-"])
        .write_stdin("runs/b.toml\nruns/a.toml\n")
        .output()
        .unwrap();
    assert!(piped.stdout == typed.out.as_bytes());
    // a folder is many, whatever it holds
    let one = bench.run(&["measure", "--json", "--list", "list.txt", "runs/missing.toml"]);
    assert_eq!(one.status, 2);
    let all = |told: &str| trajet::report::json::read(told).unwrap();
    let (both, one_more) = (all(&listed.out), all(&one.out));
    let (missing, others) = one_more.split_first().unwrap();
    assert_eq!(others, both, "the others are measured all the same");
    assert!(missing.sheet == "missing.toml" && missing.refused[0].contains("cannot read the sheet"), "{missing:?}");
    assert!(one.err.contains("cannot read the sheet"), "{}", one.err);
}

#[test]
fn what_cannot_be_a_batch_is_told_in_one_line() {
    let bench = bench(&["a.toml"]);
    std::fs::create_dir(bench.path("empty")).unwrap();
    bench.put("none.txt", "# nothing\n");
    bench.put("in.the.way", "");
    for args in [
        ["measure", "empty"].as_slice(),
        &["measure", "--list", "none.txt"],
        &["measure", "--list", "missing.txt"],
        &["measure", "runs", "--into", "in.the.way"],
        &["measure", "runs", "--stations", "runs/a.toml"],
    ] {
        let told = bench.run(args);
        assert_eq!((told.status, told.out.as_str(), told.err.lines().count()), (2, "", 1), "{args:?}: {}", told.err);
    }
}

/// Kills the program at a moment and runs it again until it ends by itself: every sheet's findings are there once, whole,
/// and the same as of a run that nobody disturbed.
fn killed_and_run_again(sheets: usize, every: Duration, least_kills: usize) {
    let names: Vec<String> = (0..sheets).map(|i| format!("{}/{i:03}.toml", i % 7)).collect();
    let bench = bench(&names.iter().map(String::as_str).collect::<Vec<_>>());
    let args = ["measure", "runs", "--into", "found", "--jobs", "2", "--quiet"];
    let (mut kills, mut wait) = (0, Duration::ZERO);
    loop {
        wait += every;
        let program = assert_cmd::cargo::cargo_bin("trajet");
        let mut child = std::process::Command::new(program).current_dir(bench.path("")).args(args).spawn().unwrap();
        let begun = std::time::Instant::now();
        let ended = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break Some(status);
            }
            if begun.elapsed() > wait {
                break None;
            }
            std::thread::sleep(Duration::from_millis(1));
        };
        if let Some(status) = ended {
            assert!(status.success());
            break;
        }
        // SIGKILL on Unix: the program cannot tidy up
        child.kill().unwrap();
        child.wait().unwrap();
        kills += 1;
        for (name, (bytes, _)) in below(&bench.path("found")) {
            let whole = serde_json::from_slice::<serde_json::Value>(&bytes).is_ok();
            assert!(whole || name.contains(".trajet-"), "{name} is no whole file");
        }
    }
    assert!(kills >= least_kills, "only {kills} kills");
    let undisturbed = bench.run(&["measure", "runs", "--into", "undisturbed", "--quiet"]);
    assert_eq!(undisturbed.status, 0, "{}", undisturbed.err);
    let bytes =
        |folder: &str| below(&bench.path(folder)).into_iter().map(|(n, (b, _))| (n, b)).collect::<BTreeMap<_, _>>();
    let found = bytes("found");
    assert!(found == bytes("undisturbed"), "{:?}", found.keys());
    assert_eq!(found.len(), sheets);
    eprintln!("{sheets} sheets, killed {kills} times");
}

#[test]
fn a_run_that_was_killed_goes_on_where_it_was() {
    killed_and_run_again(6, Duration::from_millis(120), 2);
}

/// `cargo test --release --test it killed -- --ignored --nocapture`
#[test]
#[ignore = "200 sheets, killed again and again: a minute"]
fn two_hundred_sheets_survive_being_killed() {
    killed_and_run_again(200, Duration::from_millis(60), 10);
}

/// Ctrl-C: what is at work is finished, the rest is left to the next run, and no file is half there.
#[cfg(unix)]
#[test]
fn control_c_leaves_whole_files_and_says_so() {
    let names: Vec<String> = (0..30).map(|i| format!("{i:02}.toml")).collect();
    let bench = bench(&names.iter().map(String::as_str).collect::<Vec<_>>());
    let program = assert_cmd::cargo::cargo_bin("trajet");
    let args = ["measure", "runs", "--into", "found", "--jobs", "1"];
    let child = std::process::Command::new(program)
        .current_dir(bench.path(""))
        .args(args)
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    while !bench.path("found/runs/00.json").exists() {
        std::thread::sleep(Duration::from_millis(2));
    }
    let asked = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(asked.success());
    let output = child.wait_with_output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(130), "{err}");
    assert!(err.contains("stopping") && err.contains(" not begun"), "{err}");
    let found = below(&bench.path("found"));
    assert!(!found.is_empty() && found.len() < 30, "{}", found.len());
    assert!(found.keys().all(|name| name.ends_with(".json")), "{:?}", found.keys());
    assert_eq!(
        String::from_utf8(output.stdout).unwrap().lines().count(),
        found.len() + 1,
        "a row for each that was done"
    );
}
