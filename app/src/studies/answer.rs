//! In the worker: lets the engine answer a question and writes the answer on a sheet.

use super::ask::{Ask, SAMPLES, SEARCH_SAMPLES, What};
use crate::order::sort_short;
use super::sheet::{Cell, Offer, Series, Sheet, Table, before_after, side_by_side};
use crate::solve::Changed;
use engine::analysis::{Analysis, analyse};
use engine::coverage::coverage;
use engine::design::{
    Alternatives, Budget, Designed, Course, DuctCost, EvenOutP90, LevelBy, Merit, Method, Progress, Tolerance,
    ToleranceResult, ToleranceSettings, compare_courses, compare_levels, compare_slot_laws, even_out,
    fan_duty, find_speed, fit_bench_pieces, fit_drive, level_runs, set_returns, suggest_sections, SLOT_LAWS,
};
use engine::error::EngineError;
use engine::plan::{Plan, SlotModel};
use engine::units::Kind;
use std::rc::Rc;

/// A sheet, and the changed plan where the question is a command.
pub type Answered = Result<(Sheet, Option<Changed>), EngineError>;

const NAMED_LEVELS: [(LevelBy, &str); 3] = [
    (LevelBy::SlotTotal, "By slot totals"),
    (LevelBy::Damper, "By run dampers"),
    (LevelBy::DuctSize, "By smaller ducts"),
];

/// Answers `ask` about `plan`; `tell` hears how far it has come.
pub fn answer(ask: &Ask, plan: &Plan, tell: &mut dyn FnMut(usize, usize)) -> Answered {
    let number = ask.number.unwrap_or(f64::NAN);
    let settings = |samples: usize| ToleranceSettings { samples, ..ToleranceSettings::default() };
    match ask.what {
        What::EvenOut => Ok(of_bar(ask, plan, even_out(plan)?)),
        What::SetReturns => Ok(of_bar(ask, plan, set_returns(plan)?)),
        What::FindSpeed => Ok(of_bar(ask, plan, find_speed(plan)?)),
        What::Level => match NAMED_LEVELS.get(usize::from(ask.choice)) {
            Some((by, _)) => {
                let levelled = level_runs(plan, *by)?;
                let mut table = Table::new("Runs against each other", &["Figure", "Before", "After"]);
                level_rows(&mut table, &[(levelled.spread_before_percent, 0.0, 0.0), level_figures(&levelled)]);
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

/// A command that stands in the top bar too.
fn of_bar(ask: &Ask, plan: &Plan, done: Designed) -> (Sheet, Option<Changed>) {
    let changed = Changed::from(done);
    (super::state::sheet_of_command(ask.what, plan, &changed), Some(changed))
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
        sheet.findings.extend(levelled.designed.findings.iter().cloned());
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
    row("Shaft power at the speed for the wanted air", Kind::ShaftPower, |c| c.shaft_power_w.unwrap_or(f64::NAN));
}

fn sections(plan: &Plan, choice: u8, number: f64) -> Answered {
    let budget =
        if choice == 0 { Budget::Velocity { most_m_s: number } } else { Budget::Pressure { most_pa: number } };
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
                let row = vec![Cell::from(old.id.as_str()), Cell::Value(Kind::Length, at), size(old), size(new)];
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
    let mut table = Table::new("The methods of a course, with equal slots", &["Figure"]);
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
    row("Worst of equal slots off its share", percent, |c| c.evenness.as_ref().map_or(f64::NAN, |e| e.worst_percent));
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
    let own = SLOT_LAWS.iter().position(|(_, law)| *law == plan.models.slot);
    for (i, under) in found.iter().enumerate() {
        let mark = if own == Some(i) { " (the plan's)" } else { "" };
        table.row(
            &format!("{}{mark}", under.law),
            &[
                (Kind::Percent, under.evenness.worst_percent),
                (Kind::Percent, under.evenness.cv_percent),
                (Kind::Number, under.evenness.max_over_min.unwrap_or(f64::NAN)),
                (Kind::MassFlow, under.total_flow_kg_s),
            ],
        );
    }
    Ok((Sheet { tables: vec![table], ..Sheet::default() }, None))
}

/// Nominal, P50 and P90.
fn figures_table(name: &str, study: &ToleranceResult) -> Table {
    let mut table = Table::new(name, &["Computed, not measured", "As drawn", "P50", "P90"]);
    let each = [study.nominal, study.p50, study.p90];
    table.alike("Worst bay off its share", Kind::Percent, &each.map(|f| f.worst_bay_percent));
    table.alike("Worst slot off its share", Kind::Percent, &each.map(|f| f.worst_slot_percent));
    table.alike("Spread (CV)", Kind::Percent, &each.map(|f| f.cv_percent));
    table
}

/// How often which figure, as the outline of bars.
fn outline(name: &str, dashed: bool, (start, width): (f64, f64), counts: &[u32]) -> Series {
    let mut points = vec![(start, 0.0)];
    for (i, &count) in counts.iter().enumerate() {
        let (from, count) = (start + i as f64 * width, f64::from(count));
        points.extend([(from, count), (from + width, count)]);
    }
    points.push((start + counts.len() as f64 * width, 0.0));
    Series { name: name.to_owned(), dashed, points }
}

fn as_built(study: &ToleranceResult) -> Sheet {
    let mut matters = Table::new(
        "What matters most: P90 falls by so many points with it held at its middle",
        &["In doubt", "Worst bay, points", "Worst slot, points"],
    );
    for effect in &study.inputs {
        matters.alike(effect.input.name(), Kind::Number, &[effect.bay_points, effect.slot_points]);
    }
    let mut bays = Table::new("Bay by bay", &["Run", "From", "To", "As drawn", "P50", "P90"]);
    for bay in &study.bays {
        bays.row(
            &bay.run,
            &[
                (Kind::Length, bay.from_m),
                (Kind::Length, bay.to_m),
                (Kind::Percent, bay.nominal_percent),
                (Kind::Percent, bay.p50_percent),
                (Kind::Percent, bay.p90_percent),
            ],
        );
    }
    let mut about = Table::new("The study", &["Figure", "Value"]);
    about.alike("Builds drawn and solved", Kind::Number, &[study.samples as f64]);
    about.alike("Left out: the air balance did not close", Kind::Number, &[study.failed as f64]);
    about.alike("Largest slot area over duct area", Kind::Number, &[study.area_ratio]);
    let [low, _, high] = study.total_flow_kg_s;
    about.alike("Air from all slots, P10", Kind::MassFlow, &[low]);
    about.alike("Air from all slots, P90", Kind::MassFlow, &[high]);
    about.words("Most often the worst slot", &study.worst_slot);
    let bench = if study.bench { "yes: their doubts are in" } else { "none: all published laws count" };
    about.words("Narrowed by bench pieces", bench);
    let histogram = &study.histogram;
    let bars = |name, dashed, counts: &[u32]| {
        outline(name, dashed, (histogram.from_percent, histogram.step_percent), counts)
    };
    let top = f64::from(histogram.worst_bay.iter().copied().max().unwrap_or(0));
    let mark = |name: &str, x: f64, share: f64| (name.to_owned(), (x, share * top));
    Sheet {
        tables: vec![figures_table("How even as built", study), matters, bays, about],
        curves: vec![
            bars("worst bay of a build", false, &histogram.worst_bay),
            bars("worst slot of a build", true, &histogram.worst_slot),
        ],
        marks: vec![
            mark("as drawn", study.nominal.worst_bay_percent, 0.15),
            mark("P50", study.p50.worst_bay_percent, 0.55),
            mark("P90", study.p90.worst_bay_percent, 0.35),
        ],
        findings: study.findings.clone(),
        headline: vec![study.p50.worst_bay_percent, study.p90.worst_bay_percent],
        ..Sheet::default()
    }
}

fn for_p90(plan: &Plan, command: EvenOutP90) -> Answered {
    let before = analyse(plan)?;
    let done = command.finish()?;
    let mut p90 = Table::new("Worst bay as built, computed, not measured", &["Figure", "Evened out as drawn", "Now"]);
    let each = [&done.study_before, &done.study_after];
    p90.alike("P50", Kind::Percent, &each.map(|study| study.p50.worst_bay_percent));
    p90.alike("P90", Kind::Percent, &each.map(|study| study.p90.worst_bay_percent));
    p90.alike("P90 of the worst slot", Kind::Percent, &each.map(|study| study.p90.worst_slot_percent));
    p90.alike("Shaft power", Kind::ShaftPower, &[&done.before, &done.after].map(|a| a.fan.shaft_power_w));
    p90.alike("Sheet in the ducts", Kind::Mass, &done.sheet_kg.map(|kg| kg));
    let table = before_after((plan, &before), (&done.plan, &done.after));
    let headline = vec![done.study_after.p50.worst_bay_percent, done.study_after.p90.worst_bay_percent];
    let sheet = Sheet { tables: vec![p90, table], findings: done.findings.clone(), headline, ..Sheet::default() };
    let changed = Changed { plan: Rc::new(done.plan), before, after: done.after, findings: done.findings };
    Ok((sheet, Some(changed)))
}

fn bench(plan: &Plan) -> Answered {
    let fit = fit_bench_pieces(plan)?;
    let head = ["Slot law", "Weight", "Coefficient ×", "±", "Regain", "±", "χ²"];
    let mut laws = Table::new("What the readings speak for", &head);
    for law in &fit.laws {
        laws.row(
            &law.law,
            &[
                (Kind::Percent, 100.0 * law.weight),
                (Kind::Number, law.coefficient),
                (Kind::Number, law.coefficient_doubt),
                (Kind::Number, law.regain),
                (Kind::Number, law.regain_doubt),
                (Kind::Number, law.chi_square),
            ],
        );
    }
    let best = fit.laws.first();
    let mut readings = Table::new("Readings against the likeliest law", &["Piece: reading", "Read", "Fitted", "Off, in doubts"]);
    for (k, reading) in fit.readings.iter().enumerate() {
        let fitted = best.and_then(|law| law.fitted.get(k)).copied().unwrap_or(f64::NAN);
        let off = (fitted - reading.read) / reading.doubt;
        let title = format!("{}: {}", reading.piece, reading.what);
        readings.alike(&title, Kind::Number, &[reading.read, fitted, off]);
    }
    let mut sheet = Sheet { tables: vec![laws, readings], findings: fit.findings.clone(), ..Sheet::default() };
    // What the pieces are worth: the same study without and with them.
    let settings = ToleranceSettings { samples: 2 * SEARCH_SAMPLES, ..ToleranceSettings::default() };
    let study = |with| {
        let mut study = Tolerance::with_fit(plan, settings, with)?;
        while !study.step().complete() {}
        study.finish()
    };
    match study(None).and_then(|without| Ok((without, study(Some(&fit))?))) {
        Ok((without, with)) => {
            let head = ["Worst bay, computed, not measured", "Without the pieces", "With them"];
            let mut table = Table::new("What the pieces are worth", &head);
            let both = [&without, &with];
            table.alike("P50", Kind::Percent, &both.map(|study| study.p50.worst_bay_percent));
            table.alike("P90", Kind::Percent, &both.map(|study| study.p90.worst_bay_percent));
            table.alike("P90 of the worst slot", Kind::Percent, &both.map(|study| study.p90.worst_slot_percent));
            sheet.tables.push(table);
        }
        Err(error) => {
            let mut table = Table::new("What the pieces are worth", &["Not known", ""]);
            table.rows.push(vec![Cell::Text(error.to_string()), "".into()]);
            sheet.tables.push(table);
        }
    }
    if let Some(law) = best.and_then(|best| SLOT_LAWS.iter().find(|(name, _)| *name == best.law)) {
        let mut fitted = plan.clone();
        let coefficient = best.map_or(1.0, |best| best.coefficient);
        // The other laws have no coefficient of their own.
        let scaled = |cd: f64| (cd * coefficient * 1e3).round() / 1e3;
        fitted.models.slot = match law.1 {
            SlotModel::ConstantTotal { cd } => SlotModel::ConstantTotal { cd: scaled(cd) },
            SlotModel::ConstantStatic { cd } => SlotModel::ConstantStatic { cd: scaled(cd) },
            other => other,
        };
        fitted.models.regain = best.map_or(1.0, |best| (best.regain * 1e3).round() / 1e3);
        sheet.offers.push(Offer::new(format!("the plan solved by {}", law.0), &fitted));
    }
    Ok((sheet, None))
}

fn duty(plan: &Plan) -> Answered {
    let duty = fan_duty(plan)?;
    let chart = analyse(plan)?.fan_chart;
    let state = |cold, dirty| match (cold, dirty) {
        (false, false) => "Hot, filter clean",
        (false, true) => "Hot, filter dirty",
        (true, false) => "Cold, filter clean",
        (true, true) => "Cold, filter dirty",
    };
    let head = ["State", "Flow at the inlet", "Total pressure", "Shaft power", "Margin to stall", "Air of wanted"];
    let mut points = Table::new("The fan in four states", &head);
    let mut marks = Vec::new();
    for point in &duty.points {
        let title = state(point.cold, point.dirty);
        points.row(
            title,
            &[
                (Kind::VolumeFlow, point.flow_m3_s),
                (Kind::Pressure, point.total_pressure_pa),
                (Kind::ShaftPower, point.shaft_power_w),
                (Kind::Percent, point.stall_margin_percent),
                (Kind::Percent, point.supply_percent),
            ],
        );
        marks.push((title.to_owned(), (point.flow_m3_s, point.total_pressure_pa)));
    }
    let mut fan = Table::new("Fan and motor", &["Figure", "Value"]);
    let none = f64::NAN;
    let motor = &duty.motor;
    fan.alike("Worst of the four margins to stall", Kind::Percent, &[duty.worst_margin_percent]);
    fan.alike("Speed", Kind::Rotation, &[duty.speed_rpm]);
    fan.alike("The maker allows, cold and hot", Kind::Rotation, &[duty.allowed_speed_rpm.unwrap_or(none)]);
    fan.alike("Total efficiency at the working point", Kind::Percent, &[duty.efficiency_percent]);
    fan.alike("Shaft power hot, the larger", Kind::ShaftPower, &[motor.hot_w]);
    fan.alike("Shaft power cold at full speed, the larger", Kind::ShaftPower, &[motor.cold_w]);
    fan.alike("Speed at which a cold start takes no more than hot", Kind::Percent, &[motor.cold_start_speed_percent]);
    fan.alike("The motor must give", Kind::ShaftPower, &[motor.needed_w]);
    let rating = |rating: Option<f64>, unit: &str| match rating {
        Some(rating) => Cell::Text(format!("{rating}\u{a0}{unit}")),
        None => "above the row of ratings".into(),
    };
    fan.rows.push(vec!["Next motor of the IEC row".into(), rating(motor.rating_kw, "kW")]);
    fan.rows.push(vec!["Next motor of the NEMA row".into(), rating(motor.rating_hp, "hp")]);
    fan.words("Why", motor.rule.as_str());
    if let Some([flow, pressure, power, efficiency]) = duty.tolerance_percent {
        fan.rows.push(vec![
            "Tolerances of the fan's grade".into(),
            Cell::Text(format!("flow ±{flow} %, pressure ±{pressure} %, power +{power} %, efficiency −{efficiency} %")),
        ]);
    }
    if let Some([low, high]) = duty.flow_band_m3_s {
        fan.alike("Flow within that grade, from", Kind::VolumeFlow, &[low]);
        fan.alike("Flow within that grade, to", Kind::VolumeFlow, &[high]);
    }
    if let Some(hz) = duty.frequency_hz {
        fan.rows.push(vec!["Frequency for this speed".into(), Cell::Text(format!("{hz}\u{a0}Hz"))]);
    }
    let mut tables = vec![points, fan];
    if !duty.belts.is_empty() {
        let head = ["Pulleys", "On the motor", "On the fan", "Speed", "Off", "Belt speed"];
        let mut belts = Table::new("Pulley pairs nearest to this speed", &head);
        for (i, pair) in duty.belts.iter().enumerate() {
            belts.row(
                &format!("{}", i + 1),
                &[
                    (Kind::ShopLength, 1e-3 * pair.motor_pulley_mm),
                    (Kind::ShopLength, 1e-3 * pair.fan_pulley_mm),
                    (Kind::Rotation, pair.speed_rpm),
                    (Kind::Percent, pair.speed_off_percent),
                    (Kind::Velocity, pair.belt_m_s),
                ],
            );
        }
        tables.push(belts);
    }
    let series = |name: &str, dashed, points: Vec<(f64, f64)>| Series { name: name.to_owned(), dashed, points };
    let curves = vec![
        series("fan hot", false, chart.hot),
        series("fan cold", false, chart.cold),
        series("system hot", true, chart.system_hot),
        series("system cold", true, chart.system_cold),
    ];
    Ok((Sheet { tables, curves, marks, ..Sheet::default() }, None))
}

fn at_parts(plan: &Plan) -> Answered {
    let found = coverage(plan, &analyse(plan)?)?;
    let head = ["Zone", "Mean", "Slowest", "Fastest", "Uniformity at the part (CV)"];
    let mut zones = Table::new("Air speed along the conveyor; jet theory, ±30 %", &head);
    for zone in &found.zones {
        zones.row(
            &zone.zone,
            &[
                (Kind::Velocity, zone.mean_m_s),
                (Kind::Velocity, zone.least_m_s),
                (Kind::Velocity, zone.most_m_s),
                (Kind::Percent, zone.cv_percent),
            ],
        );
    }
    let points: Vec<_> = found.path.iter().map(|place| (place.station_m, place.speed_m_s)).collect();
    let mut curves = vec![Series { name: "air speed at part height".to_owned(), dashed: false, points }];
    if let (Some(first), Some(last)) = (found.path.first(), found.path.last()) {
        let rule = &plan.air_at_part;
        let from = rule.loose_from_m.max(first.station_m);
        let to = rule.gelled_at_m.unwrap_or(last.station_m).min(last.station_m);
        if from < to {
            let points = vec![(from, rule.loose_powder_m_s), (to, rule.loose_powder_m_s)];
            curves.push(Series { name: "loose powder bears".to_owned(), dashed: true, points });
        }
    }
    let mut about = Table::new("Looked at", &["Figure", "Value"]);
    about.alike("Height above the floor", Kind::Length, &[found.height_m]);
    let map = Some(found.grid);
    Ok((Sheet { tables: vec![zones, about], curves, map, findings: found.findings, ..Sheet::default() }, None))
}

fn alternatives(plan: &Plan, search: Alternatives) -> Answered {
    let before = analyse(plan)?;
    let found = search.finish()?;
    let name = |merit| match merit {
        Merit::Metal => "Least metal",
        Merit::Energy => "Least fan energy",
        Merit::Evenness => "Most even as built",
        Merit::Between => "In between",
    };
    let mut plans: Vec<(&str, &Plan, &Analysis)> = vec![("As it is", plan, &before)];
    plans.extend(found.alternatives.iter().map(|one| (name(one.merit), &one.plan, &one.analysis)));
    let mut table = side_by_side("Plans to choose from; as built computed, not measured", &plans);
    let mut studied = |title: &str, of: fn(&ToleranceResult) -> f64| {
        let mut values = vec![f64::NAN];
        values.extend(found.alternatives.iter().map(|one| of(&one.study)));
        table.alike(title, Kind::Percent, &values);
    };
    studied("P90 of the worst bay", |study| study.p90.worst_bay_percent);
    studied("P90 of the worst slot", |study| study.p90.worst_slot_percent);
    // What the choice is about comes first.
    let order = |row: &[Cell]| match &row[0] {
        Cell::Text(title) if title.starts_with("Sheet") => 0,
        Cell::Text(title) if title.starts_with("Fan energy") => 1,
        Cell::Text(title) if title.starts_with("P90 of the worst bay") => 2,
        _ => 3,
    };
    sort_short(&mut table.rows, |a, b| order(a).cmp(&order(b)));
    let mut about = Table::new("The search", &["Figure", "Value"]);
    about.alike("Plans tried", Kind::Number, &[found.tried as f64]);
    Ok((
        Sheet {
            tables: vec![table, about],
            offers: found.alternatives.iter().map(|one| Offer::new(name(one.merit), &one.plan)).collect(),
            findings: found.findings,
            ..Sheet::default()
        },
        None,
    ))
}
