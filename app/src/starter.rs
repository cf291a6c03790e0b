//! Plans to begin with: the demonstration and the empty one.

use engine::plan::{Plan, file};

/// The demonstration plan, as text.
pub const DEMO: &str = include_str!("../../tests/plans/garden-gates.evenrise.json");

/// The empty plan, as text: a new key of the plan needs no change here.
const EMPTY: &str = r#"{"name":"New oven","required_flow_kg_s":1.0,"enclosure":{"outline":[],"height_m":3.0},"zones":[],
"heater":{"id":"heater","intake":{"x_m":0.0,"y_m":1.0},"discharge":{"x_m":0.0,"y_m":0.0},"supply_temperature_c":200.0,
"fan":{"points":[],"curve_speed_rpm":1450.0,"speed_rpm":1450.0,"outlet_area_m2":0.3,"efficiency_percent":60.0}}}"#;

/// The demonstration plan.
pub fn demo() -> Plan {
    file::read(DEMO).expect("the demonstration plan can be read; a test sees to it")
}

/// A plan in which everything is still to be decided.
pub fn empty() -> Plan {
    file::read(EMPTY).expect("the empty plan can be read; a test sees to it")
}
