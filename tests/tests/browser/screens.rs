//! Every screen at the three sizes, in light and in dark, on paper and at twice the size: kept in `tests/artefacts`
//! for looking at. Of each is measured that nothing is wider than the window and that no target is too small; and at
//! a desk that nothing shuts people out, as far as a program can tell.

use serde_json::{Value, json};
use tests::axe::barriers;
use tests::browser::{Page, Visit};

use crate::planner::Planner;
use crate::tour::tour;

/// What can be pressed or typed in and is smaller than the least size, as "name: width × height". What lies in a
/// figure of the tally is pressed by the whole figure, what lies in a label by the label.
const SMALL: &str = r#"
    const least = arguments[0];
    const parts = 'button, a[href], input, select, textarea, summary';
    return [...document.querySelectorAll(parts)]
        .filter((part) => part.checkVisibility({ visibilityProperty: true }) && !part.closest('.unseen, .visually-hidden, .skip'))
        .map((part) => {
            const target = part.closest('.tally-item:not(.fan-speed)') ?? part.closest('label, .quantity-box, .button') ?? part;
            const { width, height } = target.getBoundingClientRect();
            return [part, width, height];
        })
        // To half a pixel, as boxes are laid out.
        .filter(([, width, height]) => width > 0 && (width < least - 0.5 || height < least - 0.5))
        .map(([part, width, height]) =>
            `${part.dataset.testid ?? part.getAttribute('aria-label') ?? part.textContent.slice(0, 20)}: ${Math.round(width)} × ${Math.round(height)}`);
"#;

/// Buttons whose words do not fit in them.
const CUT: &str = r#"
    return [...document.querySelectorAll('button, .button, .chip, summary')]
        .filter((part) => part.checkVisibility() && part.scrollWidth > part.clientWidth + 1)
        .map((part) => `${part.dataset.testid ?? part.textContent.slice(0, 30)}: ${part.scrollWidth} in ${part.clientWidth}`);
"#;

async fn resize(page: &Page, width: u32, height: u32, scale: u32) {
    let view = json!({ "width": width, "height": height, "deviceScaleFactor": scale, "mobile": false });
    page.devtools("Emulation.setDeviceMetricsOverride", view).await;
    page.wait_until(&format!("window.innerWidth === {width} && window.innerHeight === {height}")).await;
}

async fn names(page: &Page, script: &str, arguments: &[Value]) -> Vec<String> {
    let found = page.eval(script, arguments).await;
    let list = found.as_array().map(Vec::as_slice).unwrap_or_default();
    list.iter().filter_map(Value::as_str).map(str::to_owned).collect()
}

/// What a tour looks for besides.
#[derive(Clone, Copy)]
struct Asked {
    /// The themes, as the system has them.
    shades: &'static [&'static str],
    /// The least size of what is pressed, px.
    least: u32,
    /// What shuts people out.
    barriers: bool,
}

/// The system turns light or dark.
async fn system(page: &Page, shade: &str) {
    let feature = json!({ "name": "prefers-color-scheme", "value": shade });
    page.devtools("Emulation.setEmulatedMedia", json!({ "features": [feature] })).await;
    page.wait_until(&format!("document.documentElement.dataset.shade === '{shade}'")).await;
}

/// The tour: of each screen a picture in each theme, what is too wide, too small, cut or a barrier.
async fn seen(planner: &Planner<'_>, asked: Asked) -> Vec<String> {
    let (mut wrong, mut number) = (Vec::new(), 0);
    tour(planner, &mut async |planner: &Planner<'_>, screen: &str| {
        number += 1;
        let name: String = screen.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        for shade in asked.shades {
            system(planner.page, shade).await;
            planner.board_painted(shade).await;
            planner.page.screenshot(&format!("{number:02}-{name}-{shade}")).await;
            if asked.barriers {
                let found = barriers(planner.page).await;
                wrong.extend(found.into_iter().map(|line| format!("{shade}, {screen}: {line}")));
            }
        }
        let wide = "return document.documentElement.scrollWidth <= window.innerWidth";
        if planner.page.eval(wide, &[]).await != true {
            wrong.push(format!("{screen}: wider than the window"));
        }
        for (what, list) in [
            ("too small", names(planner.page, SMALL, &[asked.least.into()]).await),
            ("cut", names(planner.page, CUT, &[]).await),
        ] {
            wrong.extend(list.into_iter().map(|part| format!("{screen}: {what}: {part}")));
        }
    })
    .await;
    wrong
}

fn assert_none(mut wrong: Vec<String>) {
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{} things:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_screen_at_a_desk_and_none_has_a_barrier() {
    Visit::to_dist().sized(1440, 900).run("screens_1440", async |page| {
        let planner = Planner::up(page).await;
        assert_none(seen(&planner, Asked { shades: &["light", "dark"], least: 24, barriers: true }).await);
    });
}

/// In one theme: each screen is taken in both at a desk.
fn by_touch(name: &str, width: u32, height: u32, shades: &'static [&'static str]) {
    Visit::to_dist().sized(width, height).run(name, async |page| {
        let fingers = json!({ "enabled": true, "maxTouchPoints": 5 });
        page.devtools("Emulation.setTouchEmulationEnabled", fingers).await;
        page.wait_until("matchMedia('(pointer: coarse)').matches").await;
        let planner = Planner::up(page).await;
        assert_none(seen(&planner, Asked { shades, least: 44, barriers: false }).await);
    });
}

#[test]
fn every_screen_on_a_laptop_by_touch() {
    by_touch("screens_1280_touch", 1280, 800, &["dark"]);
}

#[test]
fn every_screen_on_a_tablet_by_touch() {
    by_touch("screens_820_touch", 820, 1180, &["light"]);
}

/// Twice the size in the browser is half the window at twice the density.
#[test]
fn every_screen_at_twice_the_size() {
    Visit::to_dist().run("screens_twice", async |page| {
        resize(page, 720, 450, 2).await;
        let planner = Planner::up(page).await;
        assert_none(seen(&planner, Asked { shades: &["light"], least: 24, barriers: false }).await);
    });
}

#[test]
fn paper_shows_board_strip_figures_and_findings_dark_on_light() {
    Visit::to_dist().sized(1100, 1500).run("paper", async |page| {
        let planner = Planner::up(page).await;
        planner.click("hints-away").await;
        for theme in ["light", "dark"] {
            planner.theme(theme).await;
            for dock in ["strip", "tables", "heat", "answers"] {
                planner.click(&format!("dock-{dock}")).await;
                planner.page.devtools("Emulation.setEmulatedMedia", json!({ "media": "print" })).await;
                // As a browser says that does not only look as if.
                planner.page.eval("window.dispatchEvent(new Event('beforeprint'));", &[]).await;
                planner.frame().await;
                planner.page.screenshot(&format!("{theme}-{dock}")).await;
                let wide = "return document.documentElement.scrollWidth <= window.innerWidth";
                assert_eq!(planner.page.eval(wide, &[]).await, true, "{dock} is too wide for paper");
                planner.page.devtools("Emulation.setEmulatedMedia", json!({ "media": "" })).await;
                planner.page.eval("window.dispatchEvent(new Event('afterprint'));", &[]).await;
            }
        }
    });
}
