//! Lengths, angles, stations and places that are typed while drawing.

use super::aim::{fits, on_ducts, towards};
use super::{tell, tidy};
use crate::board::tools::{Context, Outcome, Tools, keys};
use crate::command::Command;
use engine::plan::Point;
use engine::plan::geometry::{along, direction, length_m};
use engine::units::{Kind, parse, show};

impl Tools {
    /// A character of a length or a place; none where it is no part of one.
    pub(in crate::board::tools) fn type_char(&mut self, c: char) -> Option<Outcome> {
        let begins = c.is_ascii_digit() || matches!(c, '.' | '-');
        let goes_on = !self.pen.typed.is_empty()
            && (c.is_ascii_alphabetic() || matches!(c, ' ' | ',' | ';' | '"' | '\'' | '/' | '°'));
        (begins || goes_on).then(|| {
            if self.pen.typed.len() < 40 {
                self.pen.typed.push(c);
            }
            Outcome::handled(Vec::new())
        })
    }

    /// The whole of what is typed, as a field gives it.
    pub(in crate::board::tools) fn set_typed(&mut self, text: &str) -> Outcome {
        self.pen.typed = text.chars().take(40).collect();
        Outcome::handled(Vec::new())
    }

    /// Places what is typed: a length along a direction, a station, or a place "x, y".
    pub(super) fn place_typed(&mut self, way: Option<(f64, f64)>, cx: &Context) -> Vec<Command> {
        let text = self.pen.typed.trim().to_owned();
        let number =
            |text: &str| parse(text.trim(), Kind::Length, cx.units).map_err(|error| error.to_string());
        let only_a_place = self.pen.points.is_empty() && !on_ducts(self.pen.tool);
        let placed = if let Some((x, y)) = two_numbers(&text, only_a_place) {
            number(x).and_then(|x| number(y).map(|y| (Point::new(x, y), None)))
        } else if on_ducts(self.pen.tool) {
            number(&text).and_then(|station| self.at_station(station, cx))
        } else {
            let (length, angle) = match text.split_once("at") {
                Some((length, angle)) => (length, Some(angle)),
                None => (text.as_str(), None),
            };
            number(length).and_then(|length| {
                let Some(&last) = self.pen.points.last() else {
                    return Err("the first point is typed as its place: x, y".to_owned());
                };
                if let Some(angle) = angle {
                    let degrees =
                        parse(angle.trim(), Kind::Angle, cx.units).map_err(|error| error.to_string())?;
                    return Ok((towards(last, length, degrees), None));
                }
                let aimed = self.pen.at.filter(|at| *at != last).map(|at| direction(last, at));
                let Some((dx, dy)) = way.or(aimed) else {
                    return Err("an arrow key says which way this length goes".to_owned());
                };
                Ok((Point::new(tidy(last.x_m + dx * length), tidy(last.y_m + dy * length)), None))
            })
        };
        match placed {
            Ok((at, on)) if at.x_m.abs() < 1e4 && at.y_m.abs() < 1e4 => {
                self.pen.typed.clear();
                (self.pen.cross, self.pen.at, self.pen.on, self.pen.by_key) = (Some(at), Some(at), on, true);
                keys::into_sight(cx, at).into_iter().chain(self.put(cx)).collect()
            }
            Ok(_) => tell(format!("{text}: that is outside of any floor; type a shorter length")),
            Err(reason) => tell(format!("{text}: {reason}")),
        }
    }

    /// The place at a typed station of the duct pointed at, or else selected.
    fn at_station(&self, station_m: f64, cx: &Context) -> Result<(Point, Option<(String, f64)>), String> {
        let id = self.pen.first_on.as_ref().or(self.pen.on.as_ref()).map(|(duct, _)| duct.as_str());
        let duct = cx.plan.ducts.iter().find(|duct| Some(duct.id.as_str()) == id.or(cx.selection));
        let Some(duct) = duct.filter(|duct| fits(self.pen.tool, duct)) else {
            return Err("point at a duct first, or select one".to_owned());
        };
        let total = length_m(&duct.path);
        if !(0.0..=total).contains(&station_m) {
            return Err(format!("{} is {} long", duct.id, show(total, Kind::Length, cx.units)));
        }
        Ok((along(&duct.path, station_m).0, Some((duct.id.clone(), station_m))))
    }
}

/// The two numbers of a place. A comma alone is a decimal sign, except after a number that has its decimal point or its
/// unit, and where nothing but a place can be meant.
fn two_numbers(text: &str, only_a_place: bool) -> Option<(&str, &str)> {
    let points =
        |(x, _): &(&str, &str)| only_a_place || x.contains(|c: char| c == '.' || c.is_ascii_alphabetic());
    text.split_once(';').or_else(|| text.split_once(", ")).or_else(|| text.split_once(',').filter(points))
}
