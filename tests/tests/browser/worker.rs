//! The engine's worker falls, is late, or is overtaken: the plan stays and the newest answer stands.

use engine::design::even_out;
use serde_json::json;
use tests::browser::Visit;

use crate::planner::{CALCULATED, DEMO, Planner, example};

/// Puts something in front of the page's requests to its worker while `poison` is set. Loaded before the page.
const POISONER: &str = "window.Worker = class extends Worker { \
    postMessage(message) { \
        if (window.poison !== undefined && message instanceof Uint8Array) { \
            const poison = window.poison; delete window.poison; super.postMessage(poison); \
        } \
        super.postMessage(message); \
    } };";

#[test]
fn a_fallen_worker_is_started_again_and_the_plan_stays() {
    Visit::to_dist().run("fallen", async |page| {
        page.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": POISONER })).await;
        page.reload().await;
        let planner = Planner::up(page).await;
        let mut plan = example(DEMO);
        // More bytes than the worker can hold: it panics. A negative length: its script throws.
        for (speed, poison) in [(1110.0, "2500000000"), (1120.0, "-1")] {
            planner.page.eval(&format!("window.poison = {poison}"), &[]).await;
            planner.enter("fan-speed", &speed.to_string()).await;
            planner.says("alert", &["The calculation was started again", "Your plan is kept"]).await;
            plan.heater.fan.speed_rpm = speed;
            assert_eq!(planner.plan().await, plan);
            // The fallen request is not tried again, and no old figure stands beside the new plan.
            assert_eq!(planner.number("tally-worst").await, None);

            plan.heater.fan.speed_rpm = speed + 5.0;
            planner.set("fan-speed", &(speed + 5.0).to_string(), speed + 5.0).await;
            planner
                .page
                .wait_until("document.querySelector('[data-testid=tally-worst]').dataset.value")
                .await;
            planner.shows(&plan).await;
        }
        plan.heater.fan.speed_rpm = 1200.0;
        planner.set("fan-speed", "1200", 1200.0).await;
        planner.compute("even-out", "Even out").await;
        planner.shows(&even_out(&plan).unwrap().plan).await;
    });
}

/// Types into the fan speed as fast as a script can, between two turns of the event loop.
const TYPE: &str = "const field = document.querySelector('[data-testid=fan-speed]'); \
    const set = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, 'value').set; \
    for (const speed of arguments[0]) { \
        set.call(field, speed); \
        field.dispatchEvent(new Event('change', { bubbles: true })); \
    }";

#[test]
fn quick_edits_end_in_the_answer_to_the_newest() {
    Visit::to_dist().run("quick", async |page| {
        let planner = Planner::up(page).await;
        planner.page.eval(TYPE, &[json!(["1310", "1320", "1330", "1340"])]).await;
        planner
            .page
            .wait_until("document.querySelector('[data-testid=fan-speed]').dataset.value === '1340'")
            .await;
        planner.calculated().await;
        let mut plan = example(DEMO);
        plan.heater.fan.speed_rpm = 1340.0;
        planner.shows(&plan).await;
        // The last answer has been; nothing older may come after it.
        planner.page.wait_until(CALCULATED).await;
        planner.shows(&plan).await;
    });
}

#[test]
fn an_edit_overtakes_a_computation() {
    Visit::to_dist().run("overtaken", async |page| {
        let planner = Planner::up(page).await;
        let press = "document.querySelector('[data-testid=even-out]').click();";
        planner.page.eval(&format!("{press} {TYPE}"), &[json!(["1250"])]).await;
        planner.says("alert", &["Even out", "changed meanwhile", "run it again"]).await;
        let mut plan = example(DEMO);
        plan.heater.fan.speed_rpm = 1250.0;
        planner.shows(&plan).await;
        assert_eq!(planner.plan().await, plan);
        planner.undo("Change fan speed").await;
        planner.can_undo(None).await;
        planner.shows(&example(DEMO)).await;
    });
}

#[test]
fn a_computation_can_be_stopped() {
    Visit::to_dist().run("stopped", async |page| {
        let planner = Planner::up(page).await;
        // By script, because the hand may be slower than the computation.
        let script = "document.querySelector('[data-testid=even-out]').click(); \
            return new Promise((done) => { const look = () => { \
                const stop = document.querySelector('[data-testid=cancel]'); \
                if (stop) { stop.click(); done(true); } else { setTimeout(look); } }; look(); });";
        planner.page.eval(script, &[]).await;
        planner.says("status", &["Even out: stopped", "nothing was changed"]).await;
        assert_eq!(planner.plan().await, example(DEMO));
        planner.compute("even-out", "Even out").await;
        planner.shows(&even_out(&example(DEMO)).unwrap().plan).await;
    });
}
