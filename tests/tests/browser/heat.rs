//! Heat on the page: the quote before the layout, zones and parts of a drawn oven, findings accepted.

use engine::design::FirstLayout;
use engine::heat::need::need;
use tests::browser::Visit;

use crate::planner::{Planner, css};

/// Unfolds a part of a card or panel.
async fn unfold(planner: &Planner<'_>, testid: &str) {
    let shut = format!("return !document.querySelector('{}').open;", css(testid));
    planner.page.find(&css(testid)).await;
    if planner.page.eval(&shut, &[]).await == true {
        planner.page.find(&format!("{} > summary", css(testid))).await.click().await.unwrap();
    }
}

/// Waits until the need shown is that of the plan shown.
async fn reckoned(planner: &Planner<'_>) {
    let script = "(() => { const need = document.querySelector('[data-testid=need]'); \
        const tally = document.querySelector('[data-testid=tally]'); \
        return need && need.dataset.generation === tally.dataset.generation; })()";
    planner.page.wait_until(script).await;
}

#[test]
fn a_list_of_parts_becomes_a_quote_and_the_quote_a_layout() {
    Visit::to_dist().sized(1440, 900).run("quote", async |page| {
        let planner = Planner::up(page).await;
        planner.click("file-menu").await;
        planner.click("file-new").await;
        planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
        planner.click("step-need").await;
        reckoned(&planner).await;
        planner.says("need-findings", &["part"]).await;
        planner.page.screenshot("empty").await;

        planner.click("panel-begin-enquiry").await;
        planner.set("panel-enquiry-speed_m_s", "2 m/min", 2.0 / 60.0).await;
        planner.click("panel-begin-load").await;
        for (i, mass) in [(0, 4.0), (1, 22.0)] {
            planner.click("panel-add-load-parts").await;
            planner.set(&format!("panel-load-parts-{i}-kg_per_m"), &format!("{mass}"), mass).await;
        }
        unfold(&planner, "fold-coating").await;
        planner.click("panel-begin-coating").await;
        planner.page.find(&css("panel-coating-cure_points-1-minutes")).await;
        reckoned(&planner).await;
        let plan = planner.plan().await;
        let native = need(&plan);
        let quote = native.need.as_ref().expect("there is a quote");
        let length = quote.zones.iter().map(|zone| zone.length_m).sum::<f64>();
        for (testid, value) in [
            ("need-length", length),
            ("need-air", quote.air_kg_s),
            ("need-fan", quote.fan.flow_m3_s),
            ("need-motor", quote.fan.motor_w),
            ("need-burner", quote.burner.rated_w),
            ("need-exhaust", quote.exhaust_kg_s),
        ] {
            assert_eq!(planner.number(testid).await, Some(value), "{testid}");
        }
        planner.says("need-parts", &["part-1", "part-2"]).await;
        planner.says("need-balance", &["Parts", "Exhaust", "All together"]).await;
        planner.page.screenshot("quoted").await;

        // The layout is one step, and the page calculates it as it would any other.
        planner.click("propose").await;
        planner.says("status", &["Propose a first layout: worst slot"]).await;
        let mut native = FirstLayout::new(&plan, true).unwrap();
        while !native.step().complete() {}
        let proposed = native.finish().plan;
        assert_eq!(planner.plan().await, proposed);
        planner.shows(&proposed).await;
        planner.page.screenshot("proposed").await;
        planner.can_undo(Some("Propose a first layout")).await;
        planner.click("undo").await;
        planner.says("status", &["Undone: Propose a first layout"]).await;
        assert_eq!(planner.plan().await, plan);
        // What the parts are is taken back step by step too.
        planner.can_undo(Some("Change coating")).await;
        planner.click("undo").await;
        planner.says("status", &["Undone: Change coating"]).await;
        assert_eq!(planner.plan().await.coating, None);
    });
}

#[test]
fn zones_dampers_and_parts_of_the_demonstration_are_shown_as_the_engine_has_them() {
    Visit::to_dist().sized(1440, 900).run("zones", async |page| {
        let planner = Planner::up(page).await;
        planner.click("step-fan").await;
        planner.click("dock-heat").await;
        let plan = planner.plan().await;
        let native = planner.shows(&plan).await;
        let heat = native.heat.as_ref().expect("the demonstration has a load");
        assert_eq!(planner.number("tally-bay").await, Some(heat.worst.off_k));
        assert_eq!(planner.number("heat-burner").await, Some(heat.burner_w));
        let rows = "return document.querySelectorAll('[data-testid=heat-bays] tbody tr').length;";
        assert_eq!(planner.page.eval(rows, &[]).await, heat.bays.len());
        planner.says("legend-bays", &["off set"]).await;
        planner.page.find(&css("damper-travel")).await;
        planner.page.find(&css("part-temperature")).await;
        planner.frame().await;
        planner.page.screenshot("fan").await;
        let down =
            "document.querySelector('[data-testid=heat-sheet]').parentElement.scrollTop = 330; return true;";
        planner.page.eval(down, &[]).await;
        planner.frame().await;
        planner.page.screenshot("pictures").await;

        // An edit does not wait for the travel that is being reckoned.
        planner.set("fan-speed", "1080", 1080.0).await;
        planner.set("fan-speed", "1060", 1060.0).await;
        planner.calculated().await;
        planner.shows(&planner.plan().await).await;
    });
}

#[test]
fn a_sensor_and_a_panel_are_entered_on_cards() {
    Visit::to_dist().sized(1440, 900).run("cards", async |page| {
        let planner = Planner::up(page).await;
        planner.click("step-layout").await;
        planner.click("panel-enclosure").await;
        unfold(&planner, "fold-floor").await;
        let begun = planner.plan().await.enclosure.panels.and_then(|panels| panels.floor).is_some();
        if !begun {
            planner.click("card-begin-enclosure-panels-floor").await;
        }
        planner.set("card-enclosure-panels-floor-insulation_m", "6 in", 0.1524).await;
        planner.page.screenshot("floor").await;
        planner.undo("Change floor").await;
        // Out of bounds is refused with the bound.
        planner.enter("card-enclosure-panels-floor-duty_percent", "130").await;
        planner.page.wait_until("document.querySelector('[data-testid=card-enclosure-panels-floor-duty_percent][aria-invalid=true]')").await;

        planner.click("step-fan").await;
        let before = planner.plan().await.sensors.len();
        planner.click("panel-add-sensor").await;
        planner.says("card", &["Stands for"]).await;
        assert_eq!(planner.plan().await.sensors.len(), before + 1);
        planner.page.screenshot("sensor").await;
        planner.undo("Add sensor").await;
        assert_eq!(planner.plan().await.sensors.len(), before);
    });
}

#[test]
fn a_finding_is_accepted_with_a_reason_that_stays_beside_it() {
    Visit::to_dist().sized(1280, 800).run("accepted", async |page| {
        let planner = Planner::up(page).await;
        planner.click("step-findings").await;
        let open = planner.number("tally-findings").await.expect("findings are counted");
        let plan = planner.plan().await;
        let native = planner.shows(&plan).await;
        let finding =
            native.findings.iter().find(|finding| finding.severity > engine::finding::Severity::Note);
        let id = finding.expect("something is found").id.clone();
        planner.click(&format!("accept-{id}")).await;
        planner.enter(&format!("reason-{id}"), "Agreed with the owner").await;
        planner.says(&format!("accepted-{id}"), &["Agreed with the owner"]).await;
        planner.calculated().await;
        assert_eq!(planner.number("tally-findings").await, Some(open - 1.0));
        let plan_now = planner.plan().await;
        assert_eq!(plan_now.accepted.last().expect("it is kept").reason, "Agreed with the owner");
        planner.page.screenshot("accepted").await;
        planner.click(&format!("take-back-{id}")).await;
        planner.calculated().await;
        assert_eq!(planner.number("tally-findings").await, Some(open));
        assert_eq!(planner.plan().await, plan);
        planner.undo("Change accepted findings").await;
        planner.says(&format!("accepted-{id}"), &["Agreed with the owner"]).await;
    });
}

#[test]
fn the_new_screens_are_looked_at() {
    for (width, height) in [(1280, 800), (820, 1180)] {
        Visit::to_dist().sized(width, height).run(&format!("heat_{width}"), async |page| {
            let planner = Planner::up(page).await;
            for theme in ["light", "dark"] {
                planner.theme(theme).await;
                for step in ["need", "fan"] {
                    planner.click(&format!("step-{step}")).await;
                    planner.click("dock-heat").await;
                    planner.page.find(&css("heat-goes")).await;
                    planner.frame().await;
                    planner.page.screenshot(&format!("{step}-{theme}")).await;
                    // Nothing pushes the page wider than the window.
                    let wide = "return document.documentElement.scrollWidth <= window.innerWidth;";
                    assert_eq!(planner.page.eval(wide, &[]).await, true, "{step} at {width}");
                }
            }
        });
    }
}
