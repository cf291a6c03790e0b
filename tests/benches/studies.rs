//! How long the long studies take in the page's worker, printed: of the demonstration, and of the example with
//! more than a thousand slots. Plans to choose from are to be found within 120 s.
//!
//! *Wall* is from the press of the button to the answer on the page; *processor* is the worker's longest task by
//! the browser's trace, which other programs do not add to.
//!
//! ```text
//! cargo bench --profile dev -p tests --bench studies
//! ```

use engine::plan::file;
use std::time::{Duration, Instant};
use tests::browser::{Page, Visit};
use tests::golden::in_repository;

/// A loaded machine may take so long.
const LONGEST: Duration = Duration::from_secs(1_800);

fn main() {
    // `cargo test --benches` and the like only want to know that it builds.
    if !std::env::args().any(|arg| arg == "--bench") {
        return;
    }
    for name in ["garden-gates", "shelving-frames"] {
        Visit::to_dist().sized(1440, 900).traced("toplevel").run("studies", async |page| {
            let path = in_repository("tests/plans").join(format!("{name}.evenrise.json"));
            let text = std::fs::read_to_string(path).expect("the example is there");
            let plan = file::read(&text).expect("the example opens");
            let slots: u32 = plan.slot_rows.iter().map(|row| row.count).sum();
            open(page, name, &text).await;
            let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
            println!("{name}, {slots} slots; load of the machine {}", load.trim());
            for ask in ["as-built", "alternatives", "for-p90"] {
                measure(page, ask).await;
            }
        });
    }
}

async fn open(page: &Page, name: &str, text: &str) {
    let fresh = "document.querySelector('[data-testid=tally]')?.getAttribute('aria-busy') === 'false'";
    page.wait_until(fresh).await;
    let drop = "const data = new DataTransfer(); \
        data.items.add(new File([arguments[0]], arguments[1], { type: 'application/json' })); \
        document.querySelector('[data-testid=board]').dispatchEvent( \
            new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true })); return true;";
    page.eval(drop, &[text.into(), format!("{name}.json").into()]).await;
    let opened =
        format!("document.querySelector('[data-testid=status]')?.textContent.includes('{name}') && {fresh}");
    page.wait_for("the plan is calculated", LONGEST, async || {
        page.eval(&format!("return Boolean({opened})"), &[]).await == true
    })
    .await;
    page.find("[data-testid=dock-answers]").await.click().await.expect("the questions are shown");
}

async fn measure(page: &Page, ask: &str) {
    // By the page itself: the tally may still grow by a line of the last answer.
    let press = async |what: &str| {
        let press = format!("document.querySelector('[data-testid={what}-{ask}]').click(); return true;");
        page.eval(&press, &[]).await;
    };
    press("open").await;
    page.trace().await;
    press("run").await;
    let asked = Instant::now();
    let there = "return Boolean(document.querySelector('[data-testid=sheet]')?.dataset.current === 'true' \
        && !document.querySelector('[data-testid=stop-answer]'));";
    page.wait_for("an answer", LONGEST, async || page.eval(there, &[]).await == true).await;
    let wall = asked.elapsed().as_secs_f64();
    let trace = page.trace().await;
    let tasks = trace.iter().filter(|event| event["name"] == "ThreadControllerImpl::RunTask");
    let longest_us = tasks.filter_map(|event| event["tdur"].as_f64()).fold(0.0, f64::max);
    println!("  {ask:13} wall {wall:7.1} s   processor {:7.1} s", longest_us / 1e6);
}
