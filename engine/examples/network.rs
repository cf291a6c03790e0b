//! The second JSON door: solves a bare network. See the README for the form of CASE.json.
use engine::network::door;
use std::io::Write;
use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(path) = std::env::args().nth(1) else {
        eprintln!("usage: network CASE.json");
        return ExitCode::from(2);
    };
    let solved = std::fs::read_to_string(&path)
        .map_err(|error| format!("{path}: {error}; name a readable file"))
        .and_then(|text| {
            door::read(&text).and_then(|case| door::solve(&case)).map_err(|error| error.to_string())
        });
    match solved {
        Ok((network, solution)) => {
            let answer = door::answer(&network, &solution);
            let text = serde_json::to_string_pretty(&answer).expect("an answer is JSON");
            // A reader that has seen enough, such as `head`, may close the pipe.
            let _ = writeln!(std::io::stdout(), "{text}");
            if solution.converged() { ExitCode::SUCCESS } else { ExitCode::from(3) }
        }
        Err(message) => {
            eprintln!("{message}");
            ExitCode::from(2)
        }
    }
}
