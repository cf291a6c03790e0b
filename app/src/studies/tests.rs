//! Questions through the session, and every setting through the file.

use super::answer::answer;
use super::ask::{ASKS, Ask, What};
use super::settings;
use super::sheet::{Cell, Offer, Sheet};
use super::state::Intent;
use crate::command::Command;
use crate::edit::Edit;
use crate::session::Session;
use crate::settings::{Holds, at, document, set};
use crate::solve::{Answer, Changed, Job, Outcome};
use crate::starter;
use engine::error::EngineError;
use engine::plan::{Plan, ShopRecord, Tolerances, Weighing, file};
use serde_json::{Value, json};

#[test]
fn the_table_of_questions_is_in_the_order_of_their_names() {
    for (i, about) in ASKS.iter().enumerate() {
        assert_eq!(about.what as usize, i, "{}", about.label);
        assert_eq!(about.what.about().testid, about.testid);
        for (choice, _) in about.choices.iter().enumerate() {
            let ask = Ask::usual(about.what, choice as u8);
            if let (Some(number), Some(value)) = (ask.chosen().number, ask.number) {
                assert!((number.range.0..=number.range.1).contains(&value), "{}", about.label);
            }
        }
    }
}

fn ask(plan: &Plan, what: What, choice: u8) -> (Sheet, Option<Changed>) {
    let ask = Ask::usual(what, choice);
    let (sheet, changed) =
        answer(&ask, plan, &mut |_, _| {}).unwrap_or_else(|error| panic!("{}: {error}", what.about().label));
    // Without keys, a field that is left out shifts all that follow.
    let outcome = Outcome::Sheet(Box::new(sheet.clone()), changed.clone().map(Box::new));
    let sent = Answer { generation: 0, job: Job::Ask(ask), outcome };
    let bytes = postcard::to_allocvec(&sent).expect("an answer can be written");
    let same = postcard::to_allocvec(&postcard::from_bytes::<Answer>(&bytes).expect("and can be read"));
    assert_eq!(same.expect("and written again"), bytes, "{}", what.about().label);
    (sheet, changed)
}

/// The figure in a row that begins with `title`.
fn figure(sheet: &Sheet, table: usize, title: &str, column: usize) -> f64 {
    let found = sheet.tables[table].rows.iter().find(|row| row[0] == Cell::from(title));
    match found.unwrap_or_else(|| panic!("no row {title}"))[column] {
        Cell::Value(_, si) => si,
        ref other => panic!("{title} is {other:?}"),
    }
}

#[test]
fn quick_questions_are_answered_on_the_demonstration_and_arrive_as_they_were_sent() {
    let plan = starter::demo();
    for choice in 0..3 {
        let (sheet, changed) = ask(&plan, What::Level, choice);
        let changed = changed.expect("levelling is a command");
        assert_eq!(figure(&sheet, 1, "Shaft power", 2), changed.after.fan.shaft_power_w);
    }
    let (sheet, changed) = ask(&plan, What::Level, 3);
    assert_eq!((sheet.offers.len(), changed), (3, None));
    for choice in 0..2 {
        let (sheet, changed) = ask(&plan, What::Sections, choice);
        assert!(changed.is_some() && sheet.tables[1].head.len() == 4);
    }
    let (sheet, _) = ask(&plan, What::Courses, 0);
    assert_eq!(sheet.tables[0].head.len(), 5);
    let (sheet, _) = ask(&plan, What::Laws, 0);
    assert_eq!(sheet.tables[0].rows.len(), 5);
    let (sheet, _) = ask(&plan, What::Duty, 0);
    assert_eq!((sheet.tables[0].rows.len(), sheet.marks.len()), (4, 4));
    let (_, changed) = ask(&plan, What::Drive, 0);
    assert!(changed.is_some_and(|changed| changed.plan.heater.fan.drive.is_some()));
    let (sheet, _) = ask(&plan, What::Coverage, 0);
    assert!(sheet.map.is_some() && !sheet.curves.is_empty());
    let (sheet, _) = ask(&plan, What::SetReturns, 0);
    assert_eq!(sheet.tables[0].rows.len(), plan.returns.len());
}

#[test]
fn a_study_tells_how_far_it_is_and_puts_p90_at_its_head() {
    let plan = starter::demo();
    let mut told = Vec::new();
    let asked = Ask::usual(What::AsBuilt, 1);
    let (sheet, changed) =
        answer(&asked, &plan, &mut |done, of| told.push((done, of))).expect("it can be studied");
    assert!(changed.is_none() && told.len() > 20 && told.windows(2).all(|w| w[0].0 < w[1].0), "{told:?}");
    assert_eq!(
        sheet.headline,
        [figure(&sheet, 0, "Worst bay off its share", 2), figure(&sheet, 0, "Worst bay off its share", 3)]
    );
    assert!(sheet.headline[0] < sheet.headline[1]);
}

fn started(what: What) -> Session {
    let mut session = Session::new(starter::demo());
    session.apply(Intent::Start(what).into());
    session
}

fn laid_out(label: &str, plan: &Plan) -> Box<Sheet> {
    Box::new(Sheet { offers: vec![Offer::new(label, plan)], headline: vec![2.0, 4.0], ..Sheet::default() })
}

fn answered(session: &mut Session, sheet: Box<Sheet>, changed: Option<Box<Changed>>) {
    let ask = session.studies.asking.as_ref().expect("something is asked").ask;
    session.apply(Intent::Answered { ask, outcome: Ok((sheet, changed)) }.into());
}

#[test]
fn an_answer_is_out_of_date_once_the_plan_has_changed_and_current_again_after_undo() {
    let mut session = started(What::AsBuilt);
    let plan = session.plan.clone();
    answered(&mut session, laid_out("same", &plan), None);
    assert_eq!(super::card::as_built(&session), Some((2.0, 4.0, true)));
    session.apply(Edit::RequiredFlow(6.5).into());
    assert_eq!(super::card::as_built(&session), Some((2.0, 4.0, false)));
    session.apply(Command::Undo);
    assert_eq!(super::card::as_built(&session), Some((2.0, 4.0, true)));
}

#[test]
fn what_was_asked_of_the_plan_before_a_change_never_changes_the_plan() {
    let mut session = started(What::Level);
    let before = session.plan.clone();
    session.apply(Edit::RequiredFlow(6.5).into());
    let now = session.plan.clone();
    let (sheet, changed) = ask(&before, What::Level, 0);
    answered(&mut session, Box::new(sheet), changed.map(Box::new));
    assert_eq!(session.plan, now);
    assert!(session.notice.as_ref().is_some_and(|notice| notice.text.contains("left aside")));
    assert!(!session.studies.answer(What::Level).expect("it is kept").is_about(&session.plan));
}

#[test]
fn a_command_is_one_step_that_undo_takes_back_and_a_stopped_one_is_none() {
    let mut session = started(What::Drive);
    let before = session.plan.clone();
    let (sheet, changed) = ask(&before, What::Drive, 0);
    answered(&mut session, Box::new(sheet), changed.map(Box::new));
    assert_eq!(session.history.undo_label(), Some("Fit drive"));
    assert!(session.studies.answer(What::Drive).expect("answered").is_about(&session.plan));
    session.apply(Command::Undo);
    assert_eq!(session.plan, before);

    session.apply(Intent::Start(What::Drive).into());
    session.apply(Intent::Stop.into());
    let late = Err(EngineError::new("drive", "late", "nothing"));
    session.apply(Intent::Answered { ask: Ask::usual(What::Drive, 0), outcome: late }.into());
    assert_eq!(session.plan, before);
    assert!(session.notice.as_ref().is_some_and(|notice| notice.text.contains("stopped")));
}

#[test]
fn an_offered_plan_is_taken_and_given_back() {
    let mut session = started(What::Alternatives);
    let before = session.plan.clone();
    let mut other = (*before).clone();
    other.heater.fan.speed_rpm = 777.0;
    answered(&mut session, laid_out("Least metal", &other), None);
    session.apply(Intent::Take(What::Alternatives, 0).into());
    assert_eq!(*session.plan, other);
    assert_eq!(session.history.undo_label(), Some("Take “Least metal”"));
    // From one offer to the other, but not over what was changed since.
    assert!(session.studies.answer(What::Alternatives).expect("answered").may_be_taken(&session.plan));
    session.apply(Command::Undo);
    assert_eq!(session.plan, before);
    session.apply(Edit::RequiredFlow(6.5).into());
    let edited = session.plan.clone();
    session.apply(Intent::Take(What::Alternatives, 0).into());
    assert_eq!(session.plan, edited);
    assert!(session.notice.as_ref().is_some_and(|notice| notice.text.contains("ask again")));
}

#[test]
fn ways_of_levelling_tell_which_of_them_a_finding_is_about() {
    let mut plan = starter::demo();
    plan.shop.max_area_ratio = Some(0.05);
    let (sheet, _) = ask(&plan, What::Level, 3);
    let said = |finding: &engine::finding::Finding| finding.message.show(engine::units::UnitSystem::Si);
    for name in ["By slot totals: ", "By run dampers: ", "By smaller ducts: "] {
        assert!(sheet.findings.iter().any(|finding| said(finding).starts_with(name)), "{name}");
    }
    assert!(sheet.findings.iter().all(|finding| said(finding).starts_with("By ")));
}

#[test]
fn the_fans_duty_says_what_each_motor_needs() {
    let mut plan = starter::demo();
    plan.heater.fan.count = 2;
    let (sheet, _) = ask(&plan, What::Duty, 0);
    let duty = engine::design::fan_duty(&plan).expect("a duty");
    assert_eq!(figure(&sheet, 1, "The motor's rating, at least, each of 2", 1), duty.motor.needed_w);
    assert_eq!(sheet.findings, engine::design::duty_findings(&plan, &duty));
}

#[test]
fn what_is_said_to_be_usual_is_what_the_file_takes_it_for() {
    let usual = |text: &str| serde_json::from_str::<Value>(text).expect("JSON");
    let mut tolerances = serde_json::to_value(Tolerances::default()).expect("tolerances can be written");
    // Left out while it is empty.
    tolerances["slot_law_weights"] = json!([]);
    assert_eq!(tolerances, usual(settings::TOLERANCES_USUAL));
    assert_eq!(serde_json::to_value(Weighing::default()).ok(), Some(usual(settings::WEIGHING_USUAL)));
    let air = engine::plan::AirAtPart::default();
    assert_eq!(serde_json::to_value(air).ok(), Some(usual(settings::AIR_USUAL)));
    let shop: ShopRecord = serde_json::from_str(settings::SHOP_USUAL).expect("a shop record");
    assert_eq!(shop, ShopRecord::default());
}

/// The demonstration with one of everything in the lists.
fn full() -> Plan {
    let mut plan = starter::demo();
    for (list, path) in [
        (&settings::SPEED_LIMITS, "/shop/speed_limits"),
        (&settings::BLANKED, "/slot_rows/0/blanked_m"),
        (&settings::BENCH, "/bench_pieces"),
    ] {
        let new = crate::settings::fresh(list, &[]);
        set(&mut plan, &format!("{path}/-"), Some(&new)).unwrap_or_else(|error| panic!("{path}: {error}"));
    }
    plan
}

fn values(holds: &Holds) -> Vec<Value> {
    match *holds {
        Holds::Number(_, low, high) => vec![json!(low + 0.3 * (high - low))],
        Holds::Optional(_, low, high) => vec![json!(low + 0.3 * (high - low)), Value::Null],
        Holds::Whole(low, high) => vec![json!(low), json!(high)],
        Holds::OptionalWhole(low, high) => vec![json!(low), json!(high), Value::Null],
        Holds::Several(_, low, high) => vec![json!([low, 0.5 * high])],
        Holds::Text | Holds::OptionalText => vec![json!("cure")],
        Holds::Switch => vec![json!(true)],
        Holds::Choice(options) => {
            options.iter().map(|(json, _)| serde_json::from_str(json).expect("an option is JSON")).collect()
        }
    }
}

#[test]
fn each_setting_is_held_by_the_file_and_undo_brings_back_what_was() {
    for (base, settings, _) in settings::all() {
        for setting in settings {
            let mut session = Session::new(full());
            if let Some((choice, key)) = setting.at.split_once('/') {
                let of = settings.iter().find(|other| other.at == choice).expect("a choice");
                let Holds::Choice(options) = of.holds else { panic!("{choice} holds figures") };
                let value =
                    options.iter().map(|(json, _)| serde_json::from_str::<Value>(json).expect("JSON"));
                let value = value.into_iter().find(|value| value.pointer(&format!("/{key}")).is_some());
                let value = value.unwrap_or_else(|| panic!("no choice has {key}"));
                set(std::rc::Rc::make_mut(&mut session.plan), &format!("{base}/{choice}"), Some(&value))
                    .expect("a choice can be made");
            }
            let path = format!("{base}/{}", setting.at);
            for value in values(&setting.holds) {
                let before = session.plan.clone();
                let edit = Edit::Set { what: "setting", path: path.clone(), value: Some(value.clone()) };
                session.apply(edit.into());
                assert_eq!(session.notice, None, "{path} refuses {value}");
                let again = file::read(&file::write(&session.plan)).expect("it can be read");
                assert_eq!(again, *session.plan, "{path}");
                let unknown = session.plan.unknown_fields();
                assert!(unknown.is_empty(), "{path} is no key of the file: {unknown:?}");
                if session.plan != before {
                    session.apply(Command::Undo);
                    assert_eq!(session.plan, before, "{path}");
                    session.apply(Command::Redo);
                }
                let stands = at(&document(&session.plan), &path).cloned();
                // What is usual, or nothing, need not be written.
                if let Some(stands) = stands
                    && !value.is_object()
                {
                    assert_eq!(stands, value, "{path}");
                }
            }
        }
    }
}
