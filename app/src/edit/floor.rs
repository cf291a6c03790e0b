//! Site, enclosure, columns, zones, openings, conveyor and exhausts.

use super::path::{self, PathEdit};
use engine::error::EngineError;
use engine::plan::{Column, Conveyor, Enclosure, Exhaust, Opening, Point, Site, Zone};

/// A change of where the oven stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SiteEdit {
    /// Above sea level, m.
    Altitude(f64),
    /// A barometer reading, Pa; none goes by the altitude.
    Barometer(Option<f64>),
    /// Air in the plant, °C.
    Ambient(f64),
    /// Water in the oven air, kg/kg.
    Humidity(f64),
}

/// A change of the box.
#[derive(Clone, Debug, PartialEq)]
pub enum EnclosureEdit {
    /// Its outline becomes this rectangle.
    Rectangle {
        /// Lower left corner.
        corner: Point,
        /// Along x, m.
        length_m: f64,
        /// Along y, m.
        depth_m: f64,
    },
    /// A corner of the outline.
    Outline(PathEdit),
    /// Inside height, m.
    Height(f64),
    /// A new inner wall across the middle.
    AddWall,
    /// A point of an inner wall.
    Wall {
        /// Which wall, from 0.
        wall: usize,
        /// What changes.
        edit: PathEdit,
    },
    /// An inner wall goes.
    RemoveWall(usize),
}

/// A change of a building column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ColumnEdit {
    /// Its middle.
    At(Point),
    /// Along x, m.
    Width(f64),
    /// Along y, m.
    Depth(f64),
}

/// A change of a zone.
#[derive(Clone, Debug, PartialEq)]
pub enum ZoneEdit {
    /// What people call it.
    Name(String),
    /// Its outline becomes this rectangle.
    Rectangle {
        /// Lower left corner.
        corner: Point,
        /// Along x, m.
        length_m: f64,
        /// Along y, m.
        depth_m: f64,
    },
    /// A corner of the outline.
    Outline(PathEdit),
    /// Temperature it is held at, °C.
    SetTemperature(f64),
}

/// A change of an opening.
#[derive(Clone, Debug, PartialEq)]
pub enum OpeningEdit {
    /// The zone it opens from.
    Zone(String),
    /// The zone it leads to; none for outside.
    ToZone(Option<String>),
    /// Its middle.
    At(Point),
    /// Clear width, m.
    Width(f64),
    /// Clear height, m.
    Height(f64),
    /// Lower edge above the floor, m.
    Sill(f64),
    /// Discharge coefficient.
    Coefficient(f64),
}

/// A change of the path of the parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ConveyorEdit {
    /// A point of the path.
    Path(PathEdit),
    /// Middle of the part above the floor, m.
    PartHeight(f64),
    /// Line speed, m/s.
    Speed(f64),
}

/// A change of an exhaust.
#[derive(Clone, Debug, PartialEq)]
pub enum ExhaustEdit {
    /// The zone it draws from.
    Zone(String),
    /// Where it leaves.
    At(Point),
    /// Mass flow, kg/s.
    Flow(f64),
}

pub(super) fn site(site: &mut Site, edit: &SiteEdit) {
    match *edit {
        SiteEdit::Altitude(v) => site.altitude_m = v,
        SiteEdit::Barometer(v) => site.barometer_pa = v,
        SiteEdit::Ambient(v) => site.ambient_c = v,
        SiteEdit::Humidity(v) => site.oven_humidity_ratio = v,
    }
}

pub(super) fn enclosure(enclosure: &mut Enclosure, edit: &EnclosureEdit) -> Result<(), EngineError> {
    match *edit {
        EnclosureEdit::Rectangle { corner, length_m, depth_m } => {
            enclosure.outline = path::rectangle(corner, length_m, depth_m);
        }
        EnclosureEdit::Outline(edit) => path::apply(&mut enclosure.outline, edit, 3, true)?,
        EnclosureEdit::Height(v) => enclosure.height_m = v,
        EnclosureEdit::AddWall => {
            let (low, high) = bounds(&enclosure.outline);
            let x = (low.x_m + high.x_m) / 2.0;
            enclosure.walls.push(vec![Point::new(x, low.y_m), Point::new(x, high.y_m)]);
        }
        EnclosureEdit::Wall { wall, edit } => {
            let wall = enclosure.walls.get_mut(wall).ok_or_else(no_wall)?;
            path::apply(wall, edit, 2, false)?;
        }
        EnclosureEdit::RemoveWall(wall) => {
            if wall >= enclosure.walls.len() {
                return Err(no_wall());
            }
            enclosure.walls.remove(wall);
        }
    }
    Ok(())
}

fn no_wall() -> EngineError {
    EngineError::new("inner wall", "is no longer in the plan", "choose another wall")
}

/// Lowest and highest x and y of `outline`.
pub(super) fn bounds(outline: &[Point]) -> (Point, Point) {
    let Some(&first) = outline.first() else { return (Point::new(0.0, 0.0), Point::new(0.0, 0.0)) };
    outline.iter().fold((first, first), |(low, high), p| {
        (
            Point::new(low.x_m.min(p.x_m), low.y_m.min(p.y_m)),
            Point::new(high.x_m.max(p.x_m), high.y_m.max(p.y_m)),
        )
    })
}

pub(super) fn column(column: &mut Column, edit: &ColumnEdit) {
    match *edit {
        ColumnEdit::At(at) => column.at = at,
        ColumnEdit::Width(v) => column.width_m = v,
        ColumnEdit::Depth(v) => column.depth_m = v,
    }
}

pub(super) fn zone(zone: &mut Zone, edit: &ZoneEdit) -> Result<(), EngineError> {
    match edit {
        ZoneEdit::Name(name) => zone.name.clone_from(name),
        ZoneEdit::Rectangle { corner, length_m, depth_m } => {
            zone.outline = path::rectangle(*corner, *length_m, *depth_m);
        }
        ZoneEdit::Outline(edit) => path::apply(&mut zone.outline, *edit, 3, true)?,
        ZoneEdit::SetTemperature(v) => zone.set_temperature_c = *v,
    }
    Ok(())
}

pub(super) fn opening(opening: &mut Opening, edit: &OpeningEdit) {
    match edit {
        OpeningEdit::Zone(zone) => {
            opening.zone.clone_from(zone);
            if opening.to_zone.as_ref() == Some(zone) {
                opening.to_zone = None;
            }
        }
        OpeningEdit::ToZone(zone) => opening.to_zone.clone_from(zone),
        OpeningEdit::At(at) => opening.at = *at,
        OpeningEdit::Width(v) => opening.width_m = *v,
        OpeningEdit::Height(v) => opening.height_m = *v,
        OpeningEdit::Sill(v) => opening.sill_m = *v,
        OpeningEdit::Coefficient(v) => opening.discharge_coefficient = *v,
    }
}

pub(super) fn conveyor(conveyor: &mut Option<Conveyor>, edit: &ConveyorEdit) -> Result<(), EngineError> {
    let conveyor = conveyor.as_mut().ok_or_else(|| {
        EngineError::new("conveyor", "is no longer in the plan", "add one in step Heat & air needed")
    })?;
    match *edit {
        ConveyorEdit::Path(edit) => path::apply(&mut conveyor.path, edit, 2, false)?,
        ConveyorEdit::PartHeight(v) => conveyor.part_height_m = v,
        ConveyorEdit::Speed(v) => conveyor.speed_m_s = v,
    }
    Ok(())
}

pub(super) fn exhaust(exhaust: &mut Exhaust, edit: &ExhaustEdit) {
    match edit {
        ExhaustEdit::Zone(zone) => exhaust.zone.clone_from(zone),
        ExhaustEdit::At(at) => exhaust.at = *at,
        ExhaustEdit::Flow(v) => exhaust.mass_flow_kg_s = *v,
    }
}
