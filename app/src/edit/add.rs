//! New items, placed where they make sense and sized so that they can be seen and worked on.

use super::{CONVEYOR, ENCLOSURE, all_ids, floor, path};
use engine::error::EngineError;
use engine::plan::{
    Column, Conveyor, Duct, DuctRole, Exhaust, Extra, FixedLoss, Opening, Plan, Point, ReturnOpening,
    Section, Sensor, SensorKind, SlotRow, Zone, geometry,
};

/// What can be added.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NewItem {
    /// The box, where there is none.
    Enclosure,
    /// A zone over the whole enclosure.
    Zone,
    /// An opening in the enclosure's left wall.
    Opening,
    /// A building column.
    Column,
    /// The path of the parts, where there is none.
    Conveyor,
    /// A loss in series with the fan.
    FixedLoss,
    /// A duct from the heater: the trunk from its discharge, a return to its intake.
    Duct(DuctRole),
    /// A run that starts on another duct.
    Branch {
        /// The duct it starts on.
        from: String,
    },
    /// Slots along a duct.
    SlotRow {
        /// The duct.
        duct: String,
    },
    /// A return opening, in a return duct or in the intake plenum.
    Return {
        /// The duct.
        duct: Option<String>,
    },
    /// Air drawn to outside.
    Exhaust,
    /// A temperature sensor.
    Sensor,
}

impl NewItem {
    /// The word on the button: "Add ...".
    pub fn word(&self) -> &'static str {
        match self {
            Self::Enclosure => "enclosure",
            Self::Zone => "zone",
            Self::Opening => "opening",
            Self::Column => "column",
            Self::Conveyor => "conveyor",
            Self::FixedLoss => "fixed loss",
            Self::Duct(DuctRole::Supply) => "trunk",
            Self::Duct(DuctRole::Transfer) => "transfer duct",
            Self::Duct(DuctRole::Return) => "return duct",
            Self::Branch { .. } => "run",
            Self::SlotRow { .. } => "slot row",
            Self::Return { .. } => "return",
            Self::Exhaust => "exhaust",
            Self::Sensor => "sensor",
        }
    }
}

/// `stem-1`, `stem-2`, ...: the first that is free.
pub fn fresh_id(plan: &Plan, stem: &str) -> String {
    let taken = all_ids(plan);
    (1..).map(|n| format!("{stem}-{n}")).find(|id| !taken.contains(&id.as_str())).unwrap_or_default()
}

fn needs(place: &str, what: &str, remedy: &str) -> EngineError {
    EngineError::new(place, what, remedy)
}

pub(super) fn add(plan: &mut Plan, item: &NewItem) -> Result<String, EngineError> {
    match item {
        NewItem::Enclosure => {
            if plan.enclosure.outline.is_empty() {
                plan.enclosure.outline = path::rectangle(Point::new(0.0, 0.0), 12.0, 4.0);
                // The heater stands outside the back wall until somebody puts it elsewhere.
                plan.heater.discharge = Point::new(6.0, 4.6);
                plan.heater.intake = Point::new(6.0, 5.6);
            }
            Ok(ENCLOSURE.to_owned())
        }
        NewItem::Zone => zone(plan),
        NewItem::Opening => opening(plan),
        NewItem::Column => {
            let (_, high) = floor::bounds(&plan.enclosure.outline);
            let column = new_column(plan, Point::new(high.x_m + 0.6, high.y_m / 2.0));
            let id = column.id.clone();
            plan.enclosure.columns.push(column);
            Ok(id)
        }
        NewItem::Conveyor => {
            let (low, high) = floor::bounds(&plan.enclosure.outline);
            let y = (low.y_m + high.y_m) / 2.0;
            plan.conveyor.get_or_insert_with(|| {
                new_conveyor(vec![Point::new(low.x_m - 1.5, y), Point::new(high.x_m + 1.5, y)])
            });
            Ok(CONVEYOR.to_owned())
        }
        NewItem::FixedLoss => {
            let id = fresh_id(plan, "loss");
            plan.heater.fixed_losses.push(FixedLoss {
                id: id.clone(),
                name: String::new(),
                flow_m3_s: 1.0,
                drop_pa: 50.0,
                dirty_drop_pa: None,
                dirt_percent: 0.0,
                density_kg_m3: 1.2,
                extra: Extra::new(),
            });
            Ok(id)
        }
        NewItem::Duct(role) => duct(plan, *role),
        NewItem::Branch { from } => branch(plan, from),
        NewItem::SlotRow { duct } => slot_row(plan, duct),
        NewItem::Return { duct } => return_opening(plan, duct.as_deref()),
        NewItem::Exhaust => {
            let zone = plan.zones.first().ok_or_else(|| {
                needs("exhaust", "has no zone to draw from", "add a zone in step Layout first")
            })?;
            let (_, high) = floor::bounds(&zone.outline);
            let (zone, at) = (zone.id.clone(), Point::new(high.x_m - 0.5, high.y_m - 0.2));
            let exhaust = new_exhaust(plan, zone, at);
            let id = exhaust.id.clone();
            plan.exhausts.push(exhaust);
            Ok(id)
        }
        NewItem::Sensor => Ok(sensor(plan)),
    }
}

/// In the first zone without a control sensor, over its middle; a limit at the heater when all have one.
fn sensor(plan: &mut Plan) -> String {
    let id = fresh_id(plan, "sensor");
    let controls = |zone: &Zone| {
        plan.sensors.iter().any(|s| s.kind == SensorKind::Control && s.zone.as_ref() == Some(&zone.id))
    };
    let free = plan.zones.iter().find(|zone| !controls(zone));
    let (kind, zone, at) = match free {
        Some(zone) => {
            let (low, high) = floor::bounds(&zone.outline);
            let at = Point::new((low.x_m + high.x_m) / 2.0, (low.y_m + high.y_m) / 2.0);
            (SensorKind::Control, Some(zone.id.clone()), at)
        }
        None => (SensorKind::Limit, None, plan.heater.discharge),
    };
    let (name, height_m, set_c) = (String::new(), 1.5, None);
    plan.sensors.push(Sensor { id: id.clone(), name, kind, zone, at, height_m, set_c, extra: Extra::new() });
    id
}

fn zone(plan: &mut Plan) -> Result<String, EngineError> {
    if plan.enclosure.outline.is_empty() {
        return Err(needs("zone", "has no enclosure around it", "add the enclosure first"));
    }
    let zone = new_zone(plan, plan.enclosure.outline.clone());
    let id = zone.id.clone();
    plan.zones.push(zone);
    Ok(id)
}

fn opening(plan: &mut Plan) -> Result<String, EngineError> {
    let zone = plan
        .zones
        .first()
        .ok_or_else(|| needs("opening", "has no zone to open from", "add a zone in step Layout first"))?;
    let (low, high) = floor::bounds(&zone.outline);
    let (zone, at) = (zone.id.clone(), Point::new(low.x_m, (low.y_m + high.y_m) / 2.0));
    let opening = new_opening(plan, zone, at);
    let id = opening.id.clone();
    plan.openings.push(opening);
    Ok(id)
}

pub(super) fn new_column(plan: &Plan, at: Point) -> Column {
    Column { id: fresh_id(plan, "column"), at, width_m: 0.4, depth_m: 0.4, extra: Extra::new() }
}

pub(super) fn new_conveyor(path: Vec<Point>) -> Conveyor {
    Conveyor { path, part_height_m: 1.5, speed_m_s: 0.03, extra: Extra::new() }
}

pub(super) fn new_exhaust(plan: &Plan, zone: String, at: Point) -> Exhaust {
    Exhaust { id: fresh_id(plan, "exhaust"), zone, at, mass_flow_kg_s: 0.1, extra: Extra::new() }
}

pub(super) fn new_zone(plan: &Plan, outline: Vec<Point>) -> Zone {
    Zone::new(fresh_id(plan, "zone"), outline, 180.0)
}

pub(super) fn new_opening(plan: &Plan, zone: String, at: Point) -> Opening {
    Opening {
        id: fresh_id(plan, "opening"),
        zone,
        to_zone: None,
        at,
        width_m: 1.0,
        height_m: 1.8,
        sill_m: 0.6,
        curtain_effectiveness: None,
        discharge_coefficient: 0.65,
        extra: Extra::new(),
    }
}

/// The inside size that new ducts begin with.
pub fn default_section(role: DuctRole, run: bool) -> Section {
    let (width_m, height_m) = if run && role == DuctRole::Supply { (0.4, 0.3) } else { (0.6, 0.4) };
    Section::Rectangular { width_m, height_m }
}

pub(super) fn new_duct(id: &str, role: DuctRole, path: Vec<Point>, section: Section) -> Duct {
    Duct::new(id, role, path, section)
}

fn duct(plan: &mut Plan, role: DuctRole) -> Result<String, EngineError> {
    let (low, high) = floor::bounds(&plan.enclosure.outline);
    let (discharge, intake) = (plan.heater.discharge, plan.heater.intake);
    let section = default_section(role, false);
    let (stem, path) = match role {
        DuctRole::Supply => {
            // Into the enclosure, across most of its depth.
            let inward = if discharge.y_m >= (low.y_m + high.y_m) / 2.0 { -1.0 } else { 1.0 };
            let reach = (high.y_m - low.y_m).max(2.0) * 0.75;
            ("trunk", vec![discharge, Point::new(discharge.x_m, discharge.y_m + inward * reach)])
        }
        DuctRole::Transfer => {
            let end = Point::new((low.x_m + discharge.x_m) / 2.0, discharge.y_m);
            ("transfer", vec![discharge, end])
        }
        DuctRole::Return => {
            let wall = if intake.y_m > high.y_m { high.y_m - 0.3 } else { intake.y_m.max(low.y_m) };
            let far = Point::new(low.x_m + 0.6, wall);
            let corner = Point::new(intake.x_m - 1.2, wall);
            let up = Point::new(intake.x_m - 1.2, intake.y_m);
            let mut path = vec![far, corner, up, intake];
            path.dedup_by(|a, b| geometry::distance_m(*a, *b) < 1e-6);
            ("return-duct", path)
        }
    };
    let id = fresh_id(plan, stem);
    plan.ducts.push(new_duct(&id, role, path, section));
    Ok(id)
}

fn branch(plan: &mut Plan, from: &str) -> Result<String, EngineError> {
    let parent = plan
        .ducts
        .iter()
        .find(|duct| duct.id == from)
        .ok_or_else(|| needs("run", "has no duct to start on", "add a trunk first"))?;
    let (role, length) = (parent.role, geometry::length_m(&parent.path));
    // Runs leave square to their trunk, in turn to the one and the other side, each further on.
    let on_parent = plan.ducts.iter().filter(|duct| {
        duct.id != from && duct.path.first().is_some_and(|&p| geometry::nearest(&parent.path, p).1 < 0.05)
    });
    let number = on_parent.count();
    let station = length * (1.0 - 0.25 * ((number / 2 % 4) as f64));
    let (start, (dx, dy)) = geometry::along(&parent.path, station);
    let side = if number % 2 == 0 { 1.0 } else { -1.0 };
    let direction = (-dy * side, dx * side);
    // Up to half a metre before the wall it runs towards.
    let (low, high) = floor::bounds(&plan.enclosure.outline);
    let to_wall = |at: f64, way: f64, low: f64, high: f64| {
        if way > 0.5 {
            high - at - 0.5
        } else if way < -0.5 {
            at - low - 0.5
        } else {
            f64::INFINITY
        }
    };
    let reach = to_wall(start.x_m, direction.0, low.x_m, high.x_m).min(to_wall(
        start.y_m,
        direction.1,
        low.y_m,
        high.y_m,
    ));
    let reach = if reach.is_finite() && reach > 0.5 { reach } else { 4.0 };
    let end = Point::new(start.x_m + direction.0 * reach, start.y_m + direction.1 * reach);
    let id = fresh_id(plan, "run");
    let section = Section::Rectangular { width_m: 0.4, height_m: 0.3 };
    let role = if role == DuctRole::Return { DuctRole::Return } else { DuctRole::Supply };
    plan.ducts.push(new_duct(&id, role, vec![start, end], section));
    Ok(id)
}

fn slot_row(plan: &mut Plan, duct: &str) -> Result<String, EngineError> {
    let row = new_slot_row(plan, duct)?;
    let id = row.id.clone();
    plan.slot_rows.push(row);
    Ok(id)
}

/// A row along the whole of `duct`.
pub(super) fn new_slot_row(plan: &Plan, duct: &str) -> Result<SlotRow, EngineError> {
    let found = plan
        .ducts
        .iter()
        .find(|item| item.id == duct)
        .ok_or_else(|| needs("slot row", "has no duct to be cut in", "add a run in step Layout first"))?;
    if found.role == DuctRole::Return {
        return Err(needs(
            "slot row",
            "belongs in a supply duct; this one returns air",
            "choose a supply duct",
        ));
    }
    let length = geometry::length_m(&found.path);
    let pitch_m = 0.5_f64.min(length / 2.0);
    let count = ((length - pitch_m / 2.0) / pitch_m).floor().clamp(1.0, 400.0) as u32;
    let width_m = (plan.shop.min_width_m.max(0.008)).min(plan.shop.max_width_m);
    let id = fresh_id(plan, &format!("slots-{duct}"));
    Ok(SlotRow::new(id, duct, (pitch_m / 2.0, pitch_m, count), 0.3, width_m))
}

fn return_opening(plan: &mut Plan, duct: Option<&str>) -> Result<String, EngineError> {
    let station_m = match duct {
        Some(duct) => {
            let found = plan.ducts.iter().find(|item| item.id == duct).ok_or_else(|| {
                needs("return", "has no duct to open into", "add a return duct in step Layout first")
            })?;
            let taken = plan.returns.iter().filter(|item| item.duct.as_deref() == Some(duct));
            let last = taken.map(|item| item.station_m).fold(-1.0, f64::max);
            (last + 1.5).clamp(0.5, (geometry::length_m(&found.path) - 0.5).max(0.5))
        }
        None => 0.0,
    };
    let opening = new_return(plan, duct, station_m, plan.heater.intake);
    let id = opening.id.clone();
    plan.returns.push(opening);
    Ok(id)
}

/// An opening at a station of `duct`, or at `at` in the intake plenum.
pub(super) fn new_return(plan: &Plan, duct: Option<&str>, station_m: f64, at: Point) -> ReturnOpening {
    ReturnOpening {
        duct: duct.map(str::to_owned),
        station_m,
        at: duct.is_none().then_some(at),
        ..ReturnOpening::new(fresh_id(plan, "return"), 0.5, 0.4, 0.3)
    }
}
