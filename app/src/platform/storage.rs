//! The draft in this browser: what is open is there again after a reload, whatever happened.
//!
//! Two places are written in turn, each in one transaction, so that a write cut short leaves the
//! state before it. Plans that another one took the place of stay on the shelf.

use crate::order::sort_short;
use engine::plan::{Plan, file};
use idb::{Database, DatabaseEvent, ObjectStoreParams, Transaction, TransactionMode, TransactionResult};
use serde::{Deserialize, Serialize};
use std::cell::{Cell, RefCell};
use std::future::{Future, IntoFuture};
use std::rc::Rc;
use wasm_bindgen::JsValue;

const NAME: &str = "evenrise";
const VERSION: u32 = 1;
const DRAFTS: &str = "drafts";
const SHELF: &str = "shelf";
/// Plans kept on the shelf; the oldest go first.
const SHELF_PLACES: usize = 20;

/// A plan in storage.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Kept {
    sequence: u64,
    /// The plan document as it would stand in a file.
    plan: String,
}

/// A plan on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Shelved {
    /// Its place, which rises with time.
    pub sequence: u64,
    /// The plan.
    pub plan: Rc<Plan>,
}

/// The browser's storage for plans, or why there is none.
#[derive(Clone)]
pub struct Store(Rc<Inner>);

struct Inner {
    database: RefCell<Option<Rc<Database>>>,
    sequence: Cell<u64>,
    /// Sequence of the newest draft.
    draft: Cell<u64>,
}

impl PartialEq for Store {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.0, &other.0)
    }
}

impl Default for Store {
    /// A store that opens when it is first used.
    fn default() -> Self {
        Self(Rc::new(Inner { database: RefCell::new(None), sequence: Cell::new(0), draft: Cell::new(0) }))
    }
}

impl Store {
    /// The newest draft that can be read.
    pub async fn load(&self) -> Result<Option<Plan>, String> {
        let mut drafts = self.all(DRAFTS).await?;
        sort_short(&mut drafts, |a, b| a.sequence.cmp(&b.sequence));
        if let Some(newest) = drafts.last() {
            self.0.sequence.set(newest.sequence.max(self.0.sequence.get()));
            self.0.draft.set(newest.sequence);
        }
        Ok(drafts.iter().rev().find_map(|kept| file::read(&kept.plan).ok()))
    }

    /// Keeps `plan` as the draft; done when it is written.
    pub async fn keep(&self, plan: &Plan) -> Result<(), String> {
        // The place of the draft before last is the one to write over.
        let mut sequence = self.next_sequence();
        sequence += u64::from(sequence % 2 == self.0.draft.get() % 2);
        self.0.draft.set(sequence);
        self.0.sequence.set(sequence);
        let place = if sequence.is_multiple_of(2) { "even" } else { "odd" };
        self.put(DRAFTS, &place.into(), sequence, plan).await
    }

    /// Puts a plan on the shelf.
    pub async fn shelve(&self, plan: &Plan) -> Result<(), String> {
        let sequence = self.next_sequence();
        self.put(SHELF, &(sequence as f64).into(), sequence, plan).await?;
        let shelf = self.all(SHELF).await?;
        let mut sequences: Vec<_> = shelf.iter().map(|kept| kept.sequence).collect();
        sort_short(&mut sequences, u64::cmp);
        for old in sequences.iter().rev().skip(SHELF_PLACES) {
            self.delete(SHELF, &(*old as f64).into()).await?;
        }
        Ok(())
    }

    /// The plans on the shelf, newest first.
    pub async fn shelf(&self) -> Result<Vec<Shelved>, String> {
        let mut shelf = self.all(SHELF).await?;
        sort_short(&mut shelf, |a, b| b.sequence.cmp(&a.sequence));
        let plan = |kept: &Kept| file::read(&kept.plan).ok().map(Rc::new);
        Ok(shelf
            .iter()
            .filter_map(|kept| Some(Shelved { sequence: kept.sequence, plan: plan(kept)? }))
            .collect())
    }

    fn next_sequence(&self) -> u64 {
        // Time keeps the order right between tabs; the step keeps it right within a millisecond.
        let now = js_sys::Date::now() as u64;
        let next = now.max(self.0.sequence.get() + 1);
        self.0.sequence.set(next);
        next
    }

    async fn put(&self, store: &str, key: &JsValue, sequence: u64, plan: &Plan) -> Result<(), String> {
        let kept = Kept { sequence, plan: file::write(plan) };
        let value: JsValue = serde_json::to_string(&kept).map_err(|e| e.to_string())?.into();
        self.twice(async |database: Rc<Database>| {
            let transaction = database.transaction(&[store], TransactionMode::ReadWrite)?;
            let request = transaction.object_store(store)?.put(&value, Some(key))?;
            written(transaction, request.into_future()).await
        })
        .await
    }

    async fn delete(&self, store: &str, key: &JsValue) -> Result<(), String> {
        self.twice(async |database: Rc<Database>| {
            let transaction = database.transaction(&[store], TransactionMode::ReadWrite)?;
            let request = transaction.object_store(store)?.delete(key.clone())?;
            written(transaction, request.into_future()).await
        })
        .await
    }

    async fn all(&self, store: &str) -> Result<Vec<Kept>, String> {
        let values = self
            .twice(async |database: Rc<Database>| {
                let transaction = database.transaction(&[store], TransactionMode::ReadOnly)?;
                Ok(transaction.object_store(store)?.get_all(None, None)?.await?)
            })
            .await?;
        let texts = values.iter().filter_map(JsValue::as_string);
        // A record that cannot be read must not hide those that can.
        Ok(texts.filter_map(|text| serde_json::from_str(&text).ok()).collect())
    }

    /// Does `work`; if the connection was lost (a browser may drop it in the background) opens it
    /// once more and tries again, and never more than that.
    async fn twice<T>(&self, work: impl AsyncFn(Rc<Database>) -> Result<T, Failure>) -> Result<T, String> {
        let first = self.open().await.map_err(|error| Failure::from(error).explain())?;
        match work(first).await {
            Ok(value) => Ok(value),
            // A full disk is not helped by opening the connection again.
            Err(failure) if failure.is_full() => Err(failure.explain()),
            Err(_) => {
                *self.0.database.borrow_mut() = None;
                let second = self.open().await.map_err(|error| Failure::from(error).explain())?;
                work(second).await.map_err(|failure| failure.explain())
            }
        }
    }

    async fn open(&self) -> Result<Rc<Database>, idb::Error> {
        if let Some(database) = self.0.database.borrow().as_ref() {
            return Ok(database.clone());
        }
        let factory = idb::Factory::new()?;
        let mut request = factory.open(NAME, Some(VERSION))?;
        request.on_upgrade_needed(|event| {
            let Ok(database) = event.database() else { return };
            for store in [DRAFTS, SHELF] {
                // Where it fails the first use reports it.
                let _ = database.create_object_store(store, ObjectStoreParams::new());
            }
        });
        let mut database = request.await?;
        // A newer page in another tab must be able to change the layout.
        database.on_version_change(|event| {
            if let Ok(database) = event.database() {
                database.close();
            }
        });
        let database = Rc::new(database);
        *self.0.database.borrow_mut() = Some(database.clone());
        Ok(database)
    }
}

/// Waits until a change is on disk, not only until it was accepted.
async fn written<T>(
    transaction: Transaction,
    request: impl Future<Output = Result<T, idb::Error>>,
) -> Result<(), Failure> {
    // Listens for the end before anything is waited for, so that no end is missed.
    let end = transaction.into_future();
    request.await?;
    match end.await? {
        TransactionResult::Committed => Ok(()),
        TransactionResult::Aborted => Err(Failure::Aborted),
    }
}

/// Why storage did not do as asked.
#[derive(Debug)]
enum Failure {
    /// The browser said so.
    Refused(idb::Error),
    /// The browser took a write back.
    Aborted,
}

impl From<idb::Error> for Failure {
    fn from(error: idb::Error) -> Self {
        Self::Refused(error)
    }
}

impl Failure {
    fn is_full(&self) -> bool {
        match self {
            Self::Refused(idb::Error::DomException(error)) => error.name() == "QuotaExceededError",
            Self::Refused(error) => error.to_string().contains("QuotaExceeded"),
            Self::Aborted => true,
        }
    }

    fn explain(&self) -> String {
        match self {
            Self::Aborted => {
                "the browser gave the write up, its storage may be full: save to a file".to_owned()
            }
            full if full.is_full() => "the browser's storage is full: save to a file".to_owned(),
            Self::Refused(error) => format!("this browser stores no plans here ({error}): save to a file"),
        }
    }
}
