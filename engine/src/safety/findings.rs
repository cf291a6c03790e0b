//! What somebody must look at before heat is applied.

use super::{
    RELIEF_M, demands, drawn_std_m3_s, lfl_share_percent, purge_flow_std_m3_s, purge_time_s, volume_m3,
};
use crate::analysis::Analysis;
use crate::finding::{Finding, Message, Severity};
use crate::plan::geometry::{Onto, joints, length_m};
use crate::plan::{Fuel, Plan, SafetyDevice, SensorKind};
use crate::units::Kind;

const DEFER: &str =
    " The code in force where the oven stands decides, and a licensed engineer must confirm it.";
const NFPA: &str = "NFPA 86 (from memory; read the edition in force)";

/// Adds the safety findings of a plan that says something about burner, coating or safety equipment.
pub fn judge(plan: &Plan, analysis: &Analysis, findings: &mut Vec<Finding>) {
    if plan.heater.burner.is_none() && plan.safety.is_none() && plan.coating.is_none() {
        return;
    }
    dilution(plan, findings);
    purge(plan, findings);
    shut_volumes(plan, findings);
    relief(plan, findings);
    devices(plan, findings);
    sensors(plan, analysis, findings);
    motor(plan, analysis, findings);
}

fn push(
    findings: &mut Vec<Finding>,
    severity: Severity,
    id: &str,
    item: Option<&str>,
    message: Message,
    remedy: &str,
    basis: &str,
) {
    let remedy = Message::new(format!("{remedy}{DEFER}"));
    findings.push(Finding::new(severity, id, item, message, remedy, basis));
}

fn dilution(plan: &Plan, findings: &mut Vec<Finding>) {
    let demands = demands(plan);
    let wanted: f64 = demands.iter().map(|demand| demand.std_m3_s).sum();
    let drawn = drawn_std_m3_s(plan);
    let share = lfl_share_percent(plan);
    let basis = "NFPA 86 chapter 11: 25 % of the lower flammable limit in continuous ovens, powder as 9 % xylene, \
                 183 scfm per million Btu/h (clauses and figures from memory); EN 1539 has its own reckoning";
    let is_watched =
        plan.safety.as_ref().is_some_and(|safety| safety.devices.contains(&SafetyDevice::VapourMonitor));
    if share > if is_watched { 50.0 } else { 25.0 } {
        push(
            findings,
            Severity::Problem,
            "lfl-share",
            None,
            Message::new("The plan lets vapour come to ")
                .value(Kind::Percent, share)
                .text(" of the lower flammable limit; 25 % is usual, and up to 50 % with a continuous vapour monitor."),
            "Allow less, or fit and prove a monitor that stops the line in time, then enter it.",
            "NFPA 86 chapter 11 (from memory)",
        );
    }
    if !wanted.is_finite() {
        push(
            findings,
            Severity::Problem,
            "dilution-unknown",
            None,
            Message::new(
                "A solvent has no usable limit, molar mass or allowed share, so its dilution air is unknown.",
            ),
            "Enter its lower flammable limit and molar mass from the safety data sheet.",
            basis,
        );
        return;
    }
    if wanted > 0.0 {
        let mut message = Message::new("Fresh air for dilution: ");
        for (i, demand) in demands.iter().enumerate() {
            message = message
                .text(format!("{}{} ", if i > 0 { ", " } else { "" }, demand.what))
                .value(Kind::StandardFlow, demand.std_m3_s);
        }
        message = message
            .text("; together ")
            .value(Kind::StandardFlow, wanted)
            .text(" at ")
            .value(Kind::Percent, share)
            .text(" of the flammable limit. The exhausts of heated zones draw ")
            .value(Kind::StandardFlow, drawn)
            .text(".");
        let short = drawn < wanted;
        push(
            findings,
            if short { Severity::Problem } else { Severity::Note },
            if short { "dilution-short" } else { "dilution" },
            plan.exhausts.first().map(|e| e.id.as_str()),
            message,
            if short {
                "Draw more, or bring less vapour in."
            } else {
                "Keep a stop in the exhaust damper so that it cannot go below this."
            },
            basis,
        );
    }
    if plan.coating.as_ref().is_some_and(|coating| !coating.solvents.is_empty()) {
        push(
            findings,
            Severity::Caution,
            "lfl-hot",
            None,
            Message::new(
                "The lower flammable limit is corrected for heat by a straight line. Acetone, benzene, hexane and \
                 cyclohexane were measured well below it: 0.67 to 0.75 of the cold value at 200 °C, not 0.86.",
            ),
            "Use a measured limit at oven temperature where there is one.",
            "Ludwig, Applied Process Design vol. 1, 3rd ed., table 7-22, against the 1300 °C rule",
        );
    }
    for exhaust in plan.exhausts.iter().filter(|exhaust| exhaust.mass_flow_kg_s <= 0.0) {
        push(
            findings,
            Severity::Problem,
            "exhaust-zero",
            Some(&exhaust.id),
            Message::new("This exhaust draws nothing."),
            "Give it a least flow that no damper can go below.",
            NFPA,
        );
    }
}

fn purge(plan: &Plan, findings: &mut Vec<Finding>) {
    if plan.heater.burner.as_ref().is_none_or(|burner| burner.fuel == Fuel::Electric) && plan.safety.is_none()
    {
        return;
    }
    let safety = plan.safety.clone().unwrap_or_default();
    let changes = safety.purge_volumes.unwrap_or(4.0);
    let (volume, flow) = (volume_m3(plan), purge_flow_std_m3_s(plan));
    let time = purge_time_s(volume, flow, changes);
    let basis = "four volumes of fresh air before light-up: NFPA 86, 8.5.1.1 in the 2015 and 2019 editions (from \
                 memory); about 20 min: Metal Finishing guidebook 2013";
    let item = Some(plan.heater.id.as_str());
    if changes < 4.0 {
        push(
            findings,
            Severity::Problem,
            "purge-volumes",
            item,
            Message::new("The purge is set to ")
                .value(Kind::Number, changes)
                .text(" volumes; four are usual."),
            "Purge at least four volumes.",
            basis,
        );
    }
    if !time.is_finite() {
        push(
            findings,
            Severity::Problem,
            "purge-none",
            item,
            Message::new("No fresh air is moved for the purge before light-up."),
            "Add an exhaust, or enter the purge flow.",
            basis,
        );
        return;
    }
    let message = Message::new("Oven and heater house hold ")
        .value(Kind::Volume, volume)
        .text("; at ")
        .value(Kind::StandardFlow, flow)
        .text(" of fresh air the purge takes ")
        .value(Kind::Duration, time);
    match safety.purge_time_s {
        Some(set) if set < time => push(
            findings,
            Severity::Problem,
            "purge-short",
            item,
            message
                .text(" (ducts outside the box not counted), the timer is set to ")
                .value(Kind::Duration, set)
                .text("."),
            "Set the timer longer, or purge with more fresh air. Recirculated air does not count.",
            basis,
        ),
        _ => push(
            findings,
            if time > 1_200.0 { Severity::Caution } else { Severity::Note },
            "purge",
            item,
            message.text(" (ducts outside the box are not in this volume)."),
            "Set the purge timer to it and prove the flow; a purge exhaust larger than the running one shortens it.",
            basis,
        ),
    }
}

/// Air behind a damper that may stand shut during the purge, m³: the duct and those it feeds.
fn behind_m3(plan: &Plan, first: usize) -> f64 {
    let joints = joints(plan);
    let (mut reached, mut next) = (vec![first], 0);
    while let Some(&duct) = reached.get(next) {
        for joint in joints.iter().filter(|joint| !joint.last) {
            if matches!(joint.onto, Onto::Duct { duct: host, .. } if host == duct)
                && !reached.contains(&joint.duct)
            {
                reached.push(joint.duct);
            }
        }
        next += 1;
    }
    let volume = |i: &usize| length_m(&plan.ducts[*i].path) * plan.ducts[*i].section.area_m2();
    reached.iter().map(volume).sum()
}

fn shut_volumes(plan: &Plan, findings: &mut Vec<Finding>) {
    let proven = plan
        .safety
        .as_ref()
        .is_some_and(|safety| safety.devices.contains(&SafetyDevice::PurgePositionProving));
    for (i, duct) in plan.ducts.iter().enumerate() {
        let Some(damper) = &duct.damper else { continue };
        let least = damper.modulation.as_ref().map_or(damper.open_percent, |m| m.least_percent);
        if least <= 0.0 && !proven {
            push(
                findings,
                Severity::Caution,
                "unpurged-volume",
                Some(&duct.id),
                Message::new("With this damper shut, ")
                    .value(Kind::Volume, behind_m3(plan, i))
                    .text(" of duct behind it is not purged, nor the zone it feeds."),
                "Give the damper a least opening, or prove its open position before the purge counts.",
                NFPA,
            );
        }
    }
}

fn relief(plan: &Plan, findings: &mut Vec<Finding>) {
    let fired = plan.heater.burner.as_ref().is_some_and(|burner| burner.fuel != Fuel::Electric);
    let solvents = plan.coating.as_ref().is_some_and(|coating| !coating.solvents.is_empty());
    if !fired && !solvents {
        return;
    }
    let wanted = volume_m3(plan) / RELIEF_M;
    let basis = "1 ft² per 15 ft³: NFPA 86 as quoted by a trade journal in 2010 (clause 5.3 from memory; since the 2011 \
                 edition also by NFPA 68)";
    let entered = plan.safety.as_ref().and_then(|safety| safety.relief_area_m2);
    let message =
        Message::new("One square foot of relief for 15 ft³ of oven makes ").value(Kind::Area, wanted);
    match entered {
        Some(area) if area >= wanted => {}
        Some(area) => push(
            findings,
            Severity::Problem,
            "relief-small",
            None,
            message.text("; entered is ").value(Kind::Area, area).text("."),
            "Add relief panels where they open freely and hurt nobody, or have it reckoned by the other method.",
            basis,
        ),
        None => push(
            findings,
            Severity::Caution,
            "relief-unknown",
            None,
            message.text("; no relief area is entered."),
            "Enter the area of panels that open by themselves, and where they are.",
            basis,
        ),
    }
}

fn device_name(device: SafetyDevice) -> &'static str {
    match device {
        SafetyDevice::RecirculationAirProving => "proof of recirculation air",
        SafetyDevice::ExhaustAirProving => "proof of exhaust air",
        SafetyDevice::CombustionAirProving => "proof of combustion air",
        SafetyDevice::ExcessTemperatureLimit => "excess-temperature limit with manual reset",
        SafetyDevice::ShutOffValves => "two safety shut-off valves in series",
        SafetyDevice::GasPressureSwitches => "low and high gas pressure switches",
        SafetyDevice::FlameSafeguard => "flame safeguard",
        SafetyDevice::PurgeTimer => "purge timer",
        SafetyDevice::ExhaustStop => "least-opening stop in the exhaust damper",
        SafetyDevice::PurgePositionProving => "proven damper positions for the purge",
        SafetyDevice::ConveyorInterlock => "heat cut when the conveyor stops",
        SafetyDevice::VapourMonitor => "continuous vapour monitor",
    }
}

fn devices(plan: &Plan, findings: &mut Vec<Finding>) {
    let Some(burner) = &plan.heater.burner else { return };
    let fired = burner.fuel != Fuel::Electric;
    let dampers = plan.ducts.iter().any(|duct| duct.damper.is_some());
    let wanted = |device: &SafetyDevice| match device {
        SafetyDevice::CombustionAirProving
        | SafetyDevice::ShutOffValves
        | SafetyDevice::GasPressureSwitches
        | SafetyDevice::FlameSafeguard
        | SafetyDevice::PurgeTimer => fired,
        SafetyDevice::PurgePositionProving => fired && dampers,
        SafetyDevice::ConveyorInterlock => plan.conveyor.is_some(),
        SafetyDevice::VapourMonitor => lfl_share_percent(plan) > 25.0,
        _ => true,
    };
    let fitted = plan.safety.as_ref().map_or(&[][..], |safety| &safety.devices);
    let missing: Vec<&str> = SafetyDevice::ALL
        .into_iter()
        .filter(|device| wanted(device) && !fitted.contains(device))
        .map(device_name)
        .collect();
    if !missing.is_empty() {
        push(
            findings,
            Severity::Caution,
            "devices",
            Some(&plan.heater.id),
            Message::new(format!("The plan does not say that these are fitted: {}.", missing.join(", "))),
            "Fit and prove them, then enter them.",
            "NFPA 86 chapter 8 (8.7 to 8.16 in recent editions, from memory); EN 746-2",
        );
    }
}

/// A limit nearer to normal running than this trips without need; one further off protects late, K.
const LIMIT_ABOVE_K: (f64, f64) = (15.0, 60.0);

fn sensors(plan: &Plan, analysis: &Analysis, findings: &mut Vec<Finding>) {
    // What the balance finds, not what the plan starts from.
    let drawn_c = plan.heater.supply_temperature_c;
    let hottest = analysis.heat.as_ref().map_or(drawn_c, |heat| heat.supply_temperature_c);
    let limits: Vec<_> = plan.sensors.iter().filter(|sensor| sensor.kind == SensorKind::Limit).collect();
    if limits.is_empty() {
        push(
            findings,
            Severity::Caution,
            "no-limit-sensor",
            Some(&plan.heater.id),
            Message::new("The plan has no excess-temperature limit sensor."),
            "Place one where the supply air leaves the heater, apart from the controller.",
            NFPA,
        );
    }
    for sensor in limits {
        let Some(trip) = sensor.set_c else {
            push(
                findings,
                Severity::Caution,
                "limit-not-set",
                Some(&sensor.id),
                Message::new("This limit has no trip temperature."),
                "Enter what it trips at.",
                NFPA,
            );
            continue;
        };
        let zone = sensor.zone.as_ref().and_then(|id| plan.zones.iter().find(|zone| &zone.id == id));
        let normal = zone.map_or(hottest, |zone| zone.set_temperature_c);
        if !(LIMIT_ABOVE_K.0..=LIMIT_ABOVE_K.1).contains(&(trip - normal)) {
            push(
                findings,
                Severity::Caution,
                "limit-setting",
                Some(&sensor.id),
                Message::new("This limit trips at ")
                    .value(Kind::Temperature, trip)
                    .text(" where normal running is ")
                    .value(Kind::Temperature, normal)
                    .text("."),
                "Set it 15 to 60 K above normal running, but no higher than oven, coating and ducts bear.",
                "common practice, no published source: 15 to 60 K above normal running",
            );
        }
    }
    for zone in plan.zones.iter().filter(|zone| !zone.unheated) {
        let controlled = plan
            .sensors
            .iter()
            .any(|s| s.kind == SensorKind::Control && s.zone.as_deref() == Some(zone.id.as_str()));
        if !controlled {
            findings.push(Finding::new(
                Severity::Note,
                "no-control-sensor",
                Some(&zone.id),
                Message::new("No control sensor stands for this zone."),
                "Place one where the air is like that at the parts, away from slots and openings.",
                "common practice, no published source",
            ));
        }
    }
}

fn motor(plan: &Plan, analysis: &Analysis, findings: &mut Vec<Finding>) {
    let Some(rated) = plan.safety.as_ref().and_then(|safety| safety.fan_motor_w) else { return };
    let (hot, cold) = (analysis.fan.shaft_power_w, analysis.fan.cold_shaft_power_w);
    if rated < cold {
        findings.push(Finding::new(
            if rated < hot { Severity::Problem } else { Severity::Caution },
            "motor-small",
            Some(&plan.heater.id),
            Message::new("The fan motor is rated ")
                .value(Kind::ShaftPower, rated)
                .text("; the shaft takes ")
                .value(Kind::ShaftPower, hot)
                .text(" hot and ")
                .value(Kind::ShaftPower, cold)
                .text(" in a cold start or purge at this speed."),
            "Choose a larger motor, or start and purge at reduced speed, with an interlock that is proven.",
            "fan laws: power follows density",
        ));
    }
}
