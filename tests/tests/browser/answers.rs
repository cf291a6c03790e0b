//! Questions asked of the plan: their figures beside the engine's own, stopped, out of date, taken and undone.

use std::time::Duration;

use engine::analysis::analyse;
use engine::coverage::coverage;
use engine::design::{
    LevelBy, ToleranceSettings, fan_duty, fit_bench_pieces, fit_drive, level_runs, suggest_sections,
    tolerance,
};
use engine::plan::{Plan, Section, SlotModel, file};
use serde_json::json;
use tests::browser::Visit;

use crate::planner::{DEMO, Planner, css, example};

/// The example that searches go through fastest.
const SMALL: &str = "minimal.evenrise.json";
/// A search solves thousands of plans.
const SEARCH: Duration = Duration::from_secs(900);

impl Planner<'_> {
    /// Opens a question under the board.
    pub async fn question(&self, testid: &str) {
        self.click("dock-answers").await;
        self.click(&format!("open-{testid}")).await;
    }

    /// Asks the open question and waits for its answer.
    pub async fn ask(&self, testid: &str) {
        self.click(&format!("run-{testid}")).await;
        self.answered().await;
    }

    /// Waits until there is an answer about the plan as it stands.
    pub async fn answered(&self) {
        let there = "document.querySelector('[data-testid=sheet]')?.dataset.current === 'true' \
            && !document.querySelector('[data-testid=stop-answer]')";
        let script = format!("return Boolean({there});");
        self.page.wait_for("an answer", SEARCH, async || self.page.eval(&script, &[]).await == true).await;
        self.calculated().await;
    }

    /// The figure in a cell of the answer.
    pub async fn cell(&self, place: &str) -> f64 {
        self.number(place).await.unwrap_or_else(|| panic!("{place} holds no figure"))
    }

    /// Waits until a picture has more than one colour on it.
    pub async fn painted(&self, testid: &str) {
        let script = format!(
            "(() => {{ const canvas = document.querySelector('{}'); if (!canvas || !canvas.width) return false; \
                const bits = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data; \
                const seen = new Set(); \
                for (let i = 0; i < bits.length; i += 4) seen.add(bits[i] << 16 | bits[i + 1] << 8 | bits[i + 2]); \
                return seen.size > 5; }})()",
            css(testid)
        );
        self.page.wait_until(&script).await;
    }

    /// Saves a picture as an image; the bytes of the file.
    pub async fn saved_picture(&self, testid: &str) -> Vec<u8> {
        self.painted(testid).await;
        let script =
            "document.querySelector(arguments[0]).closest('figure').querySelector('.save-picture').click();";
        self.page.eval(script, &[css(testid).into()]).await;
        self.downloaded_bytes("png").await
    }

    /// Chooses one of the ways to ask.
    pub async fn choose(&self, testid: &str, index: usize) {
        let script = "const select = document.querySelector(arguments[0]); select.selectedIndex = arguments[1]; \
            select.dispatchEvent(new Event('change', { bubbles: true }));";
        self.page.eval(script, &[css(testid).into(), index.into()]).await;
    }
}

#[test]
fn how_even_as_built_is_the_engines_own_and_goes_out_of_date_with_the_plan() {
    Visit::to_dist().run("answers_as_built", async |page| {
        let planner = Planner::up(page).await;
        let study = tolerance(&example(DEMO), ToleranceSettings { samples: 200, seed: 1 }).unwrap();
        assert_eq!(planner.number("tally-p90").await, None);
        planner.question("as-built").await;
        planner.choose("as-built-choice", 1).await;
        planner.ask("as-built").await;
        for (row, of) in [
            (0, [study.nominal.worst_bay_percent, study.p50.worst_bay_percent, study.p90.worst_bay_percent]),
            (
                1,
                [
                    study.nominal.worst_slot_percent,
                    study.p50.worst_slot_percent,
                    study.p90.worst_slot_percent,
                ],
            ),
        ] {
            for (column, value) in of.into_iter().enumerate() {
                assert_eq!(planner.cell(&format!("as-built-0-{row}-{}", column + 1)).await, value);
            }
        }
        assert_eq!(planner.cell("as-built-1-0-1").await, study.inputs[0].bay_points);
        assert_eq!(
            planner.cell(&format!("as-built-2-{}-5", study.bays.len() - 1)).await,
            study.bays.last().unwrap().p90_percent
        );
        assert_eq!(planner.number("tally-p90").await, Some(study.p90.worst_bay_percent));
        planner.says("answer", &["computed, not measured", study.inputs[0].input.name()]).await;
        planner.page.screenshot("as-built").await;
        planner.can_undo(None).await;
        // The histogram has its numbers behind it and can be saved.
        let png = planner.saved_picture("as-built-picture").await;
        assert_eq!(&png[1..4], b"PNG");
        planner.click("next-for-p90").await;
        planner.page.find(&css("run-for-p90")).await;
        planner.question("as-built").await;

        planner.set("fan-speed", "1250", 1250.0).await;
        planner.says("answer", &["Out of date"]).await;
        assert_eq!(planner.number("tally-p90").await, None);
        assert_eq!(planner.attribute("sheet", "data-current").await.as_deref(), Some("false"));
        planner.undo("Change fan speed").await;
        assert_eq!(planner.attribute("sheet", "data-current").await.as_deref(), Some("true"));
        assert_eq!(planner.number("tally-p90").await, Some(study.p90.worst_bay_percent));
    });
}

#[test]
fn each_long_study_of_the_demonstration_shows_how_far_it_is_and_can_be_stopped() {
    Visit::to_dist().run("answers_stop_each", async |page| {
        let planner = Planner::up(page).await;
        for (testid, label) in [
            ("alternatives", "Find alternatives"),
            ("for-p90", "Even out for P90"),
            ("as-built", "How even as built"),
        ] {
            planner.question(testid).await;
            planner.click(&format!("run-{testid}")).await;
            // In one script, because the study may be quicker than the hand.
            let stop = "const found = (name) => document.querySelector(`[data-testid=${name}]`); \
                const stop = Number(found('progress')?.value) > 0 && found('stop-answer'); \
                if (stop) stop.click(); return Boolean(stop);";
            planner
                .page
                .wait_for("it tells how far it is", SEARCH, async || {
                    planner.page.eval(stop, &[]).await == true
                })
                .await;
            planner.says("status", &[label, "stopped; nothing was changed"]).await;
            planner.page.wait_until("!document.querySelector('[data-testid=progress]')").await;
            planner.can_undo(None).await;
        }
        planner.shows(&example(DEMO)).await;
    });
}

#[test]
fn a_long_search_shows_how_far_it_is_leaves_the_board_free_and_can_be_stopped() {
    Visit::to_dist().run("answers_stop", async |page| {
        let planner = Planner::up(page).await;
        let before = example(DEMO);
        planner.question("alternatives").await;
        planner.click("run-alternatives").await;
        planner.page.wait_until("Number(document.querySelector('[data-testid=progress]')?.value) > 0").await;
        // The figures follow the hand meanwhile.
        planner.set("fan-speed", "1250", 1250.0).await;
        let mut faster = before.clone();
        faster.heater.fan.speed_rpm = 1250.0;
        planner.shows(&faster).await;
        planner.page.screenshot("searching").await;
        planner.click("stop-answer").await;
        planner.says("status", &["Find alternatives: stopped"]).await;
        planner.page.wait_until("!document.querySelector('[data-testid=progress]')").await;
        planner.undo("Change fan speed").await;
        planner.shows(&before).await;
        planner.can_undo(None).await;
    });
}

#[test]
fn runs_are_levelled_sections_suggested_and_a_drive_fitted_each_in_one_step() {
    Visit::to_dist().run("answers_commands", async |page| {
        let planner = Planner::up(page).await;
        let before = example(DEMO);

        let levelled = level_runs(&before, LevelBy::Damper).unwrap();
        planner.question("level").await;
        planner.choose("level-choice", 1).await;
        planner.ask("level").await;
        planner.says("status", &["Level runs: worst slot", "shaft power"]).await;
        assert_eq!(planner.cell("level-0-0-1").await, levelled.spread_before_percent);
        assert_eq!(planner.cell("level-0-0-2").await, levelled.spread_after_percent);
        planner.shows(&levelled.designed.plan).await;
        assert_eq!(planner.plan().await, levelled.designed.plan);
        planner.undo("Level runs").await;
        assert_eq!(planner.plan().await, before);

        let budget = engine::design::Budget::Pressure { most_pa: 40.0 };
        planner.question("sections").await;
        planner.choose("sections-choice", 1).await;
        planner.set("sections-number", "40", 40.0).await;
        match suggest_sections(&before, budget) {
            Ok(sized) => {
                planner.ask("sections").await;
                assert_eq!(planner.cell("sections-0-1-2").await, sized.after.loss_pa);
                assert_eq!(planner.cell("sections-0-3-2").await, sized.after.steel_kg);
                assert_eq!(planner.plan().await, sized.designed.plan);
                planner.undo("Suggest sections").await;
            }
            Err(error) => {
                planner.click("run-sections").await;
                planner.says("no-answer", &[&error.to_string()]).await;
            }
        }

        let fitted = fit_drive(&before).unwrap();
        planner.question("drive").await;
        planner.ask("drive").await;
        planner.shows(&fitted.plan).await;
        assert_eq!(planner.plan().await, fitted.plan);

        let duty = fan_duty(&fitted.plan).unwrap();
        planner.question("duty").await;
        planner.ask("duty").await;
        for (row, point) in duty.points.iter().enumerate() {
            assert_eq!(planner.cell(&format!("duty-0-{row}-4")).await, point.stall_margin_percent);
        }
        assert_eq!(planner.cell("duty-1-0-1").await, duty.worst_margin_percent);
        planner.page.screenshot("fan").await;
    });
}

#[test]
fn what_a_command_cannot_do_is_said_with_a_remedy_and_changes_nothing() {
    Visit::to_dist().run("answers_refused", async |page| {
        let planner = Planner::up(page).await;
        let before = example(DEMO);
        let budget = engine::design::Budget::Pressure { most_pa: 0.1 };
        let error = suggest_sections(&before, budget).unwrap_err().to_string();
        planner.question("sections").await;
        planner.choose("sections-choice", 1).await;
        planner.set("sections-number", "0.1", 0.1).await;
        planner.click("run-sections").await;
        planner.says("alert", &["Suggest sections", &error]).await;
        planner.says("no-answer", &[&error]).await;
        planner.can_undo(None).await;
        assert_eq!(planner.plan().await, before);
    });
}

#[test]
fn air_at_the_parts_is_on_the_board_until_the_plan_changes() {
    Visit::to_dist().run("answers_coverage", async |page| {
        let planner = Planner::up(page).await;
        let before = example(DEMO);
        let found = coverage(&before, &analyse(&before).unwrap()).unwrap();
        planner.question("coverage").await;
        planner.ask("coverage").await;
        for (row, zone) in found.zones.iter().enumerate() {
            assert_eq!(planner.cell(&format!("coverage-0-{row}-1")).await, zone.mean_m_s);
            assert_eq!(planner.cell(&format!("coverage-0-{row}-4")).await, zone.cv_percent);
        }
        // The map is a picture of its own too, with the curve along the conveyor beside it.
        planner.painted("coverage-map").await;
        planner.painted("coverage-picture").await;
        let png = planner.saved_picture("coverage-map").await;
        assert_eq!(&png[1..4], b"PNG");
        let painted =
            "const board = document.querySelector('[data-testid=board]'); return board.toDataURL();";
        planner.frame().await;
        let plain = planner.page.eval(painted, &[]).await;
        planner.click("coverage-on-board").await;
        planner.says("coverage-legend", &["full colour"]).await;
        planner.frame().await;
        assert_ne!(planner.page.eval(painted, &[]).await, plain, "the map is not on the board");
        planner.page.screenshot("coverage").await;
        planner.set("fan-speed", "1250", 1250.0).await;
        planner.says("coverage-legend", &["out of date"]).await;
        planner.undo("Change fan speed").await;
        planner.says("coverage-legend", &["full colour"]).await;
    });
}

/// The demonstration with a bench piece whose readings are those of a straight run of ten slots under the
/// sharp-edged law.
fn with_piece() -> Plan {
    let mut bench = example(SMALL);
    let row = &mut bench.slot_rows[0];
    (row.first_station_m, row.pitch_m, row.count, row.length_m) = (1.0, 0.4, 10, 0.3);
    row.widths_m = vec![0.02];
    bench.models.slot = SlotModel::CrossFlowSharp;
    let duct = &mut bench.ducts.iter_mut().find(|duct| duct.id == bench.slot_rows[0].duct).unwrap();
    duct.section = Section::Rectangular { width_m: 0.35, height_m: 0.2 };
    duct.steps.clear();
    let solved = analyse(&bench).unwrap();
    let run = solved.runs.iter().find(|run| run.id == bench.slot_rows[0].duct).unwrap();
    let root = run.stations.iter().find(|station| station.station_m > 0.99).unwrap();
    let last = run.stations.last().unwrap();
    let zone_pa = solved.zones[0].pressure_pa;
    let over = solved.fan.density_kg_m3 * 0.02 * 0.3;
    let slot =
        |slot: usize| json!({ "slot": slot, "velocity_m_s": solved.slots[slot - 1].mass_flow_kg_s / over });
    let piece = json!({
        "id": "piece-1", "section": { "width_m": 0.35, "height_m": 0.2 }, "root_m": 0.0, "end_m": 0.5,
        "pitch_m": 0.4, "count": 10, "length_m": 0.3, "width_m": 0.02,
        "temperature_c": bench.heater.supply_temperature_c,
        "root_static_pa": root.static_pa - zone_pa, "end_static_pa": last.static_pa - zone_pa,
        "flow_m3_s": root.velocity_m_s * 0.35 * 0.2, "slots": [slot(1), slot(5), slot(10)],
    });
    let mut plan = example(DEMO);
    plan.bench_pieces.push(serde_json::from_value(piece).unwrap());
    plan
}

#[test]
fn a_bench_piece_is_entered_fitted_and_becomes_the_plans_law() {
    Visit::to_dist().run("answers_bench", async |page| {
        let planner = Planner::up(page).await;
        planner.question("bench").await;
        planner.click("run-bench").await;
        planner.says("no-answer", &["there is no bench piece"]).await;

        // One from nothing: every field is there to be typed in.
        planner.click("step-slots").await;
        planner.page.find(&format!("{} summary", css("fold-bench"))).await.click().await.unwrap();
        planner.click("panel-add-bench_pieces").await;
        planner.set("panel-bench_pieces-0-root_static_pa", "60", 60.0).await;
        planner.set("panel-bench_pieces-0-slots-1-velocity_m_s", "7.6", 7.6).await;
        planner.calculated().await;
        let typed = planner.plan().await;
        assert_eq!(typed.bench_pieces[0].root_static_pa, 60.0);
        assert_eq!(typed.bench_pieces[0].slots[1].velocity_m_s, 7.6);

        let before = with_piece();
        planner.open("piece.evenrise.json", &file::write(&before)).await;
        let fit = fit_bench_pieces(&before).unwrap();
        planner.question("bench").await;
        planner.ask("bench").await;
        for (row, law) in fit.laws.iter().enumerate() {
            assert_eq!(planner.cell(&format!("bench-0-{row}-1")).await, 100.0 * law.weight);
            assert_eq!(planner.cell(&format!("bench-0-{row}-2")).await, law.coefficient);
        }
        let settings = ToleranceSettings { samples: 200, seed: 1 };
        let narrowed = tolerance(&before, settings).unwrap();
        assert_eq!(planner.cell("bench-2-1-2").await, narrowed.p90.worst_bay_percent);
        assert!(planner.cell("bench-2-1-1").await > narrowed.p90.worst_bay_percent);
        planner.page.screenshot("bench").await;
        planner.click("take-bench-0").await;
        planner.says("status", &["is the plan now"]).await;
        planner.calculated().await;
        let taken = planner.plan().await;
        assert!((taken.models.regain - fit.laws[0].regain).abs() <= 5.1e-4);
        planner.shows(&taken).await;
        planner.undo(&format!("Take “the plan solved by {}”", fit.laws[0].law)).await;
        assert_eq!(planner.plan().await, before);
    });
}

#[test]
fn the_shop_record_says_how_slots_are_made_and_even_out_obeys() {
    Visit::to_dist().run("answers_shop", async |page| {
        let planner = Planner::up(page).await;
        planner.click("step-slots").await;
        planner.page.find(&format!("{} summary", css("fold-shop"))).await.click().await.unwrap();
        planner.set("panel-shop-max_patterns", "6", 6.0).await;
        planner.enter("panel-shop-duct_sizes_m-0", "400").await;
        planner.page.wait_until("document.querySelector('[data-testid=panel-shop-duct_sizes_m-1]')").await;
        planner.calculated().await;
        let asked = planner.plan().await;
        assert_eq!((asked.shop.max_patterns, asked.shop.duct_sizes_m.as_slice()), (Some(6), &[0.4][..]));
        planner.page.screenshot("shop").await;
        planner.compute("set-returns", "Set returns").await;
        let returns = engine::design::set_returns(&asked).unwrap();
        planner.click("dock-answers").await;
        for (row, found) in returns.after.returns.iter().enumerate() {
            assert_eq!(planner.cell(&format!("set-returns-0-{row}-1")).await, 1e-3 * found.opening_mm);
            assert_eq!(planner.cell(&format!("set-returns-0-{row}-7")).await, found.drop_pa);
        }
        planner.page.screenshot("returns").await;
        planner.compute("even-out", "Even out").await;
        let even = engine::design::even_out(&returns.plan).unwrap();
        planner.shows(&even.plan).await;
        let mut widths: Vec<_> = even.plan.slot_rows.iter().flat_map(|row| row.widths_m.clone()).collect();
        widths.sort_by(f64::total_cmp);
        widths.dedup();
        assert!(widths.len() <= 6, "{widths:?}");
    });
}

/// Nothing hangs over the side of the page, and what is asked can be reached, at `width` × `height`.
async fn fits(planner: &Planner<'_>, name: &str) {
    let script = "const answer = document.querySelector('.answer'); \
        const run = document.querySelector('[data-testid^=run-]').getBoundingClientRect(); \
        return [document.documentElement.scrollWidth - innerWidth, answer.getBoundingClientRect().right - innerWidth, \
            run.right - innerWidth];";
    let over = planner.page.eval(script, &[]).await;
    for value in over.as_array().unwrap() {
        assert!(value.as_f64().unwrap() <= 0.5, "{name} hangs over: {over}");
    }
    planner.page.screenshot(name).await;
}

async fn looks(planner: &Planner<'_>) {
    planner.question("as-built").await;
    planner.choose("as-built-choice", 1).await;
    planner.ask("as-built").await;
    fits(planner, "as-built").await;
    planner.theme("dark").await;
    planner.question("coverage").await;
    planner.ask("coverage").await;
    planner.click("coverage-on-board").await;
    fits(planner, "coverage").await;
    planner.question("duty").await;
    planner.ask("duty").await;
    fits(planner, "duty").await;
    planner.theme("light").await;
    planner.set("fan-speed", "1250", 1250.0).await;
    planner.question("as-built").await;
    fits(planner, "out-of-date").await;
}

#[test]
fn answers_fit_a_large_desk() {
    Visit::to_dist().sized(1440, 900).run("answers_desk", async |page| looks(&Planner::up(page).await).await);
}

#[test]
fn answers_fit_a_tablet_held_upright() {
    Visit::to_dist()
        .sized(820, 1180)
        .run("answers_tablet", async |page| looks(&Planner::up(page).await).await);
}
