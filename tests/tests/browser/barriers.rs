//! Nothing on the page shuts people out, as far as a program can tell: each screen, in light and in dark.

use tests::axe::barriers;
use tests::browser::Visit;

use crate::planner::{DEMO, Planner, example_text};

/// Looks at the screen as it is; what is found goes on the list.
async fn look(planner: &Planner<'_>, screen: &str, found: &mut Vec<String>) {
    found.extend(barriers(planner.page).await.into_iter().map(|line| format!("{screen}: {line}")));
}

async fn tour(planner: &Planner<'_>, theme: &str) -> Vec<String> {
    let mut found = Vec::new();
    planner.theme(theme).await;
    for step in ["need", "layout", "slots", "returns", "fan", "findings"] {
        planner.click(&format!("step-{step}")).await;
        for dock in ["strip", "tables", "heat"] {
            planner.click(&format!("dock-{dock}")).await;
            look(planner, &format!("{theme}, {step}, {dock}"), &mut found).await;
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
        look(planner, &format!("{theme}, card of {id}"), &mut found).await;
    }
    for (step, button) in
        [("layout", "panel-enclosure"), ("layout", "panel-heater"), ("need", "panel-conveyor")]
    {
        planner.click(&format!("step-{step}")).await;
        planner.click(button).await;
        let unfold = "document.querySelectorAll('details.fold').forEach((fold) => { fold.open = true; });";
        planner.page.eval(unfold, &[]).await;
        look(planner, &format!("{theme}, after {button}, unfolded"), &mut found).await;
    }
    planner.click("step-fan").await;
    planner.click("panel-add-sensor").await;
    look(planner, &format!("{theme}, card of a sensor"), &mut found).await;
    planner.click("step-findings").await;
    planner.page.find("button.accept").await.click().await.unwrap();
    look(planner, &format!("{theme}, accepting a finding"), &mut found).await;

    // The answers: none yet, one with a picture and the map on the board, one out of date.
    planner.click("dock-answers").await;
    look(planner, &format!("{theme}, questions"), &mut found).await;
    for question in ["coverage", "laws", "duty"] {
        planner.click(&format!("open-{question}")).await;
        planner.click(&format!("run-{question}")).await;
        planner.page.wait_until("document.querySelector('[data-testid=sheet]')").await;
        look(planner, &format!("{theme}, {question}"), &mut found).await;
    }
    planner.click("step-slots").await;
    for fold in ["fold-shop", "fold-tolerances", "fold-bench"] {
        planner.page.find(&format!("[data-testid={fold}] summary")).await.click().await.unwrap();
    }
    planner.click("panel-add-bench_pieces").await;
    planner.says("answer", &["Out of date"]).await;
    look(planner, &format!("{theme}, shop record, bench piece, an answer out of date"), &mut found).await;
    planner.undo("Change bench piece").await;

    // The palette with a drawing begun, the keys, a version kept to compare with, a link with its code.
    planner.click("tool-d").await;
    planner.page.wait_until("document.querySelector('[data-testid=draw-typed]')").await;
    look(planner, &format!("{theme}, a duct being drawn"), &mut found).await;
    planner.click("tool-a").await;
    planner.click("keys").await;
    planner.page.wait_until("document.querySelector('[data-testid=keys-dialog]')").await;
    look(planner, &format!("{theme}, keys"), &mut found).await;
    planner.click("keys-close").await;
    planner.click("keep-before").await;
    planner.set("fan-speed", "1060", 1060.0).await;
    planner.calculated().await;
    planner.click("show-before").await;
    look(planner, &format!("{theme}, before beside now"), &mut found).await;
    planner.click("forget-before").await;
    planner.click("file-menu").await;
    planner.click("file-link").await;
    planner.page.wait_until("document.querySelector('[data-testid=qr], [data-testid=qr-refused]')").await;
    look(planner, &format!("{theme}, menu with link and code"), &mut found).await;
    planner.click("file-menu").await;

    // The strip's numbers, a refused field, a report, the menu, an alert.
    planner.click("dock-strip").await;
    planner.page.find(".strip-table summary").await.click().await.unwrap();
    planner.enter("fan-speed", "fast").await;
    planner.page.wait_until("document.querySelector('[data-testid=fan-speed][aria-invalid=true]')").await;
    look(planner, &format!("{theme}, numbers and a refused field"), &mut found).await;
    planner.compute("set-returns", "Set returns").await;
    planner.click("file-menu").await;
    look(planner, &format!("{theme}, report and menu"), &mut found).await;
    planner.click("file-menu").await;
    let loose = example_text(DEMO).replacen("\"y_m\": 4.6", "\"y_m\": 0.3", 1);
    planner.pick("loose.evenrise.json", &loose).await;
    planner.says("alert", &["not opened"]).await;
    look(planner, &format!("{theme}, alert"), &mut found).await;
    found
}

fn assert_none(found: Vec<String>) {
    assert!(found.is_empty(), "{} barriers:\n{}", found.len(), found.join("\n"));
}

#[test]
fn a_barrier_is_found() {
    Visit::to_dist().run("barrier", async |page| {
        let planner = Planner::up(page).await;
        let bad = "const image = document.createElement('img'); image.src = 'icon.svg'; \
            const pale = document.createElement('p'); pale.textContent = 'pale'; pale.className = 'pale'; \
            pale.setAttribute('style', 'color: #ccc; background: #fff'); document.querySelector('main').append(image, pale);";
        planner.page.eval(bad, &[]).await;
        let found = barriers(planner.page).await;
        let has = |rule: &str| found.iter().any(|line| line.contains(rule));
        assert!(has("image-alt") && has("color-contrast"), "{found:?}");
    });
}

#[test]
fn there_are_no_barriers_in_light() {
    Visit::to_dist().sized(1440, 900).run("barriers_light", async |page| {
        let planner = Planner::up(page).await;
        assert_none(tour(&planner, "light").await);
    });
}

#[test]
fn there_are_no_barriers_in_dark() {
    Visit::to_dist().sized(1440, 900).run("barriers_dark", async |page| {
        let planner = Planner::up(page).await;
        assert_none(tour(&planner, "dark").await);
    });
}

#[test]
fn there_are_no_barriers_on_a_tablet_and_in_an_empty_plan() {
    Visit::to_dist().sized(820, 1180).run("barriers_tablet", async |page| {
        let planner = Planner::up(page).await;
        let mut found = Vec::new();
        for theme in ["light", "dark"] {
            planner.theme(theme).await;
            look(&planner, &format!("tablet, {theme}"), &mut found).await;
        }
        planner.click("file-menu").await;
        planner.click("file-new").await;
        planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
        for step in ["need", "layout", "slots", "returns", "fan", "findings"] {
            planner.click(&format!("step-{step}")).await;
            look(&planner, &format!("empty plan, {step}"), &mut found).await;
        }
        assert_none(found);
    });
}
