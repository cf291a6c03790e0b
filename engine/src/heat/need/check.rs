//! What must hold before heat and air can be reckoned; anything else becomes a finding.

use crate::finding::{Finding, Message, Severity};
use crate::heat::material::surface_m2_per_m;
use crate::heat::part::{Body, Schedule};
use crate::plan::{Burner, Enquiry, Extra, Fuel, HungPart, Load, PanelBuildUp, Panels, PartShape, Plan};

/// A checked enquiry.
pub(super) struct Asked<'a> {
    pub plan: &'a Plan,
    pub enquiry: &'a Enquiry,
    pub load: &'a Load,
    pub parts: Vec<&'a HungPart>,
    pub panels: Panels,
    pub burner: Burner,
    pub schedule: Option<Schedule>,
    pub speed_m_s: f64,
    pub metal_c: f64,
    pub dwell_s: f64,
    pub pressure_pa: f64,
}

pub(super) fn refuse(findings: &mut Vec<Finding>, id: &str, item: Option<&str>, problem: &str, remedy: &str) {
    findings.push(Finding::new(
        Severity::Problem,
        id,
        item,
        Message::new(problem),
        remedy,
        "what the reckoning needs",
    ));
}

/// Sizes of a part that make metal.
fn sound_part(part: &HungPart) -> Option<&'static str> {
    let above = |value: f64| value.is_finite() && value > 0.0;
    if !above(part.kg_per_m) {
        return Some("its mass per metre is not above zero");
    }
    let sized = match part.shape {
        PartShape::Sheet { thickness_m } => above(thickness_m),
        PartShape::Bar { diameter_m } => above(diameter_m),
        PartShape::Tube { diameter_m, wall_m } => {
            above(diameter_m) && above(wall_m) && wall_m <= 0.5 * diameter_m
        }
    };
    if !sized {
        return Some("its thickness or diameter makes no metal");
    }
    let body = Body::of(part);
    let metal = [body.density_kg_m3, body.specific_heat_j_kgk, body.conductivity_w_mk, body.length_m];
    if !metal.into_iter().all(above) {
        return Some("its material or height is not above zero");
    }
    if part.surface_m2_per_m.is_some_and(|surface| !above(surface)) || surface_m2_per_m(part).is_none() {
        return Some("its surface is not above zero");
    }
    let shares = [part.water_kg_m2, part.powder_kg_m2];
    if !shares.iter().all(|value| value.is_finite() && *value >= 0.0)
        || !(0.0..=1.0).contains(&part.emissivity)
    {
        return Some("its water, powder or emissivity is out of range");
    }
    None
}

pub(super) fn check<'a>(
    plan: &'a Plan,
    enquiry: &'a Enquiry,
    findings: &mut Vec<Finding>,
) -> Option<Asked<'a>> {
    let before = findings.len();
    let Some(load) = &plan.load else {
        refuse(
            findings,
            "need-load",
            None,
            "There are no parts to heat.",
            "List the parts: mass per metre, material, shape.",
        );
        return None;
    };
    let parts: Vec<&HungPart> = load
        .parts
        .iter()
        .filter(|part| {
            let wrong = sound_part(part);
            if let Some(problem) = wrong {
                refuse(
                    findings,
                    "need-part",
                    Some(&part.id),
                    &format!("This part is left out: {problem}."),
                    "Correct it in the list of parts.",
                );
            }
            wrong.is_none()
        })
        .collect();
    if load.parts.is_empty() {
        refuse(findings, "need-load", None, "There are no parts to heat.", "Add at least one kind of part.");
    }
    let by_parts =
        enquiry.parts_per_hour.zip(enquiry.parts_per_m).map(|(hour, metre)| hour / metre / 3_600.0);
    let speed_m_s = enquiry.speed_m_s.or(by_parts).unwrap_or(f64::NAN);
    if !(speed_m_s > 0.0 && speed_m_s <= 2.0) {
        refuse(
            findings,
            "need-speed",
            None,
            "No usable line speed follows from the enquiry.",
            "Enter the line speed, or parts per hour and parts per metre.",
        );
    }
    let schedule = plan
        .coating
        .iter()
        .flat_map(|coating| &coating.cure_points)
        .map(|point| (point.temperature_c, 60.0 * point.minutes));
    let schedule = Schedule::new(schedule);
    let first = plan.coating.as_ref().and_then(|coating| coating.cure_points.first());
    let metal_c = enquiry.metal_c.or(first.map(|point| point.temperature_c)).unwrap_or(enquiry.cure_c - 15.0);
    let dwell_s = enquiry
        .dwell_s
        .or_else(|| schedule.as_ref().and_then(|schedule| schedule.seconds_at(metal_c)))
        .unwrap_or(600.0);
    let ambient = plan.site.ambient_c;
    let hot = |t: f64| t.is_finite() && t > ambient + 5.0 && t <= 450.0;
    if !hot(enquiry.cure_c) || enquiry.dry_off_c.is_some_and(|t| !hot(t)) {
        refuse(
            findings,
            "need-temperature",
            None,
            "A zone temperature is not between plant air and 450 °C.",
            "Correct the zone temperatures of the enquiry.",
        );
    }
    let hottest_dry_c = enquiry.cure_c + enquiry.supply_difference_k - super::judge::LEAST_DIFFERENCE_K;
    if enquiry.dry_off_c.is_some_and(|dry_c| dry_c > hottest_dry_c) {
        refuse(
            findings,
            "need-dry-off",
            None,
            "The dry-off zone is as hot as the supply air of the cure zone may get, and both share one heater.",
            "Lower it, allow a larger difference from supply to zone, or plan it as an oven with its own heater.",
        );
    }
    if metal_c > enquiry.cure_c - 2.0 {
        refuse(
            findings,
            "need-metal-temperature",
            None,
            "The metal temperature wanted is not below that of the cure zone, so no part ever reaches it.",
            "Set the cure zone at least 5 to 15 K above the metal temperature.",
        );
    }
    if let Some(part) = parts.first()
        && load.entry_temperature_c.max(enquiry.cure_entry_c.unwrap_or(f64::MIN)) > enquiry.cure_c
    {
        refuse(
            findings,
            "need-hot-part",
            Some(&part.id),
            "The parts come in hotter than the zone.",
            "Check the entry temperature.",
        );
    }
    let positive = [
        (enquiry.supply_difference_k, "supply difference"),
        (enquiry.part_width_m, "part width"),
        (enquiry.part_height_m, "part height"),
        (enquiry.heat_up_s, "time to heat up"),
    ];
    for (value, name) in positive {
        if !(value.is_finite() && value > 0.0) {
            refuse(
                findings,
                "need-input",
                None,
                &format!("The {name} of the enquiry is not above zero."),
                "Enter a number above zero.",
            );
        }
    }
    let shares = [
        enquiry.dry_off_s,
        dwell_s,
        enquiry.air_speed_m_s,
        enquiry.least_changes_per_min,
        enquiry.side_clearance_m,
        enquiry.floor_clearance_m,
        enquiry.top_clearance_m,
        enquiry.opening_clearance_m,
        enquiry.burner_margin_percent,
        enquiry.exhaust_kg_s.unwrap_or(0.0),
    ];
    let not_negative = |value: &f64| value.is_finite() && *value >= 0.0;
    if !shares.iter().all(not_negative) || !(0.0..=0.95).contains(&enquiry.opening_seal) {
        refuse(
            findings,
            "need-input",
            None,
            "A time, clearance, share or margin of the enquiry is out of range.",
            "Enter numbers from zero up; the opening seal from 0 to 0.95.",
        );
    }
    if parts.is_empty() || findings[before..].iter().any(|finding| finding.id != "need-part") {
        return None;
    }
    let pressure_pa = crate::network::from_plan::site_pressure_pa(plan);
    Some(Asked {
        plan,
        enquiry,
        load,
        parts,
        panels: panels_of(plan, findings),
        burner: plan.heater.burner.clone().unwrap_or(Burner {
            fuel: Fuel::NaturalGas,
            rated_w: 0.0,
            turn_down: 20.0,
            excess_air_percent: 50.0,
            direct: true,
            efficiency_percent: None,
            extra: Extra::new(),
        }),
        schedule,
        speed_m_s,
        metal_c,
        dwell_s,
        pressure_pa,
    })
}

/// The plan's panels; 150 mm of stone wool with usual joints where it has none, which is told.
fn panels_of(plan: &Plan, findings: &mut Vec<Finding>) -> Panels {
    let mut panels = plan.enclosure.panels.clone().unwrap_or_default();
    if panels.wall.is_none() {
        let mut wall = PanelBuildUp::new(0.15);
        wall.joints = Some(crate::plan::Joints::usual(0.6));
        panels.wall = Some(wall);
        findings.push(Finding::new(
            Severity::Note,
            "need-panels-assumed",
            None,
            Message::new(
                "No panels are entered: 150 mm of stone wool with slotted joints each 600 mm is taken.",
            ),
            "Enter the panels of walls, roof and floor.",
            "common practice, no published source",
        ));
    }
    panels.floor.get_or_insert_with(|| crate::plan::FloorBuildUp::new(0.15));
    panels
}
