//! Findings: what a practitioner would say about a plan and its solution.

use crate::analysis::{Analysis, area_ratios};
use crate::finding::{Finding, Message, Severity};
use crate::laws::Law;
use crate::laws::fan::belt_speed_rpm;
use crate::limits;
use crate::network::from_plan::Built;
use crate::plan::{Drive, DuctRole, Plan};
use crate::units::Kind;

mod drawing;
pub use drawing::{drawing, wall_crossings};

const COMMON_PRACTICE: &str = "common practice, no published source";

/// All findings, the gravest first: `findings` of the heat balance and all others.
pub fn judge(plan: &Plan, built: &Built, analysis: &Analysis, mut findings: Vec<Finding>) -> Vec<Finding> {
    convergence(analysis, &mut findings);
    findings.extend(drawing(plan));
    beyond_the_duct(plan, built, &mut findings);
    slots(plan, built, analysis, &mut findings);
    total_flow(analysis, &mut findings);
    fan(plan, built, analysis, &mut findings);
    ducts(plan, analysis, &mut findings);
    returns(plan, analysis, &mut findings);
    safety(plan, built, analysis, &mut findings);
    findings.extend(limits::breaches(plan, built, &analysis.slots).into_iter().map(limits::Breach::finding));
    crate::safety::judge(plan, analysis, &mut findings);
    crate::heat::findings::judge(plan, analysis.heat.as_ref(), &mut findings);
    crate::finding::worst_first(&mut findings);
    accept(plan, &mut findings);
    findings
}

/// Marks the findings somebody has accepted as grave as they are now; none leaves the list.
fn accept(plan: &Plan, findings: &mut [Finding]) {
    for finding in findings {
        let entry = plan.accepted.iter().find(|entry| finding.is_accepted_by(entry));
        finding.accepted = entry.map(|entry| entry.reason.clone());
    }
}

fn convergence(analysis: &Analysis, findings: &mut Vec<Finding>) {
    if let Some(worst) = &analysis.worst_branch {
        findings.push(Finding::new(
            Severity::Problem,
            "not-converged",
            None,
            Message::new(format!("The air balance did not close; it is worst at {worst}. The figures are not a result.")),
            "Undo the last change, or look for a shut damper, a tiny duct or a fan curve with few points there.",
            "residuals of the solve",
        ));
    }
}

fn beyond_the_duct(plan: &Plan, built: &Built, findings: &mut Vec<Finding>) {
    for (i, row) in plan.slot_rows.iter().enumerate() {
        let found = built.slots.iter().filter(|site| site.row == i).count();
        let missing = row.count as usize - found.min(row.count as usize);
        if missing > 0 {
            findings.push(Finding::new(
                Severity::Problem,
                "slots-beyond-duct",
                Some(&row.id),
                Message::new(format!(
                    "{missing} of {} slots lie beyond the end of {} and are left out.",
                    row.count, row.duct
                )),
                "Lengthen the duct, or give the row fewer slots or a smaller pitch.",
                "geometry of the plan",
            ));
        }
    }
    for opening in &plan.returns {
        let duct = opening.duct.as_ref().and_then(|id| plan.ducts.iter().find(|duct| &duct.id == id));
        let Some(duct) = duct else { continue };
        let length = crate::plan::geometry::length_m(&duct.path);
        if !(0.0..=length).contains(&opening.station_m) {
            findings.push(Finding::new(
                Severity::Problem,
                "return-beyond-duct",
                Some(&opening.id),
                Message::new("This opening lies beyond the end of its return duct and is taken at the end."),
                "Lengthen the duct, or move the opening along it.",
                "geometry of the plan",
            ));
        }
    }
}

fn slots(plan: &Plan, built: &Built, analysis: &Analysis, findings: &mut Vec<Finding>) {
    let evenness = &analysis.evenness;
    if plan.slot_rows.is_empty() {
        findings.push(Finding::new(
            Severity::Problem,
            "no-slots",
            None,
            Message::new("No duct has slots, so no air reaches the parts."),
            "Add a slot row to a supply duct.",
            COMMON_PRACTICE,
        ));
    }
    for slot in analysis.slots.iter().filter(|slot| slot.mass_flow_kg_s <= 0.0 && slot.area_m2 > 0.0) {
        findings.push(Finding::new(
            Severity::Problem,
            "slot-draws-in",
            Some(&slot.run),
            Message::new(format!("Slot {} draws air in instead of discharging.", slot.id)),
            "Make the duct larger or the slots narrower: its velocity pressure exceeds what is left for the slot.",
            "static pressure below zero at the slot",
        ));
    }
    if evenness.worst_percent > 5.0 {
        let run =
            analysis.slots.iter().find(|slot| slot.id == evenness.worst_slot).map(|slot| slot.run.as_str());
        findings.push(Finding::new(
            if evenness.worst_percent > 15.0 { Severity::Problem } else { Severity::Caution },
            "uneven",
            run,
            Message::new(format!("Slot {} is ", evenness.worst_slot))
                .value(Kind::Percent, evenness.worst_percent)
                .text(" off its share of the air."),
            "Even out; where that cannot reach, a larger duct brings the slot-to-duct area ratio down.",
            COMMON_PRACTICE,
        ));
    }
    for (duct, ratio) in area_ratios(plan, built) {
        if ratio > 0.7 {
            findings.push(Finding::new(
                Severity::Caution,
                "area-ratio",
                Some(&plan.ducts[duct].id),
                Message::new("Slot area is ").value(Kind::Number, ratio).text(
                    " of the duct area. The published slot laws differ by 6 to 39 % from 0.6 to 1.0, so the \
                           as-built discharge is uncertain.",
                ),
                "Use a larger duct or fewer slots: at 0.4 the laws agree within 3 to 6 %.",
                "trial calculations with the laws of Rawn et al. 1961 and free-streamline theory",
            ));
        }
    }
    let shop = &plan.shop;
    let by_run = |found: &mut Vec<Finding>,
                  id: &str,
                  text: &str,
                  remedy: &str,
                  wrong: &dyn Fn(f64, f64) -> Option<(Kind, f64)>| {
        let mut told: Vec<&str> = Vec::new();
        for slot in &analysis.slots {
            if let Some((kind, value)) = wrong(slot.velocity_m_s, slot.width_mm)
                && !told.contains(&slot.run.as_str())
            {
                told.push(&slot.run);
                found.push(Finding::new(
                    Severity::Caution,
                    id,
                    Some(&slot.run),
                    Message::new(format!("Slot {} {text} ", slot.id)).value(kind, value).text("."),
                    remedy,
                    "limits of the shop record",
                ));
            }
        }
    };
    by_run(
        findings,
        "discharge-speed",
        "discharges at",
        "Bring it within the shop record's discharge speeds: change fan speed, then even out.",
        &|velocity, _| {
            (!(shop.min_discharge_m_s..=shop.max_discharge_m_s).contains(&velocity))
                .then_some((Kind::Velocity, velocity))
        },
    );
    by_run(
        findings,
        "slot-width",
        "has a width of",
        "Bring it within the shop record's widths: change its length or count, or the fan speed.",
        &|_, width_mm| {
            let width = width_mm * 1e-3;
            (width < shop.min_width_m - 1e-9 || width > shop.max_width_m + 1e-9)
                .then_some((Kind::ShopLength, width))
        },
    );
}

fn total_flow(analysis: &Analysis, findings: &mut Vec<Finding>) {
    let off = 100.0 * (analysis.total_flow_kg_s / analysis.required_flow_kg_s - 1.0);
    if off.abs() > 2.0 {
        findings.push(Finding::new(
            Severity::Caution,
            "total-flow",
            None,
            Message::new("All slots together pass ")
                .value(Kind::MassFlow, analysis.total_flow_kg_s)
                .text(", wanted are ")
                .value(Kind::MassFlow, analysis.required_flow_kg_s)
                .text("."),
            "Find speed sets the fan to the wanted flow; even out sets the slots to it.",
            "the plan's required flow",
        ));
    }
}

/// Slip of a V-belt (common practice, 0.5 to 2 %).
pub(crate) const BELT_SLIP: f64 = 0.01;

/// Speed at which a drive turns its fan, rpm, where pulleys or frequency are entered.
fn driven_rpm(drive: &Drive) -> Option<f64> {
    let speed = match *drive {
        Drive::Belt { motor_speed_rpm, motor_pulley_m, fan_pulley_m } => {
            belt_speed_rpm(motor_speed_rpm, motor_pulley_m?, fan_pulley_m?, BELT_SLIP)
        }
        Drive::Frequency { motor_speed_rpm, base_hz, set_hz } => set_hz? / base_hz * motor_speed_rpm,
    };
    (speed.is_finite() && speed > 0.0).then_some(speed)
}

/// Says how near to its pressure peak the fan works; `who` with its state begins the sentence.
pub(crate) fn near_stall(plan: &Plan, who: &str, margin_percent: f64) -> Option<Finding> {
    let (severity, side) = match margin_percent {
        margin if margin < 0.0 => (Severity::Problem, " left"),
        margin if margin < 10.0 => (Severity::Caution, " right"),
        _ => return None,
    };
    Some(Finding::new(
        severity,
        "stall",
        Some(&plan.heater.id),
        Message::new(format!("{who} works "))
            .value(Kind::Percent, margin_percent.abs())
            .text(side)
            .text(" of its pressure peak; left of it flow surges."),
        "Open slots or slides, or choose a smaller fan at higher speed; 10 % is the usual least margin.",
        COMMON_PRACTICE,
    ))
}

fn fan(plan: &Plan, built: &Built, analysis: &Analysis, findings: &mut Vec<Finding>) {
    let heater = &plan.heater;
    let id = Some(heater.id.as_str());
    let point = &analysis.fan;
    findings.extend(near_stall(plan, "The fan", point.stall_margin_percent));
    if let Some(driven) = heater.fan.drive.and_then(|drive| driven_rpm(&drive))
        && (heater.fan.speed_rpm / driven - 1.0).abs() > 0.01
    {
        findings.push(Finding::new(
            Severity::Caution,
            "drive-speed",
            id,
            Message::new("The drive as entered turns the fan at ")
                .value(Kind::Rotation, driven)
                .text(", the plan is solved at ")
                .value(Kind::Rotation, heater.fan.speed_rpm)
                .text("."),
            "Fit the drive again, or enter the speed it gives.",
            "pulleys or frequency in the plan",
        ));
    }
    if let Law::Fan(curve) = &built.network.branches()[built.fan].law
        && point.flow_m3_s > curve.last_flow_m3_s()
    {
        findings.push(Finding::new(
            Severity::Caution,
            "beyond-curve",
            id,
            Message::new("The fan works at ")
                .value(Kind::VolumeFlow, point.flow_m3_s)
                .text(", beyond the last point of its curve."),
            "Ask the maker for more of the curve, or add resistance; motor power is not known there.",
            "the maker's curve",
        ));
    }
    if let Law::Fan(curve) = &built.network.branches()[built.fan].law
        && let Some((from, to)) = curve.dip_m3_s()
        && point.flow_m3_s < 1.1 * to
    {
        findings.push(Finding::new(
            Severity::Caution,
            "fan-dip",
            id,
            Message::new("The fan's curve dips between ")
                .value(Kind::VolumeFlow, from)
                .text(" and ")
                .value(Kind::VolumeFlow, to)
                .text("; at ")
                .value(Kind::VolumeFlow, point.flow_m3_s)
                .text(" it can settle at more than one flow, or hunt between them."),
            "Work well to the right of the dip: open slots and slides, or choose a smaller fan at higher speed.",
            "a system's curve can cross a dipped fan curve several times",
        ));
    }
    let allowed = heater.fan.allowed_speed_rpm();
    if let Some(max) = allowed
        && heater.fan.speed_rpm > max
    {
        findings.push(Finding::new(
            Severity::Problem,
            "overspeed",
            id,
            Message::new("The fan runs at ")
                .value(Kind::Rotation, heater.fan.speed_rpm)
                .text(", the maker allows ")
                .value(Kind::Rotation, max)
                .text(" or less when hot. A wheel that bursts kills."),
            "Run it slower, or choose another fan; ask the maker for the limit at temperature.",
            "the maker's limit",
        ));
    }
    if allowed.is_none() {
        findings.push(Finding::new(
            Severity::Note,
            "no-speed-limit",
            id,
            Message::new("The maker's highest speed is not entered, so overspeed cannot be told."),
            "Enter the highest speed cold and at supply temperature.",
            "the maker's limit",
        ));
    }
    if heater.fan.points.iter().any(|p| p.shaft_power_w.is_none()) {
        findings.push(Finding::new(
            Severity::Note,
            "assumed-efficiency",
            id,
            Message::new("Shaft power rests on an assumed efficiency of ")
                .value(Kind::Percent, heater.fan.efficiency_percent)
                .text("."),
            "Enter the maker's shaft power at each point of the curve.",
            COMMON_PRACTICE,
        ));
    }
    // A motor that bears the cold start leaves nothing to say; what is too small is told with the safety findings.
    let motor = plan.safety.as_ref().and_then(|safety| safety.fan_motor_w).unwrap_or(0.0);
    if point.cold_shaft_power_w > 1.05 * point.shaft_power_w && motor < point.cold_shaft_power_w {
        findings.push(Finding::new(
            Severity::Caution,
            "cold-start",
            id,
            Message::new("A cold start at this speed and these settings takes ")
                .value(Kind::ShaftPower, point.cold_shaft_power_w)
                .text(" at the shaft, hot running ")
                .value(Kind::ShaftPower, point.shaft_power_w)
                .text("."),
            "Size the motor for the cold start, or start at reduced speed until the air is hot.",
            "fan laws: power follows density",
        ));
    }
}

fn ducts(plan: &Plan, analysis: &Analysis, findings: &mut Vec<Finding>) {
    for (duct, run) in plan.ducts.iter().zip(&analysis.runs) {
        let fastest = run.stations.iter().map(|s| s.velocity_m_s.abs()).fold(0.0, f64::max);
        let limit = if duct.role == DuctRole::Return { 10.2 } else { 12.7 };
        if fastest > limit {
            findings.push(Finding::new(
                Severity::Caution,
                "duct-velocity",
                Some(&duct.id),
                Message::new("Air moves at up to ")
                    .value(Kind::Velocity, fastest)
                    .text(" in this duct; usual is up to ")
                    .value(Kind::Velocity, limit)
                    .text("."),
                "Use a larger section, or accept the pressure and noise.",
                "oven guidebooks: supply 2,500 fpm, return about 2,000 fpm",
            ));
        }
        if let Some(damper) = &duct.damper
            && damper.open_percent <= 0.0
        {
            findings.push(Finding::new(
                Severity::Caution,
                "shut-damper",
                Some(&duct.id),
                Message::new("This damper is shut: behind it stands air that a purge does not reach."),
                "Give it a least opening, and prove a position for the purge.",
                COMMON_PRACTICE,
            ));
        }
    }
}

fn returns(plan: &Plan, analysis: &Analysis, findings: &mut Vec<Finding>) {
    if plan.returns.is_empty() {
        findings.push(Finding::new(
            Severity::Problem,
            "no-returns",
            None,
            Message::new("No return opening takes the air back to the fan."),
            "Add return openings on a return duct or in the heater's wall.",
            COMMON_PRACTICE,
        ));
    }
    for result in &analysis.returns {
        let off = 100.0 * (result.share / result.target_share - 1.0);
        if off.abs() > 10.0 {
            findings.push(Finding::new(
                Severity::Caution,
                "return-share",
                Some(&result.id),
                Message::new("This opening takes ")
                    .value(Kind::Percent, 100.0 * result.share)
                    .text(" of the returned air, wanted are ")
                    .value(Kind::Percent, 100.0 * result.target_share)
                    .text("."),
                "Set returns.",
                "the weights of the plan",
            ));
        }
    }
}

fn safety(plan: &Plan, built: &Built, analysis: &Analysis, findings: &mut Vec<Finding>) {
    if !built.network.floating().is_empty() {
        findings.push(Finding::new(
            Severity::Note,
            "no-level",
            None,
            Message::new(format!(
                "Nothing ties the pressure of {} to outside; pressures there are counted from it.",
                built.network.floating().join(", ")
            )),
            "Add the product openings.",
            "the network has no fixed pressure in that part",
        ));
    }
    if plan.exhausts.iter().map(|exhaust| exhaust.mass_flow_kg_s).sum::<f64>() <= 0.0 {
        findings.push(Finding::new(
            Severity::Problem,
            "no-exhaust",
            None,
            Message::new(
                "No air is drawn to outside. An oven needs safety ventilation whenever it can hold vapour, \
                          dust or products of combustion.",
            ),
            "Add an exhaust; its flow follows from the code in force and belongs to a licensed engineer.",
            "NFPA 86 and EN 1539 ask for safety ventilation; clause by the edition in force",
        ));
    }
    // With burnt gas, vapour and found temperatures in it where there is a heat balance.
    let flows: Vec<(&str, f64, f64)> = match &analysis.heat {
        Some(heat) => heat.openings.iter().map(|o| (o.id.as_str(), o.out_kg_s, o.in_kg_s)).collect(),
        None => analysis.openings.iter().map(|o| (o.id.as_str(), o.out_kg_s, o.in_kg_s)).collect(),
    };
    for (id, out_kg_s, in_kg_s) in flows.into_iter().filter(|(_, out_kg_s, _)| *out_kg_s > 1e-3) {
        let to_outside = plan.openings.iter().any(|o| o.id == id && o.to_zone.is_none());
        if to_outside {
            findings.push(Finding::new(
                Severity::Caution,
                "roll-out",
                Some(id),
                Message::new("Hot air rolls out of this opening at ")
                    .value(Kind::MassFlow, out_kg_s)
                    .text(" while ")
                    .value(Kind::MassFlow, in_kg_s)
                    .text(" of plant air comes in below it."),
                "Make the opening smaller or lower, add a vestibule or an air curtain, or draw more exhaust.",
                "two-way flow through a vertical opening (Kawagoe 1958; Brown & Solvason 1962)",
            ));
        }
    }
    findings.push(Finding::new(
        Severity::Note,
        "defer",
        None,
        Message::new("Gas, heat, explosion and rotating fans can hurt people. These figures are a calculation aid, \
                      not an approval."),
        "Follow the codes in force where the oven stands, and have a licensed engineer check what touches safety.",
        "usual caution",
    ));
}
