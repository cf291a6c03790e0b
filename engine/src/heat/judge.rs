//! What a practitioner would say about the heat of a plan.

use super::coupled::Failure;
use super::need::{HUMIDITY_LIMIT, OUTSIDE_RATIO};
use super::results::{Heat, PartHeat, ZoneHeat};
use super::water::exhaust_for_humidity_kg_s;
use super::way::{Hung, PartPoint};
use crate::finding::{Finding, Message, Severity};
use crate::plan::geometry::{along, inside};
use crate::plan::{Fuel, Plan};
use crate::units::Kind;

const COMMON_PRACTICE: &str = "common practice, no published source";
/// Usual tolerance of powder and paint ovens: ±10 °F.
const UNIFORM_K: f64 = 5.6;
/// Share of the cure zone's fumes that is told in another zone.
const FUMES_TOLD: f64 = 0.05;

/// Input that leaves the heat balance without something it needs.
pub fn inputs(plan: &Plan) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut say = |severity, id: &str, item: Option<&str>, text: &str, remedy: &str| {
        findings.push(Finding::new(severity, id, item, Message::new(text), remedy, COMMON_PRACTICE));
    };
    let Some(load) = &plan.load else { return vec![] };
    for part in &load.parts {
        if Hung::part(plan, part).is_none() {
            say(
                Severity::Problem,
                "part-without-body",
                Some(&part.id),
                "This part has no mass or no size, so the heat balance leaves it out.",
                "Enter its mass per metre of conveyor and the sizes of its shape, each above zero.",
            );
        }
    }
    let hottest = plan.zones.iter().map(|zone| zone.set_temperature_c).fold(f64::NEG_INFINITY, f64::max);
    if load.entry_temperature_c > hottest && !load.parts.is_empty() {
        say(
            Severity::Problem,
            "part-enters-hot",
            None,
            "Parts come in hotter than any zone, so they give heat to the oven.",
            "Check the entry temperature of the load and the set temperatures.",
        );
    }
    if !load.parts.is_empty() && plan.conveyor.as_ref().is_none_or(|line| line.speed_m_s <= 0.0) {
        say(
            Severity::Caution,
            "line-stands",
            None,
            "The line stands still or is missing: the balance is that of an idle oven.",
            "Draw the conveyor and enter its speed.",
        );
    }
    if plan.enclosure.panels.as_ref().is_none_or(|panels| panels.wall.is_none()) {
        say(
            Severity::Note,
            "panels-assumed",
            None,
            "No panel is entered, so walls and roof are taken as 150 mm by the trade's loss factor.",
            "Enter the panels of wall and roof.",
        );
    }
    if plan.enclosure.panels.as_ref().is_none_or(|panels| panels.floor.is_none()) {
        say(
            Severity::Note,
            "floor-assumed",
            None,
            "No floor is entered, so 150 mm of wool on a slab is taken, and nothing is said of how hot the concrete gets.",
            "Enter the build-up of the floor.",
        );
    }
    if plan.zones.iter().any(|zone| zone.exchange.is_none()) {
        say(
            Severity::Note,
            "exchange-assumed",
            None,
            "The air that neighbouring bays exchange is assumed: 0.05 m/s over the area between them, 0.02 to 0.15 m/s \
             as its band. No published constant exists.",
            "Enter the exchange of each zone once a survey of the running oven tells it.",
        );
    }
    findings
}

/// Why there is no heat balance.
pub fn failure(failure: &Failure) -> Finding {
    let error = super::report::refusal(failure);
    Finding::new(
        Severity::Problem,
        "no-heat-balance",
        None,
        Message::new(format!("There is no heat balance: {}.", error.problem)),
        Message::new(format!("At {}: {}.", error.place, error.remedy)),
        "enthalpy balance of the bays",
    )
}

/// What a heat balance shows.
pub fn heat(plan: &Plan, heat: &Heat) -> Vec<Finding> {
    let mut findings = Vec::new();
    evenness(plan, heat, &mut findings);
    burner(plan, heat, &mut findings);
    for damper in &heat.dampers {
        if !damper.holds {
            findings.push(Finding::new(
                Severity::Problem,
                "damper-at-limit",
                Some(&damper.id),
                Message::new("At its limit of ").value(Kind::Percent, damper.open_percent).text(format!(
                    " travel this damper does not hold {} at its set temperature.",
                    damper.zone
                )),
                "Size the transfer duct anew, change the travel it is allowed, or the supply temperature.",
                "balance of the zone at that travel",
            ));
        }
        if damper.authority < 0.3 {
            findings.push(Finding::new(
                Severity::Caution,
                "damper-authority",
                Some(&damper.id),
                Message::new("The open damper takes ")
                    .value(Kind::Percent, 100.0 * damper.authority)
                    .text(" of the pressure along its path, itself included: the first part of its travel does the work."),
                "Make the damper smaller than its duct, limit its travel, or characterise the signal.",
                "authority of 0.3 to 0.5 is usual; other texts divide by the rest of the path",
            ));
        }
    }
    for part in heat.parts() {
        cure(plan, part, &mut findings);
    }
    air_carries(plan, heat, &mut findings);
    findings.extend(heat.parts().find_map(|part| blown(plan, part)));
    findings
}

/// Water and fumes in the air.
fn air_carries(plan: &Plan, heat: &Heat, findings: &mut Vec<Finding>) {
    let water = &heat.water;
    let direct =
        plan.heater.burner.as_ref().is_some_and(|burner| burner.direct && burner.fuel != Fuel::Electric);
    if !water.is_balanced && (heat.goes.water_w > 0.0 || direct) {
        findings.push(Finding::new(
            Severity::Problem,
            "no-way-out",
            None,
            Message::new(
                "Nothing lets air out of this oven, so water and products of combustion have nowhere to go; the balance \
                 leaves their mass out.",
            ),
            "Draw the product openings, or the opening that lets make-up air in where an exhaust draws.",
            "mass balance",
        ));
    }
    if water.is_balanced
        && let Some(wettest) = heat.zones.iter().max_by(|a, b| a.humidity_ratio.total_cmp(&b.humidity_ratio))
        && wettest.humidity_ratio > HUMIDITY_LIMIT
    {
        let given = water.parts_kg_s + water.combustion_kg_s;
        let wanted = exhaust_for_humidity_kg_s(given, HUMIDITY_LIMIT, OUTSIDE_RATIO) + given;
        findings.push(Finding::new(
            Severity::Caution,
            "humid",
            Some(&wettest.id),
            Message::new("Parts bring ")
                .value(Kind::MassFlow, water.parts_kg_s)
                .text(" of water and the fire ")
                .value(Kind::MassFlow, water.combustion_kg_s)
                .text("; the dew point of this zone comes to ")
                .value(Kind::Temperature, wettest.dew_point_c)
                .text("."),
            Message::new("Let ")
                .value(Kind::MassFlow, wanted)
                .text(" or more out by exhaust and openings, best from this zone, or let less water in."),
            "water balance of all bays with the shared heater; a dew point of 44 °C as a limit is common practice",
        ));
    }
    // Told once, of the zone where it is worst; the others are named.
    let met: Vec<_> = heat
        .zones
        .iter()
        .filter_map(|zone| coldest_in(plan, heat, &zone.id).map(|part| (zone, part)))
        .collect();
    let under = |(zone, (_, skin_c)): &&Meeting<'_>| zone.dew_point_c - skin_c;
    let wet: Vec<_> = met.iter().filter(|at| under(at) > 0.0).collect();
    if let Some((zone, (id, skin_c))) = wet.iter().copied().max_by(|a, b| under(a).total_cmp(&under(b))) {
        findings.push(Finding::new(
            Severity::Note,
            "condensation",
            Some(id),
            Message::new(format!("This part comes into {} at ", zone.id))
                .value(Kind::Temperature, *skin_c)
                .text(", colder than the dew point of the air there, ")
                .value(Kind::Temperature, zone.dew_point_c)
                .text(format!(": it collects water before it dries{}.", likewise(zone, &wet))),
            "Draw more exhaust, or bring parts in warmer.",
            "water balance of all bays; psychrometrics",
        ));
    }
    let hottest = heat.zones.iter().map(|zone| zone.set_temperature_c).fold(f64::NEG_INFINITY, f64::max);
    let fumes = |(zone, _): &&Meeting<'_>| {
        plan.coating.is_some() && zone.fume_share > FUMES_TOLD && zone.set_temperature_c < hottest
    };
    let fumed: Vec<_> = met.iter().filter(fumes).collect();
    if let Some((zone, (_, skin_c))) =
        fumed.iter().copied().max_by(|a, b| a.0.fume_share.total_cmp(&b.0.fume_share))
    {
        findings.push(Finding::new(
            Severity::Note,
            "cure-fumes",
            Some(&zone.id),
            Message::new("The shared heater and the openings bring cure fumes here: this air holds ")
                .value(Kind::Percent, 100.0 * zone.fume_share)
                .text(" of what it holds in the zone they come from, and meets parts of ")
                .value(Kind::Temperature, *skin_c)
                .text(format!(", on which they can settle{}.", likewise(zone, &fumed))),
            "Draw the exhaust from the zone where the coating cures, or give this zone its own heater.",
            "mass balance of all bays, fumes given off evenly over the floor of the hottest zone",
        ));
    }
}

/// A zone and the coldest part that comes into it, with its skin there, °C.
type Meeting<'a> = (&'a ZoneHeat, (&'a str, f64));

/// The other zones of which the same is true, in brackets.
fn likewise(zone: &ZoneHeat, all: &[&Meeting<'_>]) -> String {
    let others = all.iter().map(|(other, _)| other.id.as_str()).filter(|other| *other != zone.id);
    let others: Vec<&str> = others.collect();
    if others.is_empty() { String::new() } else { format!(" (likewise in {})", others.join(", ")) }
}

/// The coldest part that comes into a zone and its skin there, °C.
fn coldest_in<'a>(plan: &Plan, heat: &'a Heat, zone: &str) -> Option<(&'a str, f64)> {
    let zone = plan.zones.iter().find(|item| item.id == zone)?;
    let path = &plan.conveyor.as_ref()?.path;
    let is_here = |point: &&PartPoint| inside(&zone.outline, along(path, point.station_m).0);
    heat.parts()
        .filter_map(|part| {
            let skins = part.points.iter().filter(is_here).map(|point| point.skin_c);
            Some((part.id.as_str(), skins.reduce(f64::min)?))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

fn evenness(plan: &Plan, heat: &Heat, findings: &mut Vec<Finding>) {
    let worst = &heat.worst;
    let zone = heat.bays.iter().find(|bay| bay.id == worst.bay).map(|bay| bay.zone.as_str());
    if worst.off_k.abs() > UNIFORM_K {
        findings.push(Finding::new(
            if worst.off_k.abs() > 2.0 * UNIFORM_K { Severity::Problem } else { Severity::Caution },
            "bay-off",
            zone,
            Message::new(format!("Bay {} is ", worst.bay))
                .value(Kind::TemperatureDifference, worst.off_k.abs())
                .text(if worst.off_k < 0.0 { " below" } else { " above" })
                .text(" its set temperature; by the band of exchange between bays it may be ")
                .value(Kind::TemperatureDifference, worst.off_high_exchange_k.abs())
                .text(" to ")
                .value(Kind::TemperatureDifference, worst.off_low_exchange_k.abs())
                .text("."),
            "Give each bay the air its heat asks for (even out to equal temperature), or cut its loss.",
            "powder and paint ovens are usually held within 10 °F of set",
        ));
    }
    for zone in &heat.zones {
        let off = zone.control_c - zone.set_temperature_c;
        let is_heated = plan.zones.iter().any(|own| own.id == zone.id && !own.unheated);
        if zone.held_by.is_empty() && off.abs() > UNIFORM_K && is_heated {
            findings.push(Finding::new(
                Severity::Caution,
                "zone-not-held",
                Some(&zone.id),
                Message::new("Nothing holds this zone; it settles at ")
                    .value(Kind::Temperature, zone.mean_c)
                    .text("."),
                "Let the transfer damper hold it, or set damper and slots for it.",
                "balance of the zone",
            ));
        }
    }
}

fn burner(plan: &Plan, heat: &Heat, findings: &mut Vec<Finding>) {
    let id = Some(plan.heater.id.as_str());
    if heat.burner_w < 0.0 {
        findings.push(Finding::new(
            Severity::Problem,
            "no-duty",
            id,
            Message::new("The fan's own heat and what comes in are more than the oven loses, so it gets hotter than set."),
            "Check loads, losses and fan power.",
            "heat balance",
        ));
    }
    let Some(burner) = &plan.heater.burner else { return };
    if heat.burner_input_w > burner.rated_w {
        findings.push(Finding::new(
            Severity::Problem,
            "burner-too-small",
            id,
            Message::new("The heaviest load needs ")
                .value(Kind::HeatRate, heat.burner_input_w)
                .text("; the burner is rated ")
                .value(Kind::HeatRate, burner.rated_w)
                .text("."),
            "Choose a larger burner, or run less load, exhaust or opening.",
            "heat balance",
        ));
    }
    let least_w = burner.rated_w / burner.turn_down;
    if burner.turn_down > 1.0 && heat.idle_input_w < least_w {
        findings.push(Finding::new(
            Severity::Caution,
            "burner-turn-down",
            id,
            Message::new("With the line empty the oven needs about ")
                .value(Kind::HeatRate, heat.idle_input_w)
                .text(", less than the least fire the burner holds, ")
                .value(Kind::HeatRate, least_w)
                .text(": it cycles, or the oven gets too hot."),
            "Choose a smaller burner or one of greater turn-down.",
            "heat balance without parts, water, hangers and chain",
        ));
    }
}

fn cure(plan: &Plan, part: &PartHeat, findings: &mut Vec<Finding>) {
    let id = Some(part.id.as_str());
    let coating = plan.coating.clone().unwrap_or_default();
    match part.cure_index {
        None => findings.push(Finding::new(
            Severity::Note,
            "no-schedule",
            id,
            Message::new("No cure schedule is entered, so nothing tells whether this part cures."),
            "Enter the supplier's metal temperature and time.",
            "the supplier's data sheet",
        )),
        Some(index) if index < 1.0 => findings.push(Finding::new(
            Severity::Problem,
            "under-cure",
            id,
            Message::new("At this line speed the coating gets ")
                .value(Kind::Percent, 100.0 * index)
                .text(" of its cure; the metal peaks at ")
                .value(Kind::Temperature, part.peak_c)
                .text("."),
            part.fastest_m_s.map_or_else(
                || {
                    Message::new(
                        "No line speed cures it in this air: raise the zone's temperature or the air speed.",
                    )
                },
                |speed| Message::new("It would cure at ").value(Kind::LineSpeed, speed).text("."),
            ),
            "the supplier's schedules, log-linear between them; the film on sheet taken 1.5 times that of a quiet stream \
             (common practice); an estimate until a profile run",
        )),
        Some(_) => {}
    }
    let is_long =
        coating.over_bake_times.is_some_and(|times| part.cure_index.is_some_and(|index| index > times));
    let is_hot = coating.over_bake_c.is_some_and(|limit| part.peak_c > limit);
    if is_long || is_hot {
        let message = Message::new("The coating is over-baked: ");
        let message = match part.cure_index {
            Some(index) => message.value(Kind::Number, index).text(" times its cure, metal up to "),
            None => message.text("metal up to "),
        };
        findings.push(Finding::new(
            Severity::Caution,
            "over-bake",
            id,
            message.value(Kind::Temperature, part.peak_c).text("."),
            part.slowest_m_s.filter(|_| is_long).map_or_else(
                || Message::new("Lower the zone's temperature, or run faster."),
                |speed| {
                    Message::new("Run at ")
                        .value(Kind::LineSpeed, speed)
                        .text(" or faster, or lower the zone.")
                },
            ),
            "the supplier's limits",
        ));
    }
    if part.wet_share > 0.0 {
        findings.push(Finding::new(
            Severity::Problem,
            "still-wet",
            id,
            Message::new("Of the water it carries in, ")
                .value(Kind::Percent, 100.0 * part.wet_share)
                .text(" is still on it at the end of the oven."),
            "Blow it off before the oven, slow the line, or raise the dry-off zone's air and temperature.",
            "heat and mass balance of the film",
        ));
    }
}

/// Air that blows off what has not fused yet: the same for every part, so it is told of one.
fn blown(plan: &Plan, part: &PartHeat) -> Option<Finding> {
    let coating = plan.coating.as_ref()?;
    let (fuse_c, limit) = coating.fuse_c.zip(coating.air_limit_before_fuse_m_s)?;
    // Behind a booth the powder is on from there; what has fused holds.
    let powdery = part.points.iter().skip_while(|point| point.station_m < part.coated_from_m);
    let powdery = powdery.take_while(|point| point.skin_c < fuse_c).filter(|point| point.air_m_s > limit);
    let fastest = powdery.map(|point| point.air_m_s).reduce(f64::max)?;
    Some(Finding::new(
        Severity::Caution,
        "powder-blown",
        Some(&part.id),
        Message::new("Air of about ")
            .value(Kind::Velocity, fastest)
            .text(" meets powder that has not fused yet."),
        "Close slots near the entry of the cure zone, or widen them for slower air.",
        "the limit entered; no published threshold is known",
    ))
}
