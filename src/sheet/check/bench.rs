//! The check of orifice, head, water and site.

use super::{Check, assumed, defaults, given_quietly};
use crate::quantity::{Acceleration, Angle, Area, Celsius, Kind, Length, Reading};
use crate::sheet::{Edge, Given, Placed, Sheet};

impl Check<'_> {
    pub(super) fn orifice(&mut self, sheet: &Sheet) -> Option<Placed> {
        let about = "orifice.centre";
        match sheet.orifice_centre {
            Some(centre) => Some(self.mark(centre, about)),
            None => {
                let hint = "mark it in the photo: centre = [812.4, 630.9] under [orifice]";
                self.fault(about, "the orifice's centre is not marked", hint);
                None
            }
        }
    }

    pub(super) fn diameter(&mut self, sheet: &Sheet) -> Option<Given<Length>> {
        let about = "orifice.diameter";
        let Some(reading) = sheet.diameter else {
            let hint = "as in diameter = \"12.00 mm ± 0.02 mm\" under [orifice]";
            self.fault(about, "the orifice's diameter is not stated", hint);
            return None;
        };
        self.is_positive(&reading, about, "the diameter")
            .then(|| self.given(reading, about, defaults::DIAMETER_U_M, "mm"))
    }

    pub(super) fn clearance(&mut self, sheet: &Sheet) -> Option<Reading<Length>> {
        let reading = sheet.clearance?;
        self.is_positive(&reading, "orifice.clearance", "the clearance").then_some(reading)
    }

    pub(super) fn edge(&mut self, sheet: &Sheet) -> Edge {
        sheet.edge.unwrap_or_else(|| {
            let hint = "edge = \"sharp\", \"rounded\", \"short-tube\", \"re-entrant\" or \"nozzle\"";
            self.notice("orifice.edge", "the orifice's edge is not stated, sharp assumed", hint);
            Edge::Sharp
        })
    }

    pub(super) fn head(&mut self, sheet: &Sheet) -> (Vec<Given<Length>>, Option<Placed>) {
        let about = "head.reading";
        let surface = sheet.surface.map(|at| self.mark(at, "head.surface"));
        if let (Some(surface), Some(centre)) = (sheet.surface, sheet.orifice_centre) {
            let hint = "mark the water surface of the tank, well above the orifice";
            self.apart([surface, centre], "head.surface", "the water surface and the orifice's centre", hint);
        }
        if sheet.head.len() > 2 {
            let says = format!("{} head readings, at most two are taken: the start's and the end's", sheet.head.len());
            self.fault(about, says, "as in reading = [\"412 mm\", \"410 mm\"]");
        }
        if sheet.head.is_empty() && surface.is_none() {
            let hint = "as in reading = \"412 mm ± 0.5 mm\" under [head], or surface = [x, y]";
            self.notice(about, "no head is stated: no ideal velocity, no Cv and no Cd", hint);
        }
        if !sheet.head.is_empty() && surface.is_some() {
            let says = "both a head reading and the surface in the photo are given: the reading is used";
            self.notice("head.surface", says, "leave one of them out");
        }
        let mut all_positive = true;
        for reading in &sheet.head {
            all_positive &= self.is_positive(reading, about, "the head");
        }
        let lacks_u = sheet.head.iter().any(|r| r.u.is_none());
        let head: Vec<_> = sheet.head.iter().map(|r| given_quietly(*r, defaults::HEAD_U_M)).collect();
        if let Some(first) = sheet.head.iter().find(|_| all_positive && lacks_u) {
            let exact = Reading { u: None, ..*first };
            self.given(exact, about, defaults::HEAD_U_M, "mm"); // its notice, once for both readings
        }
        (head, surface.filter(|_| sheet.head.is_empty()))
    }

    pub(super) fn approach_area(&mut self, sheet: &Sheet) -> Option<Given<Area>> {
        let reading = sheet.approach_area?;
        let about = "head.approach_area";
        if !self.is_positive(&reading, about, "the approach area") {
            return None;
        }
        if let Some(d) = sheet.diameter {
            let orifice_m2 = std::f64::consts::FRAC_PI_4 * d.value.si().powi(2);
            if reading.value.si() <= orifice_m2 {
                let hint = "it is the cross-section of the tank or pipe that the water comes from";
                self.fault(about, "the approach area is not larger than the orifice", hint);
                return None;
            }
        }
        let u = defaults::APPROACH_AREA_RELATIVE_U * reading.value.si();
        Some(self.given(reading, about, u, "m^2"))
    }

    pub(super) fn temperature(&mut self, sheet: &Sheet) -> Given<Celsius> {
        let about = "water.temperature";
        let Some(reading) = sheet.temperature else {
            let says = format!(
                "no water temperature is stated, {} degC ± {} degC assumed",
                defaults::TEMPERATURE_DEGC,
                defaults::TEMPERATURE_U_K
            );
            self.notice(about, says, "as in temperature = \"18.5 degC\" under [water]");
            return assumed(defaults::TEMPERATURE_DEGC, defaults::TEMPERATURE_U_K);
        };
        if !(0.0..=100.0).contains(&reading.value.0) {
            self.fault(about, "water is not liquid at this temperature", "between 0 degC and 100 degC");
        }
        given_quietly(reading, defaults::THERMOMETER_U_K)
    }

    /// Latitude, height and gravity; without latitude and gravity the conventional one, wide.
    pub(super) fn site(&mut self, sheet: &Sheet) -> (Option<Given<Angle>>, Given<Length>, Option<Given<Acceleration>>) {
        let latitude = sheet.latitude.map(|reading| {
            // An angle of 90 degrees may come out a rounding error larger.
            if reading.value.si().abs() > std::f64::consts::FRAC_PI_2 * (1.0 + 1e-12) {
                self.fault("site.latitude", "the latitude is outside -90 deg to 90 deg", "south is negative");
            }
            given_quietly(reading, defaults::LATITUDE_U_DEG.to_radians())
        });
        let altitude = match sheet.altitude {
            Some(reading) => {
                if !(-500.0..=9000.0).contains(&reading.value.si()) {
                    self.fault("site.altitude", "no laboratory stands at this height", "metres above sea level");
                }
                given_quietly(reading, defaults::STATED_ALTITUDE_U_M)
            }
            None => {
                if latitude.is_some() && sheet.gravity.is_none() {
                    let says = format!("no height is stated, sea level ± {} m assumed", defaults::ALTITUDE_U_M);
                    self.notice("site.altitude", says, "as in altitude = \"40 m\" under [site]");
                }
                assumed(defaults::ALTITUDE_M, defaults::ALTITUDE_U_M)
            }
        };
        let gravity = match (sheet.gravity, sheet.latitude) {
            (Some(reading), stated_latitude) => {
                if !(9.7..=9.9).contains(&reading.value.si()) {
                    let hint = "between 9.76 m/s^2 and 9.84 m/s^2 everywhere on the ground";
                    self.fault("site.gravity", "this is not the gravity of the Earth's surface", hint);
                }
                if stated_latitude.is_some() {
                    let says = "both gravity and latitude are given: gravity is used";
                    self.notice("site.latitude", says, "leave one of them out");
                }
                Some(given_quietly(reading, defaults::STATED_GRAVITY_U_M_S2))
            }
            (None, Some(_)) => None,
            (None, None) => {
                let says = format!(
                    "no latitude and no gravity are stated, {} m/s^2 ± {} m/s^2 assumed",
                    defaults::GRAVITY_M_S2,
                    defaults::GRAVITY_U_M_S2
                );
                self.notice("site", says, "as in latitude = \"52.1 deg\" under [site]");
                Some(assumed(defaults::GRAVITY_M_S2, defaults::GRAVITY_U_M_S2))
            }
        };
        (latitude, altitude, gravity)
    }
}
