//! From an empty plan to an evened-out oven by cards, tables and keyboard alone.

use engine::design::{even_out, set_returns};
use tests::browser::Visit;

use crate::planner::Planner;

#[test]
fn an_oven_is_made_from_nothing_by_the_keyboard() {
    Visit::to_dist().run("from_nothing", async |page| {
        let planner = Planner::up(page).await;
        planner.press("file-menu").await;
        planner.press("file-new").await;
        planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
        planner.says("to-do", &["the enclosure"]).await;
        planner.enter("plan-name", "Chair line").await;

        // Enclosure, zone and opening.
        planner.press("panel-need-enclosure").await;
        planner.set("card-length", "14", 14.0).await;
        planner.set("card-height", "3.2", 3.2).await;
        planner.press("panel-need-zone").await;
        planner.press("dock-tables").await;
        planner.set("zone-1-temperature", "185", 185.0).await;
        planner.press("panel-add-opening").await;
        planner.set("opening-1-width", "900 mm", 0.9).await;

        // Fan.
        planner.press("panel-need-fan").await;
        planner.press("panel-start-curve").await;
        planner.set("panel-supply-temperature", "205", 205.0).await;

        // Trunk and four runs.
        planner.press("step-layout").await;
        planner.press("panel-need-trunk").await;
        planner.set("trunk-1-width", "700", 0.7).await;
        for run in 1..=4 {
            planner.press("panel-add-run").await;
            planner.set(&format!("run-{run}-width"), "450", 0.45).await;
        }
        planner.says("card", &["trunk-1 at"]).await;

        // Slots on each run.
        planner.press("step-slots").await;
        for run in 1..=4 {
            planner.press(&format!("panel-add-slots-run-{run}")).await;
            planner.set(&format!("slots-run-{run}-1-length"), "320", 0.32).await;
        }

        // The way back.
        planner.press("step-layout").await;
        planner.press("panel-add-return-duct").await;
        planner.press("step-returns").await;
        for number in 1..=3 {
            planner.press("panel-add-return-return-duct-1").await;
            planner.set(&format!("return-{number}-open"), "250", 0.25).await;
        }
        planner.press("step-need").await;
        planner.set("panel-required-flow", "1.15", 1.15).await;
        planner.calculated().await;
        let begun = planner.plan().await;
        assert_eq!((begun.ducts.len(), begun.slot_rows.len(), begun.returns.len()), (6, 4, 3));
        let before = planner.shows(&begun).await;
        println!("begun: worst {:.1} %, {:.3} kg/s", before.evenness.worst_percent, before.total_flow_kg_s);

        planner.press("set-returns").await;
        planner.says("status", &["Set returns: worst slot"]).await;
        let returns = set_returns(&begun).unwrap().plan;
        planner.press("even-out").await;
        planner.says("status", &["Even out: worst slot"]).await;
        let even = even_out(&returns).unwrap().plan;
        let after = planner.shows(&even).await;
        println!("made: worst {:.1} %, {:.3} kg/s", after.evenness.worst_percent, after.total_flow_kg_s);
        assert!(before.evenness.worst_percent > 5.0);
        assert!(after.evenness.worst_percent <= 5.0, "{}", after.evenness.worst_percent);
        assert_eq!(planner.plan().await, even);
        planner.page.screenshot("made").await;
    });
}

#[test]
fn items_are_deleted_with_what_hangs_on_them_and_brought_back() {
    Visit::to_dist().run("delete", async |page| {
        let planner = Planner::up(page).await;
        let whole = planner.plan().await;
        planner.press("step-layout").await;
        planner.press("dock-tables").await;

        // In the table: a run goes with its slots.
        planner.press("cure-6-delete").await;
        planner.can_undo(Some("Delete cure-6")).await;
        let mut less = whole.clone();
        less.ducts.retain(|duct| duct.id != "cure-6");
        less.slot_rows.retain(|row| row.duct != "cure-6");
        planner.shows(&less).await;
        assert_eq!(planner.plan().await, less);

        // On the card: a slot row.
        planner.press("step-slots").await;
        planner.press("slots-dry-4-select").await;
        planner.press("card-delete").await;
        planner.can_undo(Some("Delete slots-dry-4")).await;
        less.slot_rows.retain(|row| row.id != "slots-dry-4");
        planner.shows(&less).await;

        // By the key: a return.
        planner.press("step-returns").await;
        planner.press("return-2-select").await;
        planner.page.client().active_element().await.unwrap().send_keys("\u{e017}").await.unwrap();
        planner.can_undo(Some("Delete return-2")).await;
        less.returns.retain(|opening| opening.id != "return-2");
        planner.shows(&less).await;
        assert_eq!(planner.plan().await, less);

        for id in ["return-2", "slots-dry-4", "cure-6"] {
            planner.undo(&format!("Delete {id}")).await;
        }
        planner.shows(&whole).await;
        assert_eq!(planner.plan().await, whole);
    });
}
