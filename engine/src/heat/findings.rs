//! What a practitioner would say about panels, floor, growth and moisture of a plan.

use super::floor_slab::{FloorPlace, slab_top_after_c, steady_floor};
use super::material::surface_m2_per_m;
use super::need::{HUMIDITY_LIMIT, OUTSIDE_RATIO};
use super::results::Heat;
use super::water::{dew_point_c, exhaust_for_humidity_kg_s};
use super::{combustion, envelope, expansion};
use crate::finding::{Finding, Message, Severity};
use crate::plan::{FloorBuildUp, Growth, Material, PanelBasis, PanelBuildUp, Panels, Plan};
use crate::units::Kind;

const COMMON_PRACTICE: &str = "common practice, no published source";
/// Outside surfaces above this need a guard by older US model codes, °C (160 °F).
const GUARD_C: f64 = 71.0;
/// Long-term limit of concrete, °C (150 °F).
const CONCRETE_C: f64 = 66.0;
/// Binder of stone wool burns off from here, °C.
const BINDER_C: f64 = 230.0;

/// Adds the findings about what the plan says of its panels, floor and growth, and of moisture where no heat balance
/// tells it.
pub fn judge(plan: &Plan, heat: Option<&Heat>, findings: &mut Vec<Finding>) {
    let supply_c = heat.map_or(plan.heater.supply_temperature_c, |heat| heat.supply_temperature_c);
    let hottest = plan.zones.iter().max_by(|a, b| a.set_temperature_c.total_cmp(&b.set_temperature_c));
    let Some(hottest) = hottest else { return };
    if let Some(panels) = &plan.enclosure.panels {
        skins(plan, panels, hottest.set_temperature_c, supply_c, findings);
        if let Some(floor) = &panels.floor {
            slab(plan, floor, hottest.set_temperature_c, findings);
        }
    }
    if let Some(growth) = &plan.enclosure.growth {
        room_to_grow(plan, growth, hottest.set_temperature_c, supply_c, findings);
    }
    if heat.is_none() {
        moisture(plan, findings);
    }
}

fn skins(plan: &Plan, panels: &Panels, inside_c: f64, supply_c: f64, findings: &mut Vec<Finding>) {
    let ambient = plan.site.ambient_c;
    let height = plan.enclosure.height_m;
    let (first_c, _) = envelope::contact_burn_c(5.0);
    let faces: [(&str, Option<&PanelBuildUp>); 3] = [
        ("wall", panels.wall.as_ref()),
        ("roof", panels.roof.as_ref()),
        ("heater house", plan.heater.house.as_ref().and_then(|house| house.panel.as_ref())),
    ];
    let mut methods: Option<Message> = None;
    for (name, panel) in faces {
        let Some(panel) = panel else { continue };
        let inside_c = if name == "heater house" { supply_c } else { inside_c };
        let item = (name == "heater house").then_some(plan.heater.id.as_str());
        if panel.insulation_m <= 0.0 {
            findings.push(Finding::new(
                Severity::Problem,
                "no-insulation",
                item,
                Message::new(format!("The {name} panel has no insulation.")),
                "Enter its thickness.",
                "the plan",
            ));
        }
        let loss = envelope::panel_loss(panel, inside_c, ambient, height);
        let skin = loss.hottest_c();
        if skin > first_c {
            let at = if loss.joints.is_some_and(|joint| joint.line_c > loss.clear.skin_c) {
                " on its joint lines, "
            } else {
                ", "
            };
            findings.push(Finding::new(
                if skin > GUARD_C { Severity::Problem } else { Severity::Caution },
                &format!("hot-skin-{}", if item.is_some() { "house" } else { name }),
                item,
                Message::new(format!("The {name} gets "))
                    .value(Kind::Temperature, skin)
                    .text(format!("{at}and "))
                    .value(Kind::Temperature, loss.clear.skin_c)
                    .text(" between them. Touching metal at ")
                    .value(Kind::Temperature, first_c)
                    .text(" for five seconds burns."),
                "More insulation, a painted skin, slotted webs or a thermal break; or a guard. The code in force \
                 decides.",
                "ASTM C1055, 5 s contact in industry (regression from memory); 160 °F in older US model codes; skin by \
                 ISO 12241 (from memory), by Churchill & Chu up to 2 K hotter",
            ));
        }
        let told = match methods.take() {
            None => Message::new("As clear panel and joints and by the trade's factor, "),
            Some(told) => told.text(", "),
        };
        methods = Some(
            told.text(format!("the {name} loses "))
                .value(Kind::LossFactor, loss.clear_and_joints_w_m2k)
                .text(" and ")
                .value(Kind::LossFactor, loss.trade_w_m2k),
        );
    }
    if let Some(told) = methods {
        findings.push(Finding::new(
            Severity::Note,
            "panel-methods",
            None,
            told.text(match panels.basis {
                PanelBasis::ClearAndJoints => ". The first is used.",
                PanelBasis::TradeFactor => ". The second is used.",
            }),
            "Measure a built oven (fuel at idle) to know which is nearer.",
            "plane wall (surface by ISO 12241, from memory) and fins; trade article \"Calculating oven heat load capacity\"",
        ));
    }
}

fn slab(plan: &Plan, floor: &FloorBuildUp, inside_c: f64, findings: &mut Vec<Finding>) {
    let place = FloorPlace::of(plan, inside_c);
    if floor.insulation_m <= 0.0 {
        findings.push(Finding::new(
            Severity::Problem,
            "bare-cavity",
            None,
            Message::new(if floor.gap.is_some() {
                "The floor is a cavity without insulation: radiation crosses it and heats the concrete."
            } else {
                "The floor has no insulation."
            }),
            "Insulate under the deck, and ventilate the gap below.",
            COMMON_PRACTICE,
        ));
    }
    let steady = steady_floor(floor, &place);
    let after = slab_top_after_c(floor, &place, &[24.0, 168.0, 720.0]);
    let limit = floor.slab_limit_c.unwrap_or(CONCRETE_C);
    let hot = steady.slab_top_c > limit;
    let message = Message::new("The top of the concrete comes to ")
        .value(Kind::Temperature, after[0])
        .text(" in a day, ")
        .value(Kind::Temperature, after[1])
        .text(" in a week, ")
        .value(Kind::Temperature, after[2])
        .text(" in a month and ")
        .value(Kind::Temperature, steady.slab_top_c)
        .text(" in the end, hot for ")
        .value(Kind::Percent, floor.duty_percent)
        .text(" of the time; the limit taken is ")
        .value(Kind::Temperature, limit)
        .text(". A reading in the first week proves nothing.");
    findings.push(Finding::new(
        if hot { Severity::Problem } else { Severity::Note },
        if hot { "hot-slab" } else { "slab" },
        None,
        message,
        "More insulation, room air led through the gap, or a thermal break under each channel. What the slab bears \
         belongs to a licensed engineer.",
        "ISO 13370 (from memory) and one-dimensional conduction; ACI 349: 150 °F long-term, 200 °F local (from memory)",
    ));
    if let Some(channels) = &floor.channels
        && channels.break_m <= 0.0
        && floor.insulation_m > 0.0
    {
        let without = FloorBuildUp { channels: None, ..floor.clone() };
        let more = 100.0 * (steady.flux_w_m2 / steady_floor(&without, &place).flux_w_m2 - 1.0);
        findings.push(Finding::new(
            Severity::Caution,
            "floor-channels",
            None,
            Message::new("The channels that carry the deck add ")
                .value(Kind::Percent, more)
                .text(" to the loss into the floor, and hot lines on the concrete."),
            "Put a load-bearing thermal break under each foot.",
            "fin and web in series (Incropera & DeWitt)",
        ));
    }
    if floor.channels.is_none() && inside_c > BINDER_C {
        findings.push(Finding::new(
            Severity::Caution,
            "wool-strength",
            None,
            Message::new(
                "At this temperature the binder of the wool burns off and it no longer carries load.",
            ),
            "Carry the deck on channels or on insulation made for load.",
            "binder burns off from about 230 to 250 °C (insulation trade pages)",
        ));
    }
}

fn room_to_grow(plan: &Plan, growth: &Growth, inside_c: f64, supply_c: f64, findings: &mut Vec<Finding>) {
    let ambient = plan.site.ambient_c;
    let rows = [
        (
            "panel-growth",
            "Each inner panel",
            growth.skin,
            growth.panel_width_m,
            inside_c,
            (growth.panel_gap_m, 1.0),
            "Leave the gap at each joint and lap the inner skins; about half an inch between roof panels is usual.",
        ),
        (
            "duct-growth",
            "The longest stretch of duct",
            growth.duct,
            growth.duct_stretch_m,
            supply_c,
            (growth.duct_gap_m, 2.0),
            "One fixed point a run, slip joints between, with twice the growth free to move.",
        ),
        (
            "rail-growth",
            "The longest stretch of conveyor rail",
            Material::Steel,
            growth.rail_stretch_m,
            inside_c,
            (growth.rail_gap_m, 1.0),
            "Expansion joints in the hot rail each 15 to 30 m, none in drops or drives.",
        ),
    ];
    for (id, name, material, length_m, runs_c, (gap_m, times), remedy) in rows {
        let grows = expansion::growth_m(material, length_m, ambient, runs_c);
        let (severity, end) = match gap_m {
            Some(gap) if gap < times * grows => {
                (if gap < grows { Severity::Problem } else { Severity::Caution }, Some(gap))
            }
            Some(_) => continue,
            None => (Severity::Note, None),
        };
        let taken = if matches!(material, Material::Other { .. }) { " (taken as carbon steel)" } else { "" };
        let message = Message::new(format!("{name} grows ")).value(Kind::ShopLength, grows).text(taken);
        findings.push(Finding::new(
            severity,
            id,
            None,
            match end {
                Some(gap) => message.text("; ").value(Kind::ShopLength, gap).text(" is left."),
                None => message.text("; the plan does not say how much is left."),
            },
            remedy,
            "elongation after EN 1993-1-2 (stainless from memory) and EN 1999-1-2 (from memory); gaps by common practice, \
             no published source",
        ));
    }
}

fn moisture(plan: &Plan, findings: &mut Vec<Finding>) {
    let Some((load, conveyor)) = plan.load.as_ref().zip(plan.conveyor.as_ref()) else { return };
    let wet = load.parts.iter().filter_map(|part| Some(part.water_kg_m2 * surface_m2_per_m(part)?));
    let from_parts = conveyor.speed_m_s.max(0.0) * wet.fold(0.0, f64::max);
    let fired = plan.heater.burner.as_ref().filter(|burner| burner.direct);
    let from_fire = fired.map_or(0.0, |burner| {
        // Half the rating as a running mean.
        0.5 * burner.rated_w.max(0.0)
            * combustion::per_watt(burner.fuel, burner.excess_air_percent).water_kg_s
    });
    let water = from_parts + from_fire;
    if water.is_nan() || water <= 0.0 {
        return;
    }
    let drawn: f64 = plan.exhausts.iter().map(|exhaust| exhaust.mass_flow_kg_s.max(0.0)).sum();
    let wanted = exhaust_for_humidity_kg_s(water, HUMIDITY_LIMIT, OUTSIDE_RATIO) + water;
    if drawn < wanted {
        let ratio = if drawn > water { OUTSIDE_RATIO + water / (drawn - water) } else { f64::MAX };
        let barometer = crate::network::from_plan::site_pressure_pa(plan);
        let mut message = Message::new("Parts and fire bring ")
            .value(Kind::MassFlow, water)
            .text(" of water; the exhausts draw ")
            .value(Kind::MassFlow, drawn)
            .text(" of air");
        if ratio < 5.0 {
            message = message
                .text(", so its dew point comes to ")
                .value(Kind::Temperature, dew_point_c(ratio, barometer));
        }
        findings.push(Finding::new(
            Severity::Caution,
            "humid",
            plan.exhausts.first().map(|exhaust| exhaust.id.as_str()),
            message.text("."),
            Message::new("Draw ")
                .value(Kind::MassFlow, wanted)
                .text(" or more, best from the dry-off zone, or let less water in."),
            "mass balance of the whole oven; dew point of 44 °C as a limit is common practice",
        ));
    }
}
