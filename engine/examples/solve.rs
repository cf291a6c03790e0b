//! The first JSON door: solves a plan. See the README for the options and the answer.
use engine::analysis::{Analysis, describe};
use engine::design;
use engine::error::EngineError;
use engine::network::{Settings, door, from_plan, solve};
use engine::plan::{Plan, file};
use engine::units::UnitSystem;
use serde_json::{Value, json};
use std::io::Write;
use std::process::ExitCode;

const USAGE: &str = "usage: solve [--even-out] [--set-returns] [--find-speed] [--compare-laws] [--operating-points] [--write OUT.json] [--network OUT.json] PLAN.json";

#[derive(Default)]
struct Options {
    even_out: bool,
    set_returns: bool,
    find_speed: bool,
    compare_laws: bool,
    operating_points: bool,
    write: Option<String>,
    network: Option<String>,
    plan: String,
}

fn options() -> Option<Options> {
    let mut found = Options::default();
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--even-out" => found.even_out = true,
            "--set-returns" => found.set_returns = true,
            "--find-speed" => found.find_speed = true,
            "--compare-laws" => found.compare_laws = true,
            "--operating-points" => found.operating_points = true,
            "--write" => found.write = Some(words.next()?),
            "--network" => found.network = Some(words.next()?),
            other if !other.starts_with("--") && found.plan.is_empty() => found.plan = other.to_owned(),
            _ => return None,
        }
    }
    (!found.plan.is_empty()).then_some(found)
}

fn main() -> ExitCode {
    let Some(options) = options() else {
        eprintln!("{USAGE}");
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
    // Returns first: their setting does not depend on slot widths, while slot widths depend on them.
    type Command = fn(&Plan) -> Result<design::Designed, EngineError>;
    let commands: [(bool, Command); 3] = [
        (options.set_returns, design::set_returns),
        (options.find_speed, design::find_speed),
        (options.even_out, design::even_out),
    ];
    for (wanted, command) in commands {
        if wanted {
            let designed = command(&plan).map_err(|error| error.to_string())?;
            power_before.get_or_insert(designed.before.fan.shaft_power_w);
            said.extend(designed.findings);
            plan = designed.plan;
        }
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
    if options.operating_points {
        answer["operating_points"] =
            json!(design::operating_points(&plan).map_err(|error| error.to_string())?);
    }
    Ok(answer)
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
    answer["findings"] = analysis
        .findings
        .iter()
        .map(|finding| {
            json!({
                "id": finding.id, "severity": finding.severity, "item": finding.item,
                "message": finding.message.show(UnitSystem::Si),
                "remedy": finding.remedy.show(UnitSystem::Si), "basis": finding.basis,
            })
        })
        .collect();
    if let Some(watts) = power_before {
        answer["fan"]["shaft_power_before_w"] = json!(watts);
    }
    answer
}
