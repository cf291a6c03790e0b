//! Every screen of the planner, one after the other: for tests that look at each.

use crate::planner::{DEMO, Planner, css, example_text};

/// Goes to every screen once and lets `look` look at each, by its name.
pub async fn tour(planner: &Planner<'_>, look: &mut impl AsyncFnMut(&Planner<'_>, &str)) {
    planner.says("saved", &["kept in this browser"]).await;
    look(planner, "first visit with hints").await;
    planner.click("hints-away").await;
    for step in ["need", "layout", "slots", "returns", "fan", "findings"] {
        planner.click(&format!("step-{step}")).await;
        for dock in ["strip", "tables", "heat"] {
            planner.click(&format!("dock-{dock}")).await;
            look(planner, &format!("{step}, {dock}")).await;
        }
    }
    for (step, id) in [
        ("layout", "cure-1"),
        ("layout", "column-1"),
        ("need", "dry-off"),
        ("need", "entry"),
        ("slots", "slots-dry-1"),
        ("returns", "return-1"),
        ("fan", "exhaust"),
    ] {
        planner.select(step, id).await;
        look(planner, &format!("card of {id}")).await;
    }
    for (step, button) in
        [("layout", "panel-enclosure"), ("layout", "panel-heater"), ("need", "panel-conveyor")]
    {
        planner.click(&format!("step-{step}")).await;
        planner.click(button).await;
        let unfold = "document.querySelectorAll('details.fold').forEach((fold) => { fold.open = true; });";
        planner.page.eval(unfold, &[]).await;
        look(planner, &format!("after {button}, unfolded")).await;
    }
    planner.click("step-fan").await;
    planner.click("panel-add-sensor").await;
    look(planner, "card of a sensor").await;
    planner.click("step-findings").await;
    planner.click_on("button.accept").await;
    look(planner, "accepting a finding").await;

    // The answers: none yet, one with a picture and the map on the board, one out of date.
    planner.click("dock-answers").await;
    look(planner, "questions").await;
    for question in ["coverage", "laws", "duty"] {
        planner.click(&format!("open-{question}")).await;
        planner.click(&format!("run-{question}")).await;
        planner.page.wait_until("document.querySelector('[data-testid=sheet]')").await;
        look(planner, question).await;
    }
    planner.click("step-slots").await;
    for fold in ["fold-shop", "fold-tolerances", "fold-bench"] {
        planner.click_on(&format!("[data-testid={fold}] summary")).await;
    }
    planner.click("panel-add-bench_pieces").await;
    planner.says("answer", &["Out of date"]).await;
    look(planner, "shop record, bench piece, an answer out of date").await;
    planner.undo("Change bench piece").await;

    // The palette with a drawing begun, the keys, a version kept to compare with, a link with its code.
    planner.click("tool-d").await;
    planner.page.wait_until("document.querySelector('[data-testid=draw-typed]')").await;
    look(planner, "a duct being drawn").await;
    planner.click("tool-a").await;
    planner.click("keys").await;
    planner.page.wait_until("document.querySelector('[data-testid=keys-dialog]')").await;
    look(planner, "keys").await;
    planner.click("keys-close").await;
    planner.click("keep-before").await;
    planner.set("fan-speed", "1060", 1060.0).await;
    planner.calculated().await;
    planner.click("show-before").await;
    look(planner, "before beside now").await;
    planner.click("forget-before").await;
    planner.click("file-menu").await;
    planner.click("file-link").await;
    planner.page.wait_until("document.querySelector('[data-testid=qr], [data-testid=qr-refused]')").await;
    look(planner, "menu with link and code").await;
    planner.click("file-menu").await;

    // The strip's numbers, a refused field, a report, the menu, an alert.
    planner.click("dock-strip").await;
    planner.click_on(".strip-table summary").await;
    planner.enter("fan-speed", "fast").await;
    planner.page.wait_until("document.querySelector('[data-testid=fan-speed][aria-invalid=true]')").await;
    look(planner, "numbers and a refused field").await;
    planner.compute("set-returns", "Set returns").await;
    planner.click("file-menu").await;
    look(planner, "report and menu").await;
    planner.click("file-menu").await;
    let loose = example_text(DEMO).replacen("\"y_m\": 4.11", "\"y_m\": 0.3", 1);
    planner.pick("loose.evenrise.json", &loose).await;
    planner.says("alert", &["not opened"]).await;
    look(planner, "alert").await;

    // A newer version of the page, as its script tells of it.
    let newer = "document.documentElement.dataset.update = 'ready'; window.dispatchEvent(new Event('evenrise:update'));";
    planner.page.eval(newer, &[]).await;
    planner.page.find(&css("update")).await;
    look(planner, "a newer version").await;

    // An empty plan.
    planner.click("file-menu").await;
    planner.click("file-new").await;
    planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
    for step in ["need", "layout", "slots", "returns", "fan", "findings"] {
        planner.click(&format!("step-{step}")).await;
        look(planner, &format!("empty plan, {step}")).await;
    }
    for dock in ["strip", "tables", "heat", "answers"] {
        planner.click(&format!("dock-{dock}")).await;
        look(planner, &format!("empty plan, {dock}")).await;
    }
}
