//! The main job on the demonstration plan, its figures beside the engine's own.

use engine::analysis::Analysis;
use engine::design::{even_out, find_speed, set_returns};
use engine::plan::{Plan, Section, file};
use tests::browser::{PATIENCE, Visit};

use crate::planner::{DEMO, Planner, example};

fn duct<'a>(plan: &'a mut Plan, id: &str) -> &'a mut engine::plan::Duct {
    plan.ducts.iter_mut().find(|duct| duct.id == id).unwrap()
}

fn assert_in_steps(plan: &Plan, analysis: &Analysis) {
    assert_eq!(plan.shop.width_increment_m, 0.0005);
    for slot in &analysis.slots {
        let steps = slot.width_mm / 0.5;
        assert!((steps - steps.round()).abs() < 1e-9, "{} is {} mm wide", slot.id, slot.width_mm);
    }
}

#[test]
fn the_demonstration_is_evened_out_and_every_step_can_be_taken_back() {
    Visit::to_dist().run("evening_out", async |page| {
        let planner = Planner::up(page).await;
        // The demonstration's slides are set already.
        let mut uneven = example(DEMO);
        uneven.returns.iter_mut().for_each(|opening| opening.open_m = 0.2);
        planner.pick("slides-alike.evenrise.json", &file::write(&uneven)).await;
        let before = planner.shows(&uneven).await;
        assert!(before.evenness.worst_percent > 15.0, "{}", before.evenness.worst_percent);
        assert_eq!(planner.plan().await, uneven);

        planner.compute("set-returns", "Set returns").await;
        let returns = set_returns(&uneven).unwrap().plan;
        planner.shows(&returns).await;
        assert_eq!(planner.plan().await, returns);

        planner.compute("even-out", "Even out").await;
        let even = even_out(&returns).unwrap().plan;
        let after = planner.shows(&even).await;
        assert!(after.evenness.worst_percent <= 5.0, "{}", after.evenness.worst_percent);
        assert!(after.fan.stall_margin_percent > 0.0);
        assert!((after.total_flow_kg_s / after.required_flow_kg_s - 1.0).abs() <= 0.02);
        assert_in_steps(&even, &after);
        assert_eq!(planner.plan().await, even);

        // What the card lists is what the engine cut.
        planner.select("slots", "slots-cure-1").await;
        let row = even.slot_rows.iter().find(|row| row.id == "slots-cure-1").unwrap();
        for (slot, width) in row.widths_m.iter().enumerate() {
            let shown = planner.number(&format!("card-slot-{}-width", slot + 1)).await;
            assert_eq!(shown, Some(*width), "slot {}", slot + 1);
        }

        planner.undo("Even out").await;
        planner.shows(&returns).await;
        assert_eq!(planner.plan().await, returns);
        planner.undo("Set returns").await;
        planner.can_undo(Some("Open slides-alike.evenrise.json")).await;
        planner.shows(&uneven).await;
        assert_eq!(planner.plan().await, uneven);
        planner.redo("Set returns").await;
        planner.redo("Even out").await;
        planner.shows(&even).await;
        assert_eq!(planner.plan().await, even);
    });
}

#[test]
fn the_end_of_a_run_is_dragged_and_the_figures_follow_the_hand() {
    Visit::to_dist().run("drag", async |page| {
        let planner = Planner::up(page).await;
        let before = example(DEMO);
        planner.select("layout", "cure-2").await;
        assert_eq!(planner.number("card-length").await, Some(25.4 - 11.0));
        let (from, to) = (planner.on_board(25.4, 3.19).await, planner.on_board(24.0, 3.19).await);
        planner.grab(from, to).await;

        // Still held: length, drawing and calculation have moved along.
        let mut shorter = before.clone();
        duct(&mut shorter, "cure-2").path[1].x_m = 24.0;
        planner
            .page
            .wait_for("the run is 13 m long", PATIENCE, async || {
                planner.number("card-length").await == Some(13.0)
            })
            .await;
        planner.shows(&shorter).await;
        planner.page.screenshot("held").await;

        planner.let_go().await;
        planner.can_undo(Some("Move duct end")).await;
        assert_eq!(planner.plan().await, shorter);
        planner.undo("Move duct end").await;
        planner.can_undo(None).await;
        planner.shows(&before).await;
        assert_eq!(planner.plan().await, before);
    });
}

#[test]
fn a_duct_size_and_the_fan_speed_are_changed_and_the_speed_is_found() {
    Visit::to_dist().run("sizes", async |page| {
        let planner = Planner::up(page).await;
        let mut plan = example(DEMO);
        planner.select("layout", "dry-1").await;
        // Typed as the trade writes it, whatever the page shows.
        planner.set("card-width", "16 in", 0.4064).await;
        duct(&mut plan, "dry-1").section = Section::Rectangular { width_m: 0.4064, height_m: 0.4 };
        planner.can_undo(Some("Change dry-1")).await;
        planner.shows(&plan).await;

        planner.set("fan-speed", "1250", 1250.0).await;
        plan.heater.fan.speed_rpm = 1250.0;
        planner.can_undo(Some("Change fan speed")).await;
        planner.shows(&plan).await;

        planner.compute("find-speed", "Find speed").await;
        let found = find_speed(&plan).unwrap().plan;
        let after = planner.shows(&found).await;
        assert!((after.total_flow_kg_s / after.required_flow_kg_s - 1.0).abs() <= 1e-3);
        assert_eq!(planner.number("fan-speed").await, Some(found.heater.fan.speed_rpm));
        assert_eq!(planner.plan().await, found);
    });
}

#[test]
fn other_units_change_what_is_read_and_nothing_that_is_stored() {
    Visit::to_dist().run("units", async |page| {
        let planner = Planner::up(page).await;
        planner.select("layout", "cure-1").await;
        let stored = planner.saved_text().await;
        let (bits, flow) = (planner.fingerprint().await, planner.text("tally-flow").await);
        let width =
            planner.page.eval("return document.querySelector('[data-testid=card-width]').value", &[]).await;
        assert!(flow.ends_with("kg/s"), "{flow}");
        assert_eq!(width, "500");

        planner.click("units").await;
        planner.says("units", &["in-lb"]).await;
        assert!(planner.text("tally-flow").await.ends_with("lb/h"), "{}", planner.text("tally-flow").await);
        let width =
            planner.page.eval("return document.querySelector('[data-testid=card-width]').value", &[]).await;
        assert_eq!(width, "19.685");
        // Going through a field by the keyboard is no change.
        planner.enter("card-width", "19.685").await;
        assert_eq!(planner.number("card-width").await, Some(0.5));
        assert_eq!(planner.fingerprint().await, bits);
        assert_eq!(planner.saved_text().await, stored);
        planner.can_undo(None).await;

        planner.click("units").await;
        planner.says("units", &["SI"]).await;
        assert_eq!(planner.text("tally-flow").await, flow);
        assert_eq!(planner.saved_text().await, stored);
    });
}

#[test]
fn a_plan_is_saved_to_a_file_and_opened_again() {
    Visit::to_dist().run("file", async |page| {
        let planner = Planner::up(page).await;
        planner.set("fan-speed", "1300", 1300.0).await;
        let (text, bits) = (planner.saved_text().await, planner.fingerprint().await);
        planner.says("saved", &["saved to file"]).await;

        planner.click("file-menu").await;
        planner.click("file-new").await;
        planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
        planner.open("again.evenrise.json", &text).await;
        assert_eq!(planner.fingerprint().await, bits);
        assert_eq!(planner.saved_text().await, text);
        // Opening pushes nothing out.
        planner.click("undo").await;
        planner.says("status", &["Undone: Open again.evenrise.json"]).await;
        planner.undo("Begin a new plan").await;
        assert_eq!(planner.saved_text().await, text);
    });
}

#[test]
fn after_a_reload_everything_is_as_it_was() {
    Visit::to_dist().run("reload", async |page| {
        let planner = Planner::up(page).await;
        planner.click("units").await;
        planner.says("units", &["in-lb"]).await;
        planner.compute("even-out", "Even out").await;
        planner.enter("plan-name", "Gates, second line").await;
        planner.can_undo(Some("Name the plan")).await;
        planner.says("saved", &["kept in this browser"]).await;
        let (text, bits) = (planner.saved_text().await, planner.fingerprint().await);

        planner.page.reload().await;
        planner.calculated().await;
        assert_eq!(planner.fingerprint().await, bits);
        assert_eq!(planner.saved_text().await, text);
        assert_eq!(planner.text("units").await, "in-lb");
        assert_eq!(planner.page.client().title().await.unwrap(), "Gates, second line · Evenrise");
        planner.page.screenshot("again").await;
    });
}
