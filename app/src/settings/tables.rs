//! Every plain setting of load, coating, burner, panels, sensors, safety and enquiry.

use super::Holds::{Choice, Number, Optional, Switch, Text, Whole};
use super::{List, Setting};
use engine::units::Kind as K;

type Settings = &'static [Setting];

const fn s(at: &'static str, label: &'static str, holds: super::Holds) -> Setting {
    Setting::new(at, label, holds)
}

const TEMPERATURE: (f64, f64) = (-40.0, 450.0);
const fn celsius() -> super::Holds {
    Number(K::Temperature, TEMPERATURE.0, TEMPERATURE.1)
}
const fn celsius_or_none() -> super::Holds {
    Optional(K::Temperature, TEMPERATURE.0, TEMPERATURE.1)
}

const MATERIALS: super::Holds = Choice(&[
    ("\"steel\"", "steel"),
    ("\"stainless_steel\"", "stainless steel"),
    ("\"aluminium\"", "aluminium"),
    (
        "{\"other\":{\"specific_heat_j_kgk\":490.0,\"conductivity_w_mk\":50.0,\"density_kg_m3\":7850.0}}",
        "other, by its figures",
    ),
]);
const HEAT: super::Holds = Number(K::SpecificHeat, 50.0, 10_000.0);
const METAL_CONDUCTIVITY: super::Holds = Number(K::Conductivity, 0.01, 500.0);
const DENSITY: super::Holds = Number(K::Density, 1.0, 25_000.0);

/// What hangs on the line, as a whole.
pub const LOAD: Settings = &[s("entry_temperature_c", "Parts come in at", celsius())];

/// A kind of part.
pub const PARTS: List = List {
    path: "/load/parts",
    one: "part",
    settings: &[
        s("name", "Called", Text),
        s("kg_per_m", "Hung on the conveyor", Number(K::LineMass, 0.001, 5_000.0)),
        s("material", "Material", MATERIALS),
        s("material/other/specific_heat_j_kgk", "Specific heat", HEAT),
        s("material/other/conductivity_w_mk", "Conductivity", METAL_CONDUCTIVITY),
        s("material/other/density_kg_m3", "Density", DENSITY),
        s(
            "shape",
            "Mostly",
            Choice(&[
                ("{\"sheet\":{\"thickness_m\":0.002}}", "sheet or plate"),
                ("{\"bar\":{\"diameter_m\":0.02}}", "bar"),
                ("{\"tube\":{\"diameter_m\":0.04,\"wall_m\":0.002}}", "closed tube"),
            ]),
        ),
        s("shape/sheet/thickness_m", "Sheet thickness", Number(K::ShopLength, 1e-4, 0.5)),
        s("shape/bar/diameter_m", "Diameter or side", Number(K::ShopLength, 1e-4, 1.0)),
        s("shape/tube/diameter_m", "Outside diameter or side", Number(K::ShopLength, 1e-3, 2.0)),
        s("shape/tube/wall_m", "Wall of the tube", Number(K::ShopLength, 1e-4, 0.5)),
        s("height_m", "Height as hung", Number(K::Length, 0.01, 20.0)),
        s("surface_m2_per_m", "Surface on each metre of conveyor", Optional(K::Area, 1e-4, 1_000.0)),
        s("water_kg_m2", "Water carried in", Number(K::Film, 0.0, 50.0)),
        s("powder_kg_m2", "Powder", Number(K::Film, 0.0, 10.0)),
        s("emissivity", "Emissivity", Number(K::Number, 0.01, 1.0)),
    ],
    template: "{\"id\":\"part\",\"kg_per_m\":15.0,\"shape\":{\"sheet\":{\"thickness_m\":0.0015}},\"water_kg_m2\":0.05,\"powder_kg_m2\":0.1}",
    none: "No part yet. Add the lightest and the heaviest that hang on this line: the light one bakes longest, the heavy one decides the length of the oven.",
};

/// Metal that goes along, at `hangers` or `chain`.
pub const CARRIED: Settings = &[
    s("kg_per_m", "Mass", Number(K::LineMass, 0.0, 1_000.0)),
    s("specific_heat_j_kgk", "Specific heat", HEAT),
    s("entry_temperature_c", "Comes in at, if not as the parts", celsius_or_none()),
];

/// The coating as a whole.
pub const COATING: Settings = &[
    s("name", "Coating", Text),
    s("over_bake_c", "Discolours above", celsius_or_none()),
    s("over_bake_times", "Bears the cure time so many times", Optional(K::Number, 1.0, 100.0)),
    s("fuse_c", "Has fused at", celsius_or_none()),
    s("air_limit_before_fuse_m_s", "Fastest air before it has fused", Optional(K::Velocity, 0.05, 50.0)),
    s("volatile_percent", "Leaves the powder as vapour", Optional(K::Percent, 0.0, 100.0)),
];

/// Schedules of the data sheet.
pub const CURE_POINTS: List = List {
    path: "/coating/cure_points",
    one: "cure schedule",
    settings: &[
        s("temperature_c", "Metal temperature", celsius()),
        s("minutes", "Time at it, min", Number(K::Number, 0.1, 1_000.0)),
    ],
    template: "{\"temperature_c\":200.0,\"minutes\":10.0}",
    none: "No cure schedule yet. Take them from the powder's data sheet: metal temperature and minutes at it, two or more that count as equal. Without one nothing can be said of cure.",
};

/// Flammable solvents.
pub const SOLVENTS: List = List {
    path: "/coating/solvents",
    one: "solvent",
    settings: &[
        s("name", "Called", Text),
        s("kg_s", "Evaporates in the oven", Number(K::MassFlow, 0.0, 10.0)),
        s("lfl_percent", "Lower flammable limit, % by volume", Number(K::Number, 0.01, 100.0)),
        s("molar_mass_g_mol", "Molar mass, g/mol", Number(K::Number, 1.0, 1_000.0)),
        s("specific_gravity", "Liquid density over water's", Optional(K::Number, 0.1, 5.0)),
    ],
    template: "{\"name\":\"xylene\",\"kg_s\":0.001,\"lfl_percent\":1.0,\"molar_mass_g_mol\":106.2,\"specific_gravity\":0.87}",
    none: "No solvent. Parts wiped with solvent, and wet paint, bring some in; the safety exhaust is reckoned from it.",
};

/// The burner.
pub const BURNER: Settings = &[
    s(
        "fuel",
        "Burns",
        Choice(&[
            ("\"natural_gas\"", "natural gas"),
            ("\"propane\"", "propane"),
            ("\"methane\"", "methane"),
            ("\"electric\"", "nothing: electric"),
        ]),
    ),
    s("rated_w", "Rated input, gross", Number(K::HeatRate, 100.0, 1e8)),
    s("turn_down", "Turn-down, to one", Number(K::Number, 1.0, 200.0)),
    s("excess_air_percent", "Excess air", Number(K::Percent, 0.0, 2_000.0)),
    s("direct", "Fires into the oven's air", Switch),
    s("efficiency_percent", "Efficiency, if known", Optional(K::Percent, 5.0, 100.0)),
];

/// The heater house.
pub const HOUSE: Settings = &[
    s("surface_m2", "Panel surface", Number(K::Area, 0.0, 1_000.0)),
    s("volume_m3", "Air inside", Number(K::Volume, 0.0, 1_000.0)),
    s("metal_kg", "Metal that heats up with it", Number(K::Mass, 0.0, 100_000.0)),
];

/// How the loss of panels is reckoned.
pub const PANEL_BASIS: Settings = &[s(
    "basis",
    "Loss reckoned by",
    Choice(&[("\"clear_and_joints\"", "clear panel and joints"), ("\"trade_factor\"", "the trade's factor")]),
)];

/// A panel.
pub const PANEL: Settings = &[
    s("insulation_m", "Insulation", Number(K::ShopLength, 0.0, 1.0)),
    s("insulation_density_kg_m3", "Density of the insulation", Number(K::Density, 5.0, 1_000.0)),
    s("inner_skin_m", "Inner skin", Number(K::ShopLength, 1e-4, 0.02)),
    s("outer_skin_m", "Outer skin", Number(K::ShopLength, 1e-4, 0.02)),
    s("outer_emissivity", "Emissivity outside: 0.26 galvanised, 0.9 painted", Number(K::Number, 0.01, 1.0)),
    s("loss_factor_w_m2k", "The shop's own loss factor", Optional(K::LossFactor, 0.01, 20.0)),
];

/// Conductivity of a panel's insulation, point by point.
pub const CONDUCTIVITY: List = List {
    path: "/enclosure/panels/wall/conductivity_points",
    one: "conductivity point",
    settings: &[
        s("temperature_c", "At mean temperature", celsius()),
        s("conductivity_w_mk", "Conductivity", Number(K::Conductivity, 0.005, 5.0)),
    ],
    template: "{\"temperature_c\":100.0,\"conductivity_w_mk\":0.046}",
    none: "Insulation is taken as stone wool of 80 to 100 kg/m³. Add points off the maker's sheet for another.",
};

/// Webs of metal through insulation.
pub const JOINTS: Settings = &[
    s("pitch_m", "Joint to joint", Number(K::Length, 0.05, 20.0)),
    s("webs", "Webs at each joint", Whole(1, 20)),
    s("web_thickness_m", "Sheet of a web", Number(K::ShopLength, 1e-4, 0.05)),
    s("metal_percent", "Metal left by slots across it", Number(K::Percent, 1.0, 100.0)),
    s("material", "Material", MATERIALS),
    s("material/other/specific_heat_j_kgk", "Specific heat", HEAT),
    s("material/other/conductivity_w_mk", "Conductivity", METAL_CONDUCTIVITY),
    s("material/other/density_kg_m3", "Density", DENSITY),
    s("break_m", "Thermal break", Number(K::ShopLength, 0.0, 0.5)),
    s("break_conductivity_w_mk", "Conductivity of the break", Number(K::Conductivity, 0.005, 50.0)),
    s("break_width_m", "Width of the break", Number(K::ShopLength, 0.001, 1.0)),
];

/// The floor.
pub const FLOOR: Settings = &[
    s("insulation_m", "Insulation", Number(K::ShopLength, 0.0, 1.0)),
    s("deck_m", "Deck", Number(K::ShopLength, 1e-4, 0.05)),
    s("slab/thickness_m", "Slab", Number(K::ShopLength, 0.02, 3.0)),
    s("slab/conductivity_w_mk", "Conductivity of the slab", Number(K::Conductivity, 0.05, 10.0)),
    s("slab/diffusivity_m2_s", "Diffusivity of the slab, m²/s", Number(K::Number, 1e-8, 1e-4)),
    s("soil_conductivity_w_mk", "Conductivity of the soil", Number(K::Conductivity, 0.05, 10.0)),
    s("soil_diffusivity_m2_s", "Diffusivity of the soil, m²/s", Number(K::Number, 1e-8, 1e-4)),
    s("ground_c", "Undisturbed ground", Number(K::Temperature, -20.0, 40.0)),
    s("duty_percent", "Hot for so much of the year", Number(K::Percent, 0.0, 100.0)),
    s("slab_limit_c", "Hottest allowed top of slab", Optional(K::Temperature, 20.0, 300.0)),
];

/// The space between floor insulation and slab.
pub const GAP: Settings = &[
    s("height_m", "Clear height", Number(K::ShopLength, 0.001, 2.0)),
    s("ventilation_m3_s", "Air blown through", Number(K::VolumeFlow, 0.0, 100.0)),
    s("upper_emissivity", "Emissivity of the face above", Number(K::Number, 0.01, 1.0)),
];

/// Room to grow.
pub const GROWTH: Settings = &[
    s("skin", "Inner skin", MATERIALS),
    s("skin/other/specific_heat_j_kgk", "Specific heat of the skin", HEAT),
    s("skin/other/conductivity_w_mk", "Conductivity of the skin", METAL_CONDUCTIVITY),
    s("skin/other/density_kg_m3", "Density of the skin", DENSITY),
    s("duct", "Ducts", MATERIALS),
    s("duct/other/specific_heat_j_kgk", "Specific heat of the ducts", HEAT),
    s("duct/other/conductivity_w_mk", "Conductivity of the ducts", METAL_CONDUCTIVITY),
    s("duct/other/density_kg_m3", "Density of the ducts", DENSITY),
    s("panel_width_m", "Panel, joint to joint", Number(K::Length, 0.05, 20.0)),
    s("panel_gap_m", "Gap at each panel joint", Optional(K::ShopLength, 0.0, 0.5)),
    s("duct_gap_m", "Free travel of a slip joint", Optional(K::ShopLength, 0.0, 1.0)),
    s("duct_stretch_m", "Longest duct between slip joints", Number(K::Length, 0.1, 200.0)),
    s("rail_gap_m", "Free travel of a rail joint", Optional(K::ShopLength, 0.0, 1.0)),
    s("rail_stretch_m", "Longest rail between joints", Number(K::Length, 0.1, 500.0)),
];

/// A temperature sensor, without place and zone.
pub const SENSOR: Settings = &[
    s("name", "Called", Text),
    s(
        "kind",
        "For",
        Choice(&[
            ("\"control\"", "control: the controller reads it"),
            ("\"limit\"", "limit: shuts the burner off"),
            ("\"reading\"", "reading: only shows"),
        ]),
    ),
    s("height_m", "Height above the floor", Number(K::Length, 0.0, 50.0)),
    s("set_c", "Holds or trips at", celsius_or_none()),
];

/// Safety ventilation, purge and relief.
pub const SAFETY: Settings = &[
    s("purge_flow_std_m3_s", "Fresh air during purge", Optional(K::StandardFlow, 0.0, 1_000.0)),
    s("purge_volumes", "Volumes changed before light-up, 4 unless set", Optional(K::Number, 0.1, 100.0)),
    s("purge_time_s", "Purge timer as set", Optional(K::Duration, 0.0, 36_000.0)),
    s("relief_area_m2", "Explosion-relief area", Optional(K::Area, 0.0, 1_000.0)),
    s(
        "lfl_share_percent",
        "Vapour allowed, % of the flammable limit, 25 unless set",
        Optional(K::Percent, 0.1, 50.0),
    ),
    s("fan_motor_w", "Rated power of all fan motors together", Optional(K::ShaftPower, 1.0, 1e7)),
];

/// Safety devices and interlocks.
pub const DEVICES: &[(&str, &str)] = &[
    ("recirculation_air_proving", "Proof of recirculation air"),
    ("exhaust_air_proving", "Proof of exhaust air"),
    ("combustion_air_proving", "Proof of combustion air"),
    ("excess_temperature_limit", "Excess-temperature limit, manual reset"),
    ("shut_off_valves", "Two safety shut-off valves in series"),
    ("gas_pressure_switches", "Low and high gas-pressure switches"),
    ("flame_safeguard", "Flame safeguard"),
    ("purge_timer", "Purge timer"),
    ("exhaust_stop", "Least-opening stop in the exhaust damper"),
    ("purge_position_proving", "Proven damper position during purge"),
    ("conveyor_interlock", "Heat cut when the conveyor stops"),
    ("vapour_monitor", "Continuous vapour monitor"),
];

/// Output, temperatures and times asked for.
pub const ENQUIRY_LINE: Settings = &[
    s("parts_per_hour", "Parts an hour", Optional(K::Number, 0.1, 1e6)),
    s("parts_per_m", "Parts on each metre of conveyor", Optional(K::Number, 0.001, 1_000.0)),
    s("speed_m_s", "Line speed, if given instead", Optional(K::LineSpeed, 1e-4, 2.0)),
    s("dry_off_c", "Dry-off zone; empty without one", celsius_or_none()),
    s("dry_off_s", "Time in dry-off", Number(K::Duration, 0.0, 36_000.0)),
    s("cure_c", "Cure zone", celsius()),
    s("cure_entry_c", "Parts enter cure at, if they cool before it", celsius_or_none()),
    s("metal_c", "Metal to be held at, if not by the coating", celsius_or_none()),
    s("dwell_s", "Dwell at it, if not by the coating", Optional(K::Duration, 0.0, 36_000.0)),
];

/// Room the parts need.
pub const ENQUIRY_ROOM: Settings = &[
    s("part_width_m", "Parts, width", Number(K::Length, 0.01, 20.0)),
    s("part_height_m", "Parts, height", Number(K::Length, 0.01, 20.0)),
    s("side_clearance_m", "Clear beside them", Number(K::Length, 0.0, 10.0)),
    s("floor_clearance_m", "Clear below them", Number(K::Length, 0.0, 10.0)),
    s("top_clearance_m", "Clear above them", Number(K::Length, 0.0, 10.0)),
    s("opening_clearance_m", "Clear round them in an opening", Number(K::Length, 0.0, 5.0)),
];

/// How heat and air are chosen.
pub const ENQUIRY_AIR: Settings = &[
    s("supply_difference_k", "Supply above zone, at most", Number(K::TemperatureDifference, 1.0, 200.0)),
    s("air_speed_m_s", "Air speed at the parts", Number(K::Velocity, 0.1, 30.0)),
    s("least_changes_per_min", "Air changes a minute in each zone, at least", Number(K::Number, 0.1, 60.0)),
    s("opening_seal", "Share of opening exchange stopped, 0 to 0.95", Number(K::Number, 0.0, 0.95)),
    s("exhaust_kg_s", "Exhaust, if given", Optional(K::MassFlow, 0.001, 100.0)),
    s("heat_up_s", "Cold to temperature", Number(K::Duration, 60.0, 86_400.0)),
    s("burner_margin_percent", "Margin on the burner", Number(K::Percent, 0.0, 200.0)),
];

/// What a zone has for its heat balance.
pub const ZONE_HEAT: Settings = &[
    s("unheated", "A vestibule, not heated", Switch),
    s("bay_length_m", "Bay length, if not chosen by the tool", Optional(K::Length, 0.2, 50.0)),
    s("other_loss_w_k", "Other losses, W per K above the plant", Number(K::Number, 0.0, 100_000.0)),
    s("leak_kg_s", "Plant air leaking in", Number(K::MassFlow, 0.0, 100.0)),
];

/// Air that neighbouring bays exchange.
pub const EXCHANGE: Settings = &[
    s("kg_s", "Neighbouring bays exchange", Number(K::MassFlow, 0.0, 100.0)),
    s("low_kg_s", "At the least", Number(K::MassFlow, 0.0, 100.0)),
    s("high_kg_s", "At the most", Number(K::MassFlow, 0.0, 100.0)),
];

/// A duct's insulation.
pub const DUCT_HEAT: Settings = &[s("insulation_m", "Insulation", Number(K::ShopLength, 0.0, 0.5))];

/// What a duct's leakage test read.
pub const LEAKAGE_TEST: Settings = &[
    s("flow_m3_s", "Leakage read", Number(K::VolumeFlow, 0.0, 100.0)),
    s("surface_m2", "Duct surface under test", Number(K::Area, 0.01, 10_000.0)),
    s("pressure_pa", "Test pressure", Number(K::Pressure, 1.0, 20_000.0)),
];

/// A damper that holds a zone's temperature.
pub const MODULATION: Settings = &[
    s("least_percent", "Its stop leaves at least", Number(K::Percent, 0.0, 100.0)),
    s("most_percent", "and at most", Number(K::Percent, 0.0, 100.0)),
];

/// An opening's curtain.
pub const OPENING_HEAT: Settings = &[s(
    "curtain_effectiveness",
    "Exchange stopped by an air curtain, 0 to 0.95",
    Optional(K::Number, 0.0, 0.95),
)];

/// Every table with a place it applies to: what no card shows is seen by the compiler as unused.
#[cfg(test)]
pub fn all() -> Vec<(&'static str, Settings)> {
    let mut all: Vec<(&str, Settings)> = vec![
        ("/load", LOAD),
        ("/load/hangers", CARRIED),
        ("/load/chain", CARRIED),
        ("/coating", COATING),
        ("/heater/burner", BURNER),
        ("/heater/house", HOUSE),
        ("/heater/house/panel", PANEL),
        ("/heater/house/panel/joints", JOINTS),
        ("/heater/house/panel/conductivity_points/0", CONDUCTIVITY.settings),
        ("/enclosure/panels", PANEL_BASIS),
        ("/enclosure/panels/wall", PANEL),
        ("/enclosure/panels/wall/joints", JOINTS),
        ("/enclosure/panels/wall/conductivity_points/0", CONDUCTIVITY.settings),
        ("/enclosure/panels/roof", PANEL),
        ("/enclosure/panels/roof/joints", JOINTS),
        ("/enclosure/panels/roof/conductivity_points/0", CONDUCTIVITY.settings),
        ("/enclosure/panels/floor", FLOOR),
        ("/enclosure/panels/floor/gap", GAP),
        ("/enclosure/panels/floor/channels", JOINTS),
        ("/enclosure/growth", GROWTH),
        ("/sensors/0", SENSOR),
        ("/safety", SAFETY),
        ("/enquiry", ENQUIRY_LINE),
        ("/enquiry", ENQUIRY_ROOM),
        ("/enquiry", ENQUIRY_AIR),
        ("/zones/0", ZONE_HEAT),
        ("/zones/0/exchange", EXCHANGE),
        ("/ducts/0", DUCT_HEAT),
        ("/ducts/0/leakage_test", LEAKAGE_TEST),
        ("/ducts/0/damper/modulation", MODULATION),
        ("/openings/0", OPENING_HEAT),
    ];
    all.extend([("/load/parts/0", PARTS.settings)]);
    all.extend([
        ("/coating/cure_points/0", CURE_POINTS.settings),
        ("/coating/solvents/0", SOLVENTS.settings),
    ]);
    all
}
