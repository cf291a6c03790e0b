//! Plain settings that the questions look at: shop record, build style, tolerances, drive, bench pieces.

use crate::cards::fold::Fold;
use crate::fields::Form;
use crate::settings::Holds::{self, Choice, Number, Optional, OptionalText, OptionalWhole, Several, Whole};
use crate::settings::{List, Setting, group, group_with, list, list_at};
use engine::units::Kind as K;
use yew::prelude::*;

type Settings = &'static [Setting];

const fn s(at: &'static str, label: &'static str, holds: Holds) -> Setting {
    Setting::new(at, label, holds)
}
const fn size() -> Holds {
    Optional(K::ShopLength, 0.0, 10.0)
}
const fn sizes() -> Holds {
    Several(K::ShopLength, 1e-4, 10.0)
}

const STYLES: [(&str, &str); 7] = [
    ("{\"style\":\"stepped_widths\"}", "one length, a width for each slot"),
    ("{\"style\":\"stepped_lengths\"}", "one punched width, a length for each"),
    ("{\"style\":\"punched_count\"}", "one punched size, count and pitch vary"),
    ("{\"style\":\"varied_pitch\"}", "equal slots, pitch varies"),
    ("{\"style\":\"continuous_taper\"}", "one slot, tapering panel by panel"),
    ("{\"style\":\"stepped_duct\"}", "equal slots, the duct steps down"),
    ("{\"style\":\"adjustable_strip\",\"slot_width_m\":0.02}", "a strip over each slot, set on site"),
];
const STYLE_OF_SHOP: Holds = Choice(&STYLES);
const STYLE_OF_ROW: Holds = {
    const ALL: [(&str, &str); 8] = [
        ("null", "as the shop record says"),
        STYLES[0],
        STYLES[1],
        STYLES[2],
        STYLES[3],
        STYLES[4],
        STYLES[5],
        STYLES[6],
    ];
    Choice(&ALL)
};
const STRIP: Setting = s("build/slot_width_m", "Slot under the strip", Number(K::ShopLength, 0.001, 0.5));

/// What the shop can cut beside steps and widths.
pub const SHOP: Settings = &[
    s("build", "Slots are made as", STYLE_OF_SHOP),
    STRIP,
    s("max_patterns", "Different slots it will cut, at most", OptionalWhole(1, 500)),
    s("length_increment_m", "Slot length step", Number(K::ShopLength, 1e-4, 0.5)),
    s("station_increment_m", "Slot place step", Number(K::ShopLength, 1e-4, 0.5)),
    s("min_web_m", "Metal between slots, at least", size()),
    s("edge_distance_m", "From slot to seam, flange, bend", size()),
    s("max_slot_length_m", "Longest slot without a tie", Optional(K::ShopLength, 0.001, 10.0)),
    s("sheet_length_m", "Length of a sheet", Optional(K::Length, 0.1, 20.0)),
    s("max_area_ratio", "Slot area over duct area, at most", Optional(K::Number, 0.05, 2.0)),
    s("gauges_m", "Sheet in stock", Several(K::ShopLength, 1e-4, 0.02)),
    s("duct_sizes_m", "Duct sides and diameters", sizes()),
    s("damper_sizes_m", "Damper sides and diameters", sizes()),
    s("seam_allowance_m", "Girth a seam takes", size()),
];
/// What a shop record holds that says nothing of these.
pub const SHOP_USUAL: &str =
    "{\"build\":{\"style\":\"stepped_widths\"},\"length_increment_m\":0.005,\"station_increment_m\":0.001}";

/// Stretches with a speed limit.
pub const SPEED_LIMITS: List = List {
    path: "/shop/speed_limits",
    one: "speed limit",
    settings: &[
        s("max_discharge_m_s", "Fastest jet there", Number(K::Velocity, 0.1, 200.0)),
        s("zone", "Only in the zone named", OptionalText),
        s(
            "conveyor_m",
            "Along the conveyor",
            Choice(&[("null", "everywhere"), ("[0.0,5.0]", "by a stretch of it")]),
        ),
        s("conveyor_m/0", "from", Number(K::Length, 0.0, 1_000.0)),
        s("conveyor_m/1", "to", Number(K::Length, 0.0, 1_000.0)),
    ],
    template: "{\"max_discharge_m_s\":10.0}",
    none: "No limit of its own anywhere. Add one where powder is not yet gelled and a fast jet would blow it off.",
};

/// How one row is made.
pub const ROW: Settings = &[s("build", "Made", STYLE_OF_ROW), STRIP];

/// Stretches a row must leave whole.
pub const BLANKED: List = List {
    path: "/slot_rows/0/blanked_m",
    one: "blanked stretch",
    settings: &[
        s("0", "from", Number(K::Length, 0.0, 1_000.0)),
        s("1", "to", Number(K::Length, 0.0, 1_000.0)),
    ],
    template: "[1.0,1.2]",
    none: "No blanked stretch: slots may stand anywhere along the row.",
};

/// What cutting, setting and nature leave open.
pub const TOLERANCES: Settings = &[
    s("cut_m", "Slot width as cut, ±", Number(K::ShopLength, 0.0, 0.01)),
    s("coefficient_percent", "Discharge coefficient, ±", Number(K::Percent, 0.0, 50.0)),
    s("slot_to_slot_percent", "From slot to slot, ±", Number(K::Percent, 0.0, 50.0)),
    s("regain", "Regain factor, ±", Number(K::Number, 0.0, 1.0)),
    s("roughness_factor", "Roughness, times or divided by", Number(K::Number, 1.0, 20.0)),
    s("fan_grade", "Fan grade (ISO 13348)", Whole(1, 4)),
    s("slide_m", "Slides as set, ±", Number(K::ShopLength, 0.0, 0.05)),
    s("damper_percent", "Dampers as set, ± of travel", Number(K::Percent, 0.0, 50.0)),
    s("temperature_k", "Oven air, ±", Number(K::TemperatureDifference, 0.0, 100.0)),
    s(
        "slot_law_weights",
        "Slot laws count",
        Choice(&[("[]", "all alike"), ("[1.0,1.0,1.0,1.0,1.0]", "by weights")]),
    ),
    s("slot_law_weights/0", "Cross-flow, sharp edge", WEIGHT),
    s("slot_law_weights/1", "Cross-flow, formed edge", WEIGHT),
    s("slot_law_weights/2", "Free streamline", WEIGHT),
    s("slot_law_weights/3", "Constant, on total", WEIGHT),
    s("slot_law_weights/4", "Constant, on static", WEIGHT),
];
const WEIGHT: Holds = Number(K::Number, 0.0, 1_000.0);
/// What they are while the plan says nothing.
pub const TOLERANCES_USUAL: &str = "{\"cut_m\":0.00025,\"coefficient_percent\":5.0,\"slot_to_slot_percent\":1.0,\"regain\":0.15,\"roughness_factor\":2.0,\"fan_grade\":3,\"slide_m\":0.002,\"damper_percent\":2.0,\"temperature_k\":5.0,\"slot_law_weights\":[]}";

/// What the air at the parts must keep to.
pub const AIR_AT_PART: Settings = &[
    s("loose_powder_m_s", "Air that loose powder bears", Number(K::Velocity, 0.05, 50.0)),
    s("loose_from_m", "Powder is loose from", Number(K::Length, 0.0, 1_000.0)),
    s("gelled_at_m", "and has gelled at", Optional(K::Length, 0.0, 1_000.0)),
];
/// What that is while the plan says nothing.
pub const AIR_USUAL: &str = "{\"loose_powder_m_s\":1.0,\"loose_from_m\":0.0}";

/// What metal and running time count.
pub const WEIGHING: Settings = &[
    s("hours_per_year", "The fan runs in a year, h", Number(K::Number, 1.0, 8_784.0)),
    s("drive_efficiency_percent", "Motor and drive together", Number(K::Percent, 5.0, 100.0)),
    s("sheet_m", "Duct sheet", Number(K::ShopLength, 1e-4, 0.02)),
    s("sheet_kg_m3", "Its density", Number(K::Density, 1_000.0, 20_000.0)),
];
/// What that is while the plan says nothing.
pub const WEIGHING_USUAL: &str =
    "{\"hours_per_year\":4000.0,\"drive_efficiency_percent\":88.0,\"sheet_m\":0.0012,\"sheet_kg_m3\":7850.0}";

/// What turns the fan.
pub const DRIVE: Settings = &[
    s(
        "drive",
        "Driven by",
        Choice(&[
            ("null", "not said yet"),
            (
                "{\"kind\":\"belt\",\"motor_speed_rpm\":1450.0,\"motor_pulley_m\":null,\"fan_pulley_m\":null}",
                "belts over pulleys",
            ),
            (
                "{\"kind\":\"frequency\",\"motor_speed_rpm\":1450.0,\"base_hz\":50.0,\"set_hz\":null}",
                "a frequency drive",
            ),
        ]),
    ),
    s("drive/motor_speed_rpm", "Motor speed at load", Number(K::Rotation, 100.0, 6_000.0)),
    s("drive/motor_pulley_m", "Pulley on the motor", Optional(K::ShopLength, 0.02, 2.0)),
    s("drive/fan_pulley_m", "Pulley on the fan", Optional(K::ShopLength, 0.02, 3.0)),
    s("drive/base_hz", "Frequency of the plate, Hz", Number(K::Number, 5.0, 400.0)),
    s("drive/set_hz", "Set to, Hz", Optional(K::Number, 1.0, 400.0)),
    s("tolerance_grade", "Grade of the maker's data (ISO 13348)", OptionalWhole(1, 4)),
];

/// Pin holes of a slide.
pub const RETURN: Settings = &[s("pin_pitch_m", "Pin holes every", Optional(K::ShopLength, 0.001, 0.5))];

/// Slotted lengths tried on a shop fan.
pub const BENCH: List = List {
    path: "/bench_pieces",
    one: "bench piece",
    settings: &[
        s(
            "section",
            "Duct",
            Choice(&[
                ("{\"width_m\":0.3,\"height_m\":0.2}", "rectangular"),
                ("{\"diameter_m\":0.3}", "round"),
            ]),
        ),
        s("section/width_m", "Inside width", Number(K::ShopLength, 0.02, 5.0)),
        s("section/height_m", "Inside height", Number(K::ShopLength, 0.02, 5.0)),
        s("section/diameter_m", "Inside diameter", Number(K::ShopLength, 0.02, 5.0)),
        s("roughness_m", "Roughness", Number(K::ShopLength, 0.0, 0.01)),
        s("root_m", "Root tap to first slot", Number(K::Length, 0.0, 50.0)),
        s("end_m", "Last slot to closed end", Number(K::Length, 0.0, 50.0)),
        s("pitch_m", "Pitch", Number(K::ShopLength, 0.001, 10.0)),
        s("count", "Slots", Whole(1, 500)),
        s("length_m", "Slot length", Number(K::ShopLength, 0.001, 5.0)),
        s("width_m", "Slot width as measured", Number(K::ShopLength, 1e-4, 1.0)),
        s("temperature_c", "Air on the bench", Number(K::Temperature, -20.0, 100.0)),
        s("root_static_pa", "Static pressure at the root tap", Number(K::Pressure, 0.1, 20_000.0)),
        s("end_static_pa", "Static pressure at the closed end", Number(K::Pressure, 0.1, 20_000.0)),
        s("flow_m3_s", "Flow into the piece", Number(K::VolumeFlow, 1e-4, 100.0)),
        s("static_doubt_percent", "Doubt of a static pressure", Number(K::Percent, 0.1, 50.0)),
        s("flow_doubt_percent", "Doubt of the flow", Number(K::Percent, 0.1, 50.0)),
        s("slot_doubt_percent", "Doubt of a slot", Number(K::Percent, 0.1, 50.0)),
    ],
    template: "{\"id\":\"piece\",\"section\":{\"width_m\":0.3,\"height_m\":0.2},\"root_m\":0.3,\"end_m\":0.1,\"pitch_m\":0.1,\"count\":20,\"length_m\":0.2,\"width_m\":0.012,\"root_static_pa\":100.0,\"end_static_pa\":120.0,\"flow_m3_s\":0.45,\"slots\":[{\"slot\":1,\"velocity_m_s\":8.0},{\"slot\":10,\"velocity_m_s\":8.5},{\"slot\":20,\"velocity_m_s\":9.0}]}",
    none: "No bench piece yet. Before metal is cut, put one slotted length on a shop fan, close its far end, and read static pressure at root and end, the flow, and three slots. That settles which slot law your slots follow, and narrows P90.",
};

/// Slots that were read on a bench piece.
pub const READINGS: List = List {
    path: "/bench_pieces/0/slots",
    one: "slot reading",
    settings: &[
        s("slot", "Slot, 1 nearest to the root", Whole(1, 500)),
        s("velocity_m_s", "Air over its full area", Number(K::Velocity, 0.05, 200.0)),
    ],
    template: "{\"slot\":1,\"velocity_m_s\":8.0}",
    none: "No slot was read. Two pressures and the flow alone hardly tell the laws apart.",
};

/// Limits of the shop record, and speed limits.
pub fn shop(form: &Form) -> Html {
    html! {
        <>
            { group_with(form, "shop record", "/shop", SHOP, SHOP_USUAL) }
            <h4>{ "Slower jets in places" }</h4>
            { list(form, &SPEED_LIMITS) }
        </>
    }
}

/// Build style and blanked stretches of the row with this name.
pub fn row(form: &Form, id: &str) -> Html {
    let Some(index) = form.plan().slot_rows.iter().position(|row| row.id == id) else { return html! {} };
    let base = format!("/slot_rows/{index}");
    let build = group(form, "build style", &base, ROW);
    let blanked = list_at(form, &BLANKED, &format!("{base}/blanked_m"), &|_, _| html! {});
    html! { <Fold title="How it is made" testid="fold-made">{ build }{ blanked }</Fold> }
}

/// Pin holes of the return with this name.
pub fn return_opening(form: &Form, id: &str) -> Html {
    let Some(index) = form.plan().returns.iter().position(|item| item.id == id) else { return html! {} };
    group(form, "pin holes", &format!("/returns/{index}"), RETURN)
}

/// Tolerances and bench pieces.
pub fn as_built(form: &Form) -> Html {
    let readings = |of: &Form, piece: &str| {
        let readings = list_at(of, &READINGS, &format!("{piece}/slots"), &|_, _| html! {});
        html! { <div class="within">{ readings }</div> }
    };
    html! {
        <>
            <Fold title="Tolerances" testid="fold-tolerances">
                { group_with(form, "tolerances", "/tolerances", TOLERANCES, TOLERANCES_USUAL) }
            </Fold>
            <Fold title="Bench pieces" testid="fold-bench">{ list_at(form, &BENCH, BENCH.path, &readings) }</Fold>
        </>
    }
}

/// What the fan is driven by.
pub fn drive(form: &Form) -> Html {
    group(form, "drive", "/heater/fan", DRIVE)
}

/// Air at the parts, and what alternatives are weighed by.
pub fn weighed(form: &Form) -> Html {
    html! {
        <>
            <Fold title="Air at the parts" testid="fold-air-at-part">
                { group_with(form, "air at the parts", "/air_at_part", AIR_AT_PART, AIR_USUAL) }
            </Fold>
            <Fold title="What metal and hours count" testid="fold-weighing">
                { group_with(form, "weighing", "/weighing", WEIGHING, WEIGHING_USUAL) }
            </Fold>
        </>
    }
}

/// Every table with a place it applies to and what stands there unsaid, for the tests.
pub fn all() -> [(&'static str, Settings, &'static str); 12] {
    [
        ("/shop", SHOP, SHOP_USUAL),
        ("/shop/speed_limits/0", SPEED_LIMITS.settings, "{}"),
        ("/slot_rows/0", ROW, "{}"),
        ("/slot_rows/0/blanked_m/0", BLANKED.settings, "{}"),
        ("/tolerances", TOLERANCES, TOLERANCES_USUAL),
        ("/air_at_part", AIR_AT_PART, AIR_USUAL),
        ("/weighing", WEIGHING, WEIGHING_USUAL),
        ("/heater/fan", DRIVE, "{}"),
        ("/returns/0", RETURN, "{}"),
        ("/bench_pieces/0", BENCH.settings, "{}"),
        ("/bench_pieces/0/slots/0", READINGS.settings, "{}"),
        ("/bench_pieces/0", &[], "{}"),
    ]
}
