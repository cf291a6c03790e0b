//! Zones, dampers, parts and bays of the drawn oven in its steady state, and the way there from cold.

use super::goes::{Bar, Goes, GoesPicture};
use super::{cell, figure, signed, table};
use crate::cards::ViewProps;
use crate::charts::xy::{Axis, Curve, CurvePicture, Curves, Ink};
use crate::solve::{Look, Seen};
use engine::heat::parts::{cure_window, schedule};
use engine::heat::results::{Goes as Losses, Heat, PartHeat, ZoneHeat};
use engine::heat::travel::DamperTravel;
use engine::plan::{Coating, Plan};
use engine::units::{Kind, UnitSystem, show};
use yew::prelude::*;

/// Heat of the drawn oven.
#[component]
pub fn ZoneSheet(props: &ViewProps) -> Html {
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
                        { for [&heat.part, &heat.lightest].into_iter().flatten().map(|part| html! { <p class="teach" key={part.id.clone()}>{ cure_words(part, session.plan.conveyor.as_ref().map(|c| c.speed_m_s), units) }</p> }) }
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
            format!("{:.1}", opening.curtain_n_m),
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
        "Curtain needs, N/m",
    ];
    table("Product openings", "heat-openings", &head, rows.collect())
}

/// Skin of parts and air around them, with what the coating asks and bears.
fn part_curves(heat: &Heat, coating: Option<&Coating>, units: UnitSystem) -> Option<Curves> {
    let part = heat.part.as_ref()?;
    let along =
        |name: String, ink, dashed, part: &PartHeat, of: fn(&engine::heat::way::PartPoint) -> f64| Curve {
            name,
            ink,
            dashed,
            points: part.points.iter().map(|point| (point.station_m, of(point))).collect(),
        };
    let mut curves = vec![
        along(format!("{}, heaviest", part.id), Ink::Ink, false, part, |p| p.skin_c),
        along("air around it".to_owned(), Ink::Over, true, part, |p| p.air_c),
    ];
    if part.is_thick {
        curves.push(along("its core".to_owned(), Ink::Soft, false, part, |p| p.core_c));
    }
    if let Some(light) = &heat.lightest {
        curves.push(along(format!("{}, lightest", light.id), Ink::Under, false, light, |p| p.skin_c));
    }
    let mut areas = Vec::new();
    if let (Some(cure_c), Some(first), Some(last)) = (part.cure_c, part.points.first(), part.points.last()) {
        let (from, to) = (first.station_m, last.station_m);
        let mut level = |name: &str, ink, at_c: f64| {
            let points = vec![(from, at_c), (to, at_c)];
            curves.push(Curve { name: name.to_owned(), ink, dashed: true, points });
        };
        level("cures above", Ink::Accent, cure_c);
        let most_c = coating.and_then(|coating| coating.over_bake_c).filter(|most| *most > cure_c);
        if let Some(most_c) = most_c {
            level("discolours above", Ink::Over, most_c);
        }
        let most_c = most_c.unwrap_or(f64::INFINITY);
        let corners = vec![(from, cure_c), (from, most_c), (to, most_c), (to, cure_c)];
        areas.push(("cure window".to_owned(), corners));
    }
    let mut marks = Vec::new();
    for part in [Some(part), heat.lightest.as_ref()].into_iter().flatten() {
        for (word, place) in [("cured", part.cured_at_m), ("over-baked", part.over_baked_at_m)] {
            let skin =
                place.and_then(|at| Some((at, part.points.iter().find(|p| p.station_m >= at)?.skin_c)));
            marks.extend(skin.map(|place| (format!("{} {word}", part.id), place)));
        }
    }
    let x = Axis { title: "Way along the conveyor", kind: Kind::Length };
    let y = Axis { title: "Temperature", kind: Kind::Temperature };
    Some(Curves { name: "Part temperature", x, y, curves, marks, areas, units })
}

/// Time against metal temperature: what the coating asks and bears, and where the parts stand.
fn window_curves(heat: &Heat, plan: &Plan, units: UnitSystem) -> Option<Curves> {
    let (coating, schedule) = (plan.coating.as_ref()?, schedule(plan)?);
    let window = cure_window(&schedule, coating.over_bake_times, coating.over_bake_c);
    let least: Vec<_> = window.iter().rev().map(|limit| (limit.cure_s, limit.temperature_c)).collect();
    let most: Vec<_> =
        window.iter().rev().filter_map(|limit| Some((limit.over_bake_s?, limit.temperature_c))).collect();
    let parts = [&heat.part, &heat.lightest].into_iter().flatten();
    let marks: Vec<_> =
        parts.filter_map(|part| Some((part.id.clone(), (part.equivalent_s?, part.peak_c)))).collect();
    let places = least.iter().chain(&most).chain(marks.iter().map(|mark| &mark.1));
    let longest_s = 1.1 * places.map(|place| place.0).fold(0.0, f64::max);
    let mut outline = least.clone();
    match (most.is_empty(), window.first(), window.last()) {
        (true, Some(cool), Some(hot)) => {
            outline.extend([(f64::INFINITY, cool.temperature_c), (f64::INFINITY, hot.temperature_c)]);
        }
        _ => outline.extend(most.iter().rev()),
    }
    let curve = |name: &str, ink, points| Curve { name: name.to_owned(), ink, dashed: true, points };
    let mut curves = vec![curve("cured: least time", Ink::Accent, least)];
    if !most.is_empty() {
        curves.push(curve("over-baked: longest time", Ink::Over, most));
    }
    if let Some(most_c) = coating.over_bake_c {
        curves.push(curve("discolours above", Ink::Soft, vec![(0.0, most_c), (longest_s, most_c)]));
    }
    Some(Curves {
        name: "Cure window",
        x: Axis { title: "Time at metal temperature", kind: Kind::Duration },
        y: Axis { title: "Metal temperature", kind: Kind::Temperature },
        curves,
        marks,
        areas: vec![("cure window".to_owned(), outline)],
        units,
    })
}

/// Whether it cures, and how fast the line may run.
fn cure_words(part: &PartHeat, line_m_s: Option<f64>, units: UnitSystem) -> String {
    let speed = |v: f64| show(v, Kind::LineSpeed, units);
    let mut text = format!("{}: hottest {}", part.id, show(part.peak_c, Kind::Temperature, units));
    if let Some(bring_up) = part.bring_up_s {
        text += &format!(
            ", brought up in {}, above cure temperature for {}",
            show(bring_up, Kind::Duration, units),
            show(part.dwell_s, Kind::Duration, units)
        );
    }
    match part.cure_index {
        Some(index) if index >= 1.0 => text += &format!(". It cures, {index:.2} times over"),
        Some(index) => text += &format!(". It does not cure: {:.0}\u{a0}% of the schedule", 100.0 * index),
        None => text += ". Without a cure schedule nothing can be said of cure",
    }
    if let Some(fastest) = part.fastest_m_s {
        text += &format!("; in this air the line could run at up to {}", speed(fastest));
    }
    if let Some(slowest) = part.slowest_m_s {
        text += &format!("; below {} it over-bakes", speed(slowest));
    }
    if let Some(line) = line_m_s {
        text += &format!(" (now {})", speed(line));
    }
    if part.wet_share > 0.0 {
        text += &format!(". {:.0}\u{a0}% of its water is still on it", 100.0 * part.wet_share);
    }
    text + "."
}

fn travel_curves(travel: &DamperTravel, heat: &Heat, units: UnitSystem) -> Curves {
    let curve = |name: &str, ink, dashed, of: fn(&engine::heat::travel::TravelPoint) -> Option<f64>| Curve {
        name: name.to_owned(),
        ink,
        dashed,
        points: travel.points.iter().filter_map(|p| of(p).map(|c| (p.open_percent, c))).collect(),
    };
    let set = vec![(0.0, travel.set_c), (100.0, travel.set_c)];
    let damper = heat.dampers.iter().find(|damper| damper.id == travel.id);
    let zone = heat.zones.iter().find(|zone| zone.id == travel.zone);
    let now = damper.zip(zone).map(|(damper, zone)| {
        (format!("now, authority {:.2}", damper.authority), (damper.open_percent, zone.control_c))
    });
    let range = travel.idle_percent.zip(travel.loaded_percent).map(|(idle, loaded)| {
        let (low, high) = (f64::NEG_INFINITY, f64::INFINITY);
        (
            "line empty to heaviest load".to_owned(),
            vec![(idle, low), (idle, high), (loaded, high), (loaded, low)],
        )
    });
    Curves {
        name: "Zone temperature against damper travel",
        x: Axis { title: "Damper travel", kind: Kind::Percent },
        y: Axis { title: "Zone temperature", kind: Kind::Temperature },
        curves: vec![
            curve("heaviest load", Ink::Ink, false, |p| p.loaded_c),
            curve("line empty", Ink::Under, true, |p| p.idle_c),
            Curve { name: "set".to_owned(), ink: Ink::Accent, dashed: true, points: set },
        ],
        marks: now.into_iter().collect(),
        areas: range.into_iter().collect(),
        units,
    }
}

/// The useful range of the travel, in words.
fn range_words(travel: &DamperTravel, heat: &Heat, units: UnitSystem) -> String {
    let percent = |v| show(v, Kind::Percent, units);
    let set = show(travel.set_c, Kind::Temperature, units);
    let mut text = match (travel.idle_percent, travel.loaded_percent) {
        (Some(idle), Some(loaded)) => format!(
            "{} holds {} at {set} between {} of its travel with the line empty and {} under the heaviest load: that is the useful range",
            travel.id,
            travel.zone,
            percent(idle),
            percent(loaded)
        ),
        (Some(idle), None) => format!(
            "{} holds {} at {set} with the line empty ({}), and at no travel under the heaviest load",
            travel.id,
            travel.zone,
            percent(idle)
        ),
        (None, Some(loaded)) => format!(
            "{} holds {} at {set} under the heaviest load ({}), and at no travel with the line empty",
            travel.id,
            travel.zone,
            percent(loaded)
        ),
        (None, None) => format!("{} holds {} at {set} at no travel", travel.id, travel.zone),
    };
    if let Some(damper) = heat.dampers.iter().find(|damper| damper.id == travel.id) {
        text += &format!("; its authority is {:.2}", damper.authority);
    }
    text + "."
}

fn warm_up_curves(points: Vec<(f64, f64)>, units: UnitSystem) -> Curves {
    Curves {
        name: "Warm-up",
        x: Axis { title: "Time from cold", kind: Kind::Duration },
        y: Axis { title: "Oven", kind: Kind::Temperature },
        curves: vec![Curve { name: "oven".to_owned(), ink: Ink::Over, dashed: false, points }],
        marks: Vec::new(),
        areas: Vec::new(),
        units,
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
