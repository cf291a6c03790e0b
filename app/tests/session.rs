//! The session driven by gestures and by random commands, with the invariants swept after each.

use app::command::Command;
use app::edit::{
    self, Axis, Drawn, DuctEdit, Edit, FanEdit, GroupEdit, NewItem, PathEdit, ReturnEdit, SlotRowEdit,
    ZoneEdit,
};
use app::session::{Camera, SaveState, Session};
use app::starter;
use app::studies::{Ask, Intent, Sheet, What};
use engine::plan::{DuctRole, Point, Section};

fn apply(session: &mut Session, command: Command) {
    let what = format!("{command:?}");
    session.apply(command);
    assert_eq!(session.broken_invariants(), Vec::<String>::new(), "after {what}");
}

#[test]
fn a_drag_is_one_undo_step_and_undo_gives_back_exactly_the_starting_plan() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    apply(&mut session, Command::Begin("Move duct"));
    for i in 1..=20 {
        let to = Point::new(20.0 - 0.1 * f64::from(i), 4.0);
        apply(&mut session, Command::MoveDuctPoint { duct: "cure-2".into(), point: 1, to });
    }
    apply(&mut session, Command::Commit);
    assert_eq!(session.history.depth(), 1);
    let moved = session.plan.clone();
    assert_ne!(moved, start);
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);
    apply(&mut session, Command::Redo);
    assert_eq!(session.plan, moved);
}

#[test]
fn an_aborted_drag_leaves_no_trace_and_keeps_redo() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    apply(&mut session, Edit::Name("Other".into()).into());
    apply(&mut session, Command::Undo);
    apply(&mut session, Command::Begin("Move return"));
    apply(&mut session, Command::MoveReturn { id: "return-1".into(), station_m: 2.0 });
    apply(&mut session, Command::Abort);
    assert_eq!(session.plan, start);
    assert_eq!(session.history.redo_label(), Some("Name the plan"));
}

#[test]
fn a_drag_that_ends_where_it_began_is_no_step() {
    let mut session = Session::new(starter::demo());
    let station_m = session.plan.returns[0].station_m;
    apply(&mut session, Command::Begin("Move return"));
    apply(&mut session, Command::MoveReturn { id: "return-1".into(), station_m: 2.0 });
    apply(&mut session, Command::MoveReturn { id: "return-1".into(), station_m });
    apply(&mut session, Command::Commit);
    assert_eq!(session.history.depth(), 0);
}

#[test]
fn while_a_hand_drags_the_air_is_followed_and_all_of_it_found_when_it_rests() {
    let analysed = |session: &mut Session| {
        let outcome = engine::analysis::analyse(&session.plan).map(Box::new);
        apply(session, Command::Analysed { generation: session.generation, outcome });
        session.analysis.clone().unwrap()
    };
    let mut follower = engine::analysis::Follower::default();
    let mut session = Session::new(starter::demo());
    let before = analysed(&mut session);
    assert!(before.heat.is_some() && session.analysis_is_current());

    apply(&mut session, Command::Begin("Move duct"));
    for x_m in [19.5, 19.0] {
        let to = Point::new(x_m, 4.0);
        apply(&mut session, Command::MoveDuctPoint { duct: "cure-2".into(), point: 1, to });
        let analysis = Box::new(follower.follow(&session.plan).unwrap());
        let generation = session.generation;
        apply(&mut session, Command::Followed { generation, analysis });
        let dragged = session.analysis.clone().unwrap();
        assert!(session.followed && session.analysis_is_current());
        assert_ne!(dragged.slots, before.slots);
        assert_eq!((&dragged.heat, &dragged.findings), (&before.heat, &before.findings));
    }

    apply(&mut session, Command::Commit);
    assert!(!session.analysis_is_current(), "heat and findings are still those of before");
    let rested = analysed(&mut session);
    assert!(!session.followed && session.analysis_is_current());
    assert_ne!(rested.heat, before.heat);
}

#[test]
fn selecting_zooming_and_switching_units_are_no_steps_and_keep_redo() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    apply(&mut session, Edit::RequiredFlow(4.25).into());
    apply(&mut session, Command::Undo);
    apply(&mut session, Command::Select(Some("cure-1".into())));
    let camera = Camera { centre: Point::new(1.0, 1.0), px_per_m: 30.0 };
    apply(&mut session, Command::SetCamera(Some(camera)));
    apply(&mut session, Command::SetUnits(engine::units::UnitSystem::InchPound));
    assert_eq!(session.plan, start);
    assert_eq!(session.history.depth(), 0);
    assert_eq!(session.history.redo_label(), Some("Change air wanted"));
}

#[test]
fn deleting_a_duct_takes_its_rows_and_returns_with_it_and_undo_brings_all_back() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    apply(&mut session, Command::Select(Some("slots-cure-1/3".into())));
    assert_eq!(session.selection.as_deref(), Some("slots-cure-1/3"));
    apply(&mut session, Edit::Delete("cure-1".into()).into());
    assert_eq!(session.selection, None);
    assert!(session.plan.slot_rows.iter().all(|row| row.duct != "cure-1"));
    apply(&mut session, Edit::Delete("return-cure".into()).into());
    assert_eq!(session.plan.returns.len(), 3);
    apply(&mut session, Command::Undo);
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);
}

#[test]
fn renaming_carries_every_reference_and_refuses_a_taken_name() {
    let mut session = Session::new(starter::demo());
    apply(&mut session, Edit::Rename { from: "cure-1".into(), to: "north run".into() }.into());
    assert_eq!(session.plan.slot_rows[0].duct, "north run");
    assert_eq!(session.selection.as_deref(), Some("north run"));
    apply(&mut session, Edit::Rename { from: "cure".into(), to: "main".into() }.into());
    assert!(session.plan.openings.iter().any(|item| item.to_zone.as_deref() == Some("main")));
    let before = session.plan.clone();
    apply(&mut session, Edit::Rename { from: "cure-2".into(), to: "trunk".into() }.into());
    assert_eq!(session.plan, before);
    let notice = session.notice.as_ref().expect("a refusal is told");
    assert!(notice.alert && notice.text.contains("trunk is taken"), "{}", notice.text);
}

#[test]
fn one_slot_width_of_a_uniform_row_leaves_the_others_alone() {
    let mut session = Session::new(starter::demo());
    let before = session.plan.slot_rows[4].clone();
    assert_eq!((before.id.as_str(), before.widths_m.len()), ("slots-cure-5", 1));
    apply(&mut session, Command::SetSlotWidth { row: "slots-cure-5".into(), slot: 2, width_m: 0.02 });
    let mut wanted = vec![before.widths_m[0]; before.count as usize];
    wanted[2] = 0.02;
    assert_eq!(session.plan.slot_rows[4].widths_m, wanted);
    apply(&mut session, Edit::SlotRow { id: "slots-cure-5".into(), edit: SlotRowEdit::Count(6) }.into());
    assert_eq!(session.plan.slot_rows[4].widths_m.len(), 6);
}

#[test]
fn an_answer_for_an_older_plan_is_shown_but_a_changed_plan_is_not_taken_over() {
    let mut session = Session::new(starter::demo());
    apply(&mut session, Intent::Start(What::EvenOut).into());
    apply(&mut session, Edit::RequiredFlow(4.25).into());
    let after_edit = session.plan.clone();
    let done = app::solve::Changed {
        plan: starter::empty().into(),
        before: engine::analysis::Analysis::default(),
        after: engine::analysis::Analysis::default(),
        findings: Vec::new(),
    };
    let outcome = Ok((Box::new(Sheet::default()), Some(Box::new(done))));
    apply(&mut session, Intent::Answered { ask: Ask::usual(What::EvenOut, 0), outcome }.into());
    assert_eq!(session.plan, after_edit);
    assert!(session.studies.asking.is_none());
    assert!(session.notice.as_ref().is_some_and(|notice| notice.text.contains("run it again")));
}

#[test]
fn answers_that_arrive_out_of_order_never_replace_newer_ones() {
    let mut session = Session::new(starter::demo());
    apply(&mut session, Edit::RequiredFlow(4.25).into());
    let named = |status: &str| {
        Ok(Box::new(engine::analysis::Analysis { status: status.into(), ..Default::default() }))
    };
    apply(&mut session, Command::Analysed { generation: 2, outcome: named("new") });
    apply(&mut session, Command::Analysed { generation: 1, outcome: named("old") });
    assert_eq!(session.analysis.as_ref().map(|a| a.status.as_str()), Some("new"));
    assert!(session.analysis_is_current());
}

#[test]
fn opening_another_plan_can_be_undone() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    let plan = Box::new(starter::empty());
    apply(&mut session, Command::ReplacePlan { plan, label: "New plan".into(), saved: SaveState::Kept(0) });
    assert_eq!(session.plan.name, "New oven");
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);
}

#[test]
fn a_plan_with_a_mistake_is_offered_and_the_present_one_stays() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    let mut wrong = starter::demo();
    wrong.ducts[2].section = Section::Rectangular { width_m: -0.5, height_m: 0.4 };
    let error = app::platform::files::why_not_calculable(&wrong).expect("a negative width is a mistake");
    assert!(error.to_string().contains("cure-1"), "{error}");
    let offer = Command::Offer {
        plan: Box::new(wrong.clone()),
        label: "Open wrong".into(),
        reason: error.to_string(),
        saved: SaveState::InFile(0),
    };
    apply(&mut session, offer.clone());
    assert_eq!(session.plan, start);
    apply(&mut session, Command::Dismiss);
    apply(&mut session, Command::TakeOffer);
    assert_eq!(session.plan, start);
    apply(&mut session, offer);
    apply(&mut session, Command::TakeOffer);
    assert_eq!(*session.plan, wrong);
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);
}

#[test]
fn from_an_empty_plan_everything_can_be_added_by_commands() {
    let mut session = Session::new(starter::empty());
    for item in [NewItem::Enclosure, NewItem::Zone, NewItem::Opening, NewItem::Conveyor, NewItem::Column] {
        apply(&mut session, Edit::Add(item).into());
    }
    apply(&mut session, Edit::Fan(FanEdit::StartCurve).into());
    apply(&mut session, Edit::Add(NewItem::FixedLoss).into());
    apply(&mut session, Edit::Add(NewItem::Duct(DuctRole::Supply)).into());
    let trunk = session.selection.clone().expect("what was added is selected");
    for _ in 0..4 {
        apply(&mut session, Edit::Add(NewItem::Branch { from: trunk.clone() }).into());
        let run = session.selection.clone().expect("what was added is selected");
        apply(&mut session, Edit::Add(NewItem::SlotRow { duct: run }).into());
    }
    apply(&mut session, Edit::Add(NewItem::Duct(DuctRole::Return)).into());
    let duct = session.selection.clone();
    for _ in 0..2 {
        apply(&mut session, Edit::Add(NewItem::Return { duct: duct.clone() }).into());
    }
    apply(&mut session, Edit::Add(NewItem::Exhaust).into());
    let plan = &session.plan;
    let joints = engine::plan::geometry::joints(plan);
    let ends = |duct: &str, last: bool| {
        let index = plan.ducts.iter().position(|item| item.id == duct).expect("in the plan");
        joints.iter().any(|joint| joint.duct == index && joint.last == last)
    };
    assert!(ends(&trunk, false), "the trunk starts at the heater");
    for run in ["run-1", "run-2", "run-3", "run-4"] {
        assert!(ends(run, false), "{run} starts on the trunk");
    }
    assert!(ends(duct.as_deref().unwrap_or_default(), true), "the return duct ends at the heater");
    assert_eq!(plan.slot_rows.len(), 4);
    let inside = |p| engine::plan::geometry::inside(&plan.enclosure.outline, p);
    assert!(engine::plan::geometry::slot_places(plan).iter().all(|slot| inside(slot.at)));
}

/// What the guide of an empty plan adds, in its order, must lead to an oven that evens out.
#[test]
fn from_an_empty_plan_the_guided_way_leads_to_an_even_oven() {
    let mut session = Session::new(starter::empty());
    apply(&mut session, Edit::Add(NewItem::Enclosure).into());
    apply(&mut session, Edit::Add(NewItem::Zone).into());
    apply(&mut session, Edit::Fan(FanEdit::StartCurve).into());
    apply(&mut session, Edit::Add(NewItem::Duct(DuctRole::Supply)).into());
    for _ in 0..2 {
        apply(&mut session, Edit::Add(NewItem::Branch { from: "trunk-1".into() }).into());
        let duct = session.selection.clone().expect("what was added is selected");
        apply(&mut session, Edit::Add(NewItem::SlotRow { duct }).into());
    }
    apply(&mut session, Edit::Add(NewItem::Duct(DuctRole::Return)).into());
    let duct = session.selection.clone();
    apply(&mut session, Edit::Add(NewItem::Return { duct }).into());
    let request =
        |job| app::solve::Request { generation: session.generation, job, plan: session.plan.clone() };
    let solved = app::solve::answer(&request(app::solve::Job::Analyse), &mut |_| {});
    let app::solve::Outcome::Analysed(analysis) = &solved.outcome else { panic!("{:?}", solved.outcome) };
    assert_eq!(analysis.status, "converged");
    let ask = Ask::usual(What::EvenOut, 0);
    let evened = app::solve::answer(&request(app::solve::Job::Ask(ask)), &mut |_| {});
    let app::solve::Outcome::Sheet(_, Some(designed)) = &evened.outcome else {
        panic!("{:?}", evened.outcome)
    };
    assert!(designed.after.evenness.worst_percent < 5.0, "{}", designed.after.evenness.worst_percent);
    let before = session.plan.clone();
    apply(&mut session, Intent::Start(What::EvenOut).into());
    apply(&mut session, evened.into_command());
    assert_eq!(session.history.undo_label(), Some("Even out"));
    assert!(session.analysis_is_current());
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, before);
}

/// A small generator; the seed is the test's name for its sequence.
struct Dice(u64);
impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % sides as u64) as usize
    }
    fn pick<'a, T>(&mut self, from: &'a [T]) -> Option<&'a T> {
        if from.is_empty() { None } else { from.get(self.roll(from.len())) }
    }
}

fn random_command(dice: &mut Dice, session: &Session) -> Command {
    let plan = &session.plan;
    let some = 0.1 + dice.roll(100) as f64 / 10.0;
    let to = Point::new(some, 3.0);
    let ids = edit::all_ids(plan);
    let id = (*dice.pick(&ids).unwrap_or(&"heater")).to_owned();
    let duct = dice.pick(&plan.ducts).map(|duct| duct.id.clone()).unwrap_or_default();
    let row = dice.pick(&plan.slot_rows).map(|row| row.id.clone()).unwrap_or_default();
    let opening = dice.pick(&plan.returns).map(|item| item.id.clone()).unwrap_or_default();
    let zone = dice.pick(&plan.zones).map(|item| item.id.clone()).unwrap_or_default();
    let ids: Vec<String> =
        (0..1 + dice.roll(3)).filter_map(|_| dice.pick(&ids)).map(|id| (*id).to_owned()).collect();
    match dice.roll(30) {
        0 => Command::Select(Some(id)),
        1 => Command::Begin("Drag"),
        2 => Command::Commit,
        3 => Command::Abort,
        4 | 5 => Command::Undo,
        6 => Command::Redo,
        7 | 8 => Command::MoveDuctPoint { duct, point: dice.roll(4), to },
        9 => Command::MoveReturn { id: opening, station_m: some },
        10 => Command::SetSlotWidth { row, slot: dice.roll(25), width_m: some / 1000.0 },
        11 => Command::SetDuctSection { duct, section: Section::Round { diameter_m: some } },
        12 => Edit::Duct { id: duct, edit: DuctEdit::Path(PathEdit::InsertAfter(dice.roll(3))) }.into(),
        13 => Edit::Duct { id: duct, edit: DuctEdit::Path(PathEdit::Remove(dice.roll(3))) }.into(),
        14 => Edit::SlotRow { id: row, edit: SlotRowEdit::Count(dice.roll(30) as u32) }.into(),
        15 => Edit::Return { id: opening, edit: ReturnEdit::Height(some) }.into(),
        16 => Edit::Delete(id).into(),
        17 => Edit::Rename { from: id, to: format!("item {}", dice.roll(40)) }.into(),
        18 => Edit::Add(NewItem::SlotRow { duct }).into(),
        19 => Edit::Add(NewItem::Branch { from: duct }).into(),
        22 => Edit::Group { ids, edit: GroupEdit::Move { dx_m: some, dy_m: -some } }.into(),
        23 => {
            let axis = if dice.roll(2) == 0 { Axis::Upright } else { Axis::Level };
            Edit::Group { ids, edit: GroupEdit::Mirror { axis, at_m: some, copy: dice.roll(2) == 0 } }.into()
        }
        24 => Edit::Group { ids, edit: GroupEdit::Repeat { copies: 1, dx_m: some, dy_m: 0.0 } }.into(),
        25 if dice.roll(4) == 0 => Edit::Group { ids, edit: GroupEdit::Delete }.into(),
        26 => {
            let path = vec![to, Point::new(some, 9.0), Point::new(some + 2.0, 9.0)];
            let drawn = match dice.roll(6) {
                0 => Drawn::Duct { role: DuctRole::Supply, path },
                1 => Drawn::Zone(path),
                2 => Drawn::Wall(path),
                3 => Drawn::Slots { duct, from_m: 0.3, to_m: some, pitch_m: 0.4 },
                4 => Drawn::Step { duct, station_m: some },
                _ => Drawn::Opening(to),
            };
            Edit::Draw(drawn).into()
        }
        27 => Edit::Corner { id, point: dice.roll(6), to }.into(),
        28 => Command::Toggle(id),
        29 => Command::SelectAll(ids),
        20 => Edit::Zone { id: zone, edit: ZoneEdit::SetTemperature(some * 20.0) }.into(),
        _ => Edit::Fan(FanEdit::PointFlow { point: dice.roll(9), flow_m3_s: some }).into(),
    }
}

#[test]
fn after_any_edits_undo_leads_back_to_the_start_and_redo_to_the_end() {
    for seed in 0..60 {
        let mut dice = Dice(seed);
        let mut session = Session::new(starter::demo());
        let start = session.plan.clone();
        for _ in 0..120 {
            let command = random_command(&mut dice, &session);
            apply(&mut session, command);
        }
        apply(&mut session, Command::Commit);
        let end = session.plan.clone();
        let mut ahead = 0;
        while session.history.redo_label().is_some() {
            apply(&mut session, Command::Redo);
            ahead += 1;
        }
        while session.history.undo_label().is_some() {
            apply(&mut session, Command::Undo);
        }
        assert_eq!(session.plan, start, "seed {seed}");
        while session.history.redo_label().is_some() {
            apply(&mut session, Command::Redo);
        }
        for _ in 0..ahead {
            apply(&mut session, Command::Undo);
        }
        assert_eq!(session.plan, end, "seed {seed}");
    }
}

#[test]
fn five_hundred_edits_can_all_be_taken_back() {
    for seed in 0..4 {
        let mut dice = Dice(7_000 + seed);
        let mut session = Session::new(starter::demo());
        let start = session.plan.clone();
        let mut edits = 0;
        while edits < 500 {
            // Undoing and redoing, and gestures that swallow steps, are for the test above.
            let command = random_command(&mut dice, &session);
            if matches!(command, Command::Undo | Command::Redo | Command::Begin(_)) {
                continue;
            }
            let (before, names) = (session.generation, edit::all_ids(&session.plan).len());
            apply(&mut session, command);
            edits += usize::from(session.generation > before);
            // Enough must stay to be edited.
            if edit::all_ids(&session.plan).len() < names && names < 30 {
                apply(&mut session, Edit::Add(NewItem::Duct(DuctRole::Supply)).into());
                edits += 1;
            }
        }
        assert!(session.history.depth() >= 500, "{}", session.history.depth());
        while session.history.undo_label().is_some() {
            apply(&mut session, Command::Undo);
        }
        assert_eq!(session.plan, start, "seed {seed}");
        assert_eq!(engine::plan::file::write(&session.plan), engine::plan::file::write(&start));
    }
}

#[test]
fn the_history_is_held_by_memory_and_never_below_five_hundred_steps() {
    let named = |n: usize| Edit::Name(format!("{n}")).into();
    let mut small = Session::new(starter::empty());
    for n in 0..2_000 {
        apply(&mut small, named(n));
    }
    assert_eq!(small.history.depth(), 2_000, "small plans are kept for long");
    // A plan with a megabyte of notes.
    let mut large = Session::new(starter::empty());
    apply(&mut large, Edit::Notes("x".repeat(1 << 20)).into());
    for n in 0..700 {
        large.apply(named(n));
        assert!(large.history.is_within_bounds());
    }
    assert_eq!(large.history.depth(), 500);
    large.apply(Command::Undo);
    large.apply(Command::Redo);
    assert!(large.history.is_within_bounds());
}

#[test]
fn several_items_are_mirrored_repeated_and_deleted_each_in_one_step() {
    let mut session = Session::new(starter::demo());
    let start = session.plan.clone();
    let ids: Vec<String> = vec!["dry-1".into(), "dry-3".into()];
    let group = |edit| Command::from(Edit::Group { ids: ids.clone(), edit });
    let path = |session: &Session, id: &str| {
        session.plan.ducts.iter().find(|duct| duct.id == id).map(|duct| duct.path.clone()).unwrap_or_default()
    };
    // About the transfer duct's axis.
    apply(&mut session, group(GroupEdit::Mirror { axis: Axis::Upright, at_m: 7.2, copy: true }));
    let made: Vec<String> = session.selected().map(str::to_owned).collect();
    assert_eq!(made, ["dry-5", "dry-6"]);
    assert_eq!(path(&session, "dry-5"), [Point::new(7.2, 4.11), Point::new(13.9, 4.11)]);
    assert_eq!(session.plan.slot_rows.iter().filter(|row| made.contains(&row.duct)).count(), 4);
    assert_eq!(session.plan.slot_rows.len(), start.slot_rows.len() + 4);
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);

    apply(&mut session, group(GroupEdit::Mirror { axis: Axis::Level, at_m: 2.6, copy: false }));
    assert_eq!(path(&session, "dry-1")[0], Point::new(7.2, 1.09));
    apply(&mut session, group(GroupEdit::Mirror { axis: Axis::Level, at_m: 2.6, copy: false }));
    assert_eq!(session.plan, start, "mirrored twice is as before");

    apply(&mut session, group(GroupEdit::Repeat { copies: 3, dx_m: 0.0, dy_m: -0.3 }));
    assert_eq!(session.selected().count(), 6);
    assert_eq!(path(&session, "dry-9"), [Point::new(7.2, 3.21), Point::new(0.5, 3.21)]);
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);

    apply(&mut session, group(GroupEdit::Delete));
    assert_eq!(session.plan.ducts.len(), start.ducts.len() - 2);
    assert!(session.plan.slot_rows.iter().all(|row| !ids.contains(&row.duct)));
    apply(&mut session, Command::Undo);
    assert_eq!(session.plan, start);

    // A copied zone takes its openings with it; the only heater cannot be repeated.
    let ids = vec!["dry-off".to_owned(), "dry-in".into()];
    apply(
        &mut session,
        Edit::Group { ids, edit: GroupEdit::Repeat { copies: 1, dx_m: 0.0, dy_m: 20.0 } }.into(),
    );
    let opening = session.plan.openings.last().expect("copied");
    let zone = session.plan.zones.last().expect("copied");
    assert_eq!((&opening.zone, opening.at.y_m), (&zone.id, 23.65));
    let before = session.plan.clone();
    let edit = GroupEdit::Repeat { copies: 1, dx_m: 1.0, dy_m: 0.0 };
    apply(&mut session, Edit::Group { ids: vec!["heater".into()], edit }.into());
    assert_eq!(session.plan, before);
    assert!(session.notice.as_ref().is_some_and(|notice| notice.alert && notice.text.contains("only one")));
}

#[test]
fn every_plan_an_edit_can_make_survives_writing_and_reading() {
    let mut dice = Dice(99);
    let mut session = Session::new(starter::demo());
    for _ in 0..300 {
        let command = random_command(&mut dice, &session);
        session.apply(command);
        let text = engine::plan::file::write(&session.plan);
        let again: engine::plan::Plan = serde_json::from_str(&text).expect("what is written can be read");
        assert_eq!(again, *session.plan);
    }
}
