//! Pictures of the planner: for looking at, and one for the README.

use serde_json::json;
use tests::browser::{Page, Visit};
use tests::golden::keep_picture;
use tests::picture::{assert_picture, difference};

use crate::planner::Planner;

async fn resize(page: &Page, width: u32, height: u32) {
    let view = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
    page.devtools("Emulation.setDeviceMetricsOverride", view).await;
    page.wait_until(&format!("window.innerWidth === {width} && window.innerHeight === {height}")).await;
}

#[test]
fn the_planner_fits_desk_laptop_and_tablet_in_light_and_dark() {
    Visit::to_dist().sized(1440, 900).run("planner", async |page| {
        let planner = Planner::up(page).await;
        planner.select("slots", "slots-cure-1").await;
        planner.click("dock-strip").await;
        planner.compute("set-returns", "Set returns").await;
        planner.compute("even-out", "Even out").await;
        planner.says("saved", &["kept in this browser"]).await;
        for theme in ["light", "dark"] {
            planner.theme(theme).await;
            for (width, height) in [(1440, 900), (1280, 800), (820, 1180)] {
                resize(planner.page, width, height).await;
                planner.frame().await;
                let png = planner.page.screenshot(&format!("{width}x{height}_{theme}")).await;
                if (width, theme) == (1440, "light") {
                    keep_picture("tests/screenshots/planner.png", &png);
                }
                let wide = "return document.documentElement.scrollWidth <= window.innerWidth";
                assert_eq!(planner.page.eval(wide, &[]).await, true, "at {width} px the page is too wide");
            }
        }
    });
}

/// At one size and in test letters; other sizes are in `tests/artefacts` for looking at.
#[test]
fn the_planner_looks_as_on_record() {
    Visit::to_dist().sized(1280, 800).in_test_letters().run("golden", async |page| {
        let planner = Planner::up(page).await;
        planner.says("saved", &["kept in this browser"]).await;
        planner.select("slots", "slots-cure-1").await;
        planner.click("dock-strip").await;
        let mut pictures = Vec::new();
        for theme in ["light", "dark"] {
            planner.theme(theme).await;
            // What has the focus shows it; nothing has it on record.
            planner.page.eval("document.activeElement?.blur();", &[]).await;
            planner.frame().await;
            pictures.push((theme, planner.page.screenshot(theme).await));
        }
        for (theme, png) in &pictures {
            assert_picture(planner.page, &format!("tests/screenshots/golden-{theme}.png"), png).await;
        }
        // And it can tell pictures apart.
        assert!(difference(planner.page, &pictures[0].1, &pictures[1].1).await.0 > 0.5);
        assert_eq!(difference(planner.page, &pictures[0].1, &pictures[0].1).await.0, 0.0);
    });
}
