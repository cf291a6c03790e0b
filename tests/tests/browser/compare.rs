//! A kept version beside the plan; pictures saved as images; first hints; printing.

use engine::analysis::analyse;
use engine::design::even_out;
use serde_json::json;
use tests::browser::Visit;

use crate::planner::{DEMO, Planner, example};

/// How many pixels of a canvas are of other colours than `before`'s, having kept it first.
const SAME: &str = "const now = document.querySelector(arguments[0]).toDataURL(); \
    const same = window.keptPicture === now; window.keptPicture = now; return same;";

#[test]
fn figures_strip_chart_and_board_show_the_kept_version_beside_the_new_one() {
    Visit::to_dist().sized(1440, 900).run("compare", async |page| {
        let planner = Planner::up(page).await;
        let uneven = example(DEMO);
        let before = analyse(&uneven).unwrap();
        planner.select("slots", "slots-cure-1").await;
        planner.click("dock-strip").await;
        planner.click("keep-before").await;
        planner.compute("even-out", "Even out").await;
        planner.shows(&even_out(&uneven).unwrap().plan).await;
        assert_eq!(planner.number("tally-worst-before").await, Some(before.evenness.worst_percent));
        assert_eq!(planner.number("tally-power-before").await, Some(before.fan.shaft_power_w));
        planner.click("step-fan").await;
        planner.frame().await;
        planner.page.screenshot("beside").await;

        for canvas in ["[data-testid=strip-canvas]", "[data-testid=fan-chart]"] {
            planner.page.eval(SAME, &[canvas.into()]).await;
            planner.click("forget-before").await;
            planner.frame().await;
            assert_eq!(planner.page.eval(SAME, &[canvas.into()]).await, false, "{canvas} shows no ghost");
            planner.click("undo").await;
            planner.calculated().await;
            planner.click("keep-before").await;
            planner.click("redo").await;
            planner.calculated().await;
            planner.frame().await;
        }

        // On the board, to look at and not to change.
        let board = "[data-testid=board] canvas, canvas[data-testid=board]";
        planner.page.eval(SAME, &[board.into()]).await;
        planner.click("show-before").await;
        planner.frame().await;
        assert_eq!(planner.page.eval(SAME, &[board.into()]).await, false);
        planner.page.screenshot("board_before").await;
        let plan = planner.plan().await;
        let (from, to) = (planner.on_board(20.0, 4.0).await, planner.on_board(21.5, 4.0).await);
        planner.grab(from, to).await;
        planner.let_go().await;
        planner.says("as-before", &["Before"]).await;
        // What is selected is not in sight.
        planner.click("board-fit").await;
        planner.page.client().active_element().await.unwrap().send_keys("\u{e017}").await.unwrap();
        planner.says("alert", &["kept version"]).await;
        planner.click("keys").await;
        planner.click("keys-close").await;
        assert_eq!(planner.plan().await, plan);
        planner.click("show-before").await;
        planner.click("forget-before").await;
        planner.page.wait_until("!document.querySelector('[data-testid=tally-worst-before]')").await;
    });
}

#[test]
fn a_picture_is_saved_as_an_image_at_the_screens_resolution() {
    Visit::to_dist().run("picture", async |page| {
        let planner = Planner::up(page).await;
        let view = json!({ "width": 1280, "height": 800, "deviceScaleFactor": 2, "mobile": false });
        planner.page.devtools("Emulation.setDeviceMetricsOverride", view).await;
        planner.click("step-fan").await;
        planner.frame().await;
        let crisp = "(() => { const c = document.querySelector('[data-testid=fan-chart]'); \
            return c && c.clientWidth > 0 && c.width === 2 * c.clientWidth; })()";
        planner.page.wait_until(crisp).await;
        let watch = "window.saved = null; document.addEventListener('click', (event) => { \
            if (event.target.tagName === 'A' && event.target.download) window.saved = [event.target.download, event.target.href]; }, true); \
            const own = HTMLAnchorElement.prototype.click; \
            HTMLAnchorElement.prototype.click = function () { window.saved = [this.download, this.href]; own.call(this); };";
        planner.page.eval(watch, &[]).await;
        planner.page.find(".fan-chart .save-picture").await.click().await.unwrap();
        planner.page.wait_until("window.saved").await;
        let saved = planner.page.eval("return window.saved", &[]).await;
        assert!(saved[0].as_str().unwrap().ends_with("fan-chart.png"), "{}", saved[0]);
        let size = "return new Promise((done) => { const image = new Image(); \
            image.onload = () => done([image.width, image.height]); image.src = window.saved[1]; });";
        let size = planner.page.eval(size, &[]).await;
        let width = planner.page.eval("return document.querySelector('[data-testid=fan-chart]').width", &[]).await;
        assert_eq!(size[0], width);
    });
}

#[test]
fn three_hints_are_shown_once() {
    Visit::to_dist().run("hints", async |page| {
        let planner = Planner::up(page).await;
        let hints = "return document.querySelectorAll('[data-testid=hints] li').length";
        assert_eq!(planner.page.eval(hints, &[]).await, 3);
        planner.page.screenshot("first").await;
        planner.press("hints-away").await;
        planner.page.wait_until("!document.querySelector('[data-testid=hints]')").await;
        planner.page.reload().await;
        planner.calculated().await;
        assert_eq!(planner.page.eval(hints, &[]).await, 0);
    });
}

#[test]
fn paper_has_the_findings_whatever_step_is_shown() {
    Visit::to_dist().run("print", async |page| {
        let planner = Planner::up(page).await;
        assert_eq!(planner.page.eval("return document.querySelector('.printed')", &[]).await, json!(null));
        let pdf = planner.page.devtools("Page.printToPDF", json!({ "printBackground": true })).await;
        let bytes = pdf["data"].as_str().unwrap();
        assert!(bytes.len() > 20_000, "{} letters of base64", bytes.len());
        std::fs::write(tests::golden::artefact("print.pdf.base64"), bytes).unwrap();
        planner.page.eval("window.dispatchEvent(new Event('beforeprint')); return true", &[]).await;
        planner.page.wait_until("document.querySelector('.printed .findings li')").await;
        let print = json!({ "media": "print" });
        planner.page.devtools("Emulation.setEmulatedMedia", print).await;
        // A finding on paper has its place, what to do, what it rests on, and why it was accepted.
        let found = analyse(&example(DEMO)).unwrap().findings;
        let words = planner.page.eval("return document.querySelector('.printed').innerText", &[]).await;
        let words = words.as_str().unwrap();
        for finding in &found {
            for word in finding.item.iter().chain(&finding.accepted).chain([&finding.basis]) {
                assert!(words.contains(word.trim()), "{}: {word}", finding.id);
            }
        }
        assert!(found.iter().any(|finding| finding.accepted.is_some()));
        let whole = json!({ "captureBeyondViewport": true });
        let png = planner.page.devtools("Page.captureScreenshot", whole).await;
        std::fs::write(tests::golden::artefact("print.png.base64"), png["data"].as_str().unwrap()).unwrap();
        planner.page.devtools("Emulation.setEmulatedMedia", json!({ "media": "" })).await;
        planner.page.eval("window.dispatchEvent(new Event('afterprint')); return true", &[]).await;
        planner.page.wait_until("!document.querySelector('.printed')").await;
    });
}

#[test]
fn text_twice_as_large_cuts_nothing_off() {
    Visit::to_dist().sized(1280, 800).run("large_text", async |page| {
        let planner = Planner::up(page).await;
        // Zoomed to 200 %, a window has half its pixels.
        let view = json!({ "width": 640, "height": 400, "deviceScaleFactor": 2, "mobile": false });
        planner.page.devtools("Emulation.setDeviceMetricsOverride", view).await;
        planner.page.wait_until("window.innerWidth === 640").await;
        for step in ["need", "layout", "slots", "returns", "fan", "findings"] {
            planner.click(&format!("step-{step}")).await;
            planner.frame().await;
            planner.page.screenshot(step).await;
            // A control is cut off when its words need more room than it has.
            let cut = "return [...document.querySelectorAll('button, .button, summary, th, td, .label, .value, .note, h2, h3')] \
                .filter((e) => e.offsetParent && !e.closest('.unseen') \
                    && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1) && getComputedStyle(e).display !== 'inline') \
                .map((e) => e.tagName + ' ' + e.className + ' ' + e.textContent.slice(0, 30));";
            let cut = planner.page.eval(cut, &[]).await;
            assert_eq!(cut, json!([]), "at step {step}");
            let wide = "return document.documentElement.scrollWidth <= window.innerWidth";
            let out = "return [...document.querySelectorAll('body *')] \
                .filter((e) => e.getBoundingClientRect().right > window.innerWidth + 1) \
                .map((e) => e.tagName + ' ' + e.className + ' ' + e.textContent.slice(0, 30));";
            let fits = planner.page.eval(wide, &[]).await == true;
            assert!(fits, "too wide at step {step}: {}", planner.page.eval(out, &[]).await);
        }
    });
}
