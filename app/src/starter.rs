//! Plans to begin with: the demonstration and the empty one.

use engine::plan::{Plan, file};

/// The demonstration plan, as text.
pub const DEMO: &str = include_str!("../../tests/plans/garden-gates.evenrise.json");

/// The demonstration plan.
pub fn demo() -> Plan {
    file::read(DEMO).expect("the demonstration plan can be read; a test sees to it")
}

/// A plan in which everything is still to be decided.
pub fn empty() -> Plan {
    file::read(EMPTY).expect("the empty plan can be read; a test sees to it")
}

/// What a plan cannot be without; the rest is the reader's defaults.
const EMPTY: &str = r#"{
    "name": "New oven",
    "required_flow_kg_s": 1,
    "enclosure": {"outline": [], "height_m": 3},
    "zones": [],
    "heater": {
        "id": "heater",
        "intake": {"x_m": 0, "y_m": 1},
        "discharge": {"x_m": 0, "y_m": 0},
        "supply_temperature_c": 200,
        "fan": {"points": [], "curve_speed_rpm": 1450, "speed_rpm": 1450, "outlet_area_m2": 0.3}
    }
}"#;

#[cfg(test)]
mod tests {
    #[test]
    fn the_plans_to_begin_with_can_be_read() {
        assert!(!super::demo().slot_rows.is_empty());
        assert!(super::empty().zones.is_empty());
    }
}
