//! The session after the last command, also while the page is not drawn anew yet.
//!
//! Yew draws in slices and lets the browser's events in between them: a hand that acts by what was drawn
//! would act on the state before its own last command. What listens outside a drawing asks here.

use crate::session::Session;
use std::cell::RefCell;
use std::rc::Rc;

/// A shared place for the newest session.
#[derive(Clone, Debug)]
pub struct Latest(Rc<RefCell<Rc<Session>>>);

impl Latest {
    /// A place that holds `session`.
    pub fn new(session: Rc<Session>) -> Self {
        Self(Rc::new(RefCell::new(session)))
    }

    /// The newest session.
    pub fn get(&self) -> Rc<Session> {
        self.0.borrow().clone()
    }

    /// A command made `session` of it.
    pub fn set(&self, session: Rc<Session>) {
        *self.0.borrow_mut() = session;
    }
}

impl PartialEq for Latest {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.0, &other.0)
    }
}
