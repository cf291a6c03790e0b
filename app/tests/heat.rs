//! Heat in the session: what is looked at, what is accepted, sensors among the items.

use app::command::Command;
use app::edit::{Edit, NewItem};
use app::session::{Dock, Session, Step};
use app::solve::{Job, Look, Outcome, Request, Seen, answer};
use app::starter;
use serde_json::json;

fn apply(session: &mut Session, command: impl Into<Command>) {
    session.apply(command.into());
    assert_eq!(session.broken_invariants(), Vec::<String>::new());
}

fn set(path: &str, value: Option<serde_json::Value>) -> Edit {
    Edit::Set { what: "setting", path: path.into(), value }
}

#[test]
fn the_first_step_shows_heat_and_the_strip_comes_back_after_it() {
    let mut session = Session::new(starter::demo());
    apply(&mut session, Command::GoTo(Step::Need));
    assert_eq!((session.view.dock, session.looks_at()), (Dock::Heat, Some(Look::Need)));
    apply(&mut session, Command::GoTo(Step::Slots));
    assert_eq!((session.view.dock, session.looks_at()), (Dock::Strip, None));
    apply(&mut session, Command::ShowDock(Dock::Tables));
    apply(&mut session, Command::GoTo(Step::Need));
    assert_eq!(session.view.dock, Dock::Tables, "whoever works in tables stays there");
}

#[test]
fn what_is_looked_at_says_which_state_of_the_plan_it_is_of() {
    let mut session = Session::new(starter::demo());
    let request =
        Request { generation: session.generation, job: Job::Look(Look::Need), plan: session.plan.clone() };
    let seen = answer(&request, &mut |_| {});
    let Outcome::Seen(Seen::Need(need)) = &seen.outcome else { panic!("{:?}", seen.outcome) };
    assert_eq!(**need, engine::heat::need::need(&session.plan));
    apply(&mut session, seen.into_command());
    apply(&mut session, Edit::RequiredFlow(4.25));
    let seen = session.seen.as_ref().expect("it stays to be looked at");
    assert!(seen.look == Look::Need && seen.generation < session.generation);
}

#[test]
fn sensors_are_items_like_others() {
    let mut session = Session::new(starter::demo());
    session.apply(set("/sensors", Some(json!([]))).into());
    let (start, zones) = (session.plan.clone(), session.plan.zones.len());
    for _ in 0..=zones {
        apply(&mut session, Edit::Add(NewItem::Sensor));
    }
    let sensors = &session.plan.sensors;
    assert_eq!(sensors.iter().filter(|s| s.zone.is_some()).count(), zones, "one control in each zone");
    assert_eq!(sensors[zones].kind, engine::plan::SensorKind::Limit);
    assert_eq!(session.selection.as_deref(), Some(sensors[zones].id.as_str()));
    let (sensor, zone) = (sensors[0].id.clone(), sensors[0].zone.clone().expect("of a zone"));
    apply(&mut session, Edit::Rename { from: zone, to: "wash".into() });
    assert_eq!(session.plan.sensors[0].zone.as_deref(), Some("wash"));
    apply(&mut session, Edit::Rename { from: sensor, to: "TC 1".into() });
    apply(&mut session, Edit::Delete("wash".into()));
    assert!(session.plan.sensors.iter().all(|s| s.id != "TC 1"), "a zone takes its sensor with it");
    while session.history.depth() > 1 {
        apply(&mut session, Command::Undo);
    }
    assert_eq!(session.plan, start);
}

#[test]
fn an_accepted_finding_keeps_its_reason_and_follows_a_rename() {
    let mut session = Session::new(starter::demo());
    apply(&mut session, set("/accepted", None));
    let request = Request { generation: 1, job: Job::Analyse, plan: session.plan.clone() };
    let Outcome::Analysed(analysis) = answer(&request, &mut |_| {}).outcome else {
        panic!("the demonstration is sound")
    };
    let finding = analysis
        .findings
        .iter()
        .find(|f| f.item.as_ref().is_some_and(|id| app::edit::names(&session.plan, id)));
    let finding = finding.expect("something is found at a place").clone();
    let place = finding.item.clone();
    let entry = json!({ "finding": finding.id, "item": place, "reason": "agreed" });
    apply(&mut session, set("/accepted/-", Some(entry)));
    apply(&mut session, Edit::Rename { from: place.expect("a place"), to: "elsewhere".into() });
    assert_eq!(session.plan.accepted[0].item.as_deref(), Some("elsewhere"));
    let request = Request { generation: 4, job: Job::Analyse, plan: session.plan.clone() };
    let Outcome::Analysed(analysis) = answer(&request, &mut |_| {}).outcome else {
        panic!("it is still sound")
    };
    let accepted = analysis.findings.iter().find(|f| f.id == finding.id && f.accepted.is_some());
    assert_eq!(accepted.and_then(|f| f.accepted.as_deref()), Some("agreed"));
    apply(&mut session, set("/accepted/0", None));
    assert!(session.plan.accepted.is_empty());
}
