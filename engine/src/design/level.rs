//! Levels runs against each other, so that all have the same pressure left for their slots.

use super::exact::{Needs, needs};
use super::sections::greatest_ratio;
use super::stepped_duct::{height_m, of_height, stock_sizes};
use super::{Designed, even_out};
use crate::analysis::analyse;
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::laws::damper;
use crate::network::from_plan::{self, damper_fraction};
use crate::plan::geometry::{Onto, joints};
use crate::plan::{BladeDamper, Blades, Plan, Section, ShopRecord, SizeStep};
use crate::units::Kind;
use serde::{Deserialize, Serialize};

/// What takes up the difference between runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LevelBy {
    /// Slot totals: runs nearer to the fan get narrower slots. No pressure is added.
    SlotTotal,
    /// A blade or slide damper at the first point of each run but the one with least pressure.
    Damper,
    /// Smaller stock sizes for runs with pressure to spare.
    DuctSize,
}

/// Runs levelled one way.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Levelled {
    /// The way.
    pub by: LevelBy,
    /// The plan, not evened out yet.
    pub designed: Designed,
    /// Largest over smallest mean pressure at the slots of a run, less one, %: before.
    pub spread_before_percent: f64,
    /// After.
    pub spread_after_percent: f64,
    /// Total pressure added at the fan for the least run, Pa.
    pub added_pressure_pa: f64,
    /// Air power turned to heat in dampers and smaller ducts, W.
    pub throttled_w: f64,
}

/// Ducts with slots that end dead, so that all their air passes their first point.
fn runs(plan: &Plan) -> Vec<usize> {
    let joints = joints(plan);
    let of_duct = |i: usize| joints.iter().filter(move |joint| joint.duct == i);
    let hosts = |i: usize| joints.iter().any(|j| matches!(j.onto, Onto::Duct { duct, .. } if duct == i));
    (0..plan.ducts.len())
        .filter(|&i| plan.slot_rows.iter().any(|row| row.duct == plan.ducts[i].id))
        .filter(|&i| of_duct(i).all(|joint| !joint.last) && !hosts(i))
        .collect()
}

/// Mean total pressure at the slots of each run, Pa, and the run's flow, kg/s.
fn pressures(needs: &Needs, runs: &[usize]) -> Vec<(f64, f64)> {
    let of_run = |run: &usize| {
        let own: Vec<_> =
            needs.built.slots.iter().zip(&needs.slots).filter(|(s, _)| s.duct == *run).collect();
        let flow = own.iter().map(|(site, _)| needs.solution.flows_kg_s[site.branch]).sum();
        (own.iter().map(|(_, need)| need.total_pa).sum::<f64>() / own.len().max(1) as f64, flow)
    };
    runs.iter().map(of_run).collect()
}

fn spread_percent(pressures: &[(f64, f64)]) -> f64 {
    let (low, high) =
        pressures.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), p| (low.min(p.0), high.max(p.0)));
    100.0 * (high / low - 1.0)
}

/// Levels the runs one way. The run with least pressure stays open, so nothing is added at the fan beyond
/// what it needs. Even out is to follow.
pub fn level_runs(plan: &Plan, by: LevelBy) -> Result<Levelled, EngineError> {
    let runs = runs(plan);
    if runs.len() < 2 {
        return Err(EngineError::new(
            "slots",
            "there are not two runs to level",
            "add a run with a dead end",
        ));
    }
    // Dampers set before say nothing about what is needed now; one that a motor moves is for its controller.
    let mut open = plan.clone();
    for &run in &runs {
        open.ducts[run].damper.take_if(|blade| blade.modulation.is_none());
    }
    let drawn = needs(&open)?;
    let before = pressures(&drawn, &runs);
    let least = before.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    if least <= 0.0 {
        let worst = before.iter().position(|p| p.0 == least).map_or("slots", |i| &plan.ducts[runs[i]].id);
        return Err(EngineError::new(
            worst,
            "no pressure is left for its slots",
            "raise the fan speed, or use larger ducts",
        ));
    }
    let levelled = match by {
        LevelBy::SlotTotal => open.clone(),
        LevelBy::Damper => with_dampers(plan, &open, &drawn, &runs, &before, least),
        LevelBy::DuctSize => with_sizes(&open, &runs, least)?,
    };
    let found = needs(&levelled)?;
    let after = pressures(&found, &runs);
    let density = drawn.built.supply.density_kg_m3();
    let throttled_w = before.iter().zip(&after).map(|(b, a)| (b.0 - a.0).max(0.0) * b.1 / density).sum();
    let least_after = after.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let spread_before_percent = spread_percent(&pressures(&needs(plan)?, &runs));
    let spread_after_percent = spread_percent(&after);
    let mut findings = Vec::new();
    for &run in &runs {
        let duct = &levelled.ducts[run];
        if duct.damper.is_some()
            && open.ducts[run].damper.is_none()
            && stock_damper(&plan.shop, duct.section).is_none()
        {
            findings.push(Finding::new(
                Severity::Caution,
                "damper-size",
                Some(&duct.id),
                Message::new("No damper in stock fits into this run; its damper is as large as the duct."),
                "Have one made, or add a smaller size to the shop record.",
                "limits of the shop record",
            ));
        }
    }
    if by != LevelBy::SlotTotal && spread_after_percent > 10.0 {
        findings.push(Finding::new(
            Severity::Caution,
            "runs-not-level",
            None,
            Message::new("Runs still differ by ")
                .value(Kind::Percent, spread_after_percent)
                .text(" in the pressure left for their slots."),
            "Let slot totals take up the rest, or level by dampers.",
            "the network solved with every slot at its share",
        ));
    }
    let designed = Designed { before: analyse(plan)?, after: analyse(&levelled)?, plan: levelled, findings };
    Ok(Levelled {
        by,
        designed,
        spread_before_percent,
        spread_after_percent,
        added_pressure_pa: (least - least_after).max(0.0),
        throttled_w,
    })
}

/// Dampers that take what each run has more than the least, in the largest stock size that fits the run: from
/// Δp = (ṁ/(c·A))²/(2ρ) follows the coefficient c, from that the travel, in whole per cent.
fn with_dampers(
    plan: &Plan,
    open: &Plan,
    drawn: &Needs,
    runs: &[usize],
    before: &[(f64, f64)],
    least: f64,
) -> Plan {
    let mut set = open.clone();
    let density = drawn.built.supply.density_kg_m3();
    for (&run, &(pressure, flow)) in runs.iter().zip(before) {
        if open.ducts[run].damper.is_some() {
            continue;
        }
        let old = plan.ducts[run].damper.clone();
        let mut blade = old.unwrap_or(BladeDamper::new(100.0));
        let kind = match blade.blades {
            Blades::Opposed => damper::Blades::Opposed,
            Blades::Parallel => damper::Blades::Parallel,
        };
        let duct = &open.ducts[run];
        blade.size = stock_damper(&open.shop, duct.section).filter(|size| *size != duct.section);
        let ideal = blade.area_m2(duct) * (2.0 * density * (pressure - least)).sqrt();
        let fraction = if ideal > 0.0 { damper_fraction(duct, &blade, flow / ideal) } else { f64::INFINITY };
        // A damper more than fully open: none is needed.
        if fraction >= 1.0 {
            continue;
        }
        let (mut low, mut high) = (0.0, 100.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if kind.flow_fraction(middle, blade.leakage_percent) < fraction {
                low = middle
            } else {
                high = middle
            }
        }
        // Rounded open, so that no run falls below the least.
        blade.open_percent = (high - 1e-9).ceil().max(1.0);
        set.ducts[run].damper = Some(blade);
    }
    set
}

/// The largest damper in stock that fits into a duct of this section, as large as the duct where any size is made; none
/// where none fits.
fn stock_damper(shop: &ShopRecord, section: Section) -> Option<Section> {
    if shop.damper_sizes_m.is_empty() {
        return Some(section);
    }
    let largest = |side_m: f64| {
        let fitting = shop.damper_sizes_m.iter().copied().filter(|&size| size <= side_m + 1e-9);
        fitting.reduce(f64::max)
    };
    Some(match section {
        Section::Rectangular { width_m, height_m } => {
            Section::Rectangular { width_m: largest(width_m)?, height_m: largest(height_m)? }
        }
        Section::Round { diameter_m } => Section::Round { diameter_m: largest(diameter_m)? },
    })
}

/// The stock height of each run that brings it nearest to the least pressure from above, never below half
/// of what is drawn nor beyond the greatest slot-to-duct area.
fn with_sizes(open: &Plan, runs: &[usize], least: f64) -> Result<Plan, EngineError> {
    let greatest = greatest_ratio(open);
    let sizes: Vec<Vec<f64>> = runs
        .iter()
        .map(|&run| {
            let drawn = height_m(open.ducts[run].section);
            stock_sizes(&open.shop, 0.5 * drawn, drawn, true)
        })
        .collect();
    let mut chosen: Vec<usize> = sizes.iter().map(|sizes| sizes.len() - 1).collect();
    let build = |chosen: &[usize]| {
        let mut plan = open.clone();
        for ((&run, sizes), &c) in runs.iter().zip(&sizes).zip(chosen) {
            let factor = sizes[c] / height_m(open.ducts[run].section);
            let duct = &mut plan.ducts[run];
            duct.section = of_height(duct.section, sizes[c]);
            // The next size in stock, or as drawn.
            let scaled = |step: &SizeStep| {
                let drawn = height_m(step.section);
                let mut sizes = stock_sizes(&open.shop, drawn * factor, drawn, true).into_iter();
                SizeStep { section: of_height(step.section, sizes.next().unwrap_or(drawn)), ..*step }
            };
            duct.steps = open.ducts[run].steps.iter().map(scaled).collect();
        }
        plan
    };
    let longest = sizes.iter().map(Vec::len).max().unwrap_or(0);
    let start = pressures(&needs(open)?, runs);
    let mut off: Vec<f64> = start.iter().map(|p| (p.0 - least).abs()).collect();
    for down in 1..longest {
        let trial: Vec<usize> = sizes.iter().map(|sizes| (sizes.len() - 1).saturating_sub(down)).collect();
        let plan = build(&trial);
        let Ok(found) = needs(&plan) else { break };
        for (i, &run) in runs.iter().enumerate() {
            let own: Vec<_> =
                found.built.slots.iter().zip(&found.slots).filter(|(site, _)| site.duct == run).collect();
            let area: Option<f64> = own.iter().map(|(_, need)| need.area_m2).sum();
            let fits = area.is_some_and(|area| area <= greatest * plan.ducts[run].section.area_m2());
            let pressure = pressures(&found, &runs[i..=i])[0].0;
            let away = (pressure - least).abs();
            if fits && pressure >= 0.97 * least && away < off[i] - 1e-9 && trial[i] < chosen[i] {
                (off[i], chosen[i]) = (away, trial[i]);
            }
        }
    }
    let sized = build(&chosen);
    let helped = spread_percent(&pressures(&needs(&sized)?, runs)) < spread_percent(&start);
    Ok(if helped { sized } else { open.clone() })
}

/// All three ways side by side, each evened out after where that can be.
pub fn compare_levels(plan: &Plan) -> Result<Vec<Levelled>, EngineError> {
    from_plan::build(plan)?;
    [LevelBy::SlotTotal, LevelBy::Damper, LevelBy::DuctSize]
        .into_iter()
        .map(|by| {
            let mut levelled = level_runs(plan, by)?;
            let findings = &mut levelled.designed.findings;
            match even_out::even_out(&levelled.designed.plan) {
                Ok(evened) => {
                    levelled.designed.plan = evened.plan;
                    levelled.designed.after = evened.after;
                    findings.extend(evened.findings);
                }
                Err(EngineError { place, problem, remedy }) => findings.push(Finding::new(
                    Severity::Caution,
                    "not-evened",
                    None,
                    Message::new(format!("Even out refuses it: {place}: {problem}.")),
                    Message::new(format!("For that, {remedy}.")),
                    "even out of the levelled plan",
                )),
            }
            Ok(levelled)
        })
        .collect()
}
