//! What the hand draws on the board becomes items of the plan.

use super::add::{default_section, new_column, new_conveyor, new_duct, new_exhaust, new_opening};
use super::add::{new_return, new_slot_row, new_zone};
use super::{CONVEYOR, ENCLOSURE, fresh_id};
use engine::error::EngineError;
use engine::plan::geometry::{direction, distance_m, inside, length_m, nearest, section_at, zone_at};
use engine::plan::{BladeDamper, DuctRole, Plan, Point, Section, SizeStep};

/// Something drawn, with its places on the floor.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawn {
    /// The outline of the box; it takes the place of the one before.
    Outline(Vec<Point>),
    /// An inner wall.
    Wall(Vec<Point>),
    /// A building column, by its middle.
    Column(Point),
    /// The outline of a zone.
    Zone(Vec<Point>),
    /// An opening that parts pass through, by its middle.
    Opening(Point),
    /// The path of the parts; it takes the place of the one before.
    Conveyor(Vec<Point>),
    /// Where the heater blows and where it draws.
    Heater {
        /// Where the supply trunk begins.
        discharge: Point,
        /// Where return ducts end.
        intake: Point,
    },
    /// A duct by its centre line.
    Duct {
        /// What it carries.
        role: DuctRole,
        /// Its points, the way the air goes.
        path: Vec<Point>,
    },
    /// A row of slots from one station of a duct to another.
    Slots {
        /// The duct.
        duct: String,
        /// Middle of the one end's slot, m.
        from_m: f64,
        /// Middle of the other end's slot, m.
        to_m: f64,
        /// About from middle to middle, m: the row is divided evenly.
        pitch_m: f64,
    },
    /// A change of size along a duct.
    Step {
        /// The duct.
        duct: String,
        /// Where, m.
        station_m: f64,
    },
    /// A return opening on a return duct, or in the wall of the heater's intake.
    Return {
        /// The duct.
        duct: Option<String>,
        /// Along it, m.
        station_m: f64,
        /// Where on the floor.
        at: Point,
    },
    /// Air drawn to outside.
    Exhaust(Point),
}

impl Drawn {
    /// What was drawn, in a word.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Outline(_) => "outline",
            Self::Wall(_) => "inner wall",
            Self::Column(_) => "column",
            Self::Zone(_) => "zone",
            Self::Opening(_) => "opening",
            Self::Conveyor(_) => "conveyor",
            Self::Heater { .. } => "heater",
            Self::Duct { role: DuctRole::Supply, .. } => "duct",
            Self::Duct { role: DuctRole::Return, .. } => "return duct",
            Self::Duct { role: DuctRole::Transfer, .. } => "transfer duct",
            Self::Slots { .. } => "slot row",
            Self::Step { .. } => "change of size",
            Self::Return { .. } => "return",
            Self::Exhaust(_) => "exhaust",
        }
    }
}

fn refuse(what: &str, problem: &str, remedy: &str) -> EngineError {
    EngineError::new(what, problem, remedy)
}

/// `path` without points that repeat the one before or lie on the way.
fn tidy(path: &[Point], closed: bool) -> Vec<Point> {
    let mut tidy: Vec<Point> = Vec::with_capacity(path.len());
    for &p in path {
        while let [.., a, b] = tidy[..]
            && direction(a, b) == direction(b, p)
        {
            tidy.pop();
        }
        if tidy.last().is_none_or(|last| distance_m(*last, p) > 1e-9) {
            tidy.push(p);
        }
    }
    if closed && tidy.len() > 1 && distance_m(tidy[0], tidy[tidy.len() - 1]) < 1e-9 {
        tidy.pop();
    }
    tidy
}

/// The corners of an outline; where the last and the first are not level or upright, with one between.
pub fn closed_outline(points: &[Point]) -> Vec<Point> {
    let mut ring = tidy(points, true);
    if let [first, .., before, last] = ring[..]
        && (last.x_m - first.x_m).abs() > 1e-9
        && (last.y_m - first.y_m).abs() > 1e-9
    {
        // The next edge turns from the last one.
        let level = (last.y_m - before.y_m).abs() < 1e-9;
        ring.push(if level { Point::new(last.x_m, first.y_m) } else { Point::new(first.x_m, last.y_m) });
        ring = tidy(&ring, true);
    }
    ring
}

fn area_m2(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a.x_m * b.y_m - b.x_m * a.y_m).sum::<f64>().abs() / 2.0
}

fn outline(points: &[Point], what: &str) -> Result<Vec<Point>, EngineError> {
    let ring = closed_outline(points);
    if ring.len() < 3 || area_m2(&ring) < 1e-4 {
        return Err(refuse(what, "encloses no floor", "draw at least three corners"));
    }
    Ok(ring)
}

fn line(points: &[Point], what: &str) -> Result<Vec<Point>, EngineError> {
    let path = tidy(points, false);
    if path.len() < 2 {
        return Err(refuse(what, "has no length", "draw it from one point to another"));
    }
    Ok(path)
}

/// Draws; the name of the item to select.
pub(super) fn draw(plan: &mut Plan, drawn: &Drawn) -> Result<String, EngineError> {
    match drawn {
        Drawn::Outline(points) => {
            plan.enclosure.outline = outline(points, "outline")?;
            Ok(ENCLOSURE.to_owned())
        }
        Drawn::Wall(points) => {
            let wall = line(points, "inner wall")?;
            if plan.enclosure.outline.is_empty() {
                return Err(refuse("inner wall", "has no enclosure around it", "draw the outline first"));
            }
            plan.enclosure.walls.push(wall);
            Ok(ENCLOSURE.to_owned())
        }
        Drawn::Column(at) => {
            let column = new_column(plan, *at);
            plan.enclosure.columns.push(column);
            Ok(last(&plan.enclosure.columns, |item| &item.id))
        }
        Drawn::Zone(points) => {
            let zone = new_zone(plan, outline(points, "zone")?);
            plan.zones.push(zone);
            Ok(last(&plan.zones, |item| &item.id))
        }
        Drawn::Opening(at) => {
            let (zone, to_zone) = sides(plan, *at)?;
            let mut opening = new_opening(plan, zone, *at);
            opening.to_zone = to_zone;
            plan.openings.push(opening);
            Ok(last(&plan.openings, |item| &item.id))
        }
        Drawn::Conveyor(points) => {
            let path = line(points, "conveyor")?;
            match &mut plan.conveyor {
                Some(conveyor) => conveyor.path = path,
                none => *none = Some(new_conveyor(path)),
            }
            Ok(CONVEYOR.to_owned())
        }
        Drawn::Heater { discharge, intake } => {
            if distance_m(*discharge, *intake) < 0.05 {
                return Err(refuse("heater", "would draw where it blows", "place the intake apart"));
            }
            (plan.heater.discharge, plan.heater.intake) = (*discharge, *intake);
            Ok(plan.heater.id.clone())
        }
        Drawn::Duct { role, path } => duct(plan, *role, line(path, "duct")?),
        Drawn::Slots { duct, from_m, to_m, pitch_m } => slots(plan, duct, (*from_m, *to_m), *pitch_m),
        Drawn::Step { duct, station_m } => step(plan, duct, *station_m),
        Drawn::Return { duct, station_m, at } => {
            let opening = new_return(plan, duct.as_deref(), *station_m, *at);
            plan.returns.push(opening);
            Ok(last(&plan.returns, |item| &item.id))
        }
        Drawn::Exhaust(at) => {
            let zone = zone_at(plan, *at)
                .ok_or_else(|| refuse("exhaust", "has no zone to draw from", "draw a zone first"))?;
            let zone = plan.zones[zone].id.clone();
            let exhaust = new_exhaust(plan, zone, *at);
            plan.exhausts.push(exhaust);
            Ok(last(&plan.exhausts, |item| &item.id))
        }
    }
}

fn last<T>(items: &[T], id: fn(&T) -> &String) -> String {
    items.last().map(id).cloned().unwrap_or_default()
}

fn duct(plan: &mut Plan, role: DuctRole, path: Vec<Point>) -> Result<String, EngineError> {
    let from_heater = distance_m(path[0], plan.heater.discharge) < 0.05;
    let stem = match role {
        DuctRole::Supply if from_heater => "trunk",
        DuctRole::Supply => "run",
        DuctRole::Return => "return-duct",
        DuctRole::Transfer => "transfer",
    };
    let section = default_section(role, role == DuctRole::Supply && !from_heater);
    let id = fresh_id(plan, stem);
    let mut duct = new_duct(&id, role, path, section);
    if role == DuctRole::Transfer {
        duct.damper = Some(BladeDamper::new(100.0));
    }
    plan.ducts.push(duct);
    Ok(id)
}

/// The zones on both sides of the wall nearest to `at`: from where, and to where unless outside.
fn sides(plan: &Plan, at: Point) -> Result<(String, Option<String>), EngineError> {
    let way = nearest_wall(plan, at).map_or((1.0, 0.0), |(_, way)| way);
    let zone_beside = |sign: f64| {
        let p = Point::new(at.x_m - way.1 * 0.3 * sign, at.y_m + way.0 * 0.3 * sign);
        plan.zones.iter().find(|zone| inside(&zone.outline, p)).map(|zone| zone.id.clone())
    };
    match (zone_beside(1.0), zone_beside(-1.0)) {
        (Some(one), Some(other)) if one != other => Ok((one, Some(other))),
        (Some(one), _) | (None, Some(one)) => Ok((one, None)),
        (None, None) => zone_at(plan, at)
            .map(|zone| (plan.zones[zone].id.clone(), None))
            .ok_or_else(|| refuse("opening", "has no zone to open from", "draw a zone first")),
    }
}

/// The place on the nearest wall to `p` and the wall's direction; none without walls.
pub fn nearest_wall(plan: &Plan, p: Point) -> Option<(Point, (f64, f64))> {
    let mut ring = plan.enclosure.outline.clone();
    ring.extend(plan.enclosure.outline.first().copied());
    std::iter::once(&ring)
        .chain(&plan.enclosure.walls)
        .flat_map(|path| path.windows(2))
        .map(|pair| (nearest(pair, p), pair))
        .filter(|((_, away), _)| away.is_finite())
        .min_by(|a, b| a.0.1.total_cmp(&b.0.1))
        .map(|((station_m, _), pair)| {
            let way = direction(pair[0], pair[1]);
            (Point::new(pair[0].x_m + way.0 * station_m, pair[0].y_m + way.1 * station_m), way)
        })
}

fn slots(plan: &mut Plan, duct: &str, span: (f64, f64), pitch_m: f64) -> Result<String, EngineError> {
    let (from_m, to_m) = (span.0.min(span.1), span.0.max(span.1));
    // Divided evenly, so that the first and the last slot are where they were drawn.
    let gaps = ((to_m - from_m) / pitch_m).round().clamp(0.0, 4_999.0);
    let mut row = new_slot_row(plan, duct)?;
    row.first_station_m = from_m;
    row.count = gaps as u32 + 1;
    row.pitch_m = if gaps > 0.0 { ((to_m - from_m) / gaps * 1e6).round() / 1e6 } else { pitch_m };
    plan.slot_rows.push(row);
    Ok(last(&plan.slot_rows, |item| &item.id))
}

fn step(plan: &mut Plan, duct: &str, station_m: f64) -> Result<String, EngineError> {
    let found = plan
        .ducts
        .iter_mut()
        .find(|item| item.id == duct)
        .ok_or_else(|| refuse("change of size", "has no duct to be in", "draw a duct first"))?;
    if !(0.0..=length_m(&found.path)).contains(&station_m) {
        return Err(refuse(duct, "ends before that place", "choose a place along it"));
    }
    // Three quarters as wide, on a round number: runs have left the trunk by then.
    let narrower = |m: f64| (m * 0.75 / 0.025).round().max(1.0) * 0.025;
    let clean = |m: f64| (m * 1e6).round() / 1e6;
    let section = match section_at(found, station_m) {
        Section::Rectangular { width_m, height_m } => {
            Section::Rectangular { width_m: clean(narrower(width_m)), height_m }
        }
        Section::Round { diameter_m } => Section::Round { diameter_m: clean(narrower(diameter_m)) },
    };
    found.steps.push(SizeStep { station_m, section });
    engine::numerics::sort_short(&mut found.steps, |a, b| a.station_m.total_cmp(&b.station_m));
    Ok(duct.to_owned())
}
