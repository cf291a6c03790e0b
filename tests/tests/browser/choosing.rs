//! What is chosen between: methods and laws side by side, plans to take, targets, shop records.

use engine::design::{
    EvenTarget, Method, SLOT_LAWS, ToleranceSettings, alternatives, compare_courses, compare_levels,
    compare_slot_laws, even_out, even_out_p90, even_out_to, sheet_kg,
};
use engine::plan::{Plan, file, take_shop};
use tests::browser::Visit;

use crate::planner::{DEMO, Planner, example};

/// Another plan, with another shop record.
const OTHER: &str = "minimal.evenrise.json";

#[test]
fn slot_laws_and_course_methods_are_compared() {
    Visit::to_dist().run("answers_compared", async |page| {
        let planner = Planner::up(page).await;
        let before = example(DEMO);
        planner.question("laws").await;
        planner.ask("laws").await;
        for (row, under) in compare_slot_laws(&before).unwrap().iter().enumerate() {
            assert_eq!(
                planner.cell(&format!("laws-0-{row}-1")).await,
                under.evenness.worst_percent,
                "{}",
                under.law
            );
        }
        planner.question("courses").await;
        planner.ask("courses").await;
        for (column, course) in compare_courses(&before, 8.0).unwrap().iter().enumerate() {
            if let Some(cost) = &course.cost {
                assert_eq!(planner.cell(&format!("courses-0-6-{}", column + 1)).await, cost.steel_kg);
            }
        }
        planner.can_undo(None).await;
        planner.page.screenshot("courses").await;
        let course = compare_courses(&before, 8.0)
            .unwrap()
            .into_iter()
            .find(|course| course.method != Method::AsDrawn && course.refused.is_none())
            .expect("a method can be followed");
        planner.painted("drawn-courses-0").await;
        planner.click("take-courses-0").await;
        planner.says("status", &["is the plan now"]).await;
        assert_eq!(planner.plan().await, course.plan);
        let name = match course.method {
            Method::ConstantVelocity => "Constant velocity",
            Method::EqualFriction => "Equal friction",
            _ => "Static regain",
        };
        planner.undo(&format!("Take “{name}”")).await;

        planner.question("laws").await;
        planner.page.screenshot("laws").await;
        planner.click("take-laws-0").await;
        planner.says("status", &["is the plan now"]).await;
        let (name, law) = SLOT_LAWS.into_iter().find(|(_, law)| *law != before.models.slot).unwrap();
        let taken = planner.plan().await;
        assert_eq!(taken.models.slot, law);
        planner.undo(&format!("Take “{name}”")).await;
        assert_eq!(planner.plan().await, before);

        planner.question("level").await;
        planner.choose("level-choice", 3).await;
        planner.ask("level").await;
        let levels = compare_levels(&before).unwrap();
        let differ = levels.iter().any(|level| level.designed.plan.ducts != before.ducts);
        assert!(differ, "levels differ in their ducts");
        planner.painted("drawn-level-2").await;
        planner.page.screenshot("levels").await;
        planner.click("take-level-1").await;
        planner.says("status", &["is the plan now"]).await;
        assert_eq!(planner.plan().await, levels[1].designed.plan);
        planner.undo("Take “By run dampers”").await;
        assert_eq!(planner.plan().await, before);
    });
}

#[test]
fn three_plans_stand_side_by_side_and_one_is_taken() {
    Visit::to_dist().sized(1440, 900).run("answers_alternatives", async |page| {
        let planner = Planner::up(page).await;
        let before = planner.plan().await;
        let found = alternatives(&before, ToleranceSettings { samples: 100, seed: 1 }).unwrap();
        planner.question("alternatives").await;
        planner.ask("alternatives").await;
        for (column, one) in found.alternatives.iter().enumerate() {
            assert_eq!(planner.cell(&format!("alternatives-0-0-{}", column + 2)).await, sheet_kg(&one.plan));
            assert_eq!(planner.cell(&format!("alternatives-0-1-{}", column + 2)).await, one.fan_kwh_per_year);
            assert_eq!(planner.cell(&format!("alternatives-0-2-{}", column + 2)).await, one.p90_percent);
        }
        for (i, one) in found.alternatives.iter().enumerate() {
            planner.painted(&format!("drawn-alternatives-{i}")).await;
            let resized = one.plan.ducts.iter().zip(&before.ducts);
            let resized =
                resized.filter(|(now, was)| (&now.section, &now.steps) != (&was.section, &was.steps)).count();
            let words = if resized == 0 { "ducts as they are".to_owned() } else { format!("{resized} duct") };
            let label = planner.attribute(&format!("drawn-alternatives-{i}"), "aria-label").await.unwrap();
            assert!(label.contains(&words), "{label}: {resized}");
        }
        planner.page.screenshot("alternatives").await;
        planner.theme("dark").await;
        planner.page.screenshot("alternatives-dark").await;
        planner.theme("light").await;
        let last = found.alternatives.len() - 1;
        planner.click(&format!("take-alternatives-{last}")).await;
        planner.says("status", &["is the plan now"]).await;
        planner.shows(&found.alternatives[last].plan).await;
        assert_eq!(planner.plan().await, found.alternatives[last].plan);
        planner.says("answer", &["Out of date"]).await;
        planner.page.wait_until("document.querySelector('[data-testid=undo]').title.includes('Take')").await;
        planner.click("undo").await;
        planner.calculated().await;
        assert_eq!(planner.plan().await, before);
    });
}

#[test]
fn even_out_for_p90_is_one_step_with_both_figures() {
    Visit::to_dist().run("answers_p90", async |page| {
        let planner = Planner::up(page).await;
        let before = planner.plan().await;
        let done = even_out_p90(&before, None, ToleranceSettings { samples: 100, seed: 1 }).unwrap();
        planner.question("for-p90").await;
        planner.ask("for-p90").await;
        assert_eq!(planner.cell("for-p90-0-1-1").await, done.study_before.p90.worst_bay_percent);
        assert_eq!(planner.cell("for-p90-0-1-2").await, done.study_after.p90.worst_bay_percent);
        planner.shows(&done.plan).await;
        assert_eq!(planner.plan().await, done.plan);
        planner.undo("Even out for P90").await;
        assert_eq!(planner.plan().await, before);
    });
}

#[test]
fn a_shop_record_goes_from_plan_to_plan_and_undo_brings_back_the_own() {
    Visit::to_dist().run("answers_shop_file", async |page| {
        let planner = Planner::up(page).await;
        let before = planner.plan().await;
        planner.click("step-slots").await;
        // From another plan's file.
        let mut other = example(OTHER);
        other.shop.max_patterns = Some(4);
        other.shop.duct_sizes_m = vec![0.3, 0.4];
        planner.pick_for("shop-open", "other.evenrise.json", &file::write(&other)).await;
        planner.says("status", &["Shop record of other.evenrise.json taken"]).await;
        planner.calculated().await;
        let taken = planner.plan().await;
        assert_eq!(taken, Plan { shop: other.shop.clone(), ..before.clone() });
        // By itself, and from there.
        planner.click("shop-save").await;
        let record = planner.downloaded("json").await;
        assert_eq!(take_shop(&before, &record).unwrap().shop, other.shop);
        planner.says("status", &["Shop record saved to shop-record.json"]).await;
        planner.undo("Take shop record").await;
        assert_eq!(planner.plan().await, before);
        planner.pick_for("shop-open", "shop-record.json", &record).await;
        planner.says("status", &["Shop record of shop-record.json taken"]).await;
        planner.calculated().await;
        assert_eq!(planner.plan().await, taken);
        planner.page.screenshot("taken").await;
        // What is none is refused, with a remedy.
        planner.pick_for("shop-open", "photo.json", "{ \"format\": \"photo\" }").await;
        planner
            .says("alert", &["photo.json", "neither an oven plan nor a shop record", "Yours is as it was"])
            .await;
        assert_eq!(planner.plan().await, taken);
    });
}

#[test]
fn even_out_is_asked_for_equal_shares_or_equal_temperature() {
    Visit::to_dist().run("answers_target", async |page| {
        let planner = Planner::up(page).await;
        let before = planner.plan().await;
        planner.click("step-slots").await;
        planner.choose("panel-even-out-choice", 2).await;
        match even_out_to(&before, EvenTarget::Temperature) {
            Ok(even) => {
                planner.compute("even-out", "Even out").await;
                planner.shows(&even.plan).await;
                assert_eq!(planner.plan().await, even.plan);
                planner.click("dock-answers").await;
                let heat = even.after.heat.as_ref().expect("the demonstration has a load");
                assert_eq!(planner.cell("even-out-0-0-2").await, heat.worst.off_k);
                planner.page.screenshot("temperature").await;
                planner.undo("Even out").await;
            }
            Err(error) => {
                planner.click("even-out").await;
                planner.says("alert", &["Even out", &error.to_string()]).await;
            }
        }
        assert_eq!(planner.plan().await, before);
        planner.choose("panel-even-out-choice", 0).await;
        planner.compute("even-out", "Even out").await;
        planner.shows(&even_out(&before).unwrap().plan).await;
        planner.undo("Even out").await;
    });
}
