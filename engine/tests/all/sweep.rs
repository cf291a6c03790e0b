//! Every number of every example plan made zero, negative, tiny, huge and no number at all: each calculation and
//! each command ends in finite figures or in an error with its place and remedy, and never falls over.

use crate::tree;
use engine::analysis::{Analysis, analyse};
use engine::coverage::coverage;
use engine::design::{
    Budget, Designed, EvenTarget, LevelBy, ToleranceSettings, compare_courses, compare_levels,
    compare_slot_laws, even_out, even_out_to, fan_duty, find_speed, fit_drive, level_runs, operating_points,
    set_returns, suggest_sections, tolerance,
};
use engine::error::EngineError;
use engine::finding::Finding;
use engine::heat::damper_travel;
use engine::heat::need::{need, propose};
use engine::plan::{Plan, file};
use engine::units::UnitSystem;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Debug;
use std::panic::{AssertUnwindSafe, catch_unwind};
use tree::Tree;

/// How much is asked of each changed plan.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
enum Ask {
    /// Analysis, coverage, heat and air needed.
    Figures,
    /// The commands that design, too.
    Commands,
    /// Everything that does not take minutes.
    All,
}

/// Holds every number a plan can hold, but those of a drive by frequency.
const EVERY: &str = include_str!("tree/every-number.evenrise.json");
const BY_FREQUENCY: &str =
    r#"{"kind": "frequency", "motor_speed_rpm": 1460.0, "base_hz": 50.0, "set_hz": 51.5}"#;

fn example(name: &str) -> Value {
    let json = |text: &str| serde_json::from_str(text).expect("it is JSON");
    match name {
        "every number" => json(EVERY),
        "by frequency" => {
            let mut plan: Value = json(EVERY);
            plan["heater"]["fan"]["drive"] = json(BY_FREQUENCY);
            plan
        }
        _ => {
            let path = format!("{}/../tests/plans/{name}.evenrise.json", env!("CARGO_MANIFEST_DIR"));
            json(&std::fs::read_to_string(path).expect("the plan is there"))
        }
    }
}

/// A number of a plan: where it is.
#[derive(Clone, Debug)]
struct Place(String);

/// Numbers of a plan: of a list the first and the last, for the others are read alike.
fn numbers(plan: &Value) -> Vec<Place> {
    fn walk(value: &Value, at: &str, kind: &str, found: &mut BTreeMap<String, Vec<String>>) {
        match value {
            Value::Number(_) => found.entry(kind.to_owned()).or_default().push(at.to_owned()),
            Value::Array(items) => {
                for (i, item) in items.iter().enumerate() {
                    walk(item, &format!("{at}/{i}"), &format!("{kind}/*"), found);
                }
            }
            Value::Object(fields) => {
                for (key, item) in fields {
                    walk(item, &format!("{at}/{key}"), &format!("{kind}/{key}"), found);
                }
            }
            _ => {}
        }
    }
    let mut found = BTreeMap::new();
    walk(plan, "", "", &mut found);
    found
        .into_values()
        .flat_map(|mut places: Vec<String>| {
            let last = places.pop();
            places.truncate(1);
            places.into_iter().chain(last)
        })
        .map(Place)
        .collect()
}

/// Whether what is printed holds a number that is none.
fn has_no_number(printed: &str) -> bool {
    let mut words = printed.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '"'));
    words.any(|word| matches!(word, "NaN" | "inf"))
}

/// What went wrong with one change, if anything.
struct Watch {
    place: String,
    wrong: Vec<String>,
}

impl Watch {
    fn of<T>(
        &mut self,
        command: &str,
        run: impl FnOnce() -> Result<T, EngineError>,
        look: impl FnOnce(&T, &mut Vec<String>),
    ) -> Option<T> {
        let (place, wrong) = (&self.place, &mut self.wrong);
        let mut note = |what: String| wrong.push(format!("{place}: {command} {what}"));
        match catch_unwind(AssertUnwindSafe(run)) {
            Err(panic) => {
                let said = panic.downcast_ref::<String>().cloned();
                let said = said.or_else(|| panic.downcast_ref::<&str>().map(|text| (*text).to_owned()));
                note(format!("falls over: {}", said.unwrap_or_default()));
                None
            }
            Ok(Err(error)) => {
                let parts = [&error.place, &error.problem, &error.remedy];
                if parts.iter().any(|part| part.trim().is_empty()) || has_no_number(&error.remedy) {
                    note(format!("does not say where or what to do: {error}"));
                }
                None
            }
            Ok(Ok(done)) => {
                let mut found = Vec::new();
                look(&done, &mut found);
                found.into_iter().for_each(note);
                Some(done)
            }
        }
    }
}

fn finite<T: Debug>(what: &T, wrong: &mut Vec<String>) {
    let printed = format!("{what:?}");
    if has_no_number(&printed) {
        let at = printed.find("NaN").or_else(|| printed.find("inf")).unwrap_or(0);
        let from = (0..=at.saturating_sub(160)).rev().find(|&i| printed.is_char_boundary(i)).unwrap_or(0);
        let to = (at + 12..printed.len()).find(|&i| printed.is_char_boundary(i)).unwrap_or(printed.len());
        wrong.push(format!("gives a number that is none: …{}…", &printed[from..to]));
    }
}

fn readable(findings: &[Finding], wrong: &mut Vec<String>) {
    for finding in findings {
        let (message, remedy) = (finding.message.show(UnitSystem::Si), finding.remedy.show(UnitSystem::Si));
        if message.contains('—') || remedy.contains('—') || message.is_empty() || remedy.is_empty() {
            wrong.push(format!("finds {}: {message} {remedy}", finding.id));
        }
    }
}

fn analysed(analysis: &Analysis, wrong: &mut Vec<String>) {
    finite(analysis, wrong);
    readable(&analysis.findings, wrong);
    if analysis.status != "converged" && analysis.worst_branch.is_none() {
        wrong.push(format!("ends with \"{}\" and names no place", analysis.status));
    }
}

fn designed(done: &Designed, wrong: &mut Vec<String>) {
    analysed(&done.after, wrong);
    readable(&done.findings, wrong);
    finite(&done.findings, wrong);
    if let Err(error) = file::read(&file::write(&done.plan)) {
        wrong.push(format!("gives a plan that does not open: {error}"));
    }
}

/// Asks a plan for its figures, and by `ask` for more.
fn ask_all(watch: &mut Watch, plan: &Plan, ask: Ask) {
    let analysis = watch.of("analyse", || analyse(plan), analysed);
    if let Some(analysis) = &analysis {
        watch.of("coverage", || coverage(plan, analysis), finite);
    }
    watch.of(
        "need",
        || Ok(need(plan)),
        |answer, wrong| {
            finite(answer, wrong);
            readable(&answer.findings, wrong);
        },
    );
    if ask < Ask::Commands {
        return;
    }
    type Command = fn(&Plan) -> Result<Designed, EngineError>;
    let commands: [(&str, Command); 3] =
        [("even_out", even_out), ("set_returns", set_returns), ("find_speed", find_speed)];
    for (name, command) in commands {
        watch.of(name, || command(plan), designed);
    }
    if ask < Ask::All || analysis.is_none() {
        return;
    }
    if let Some(need) = need(plan).need {
        let first = watch.of("propose", || Ok(propose(plan, &need)), finite);
        if let Some(first) = first {
            watch.of("analyse of what is proposed", || analyse(&first), analysed);
        }
    }
    watch.of("fit_drive", || fit_drive(plan), designed);
    watch.of("fan_duty", || fan_duty(plan), finite);
    watch.of("operating_points", || operating_points(plan), finite);
    watch.of("compare_slot_laws", || compare_slot_laws(plan), finite);
    for budget in [Budget::Velocity { most_m_s: 8.0 }, Budget::Pressure { most_pa: 100.0 }] {
        watch.of(
            "suggest_sections",
            || suggest_sections(plan, budget),
            |sized, wrong| {
                designed(&sized.designed, wrong);
            },
        );
    }
    watch.of("compare_courses", || compare_courses(plan, 8.0), finite);
    watch.of(
        "compare_levels",
        || compare_levels(plan),
        |ways, wrong| {
            ways.iter().for_each(|way| designed(&way.designed, wrong));
        },
    );
    watch.of(
        "level_runs",
        || level_runs(plan, LevelBy::Damper),
        |way, wrong| {
            designed(&way.designed, wrong);
        },
    );
    for target in [EvenTarget::PerMetre, EvenTarget::Temperature] {
        watch.of("even_out_to", || even_out_to(plan, target), designed);
    }
    watch.of("damper_travel", || damper_travel(plan), finite);
    watch.of("tolerance", || tolerance(plan, ToleranceSettings { samples: 4, seed: 1 }), finite);
}

fn sweep(name: &str, values: &[f64], ask: Ask) -> Vec<String> {
    let plan = example(name);
    let places = numbers(&plan);
    let mut wrong = Vec::new();
    // What the two plans have in common need not be tried twice.
    let under = if name == "by frequency" { "/heater/fan/drive" } else { "" };
    for Place(at) in places.iter().filter(|place| place.0.starts_with(under)) {
        for &value in values {
            let mut watch = Watch { place: format!("{name} {at} = {value}"), wrong: Vec::new() };
            let changed = if value.is_finite() {
                let mut plan = plan.clone();
                *plan.pointer_mut(at).expect("the number is there") = value.into();
                watch.of("reading", || file::read(&plan.to_string()), |_, _| ())
            } else {
                // No file holds such a number: it comes from code.
                Tree::of(&plan, at, value).plan()
            };
            if let Some(changed) = changed {
                ask_all(&mut watch, &changed, ask);
            }
            watch.wrong.iter().for_each(|line| println!("{line}"));
            wrong.append(&mut watch.wrong);
        }
    }
    println!("{name}: {} numbers, {} wrong", places.len(), wrong.len());
    wrong
}

const VALUES: [f64; 4] = [0.0, -1.0, 1e-9, 1e9];

#[track_caller]
fn none_wrong(sweeps: impl IntoIterator<Item = Vec<String>>) {
    let wrong: Vec<String> = sweeps.into_iter().flatten().collect();
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn no_number_of_the_smallest_plan_makes_anything_fall_over() {
    none_wrong([sweep("minimal", &VALUES, Ask::All)]);
}

#[test]
fn no_number_of_an_example_makes_a_command_fall_over() {
    none_wrong(["planter-ring", "lantern-box"].map(|name| sweep(name, &VALUES, Ask::Commands)));
}

#[test]
fn no_number_of_any_kind_spoils_the_figures() {
    let names = ["every number", "by frequency"];
    none_wrong(names.map(|name| sweep(name, &VALUES, Ask::Figures)));
}

#[test]
fn what_is_no_number_is_refused() {
    let values = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];
    none_wrong(["minimal", "every number", "by frequency"].map(|name| sweep(name, &values, Ask::Commands)));
}

/// Names of all fields of the plan that hold numbers.
fn names_of_numbers(schema: &Value, found: &mut BTreeSet<String>) {
    fn holds_number(field: &Value) -> bool {
        let is = |kind: &str| match &field["type"] {
            Value::String(word) => word == kind,
            Value::Array(words) => words.iter().any(|word| word == kind),
            _ => false,
        };
        is("number") || is("integer") || (is("array") && holds_number(&field["items"]))
    }
    match schema {
        Value::Object(fields) => {
            if let Some(Value::Object(properties)) = fields.get("properties") {
                found.extend(
                    properties.iter().filter(|(_, field)| holds_number(field)).map(|(k, _)| k.clone()),
                );
            }
            fields.values().for_each(|field| names_of_numbers(field, found));
        }
        Value::Array(items) => items.iter().for_each(|item| names_of_numbers(item, found)),
        _ => {}
    }
}

#[test]
fn every_number_of_the_schema_is_swept() {
    let schema = include_str!("../../../tests/plans/evenrise.schema.json");
    let mut names = BTreeSet::new();
    names_of_numbers(&serde_json::from_str(schema).expect("it is JSON"), &mut names);
    assert!(names.len() > 150 && names.contains("slab_limit_c") && names.contains("sleeves_m"));
    for plan in ["every number", "by frequency"] {
        for Place(at) in numbers(&example(plan)) {
            let last = at.rsplit('/').find(|part| part.parse::<usize>().is_err()).unwrap_or_default();
            names.remove(last);
        }
    }
    assert!(names.is_empty(), "add these to engine/tests/tree/every-number.evenrise.json: {names:?}");
    let plan = file::read(EVERY).expect("it opens");
    let analysis = analyse(&plan).expect("can be calculated");
    assert_eq!(analysis.status, "converged");
    assert!(analysis.heat.is_some(), "{:?}", analysis.findings);
}
