//! Enclosure, columns, zones, openings, conveyor, exhausts.

use super::{findings_of, gone, zone_options};
use crate::edit::{
    ColumnEdit, ConveyorEdit, Edit, EnclosureEdit, ExhaustEdit, OpeningEdit, PathEdit, SiteEdit, ZoneEdit,
};
use crate::fields::{Field, Form, stacked};
use engine::plan::{Column, Exhaust, Opening, Point, Zone};
use engine::units::Kind;
use yew::prelude::*;

const SIZE: std::ops::RangeInclusive<f64> = 0.01..=1000.0;

/// What can be said of the place.
pub fn site_fields(form: &Form) -> Vec<Field> {
    let site = &form.plan().site;
    let at = |edit: fn(f64) -> SiteEdit| move |v| Edit::Site(edit(v));
    vec![
        form.quantity(
            "Altitude",
            "altitude",
            Kind::Length,
            site.altitude_m,
            -500.0..=4000.0,
            at(SiteEdit::Altitude),
        ),
        form.optional(
            "Barometer",
            "barometer",
            Kind::Pressure,
            site.barometer_pa,
            50_000.0..=110_000.0,
            |v| Edit::Site(SiteEdit::Barometer(v)),
        ),
        form.quantity(
            "Plant air",
            "ambient",
            Kind::Temperature,
            site.ambient_c,
            -40.0..=60.0,
            at(SiteEdit::Ambient),
        ),
        form.quantity(
            "Water in oven air, kg per kg dry",
            "humidity",
            Kind::Number,
            site.oven_humidity_ratio,
            0.0..=1.0,
            at(SiteEdit::Humidity),
        ),
    ]
}

/// Corner, length and depth of an outline that is a rectangle.
fn as_rectangle(outline: &[Point]) -> Option<(Point, f64, f64)> {
    let [a, b, c, d] = outline else { return None };
    let square = a.y_m == b.y_m && b.x_m == c.x_m && c.y_m == d.y_m && d.x_m == a.x_m;
    (square && c.x_m > a.x_m && c.y_m > a.y_m).then_some((*a, c.x_m - a.x_m, c.y_m - a.y_m))
}

/// Place and size of a rectangular outline; for others the corners on the card are the only way.
fn rectangle(
    form: &Form,
    outline: &[Point],
    edit: impl Fn(Point, f64, f64) -> Edit + Clone + 'static,
) -> Vec<Field> {
    let Some((corner, length, depth)) = as_rectangle(outline) else { return Vec::new() };
    let (place, along, across) = (edit.clone(), edit.clone(), edit);
    vec![
        form.place("Lower left corner", "corner", corner, move |at| place(at, length, depth)),
        form.quantity("Length", "length", Kind::Length, length, SIZE, move |v| along(corner, v, depth)),
        form.quantity("Depth", "depth", Kind::Length, depth, SIZE, move |v| across(corner, length, v)),
    ]
}

/// What can be set on the box.
pub fn enclosure_fields(form: &Form) -> Vec<Field> {
    let enclosure = &form.plan().enclosure;
    let mut fields = rectangle(form, &enclosure.outline, |corner, length_m, depth_m| {
        Edit::Enclosure(EnclosureEdit::Rectangle { corner, length_m, depth_m })
    });
    fields.push(form.quantity(
        "Inside height",
        "height",
        Kind::Length,
        enclosure.height_m,
        0.1..=50.0,
        |v| Edit::Enclosure(EnclosureEdit::Height(v)),
    ));
    fields
}

/// The card of the box: outline, height, inner walls.
pub fn enclosure_card(form: &Form) -> Html {
    let enclosure = &form.plan().enclosure;
    let walls = enclosure.walls.iter().enumerate().map(|(wall, path)| {
        html! {
            <li key={wall}>
                <span>{ format!("Wall {}", wall + 1) }</span>
                { form.points(&format!("wall-{wall}"), path, 2, move |edit| {
                    Edit::Enclosure(EnclosureEdit::Wall { wall, edit })
                }) }
                { form.button(format!("Remove wall {}", wall + 1), &format!("wall-{wall}-gone"),
                    Edit::Enclosure(EnclosureEdit::RemoveWall(wall))) }
            </li>
        }
    });
    html! {
        <>
            { stacked(enclosure_fields(form)) }
            { super::heat::panels(form) }
            <h3>{ "Corners" }</h3>
            { form.points("corner", &enclosure.outline, 3, |edit| Edit::Enclosure(EnclosureEdit::Outline(edit))) }
            <h3>{ "Inner walls" }</h3>
            <ul class="lines">{ for walls }</ul>
            <p class="buttons">{ form.button("Add inner wall", "add-wall", Edit::Enclosure(EnclosureEdit::AddWall)) }</p>
        </>
    }
}

/// What can be set on a column.
pub fn column_fields(form: &Form, column: &Column) -> Vec<Field> {
    let edit = |make: fn(f64) -> ColumnEdit| {
        let id = column.id.clone();
        move |v| Edit::Column { id: id.clone(), edit: make(v) }
    };
    let id = column.id.clone();
    vec![
        form.place("Middle", "at", column.at, move |at| Edit::Column {
            id: id.clone(),
            edit: ColumnEdit::At(at),
        }),
        form.quantity("Along x", "width", Kind::Length, column.width_m, SIZE, edit(ColumnEdit::Width)),
        form.quantity("Along y", "depth", Kind::Length, column.depth_m, SIZE, edit(ColumnEdit::Depth)),
    ]
}

/// The card of a column.
pub fn column_card(form: &Form, id: &str) -> Html {
    let Some(column) = form.plan().enclosure.columns.iter().find(|item| item.id == id) else {
        return gone(id);
    };
    html! { <>{ stacked(column_fields(form, column)) }{ findings_of(form, id) }</> }
}

/// What can be set on a zone.
pub fn zone_fields(form: &Form, zone: &Zone) -> Vec<Field> {
    let (a, b, c) = (zone.id.clone(), zone.id.clone(), zone.id.clone());
    let mut fields = vec![
        form.text("Called", "name", &zone.name, move |v| Edit::Zone {
            id: a.clone(),
            edit: ZoneEdit::Name(v),
        }),
        form.quantity(
            "Set temperature",
            "temperature",
            Kind::Temperature,
            zone.set_temperature_c,
            0.0..=450.0,
            move |v| Edit::Zone { id: b.clone(), edit: ZoneEdit::SetTemperature(v) },
        ),
    ];
    fields.extend(rectangle(form, &zone.outline, move |corner, length_m, depth_m| Edit::Zone {
        id: c.clone(),
        edit: ZoneEdit::Rectangle { corner, length_m, depth_m },
    }));
    fields
}

/// What the last solve found for a zone.
pub fn zone_results(form: &Form, id: &str) -> Vec<Field> {
    let Some(found) = form.session.analysis.as_ref().and_then(|a| a.zones.iter().find(|zone| zone.id == id))
    else {
        return Vec::new();
    };
    let units = form.units();
    let show = |value, kind| engine::units::show(value, kind, units);
    vec![
        form.shown("Supply air", "supply", show(found.supply_kg_s, Kind::MassFlow), Some(found.supply_kg_s)),
        form.shown("Return air", "return", show(found.return_kg_s, Kind::MassFlow), Some(found.return_kg_s)),
        form.shown(
            "Pressure to outside",
            "pressure",
            show(found.pressure_pa, Kind::Pressure),
            Some(found.pressure_pa),
        ),
    ]
}

/// The card of a zone.
pub fn zone_card(form: &Form, id: &str) -> Html {
    let Some(zone) = form.plan().zones.iter().find(|item| item.id == id) else { return gone(id) };
    let corners = {
        let id = id.to_owned();
        move |edit: PathEdit| Edit::Zone { id: id.clone(), edit: ZoneEdit::Outline(edit) }
    };
    html! {
        <>
            { stacked(zone_fields(form, zone)) }
            { stacked(zone_results(form, id)) }
            { super::heat::zone(form, id) }
            { findings_of(form, id) }
            <h3>{ "Corners" }</h3>
            { form.points("outline", &zone.outline, 3, corners) }
        </>
    }
}

/// What can be set on an opening that parts pass through.
pub fn opening_fields(form: &Form, opening: &Opening) -> Vec<Field> {
    let edit = |make: fn(f64) -> OpeningEdit| {
        let id = opening.id.clone();
        move |v| Edit::Opening { id: id.clone(), edit: make(v) }
    };
    let (a, b, c) = (opening.id.clone(), opening.id.clone(), opening.id.clone());
    let mut to: Vec<_> = vec![(None, "outside".to_owned())];
    let others = zone_options(form).into_iter().filter(|(id, _)| *id != opening.zone);
    to.extend(others.map(|(id, text)| (Some(id), text)));
    vec![
        form.choice("From zone", "zone", &opening.zone, zone_options(form), move |zone| Edit::Opening {
            id: a.clone(),
            edit: OpeningEdit::Zone(zone),
        }),
        form.choice("To", "to", &opening.to_zone, to, move |zone| Edit::Opening {
            id: b.clone(),
            edit: OpeningEdit::ToZone(zone),
        }),
        form.place("Middle", "at", opening.at, move |at| Edit::Opening {
            id: c.clone(),
            edit: OpeningEdit::At(at),
        }),
        form.quantity("Clear width", "width", Kind::Length, opening.width_m, SIZE, edit(OpeningEdit::Width)),
        form.quantity(
            "Clear height",
            "height",
            Kind::Length,
            opening.height_m,
            SIZE,
            edit(OpeningEdit::Height),
        ),
        form.quantity("Sill", "sill", Kind::Length, opening.sill_m, 0.0..=50.0, edit(OpeningEdit::Sill)),
        form.quantity(
            "Discharge coefficient",
            "coefficient",
            Kind::Number,
            opening.discharge_coefficient,
            0.05..=1.0,
            edit(OpeningEdit::Coefficient),
        )
        .on_card_only(),
    ]
}

/// The card of an opening.
pub fn opening_card(form: &Form, id: &str) -> Html {
    let Some(opening) = form.plan().openings.iter().find(|item| item.id == id) else { return gone(id) };
    html! { <>{ stacked(opening_fields(form, opening)) }{ super::heat::opening(form, id) }{ findings_of(form, id) }</> }
}

/// The card of the conveyor.
pub fn conveyor_card(form: &Form) -> Html {
    let Some(conveyor) = &form.plan().conveyor else { return gone("conveyor") };
    html! {
        <>
            { stacked(vec![
                form.quantity("Line speed", "speed", Kind::LineSpeed, conveyor.speed_m_s, 0.0..=5.0, |v| {
                    Edit::Conveyor(ConveyorEdit::Speed(v))
                }),
                form.quantity("Middle of the part above floor", "part-height", Kind::Length, conveyor.part_height_m, 0.0..=20.0, |v| {
                    Edit::Conveyor(ConveyorEdit::PartHeight(v))
                }),
            ]) }
            <h3>{ "Path, in the direction of travel" }</h3>
            { form.points("path", &conveyor.path, 2, |edit| Edit::Conveyor(ConveyorEdit::Path(edit))) }
        </>
    }
}

/// What can be set on an exhaust.
pub fn exhaust_fields(form: &Form, exhaust: &Exhaust) -> Vec<Field> {
    let (a, b, c) = (exhaust.id.clone(), exhaust.id.clone(), exhaust.id.clone());
    vec![
        form.choice("Draws from", "zone", &exhaust.zone, zone_options(form), move |zone| Edit::Exhaust {
            id: a.clone(),
            edit: ExhaustEdit::Zone(zone),
        }),
        form.quantity("Mass flow", "flow", Kind::MassFlow, exhaust.mass_flow_kg_s, 0.0..=1000.0, move |v| {
            Edit::Exhaust { id: b.clone(), edit: ExhaustEdit::Flow(v) }
        }),
        form.place("Leaves at", "at", exhaust.at, move |at| Edit::Exhaust {
            id: c.clone(),
            edit: ExhaustEdit::At(at),
        }),
    ]
}

/// The card of an exhaust.
pub fn exhaust_card(form: &Form, id: &str) -> Html {
    let Some(exhaust) = form.plan().exhausts.iter().find(|item| item.id == id) else { return gone(id) };
    html! { <>{ stacked(exhaust_fields(form, exhaust)) }{ findings_of(form, id) }</> }
}
