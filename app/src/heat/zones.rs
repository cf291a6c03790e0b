//! Zones, dampers, parts and bays of the drawn oven in its steady state, and the way there from cold.

use super::curves::{cure_words, part_curves, range_words, travel_curves, warm_up_curves, window_curves};
use super::goes::{Bar, Goes, GoesPicture};
use super::{cell, figure, signed, table};
use crate::cards::ViewProps;
use crate::charts::xy::CurvePicture;
use crate::solve::{Look, Seen};
use engine::heat::results::{Goes as Losses, Heat, ZoneHeat};
use engine::units::{Kind, UnitSystem, show};
use yew::prelude::*;

/// Heat of the drawn oven.
pub fn zone_sheet(props: &ViewProps) -> Html {
    let session = &props.session;
    let units = session.view.units;
    let Some(heat) = session.analysis.as_ref().and_then(|analysis| analysis.heat.as_ref()) else {
        let teach = if session.plan.load.is_none() {
            "Zones stand at their set temperatures until the plan says what it heats: list the parts in step Heat & air needed. Then each bay of a zone gets its own temperature, from its slots, its walls, its openings and the parts in it."
        } else {
            "No heat balance yet: the findings say what stands in its way."
        };
        return html! { <p class="teach">{ teach }</p> };
    };
    let theme = session.view.theme;
    let coating = session.plan.coating.as_ref();
    let parts = part_curves(heat, coating, units);
    let window = window_curves(heat, &session.plan, units);
    let travel = session.seen.as_ref().filter(|seen| seen.look == Look::Travel);
    let held = heat.zones.iter().any(|zone| !zone.held_by.is_empty() && zone.held_by != "burner");
    let travel = match travel.map(|seen| (&seen.outcome, seen.generation == session.generation)) {
        Some((Ok(Seen::Travel(travel)), current)) => html! {
            <div aria-busy={(!current).to_string()}>
                { for travel.iter().map(|one| html! {
                    <div key={one.id.clone()}>
                        <CurvePicture curves={travel_curves(one, heat, units)} {theme} testid="damper-travel" />
                        <p class="teach">{ range_words(one, heat, units) }</p>
                    </div>
                }) }
            </div>
        },
        Some((Err(error), _)) => html! { <p class="teach">{ error.to_string() }</p> },
        _ if held => html! { <p class="teach">{ "Reckoning the travel of the damper …" }</p> },
        _ => html! {},
    };
    html! {
        <>
            { head(heat, units) }
            { zones(heat, units) }
            <div class="pictures">
                <div key="travel">{ travel }</div>
                if let Some(curves) = parts {
                    <div key="parts">
                        <CurvePicture {curves} {theme} testid="part-temperature" />
                        { for heat.parts().map(|part| html! { <p class="teach" key={part.id.clone()}>{ cure_words(part, session.plan.conveyor.as_ref().map(|c| c.speed_m_s), units) }</p> }) }
                    </div>
                }
                if let Some(curves) = window {
                    <div key="window">
                        <CurvePicture {curves} {theme} testid="cure-window" />
                        <p class="teach">{ "A part stands at its hottest skin and the time there that would cure it as much as its whole way does. Left of the window it is under-cured, right of it or above it over-baked." }</p>
                    </div>
                }
                <div key="goes"><GoesPicture goes={goes(heat, units)} {theme} /></div>
                if let Some(warm_up) = &heat.warm_up {
                    <div key="warm-up">
                        <CurvePicture curves={warm_up_curves(warm_up.curve.clone(), units)} {theme} testid="warm-up" />
                        <p class="teach">{ match warm_up.seconds {
                            Some(seconds) => format!("Cold to temperature in {}. The fan takes {} cold and {} at temperature.",
                                show(seconds, Kind::Duration, units), show(warm_up.fan_cold_w, Kind::ShaftPower, units), show(warm_up.fan_hot_w, Kind::ShaftPower, units)),
                            None => "The burner does not get the oven to temperature.".to_owned(),
                        } }</p>
                    </div>
                }
            </div>
            { bays(heat, units) }
            { openings(heat, units) }
        </>
    }
}

fn head(heat: &Heat, units: UnitSystem) -> Html {
    let worst = &heat.worst;
    let source = if worst.is_exchange_entered { "as entered" } else { "assumed" };
    let band = format!(
        "{} to {} over the band of exchange, {source}",
        signed(worst.off_low_exchange_k.min(worst.off_high_exchange_k), units),
        signed(worst.off_low_exchange_k.max(worst.off_high_exchange_k), units)
    );
    html! {
        <div class="figures">
            { figure("Worst bay", "heat-worst", Some(worst.off_k), Kind::TemperatureDifference, units, format!("{} · {band}", worst.bay)) }
            { figure("Burner duty", "heat-burner", Some(heat.burner_w), Kind::HeatRate, units,
                format!("{} burned", show(heat.burner_input_w, Kind::HeatRate, units))) }
            { figure("Supply air", "heat-supply", Some(heat.supply_temperature_c), Kind::Temperature, units,
                format!("returned to the heater at {}", show(heat.mix_temperature_c, Kind::Temperature, units))) }
            { figure("Fan heat", "heat-fan", Some(heat.fan_w), Kind::HeatRate, units, String::new()) }
        </div>
    }
}

fn zones(heat: &Heat, units: UnitSystem) -> Html {
    let c = |v| show(v, Kind::Temperature, units);
    let rows = heat.zones.iter().map(|zone| {
        let damper = heat.dampers.iter().find(|damper| damper.zone == zone.id);
        let held = match (zone.held_by.as_str(), damper) {
            ("", _) => "nothing: it floats".to_owned(),
            (by, Some(damper)) if !damper.holds => format!("{by}, which does not get there"),
            (by, _) => by.to_owned(),
        };
        vec![
            zone.id.clone(),
            c(zone.set_temperature_c),
            c(zone.control_c),
            c(zone.mean_c),
            c(zone.least_c),
            c(zone.most_c),
            held,
            cell(damper.map(|d| d.open_percent), Kind::Percent, units),
            damper.map_or_else(|| "—".to_owned(), |d| format!("{:.2}", d.authority)),
            cell(damper.map(|d| d.gain_k), Kind::TemperatureDifference, units),
            format!("{:.2}", zone.gain),
            format!("{:.3}", zone.humidity_ratio),
            c(zone.dew_point_c),
        ]
    });
    let head = [
        "Zone",
        "Set",
        "Control reads",
        "Mean",
        "Coldest bay",
        "Hottest bay",
        "Held by",
        "Travel",
        "Authority",
        "Zone for each % of travel",
        "Zone for each K of supply",
        "Water, kg/kg",
        "Dew point",
    ];
    html! {
        <>
            { table("Zones", "heat-zones", &head, rows.collect()) }
            if !heat.dampers.is_empty() {
                <p class="teach">{ "Authority is the drop over the open damper as a share of the whole drop from the heater's discharge to the zone, its own included; some texts leave its own out. Below about 0.3 the first part of the travel does the work." }</p>
            }
        </>
    }
}

fn bays(heat: &Heat, units: UnitSystem) -> Html {
    let rate = |v| show(v, Kind::HeatRate, units);
    let rows = heat.bays.iter().map(|bay| {
        vec![
            bay.id.clone(),
            show(bay.temperature_c, Kind::Temperature, units),
            signed(bay.off_k, units),
            show(bay.supply_kg_s, Kind::MassFlow, units),
            show(bay.air_m_s, Kind::Velocity, units),
            rate(bay.parts_w + bay.carried_w),
            rate(bay.water_w),
            rate(bay.wall_w + bay.roof_w + bay.floor_w + bay.other_w),
            rate(bay.radiation_w),
            rate(bay.ducts_w + bay.partition_w),
        ]
    });
    let head = [
        "Bay",
        "Air",
        "Off set",
        "Slot air",
        "Air speed",
        "Parts, hangers, chain",
        "Drying",
        "Walls, roof, floor",
        "Openings, radiated",
        "Gained from ducts and neighbours",
    ];
    table("Bays", "heat-bays", &head, rows.collect())
}

fn openings(heat: &Heat, units: UnitSystem) -> Html {
    let flow = |v| show(v, Kind::MassFlow, units);
    let rows = heat.openings.iter().map(|opening| {
        vec![
            opening.id.clone(),
            flow(opening.out_kg_s),
            flow(opening.in_kg_s),
            cell(opening.neutral_level_m, Kind::Length, units),
            show(opening.air_w, Kind::HeatRate, units),
            show(opening.radiation_w, Kind::HeatRate, units),
            flow(opening.stop_kg_s),
            flow(opening.hooded_out_kg_s),
            show(opening.curtain_m_s, Kind::Velocity, units),
        ]
    });
    let head = [
        "Opening",
        "Roll-out",
        "Air in",
        "Neutral level",
        "Heat by air",
        "Heat radiated",
        "Exhaust that would stop it",
        "Roll-out, hooded by a quarter",
        "Curtain, jet from 50 mm (2 in)",
    ];
    html! {
        <>
            { table("Product openings", "heat-openings", &head, rows.collect()) }
            <p class="teach">{ "A curtain's jet by Hayes & Stoecker 1969, numbers from memory; it is tuned on site and stops 40 to 80\u{a0}% of the exchange." }</p>
        </>
    }
}

/// A name, and how the figure for it is had.
type Loss = (&'static str, fn(&Losses) -> f64);

const LOSSES: [Loss; 12] = [
    ("Parts", |g| g.parts_w),
    ("Hangers, chain", |g| g.carried_w),
    ("Water dried off", |g| g.water_w),
    ("Exhaust", |g| g.exhaust_w),
    ("Openings, by air", |g| g.openings_w),
    ("Openings, radiated", |g| g.radiation_w),
    ("Walls", |g| g.wall_w),
    ("Roof", |g| g.roof_w),
    ("Floor", |g| g.floor_w),
    ("Ducts outside", |g| g.ducts_w),
    ("Heater house", |g| g.house_w),
    ("Other", |g| g.other_w),
];

/// A bar for each thing heat goes to, split by zone; last what belongs to no zone.
fn goes(heat: &Heat, units: UnitSystem) -> Goes {
    let by_zone = |of: &dyn Fn(&ZoneHeat) -> f64, all: f64| {
        let mut parts_w: Vec<f64> = heat.zones.iter().map(of).collect();
        let rest = all - parts_w.iter().sum::<f64>();
        // Sums in another order differ in their last digits.
        parts_w.push(if rest.abs() > 1e-6 * all.abs() { rest } else { 0.0 });
        parts_w
    };
    let mut bars: Vec<Bar> = LOSSES
        .iter()
        .map(|(name, of)| (*name, by_zone(&|zone| of(&zone.goes), of(&heat.goes))))
        .chain([("To other zones", by_zone(&|zone| zone.to_others_w, 0.0))])
        .map(|(name, parts_w)| Bar { name, parts_w, beside_w: None })
        .collect();
    if let Some(between) = bars.last_mut().and_then(|bar| bar.parts_w.last_mut()) {
        // What one zone loses another gains.
        *between = 0.0;
    }
    bars.push(Bar { name: "Fan", parts_w: by_zone(&|_| 0.0, -heat.fan_w), beside_w: None });
    bars.retain(|bar| bar.parts_w.iter().any(|w| *w != 0.0));
    let parts = heat.zones.iter().map(|zone| zone.id.clone()).chain(["no zone".to_owned()]).collect();
    Goes { bars, parts, beside: None, units }
}
