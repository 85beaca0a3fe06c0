//! One sheet that uses every key, and what comes of it.

use trajet::card::Paper;
use trajet::point::PixelPoint;
use trajet::quantity::Kind;
use trajet::sheet::{Caught, Edge, Flow, KEYS, Launch, Opened, Origin, Pitch, ScaleMarks, Tone, Vertical, open};

/// Every section; the keys that exclude one another are in [`VARIANTS`].
pub const FULL: &str = r##"# Plate C on the second bench.
format = 1
title = "Plate C, run 2"             # as in the book

[photo]
file = "c-run2.jpg"                  # relative to the sheet
dry = "c-dry.jpg"

[[scale]]                            # steel rule on the bench
marks = [ { px = [1020.0, 310.5], at = "0 mm" }, { px = [2185.0, 316.1], at = "250 mm" }, { px = [3350.2, 322.8], at = "500 mm" } ]
behind_jet = "40 mm ± 1 mm"
graduation = "1 mm"

[[scale]]                            # wooden yardstick
marks = [[100, 2500], [3100.5, 2510.25]]
length = "2 ft 1 1/2 in ± 0.3 mm"
behind_jet = "-15 mm ± 2 mm"

[plane]
marks = [
  { px = [210.0, 180.0], at = ["0 mm", "0 mm"] },     # near the tank
  { px = [3800.5, 171.2], at = ["900 mm", "0 mm"] },
  { px = [3790.0, 2600.0], at = ["900 mm", "600 mm"] },
  { px = [220.0, 2610.0], at = ["0 mm", "600 mm"] },
]
behind_jet = "0 mm ± 0.5 mm"

[card]                               # stands at the jet's end
paper = "A4"
check_line = "99.7 mm ± 0.1 mm"
upright_line = "99.9 mm ± 0.1 mm"
behind_jet = "2 mm ± 1 mm"
marks = [ { number = 3, px = [3020.0, 1310.5] }, { number = 4, px = [3100.0, 1312.0] }, { number = 10, px = [3101.5, 1392] } ]

[camera]
distance = "1.8 m ± 0.02 m"

[vertical]
plumb = [[415.5, 2710.0], [402.0, 210.0]]   # clicked from below
level = [[10.0, 2000.0], [3900.0, 2010.0]]

[lens]
straight = [ [[10.0, 20.0], [500.0, 21.0], [990.0, 20.5]], [[10, 900], [12, 1800], [11, 2700]] ]
k1 = "-0.031 ± 0.002"

[orifice]
centre = [812.4, 630.9]
diameter = "12.00 mm ± 0.02 mm"
edge = "sharp"
clearance = "60 mm"

[stream]
tone = "bright"
level = 0.45
look_in = [[700.0, 500.0], [3900.0, 500.0], [3900.0, 2900.0]]
leave_out = [ [[1500, 700], [1600, 700], [1600, 1900]] ]
until = "600 mm"
by_hand = [[900.0, 640.0], [1400.0, 700.0]]

[trajectory]
launch = "5.0 deg ± 0.3 deg"
corrections = ["surface-tension", "air-drag", "air-buoyancy"]

[head]
reading = ["412 mm ± 0.5 mm", "411 mm ± 0.5 mm"]
surface = [500.0, 120.0]
approach_area = "0.09 m^2 ± 0.001 m^2"

[flow]
timed = [ { volume = "10 L ± 0.02 L", time = "42.3 s" }, { volume = "9.99 L", time = "0:42.1" } ]

[water]
temperature = "18.5 degC"

[site]
latitude = "52.1 deg"
altitude = "40 m"
gravity = "9.8120 m/s^2"
"##;

/// What cannot stand in one sheet with the keys of [`FULL`], or says them in another way.
pub const VARIANTS: &[(&str, &str)] = &[
    ("file = \"c-run2.jpg\"", "files = [\"c-1.jpg\", \"c-2.jpg\"]"),
    ("timed = [ {", "running = [ { volume = \"1 L\", time = \"6.2 s\" }, {"),
    ("{ volume = \"9.99 L\"", "{ volume = \"9.98 L\""),
    ("launch = \"5.0 deg ± 0.3 deg\"", "launch = \"level\""),
    ("launch = \"5.0 deg ± 0.3 deg\"", "launch = \"free\""),
    ("level = 0.45", "level = \"auto\""),
    ("k1 = \"-0.031 ± 0.002\"", "k1 = -0.031"),
];

/// Opens a sheet that must have no fault.
pub fn sound(text: &str) -> Opened {
    let opened = open(text);
    let faults: Vec<_> = opened.faults.iter().map(ToString::to_string).collect();
    assert!(opened.faults.is_empty(), "{}\n{text}", faults.join("\n"));
    assert!(opened.checked.is_some());
    opened
}

#[test]
fn every_key_is_read() {
    let opened = sound(FULL);
    let sheet = &opened.sheet;
    assert_eq!(sheet.title.as_deref(), Some("Plate C, run 2"));
    assert_eq!((sheet.photos.as_slice(), sheet.dry.as_deref()), (&["c-run2.jpg".to_owned()][..], Some("c-dry.jpg")));
    assert!(matches!(&sheet.scales[0].marks, ScaleMarks::Readings(r) if r.len() == 3 && r[1].1.value.si() == 0.25));
    assert!(
        matches!(&sheet.scales[1].marks, ScaleMarks::Pair { length, .. } if (length.value.si() - 0.6477).abs() < 1e-15)
    );
    assert_eq!(sheet.plane.as_ref().unwrap().marks.len(), 4);
    let card = sheet.card.as_ref().unwrap();
    assert_eq!((card.paper, card.marks[2]), (Some(Paper::A4), (10, PixelPoint::new(3101.5, 1392.0))));
    assert!(matches!(sheet.vertical, Some(Vertical::Both { .. })));
    assert_eq!((sheet.straight.len(), sheet.k1.unwrap().u.unwrap().si()), (2, 0.002));
    assert_eq!(sheet.orifice_centre, Some(PixelPoint::new(812.4, 630.9)));
    assert_eq!(
        (sheet.edge, sheet.stream.tone, sheet.stream.level),
        (Some(Edge::Sharp), Some(Tone::Bright), Some(0.45))
    );
    assert_eq!((sheet.stream.look_in.len(), sheet.stream.leave_out[0].len(), sheet.stream.by_hand.len()), (3, 3, 2));
    assert!(matches!(sheet.launch, Some(Launch::Stated(a)) if (a.value.si() - 5f64.to_radians()).abs() < 1e-16));
    assert_eq!((sheet.corrections.len(), sheet.head.len()), (3, 2));
    assert!(matches!(&sheet.flow, Some(Flow::Timed(t)) if t.len() == 2 && matches!(t[1].caught, Caught::Volume(_))));
    assert_eq!(sheet.gravity.unwrap().value.si(), 9.812);

    let checked = opened.checked.unwrap();
    let plumb = checked.plumb.unwrap();
    assert!(plumb[1].at.y > plumb[0].at.y, "the plumb line runs downwards");
    assert_eq!(checked.surface, None, "a reading wins over the surface");
    assert_eq!(checked.diameter.u_origin, Origin::Typed);
    assert!(checked.scales[1].is_pair && !checked.scales[0].is_pair);
    let stated = |p| matches!(p, Some(Pitch::Stated(r)) if (1e3 * r.value.si() - 1.0).abs() < 1e-12);
    assert!(stated(checked.scales[0].graduation) && checked.scales[1].graduation.is_none());
    assert!(opened.notices.iter().any(|n| n.about == "head.surface"));
}

#[test]
fn the_other_ways_to_say_it_are_read_too() {
    for (from, _) in VARIANTS {
        assert!(FULL.contains(from), "{from}");
    }
    let burst = sound(&FULL.replace(VARIANTS[0].0, VARIANTS[0].1));
    assert_eq!(burst.sheet.photos, ["c-1.jpg", "c-2.jpg"]);
    let running = sound(
        &FULL
            .replace(VARIANTS[1].0, VARIANTS[1].1)
            .replace(VARIANTS[2].0, "{ volume = \"11 L\"")
            .replace("0:42.1", "0:47.1"),
    );
    assert!(matches!(running.sheet.flow, Some(Flow::Running(r)) if r.len() == 3));
    let timed = FULL.lines().find(|l| l.starts_with("timed")).unwrap();
    let discharge = sound(&FULL.replace(timed, "discharge = \"0.236 L/s ± 0.001 L/s\""));
    assert!(matches!(discharge.sheet.flow, Some(Flow::Discharge(q)) if q.value.si() == 0.236e-3));
    for (from, to) in &VARIANTS[3..] {
        let _ = sound(&FULL.replace(from, to));
    }
}

#[test]
fn the_list_of_keys_and_the_full_sheet_hold_the_same() {
    let variants: String = VARIANTS.iter().map(|(_, to)| *to).collect();
    for key in KEYS {
        let name = key.path.rsplit('.').next().unwrap();
        let written = format!("{FULL}{variants} discharge = running = [ {{ mass = ");
        assert!(written.contains(&format!("{name} = ")), "{} is in no test sheet", key.path);
        if key.path.matches('.').count() <= 1 {
            let text = match key.path.split_once('.') {
                Some((section, name)) => format!("[{section}]\n{name} = {}", key.example),
                None => format!("{} = {}", key.path, key.example),
            };
            let opened = open(&text);
            assert!(!opened.notices.iter().any(|n| n.says.contains("unknown")), "{text}: {:?}", opened.notices);
            // Alone it may lack its companions; the example itself must be right.
            let lacks = ["at least four", "two marks or more", "without the length", "first and last", "at least 3"];
            let is_mine = |about: &str| about == key.path || about.starts_with(&format!("{}[", key.path));
            let wrong = opened.faults.iter().filter(|f| is_mine(&f.about) && !lacks.iter().any(|l| f.says.contains(l)));
            assert_eq!(wrong.count(), 0, "{text}: {:?}", opened.faults);
        }
    }
    assert!(!open(FULL).notices.iter().any(|n| n.says.contains("unknown")), "a key of the full sheet is not listed");
}
