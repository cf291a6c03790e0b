//! What is being typed, chosen or dragged while the page goes on; where the keyboard goes.

use engine::plan::file;
use fantoccini::actions::{InputSource, KeyAction, KeyActions};
use tests::browser::Visit;

use crate::planner::{ENTER, Planner, css};

const CTRL: &str = "\u{e009}";
const UP: char = '\u{e013}';

/// What stands in a field.
async fn value(planner: &Planner<'_>, testid: &str) -> String {
    let script = "return document.querySelector(arguments[0]).value;";
    planner.page.eval(script, &[css(testid).into()]).await.as_str().unwrap_or_default().to_owned()
}

/// Has the page drawn anew, without a hand that takes the keyboard away.
async fn drawn_anew(planner: &Planner<'_>) {
    let script = "const units = document.querySelector('[data-testid=units]'); \
        window.was = units.textContent; units.click(); return true;";
    planner.page.eval(script, &[]).await;
    planner.page.wait_until("document.querySelector('[data-testid=units]').textContent !== window.was").await;
}

#[test]
fn what_is_typed_stays_while_the_page_is_drawn_and_is_saved_by_its_key() {
    Visit::to_dist().run("typing", async |page| {
        let planner = Planner::up(page).await;
        planner.select("layout", "cure-2").await;
        planner.click("step-need").await;
        for testid in ["plan-name", "card-name", "card-id", "notes"] {
            let field = planner.page.find(&css(testid)).await;
            let before = value(&planner, testid).await;
            field.send_keys("x").await.unwrap();
            drawn_anew(&planner).await;
            field.send_keys("y").await.unwrap();
            assert_eq!(value(&planner, testid).await, format!("{before}xy"), "{testid}");
        }
        let field = planner.page.find(&css("notes")).await;
        field.send_keys(&format!("z{CTRL}s")).await.unwrap();
        let saved = file::read(&planner.downloaded("json").await).unwrap();
        let duct = saved.ducts.iter().find(|duct| duct.id == "cure-2xy").expect("it has its new name");
        for words in [&saved.name, &duct.name, saved.notes.trim_end_matches('z')] {
            assert!(words.ends_with("xy"), "{words}");
        }
        assert!(saved.notes.ends_with('z'));
    });
}

#[test]
fn a_list_shows_what_the_plan_has_after_undo() {
    Visit::to_dist().run("list", async |page| {
        let planner = Planner::up(page).await;
        planner.select("layout", "cure-2").await;
        let list = planner.page.find(&css("card-shape")).await;
        list.select_by_index(1).await.unwrap();
        planner.page.wait_until("document.querySelector('[data-testid=card-diameter]')").await;
        // The list has the keyboard, and nothing is typed in it.
        list.send_keys(&format!("{CTRL}z")).await.unwrap();
        planner.page.wait_until("document.querySelector('[data-testid=card-width]')").await;
        planner
            .page
            .wait_until("document.querySelector('[data-testid=card-shape]').selectedIndex === 0")
            .await;
    });
}

#[test]
fn a_key_held_on_the_strip_and_a_slider_that_comes_back_leave_no_open_step() {
    Visit::to_dist().run("open_steps", async |page| {
        let planner = Planner::up(page).await;
        planner.select("slots", "slots-cure-1").await;
        planner.click("dock-strip").await;
        planner.page.find(&css("strip-canvas")).await;
        let focus = "document.querySelector('[data-testid=strip-canvas]').focus(); return true;";
        for away in ["dock-tables", "plan-name"] {
            planner.click("dock-strip").await;
            planner.page.eval(focus, &[]).await;
            let hold = KeyActions::new("keys".to_owned()).then(KeyAction::Down { value: UP });
            planner.page.client().perform_actions(hold).await.unwrap();
            planner.click(away).await;
            planner.can_undo(Some("Duct height")).await;
            let up = KeyActions::new("keys".to_owned()).then(KeyAction::Up { value: UP });
            planner.page.client().perform_actions(up).await.unwrap();
            planner.undo("Duct height").await;
        }
        planner.can_undo(None).await;
        let slide = "const slider = document.querySelector('[data-testid=fan-speed-slider]'); \
            const was = slider.valueAsNumber; \
            for (const rpm of [was + 5, was]) { slider.value = rpm; slider.dispatchEvent(new Event('input', { bubbles: true })); } \
            slider.dispatchEvent(new PointerEvent('pointerup', { bubbles: true })); return true;";
        planner.page.eval(slide, &[]).await;
        planner.set("fan-speed", "1300", 1300.0).await;
        planner.can_undo(Some("Change fan speed")).await;
    });
}

#[test]
fn the_keyboard_keeps_its_place() {
    Visit::to_dist().run("focus", async |page| {
        let planner = Planner::up(page).await;
        let on = async |selector: &str| {
            planner.page.wait_until(&format!("document.activeElement.matches('{selector}')")).await;
        };
        planner.select("layout", "cure-2").await;
        planner.press("cure-2-delete").await;
        planner.page.wait_until("!document.querySelector('[data-testid=row-cure-2]')").await;
        on("[data-testid=tables] tr *").await;

        planner.click("cure-1-select").await;
        let name = planner.page.find(&css("card-id")).await;
        name.send_keys(&format!("-new{ENTER}")).await.unwrap();
        planner.page.find("[data-testid=card][aria-label$=\"cure-1-new\"]").await;
        on("[data-testid=card-id]").await;
        planner.press("delete-selection").await;
        on("[data-testid=board]").await;

        planner.press("file-menu").await;
        planner.press("file-link").await;
        planner.page.client().active_element().await.unwrap().send_keys("\u{e00c}").await.unwrap();
        on("[data-testid=file-menu]").await;

        planner.press("step-findings").await;
        let accept = planner.page.find(".findings button.accept").await;
        let testid = accept.attr("data-testid").await.unwrap().unwrap();
        planner.press(&testid).await;
        on(".findings input").await;
        planner
            .page
            .client()
            .active_element()
            .await
            .unwrap()
            .send_keys(&format!("Known.{ENTER}"))
            .await
            .unwrap();
        planner.page.wait_until("document.querySelector('.accepted')").await;
        on(".findings button").await;

        planner.press("keys").await;
        on("[data-testid=keys-close]").await;
        planner.page.client().active_element().await.unwrap().send_keys("\u{e004}").await.unwrap();
        on(".keys-lists").await;
        planner.page.client().active_element().await.unwrap().send_keys("\u{e004}").await.unwrap();
        on("[data-testid=keys-close]").await;
    });
}
