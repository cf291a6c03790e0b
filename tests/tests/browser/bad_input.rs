//! What cannot be a plan is refused with the item and the remedy, and what was there stays.

use engine::plan::file;
use serde_json::{Value, json};
use tests::browser::{PATIENCE, Visit};

use crate::planner::{DEMO, Planner, css, example, example_text};

/// The demonstration with something wrong.
fn broken(change: impl FnOnce(&mut Value)) -> String {
    let mut plan: Value = serde_json::from_str(&example_text(DEMO)).unwrap();
    change(&mut plan);
    plan.to_string()
}

#[test]
fn a_broken_file_is_refused_by_name_and_the_plan_stays() {
    Visit::to_dist().run("bad_file", async |page| {
        let planner = Planner::up(page).await;
        planner.set("fan-speed", "1180", 1180.0).await;
        let (text, bits) = (planner.saved_text().await, planner.fingerprint().await);
        let half = &example_text(DEMO)[..400];
        let nan = example_text(DEMO).replacen("\"height_m\": 2.9", "\"height_m\": NaN", 1);
        let huge = example_text(DEMO).replacen("\"height_m\": 2.9", "\"height_m\": 1e999", 1);
        assert!(nan.contains("NaN") && huge.contains("1e999"));
        let cases: [(&str, String, &[&str]); 8] = [
            ("half", half.to_owned(), &["line", "JSON"]),
            ("letter", "Dear all,".to_owned(), &["JSON"]),
            ("nan", nan, &["line", "JSON"]),
            ("huge", huge, &["number"]),
            ("list", "[]".to_owned(), &["not an oven plan", "evenrise-plan"]),
            (
                "no-path",
                broken(|plan| drop(plan["ducts"][2].as_object_mut().unwrap().remove("path"))),
                &["cure-1", "path", "add the field"],
            ),
            (
                "negative",
                broken(|plan| plan["ducts"][2]["section"]["width_m"] = json!(-0.4)),
                &["cure-1", "width_m", "above zero"],
            ),
            (
                "loose",
                broken(|plan| plan["ducts"][2]["path"][0]["y_m"] = json!(0.3)),
                &["cure-1", "not connected", "trunk"],
            ),
        ];
        for (name, content, words) in cases {
            let name = format!("{name}.evenrise.json");
            planner.pick(&name, &content).await;
            let said = [&[name.as_str(), "was not opened", "The plan you had is as it was"], words].concat();
            planner.says("alert", &said).await;
            planner.can_undo(Some("Change fan speed")).await;
            assert_eq!(planner.fingerprint().await, bits, "{name}");
            assert_eq!(planner.saved_text().await, text, "{name}");
        }
    });
}

#[test]
fn an_unconnected_run_can_be_opened_all_the_same_and_mended() {
    Visit::to_dist().run("mended", async |page| {
        let planner = Planner::up(page).await;
        let loose = broken(|plan| plan["ducts"][2]["path"][0]["y_m"] = json!(0.3));
        planner.pick("loose.evenrise.json", &loose).await;
        planner.says("alert", &["cure-1", "not connected"]).await;
        planner.click("open-anyway").await;
        planner.says("alert", &["Not calculated", "cure-1", "not connected"]).await;
        assert_eq!(planner.plan().await, file::read(&loose).unwrap());
        // Figures of another plan must not stand beside this one.
        assert_eq!(planner.number("tally-worst").await, None);

        planner.click("step-layout").await;
        planner.click("dock-tables").await;
        planner.click("cure-1-select").await;
        planner.set("card-point-0-y", "4.11", 4.11).await;
        planner.calculated().await;
        planner.shows(&example(DEMO)).await;
    });
}

#[test]
fn a_field_refuses_what_is_no_size_and_says_why() {
    Visit::to_dist().run("bad_field", async |page| {
        let planner = Planner::up(page).await;
        let text = planner.saved_text().await;
        planner.select("layout", "cure-2").await;
        for (typed, words) in [
            ("-400", "−400 mm is too small"),
            ("NaN", "number"),
            ("0", "0 mm is too small"),
            ("wide", "number"),
            ("-1 in", "−25.4 mm is too small"),
        ] {
            planner.enter("card-width", typed).await;
            planner
                .page
                .wait_for(&format!("{typed} is refused"), PATIENCE, async || {
                    planner.attribute("card-width", "aria-invalid").await.as_deref() == Some("true")
                        && planner
                            .page
                            .text("#card-width-hint")
                            .await
                            .is_some_and(|said| said.contains(words))
                })
                .await;
            assert_eq!(planner.number("card-width").await, Some(0.5));
        }
        planner.page.screenshot("refused").await;
        // Escape brings back what stood there.
        let field = planner.page.find(&css("card-width")).await;
        field.send_keys("\u{e00c}").await.unwrap();
        planner.page.wait_until("document.querySelector('[data-testid=card-width]').value === '500'").await;
        planner.can_undo(None).await;
        assert_eq!(planner.saved_text().await, text);
    });
}
