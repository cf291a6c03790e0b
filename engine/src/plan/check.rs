//! What must hold before a plan can be calculated: sizes above zero, names unique, references that exist.

use super::{BuildStyle, Drive, Plan, Section, geometry};
use crate::error::EngineError;
use std::collections::HashSet;

type Checked = Result<(), EngineError>;

/// The first thing that makes a calculation impossible, with its place and remedy.
pub fn check(plan: &Plan) -> Checked {
    unique_ids(plan)?;
    places(plan)?;
    site_and_box(plan)?;
    heater(plan)?;
    ducts(plan)?;
    shop(plan)?;
    slots(plan)?;
    returns_and_openings(plan)?;
    as_built(plan)
}

/// Every number is one. No file holds another, code might; written down, it is null.
pub fn numbers(plan: &Plan) -> Checked {
    let text = super::file::write(plan);
    if !text.contains("null") {
        return Ok(());
    }
    let unknown = plan.unknown_fields();
    let (mut section, mut item, mut key) = ("plan", "", "a value");
    for line in text.lines() {
        let own = line.trim_start();
        key = own.strip_prefix('"').and_then(|rest| rest.split('"').next()).unwrap_or(key);
        if line.len() - own.len() == 2 {
            (section, item) = (key, "");
        }
        if let Some(id) = own.strip_prefix("\"id\": \"") {
            item = id.split('"').next().unwrap_or(item);
        }
        let is_null = own.trim_end_matches(',').ends_with("null");
        if is_null && !unknown.iter().any(|path| path.rsplit('.').next() == Some(key)) {
            let place = if item.is_empty() { section } else { item };
            return Err(EngineError::new(place, format!("{key} is no number"), "enter a number"));
        }
    }
    Ok(())
}

/// Farther from the origin than this there is no oven, m.
const FAR_M: f64 = 1e4;

/// Corners and places lie on the floor of a plant.
fn places(plan: &Plan) -> Checked {
    let near = |place: &str, points: &[super::Point]| {
        points
            .iter()
            .flat_map(|p| [p.x_m, p.y_m])
            .try_for_each(|v| within(place, "a place", v, -FAR_M, FAR_M))
    };
    let heater = &plan.heater;
    near("enclosure", &plan.enclosure.outline)?;
    plan.enclosure.walls.iter().try_for_each(|wall| near("enclosure", wall))?;
    plan.enclosure.columns.iter().try_for_each(|column| near(&column.id, &[column.at]))?;
    plan.zones.iter().try_for_each(|zone| near(&zone.id, &zone.outline))?;
    near(&heater.id, &[heater.intake, heater.discharge])?;
    plan.ducts.iter().try_for_each(|duct| near(&duct.id, &duct.path))?;
    plan.openings.iter().try_for_each(|opening| near(&opening.id, &[opening.at]))?;
    plan.returns.iter().try_for_each(|opening| near(&opening.id, opening.at.as_slice()))?;
    plan.exhausts.iter().try_for_each(|exhaust| near(&exhaust.id, &[exhaust.at]))?;
    plan.sensors.iter().try_for_each(|sensor| near(&sensor.id, &[sensor.at]))?;
    plan.conveyor.iter().try_for_each(|conveyor| near("conveyor", &conveyor.path))
}

fn as_built(plan: &Plan) -> Checked {
    let t = &plan.tolerances;
    within("tolerances", "cut_m", t.cut_m, 0.0, 0.01)?;
    within("tolerances", "coefficient_percent", t.coefficient_percent, 0.0, 50.0)?;
    within("tolerances", "slot_to_slot_percent", t.slot_to_slot_percent, 0.0, 50.0)?;
    within("tolerances", "regain", t.regain, 0.0, 1.0)?;
    within("tolerances", "roughness_factor", t.roughness_factor, 1.0, 100.0)?;
    within("tolerances", "fan_grade", f64::from(t.fan_grade), 1.0, 4.0)?;
    within("tolerances", "slide_m", t.slide_m, 0.0, 0.1)?;
    within("tolerances", "damper_percent", t.damper_percent, 0.0, 50.0)?;
    within("tolerances", "temperature_k", t.temperature_k, 0.0, 100.0)?;
    if !t.slot_law_weights.is_empty() {
        for weight in &t.slot_law_weights {
            within("tolerances", "slot_law_weights", *weight, 0.0, 1e6)?;
        }
        above_zero("tolerances", "the sum of slot_law_weights", t.slot_law_weights.iter().sum())?;
        within("tolerances", "the number of slot_law_weights", t.slot_law_weights.len() as f64, 5.0, 5.0)?;
    }
    for piece in &plan.bench_pieces {
        bench_piece(piece)?;
    }
    within("air_at_part", "loose_powder_m_s", plan.air_at_part.loose_powder_m_s, 0.01, 100.0)?;
    let w = &plan.weighing;
    within("weighing", "hours_per_year", w.hours_per_year, 0.0, 8_784.0)?;
    within("weighing", "drive_efficiency_percent", w.drive_efficiency_percent, 1.0, 100.0)?;
    above_zero("weighing", "sheet_m", w.sheet_m)?;
    above_zero("weighing", "sheet_kg_m3", w.sheet_kg_m3)
}

fn bench_piece(piece: &super::BenchPiece) -> Checked {
    let id = piece.id.as_str();
    section(id, piece.section)?;
    for (name, value) in [
        ("pitch_m", piece.pitch_m),
        ("length_m", piece.length_m),
        ("width_m", piece.width_m),
        ("root_static_pa", piece.root_static_pa),
        ("end_static_pa", piece.end_static_pa),
        ("flow_m3_s", piece.flow_m3_s),
        ("static_doubt_percent", piece.static_doubt_percent),
        ("flow_doubt_percent", piece.flow_doubt_percent),
        ("slot_doubt_percent", piece.slot_doubt_percent),
    ] {
        above_zero(id, name, value)?;
    }
    within(id, "count", f64::from(piece.count), 1.0, 1_000.0)?;
    within(id, "root_m", piece.root_m, 0.0, 1_000.0)?;
    within(id, "end_m", piece.end_m, 0.0, 1_000.0)?;
    within(id, "roughness_m", piece.roughness_m, 0.0, 0.1)?;
    within(id, "temperature_c", piece.temperature_c, -40.0, 450.0)?;
    for reading in &piece.slots {
        within(id, "the number of a slot reading", f64::from(reading.slot), 1.0, f64::from(piece.count))?;
        above_zero(id, "velocity_m_s of a slot reading", reading.velocity_m_s)?;
    }
    Ok(())
}

fn wrong(place: &str, problem: impl Into<String>, remedy: &str) -> EngineError {
    EngineError::new(place, problem, remedy)
}

/// `value` finite and above zero.
fn above_zero(place: &str, name: &str, value: f64) -> Checked {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(wrong(place, format!("{name} is {value}"), "enter a number above zero"))
    }
}

/// `value` finite and within `low..=high`.
fn within(place: &str, name: &str, value: f64, low: f64, high: f64) -> Checked {
    if value.is_finite() && (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(EngineError::new(
            place,
            format!("{name} is {value}"),
            format!("enter a number from {low} to {high}"),
        ))
    }
}

fn unique_ids(plan: &Plan) -> Checked {
    let mut seen = HashSet::new();
    for id in plan.item_ids() {
        if id.trim().is_empty() {
            return Err(wrong("plan", "an item has no id", "give every item a name of its own"));
        }
        if !seen.insert(id) {
            return Err(wrong(id, "two items have this id", "rename one of them"));
        }
    }
    Ok(())
}

fn site_and_box(plan: &Plan) -> Checked {
    above_zero("plan", "required_flow_kg_s", plan.required_flow_kg_s)?;
    within("site", "altitude_m", plan.site.altitude_m, -500.0, 4_000.0)?;
    within("site", "ambient_c", plan.site.ambient_c, -40.0, 60.0)?;
    within("site", "oven_humidity_ratio", plan.site.oven_humidity_ratio, 0.0, 1.0)?;
    if let Some(barometer) = plan.site.barometer_pa {
        within("site", "barometer_pa", barometer, 50_000.0, 110_000.0)?;
    }
    within("enclosure", "height_m", plan.enclosure.height_m, 0.1, 100.0)?;
    if plan.enclosure.outline.len() < 3 {
        return Err(wrong(
            "enclosure",
            "the outline has fewer than three corners",
            "draw the outline of the box",
        ));
    }
    let panels = plan.enclosure.panels.iter().flat_map(|all| [("wall", &all.wall), ("roof", &all.roof)]);
    let house = plan.heater.house.iter().map(|house| ("heater house", &house.panel));
    for (of, panel) in panels.chain(house) {
        let emissivity = panel.as_ref().map_or(0.0, |panel| panel.outer_emissivity);
        within("enclosure", &format!("outer_emissivity of the {of} panels"), emissivity, 0.0, 1.0)?;
    }
    within("models", "regain", plan.models.regain, 0.0, 2.0)?;
    if plan.zones.is_empty() {
        return Err(wrong("zones", "the plan has no zone", "add a zone with its set temperature"));
    }
    for zone in &plan.zones {
        within(&zone.id, "set_temperature_c", zone.set_temperature_c, 0.0, 450.0)?;
        if zone.outline.len() < 3 {
            return Err(wrong(
                &zone.id,
                "the outline has fewer than three corners",
                "draw the outline of the zone",
            ));
        }
    }
    Ok(())
}

fn heater(plan: &Plan) -> Checked {
    let heater = &plan.heater;
    within(&heater.id, "supply_temperature_c", heater.supply_temperature_c, 0.0, 450.0)?;
    let fan = &heater.fan;
    above_zero(&heater.id, "fan curve_density_kg_m3", fan.curve_density_kg_m3)?;
    above_zero(&heater.id, "fan curve_speed_rpm", fan.curve_speed_rpm)?;
    above_zero(&heater.id, "fan outlet_area_m2", fan.outlet_area_m2)?;
    within(&heater.id, "fan speed_rpm", fan.speed_rpm, 0.0, 20_000.0)?;
    within(&heater.id, "fan count", f64::from(fan.count), 1.0, 20.0)?;
    within(&heater.id, "fan system_effect", fan.system_effect, 0.0, 10.0)?;
    within(&heater.id, "fan efficiency_percent", fan.efficiency_percent, 1.0, 100.0)?;
    within(&heater.id, "fan tolerance_grade", f64::from(fan.tolerance_grade.unwrap_or(1)), 1.0, 4.0)?;
    match fan.drive {
        Some(Drive::Belt { motor_speed_rpm, motor_pulley_m, fan_pulley_m }) => {
            above_zero(&heater.id, "drive motor_speed_rpm", motor_speed_rpm)?;
            above_zero(&heater.id, "drive motor_pulley_m", motor_pulley_m.unwrap_or(1.0))?;
            above_zero(&heater.id, "drive fan_pulley_m", fan_pulley_m.unwrap_or(1.0))?;
        }
        Some(Drive::Frequency { motor_speed_rpm, base_hz, set_hz }) => {
            above_zero(&heater.id, "drive motor_speed_rpm", motor_speed_rpm)?;
            above_zero(&heater.id, "drive base_hz", base_hz)?;
            above_zero(&heater.id, "drive set_hz", set_hz.unwrap_or(1.0))?;
        }
        None => {}
    }
    let rising = fan.points.windows(2).all(|pair| pair[0].flow_m3_s < pair[1].flow_m3_s);
    if fan.points.len() < 2 || !rising {
        return Err(wrong(
            &heater.id,
            "the fan curve needs two or more points by rising flow",
            "enter points of the maker's curve, smallest flow first",
        ));
    }
    for point in &fan.points {
        within(&heater.id, "fan flow_m3_s", point.flow_m3_s, 0.0, 1e4)?;
        within(&heater.id, "fan pressure_pa", point.pressure_pa, -1e5, 1e5)?;
    }
    for loss in &heater.fixed_losses {
        above_zero(&loss.id, "flow_m3_s", loss.flow_m3_s)?;
        above_zero(&loss.id, "density_kg_m3", loss.density_kg_m3)?;
        within(&loss.id, "drop_pa", loss.drop_pa, 0.0, 1e5)?;
        within(&loss.id, "dirty_drop_pa", loss.dirty_drop_pa.unwrap_or(0.0), 0.0, 1e5)?;
        within(&loss.id, "dirt_percent", loss.dirt_percent, 0.0, 100.0)?;
    }
    Ok(())
}

fn section(place: &str, section: Section) -> Checked {
    match section {
        Section::Rectangular { width_m, height_m } => {
            above_zero(place, "width_m", width_m)?;
            above_zero(place, "height_m", height_m)
        }
        Section::Round { diameter_m } => above_zero(place, "diameter_m", diameter_m),
    }
}

fn ducts(plan: &Plan) -> Checked {
    for duct in &plan.ducts {
        section(&duct.id, duct.section)?;
        let bad_corner = duct.path.iter().any(|p| !(p.x_m.is_finite() && p.y_m.is_finite()));
        if duct.path.len() < 2 || bad_corner || geometry::length_m(&duct.path) < 0.01 {
            return Err(wrong(&duct.id, "the duct has no length", "draw it from one point to another"));
        }
        within(&duct.id, "roughness_m", duct.roughness_m, 0.0, 0.01)?;
        for step in &duct.steps {
            section(&duct.id, step.section)?;
            within(&duct.id, "a step's station_m", step.station_m, 0.0, geometry::length_m(&duct.path))?;
        }
        within(&duct.id, "underside_m", duct.underside_m, 0.0, 50.0)?;
        for &sleeve in &duct.sleeves_m {
            within(&duct.id, "a sleeve's station", sleeve, 0.0, 1e4)?;
        }
        if let Some(test) = &duct.leakage_test {
            above_zero(&duct.id, "leakage_test surface_m2", test.surface_m2)?;
            above_zero(&duct.id, "leakage_test pressure_pa", test.pressure_pa)?;
            within(&duct.id, "leakage_test flow_m3_s", test.flow_m3_s, 0.0, 100.0)?;
        }
        if let Some(damper) = &duct.damper {
            within(&duct.id, "damper open_percent", damper.open_percent, 0.0, 100.0)?;
            within(&duct.id, "damper leakage_percent", damper.leakage_percent, 0.0, 100.0)?;
            damper.size.map_or(Ok(()), |size| section(&duct.id, size))?;
        }
    }
    Ok(())
}

/// What must hold of the shop record.
pub(super) fn shop(plan: &Plan) -> Checked {
    let shop = &plan.shop;
    above_zero("shop", "width_increment_m", shop.width_increment_m)?;
    above_zero("shop", "slide_increment_m", shop.slide_increment_m)?;
    above_zero("shop", "min_width_m", shop.min_width_m)?;
    within("shop", "max_width_m", shop.max_width_m, shop.min_width_m, 10.0)?;
    within("shop", "index_opening_percent", shop.index_opening_percent, 1.0, 100.0)?;
    within("shop", "min_discharge_m_s", shop.min_discharge_m_s, 0.0, 200.0)?;
    within("shop", "max_discharge_m_s", shop.max_discharge_m_s, shop.min_discharge_m_s, 200.0)?;
    above_zero("shop", "length_increment_m", shop.length_increment_m)?;
    above_zero("shop", "station_increment_m", shop.station_increment_m)?;
    if shop.max_patterns == Some(0) {
        return Err(wrong("shop", "max_patterns is 0", "allow one pattern or more"));
    }
    for (name, value) in [
        ("min_web_m", shop.min_web_m),
        ("edge_distance_m", shop.edge_distance_m),
        ("seam_allowance_m", shop.seam_allowance_m),
    ] {
        within("shop", name, value.unwrap_or(0.0), 0.0, 10.0)?;
    }
    within("shop", "sheet_length_m", shop.sheet_length_m.unwrap_or(1.0), 0.1, 1e3)?;
    for (name, value) in
        [("max_slot_length_m", shop.max_slot_length_m), ("max_area_ratio", shop.max_area_ratio)]
    {
        above_zero("shop", name, value.unwrap_or(1.0))?;
    }
    for (name, sizes) in [
        ("gauges_m", &shop.gauges_m),
        ("duct_sizes_m", &shop.duct_sizes_m),
        ("damper_sizes_m", &shop.damper_sizes_m),
    ] {
        sizes.iter().try_for_each(|&size| above_zero("shop", name, size))?;
    }
    for limit in &shop.speed_limits {
        above_zero("shop", "speed_limits max_discharge_m_s", limit.max_discharge_m_s)?;
        if let Some(zone) = limit.zone.as_ref().filter(|id| plan.zones.iter().all(|zone| zone.id != **id)) {
            return Err(EngineError::new(
                "shop",
                format!("a speed limit names zone \"{zone}\", which does not exist"),
                "name an existing zone",
            ));
        }
    }
    Ok(())
}

fn slots(plan: &Plan) -> Checked {
    for row in &plan.slot_rows {
        let Some(duct) = plan.ducts.iter().find(|duct| duct.id == row.duct) else {
            return Err(EngineError::new(
                &row.id,
                format!("there is no duct called \"{}\"", row.duct),
                "name an existing supply duct",
            ));
        };
        if duct.role == super::DuctRole::Return {
            return Err(wrong(&row.id, "slots cannot be cut in a return duct", "name a supply duct"));
        }
        within(&row.id, "count", f64::from(row.count), 1.0, 5_000.0)?;
        above_zero(&row.id, "length_m", row.length_m)?;
        above_zero(&row.id, "weight", row.weight)?;
        for share in &row.shares {
            above_zero(&row.id, "a slot's share", *share)?;
        }
        if row.count > 1 {
            above_zero(&row.id, "pitch_m", row.pitch_m)?;
        }
        within(&row.id, "first_station_m", row.first_station_m, -1e4, 1e4)?;
        let count = row.count as usize;
        let tapers = row.build.unwrap_or(plan.shop.build) == BuildStyle::ContinuousTaper;
        let widths = row.widths_m.len();
        if widths != 1 && widths != count && !(tapers && widths == count + 1) {
            return Err(EngineError::new(
                &row.id,
                format!("{} widths for {} slots", row.widths_m.len(), row.count),
                "give one width for all slots, or one for each",
            ));
        }
        for &width in &row.widths_m {
            within(&row.id, "a slot width_m", width, 0.0, 10.0)?;
        }
        for (name, values) in [("lengths", &row.lengths_m), ("stations", &row.stations_m)] {
            if !values.is_empty() && values.len() != count {
                return Err(EngineError::new(
                    &row.id,
                    format!("{} {name} for {count} slots", values.len()),
                    "give one for each slot, or leave them out",
                ));
            }
        }
        for &length in &row.lengths_m {
            within(&row.id, "a slot length_m", length, 0.0, 100.0)?;
        }
        let [start, end] = row.stretch_m();
        for &station in &row.stations_m {
            within(&row.id, "a station_m", station, start, end)?;
        }
        if !row.stations_m.is_sorted_by(|a, b| a < b) {
            return Err(wrong(
                &row.id,
                "the stations do not rise",
                "give them from the first slot to the last",
            ));
        }
        if let Some(BuildStyle::AdjustableStrip { slot_width_m }) = row.build {
            above_zero(&row.id, "slot_width_m", slot_width_m)?;
        }
    }
    Ok(())
}

fn returns_and_openings(plan: &Plan) -> Checked {
    for opening in &plan.returns {
        above_zero(&opening.id, "width_m", opening.width_m)?;
        above_zero(&opening.id, "height_m", opening.height_m)?;
        above_zero(&opening.id, "weight", opening.weight)?;
        within(&opening.id, "open_m", opening.open_m, 0.0, opening.height_m)?;
        above_zero(&opening.id, "pin_pitch_m", opening.pin_pitch_m.unwrap_or(1.0))?;
        match &opening.duct {
            Some(id) => match plan.ducts.iter().find(|duct| &duct.id == id) {
                Some(duct) if duct.role == super::DuctRole::Return => {
                    // Beyond the duct it is taken at the end, and told as a finding.
                    within(&opening.id, "station_m", opening.station_m, -1e4, 1e4)?;
                }
                Some(_) => {
                    return Err(wrong(
                        &opening.id,
                        "opens into a supply duct",
                        "name a duct whose role is return",
                    ));
                }
                None => {
                    return Err(EngineError::new(
                        &opening.id,
                        format!("there is no duct called \"{id}\""),
                        "name an existing return duct",
                    ));
                }
            },
            None if opening.at.is_none() => {
                return Err(wrong(
                    &opening.id,
                    "has neither a duct nor a place",
                    "give duct and station_m, or at",
                ));
            }
            None => {}
        }
    }
    let zone_exists = |id: &str| plan.zones.iter().any(|zone| zone.id == id);
    for opening in &plan.openings {
        above_zero(&opening.id, "width_m", opening.width_m)?;
        above_zero(&opening.id, "height_m", opening.height_m)?;
        within(&opening.id, "discharge_coefficient", opening.discharge_coefficient, 0.05, 1.0)?;
        within(
            &opening.id,
            "curtain_effectiveness",
            opening.curtain_effectiveness.unwrap_or(0.0),
            0.0,
            0.95,
        )?;
        for zone in [Some(&opening.zone), opening.to_zone.as_ref()].into_iter().flatten() {
            if !zone_exists(zone) {
                return Err(EngineError::new(
                    &opening.id,
                    format!("there is no zone called \"{zone}\""),
                    "name an existing zone",
                ));
            }
        }
        if opening.to_zone.as_ref() == Some(&opening.zone) {
            return Err(wrong(
                &opening.id,
                "leads from a zone into itself",
                "name another zone, or leave to_zone out",
            ));
        }
    }
    for exhaust in &plan.exhausts {
        within(&exhaust.id, "mass_flow_kg_s", exhaust.mass_flow_kg_s, 0.0, 1e3)?;
        if !zone_exists(&exhaust.zone) {
            return Err(EngineError::new(
                &exhaust.id,
                format!("there is no zone called \"{}\"", exhaust.zone),
                "name an existing zone",
            ));
        }
    }
    if let Some(conveyor) = &plan.conveyor {
        within("conveyor", "speed_m_s", conveyor.speed_m_s, 0.0, 5.0)?;
    }
    Ok(())
}

impl Plan {
    /// Ids of all items, in plan order.
    pub fn item_ids(&self) -> impl Iterator<Item = &str> {
        let columns = self.enclosure.columns.iter().map(|item| item.id.as_str());
        let zones = self.zones.iter().map(|item| item.id.as_str());
        let openings = self.openings.iter().map(|item| item.id.as_str());
        let losses = self.heater.fixed_losses.iter().map(|item| item.id.as_str());
        let ducts = self.ducts.iter().map(|item| item.id.as_str());
        let rows = self.slot_rows.iter().map(|item| item.id.as_str());
        let returns = self.returns.iter().map(|item| item.id.as_str());
        let exhausts = self.exhausts.iter().map(|item| item.id.as_str());
        let pieces = self.bench_pieces.iter().map(|item| item.id.as_str());
        let parts = self.load.iter().flat_map(|load| &load.parts).map(|item| item.id.as_str());
        let sensors = self.sensors.iter().map(|item| item.id.as_str());
        columns
            .chain(zones)
            .chain(openings)
            .chain(core::iter::once(self.heater.id.as_str()))
            .chain(losses)
            .chain(ducts)
            .chain(rows)
            .chain(returns)
            .chain(exhausts)
            .chain(pieces)
            .chain(parts)
            .chain(sensors)
    }

    /// Paths of fields this version does not know.
    pub fn unknown_fields(&self) -> Vec<String> {
        let mut found = Vec::new();
        let mut add = |place: &str, extra: &super::Extra| {
            found.extend(
                extra.keys().map(|key| if place.is_empty() { key.clone() } else { format!("{place}.{key}") }),
            );
        };
        add("", &self.extra);
        add("site", &self.site.extra);
        add("enclosure", &self.enclosure.extra);
        self.enclosure.columns.iter().for_each(|item| add(&item.id, &item.extra));
        self.zones.iter().for_each(|item| add(&item.id, &item.extra));
        self.openings.iter().for_each(|item| add(&item.id, &item.extra));
        self.conveyor.iter().for_each(|item| add("conveyor", &item.extra));
        add(&self.heater.id, &self.heater.extra);
        add(&format!("{}.fan", self.heater.id), &self.heater.fan.extra);
        self.heater.fixed_losses.iter().for_each(|item| add(&item.id, &item.extra));
        for duct in &self.ducts {
            add(&duct.id, &duct.extra);
            duct.damper.iter().for_each(|damper| add(&format!("{}.damper", duct.id), &damper.extra));
        }
        self.slot_rows.iter().for_each(|item| add(&item.id, &item.extra));
        self.returns.iter().for_each(|item| add(&item.id, &item.extra));
        self.exhausts.iter().for_each(|item| add(&item.id, &item.extra));
        self.sensors.iter().for_each(|item| add(&item.id, &item.extra));
        self.enquiry.iter().for_each(|item| add("enquiry", &item.extra));
        self.coating.iter().for_each(|item| add("coating", &item.extra));
        self.safety.iter().for_each(|item| add("safety", &item.extra));
        if let Some(load) = &self.load {
            add("load", &load.extra);
            load.parts.iter().for_each(|item| add(&item.id, &item.extra));
        }
        self.heater.burner.iter().for_each(|item| add(&format!("{}.burner", self.heater.id), &item.extra));
        if let Some(house) = &self.heater.house {
            add(&format!("{}.house", self.heater.id), &house.extra);
            house.panel.iter().for_each(|item| add(&format!("{}.house.panel", self.heater.id), &item.extra));
        }
        self.enclosure.growth.iter().for_each(|item| add("enclosure.growth", &item.extra));
        if let Some(panels) = &self.enclosure.panels {
            add("enclosure.panels", &panels.extra);
            panels.wall.iter().for_each(|item| add("enclosure.panels.wall", &item.extra));
            panels.roof.iter().for_each(|item| add("enclosure.panels.roof", &item.extra));
            panels.floor.iter().for_each(|item| add("enclosure.panels.floor", &item.extra));
        }
        add("shop", &self.shop.extra);
        add("models", &self.models.extra);
        add("tolerances", &self.tolerances.extra);
        self.bench_pieces.iter().for_each(|item| add(&item.id, &item.extra));
        add("air_at_part", &self.air_at_part.extra);
        add("weighing", &self.weighing.extra);
        found
    }
}
