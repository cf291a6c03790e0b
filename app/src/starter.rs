//! Plans to begin with: the demonstration and the empty one.

use engine::plan::{
    Enclosure, Extra, FORMAT, Fan, Heater, Models, Plan, Point, PressureBasis, ShopRecord, Site, VERSION,
    file,
};

/// The demonstration plan, as text.
pub const DEMO: &str = include_str!("../../tests/plans/garden-gates.evenrise.json");

/// The demonstration plan.
pub fn demo() -> Plan {
    file::read(DEMO).expect("the demonstration plan can be read; a test sees to it")
}

/// A plan in which everything is still to be decided.
pub fn empty() -> Plan {
    Plan {
        format: FORMAT.to_owned(),
        version: VERSION,
        name: "New oven".to_owned(),
        notes: String::new(),
        required_flow_kg_s: 1.0,
        site: Site::default(),
        enclosure: Enclosure {
            outline: Vec::new(),
            height_m: 3.0,
            walls: Vec::new(),
            columns: Vec::new(),
            panels: None,
            growth: None,
            extra: Extra::new(),
        },
        zones: Vec::new(),
        openings: Vec::new(),
        conveyor: None,
        heater: Heater {
            id: "heater".to_owned(),
            intake: Point::new(0.0, 1.0),
            discharge: Point::new(0.0, 0.0),
            supply_temperature_c: 200.0,
            fan: Fan {
                name: String::new(),
                points: Vec::new(),
                basis: PressureBasis::Total,
                curve_density_kg_m3: 1.2,
                count: 1,
                system_effect: 0.0,
                max_speed_hot_rpm: None,
                curve_speed_rpm: 1450.0,
                speed_rpm: 1450.0,
                max_speed_rpm: None,
                outlet_area_m2: 0.3,
                efficiency_percent: 60.0,
                drive: None,
                tolerance_grade: None,
                extra: Extra::new(),
            },
            fixed_losses: Vec::new(),
            burner: None,
            house: None,
            extra: Extra::new(),
        },
        ducts: Vec::new(),
        slot_rows: Vec::new(),
        returns: Vec::new(),
        exhausts: Vec::new(),
        enquiry: None,
        load: None,
        coating: None,
        sensors: Vec::new(),
        safety: None,
        accepted: Vec::new(),
        shop: ShopRecord::default(),
        models: Models::default(),
        extra: Extra::new(),
    }
}
