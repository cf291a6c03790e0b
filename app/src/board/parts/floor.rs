//! Zones, walls, product openings, columns, conveyor, heater and exhausts.

use super::{Drawing, Fill, Form, ItemId, Stroke, Tone, called, outline, text};
use crate::board::camera::Bounds;
use crate::board::labels::Spot;
use crate::board::outline::{Vector, direction, left, moved, rectangle, turned};
use crate::board::scene::{Align, Dash, Item, Text};
use crate::edit::{CONVEYOR, ENCLOSURE};
use engine::plan::geometry::{along, distance_m, inside, length_m, nearest};
use engine::plan::{Exhaust, Heater, Opening, Point};
use engine::units::{Kind, show};

/// Half the gap between the rails of the conveyor as drawn, m.
const RAIL_M: f64 = 0.04;

impl Drawing<'_> {
    pub(super) fn zones(&mut self) {
        for (i, zone) in self.plan.zones.iter().enumerate() {
            let id: ItemId = zone.id.as_str().into();
            let tone = if i % 2 == 0 { Tone::ZoneA } else { Tone::ZoneB };
            let fill = Some(Fill::Solid(tone, 1.0));
            self.scene.push_backdrop(&id, Form::Polygon(zone.outline.clone()), fill);
            let middle = Bounds::around(zone.outline.iter().copied()).map_or(Point::new(0.0, 0.0), |b| {
                Point::new((b.min.x_m + b.max.x_m) / 2.0, (b.min.y_m + b.max.y_m) / 2.0)
            });
            let spoken = format!(
                "Zone {}, set to {}",
                called(&zone.name, &zone.id),
                show(zone.set_temperature_c, Kind::Temperature, self.units)
            );
            self.scene.items.push(Item { id, spoken, at: middle });
        }
    }

    pub(super) fn walls(&mut self) {
        let ring = &self.plan.enclosure.outline;
        if ring.len() > 2 {
            let outer = outline::ring_outside(ring, outline::WALL_M);
            // A band with a hole: the outer ring one way, the inner one back the other way.
            let mut inner = ring.clone();
            inner.push(ring[0]);
            inner.reverse();
            let mut band = outer.clone();
            band.push(outer[0]);
            band.extend(inner);
            let id: ItemId = ENCLOSURE.into();
            self.polygon(Some(&id), band.clone(), Fill::Solid(Tone::Paper, 1.0), None);
            self.polygon(None, band, Fill::Hatch(Tone::Line), None);
            let spoken = format!("Enclosure, {} corners", ring.len());
            self.scene.items.push(Item { id, spoken, at: ring[0] });
            for i in 0..ring.len() {
                let next = (i + 1) % ring.len();
                self.room.keep_clear(&[ring[i], ring[next], outer[i], outer[next]], false);
            }
            self.scene.push(None, Form::Polygon(outer), None, Some(Stroke::solid(Tone::Ink, 1.0)));
            self.scene.push(None, Form::Polygon(ring.clone()), None, Some(Stroke::solid(Tone::Ink, 1.5)));
        }
        for wall in &self.plan.enclosure.walls {
            let body = outline::thick_line(wall, outline::WALL_M * 0.7);
            self.room.keep_clear(&body, false);
            let id: ItemId = ENCLOSURE.into();
            self.polygon(Some(&id), body.clone(), Fill::Solid(Tone::Paper, 1.0), None);
            let edge = Some(Stroke::solid(Tone::Ink, 1.0));
            self.polygon(None, body, Fill::Hatch(Tone::Line), edge);
        }
    }

    /// The direction of the wall nearest to `at`.
    fn wall_direction(&self, at: Point) -> Vector {
        let ring = &self.plan.enclosure.outline;
        let closing = ring.last().copied().zip(ring.first().copied());
        ring.windows(2)
            .map(|w| (w[0], w[1]))
            .chain(closing)
            .chain(self.plan.enclosure.walls.iter().flat_map(|wall| wall.windows(2).map(|w| (w[0], w[1]))))
            .filter_map(|(a, b)| direction(a, b).map(|d| (nearest(&[a, b], at).1, d)))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map_or((0.0, 1.0), |(_, d)| d)
    }

    pub(super) fn product_openings(&mut self) {
        for opening in &self.plan.openings {
            let id: ItemId = opening.id.as_str().into();
            let along_wall = self.wall_direction(opening.at);
            let across = left(along_wall);
            // Walls lie outside the outline; the gap is cut a little to both sides of it.
            let gap = rectangle(opening.at, along_wall, opening.width_m, outline::WALL_M * 2.3);
            self.polygon(Some(&id), gap, Fill::Solid(Tone::Paper, 1.0), None);
            for side in [-0.5, 0.5] {
                let jamb = moved(opening.at, along_wall, side * opening.width_m);
                let reach = outline::WALL_M * 1.15;
                let path = vec![moved(jamb, across, -reach), moved(jamb, across, reach)];
                self.line(Some(&id), path, Stroke::solid(Tone::Ink, 2.0));
            }
            let sill = [-0.5, 0.5].map(|s| moved(opening.at, along_wall, s * opening.width_m));
            let dashed = Stroke::broken(Tone::InkSoft, 1.0, Dash::Dashed);
            self.line(Some(&id), sill.to_vec(), dashed);
            self.scene.items.push(Item { id, spoken: self.opening_spoken(opening), at: opening.at });
        }
    }

    fn opening_spoken(&self, opening: &Opening) -> String {
        let size = |m: f64| show(m, Kind::Length, self.units);
        let to = opening.to_zone.as_deref().unwrap_or("outside");
        format!(
            "Product opening {}, from {} to {to}, {} by {}",
            opening.id,
            opening.zone,
            size(opening.width_m),
            size(opening.height_m)
        )
    }

    pub(super) fn columns(&mut self) {
        for column in &self.plan.enclosure.columns {
            let id: ItemId = column.id.as_str().into();
            let body = rectangle(column.at, (1.0, 0.0), column.width_m, column.depth_m);
            self.room.keep_clear(&body, false);
            let edge = Stroke::solid(Tone::Ink, 1.2);
            self.polygon(Some(&id), body.clone(), Fill::Solid(Tone::Line, 1.0), Some(edge));
            for (a, b) in [(0, 2), (1, 3)] {
                self.line(Some(&id), vec![body[a], body[b]], Stroke::solid(Tone::InkSoft, 1.0));
            }
            let spoken = format!("Column {}, to keep clear", column.id);
            self.scene.items.push(Item { id, spoken, at: column.at });
        }
    }

    pub(super) fn conveyor(&mut self) {
        let Some(conveyor) = &self.plan.conveyor else { return };
        let path = conveyor.path.clone();
        let total = length_m(&path);
        if total <= 0.0 {
            return;
        }
        let rails = outline::thick_line(&path, 2.0 * RAIL_M);
        let half = rails.len() / 2;
        let (one, other) = (rails[..half].to_vec(), rails[half..].to_vec());
        let id: ItemId = CONVEYOR.into();
        for rail in [one, other] {
            self.line(Some(&id), rail, Stroke::solid(Tone::InkSoft, 1.0));
        }
        let spoken = format!("Conveyor, {} long", show(total, Kind::Length, self.units));
        self.scene.items.push(Item { id, spoken, at: path[0] });
        for pair in path.windows(2) {
            self.room.keep_clear(&outline::thick_line(pair, 0.3), false);
        }
        let spacing = (110.0 / self.scale).max(0.2);
        let size = 5.0 / self.scale;
        let mut station = spacing / 2.0;
        while station < total {
            let (at, d) = along(&path, station);
            self.chevron(at, d, size, Stroke::solid(Tone::Ink, 1.6));
            station += spacing;
        }
    }

    /// An open arrowhead at `at` pointing along `d`.
    pub(super) fn chevron(&mut self, at: Point, d: Vector, size_m: f64, stroke: Stroke) {
        let n = left(d);
        let tip = moved(at, d, size_m * 0.7);
        let tail = moved(at, d, -size_m * 0.7);
        self.line(None, vec![moved(tail, n, size_m), tip, moved(tail, n, -size_m)], stroke);
    }

    fn heater_frame(heater: &Heater) -> (Point, Vector, f64, f64) {
        // The box runs from the discharge past the intake; where they coincide it is square.
        let d = direction(heater.discharge, heater.intake).unwrap_or((0.0, 1.0));
        let apart = distance_m(heater.discharge, heater.intake);
        let long = apart.max(0.6) + 0.6;
        let wide = (long * 0.9).clamp(1.0, 2.2);
        (moved(heater.discharge, d, long / 2.0), d, long, wide)
    }

    pub(super) fn heater(&mut self) {
        let heater = &self.plan.heater;
        let id: ItemId = heater.id.as_str().into();
        let (middle, d, long, wide) = Self::heater_frame(heater);
        let body = rectangle(middle, d, long, wide);
        self.room.keep_clear(&body, false);
        let edge = Some(Stroke::solid(Tone::Ink, 1.6));
        self.polygon(Some(&id), body, Fill::Solid(Tone::Paper, 1.0), edge);
        self.fan_symbol(&id, d, wide);
        self.burner_symbol(&id, d, wide);
        let mark = |at| Form::Dot { at, radius_px: 3.0 };
        let fill = Some(Fill::Solid(Tone::Ink, 1.0));
        self.scene.push(Some(&id), mark(heater.discharge), fill, None);
        let hollow = Some(Fill::Solid(Tone::Paper, 1.0));
        let ring = Some(Stroke::solid(Tone::Ink, 1.4));
        self.scene.push(Some(&id), mark(heater.intake), hollow, ring);
        let speed = show(heater.fan.speed_rpm, Kind::Rotation, self.units);
        let spoken = format!(
            "Heater {}, supply {}, fan {} at {speed}",
            heater.id,
            show(heater.supply_temperature_c, Kind::Temperature, self.units),
            called(&heater.fan.name, "fan")
        );
        self.scene.items.push(Item { id, spoken, at: middle });
    }

    /// A fan in plan: scroll and wheel, the outlet towards the discharge.
    fn fan_symbol(&mut self, id: &ItemId, d: Vector, wide: f64) {
        let heater = &self.plan.heater;
        let radius = (wide * 0.2).min(0.34);
        let at = moved(heater.discharge, d, radius * 1.45);
        let pen = Stroke::solid(Tone::Ink, 1.2);
        // A spiral that opens by half its radius over one turn, then runs straight to the outlet.
        let scroll: Vec<Point> = (0..=28)
            .map(|k| {
                let t = f64::from(k) / 28.0;
                let angle = core::f64::consts::FRAC_PI_2 - t * 1.5 * core::f64::consts::PI;
                let r = radius * (1.0 + 0.28 * t);
                moved(at, turned(d, angle), r)
            })
            .collect();
        let n = left(d);
        let outlet = moved(heater.discharge, n, radius);
        let mut scroll_line = vec![outlet];
        scroll_line.extend(scroll);
        self.line(Some(id), scroll_line, pen);
        self.scene.push(Some(id), Form::Disc { at, radius_m: radius * 0.62 }, None, Some(pen));
        for k in 0..6 {
            let angle = f64::from(k) * core::f64::consts::FRAC_PI_3;
            let (inner, outer) = (turned(d, angle), turned(d, angle + 0.5));
            let blade = vec![moved(at, inner, radius * 0.22), moved(at, outer, radius * 0.6)];
            self.line(Some(id), blade, Stroke::solid(Tone::InkSoft, 1.0));
        }
    }

    /// A burner: a box with a flame at the intake's side.
    fn burner_symbol(&mut self, id: &ItemId, d: Vector, wide: f64) {
        let heater = &self.plan.heater;
        let size = (wide * 0.16).min(0.26);
        let n = left(d);
        let at = moved(moved(heater.intake, d, 0.28), n, wide * 0.5 - size);
        let flame: Vec<Point> =
            [(0.0, 1.0), (0.45, 0.25), (0.5, -0.35), (0.0, -0.8), (-0.5, -0.35), (-0.22, 0.1)]
                .into_iter()
                .map(|(x, y)| Point::new(at.x_m + x * size, at.y_m + y * size))
                .collect();
        let edge = Some(Stroke::solid(Tone::Ink, 1.0));
        self.polygon(Some(id), flame, Fill::Solid(Tone::Warn, 0.85), edge);
    }

    pub(super) fn exhausts(&mut self) {
        for exhaust in &self.plan.exhausts {
            let id: ItemId = exhaust.id.as_str().into();
            let edge = Some(Stroke::solid(Tone::Ink, 1.2));
            let fill = Some(Fill::Solid(Tone::Paper, 1.0));
            self.scene.push(Some(&id), Form::Disc { at: exhaust.at, radius_m: 0.16 }, fill, edge);
            for (a, b) in [((-1.0, -1.0), (1.0, 1.0)), ((-1.0, 1.0), (1.0, -1.0))] {
                let path = vec![moved(exhaust.at, a, 0.113), moved(exhaust.at, b, 0.113)];
                self.line(Some(&id), path, Stroke::solid(Tone::Ink, 1.0));
            }
            self.room.keep_clear(&rectangle(exhaust.at, (1.0, 0.0), 0.34, 0.34), false);
            let spoken = format!("Exhaust {}, {}", exhaust.id, self.exhaust_flow(exhaust));
            self.scene.items.push(Item { id, spoken, at: exhaust.at });
        }
    }

    fn exhaust_flow(&self, exhaust: &Exhaust) -> String {
        show(exhaust.mass_flow_kg_s, Kind::MassFlow, self.units)
    }

    pub(super) fn heater_label(&mut self) {
        let heater = &self.plan.heater;
        let (middle, d, long, wide) = Self::heater_frame(heater);
        let (half_x, half_y) =
            if d.1.abs() > d.0.abs() { (wide / 2.0, long / 2.0) } else { (long / 2.0, wide / 2.0) };
        let side = |x: f64, align| Spot {
            at: Point::new(middle.x_m + x, middle.y_m + half_y),
            shift_px: (8.0 * x.signum(), 8.0),
            align,
            on: None,
            most_px: f64::INFINITY,
        };
        let top = Spot {
            at: Point::new(middle.x_m, middle.y_m + half_y),
            shift_px: (0.0, -9.0),
            align: Align::Middle,
            on: None,
            most_px: f64::INFINITY,
        };
        let spots = [side(half_x, Align::Start), top, side(-half_x, Align::End)];
        let speed = show(heater.fan.speed_rpm, Kind::Rotation, self.units);
        let supply = show(heater.supply_temperature_c, Kind::Temperature, self.units);
        let words =
            [format!("Heater · {supply} · fan {speed}"), format!("Heater · {supply}"), "Heater".to_owned()];
        self.label(&words, &text(middle, ""), &spots);
    }

    pub(super) fn zone_labels(&mut self) {
        for zone in &self.plan.zones {
            let Some(b) = Bounds::around(zone.outline.iter().copied()) else { continue };
            let set = show(zone.set_temperature_c, Kind::Temperature, self.units);
            let name = called(&zone.name, &zone.id);
            let found = self.analysis.and_then(|a| a.zones.iter().find(|z| z.id == zone.id));
            let mut words = Vec::new();
            if let Some(found) = found.filter(|z| z.pressure_pa.abs() >= 0.05) {
                let pressure = show(found.pressure_pa, Kind::Pressure, self.units);
                words.push(format!("{name} · set {set} · {pressure}"));
            }
            words.extend([format!("{name} · set {set}"), format!("{name} {set}"), name.to_owned()]);
            let corner = |x: f64, y: f64, right: bool, up: f64| Spot {
                at: Point::new(x, y),
                shift_px: (if right { -10.0 } else { 10.0 }, up),
                align: if right { Align::End } else { Align::Start },
                on: None,
                most_px: f64::INFINITY,
            };
            let spots = [
                corner(b.min.x_m, b.min.y_m, false, -12.0),
                corner(b.min.x_m, b.max.y_m, false, 14.0),
                corner(b.max.x_m, b.min.y_m, true, -12.0),
                corner(b.max.x_m, b.max.y_m, true, 14.0),
            ];
            let like = Text { size_px: 13.0, bold: true, tone: Tone::InkSoft, ..text(b.min, "") };
            self.label(&words, &like, &spots);
        }
    }

    /// Conveyor, exhausts and openings: nice to have where room is left.
    pub(super) fn small_labels(&mut self) {
        if let Some(conveyor) = &self.plan.conveyor {
            let speed = show(conveyor.speed_m_s, Kind::LineSpeed, self.units);
            let words = [format!("Conveyor {speed}"), speed];
            let total = length_m(&conveyor.path);
            let spots: Vec<Spot> = [0.5, 0.62, 0.38, 0.75, 0.25]
                .into_iter()
                .flat_map(|f| {
                    let at = along(&conveyor.path, f * total).0;
                    [-11.0, 11.0].map(|dy| Spot {
                        at,
                        shift_px: (0.0, dy),
                        align: Align::Middle,
                        on: None,
                        most_px: f64::INFINITY,
                    })
                })
                .collect();
            self.label(&words, &Text { tone: Tone::InkSoft, ..text(conveyor.path[0], "") }, &spots);
        }
        for exhaust in &self.plan.exhausts {
            let words = [format!("Exhaust {}", self.exhaust_flow(exhaust)), "Exhaust".to_owned()];
            let reach = 0.16 * self.scale + 8.0;
            let spots = [(reach, Align::Start), (-reach, Align::End)].map(|(dx, align)| Spot {
                at: exhaust.at,
                shift_px: (dx, 0.0),
                align,
                on: None,
                most_px: f64::INFINITY,
            });
            self.label(&words, &Text { tone: Tone::InkSoft, ..text(exhaust.at, "") }, &spots);
        }
        for opening in &self.plan.openings {
            let like = Text { tone: Tone::InkSoft, size_px: 10.0, ..text(opening.at, "") };
            let n = left(self.wall_direction(opening.at));
            let beside = opening.width_m / 2.0 * self.scale + 9.0;
            let clear = (outline::WALL_M + 0.1) * self.scale + 5.0;
            // In front of the wall, clear of the conveyor: first on the side away from its zone.
            let zone = self.plan.zones.iter().find(|z| z.id == opening.zone);
            let inward = zone.is_some_and(|z| inside(&z.outline, moved(opening.at, n, 0.5)));
            let out = if inward { -1.0 } else { 1.0 };
            let level = n.0.abs() > n.1.abs();
            let spots: Vec<Spot> = [(out, 1.0), (out, -1.0), (-out, 1.0), (-out, -1.0)]
                .into_iter()
                .map(|(front, side)| {
                    let (dx, dy) = (n.0 * front * clear, -n.1 * front * clear);
                    let (shift_px, align) = if level {
                        ((dx, side * beside), if dx > 0.0 { Align::Start } else { Align::End })
                    } else {
                        ((side * beside, dy), if side > 0.0 { Align::Start } else { Align::End })
                    };
                    Spot { at: opening.at, shift_px, align, on: None, most_px: f64::INFINITY }
                })
                .collect();
            if self.scale >= 20.0 {
                self.label(std::slice::from_ref(&opening.id), &like, &spots);
            }
        }
    }
}
