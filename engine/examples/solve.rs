//! The first JSON door: solves a plan. See the README for the options and the answer.
use engine::analysis::{Analysis, describe};
use engine::design::{self, Budget, EvenTarget, LevelBy};
use engine::error::EngineError;
use engine::network::{Settings, door, from_plan, solve};
use engine::plan::{Plan, file};
use serde_json::{Value, json};
use std::io::Write;
use std::process::ExitCode;
use studies::Studies;

#[path = "solve_studies/mod.rs"]
mod studies;

const USAGE: &str = "usage: solve [--sections-velocity M_S | --sections-pressure PA] [--level slot-total|damper|duct-size] \
[--set-returns] [--find-speed | --fit-drive] [--even-out] [--even-out-per-metre | --even-out-temperature] [--compare-laws] [--compare-levels] \
[--compare-courses M_S] [--operating-points] [--fan-duty] [--damper-travel] [--write OUT.json] [--network OUT.json] PLAN.json";

#[derive(Default)]
struct Options {
    sections: Option<Budget>,
    level: Option<LevelBy>,
    even_out: bool,
    even_out_per_metre: bool,
    even_out_temperature: bool,
    damper_travel: bool,
    set_returns: bool,
    find_speed: bool,
    fit_drive: bool,
    compare_laws: bool,
    compare_levels: bool,
    compare_courses: Option<f64>,
    operating_points: bool,
    fan_duty: bool,
    write: Option<String>,
    network: Option<String>,
    studies: Studies,
    plan: String,
}

fn options() -> Option<Options> {
    let mut found = Options::default();
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut number = || words.next()?.parse::<f64>().ok();
        match word.as_str() {
            "--sections-velocity" => found.sections = Some(Budget::Velocity { most_m_s: number()? }),
            "--sections-pressure" => found.sections = Some(Budget::Pressure { most_pa: number()? }),
            "--compare-courses" => found.compare_courses = Some(number()?),
            "--level" => {
                found.level = Some(match words.next()?.as_str() {
                    "slot-total" => LevelBy::SlotTotal,
                    "damper" => LevelBy::Damper,
                    "duct-size" => LevelBy::DuctSize,
                    _ => return None,
                });
            }
            "--even-out" => found.even_out = true,
            "--even-out-per-metre" => found.even_out_per_metre = true,
            "--even-out-temperature" => found.even_out_temperature = true,
            "--damper-travel" => found.damper_travel = true,
            "--set-returns" => found.set_returns = true,
            "--find-speed" => found.find_speed = true,
            "--fit-drive" => found.fit_drive = true,
            "--compare-laws" => found.compare_laws = true,
            "--compare-levels" => found.compare_levels = true,
            "--operating-points" => found.operating_points = true,
            "--fan-duty" => found.fan_duty = true,
            "--write" => found.write = Some(words.next()?),
            "--network" => found.network = Some(words.next()?),
            other if found.studies.take(other, &mut words)? => {}
            other if !other.starts_with("--") && found.plan.is_empty() => found.plan = other.to_owned(),
            _ => return None,
        }
    }
    (!found.plan.is_empty()).then_some(found)
}

fn main() -> ExitCode {
    let Some(options) = options() else {
        eprintln!("{USAGE} {}", studies::USAGE);
        return ExitCode::from(2);
    };
    match run(&options) {
        Ok(answer) => {
            let text = serde_json::to_string_pretty(&answer).expect("an answer is JSON");
            // A reader that has seen enough, such as `head`, may close the pipe.
            let _ = writeln!(std::io::stdout(), "{text}");
            if answer["status"] == "converged" { ExitCode::SUCCESS } else { ExitCode::from(3) }
        }
        Err(message) => {
            eprintln!("{message}");
            ExitCode::from(2)
        }
    }
}

fn run(options: &Options) -> Result<Value, String> {
    let text = std::fs::read_to_string(&options.plan)
        .map_err(|error| format!("{}: {error}; name a readable file", options.plan))?;
    let mut plan = read_strictly(&text).map_err(|error| error.to_string())?;
    let mut said = Vec::new();
    let mut power_before = None;
    let mut extra = serde_json::Map::new();
    if let Some(budget) = options.sections {
        let sized = design::suggest_sections(&plan, budget).map_err(|error| error.to_string())?;
        extra.insert("sections".into(), json!({"before": sized.before, "after": sized.after}));
        power_before.get_or_insert(sized.designed.before.fan.shaft_power_w);
        said.extend(sized.designed.findings);
        plan = sized.designed.plan;
    }
    if let Some(by) = options.level {
        let levelled = design::level_runs(&plan, by).map_err(|error| error.to_string())?;
        extra.insert("levelled".into(), level(&levelled));
        power_before.get_or_insert(levelled.designed.before.fan.shaft_power_w);
        said.extend(levelled.designed.findings);
        plan = levelled.designed.plan;
    }
    // Returns first: their setting does not depend on slot widths, while slot widths depend on them.
    type Command = fn(&Plan) -> Result<design::Designed, EngineError>;
    let commands: [(bool, Command); 6] = [
        (options.set_returns, design::set_returns),
        (options.find_speed, design::find_speed),
        (options.fit_drive, design::fit_drive),
        (options.even_out, design::even_out),
        (options.even_out_per_metre, |plan| design::even_out_to(plan, EvenTarget::PerMetre)),
        (options.even_out_temperature, |plan| design::even_out_to(plan, EvenTarget::Temperature)),
    ];
    for (wanted, command) in commands {
        if wanted {
            let designed = command(&plan).map_err(|error| error.to_string())?;
            power_before.get_or_insert(designed.before.fan.shaft_power_w);
            said.extend(designed.findings);
            plan = designed.plan;
        }
    }
    let p90 = options.studies.even_out(&plan).map_err(|error| error.to_string())?;
    if let Some(done) = &p90 {
        power_before.get_or_insert(done.before.fan.shaft_power_w);
        said.extend(done.findings.iter().cloned());
        plan = done.plan.clone();
    }
    let built = from_plan::build(&plan).map_err(|error| error.to_string())?;
    let solution = solve(&built.network, &Settings::default());
    let mut analysis = describe(&plan, &built, &solution);
    said.append(&mut analysis.findings);
    analysis.findings = said;
    if let Some(path) = &options.write {
        std::fs::write(path, file::write(&plan))
            .map_err(|error| format!("{path}: {error}; name a writable file"))?;
    }
    if let Some(path) = &options.network {
        let case = door::freeze(&built.network, &solution);
        let text = serde_json::to_string_pretty(&case).expect("a case is JSON");
        std::fs::write(path, text).map_err(|error| format!("{path}: {error}; name a writable file"))?;
    }
    let mut answer = answer(&analysis, power_before);
    if options.compare_laws {
        answer["slot_laws"] = json!(design::compare_slot_laws(&plan).map_err(|error| error.to_string())?);
    }
    if options.compare_levels {
        let levels = design::compare_levels(&plan).map_err(|error| error.to_string())?;
        extra.insert("levels".into(), levels.iter().map(level).collect());
    }
    if let Some(velocity_m_s) = options.compare_courses {
        let courses = design::compare_courses(&plan, velocity_m_s).map_err(|error| error.to_string())?;
        let without_plan = |course: &design::Course| {
            let mut told = json!(course);
            told.as_object_mut().map(|fields| fields.remove("plan"));
            told
        };
        extra.insert("courses".into(), courses.iter().map(without_plan).collect());
    }
    if options.fan_duty {
        extra.insert("fan_duty".into(), json!(design::fan_duty(&plan).map_err(|error| error.to_string())?));
    }
    for (key, value) in extra {
        answer[key] = value;
    }
    if options.operating_points {
        answer["operating_points"] =
            json!(design::operating_points(&plan).map_err(|error| error.to_string())?);
    }
    if options.damper_travel {
        answer["damper_travel"] =
            json!(engine::heat::damper_travel(&plan).map_err(|error| error.to_string())?);
    }
    let studied = options.studies.answer(&plan, &analysis, p90.as_ref(), &mut answer);
    studied.map_err(|error| error.to_string())?;
    Ok(answer)
}

fn level(levelled: &design::Levelled) -> Value {
    json!({
        "by": levelled.by,
        "spread_before_percent": levelled.spread_before_percent,
        "spread_after_percent": levelled.spread_after_percent,
        "added_pressure_pa": levelled.added_pressure_pa,
        "throttled_w": levelled.throttled_w,
        "evenness": levelled.designed.after.evenness,
    })
}

/// At this door a field nobody knows is an error: it is a slip of the pen.
fn read_strictly(text: &str) -> Result<Plan, EngineError> {
    let plan = file::read(text)?;
    match plan.unknown_fields().first() {
        None => Ok(plan),
        Some(field) => Err(EngineError::new(field, "is not a field of a plan", "remove or correct it")),
    }
}

fn answer(analysis: &Analysis, power_before: Option<f64>) -> Value {
    let mut answer = serde_json::to_value(analysis).expect("an analysis is JSON");
    if analysis.worst_branch.is_none() {
        answer.as_object_mut().expect("an analysis is an object").remove("worst_branch");
    }
    if analysis.heat.is_none() {
        answer.as_object_mut().expect("an analysis is an object").remove("heat");
    }
    answer["findings"] = studies::told(&analysis.findings);
    if let Some(watts) = power_before {
        answer["fan"]["shaft_power_before_w"] = json!(watts);
    }
    answer
}
