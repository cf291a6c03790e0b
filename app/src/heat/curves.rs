//! Curves of the heat's pictures: parts on their way, their cure window, the travel of a damper, warm-up.

use crate::charts::xy::{Axis, Curve, Curves, Ink};
use engine::heat::parts::{cure_window, schedule};
use engine::heat::results::{Heat, PartHeat};
use engine::heat::travel::DamperTravel;
use engine::plan::{Coating, Plan};
use engine::units::{Kind, UnitSystem, show};

/// Skin of parts and air around them, with what the coating asks and bears.
pub(super) fn part_curves(heat: &Heat, coating: Option<&Coating>, units: UnitSystem) -> Option<Curves> {
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
    curves
        .extend(heat.others.iter().map(|part| along(part.id.clone(), Ink::Soft, false, part, |p| p.skin_c)));
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
    for part in heat.parts() {
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
pub(super) fn window_curves(heat: &Heat, plan: &Plan, units: UnitSystem) -> Option<Curves> {
    let (coating, schedule) = (plan.coating.as_ref()?, schedule(plan)?);
    let window = cure_window(&schedule, coating.over_bake_times, coating.over_bake_c);
    let least: Vec<_> = window.iter().rev().map(|limit| (limit.cure_s, limit.temperature_c)).collect();
    let most: Vec<_> =
        window.iter().rev().filter_map(|limit| Some((limit.over_bake_s?, limit.temperature_c))).collect();
    let marks: Vec<_> =
        heat.parts().filter_map(|part| Some((part.id.clone(), (part.equivalent_s?, part.peak_c)))).collect();
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
    let mut curves = vec![curve("cured after", Ink::Accent, least)];
    if !most.is_empty() {
        curves.push(curve("over-baked after", Ink::Over, most));
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
pub(super) fn cure_words(part: &PartHeat, line_m_s: Option<f64>, units: UnitSystem) -> String {
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

pub(super) fn travel_curves(travel: &DamperTravel, heat: &Heat, units: UnitSystem) -> Curves {
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
pub(super) fn range_words(travel: &DamperTravel, heat: &Heat, units: UnitSystem) -> String {
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

pub(super) fn warm_up_curves(points: Vec<(f64, f64)>, units: UnitSystem) -> Curves {
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
