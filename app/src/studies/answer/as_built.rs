//! Answers about the oven as it will be built, and about plans to choose from.

use super::{Answered, SEARCH_SAMPLES};
use crate::solve::Changed;
use crate::studies::sheet::{Cell, Offer, Series, Sheet, Table, before_after, side_by_side};
use engine::analysis::{Analysis, analyse};
use engine::design::{
    Alternatives, EvenOutP90, Merit, SLOT_LAWS, Tolerance, ToleranceResult, ToleranceSettings,
    fit_bench_pieces,
};
use engine::numerics::sort_short;
use engine::plan::{Plan, SlotModel};
use engine::units::Kind;
use std::rc::Rc;

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

pub(super) fn as_built(study: &ToleranceResult) -> Sheet {
    let mut matters = Table::new(
        "What matters most: P90 falls by so many points with it held at its middle",
        &["In doubt", "Worst bay, points", "Worst slot, points"],
    );
    for effect in &study.inputs {
        matters.alike(effect.input.name(), Kind::Number, &[effect.bay_points, effect.slot_points]);
    }
    let mut bays = Table::new("Bay by bay", &["Run", "From", "To", "As drawn", "P50", "P90", "Worst slot"]);
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
        if let Some(row) = bays.rows.last_mut() {
            row.push(bay.worst_slot.as_str().into());
        }
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

pub(super) fn for_p90(plan: &Plan, command: EvenOutP90) -> Answered {
    let before = analyse(plan)?;
    let done = command.finish()?;
    let mut p90 =
        Table::new("Worst bay as built, computed, not measured", &["Figure", "Evened out as drawn", "Now"]);
    let each = [&done.study_before, &done.study_after];
    p90.alike("P50", Kind::Percent, &each.map(|study| study.p50.worst_bay_percent));
    p90.alike("P90", Kind::Percent, &each.map(|study| study.p90.worst_bay_percent));
    p90.alike("P90 of the worst slot", Kind::Percent, &each.map(|study| study.p90.worst_slot_percent));
    p90.alike("Shaft power", Kind::ShaftPower, &[&done.before, &done.after].map(|a| a.fan.shaft_power_w));
    p90.alike("Sheet in the ducts", Kind::Mass, &done.sheet_kg.map(|kg| kg));
    let table = before_after((plan, &before), (&done.plan, &done.after));
    let headline = vec![done.study_after.p50.worst_bay_percent, done.study_after.p90.worst_bay_percent];
    let sheet =
        Sheet { tables: vec![p90, table], findings: done.findings.clone(), headline, ..Sheet::default() };
    let changed = Changed { plan: Rc::new(done.plan), before, after: done.after, findings: done.findings };
    Ok((sheet, Some(changed)))
}

pub(super) fn bench(plan: &Plan) -> Answered {
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
    let mut readings = Table::new(
        "Readings against the likeliest law",
        &["Piece: reading", "Read", "Fitted", "Off, in doubts"],
    );
    for (k, reading) in fit.readings.iter().enumerate() {
        let fitted = best.and_then(|law| law.fitted.get(k)).copied().unwrap_or(f64::NAN);
        let off = (fitted - reading.read) / reading.doubt;
        let title = format!("{}: {}", reading.piece, reading.what);
        readings.alike(&title, Kind::Number, &[reading.read, fitted, off]);
    }
    let mut sheet =
        Sheet { tables: vec![laws, readings], findings: fit.findings.clone(), ..Sheet::default() };
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
            table.alike(
                "P90 of the worst slot",
                Kind::Percent,
                &both.map(|study| study.p90.worst_slot_percent),
            );
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

pub(super) fn alternatives(plan: &Plan, search: Alternatives) -> Answered {
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
