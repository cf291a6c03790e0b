//! An oven drawn on the board from nothing to an evened-out plan: by pointer, by touch, by keyboard alone.

use std::time::Duration;

use engine::design::{even_out, set_returns};
use engine::plan::geometry::joints;
use engine::plan::{Plan, Point};
use fantoccini::actions::{
    Actions, InputSource, KeyAction, KeyActions, MOUSE_BUTTON_LEFT, MouseActions, PointerAction, TouchActions,
};
use serde_json::json;
use tests::browser::{PATIENCE, Visit};

use crate::planner::{ENTER, Planner, css};

const ESCAPE: char = '\u{e00c}';
const BACKSPACE: char = '\u{e003}';
const LEFT: char = '\u{e012}';
const UP: char = '\u{e013}';
const RIGHT: char = '\u{e014}';
const DOWN: char = '\u{e015}';
const RETURN: char = '\u{e007}';

/// The tool's key, its points, and what is then undone by Undo.
type Drawn = (char, &'static [(f64, f64)], &'static str);

/// What is drawn.
const OVEN: [Drawn; 12] = [
    ('b', &[(6.0, 4.6), (6.0, 5.6)], "Draw heater"),
    ('o', &[(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (0.0, 4.0)], "Draw outline"),
    ('z', &[(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (0.0, 4.0)], "Draw zone"),
    ('p', &[(0.0, 2.0)], "Draw opening"),
    ('v', &[(-1.0, 2.0), (13.0, 2.0)], "Draw conveyor"),
    ('d', &[(6.0, 4.6), (6.0, 1.0)], "Draw duct"),
    ('d', &[(6.0, 3.0), (11.5, 3.0)], "Draw duct"),
    ('d', &[(6.0, 1.0), (0.5, 1.0)], "Draw duct"),
    ('r', &[(11.0, 3.7), (7.6, 3.7), (7.6, 5.6), (6.0, 5.6)], "Draw return duct"),
    ('l', &[(6.8, 3.0), (10.8, 3.0)], "Draw slot row"),
    ('l', &[(5.2, 1.0), (1.2, 1.0)], "Draw slot row"),
    ('i', &[(10.0, 3.7)], "Draw return"),
];

fn points(list: &[(f64, f64)]) -> Vec<Point> {
    list.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

/// The plan on the page is the oven above, whatever hand drew it.
fn assert_is_the_oven(plan: &Plan) {
    assert_eq!(plan.enclosure.outline, points(OVEN[1].1));
    assert_eq!(plan.zones[0].outline, points(OVEN[2].1));
    assert_eq!((plan.openings.len(), plan.openings[0].at), (1, Point::new(0.0, 2.0)));
    assert_eq!(plan.conveyor.as_ref().unwrap().path, points(OVEN[4].1));
    assert_eq!((plan.heater.discharge, plan.heater.intake), (Point::new(6.0, 4.6), Point::new(6.0, 5.6)));
    let paths: Vec<_> = plan.ducts.iter().map(|duct| (duct.id.as_str(), duct.path.clone())).collect();
    let drawn = ["trunk-1", "run-1", "run-2", "return-duct-1"].into_iter().zip(&OVEN[5..9]);
    assert_eq!(paths, drawn.map(|(id, item)| (id, points(item.1))).collect::<Vec<_>>());
    assert_eq!(joints(plan).len(), 4, "they join by themselves");
    for (row, duct) in plan.slot_rows.iter().zip(["run-1", "run-2"]) {
        assert_eq!((row.duct.as_str(), row.first_station_m, row.count), (duct, 0.8, 9));
    }
    assert_eq!(plan.returns[0].duct.as_deref(), Some("return-duct-1"));
    assert!((plan.returns[0].station_m - 1.0).abs() < 1e-9);
}

/// An empty plan with a fan.
async fn begin(planner: &Planner<'_>) {
    planner.press("file-menu").await;
    planner.press("file-new").await;
    planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
    planner.press("step-fan").await;
    planner.press("panel-start-curve").await;
    planner.can_undo(Some("Change fan")).await;
    planner.press("step-layout").await;
}

/// What is drawn is calculated, its slides set and its slots evened out, as the engine does it.
async fn even(planner: &Planner<'_>) {
    planner.calculated().await;
    let drawn = planner.plan().await;
    assert_is_the_oven(&drawn);
    let before = planner.shows(&drawn).await;
    planner.press("set-returns").await;
    planner.says("status", &["Set returns: worst slot"]).await;
    planner.press("even-out").await;
    planner.says("status", &["Even out: worst slot"]).await;
    let even = even_out(&set_returns(&drawn).unwrap().plan).unwrap().plan;
    let after = planner.shows(&even).await;
    println!(
        "worst slot {:.1} % as drawn, {:.1} % evened out",
        before.evenness.worst_percent, after.evenness.worst_percent
    );
    assert!(before.evenness.worst_percent > 5.0 && after.evenness.worst_percent <= 5.0);
    assert_eq!(planner.plan().await, even);
    planner.page.screenshot("made").await;
}

fn move_to((x, y): (f64, f64)) -> PointerAction {
    PointerAction::MoveTo { duration: None, x, y }
}

const PRESS: PointerAction = PointerAction::Down { button: MOUSE_BUTTON_LEFT };
const LET_GO: PointerAction = PointerAction::Up { button: MOUSE_BUTTON_LEFT };

async fn click_at(planner: &Planner<'_>, place: (f64, f64)) {
    let at = planner.on_board(place.0, place.1).await;
    let actions = MouseActions::new("mouse".to_owned()).then(move_to(at)).then(PRESS).then(LET_GO);
    planner.page.client().perform_actions(actions).await.unwrap();
}

async fn tap(planner: &Planner<'_>, at: (f64, f64)) {
    let actions = TouchActions::new("finger".to_owned()).then(move_to(at)).then(PRESS).then(LET_GO);
    planner.page.client().perform_actions(actions).await.unwrap();
}

/// A finger on a button.
async fn tap_on(planner: &Planner<'_>, testid: &str) {
    planner.page.find(&css(testid)).await;
    let script = "const e = document.querySelector(arguments[0]); e.scrollIntoView({block: 'center', inline: 'nearest'}); \
        const box = e.getBoundingClientRect(); return [box.left + box.width / 2, box.top + box.height / 2];";
    let at = planner.page.eval(script, &[css(testid).into()]).await;
    tap(planner, (at[0].as_f64().unwrap(), at[1].as_f64().unwrap())).await;
}

/// Keys one after the other, to whatever has the focus.
async fn keys(planner: &Planner<'_>, keys: &str) {
    let actions = keys.chars().fold(KeyActions::new("keys".to_owned()), |actions, value| {
        actions.then(KeyAction::Down { value }).then(KeyAction::Up { value })
    });
    planner.page.client().perform_actions(actions).await.unwrap();
}

async fn drawn_points(planner: &Planner<'_>, count: usize) {
    let count = count.to_string();
    planner
        .page
        .wait_for(&format!("{count} points are drawn"), PATIENCE, async || {
            planner.attribute("drawing", "data-points").await.as_deref() == Some(&count)
        })
        .await;
}

#[test]
fn an_oven_is_drawn_by_pointer() {
    Visit::to_dist().run("drawn_by_pointer", async |page| {
        let planner = Planner::up(page).await;
        begin(&planner).await;
        for (tool, places, step) in OVEN {
            planner.click(&format!("tool-{tool}")).await;
            for (i, place) in places.iter().enumerate() {
                click_at(&planner, *place).await;
                // A line shows how long it is while it is drawn.
                if i == 0 && places.len() == 4 {
                    drawn_points(&planner, 1).await;
                }
            }
            if matches!(tool, 'o' | 'z') {
                planner.page.screenshot("outline").await;
                // On the first corner again: it closes.
                click_at(&planner, places[0]).await;
            } else if matches!(tool, 'v' | 'd') {
                // Twice on the last point.
                click_at(&planner, *places.last().unwrap()).await;
            }
            planner.can_undo(Some(step)).await;
        }
        planner.click("tool-a").await;
        even(&planner).await;
        // Several at once: both runs, moved and mirrored, each one step.
        let at = planner.on_board(8.55, 3.0).await;
        let other = planner.on_board(3.45, 1.0).await;
        let mouse = |at| MouseActions::new("mouse".to_owned()).then(move_to(at)).then(PRESS).then(LET_GO);
        planner.page.client().perform_actions(mouse(at)).await.unwrap();
        let shift = KeyActions::new("keys".to_owned()).then(KeyAction::Down { value: '\u{e008}' });
        planner.page.client().perform_actions(shift).await.unwrap();
        planner.page.client().perform_actions(mouse(other)).await.unwrap();
        let up = KeyActions::new("keys".to_owned()).then(KeyAction::Up { value: '\u{e008}' });
        planner.page.client().perform_actions(up).await.unwrap();
        planner.says("arrange", &["2 selected"]).await;
        planner.click("ask-mirror").await;
        planner.page.screenshot("mirror").await;
        planner.click("mirror-own-level").await;
        planner.can_undo(Some("Mirror 2 items")).await;
        planner.undo("Mirror 2 items").await;
        planner.click("duplicate").await;
        planner.can_undo(Some("Repeat 2 items")).await;
        // What lies on one another now is told, with its place on the board.
        planner.click("step-findings").await;
        planner.says("findings", &["lies across", "Move one of them"]).await;
        planner.page.screenshot("findings").await;
    });
}

#[test]
fn an_oven_is_drawn_by_touch() {
    Visit::to_dist().sized(820, 1180).run("drawn_by_touch", async |page| {
        let touch = json!({ "enabled": true, "maxTouchPoints": 5 });
        page.devtools("Emulation.setTouchEmulationEnabled", touch).await;
        let planner = Planner::up(page).await;
        tap_on(&planner, "file-menu").await;
        tap_on(&planner, "file-new").await;
        planner.page.wait_until("document.title === 'New oven · Evenrise'").await;
        tap_on(&planner, "step-fan").await;
        tap_on(&planner, "panel-start-curve").await;
        planner.can_undo(Some("Change fan")).await;
        tap_on(&planner, "step-layout").await;
        for (tool, places, step) in OVEN {
            tap_on(&planner, &format!("tool-{tool}")).await;
            for (i, place) in places.iter().enumerate() {
                let at = planner.on_board(place.0, place.1).await;
                tap(&planner, at).await;
                if i + 1 < places.len() {
                    drawn_points(&planner, i + 1).await;
                }
            }
            if matches!(tool, 'o' | 'z' | 'v' | 'd') {
                drawn_points(&planner, places.len()).await;
                planner.page.screenshot(&format!("tool_{tool}")).await;
                tap_on(&planner, "draw-finish").await;
            }
            planner.can_undo(Some(step)).await;
        }
        tap_on(&planner, "tool-a").await;
        even(&planner).await;

        // Two fingers come apart: closer, and what lay between them stays.
        let scale = || async {
            planner
                .attribute("board", "data-look")
                .await
                .unwrap()
                .split(' ')
                .nth(2)
                .unwrap()
                .parse::<f64>()
                .unwrap()
        };
        let before = scale().await;
        let (a, b) = (planner.on_board(4.0, 2.0).await, planner.on_board(8.0, 2.0).await);
        let slowly = |(x, y)| PointerAction::MoveTo { duration: Some(Duration::from_millis(60)), x, y };
        let finger = |name: &str, from, to| {
            TouchActions::new(name.to_owned()).then(move_to(from)).then(PRESS).then(slowly(to)).then(LET_GO)
        };
        let pinch =
            Actions::from(finger("one", a, (a.0 - 60.0, a.1))).and(finger("two", b, (b.0 + 60.0, b.1)));
        planner.page.client().perform_actions(pinch).await.unwrap();
        planner.frame().await;
        assert!(scale().await > before * 1.1, "{} then {}", before, scale().await);

        // A finger that rests selects besides.
        let at = planner.on_board(9.05, 3.0).await;
        tap(&planner, at).await;
        planner.page.wait_until("document.querySelector('[data-testid=card]')").await;
        let at = planner.on_board(6.0, 2.4).await;
        let rest = TouchActions::new("finger".to_owned())
            .then(move_to(at))
            .then(PRESS)
            .then(PointerAction::Pause { duration: Duration::from_millis(700) })
            .then(LET_GO);
        planner.page.client().perform_actions(rest).await.unwrap();
        planner.says("arrange", &["2 selected"]).await;
        planner.page.screenshot("two_selected").await;
    });
}

#[test]
fn an_oven_is_drawn_by_keyboard_alone() {
    Visit::to_dist().sized(1440, 900).run("drawn_by_keyboard", async |page| {
        let planner = Planner::up(page).await;
        begin(&planner).await;
        // Along the palette to the heater; Enter takes it and goes to the board.
        planner.press("tool-a").await;
        let focus = "document.querySelector('[data-testid=tool-a]').focus()";
        planner.page.eval(focus, &[]).await;
        keys(&planner, &RIGHT.to_string().repeat(9)).await;
        keys(&planner, ENTER).await;
        planner.page.wait_until("document.activeElement.dataset.testid === 'board'").await;
        // Typed, mistyped and taken back; then ten steps of the grid up.
        keys(&planner, &format!("6, 4.7{BACKSPACE}6{RETURN}")).await;
        drawn_points(&planner, 1).await;
        keys(&planner, &UP.to_string().repeat(10)).await;
        hears(&planner, "y 5.60").await;
        hears(&planner, "length 1.00").await;
        keys(&planner, ENTER).await;
        planner.can_undo(Some("Draw heater")).await;

        // A length and an arrow place a corner; Enter on the last one closes.
        keys(&planner, &format!("o0, 0{RETURN}12{RIGHT}4000 mm{UP}{RETURN}")).await;
        planner.can_undo(Some("Draw outline")).await;
        let ring: String = OVEN[2].1.iter().map(|(x, y)| format!("{x}, {y}{RETURN}")).collect();
        keys(&planner, &format!("z{ring}{RETURN}{ESCAPE}p0, 2{RETURN}{ESCAPE}")).await;
        planner.can_undo(Some("Draw opening")).await;
        keys(&planner, &format!("v-1, 2{RETURN}14{RIGHT}{RETURN}")).await;
        planner.can_undo(Some("Draw conveyor")).await;
        keys(&planner, &format!("d6, 4.6{RETURN}3.6{DOWN}")).await;
        drawn_points(&planner, 2).await;
        planner.page.screenshot("trunk").await;
        keys(
            &planner,
            &format!("{RETURN}6, 3{RETURN}5.5{RIGHT}{RETURN}6, 1{RETURN}5.5{LEFT}{RETURN}{ESCAPE}"),
        )
        .await;
        keys(&planner, &format!("r11, 3.7{RETURN}3.4{LEFT}1.9{UP}1.6{LEFT}{ESCAPE}")).await;
        planner.can_undo(Some("Draw return duct")).await;

        // Slots and the return by stations of what is selected: the duct last drawn, then those stepped to.
        keys(&planner, &format!("i1{RETURN}{ESCAPE}")).await;
        planner.can_undo(Some("Draw return")).await;
        for run in ["run-1", "run-2"] {
            step_to(&planner, run).await;
            keys(&planner, &format!("l0.8{RETURN}4.8{RETURN}{ESCAPE}")).await;
            planner.can_undo(Some("Draw slot row")).await;
        }
        even(&planner).await;

        // The keys on one page, and back to where one was.
        planner.press("tool-a").await;
        keys(&planner, "?").await;
        planner.says("keys-dialog", &["take the last point back", "Trunk or run"]).await;
        planner.page.screenshot("keys").await;
        keys(&planner, &ESCAPE.to_string()).await;
        planner.page.wait_until("!document.querySelector('[data-testid=keys-dialog]')").await;
        planner.page.wait_until("document.activeElement.dataset.testid === 'board'").await;
    });
}

/// What a screen reader is told of the board.
async fn spoken(planner: &Planner<'_>) -> String {
    let script = "return document.querySelector('[data-testid=board-spoken]').textContent";
    planner.page.eval(script, &[]).await.as_str().unwrap_or_default().to_owned()
}

async fn hears(planner: &Planner<'_>, words: &str) {
    planner.page.wait_for(words, PATIENCE, async || spoken(planner).await.contains(words)).await;
}

/// Steps with Page Down until this is selected.
async fn step_to(planner: &Planner<'_>, id: &str) {
    keys(planner, &ESCAPE.to_string()).await;
    for _ in 0..30 {
        let says = format!("{id},");
        if spoken(planner).await.contains(&says) {
            return;
        }
        keys(planner, "\u{e00f}").await;
        planner.frame().await;
    }
    panic!("{id} is not stepped to; last: {}", spoken(planner).await);
}

#[test]
fn the_table_edits_points_and_sleeves_and_the_strip_the_height() {
    Visit::to_dist().sized(1440, 900).run("points_in_the_table", async |page| {
        let planner = Planner::up(page).await;
        let mut plan = planner.plan().await;
        planner.press("step-layout").await;
        planner.press("dock-tables").await;
        planner.set("cure-1-point-1-x", "24", 24.0).await;
        planner.press("cure-1-point-0-insert").await;
        planner.set("cure-1-point-1-x", "18", 18.0).await;
        planner.set("cure-1-point-1-y", "4.7 m", 4.7).await;
        let path = &mut plan.ducts.iter_mut().find(|duct| duct.id == "cure-1").unwrap().path;
        *path = points(&[(11.0, 4.11), (18.0, 4.7), (24.0, 4.11)]);
        assert_eq!(planner.plan().await, plan);
        planner.press("cure-1-point-1-remove").await;
        planner.can_undo(Some("Change cure-1")).await;
        planner.page.screenshot("table").await;

        // Without its sleeve the transfer duct passes the inner wall bare, and that is told.
        planner.press("transfer-sleeve-0-remove").await;
        planner.press("step-findings").await;
        planner.says("findings", &["passes an inner wall without a sleeve"]).await;
        planner.press("step-layout").await;
        planner.press("transfer-sleeve-walls").await;
        planner.press("step-findings").await;
        let gone = "!document.querySelector('[data-testid=finding-no-sleeve]')";
        planner.page.wait_until(gone).await;

        planner.select("layout", "cure-4").await;
        planner.press("dock-strip").await;
        let focus = "document.querySelector('[data-testid=strip-canvas]').focus()";
        planner.page.eval(focus, &[]).await;
        keys(&planner, &UP.to_string().repeat(2)).await;
        planner
            .page
            .wait_for("the duct is 0.75 m high", PATIENCE, async || {
                planner.number("card-height").await == Some(0.75)
            })
            .await;
        planner.page.screenshot("strip").await;
        planner.undo("Duct height").await;
        planner.undo("Duct height").await;
        assert_eq!(planner.number("card-height").await, Some(0.7));
    });
}
