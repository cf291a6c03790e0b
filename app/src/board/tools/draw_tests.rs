//! Drawing by gestures: pointer, finger and keys; the session's invariants are swept after each command.

use super::tests::Hand;
use super::*;
use crate::edit::kind_of;
use crate::session::{Camera, Session};
use crate::starter;
use engine::judge::drawing;
use engine::plan::{DuctRole, Plan};
use engine::units::{Kind, UnitSystem, show};

/// In front of an empty plan, a screenful of floor 24 by 12 m around (6, 2).
fn bare() -> Hand {
    let mut hand = Hand::over(Session::new(starter::empty()));
    let camera = Camera { centre: Point::new(6.0, 2.0), px_per_m: 40.0 };
    hand.session.apply(Command::SetCamera(Some(camera)));
    hand
}

fn take(hand: &mut Hand, tool: Tool) {
    hand.session.apply(Command::UseTool(tool));
}

fn tap(hand: &mut Hand, x: f64, y: f64) {
    let at = hand.at(x, y);
    hand.act(Gesture::Down { pointer: 5, at, device: Device::Touch, button: 0, shift: false });
    hand.act(Gesture::Up { pointer: 5, at });
}

fn type_text(hand: &mut Hand, text: &str) {
    for c in text.chars() {
        hand.key(if c == ' ' { Key::Space } else { Key::Char(c) });
    }
}

/// Types and enters.
fn enter(hand: &mut Hand, text: &str) {
    type_text(hand, text);
    hand.key(Key::Enter);
}

fn points(list: &[(f64, f64)]) -> Vec<Point> {
    list.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

fn calculated(plan: &Plan) -> engine::analysis::Analysis {
    engine::analysis::analyse(plan).unwrap_or_else(|error| panic!("{error}"))
}

/// The oven that all three hands draw.
fn assert_is_the_oven(plan: &Plan) {
    assert_eq!(plan.enclosure.outline, points(&[(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (0.0, 4.0)]));
    assert_eq!(plan.zones.len(), 1);
    assert_eq!(plan.openings.len(), 1);
    assert_eq!((plan.openings[0].at, plan.openings[0].to_zone.as_ref()), (Point::new(0.0, 2.0), None));
    assert_eq!(plan.conveyor.as_ref().unwrap().path, points(&[(-1.0, 2.0), (13.0, 2.0)]));
    assert_eq!((plan.heater.discharge, plan.heater.intake), (Point::new(6.0, 4.6), Point::new(6.0, 5.6)));
    let path = |id: &str| plan.ducts.iter().find(|duct| duct.id == id).unwrap().path.clone();
    assert_eq!(path("trunk-1"), points(&[(6.0, 4.6), (6.0, 1.0)]));
    assert_eq!(path("run-1"), points(&[(6.0, 3.0), (11.5, 3.0)]));
    assert_eq!(path("run-2"), points(&[(6.0, 1.0), (0.5, 1.0)]));
    assert_eq!(path("return-duct-1"), points(&[(11.0, 3.7), (7.6, 3.7), (7.6, 5.6), (6.0, 5.6)]));
    let joints = engine::plan::geometry::joints(plan);
    assert_eq!(joints.len(), 4, "trunk, two runs and the return join by themselves: {joints:?}");
    for (row, duct) in plan.slot_rows.iter().zip(["run-1", "run-2"]) {
        assert_eq!(row.duct, duct);
        assert_eq!((row.first_station_m, row.count), (0.8, 9));
        assert!((row.pitch_m - 0.5).abs() < 1e-9);
    }
    assert_eq!(plan.slot_rows.len(), 2);
    assert_eq!(plan.returns.len(), 1);
    assert_eq!((plan.returns[0].duct.as_deref(), plan.returns[0].station_m), (Some("return-duct-1"), 1.0));
    assert_eq!(plan.exhausts.len(), 1);
    assert_eq!(calculated(plan).status, "converged");
}

fn with_fan(hand: &mut Hand) {
    hand.session.apply(crate::edit::Edit::Fan(crate::edit::FanEdit::StartCurve).into());
}

#[test]
fn an_oven_is_drawn_by_clicks() {
    let mut hand = bare();
    with_fan(&mut hand);
    let click_all = |hand: &mut Hand, tool, list: &[(f64, f64)]| {
        take(hand, tool);
        for &(x, y) in list {
            hand.click(x, y);
        }
    };
    // A little off, as a hand is; the last click is on the last point: a double-click ends.
    click_all(&mut hand, Tool::Outline, &[(0.02, -0.03), (12.01, 0.1), (11.96, 4.02)]);
    hand.key(Key::Enter);
    assert_eq!(hand.session.view.tool, Tool::Select, "there is one outline");
    click_all(&mut hand, Tool::Zone, &[(0.1, 0.1), (12.1, 0.0), (12.0, 4.1), (0.1, 3.9), (0.1, 0.1)]);
    click_all(&mut hand, Tool::Heater, &[(6.02, 4.58), (6.1, 5.62)]);
    click_all(&mut hand, Tool::Opening, &[(0.3, 2.02)]);
    click_all(&mut hand, Tool::Conveyor, &[(-1.0, 2.04), (13.0, 2.1), (13.0, 2.1)]);
    click_all(&mut hand, Tool::Supply, &[(6.1, 4.5), (6.0, 1.02), (6.0, 1.02)]);
    click_all(&mut hand, Tool::Supply, &[(6.1, 3.03), (11.52, 3.1), (11.52, 3.1)]);
    click_all(&mut hand, Tool::Supply, &[(5.9, 1.02), (0.52, 1.1), (0.52, 1.1)]);
    // At the heater's intake a return duct ends by itself.
    click_all(&mut hand, Tool::Return, &[(11.02, 3.68), (7.62, 3.6), (7.6, 5.58), (6.1, 5.5)]);
    click_all(&mut hand, Tool::Slots, &[(6.8, 3.1), (10.8, 2.9), (5.2, 1.1), (1.2, 0.9)]);
    click_all(&mut hand, Tool::Intake, &[(10.0, 3.6)]);
    click_all(&mut hand, Tool::Exhaust, &[(1.0, 3.5)]);
    assert_is_the_oven(&hand.session.plan);
    while hand.session.history.undo_label().is_some() {
        hand.session.apply(Command::Undo);
    }
    assert_eq!(*hand.session.plan, starter::empty());
}

#[test]
fn an_oven_is_drawn_by_taps() {
    let mut hand = bare();
    with_fan(&mut hand);
    let tap_all = |hand: &mut Hand, tool, list: &[(f64, f64)]| {
        take(hand, tool);
        for &(x, y) in list {
            tap(hand, x, y);
        }
        hand.act(Gesture::Finish);
    };
    tap_all(&mut hand, Tool::Outline, &[(0.02, -0.03), (12.01, 0.1), (11.96, 4.02)]);
    tap_all(&mut hand, Tool::Zone, &[(0.1, 0.1), (12.1, 0.0), (12.0, 4.1), (0.1, 3.9)]);
    tap_all(&mut hand, Tool::Heater, &[(6.02, 4.58), (6.1, 5.62)]);
    tap_all(&mut hand, Tool::Opening, &[(0.3, 2.02)]);
    tap_all(&mut hand, Tool::Conveyor, &[(-1.0, 2.04), (13.0, 2.1)]);
    tap_all(&mut hand, Tool::Supply, &[(6.1, 4.5), (6.0, 1.02)]);
    tap_all(&mut hand, Tool::Supply, &[(6.1, 3.03), (11.52, 3.1)]);
    tap_all(&mut hand, Tool::Supply, &[(5.9, 1.02), (0.52, 1.1)]);
    tap_all(&mut hand, Tool::Return, &[(11.02, 3.68), (7.62, 3.6), (7.6, 5.58), (6.1, 5.5)]);
    tap_all(&mut hand, Tool::Slots, &[(6.8, 3.1), (10.8, 2.9)]);
    tap_all(&mut hand, Tool::Slots, &[(5.2, 1.1), (1.2, 0.9)]);
    tap_all(&mut hand, Tool::Intake, &[(10.0, 3.6)]);
    tap_all(&mut hand, Tool::Exhaust, &[(1.0, 3.5)]);
    assert_is_the_oven(&hand.session.plan);
}

#[test]
fn an_oven_is_drawn_by_keys() {
    let mut hand = bare();
    with_fan(&mut hand);
    hand.key(Key::Char('o'));
    enter(&mut hand, "0, 0");
    // A length, then the arrow that says which way.
    type_text(&mut hand, "12");
    hand.key(Key::Right);
    type_text(&mut hand, "4000 mm");
    hand.key(Key::Up);
    hand.key(Key::Enter);
    hand.key(Key::Char('z'));
    for place in ["0, 0", "12, 0", "12, 4", "0, 4"] {
        enter(&mut hand, place);
    }
    hand.key(Key::Enter);
    hand.key(Key::Escape);
    hand.key(Key::Char('b'));
    enter(&mut hand, "6, 4.6");
    for _ in 0..10 {
        hand.key(Key::Up);
    }
    hand.key(Key::Enter);
    hand.key(Key::Char('p'));
    enter(&mut hand, "0, 2");
    hand.key(Key::Escape);
    hand.key(Key::Char('v'));
    enter(&mut hand, "-1, 2");
    type_text(&mut hand, "14");
    hand.key(Key::Right);
    hand.key(Key::Enter);
    hand.key(Key::Escape);
    // The cross of a trunk begins at the heater's discharge.
    hand.session.apply(Command::Select(None));
    hand.key(Key::Char('d'));
    enter(&mut hand, "6, 4.6");
    type_text(&mut hand, "3.6");
    hand.key(Key::Down);
    hand.key(Key::Enter);
    enter(&mut hand, "6, 3");
    type_text(&mut hand, "5.5");
    hand.key(Key::Right);
    hand.key(Key::Enter);
    enter(&mut hand, "6, 1");
    type_text(&mut hand, "5.5");
    hand.key(Key::Left);
    hand.key(Key::Enter);
    hand.key(Key::Escape);
    hand.key(Key::Char('r'));
    enter(&mut hand, "11, 3.7");
    for (length, key) in [("3.4", Key::Left), ("1.9", Key::Up), ("1.6", Key::Left)] {
        type_text(&mut hand, length);
        hand.key(key);
    }
    hand.key(Key::Escape);
    // Stations of the selected duct.
    for run in ["run-1", "run-2"] {
        hand.session.apply(Command::Select(Some(run.into())));
        hand.key(Key::Char('l'));
        enter(&mut hand, "0.8");
        enter(&mut hand, "4.8");
        hand.key(Key::Escape);
    }
    hand.session.apply(Command::Select(Some("return-duct-1".into())));
    hand.key(Key::Char('i'));
    enter(&mut hand, "1");
    hand.key(Key::Escape);
    hand.key(Key::Char('e'));
    enter(&mut hand, "1, 3.5");
    hand.key(Key::Escape);
    assert_eq!(hand.session.view.tool, Tool::Select);
    assert_is_the_oven(&hand.session.plan);
}

#[test]
fn backspace_escape_and_a_changed_tool_take_back_what_is_not_finished() {
    let mut hand = bare();
    take(&mut hand, Tool::Supply);
    for (x, y) in [(0.0, 0.0), (3.0, 0.0), (3.0, 2.0)] {
        hand.click(x, y);
    }
    hand.key(Key::Backspace);
    type_text(&mut hand, "12");
    hand.key(Key::Backspace);
    hand.key(Key::Escape);
    assert_eq!(hand.status().points, 2, "Escape first takes what is typed");
    hand.key(Key::Escape);
    assert_eq!(hand.status().points, 0);
    assert_eq!(hand.session.view.tool, Tool::Supply);
    hand.click(1.0, 1.0);
    take(&mut hand, Tool::Return);
    assert_eq!(hand.status().points, 0);
    hand.key(Key::Escape);
    assert_eq!(hand.session.view.tool, Tool::Select);
    assert_eq!(*hand.session.plan, starter::empty());
    assert_eq!(hand.session.history.depth(), 0);
}

#[test]
fn a_double_click_places_one_thing_and_undo_takes_back_a_point() {
    let mut hand = bare();
    take(&mut hand, Tool::Column);
    hand.click(3.0, 1.0);
    hand.click(3.0, 1.0);
    assert_eq!(hand.session.plan.enclosure.columns.len(), 1);
    hand.click(4.0, 1.0);
    assert_eq!(hand.session.plan.enclosure.columns.len(), 2);
    assert!(!hand.key(Key::Undo), "nothing is being drawn: the page undoes");
    take(&mut hand, Tool::Supply);
    hand.click(0.0, 0.0);
    hand.click(2.0, 0.0);
    assert!(hand.key(Key::Undo));
    assert_eq!(hand.status().points, 1);
}

#[test]
fn lengths_show_while_drawing_and_a_wrong_one_says_why() {
    let mut hand = bare();
    take(&mut hand, Tool::Supply);
    hand.click(0.0, 0.0);
    hand.go(hand.at(2.52, 0.1));
    assert_eq!(hand.tools.note().map(|note| note.1.clone()), Some(show(2.5, Kind::Length, UnitSystem::Si)));
    enter(&mut hand, "3 kg");
    let notice = hand.session.notice.clone().expect("a refusal is told");
    assert!(notice.alert && notice.text.contains("3 kg"), "{}", notice.text);
    assert_eq!(hand.status().typed, "3 kg", "and can be mended");
    for _ in 0..3 {
        hand.key(Key::Backspace);
    }
    enter(&mut hand, "");
    assert_eq!(hand.status().points, 2);
    hand.key(Key::Up);
    hand.key(Key::Up);
    assert!(hand.status().spoken.contains("length 0.2"), "{}", hand.status().spoken);
}

#[test]
fn points_are_held_by_what_is_there() {
    let mut hand = Hand::new();
    take(&mut hand, Tool::Supply);
    // On the trunk: its axis; level with the end of a run: its x.
    hand.click(11.2, 3.02);
    hand.go(hand.at(25.14, 3.2));
    let preview = hand.preview().unwrap();
    assert_eq!(preview.path, points(&[(11.0, 3.0), (25.2, 3.0)]));
    assert!(!preview.guides.is_empty());
}

#[test]
fn a_drag_draws_a_rectangle_or_a_straight_and_a_finger_moves_the_picture() {
    let mut hand = bare();
    let drag = |hand: &mut Hand, from: (f64, f64), to: (f64, f64)| {
        hand.down(hand.at(from.0, from.1));
        hand.go(hand.at((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0));
        hand.go(hand.at(to.0, to.1));
        hand.up(hand.at(to.0, to.1));
    };
    take(&mut hand, Tool::Outline);
    drag(&mut hand, (0.0, 0.0), (8.0, 3.0));
    assert_eq!(
        hand.session.plan.enclosure.outline,
        points(&[(0.0, 0.0), (8.0, 0.0), (8.0, 3.0), (0.0, 3.0)])
    );
    take(&mut hand, Tool::Supply);
    drag(&mut hand, (1.0, 1.0), (5.0, 1.1));
    hand.key(Key::Enter);
    assert_eq!(hand.path("run-1"), points(&[(1.0, 1.0), (5.0, 1.0)]));
    let centre = hand.look().camera.centre;
    let at = hand.at(2.0, 2.0);
    hand.act(Gesture::Down { pointer: 5, at, device: Device::Touch, button: 0, shift: false });
    let there = ScreenPoint::new(at.x + 60.0, at.y);
    hand.act(Gesture::Move { pointer: 5, at: there, device: Device::Touch });
    hand.act(Gesture::Up { pointer: 5, at: there });
    assert_ne!(hand.look().camera.centre, centre);
    assert_eq!(hand.status().points, 0);
}

#[test]
fn a_press_that_slides_places_one_thing_where_it_ends() {
    let mut hand = bare();
    take(&mut hand, Tool::Outline);
    hand.down(hand.at(0.0, 0.0));
    hand.go(hand.at(12.0, 4.0));
    hand.up(hand.at(12.0, 4.0));
    take(&mut hand, Tool::Column);
    hand.down(hand.at(2.0, 2.0));
    for x in [2.1, 2.3, 2.5] {
        hand.go(hand.at(x, 2.0));
    }
    hand.up(hand.at(2.5, 2.0));
    assert_eq!(hand.session.plan.enclosure.columns.len(), 1);
    assert_eq!(hand.session.history.depth(), 2);
    assert_eq!(hand.session.plan.enclosure.columns[0].at, Point::new(2.5, 2.0));
}

#[test]
fn a_drag_that_is_given_up_leaves_what_was_drawn_before_it() {
    let gives_up = [
        Gesture::KeyDown { key: Key::Escape, shift: false },
        Gesture::KeyDown { key: Key::Undo, shift: false },
        Gesture::Cancel { pointer: 1 },
    ];
    for give_up in gives_up {
        let mut hand = bare();
        take(&mut hand, Tool::Supply);
        hand.click(1.0, 1.0);
        for left in [1, 0] {
            hand.down(hand.at(3.0, 1.0));
            hand.go(hand.at(3.5, 1.5));
            hand.act(give_up);
            hand.up(hand.at(4.0, 1.5));
            assert_eq!(hand.status().points, left, "{give_up:?}");
            hand.key(Key::Backspace);
        }
        // A rectangle that is given up is none: the next click is a corner of its own.
        take(&mut hand, Tool::Outline);
        hand.down(hand.at(0.0, 0.0));
        hand.go(hand.at(3.0, 3.0));
        hand.act(give_up);
        hand.up(hand.at(3.0, 3.0));
        assert_eq!(hand.status().points, 0, "{give_up:?}");
        hand.click(1.0, 1.0);
        hand.go(hand.at(4.0, 3.0));
        assert_eq!(hand.preview().unwrap().path, points(&[(1.0, 1.0), (4.0, 1.0)]), "{give_up:?}");
    }
}

#[test]
fn a_pen_draws_on_while_a_palm_comes_and_goes() {
    for palm_first in [false, true] {
        let mut hand = bare();
        take(&mut hand, Tool::Outline);
        let palm = hand.at(9.0, 3.0);
        let pen = |hand: &mut Hand, x: f64, y: f64| {
            let at = hand.at(x, y);
            hand.act(Gesture::Move { pointer: 1, at, device: Device::Pen });
        };
        let rest = Gesture::Down { pointer: 7, at: palm, device: Device::Touch, button: 0, shift: false };
        let at = hand.at(0.0, 0.0);
        let touch = Gesture::Down { pointer: 1, at, device: Device::Pen, button: 0, shift: false };
        for gesture in if palm_first { [rest, touch] } else { [touch, rest] } {
            hand.act(gesture);
        }
        pen(&mut hand, 1.0, 1.0);
        hand.act(Gesture::Move { pointer: 7, at: palm, device: Device::Touch });
        hand.act(Gesture::Up { pointer: 7, at: palm });
        hand.act(Gesture::Cancel { pointer: 7 });
        pen(&mut hand, 12.0, 4.0);
        hand.up(hand.at(12.0, 4.0));
        let outline = &hand.session.plan.enclosure.outline;
        assert_eq!(*outline, points(&[(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (0.0, 4.0)]));
    }
}

#[test]
fn a_comma_is_a_decimal_sign_unless_a_place_is_meant() {
    let mut hand = bare();
    take(&mut hand, Tool::Supply);
    enter(&mut hand, "6,1");
    assert_eq!(hand.status().points, 1, "the first point can only be a place");
    type_text(&mut hand, "3,5");
    hand.key(Key::Right);
    enter(&mut hand, "9,5; 4,6");
    enter(&mut hand, "2.5 m,4.6");
    type_text(&mut hand, "1,234");
    hand.key(Key::Up);
    assert!(hand.session.notice.as_ref().unwrap().text.contains("could mean"));
    hand.key(Key::Escape);
    enter(&mut hand, "2,5, 0,5");
    hand.key(Key::Enter);
    let path = hand.session.plan.ducts[0].path.clone();
    assert_eq!(path, points(&[(6.0, 1.0), (9.5, 1.0), (9.5, 4.6), (2.5, 4.6), (2.5, 0.5)]));
    hand.session.apply(Command::Select(Some(hand.session.plan.ducts[0].id.clone())));
    take(&mut hand, Tool::Step);
    enter(&mut hand, "1,5");
    assert_eq!(hand.session.plan.ducts[0].steps[0].station_m, 1.5);
}

#[test]
fn a_transfer_duct_has_its_damper_and_a_step_its_place() {
    let mut hand = Hand::new();
    take(&mut hand, Tool::Transfer);
    for (x, y) in [(11.0, 2.9), (9.0, 2.9), (9.0, 2.9)] {
        hand.click(x, y);
    }
    let plan = &hand.session.plan;
    let new = plan.ducts.iter().find(|duct| duct.id == "transfer-1").unwrap();
    assert!(new.role == DuctRole::Transfer && new.damper.is_some());
    take(&mut hand, Tool::Step);
    hand.click(18.0, 4.62);
    let run = hand.session.plan.ducts.iter().find(|duct| duct.id == "cure-1").unwrap();
    assert_eq!(run.steps.iter().map(|step| step.station_m).collect::<Vec<_>>(), [7.0]);
    assert!(run.steps[0].section.plan_width_m() < run.section.plan_width_m());
    // Where there is no duct nothing is done, and it is said.
    let before = hand.session.plan.clone();
    hand.click(20.0, -3.0);
    assert_eq!(hand.session.plan, before);
    assert!(hand.session.notice.as_ref().is_some_and(|notice| notice.text.contains("no duct here")));
}

#[test]
fn an_impossible_drawing_is_allowed_and_found() {
    let mut hand = Hand::new();
    take(&mut hand, Tool::Supply);
    for (x, y) in [(13.0, 0.6), (13.0, 5.2), (13.0, 5.2)] {
        hand.click(x, y);
    }
    assert!(hand.session.plan.ducts.iter().any(|duct| duct.id == "run-1"));
    let found = drawing(&hand.session.plan);
    for rule in ["overlap", "open-end"] {
        assert!(
            found.iter().any(|f| f.id == rule && f.item.as_deref() == Some("run-1")),
            "{rule}: {found:?}"
        );
    }
    // It cannot be calculated; the findings are there all the same.
    let generation = hand.session.generation;
    let outcome = engine::analysis::analyse(&hand.session.plan).map(Box::new);
    assert!(outcome.is_err());
    hand.session.apply(Command::Analysed { generation, outcome });
    assert!(hand.session.findings().iter().any(|f| f.id == "overlap"));
}

#[test]
fn shift_a_box_and_a_long_press_select_several() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    let at = hand.at(15.3, 4.0);
    hand.act(Gesture::Down { pointer: 1, at, device: Device::Mouse, button: 0, shift: true });
    hand.up(at);
    assert_eq!(hand.session.selected().collect::<Vec<_>>(), ["cure-1", "cure-2"]);
    // Again: no longer.
    hand.act(Gesture::Down { pointer: 1, at, device: Device::Mouse, button: 0, shift: true });
    hand.up(at);
    assert_eq!(hand.session.selected().collect::<Vec<_>>(), ["cure-1"]);
    let finger = Gesture::Down { pointer: 6, at, device: Device::Touch, button: 0, shift: false };
    hand.act(finger);
    hand.act(Gesture::LongPress { pointer: 6 });
    hand.act(Gesture::Up { pointer: 6, at });
    assert_eq!(hand.session.selected().collect::<Vec<_>>(), ["cure-1", "cure-2"]);
    // A box, by a drag with Shift and by two taps.
    hand.session.apply(Command::Select(None));
    let (from, to) = (hand.at(0.2, 1.2), hand.at(7.8, 5.0));
    hand.act(Gesture::Down { pointer: 1, at: from, device: Device::Mouse, button: 0, shift: true });
    hand.go(hand.at(4.0, 3.0));
    hand.go(to);
    hand.up(to);
    let boxed: Vec<String> = hand.session.selected().map(str::to_owned).collect();
    assert_eq!(boxed.len(), 4, "{boxed:?}");
    assert!(boxed.iter().all(|id| id.starts_with("dry-")), "{boxed:?}");
    take(&mut hand, Tool::Box);
    tap(&mut hand, 0.2, 1.2);
    tap(&mut hand, 7.8, 5.0);
    assert_eq!(hand.session.selected().map(str::to_owned).collect::<Vec<_>>(), boxed);
    // By keys: step on with Shift.
    hand.session.apply(Command::Select(Some("cure-1".into())));
    hand.act(Gesture::KeyDown { key: Key::Next, shift: true });
    hand.act(Gesture::KeyUp { key: Key::Next });
    assert_eq!(hand.session.selected().count(), 2);
}

#[test]
fn several_items_move_together_as_one_step() {
    let mut hand = Hand::new();
    let start = hand.session.plan.clone();
    hand.session.apply(Command::SelectAll(vec!["cure-1".into(), "cure-2".into(), "column-1".into()]));
    hand.down(hand.at(18.3, 4.6));
    for x in [18.6, 19.07, 19.4, 20.31] {
        hand.go(hand.at(x, 4.87));
    }
    hand.up(hand.at(20.31, 4.87));
    assert_eq!(hand.path("cure-1"), points(&[(13.0, 4.9), (27.2, 4.9)]));
    assert_eq!(hand.path("cure-2"), points(&[(13.0, 4.3), (22.0, 4.3)]));
    assert_eq!(hand.session.history.undo_label(), Some("Move together"));
    assert_eq!(hand.session.history.depth(), 1);
    hand.act(Gesture::KeyDown { key: Key::Left, shift: true });
    hand.act(Gesture::KeyDown { key: Key::Left, shift: true });
    hand.act(Gesture::KeyUp { key: Key::Left });
    assert_eq!(hand.path("cure-1"), points(&[(11.0, 4.9), (25.2, 4.9)]));
    assert_eq!(hand.session.history.depth(), 2);
    hand.session.apply(Command::Undo);
    hand.session.apply(Command::Undo);
    assert_eq!(hand.session.plan, start);
}

#[test]
fn single_items_and_corners_are_dragged_and_edges_stay_square() {
    let mut hand = Hand::new();
    hand.click(26.6, -0.4);
    assert_eq!(hand.selected(), Some("column-1"));
    hand.down(hand.at(26.6, -0.4));
    hand.go(hand.at(27.0, 0.4));
    hand.up(hand.at(27.62, 0.63));
    hand.go(hand.at(27.62, 0.63));
    let at = hand.session.plan.enclosure.columns[0].at;
    assert_eq!(at, Point::new(27.0, 0.4));
    hand.session.apply(Command::Select(Some("cure".into())));
    let corner = hand.session.plan.zones[1].outline[2];
    hand.down(hand.at(corner.x_m, corner.y_m));
    hand.go(hand.at(corner.x_m + 0.5, corner.y_m + 0.52));
    hand.up(hand.at(corner.x_m + 0.5, corner.y_m + 0.52));
    let outline = &hand.session.plan.zones[1].outline;
    assert!(outline.windows(2).all(|w| w[0].x_m == w[1].x_m || w[0].y_m == w[1].y_m), "{outline:?}");
    assert_eq!(outline[2], Point::new(26.5, 6.9));
    hand.session.apply(Command::Select(Some("enclosure".into())));
    hand.key(Key::Char('.'));
    hand.key(Key::Left);
    assert_eq!(hand.session.plan.enclosure.outline[0], Point::new(-0.1, 0.0));
    assert!(kind_of(&hand.session.plan, "enclosure").is_some());
}

#[test]
fn any_gestures_with_any_tool_leave_no_open_step_and_undo_leads_back() {
    let mut state = 0x9e37_79b9_u32;
    let mut next = move |n: u32| {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state % n
    };
    let mut hand = Hand::new();
    let start = hand.session.plan.clone();
    let keys = "0123.,m- aoxwczpvbdtrnlie";
    for round in 0..1500 {
        if round % 12 == 0 {
            take(&mut hand, Tool::ALL[next(17) as usize]);
        }
        let at = ScreenPoint::new(f64::from(next(1000)), f64::from(next(500)));
        let pointer = 1 + next(2) as i32;
        let device = [Device::Mouse, Device::Touch, Device::Pen][next(3) as usize];
        let key = match next(12) {
            0 => Key::Enter,
            1 => Key::Backspace,
            2 => Key::Escape,
            3 => Key::Left,
            4 => Key::Up,
            5 => Key::Next,
            _ => Key::Char(keys.as_bytes()[next(keys.len() as u32) as usize] as char),
        };
        hand.act(match next(14) {
            0..=2 => Gesture::Down { pointer, at, device, button: 0, shift: next(4) == 0 },
            3..=5 => Gesture::Move { pointer, at, device },
            6..=8 => Gesture::Up { pointer, at },
            9 => Gesture::LongPress { pointer },
            10 => Gesture::Cancel { pointer },
            11 => Gesture::Finish,
            12 => Gesture::KeyDown { key, shift: next(3) == 0 },
            _ => Gesture::KeyUp { key },
        });
    }
    for pointer in [1, 2] {
        hand.act(Gesture::Cancel { pointer });
    }
    hand.act(Gesture::Blur);
    assert!(!hand.tools.is_moving() && !hand.session.history.in_gesture());
    assert!(hand.session.history.depth() > 12, "{}", hand.session.history.depth());
    while hand.session.history.undo_label().is_some() {
        hand.session.apply(Command::Undo);
        assert_eq!(hand.session.broken_invariants(), Vec::<String>::new());
    }
    assert_eq!(hand.session.plan, start);
}

#[test]
fn a_duct_runs_at_an_angle_by_alt_by_the_button_and_by_typing() {
    let mut hand = bare();
    take(&mut hand, Tool::Supply);
    hand.click(0.0, 0.0);
    // Square unless asked otherwise.
    hand.go(hand.at(3.0, 1.8));
    assert_eq!(hand.preview().unwrap().path[1], Point::new(3.0, 0.0));
    // With Alt: 31 degrees are held to 30, and the length is on the grid.
    hand.tools.hold_alt(true);
    hand.go(hand.at(3.0, 1.8));
    let note = hand.tools.note().map(|note| note.1.clone()).unwrap();
    assert!(note.contains("3.5") && note.contains("30"), "{note}");
    let at = hand.preview().unwrap().path[1];
    assert!((at.x_m - 3.031_088_913).abs() < 1e-8 && (at.y_m - 1.75).abs() < 1e-8, "{at:?}");
    // Between the fifteenths whole degrees: atan(0.75) is 36.87.
    hand.go(hand.at(4.0, 3.0));
    let note = hand.tools.note().map(|note| note.1.clone()).unwrap();
    assert!(note.contains("5") && note.contains("37"), "{note}");
    hand.tools.hold_alt(false);
    // The button, or F, does so until it is pressed again; Alt then says square.
    assert_eq!(hand.status().any_angle, Some(false));
    hand.key(Key::Char('f'));
    assert_eq!(hand.status().any_angle, Some(true));
    hand.click(3.0, 1.8);
    assert_eq!(hand.status().points, 2);
    hand.tools.hold_alt(true);
    hand.go(hand.at(5.0, 2.0));
    assert!((hand.preview().unwrap().path[2].y_m - 1.75).abs() < 1e-8);
    hand.tools.hold_alt(false);
    // Typed, square or not: half a metre at minus 60 degrees.
    hand.key(Key::Char('f'));
    enter(&mut hand, "2 m at -60");
    assert_eq!(hand.status().points, 3, "{:?}", hand.session.notice);
    hand.act(Gesture::Finish);
    let path = &hand.session.plan.ducts[0].path;
    let (dx, dy) = (path[2].x_m - path[1].x_m, path[2].y_m - path[1].y_m);
    assert!((dx - 1.0).abs() < 1e-8 && (dy + 1.732_050_808).abs() < 1e-8, "{path:?}");
    assert_eq!(hand.session.history.undo_label(), Some("Draw duct"));
    // An enclosure stays square: there is no button for it.
    take(&mut hand, Tool::Outline);
    assert_eq!(hand.status().any_angle, None);
}
