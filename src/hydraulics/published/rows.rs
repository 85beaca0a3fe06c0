//! The rows, as they were read.

use super::Basis::{Experiment, Theory};
use super::Coefficient::{Cc, Cd, Cv};
use super::{Basis, Coefficient, Law, Published};
use crate::sheet::Edge;

/// Source: Unwin 1911, sec. 20, table "Coefficient of Discharge for Vertical Circular Orifices, Sharp-edged, with free
/// Discharge into the Air", abstracted there from Hamilton Smith, Hydraulics, New York 1886. Diameters in ft.
pub(super) const SMITH_DIAMETERS_FT: [f64; 7] = [0.02, 0.04, 0.10, 0.20, 0.40, 0.60, 1.0];

/// Not in the table.
const NO: f64 = f64::NAN;

/// The same: head in ft, and Cd for each diameter.
pub(super) const SMITH: [(f64, [f64; 7]); 9] = [
    (0.3, [NO, NO, 0.621, NO, NO, NO, NO]),
    (0.4, [NO, 0.637, 0.618, NO, NO, NO, NO]),
    (0.6, [0.655, 0.630, 0.613, 0.601, 0.596, 0.588, NO]),
    (0.8, [0.648, 0.626, 0.610, 0.601, 0.597, 0.594, 0.583]),
    (1.0, [0.644, 0.623, 0.608, 0.600, 0.598, 0.595, 0.591]),
    (2.0, [0.632, 0.614, 0.604, 0.599, 0.599, 0.597, 0.595]),
    (4.0, [0.623, 0.609, 0.602, 0.599, 0.598, 0.597, 0.596]),
    (8.0, [0.614, 0.605, 0.600, 0.598, 0.597, 0.596, 0.596]),
    (20.0, [0.601, 0.599, 0.596, 0.596, 0.596, 0.596, 0.594]),
];

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
pub(super) const WEISBACH_BELLMOUTH: [(f64, f64); 5] =
    [(0.66, 0.959), (1.64, 0.967), (11.48, 0.975), (55.77, 0.994), (337.93, 0.994)];

/// Source: Unwin 1911, sec. 27: J. R. Freeman, smooth cone nozzles; diameter in in.
const FREEMAN: [(f64, f64); 5] = [(0.75, 0.983), (0.875, 0.982), (1.0, 0.972), (1.125, 0.976), (1.25, 0.971)];

/// Any diameter, m.
const ANY_M: [f64; 2] = [0.0, f64::INFINITY];
/// Diameters near half an inch, m.
const HALF_INCH_M: [f64; 2] = [0.010, 0.016];
/// Diameters near 1 cm, m.
const CENTIMETRE_M: [f64; 2] = [0.008, 0.0125];
/// Heads of 1 to 1 1/2 ft, "about", ft.
const ABOUT_A_FOOT: [f64; 2] = [0.9, 1.6];

/// Standard uncertainty of Cd of a small sharp edge. At 10 mm and 1.25 ft three of these rows give 0.626, 0.618 and 0.598: their
/// standard deviation is 0.014, as plates differ in the sharpness of the edge (own estimate).
const SMALL_U: f64 = 0.015;

/// Every row. Source of each: [`super::SOURCE`], at its `place`.
pub const ROWS: [Published; 24] = [
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
        "Hamilton Smith",
        "sec. 20, table for vertical circular orifices",
        "d 0.02 to 0.05 ft (6.1 to 15 mm), head 0.4 to 20 ft, free discharge; between rows by the logarithms of head and d",
        SMALL_U,
        Law::Smith([0.02, 0.05]),
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "Hamilton Smith",
        "sec. 20, table for vertical circular orifices",
        "d 0.05 to 1 ft (15 to 305 mm), head 0.3 to 20 ft, free discharge; between rows by the logarithms of head and d",
        0.005,
        Law::Smith([0.05, 1.0]),
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "H. T. Bovey",
        "sec. 20, table for sharp-edged orifices, circular",
        "d 0.5 in (taken for 10 to 16 mm), head 1 to 20 ft; straight between rows",
        SMALL_U,
        Law::ByHead(&BOVEY, HALF_INCH_M),
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "J. G. Mair, fitted by Unwin",
        "sec. 20, c = 0.6075 + 0.0098/sqrt(h ft) - 0.0037 d in",
        "d 1 to 3 in, head 0.75 to 2 ft, water of 51 to 55 degF",
        0.005,
        Law::MairFit,
    ),
    row(
        Edge::Sharp,
        Cd,
        Experiment,
        "W. C. Unwin, 1878",
        "sec. 26, at 62 degF",
        "d 1 cm (taken for 8 to 12.5 mm), heads of about 1 to 1.5 ft",
        SMALL_U,
        Law::Near(0.598, CENTIMETRE_M, ABOUT_A_FOOT),
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
    row(
        Edge::Rounded,
        Cd,
        Experiment,
        "W. C. Unwin, 1878",
        "sec. 26, at 60 degF",
        "bellmouth of d 1 cm (taken for 8 to 12.5 mm), heads of about 1 to 1.5 ft; 0.974 at 130 degF",
        0.01,
        Law::Near(0.942, CENTIMETRE_M, ABOUT_A_FOOT),
    ),
    row(Edge::Rounded, Cc, Theory, "W. C. Unwin", "sec. 19", "area taken at the smaller end", 0.0, Law::Constant(1.0)),
    row(Edge::ShortTube, Cv, Experiment, "W. C. Unwin", "sec. 49, at eq. 2", "runs full", 0.01, Law::Constant(0.82)),
    row(
        Edge::ShortTube,
        Cv,
        Theory,
        "W. C. Unwin",
        "sec. 49, eq. 2: 1/sqrt(1 + (1/0.64 - 1)^2), printed 0.87",
        "runs full, without friction",
        0.0,
        Law::Constant(0.87),
    ),
    row(
        Edge::ShortTube,
        Cd,
        Experiment,
        "W. C. Unwin",
        "sec. 49, at eq. 2 (Cc = 1)",
        "runs full, at least 1.5 diameters long",
        0.01,
        Law::Constant(0.82),
    ),
    row(
        Edge::ShortTube,
        Cd,
        Experiment,
        "P. Castel",
        "sec. 50, table, convergence 0 deg",
        "d 0.05085 ft (15.5 mm), 2.6 diameters long; taken for any that runs full",
        0.01,
        Law::Constant(0.829),
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
    // Castel's table runs from 0 to 48 deg 50'. The sheet does not state the angle: the rows are those of the largest discharge,
    // and u is half of what the angles from 5 deg 26' to 29 deg 58' span, over sqrt(3).
    row(
        Edge::Nozzle,
        Cv,
        Experiment,
        "P. Castel",
        "sec. 50, table, convergence 13 deg 24'",
        "cone of d 0.05085 ft (15.5 mm), 2.6 diameters long; from 0.920 to 0.975 as it converges by 5 to 30 deg",
        0.016,
        Law::Constant(0.962),
    ),
    row(
        Edge::Nozzle,
        Cc,
        Experiment,
        "P. Castel",
        "sec. 50, table, convergence 13 deg 24'",
        "cone of d 0.05085 ft (15.5 mm), 2.6 diameters long; from 1.004 to 0.919 as it converges by 5 to 30 deg",
        0.025,
        Law::Constant(0.983),
    ),
    row(
        Edge::Nozzle,
        Cd,
        Experiment,
        "P. Castel",
        "sec. 50, table, convergence 13 deg 24'",
        "cone of d 0.05085 ft (15.5 mm), 2.6 diameters long; from 0.924 over 0.946 to 0.896 as it converges by 5 to 30 deg",
        0.015,
        Law::Constant(0.946),
    ),
    row(
        Edge::Nozzle,
        Cd,
        Experiment,
        "J. R. Freeman",
        "sec. 27",
        "smooth cone nozzles of 3/4 to 1 1/4 in on a play-pipe, its resistance included; straight between sizes",
        0.005,
        Law::ByDiameter(&FREEMAN),
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
