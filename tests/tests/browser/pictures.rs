//! Pictures of the planner: for looking at, and one for the README.

use serde_json::json;
use tests::browser::{Page, Visit};
use tests::golden::keep_picture;

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
