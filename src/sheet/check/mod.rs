//! [`Sheet`] to [`Checked`]: every default resolved, every fault at once.
//!
//! Whether marks lie within the photo is not known here; the measurement checks that.

pub mod defaults;
mod card;
mod marks;
mod bench;
mod flow;

use super::fault::Fault;
use super::file::Places;
use super::{Checked, Given, Launch, Origin, Placed, Sheet, Vertical};
use crate::notice::Notice;
use crate::point::PixelPoint;
use crate::quantity::{self, Kind, Length, Reading};

/// What a check found.
pub(super) struct Verdict {
    /// The checked sheet: exactly when neither the text nor the check has a fault.
    pub checked: Option<Checked>,
    pub faults: Vec<Fault>,
    pub notices: Vec<Notice>,
}

/// Gathers faults and notices with their places.
struct Check<'a> {
    places: &'a Places,
    faults: Vec<Fault>,
    notices: Vec<Notice>,
}

/// Checks `sheet`; `places` tells where its fields stand and which the text already spoilt.
pub(super) fn check(sheet: &Sheet, places: &Places) -> Verdict {
    let mut check = Check { places, faults: Vec::new(), notices: Vec::new() };
    let checked = resolve(&mut check, sheet);
    let checked = checked.filter(|_| check.faults.is_empty());
    Verdict { checked, faults: check.faults, notices: check.notices }
}

fn resolve(check: &mut Check<'_>, sheet: &Sheet) -> Option<Checked> {
    check.photos(sheet);
    let distance = check.camera_distance(sheet);
    let scales = check.scales(sheet, distance);
    let (plane, plane_behind_jet) = check.plane(sheet, distance);
    let card = check.card(sheet, distance);
    if sheet.scales.is_empty() && sheet.plane.is_none() && sheet.card.is_none() {
        let hint = "give [scale] with two marks and their length, [plane] with four marks, or [card]";
        if !check.places.is_faulty("plane") {
            check.fault("scale", "no scale and no plane: nothing tells how large a pixel is", hint);
        }
    }
    let (plumb, level) = check.vertical(sheet);
    let straight = check.straight(sheet);
    let k1 = check.k1(sheet);
    check.stream(sheet);
    let orifice = check.orifice(sheet);
    let diameter = check.diameter(sheet);
    let edge = check.edge(sheet);
    let clearance = check.clearance(sheet);
    let (launch, launch_u) = check.launch(sheet);
    let (head, surface) = check.head(sheet);
    let approach_area = check.approach_area(sheet);
    let flow = check.flow(sheet);
    let temperature = check.temperature(sheet);
    let (latitude, altitude, gravity) = check.site(sheet);
    Some(Checked {
        title: sheet.title.clone().unwrap_or_default(),
        photos: sheet.photos.clone(),
        dry: sheet.dry.clone(),
        scales,
        plane,
        plane_behind_jet,
        card,
        camera_distance: distance,
        plumb,
        level,
        straight,
        k1,
        orifice: orifice?,
        diameter: diameter?,
        edge,
        clearance,
        stream: sheet.stream.clone(),
        launch,
        launch_u,
        corrections: sheet.corrections.clone(),
        head,
        surface,
        approach_area,
        flow_stated: sheet.flow.clone(),
        flow,
        temperature,
        latitude,
        altitude,
        gravity,
    })
}

impl Check<'_> {
    fn fault(&mut self, about: &str, says: impl Into<String>, hint: &str) {
        if self.places.is_faulty(about) {
            return; // told already, with what stands there
        }
        let place = self.places.of(about);
        self.faults.push(Fault {
            line: place.line,
            column: place.column,
            about: about.to_owned(),
            found: place.found,
            says: says.into(),
            hint: (!hint.is_empty()).then(|| hint.to_owned()),
        });
    }

    fn notice(&mut self, about: &str, says: impl Into<String>, hint: &str) {
        if self.places.is_faulty(about) {
            return;
        }
        let notice = Notice::new(about, says);
        self.notices.push(if hint.is_empty() { notice } else { notice.hint(hint) });
    }

    /// A stated value; where no uncertainty is stated, `u_si` and a notice.
    fn given<Q: Kind>(&mut self, reading: Reading<Q>, about: &str, u_si: f64, unit: &str) -> Given<Q> {
        let given = given_quietly(reading, u_si);
        if given.u_origin == Origin::Assumed {
            let unit = Q::UNITS.iter().find(|u| u.is_spelt(unit)).unwrap_or(&Q::UNITS[0]);
            let u = quantity::show_plain(quantity::two_digits(unit.number_of_difference(u_si)), unit.symbol);
            let says = format!("no uncertainty is stated, ± {u} assumed");
            self.notice(about, says, "state one, as in \"… ± …\"");
        }
        given
    }

    /// Tells a fault unless the reading is above zero and its uncertainty below it.
    fn is_positive<Q: Kind>(&mut self, reading: &Reading<Q>, about: &str, what: &str) -> bool {
        let value = reading.value.si();
        if value <= 0.0 || !value.is_finite() {
            let how = if value == 0.0 { "zero" } else { "negative" };
            self.fault(about, format!("{what} is {how}"), "give a value above zero");
            return false;
        }
        if reading.u.is_some_and(|u| u.si() >= value) {
            self.fault(about, format!("{what} is less than its own uncertainty"), "± takes a standard uncertainty");
            return false;
        }
        true
    }

    /// A mark of the photo; a fault where a coordinate is negative or not finite.
    fn mark(&mut self, at: PixelPoint, about: &str) -> Placed {
        if !(at.x >= 0.0 && at.y >= 0.0 && at.x.is_finite() && at.y.is_finite()) {
            let says = format!("the mark at ({}, {}) lies outside the photo", at.x, at.y);
            self.fault(about, says, "pixel coordinates count from the top-left corner and are never negative");
        }
        Placed { at, u_px: defaults::CLICK_U_PX }
    }

    fn photos(&mut self, sheet: &Sheet) {
        if sheet.photos.is_empty() {
            self.fault("photo.file", "no photo is named", "as in file = \"c-run2.jpg\" under [photo]");
        }
        for (i, photo) in sheet.photos.iter().enumerate() {
            let about = if sheet.photos.len() == 1 { "photo.file".into() } else { format!("photo.files[{}]", i + 1) };
            if photo.trim().is_empty() {
                self.fault(&about, "the photo's name is empty", "as in file = \"c-run2.jpg\" under [photo]");
            } else if sheet.photos[..i].contains(photo) {
                self.fault(&about, format!("{photo} is named twice"), "name each photo of a burst once");
            }
        }
        if sheet.dry.as_ref().is_some_and(|dry| dry.trim().is_empty()) {
            self.fault("photo.dry", "the dry photo's name is empty", "name it, or leave the key out");
        } else if sheet.dry.as_ref().is_some_and(|dry| sheet.photos.contains(dry)) {
            self.fault("photo.dry", "the dry photo is the photo itself", "take one of the same view without the jet");
        }
    }

    fn camera_distance(&mut self, sheet: &Sheet) -> Option<Given<Length>> {
        let reading = sheet.camera_distance?;
        let u = reading.value.si() * defaults::CAMERA_DISTANCE_RELATIVE_U;
        self.is_positive(&reading, "camera.distance", "the camera's distance")
            .then(|| self.given(reading, "camera.distance", u, "m"))
    }

    fn launch(&mut self, sheet: &Sheet) -> (Launch, quantity::Angle) {
        let none = quantity::Angle::from_si(0.0);
        match sheet.launch.unwrap_or_default() {
            Launch::Stated(reading) => {
                let about = "trajectory.launch";
                if reading.value.si().abs() >= std::f64::consts::FRAC_PI_2 {
                    self.fault(about, "the launch angle is a right angle or more", "upwards is positive, below 90 deg");
                }
                let given = self.given(reading, about, defaults::LAUNCH_U_DEG.to_radians(), "deg");
                (Launch::Stated(Reading::with_u(given.value, given.u)), given.u)
            }
            launch => (launch, none),
        }
    }

    fn vertical(&mut self, sheet: &Sheet) -> (Option<[Placed; 2]>, Option<[Placed; 2]>) {
        match sheet.vertical {
            None => {
                let says = "no plumb line or level line: the photo's own vertical is taken, which is doubtful";
                self.notice("vertical", says, "mark two points on something vertical: plumb = [[x, y], [x, y]]");
                (None, None)
            }
            Some(Vertical::Plumb(plumb)) => (self.plumb(plumb), None),
            Some(Vertical::Level(level)) => (None, self.level(level)),
            Some(Vertical::Both { plumb, level }) => (self.plumb(plumb), self.level(level)),
        }
    }
}

/// A stated value; where no uncertainty is stated, `u_si` without a word.
fn given_quietly<Q: Kind>(reading: Reading<Q>, u_si: f64) -> Given<Q> {
    let (u, u_origin) = match reading.u {
        Some(u) => (u, Origin::Typed),
        None => (Q::from_si(u_si), Origin::Assumed),
    };
    Given { value: reading.value, u, origin: Origin::Typed, u_origin }
}

/// A value and an uncertainty of ours.
fn assumed<Q: Kind>(si: f64, u_si: f64) -> Given<Q> {
    let (value, u) = (Q::from_si(si), Q::from_si(u_si));
    Given { value, u, origin: Origin::Assumed, u_origin: Origin::Assumed }
}
