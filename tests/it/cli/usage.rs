//! Help, version and wrong usage.

use crate::support::laid_out::LaidOut;

#[test]
fn help_is_an_answer_and_names_the_exit_status_and_the_cautions() {
    let told = LaidOut::new().run(&["--help"]);
    assert_eq!((told.status, told.err.as_str()), (0, ""));
    for text in ["measure", "new", "Exit status: 0 measured, 1 refused", "RCD (GFCI)", "custody transfer"] {
        assert!(told.out.contains(text), "nothing of `{text}` in\n{}", told.out);
    }
    for command in ["measure", "new"] {
        let told = LaidOut::new().run(&[command, "--help"]);
        assert_eq!((told.status, told.err.as_str()), (0, ""));
        assert!(told.out.contains("Example"), "{command}: {}", told.out);
    }
}

#[test]
fn the_version_is_that_of_the_package() {
    let told = LaidOut::new().run(&["--version"]);
    assert_eq!((told.status, told.out.trim()), (0, concat!("trajet ", env!("CARGO_PKG_VERSION"))));
}

#[test]
fn wrong_usage_ends_with_status_2_and_says_what_is_right() {
    let wrong: [(&[&str], &str); 8] = [
        (&[], "no display"),
        (&["open", "run.toml"], "no display"),
        (&["measure"], "<SHEET or FOLDER>"),
        (&["new"], "<PHOTO>"),
        (&["mesure", "run.toml"], "measure"),
        (&["measure", "run.toml", "--jobs", "0"], "1..=256"),
        (&["measure", "run.toml", "--draws", "5"], "from 10000 to 10000000, or auto"),
        (&["measure", "run.toml", "--station", "out.csv"], "--stations"),
    ];
    for (args, says) in wrong {
        let told = LaidOut::new().run(args);
        assert_eq!((told.status, told.out.as_str()), (2, ""), "{args:?}: {}", told.err);
        assert!(told.err.contains(says), "{args:?}: nothing of `{says}` in\n{}", told.err);
    }
}

#[cfg(all(feature = "app", target_os = "linux"))]
#[test]
fn without_a_display_one_line_says_so_and_what_to_do() {
    use crate::support::laid_out::trajet;
    // none named, and one named where nothing answers
    for display in [None, Some(("DISPLAY", ":987")), Some(("WAYLAND_DISPLAY", "wayland-none"))] {
        for args in [&[][..], &["open", "run.toml"]] {
            let output = trajet().envs(display).args(args).output().unwrap();
            let told = String::from_utf8(output.stderr).unwrap();
            assert_eq!(output.status.code(), Some(2), "{display:?}: {told}");
            assert_eq!(told.lines().count(), 1, "{display:?}: {told}");
            assert!(told.contains("no display") && told.contains("`trajet measure`"), "{display:?}: {told}");
        }
    }
}
