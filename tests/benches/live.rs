//! How live the page is: in headless Chromium, on a plan with 1,000 slots, the end of a run is dragged on the board
//! (with the tables and with the strip below it), a slot's width and a duct's height on the strip, and the board is
//! panned and zoomed.
//!
//! *Slice*: how long the page's main thread is busy at a stretch, from the start of an event handler, frame or
//! message of the worker to the end of what it set off at once. *Picture*: from a pointer's move to the end of
//! the frame that shows the figures calculated for it (panned or zoomed: the frame that shows it).
//!
//! The rest is from the browser's own trace, in processor time, which no other program adds to. *Task*: every task of
//! the page's main thread; *worker*: of its worker. Then the parts of those tasks: *hand* (the event's handlers),
//! *draw* (Yew, after them), *answer* (a message of the worker read and drawn by Yew), *paint* (the frame's callbacks),
//! *turn* (timers: what stands beside the board), *layout* (the browser's style, layout and paint).
//!
//! ```text
//! cargo bench --profile dev -p tests --bench live
//! ```

use engine::plan::{Plan, file};
use serde_json::Value;
use std::collections::BTreeMap;
use tests::browser::{Page, Visit};
use tests::golden::in_repository;

/// Moves of the pointer that are measured.
const MOVES: usize = 120;
/// Moves made by one script: a driver waits half a minute for each.
const AT_ONCE: usize = 12;
/// Scripts before those that are measured.
const WARM_UP: usize = 4;

fn main() {
    // `cargo test --benches` and the like only want to know that it builds.
    if !std::env::args().any(|arg| arg == "--bench") {
        return;
    }
    // The clock's times without the trace, which slows the page; then the trace.
    for traced in [false, true] {
        let visit = Visit::to_dist().sized(1440, 900);
        let visit = if traced { visit.traced("toplevel,blink.user_timing,devtools.timeline") } else { visit };
        visit.run("live", async |page| {
            let plan = thousand_slots();
            let slots: u32 = plan.slot_rows.iter().map(|row| row.count).sum();
            page.devtools("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": WATCH }))
                .await;
            page.reload().await;
            let fresh =
                "document.querySelector('[data-testid=tally]')?.getAttribute('aria-busy') === 'false'";
            page.wait_until(fresh).await;
            open(page, &plan).await;
            page.wait_until(fresh).await;
            // Only the end of a selected run can be gripped.
            for button in ["dock-tables", "cure-2-select"] {
                page.find(&format!("[data-testid=\"{button}\"]"))
                    .await
                    .click()
                    .await
                    .expect("it is selected");
            }
            let run = plan.ducts.iter().find(|duct| duct.id == "cure-2").expect("the run is there");
            let end = run.path.last().expect("a run has an end");
            for (hand, dock) in [
                ("end", "dock-tables"),
                ("end", "dock-strip"),
                ("slot", "dock-strip"),
                ("height", "dock-strip"),
                ("pan", "dock-strip"),
                ("zoom", "dock-strip"),
            ] {
                page.find(&format!("[data-testid={dock}]")).await.click().await.expect("the dock is shown");
                let arguments = [hand.into(), end.x_m.into(), end.y_m.into(), AT_ONCE.into()];
                // In the first seconds of work the browser translates anew what is done most.
                for _ in 0..WARM_UP {
                    page.eval(include_str!("live_drag.js"), &arguments).await;
                }
                println!("{slots} slots, {hand}, {dock}:");
                measure(page, traced, &arguments).await;
            }
        });
    }
}

/// The demonstration with its cure runs cut into 1,000 slots.
fn thousand_slots() -> Plan {
    let text = std::fs::read_to_string(in_repository("tests/plans/garden-gates.evenrise.json"))
        .expect("the demonstration is there");
    let mut plan = file::read(&text).expect("the demonstration opens");
    let mut total: u32 = plan.slot_rows.iter().map(|row| row.count).sum();
    let least = 1000 / total;
    total *= least;
    for row in &mut plan.slot_rows {
        // As many rows are cut finer as it takes.
        let more = u32::from(total < 1000);
        total += more * row.count;
        let factor = least + more;
        let old = row.widths_m.clone();
        row.count *= factor;
        row.pitch_m /= f64::from(factor);
        row.length_m /= f64::from(factor);
        if old.len() > 1 {
            row.widths_m =
                old.iter().flat_map(|width| std::iter::repeat_n(*width, factor as usize)).collect();
        }
    }
    plan
}

async fn open(page: &Page, plan: &Plan) {
    let drop = "const data = new DataTransfer(); \
        data.items.add(new File([arguments[0]], 'thousand.evenrise.json', { type: 'application/json' })); \
        document.querySelector('[data-testid=board]').dispatchEvent( \
            new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true })); return true;";
    page.eval(drop, &[file::write(plan).into()]).await;
    page.wait_until("document.querySelector('[data-testid=status]')?.textContent.includes('thousand')").await;
}

async fn measure(page: &Page, traced: bool, arguments: &[Value]) {
    let script = include_str!("live_drag.js");
    let (mut found, mut tasks) = (Vec::new(), BTreeMap::<&str, Vec<f64>>::new());
    if traced {
        page.trace().await;
    }
    for _ in 0..MOVES / AT_ONCE {
        found.push(page.eval(script, arguments).await);
        if traced {
            for (what, ms) in processor_ms(&page.trace().await) {
                tasks.entry(what).or_default().push(ms);
            }
        }
    }
    for what in ["slice", "picture", "solve"].into_iter().filter(|_| !traced) {
        let times = found.iter().filter_map(|found| found[what].as_array()).flatten();
        print(what, times.filter_map(Value::as_f64).collect());
    }
    for what in
        ["task", "worker", "hand", "draw", "answer", "paint", "turn", "layout"].into_iter().filter(|_| traced)
    {
        print(what, tasks.remove(what).unwrap_or_default());
    }
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    println!("  load of the machine: {}", load.trim());
}

fn print(what: &str, mut times: Vec<f64>) {
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times.get(((times.len() as f64 * share) as usize).min(times.len().max(1) - 1));
    println!(
        "  {what:8} p50 {:6.1} ms   p95 {:6.1} ms   most {:6.1} ms   of {}",
        at(0.5).unwrap_or(&f64::NAN),
        at(0.95).unwrap_or(&f64::NAN),
        at(1.0).unwrap_or(&f64::NAN),
        times.len()
    );
}

/// Processor time of each task and of its parts while the hand moved, ms. What takes less than a tenth of a
/// millisecond is none.
fn processor_ms(trace: &[Value]) -> Vec<(&'static str, f64)> {
    let mark = |name: &str| trace.iter().find(|event| event["name"] == name);
    let (Some(begin), Some(end)) = (mark("drag-begin"), mark("drag-end")) else { return Vec::new() };
    let kind = |event: &Value| {
        let own = event["tid"] == begin["tid"];
        Some(match event["name"].as_str()? {
            "ThreadControllerImpl::RunTask" if own => "task",
            "ThreadControllerImpl::RunTask" => "worker",
            "EventDispatch" if own => "hand",
            "RunMicrotasks" if own => "draw",
            "HandlePostMessage" if own => "answer",
            "FireAnimationFrame" if own => "paint",
            "TimerFire" if own => "turn",
            "UpdateLayoutTree" | "Layout" | "PrePaint" | "Paint" | "Layerize" | "Commit" if own => "layout",
            _ => return None,
        })
    };
    let during = |event: &&Value| {
        event["pid"] == begin["pid"]
            && event["ts"].as_f64() > begin["ts"].as_f64()
            && event["ts"].as_f64() < end["ts"].as_f64()
    };
    let of =
        trace.iter().filter(during).filter_map(|event| Some((kind(event)?, event["tdur"].as_f64()? / 1e3)));
    of.filter(|(_, ms)| *ms > 0.1).collect()
}

/// Notes how long handlers, frames and messages keep the thread, from before the page's own scripts run.
const WATCH: &str = r"
window.busy = { handler: [], frame: [], message: [], solve: [] };
// A promise's turn comes after everything that the handler set off at once.
const timed = (kind, work) => function (...args) {
    const start = performance.now();
    if (kind === 'message' && window.askedAt) { window.busy.solve.push(start - window.askedAt); window.askedAt = 0; }
    try { return work.apply(this, args); } finally {
        let turns = 12;
        const settle = () => { if (turns-- > 0) Promise.resolve().then(settle); else if (window.noting) window.busy[kind].push(performance.now() - start); };
        settle();
    }
};
window.timed = timed;
const frame = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (work) => frame(timed('frame', work));
const slot = Object.getOwnPropertyDescriptor(Worker.prototype, 'onmessage');
Object.defineProperty(Worker.prototype, 'onmessage', {
    get() { return slot.get.call(this); },
    set(work) { slot.set.call(this, work && timed('message', work)); },
});
const post = Worker.prototype.postMessage;
Worker.prototype.postMessage = function (...args) { window.askedAt = performance.now(); return post.apply(this, args); };
";
