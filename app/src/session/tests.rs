use super::*;
use crate::starter;

fn renamed(name: &str) -> Box<Plan> {
    Box::new(Plan { name: name.to_owned(), ..starter::demo() })
}

#[test]
fn while_another_tab_has_the_draft_nothing_says_that_it_is_kept_here() {
    let mut session = Session::new(starter::demo());
    session.apply(Command::Freed);
    assert_eq!(session.saved, SaveState::Kept(1), "news of a tab that never had it");
    session.apply(Command::SetSaved(SaveState::OtherTab));
    session.apply(Command::SetSaved(SaveState::InFile(1)));
    session.apply(Command::SetSaved(SaveState::Kept(1)));
    for saved in [SaveState::Kept(0), SaveState::InFile(0)] {
        session.apply(Command::ReplacePlan { plan: renamed("Another"), label: "Open".into(), saved });
        assert_eq!((session.plan.name.as_str(), &session.saved), ("Another", &SaveState::OtherTab));
    }
    // Its own file is known, and what the other tab leaves is not written over before a change.
    assert_eq!((session.in_file, session.may_keep()), (1, false));
    let mut freed = session.clone();
    freed.apply(Command::Freed);
    freed.apply(Command::SetSaved(SaveState::Kept(1)));
    assert!(matches!(freed.saved, SaveState::Freed(_)) && !freed.may_keep());
    freed.apply(Command::from(crate::edit::Edit::Name("Changed".into())));
    assert!(freed.may_keep());
    session.apply(Command::TakeOver);
    session.apply(Command::SetSaved(SaveState::Kept(session.generation)));
    assert_eq!(session.saved, SaveState::Kept(session.generation));
}

#[test]
fn a_plan_from_a_link_is_offered_until_it_is_taken_or_put_away_and_is_kept_nowhere_yet() {
    let offer = |saved| Command::Offer {
        plan: renamed("Linked"),
        label: "Open Linked".into(),
        reason: "The link holds it.".into(),
        saved,
    };
    let mut session = Session::new(starter::demo());
    session.apply(offer(SaveState::Kept(0)));
    session.apply(Edit::Name("Mine".into()).into());
    session.apply(Command::ReplacePlan {
        plan: renamed("From a file"),
        label: "Open".into(),
        saved: SaveState::InFile(0),
    });
    assert!(session.offered.is_some());
    session.apply(Command::TakeOffer);
    assert_eq!((session.plan.name.as_str(), &session.saved), ("Linked", &SaveState::Kept(0)));
    assert!(session.offered.is_none());
    session.apply(offer(SaveState::Kept(0)));
    session.apply(Command::Dismiss);
    assert!(session.offered.is_none());
    // A file can be opened again.
    session.apply(offer(SaveState::InFile(0)));
    session.apply(Edit::Name("Mine".into()).into());
    assert!(session.offered.is_none());
}
