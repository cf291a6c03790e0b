//! In the worker: lets the engine answer a question and writes the answer on a sheet.

mod air;
mod as_built;

use super::ask::{Ask, SAMPLES, SEARCH_SAMPLES, What};
use super::sheet::{Cell, Offer, Sheet, Table, before_after, settings_of_returns, side_by_side};
use crate::solve::Changed;
use air::{at_parts, duty};
use as_built::{alternatives, as_built, bench, for_p90};
use engine::analysis::{Analysis, analyse};
use engine::design::{
    Alternatives, Budget, Course, Designed, DuctCost, EvenOutP90, EvenTarget, FirstLayout, LevelBy, Method,
    Progress, SLOT_LAWS, Tolerance, ToleranceSettings, compare_courses, compare_levels, compare_slot_laws,
    even_out_to, find_speed, fit_drive, level_runs, set_returns, suggest_sections,
};
use engine::error::EngineError;
use engine::finding::Message;
use engine::heat::results::{Heat, ZoneHeat};
use engine::numerics::sort_short;
use engine::plan::Plan;
use engine::units::Kind;

/// A sheet, and the changed plan where the question is a command.
pub type Answered = Result<(Sheet, Option<Changed>), EngineError>;

const NAMED_LEVELS: [(LevelBy, &str); 3] = [
    (LevelBy::SlotTotal, "By slot totals"),
    (LevelBy::Damper, "By run dampers"),
    (LevelBy::DuctSize, "By smaller ducts"),
];

/// In the order of the choices of [`What::EvenOut`].
pub const EVEN_TARGETS: [EvenTarget; 3] = [EvenTarget::Shares, EvenTarget::PerMetre, EvenTarget::Temperature];

/// Answers `ask` about `plan`; `tell` hears how far it has come.
pub fn answer(ask: &Ask, plan: &Plan, tell: &mut dyn FnMut(usize, usize)) -> Answered {
    let number = ask.number.unwrap_or(f64::NAN);
    let settings = |samples: usize| ToleranceSettings { samples, ..ToleranceSettings::default() };
    match ask.what {
        What::Propose => {
            let mut layout = FirstLayout::new(plan, ask.choice == 0)?;
            let drawn = layout.plan().clone();
            drive(|| layout.step(), tell);
            let done = layout.finish();
            let stages = [("As drawn", &drawn, &done.before), ("As it is", &done.plan, &done.after)];
            let tables =
                vec![side_by_side("The first layout", &stages), settings_of_returns(&done.plan, &done.after)];
            let sheet = Sheet { tables, findings: done.findings.clone(), ..Sheet::default() };
            Ok((sheet, Some(done.into())))
        }
        What::EvenOut => {
            let even = even_out_to(plan, EVEN_TARGETS[usize::from(ask.choice.min(2))])?;
            let mut bays = Table::new("Bays off their set temperature", &["Figure", "Before", "After"]);
            let heats = [&even.before.heat, &even.after.heat];
            if let [Some(before), Some(after)] = heats {
                let both = [before, after];
                bays.alike("Worst bay", Kind::TemperatureDifference, &both.map(|heat| heat.worst.off_k));
                for zone in &before.zones {
                    let of = |heat: &Heat, of: fn(&ZoneHeat) -> f64| {
                        heat.zones.iter().find(|other| other.id == zone.id).map_or(f64::NAN, of)
                    };
                    let spread = both.map(|heat| of(heat, |zone| zone.most_c - zone.least_c));
                    bays.alike(
                        &format!("{}, hottest less coldest", zone.id),
                        Kind::TemperatureDifference,
                        &spread,
                    );
                }
            }
            let tables = if bays.rows.is_empty() { Vec::new() } else { vec![bays] };
            Ok(command(plan, even, tables))
        }
        What::SetReturns => {
            let set = set_returns(plan)?;
            let slides = settings_of_returns(&set.plan, &set.after);
            Ok(command(plan, set, vec![slides]))
        }
        What::FindSpeed => Ok(command(plan, find_speed(plan)?, Vec::new())),
        What::Level => match NAMED_LEVELS.get(usize::from(ask.choice)) {
            Some((by, _)) => {
                let levelled = level_runs(plan, *by)?;
                let mut table = Table::new("Runs against each other", &["Figure", "Before", "After"]);
                level_rows(
                    &mut table,
                    &[(levelled.spread_before_percent, 0.0, 0.0), level_figures(&levelled)],
                );
                Ok(command(plan, levelled.designed, vec![table]))
            }
            None => levels(plan),
        },
        What::Sections => sections(plan, ask.choice, number),
        What::Courses => courses(plan, number),
        What::Laws => laws(plan),
        What::AsBuilt => {
            let samples = SAMPLES[usize::from(ask.choice).min(SAMPLES.len() - 1)];
            let mut study = Tolerance::new(plan, settings(samples))?;
            drive(|| study.step(), tell);
            Ok((as_built(&study.finish()?), None))
        }
        What::ForP90 => {
            let mut command = EvenOutP90::new(plan, ask.number, settings(SEARCH_SAMPLES))?;
            drive(|| command.step(), tell);
            for_p90(plan, command)
        }
        What::Bench => bench(plan),
        What::Drive => Ok(command(plan, fit_drive(plan)?, Vec::new())),
        What::Duty => duty(plan),
        What::Coverage => at_parts(plan),
        What::Alternatives => {
            let mut search = Alternatives::new(plan, settings(SEARCH_SAMPLES))?;
            drive(|| search.step(), tell);
            alternatives(plan, search)
        }
    }
}

/// Steps until all is done; tells of every fiftieth part.
fn drive(mut step: impl FnMut() -> Progress, tell: &mut dyn FnMut(usize, usize)) {
    let mut told = 0;
    loop {
        let progress = step();
        if progress.complete() {
            return;
        }
        let part = 50 * progress.done / progress.of.max(1);
        if part != told {
            told = part;
            tell(progress.done, progress.of);
        }
    }
}

fn command(plan: &Plan, done: Designed, mut tables: Vec<Table>) -> (Sheet, Option<Changed>) {
    tables.push(before_after((plan, &done.before), (&done.plan, &done.after)));
    let sheet = Sheet { tables, findings: done.findings.clone(), ..Sheet::default() };
    (sheet, Some(done.into()))
}

/// Spread of the runs, pressure added, power throttled.
type LevelFigures = (f64, f64, f64);

fn level_figures(levelled: &engine::design::Levelled) -> LevelFigures {
    (levelled.spread_after_percent, levelled.added_pressure_pa, levelled.throttled_w)
}

fn level_rows(table: &mut Table, each: &[LevelFigures]) {
    let mut row = |title, kind, of: fn(&LevelFigures) -> f64| {
        let values: Vec<f64> = each.iter().map(of).collect();
        table.alike(title, kind, &values);
    };
    row("Runs differ in pressure by", Kind::Percent, |f| f.0);
    row("Pressure added at the fan", Kind::Pressure, |f| f.1);
    row("Power throttled away", Kind::ShaftPower, |f| f.2);
}

fn levels(plan: &Plan) -> Answered {
    let before = analyse(plan)?;
    let found = compare_levels(plan)?;
    let mut plans: Vec<(&str, &Plan, &Analysis)> = vec![("As it is", plan, &before)];
    let spread = found.first().map_or(f64::NAN, |levelled| levelled.spread_before_percent);
    let mut each = vec![(spread, 0.0, 0.0)];
    let mut sheet = Sheet::default();
    for (levelled, (_, name)) in found.iter().zip(NAMED_LEVELS) {
        plans.push((name, &levelled.designed.plan, &levelled.designed.after));
        each.push(level_figures(levelled));
        sheet.offers.push(Offer::new(name, &levelled.designed.plan));
        sheet.findings.extend(levelled.designed.findings.iter().cloned().map(|mut finding| {
            finding.message = Message::new(format!("{name}: ")).and(finding.message);
            finding
        }));
    }
    let mut table = side_by_side("Three ways to level the runs, evened out where that can be", &plans);
    level_rows(&mut table, &each);
    sheet.tables.push(table);
    Ok((sheet, None))
}

fn cost_rows(table: &mut Table, costs: &[DuctCost]) {
    let mut row = |title: &str, kind, of: fn(&DuctCost) -> f64| {
        let values: Vec<f64> = costs.iter().map(of).collect();
        table.alike(title, kind, &values);
    };
    row("Fastest air in a supply duct", Kind::Velocity, |c| c.velocity_m_s);
    row("Lost from discharge to the worst slot", Kind::Pressure, |c| c.loss_pa);
    row("Sheet in all ducts, seams included", Kind::Area, |c| c.sheet_m2);
    row("The same as steel", Kind::Mass, |c| c.steel_kg);
    row("Shaft power at the speed for the wanted air", Kind::ShaftPower, |c| {
        c.shaft_power_w.unwrap_or(f64::NAN)
    });
}

fn sections(plan: &Plan, choice: u8, number: f64) -> Answered {
    let budget = if choice == 0 {
        Budget::Velocity { most_m_s: number }
    } else {
        Budget::Pressure { most_pa: number }
    };
    let sized = suggest_sections(plan, budget)?;
    let mut cost = Table::new("What the ducts cost", &["Figure", "Before", "After"]);
    cost_rows(&mut cost, &[sized.before, sized.after]);
    let mut sizes = Table::new("Sections", &["Duct", "From", "Before", "Now"]);
    for (old, new) in plan.ducts.iter().zip(&sized.designed.plan.ducts) {
        let mut stations: Vec<f64> = old.steps.iter().chain(&new.steps).map(|step| step.station_m).collect();
        stations.push(0.0);
        sort_short(&mut stations, f64::total_cmp);
        stations.dedup();
        for at in stations {
            let size = |duct| section_words(engine::plan::geometry::section_at(duct, at + 1e-6));
            if size(old) != size(new) {
                let row =
                    vec![Cell::from(old.id.as_str()), Cell::Value(Kind::Length, at), size(old), size(new)];
                sizes.rows.push(row);
            }
        }
    }
    Ok(command(plan, sized.designed, vec![cost, sizes]))
}

/// A section in mm: the workshop's language in both systems of units on a drawing's list.
fn section_words(section: engine::plan::Section) -> Cell {
    use engine::plan::Section::{Rectangular, Round};
    let mm = |m: f64| (1e3 * m).round();
    Cell::Text(match section {
        Rectangular { width_m, height_m } => format!("{} × {} mm", mm(width_m), mm(height_m)),
        Round { diameter_m } => format!("⌀ {} mm", mm(diameter_m)),
    })
}

fn courses(plan: &Plan, velocity_m_s: f64) -> Answered {
    let found = compare_courses(plan, velocity_m_s)?;
    let name = |method| match method {
        Method::AsDrawn => "As drawn",
        Method::ConstantVelocity => "Constant velocity",
        Method::EqualFriction => "Equal friction",
        Method::StaticRegain => "Static regain",
    };
    let mut table = Table::new(
        "The methods of a course, with equal slots of any width: even out after taking one",
        &["Figure"],
    );
    let mut sheet = Sheet::default();
    let mut refused = Table::new("What could not be said", &["Method", "Why"]);
    for course in &found {
        table.head.push(name(course.method).to_owned());
        if let Some(reason) = &course.refused {
            refused.rows.push(vec![name(course.method).into(), reason.as_str().into()]);
        } else if course.method != Method::AsDrawn {
            sheet.offers.push(Offer::new(name(course.method), &course.plan));
        }
    }
    let mut row = |title, kind, of: fn(&Course) -> f64| {
        let values: Vec<f64> = found.iter().map(of).collect();
        table.alike(title, kind, &values);
    };
    let percent = Kind::Percent;
    row("Worst of equal slots off its share", percent, |c| {
        c.evenness.as_ref().map_or(f64::NAN, |e| e.worst_percent)
    });
    row("Spread (CV)", percent, |c| c.evenness.as_ref().map_or(f64::NAN, |e| e.cv_percent));
    row("Velocity at the discharge", Kind::Velocity, |c| c.first_velocity_m_s);
    let none = DuctCost {
        velocity_m_s: f64::NAN,
        loss_pa: f64::NAN,
        sheet_m2: f64::NAN,
        steel_kg: f64::NAN,
        shaft_power_w: None,
    };
    let costs: Vec<DuctCost> = found.iter().map(|course| course.cost.unwrap_or(none)).collect();
    cost_rows(&mut table, &costs);
    sheet.tables.push(table);
    if !refused.rows.is_empty() {
        sheet.tables.push(refused);
    }
    Ok((sheet, None))
}

fn laws(plan: &Plan) -> Answered {
    let found = compare_slot_laws(plan)?;
    let head = ["Slot law", "Worst slot", "Spread (CV)", "Max/min", "Air from all slots"];
    let mut table = Table::new("The same plan, should nature follow another law", &head);
    let mut sheet = Sheet::default();
    for (under, (name, law)) in found.iter().zip(SLOT_LAWS) {
        let own = law == plan.models.slot;
        if !own {
            let mut other = plan.clone();
            other.models.slot = law;
            sheet.offers.push(Offer::new(name, &other));
        }
        table.row(
            &format!("{}{}", under.law, if own { " (the plan's)" } else { "" }),
            &[
                (Kind::Percent, under.evenness.worst_percent),
                (Kind::Percent, under.evenness.cv_percent),
                (Kind::Number, under.evenness.max_over_min.unwrap_or(f64::NAN)),
                (Kind::MassFlow, under.total_flow_kg_s),
            ],
        );
    }
    sheet.tables.push(table);
    Ok((sheet, None))
}
