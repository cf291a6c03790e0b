//! The draft in this browser: what is open is there again after a reload, whatever happened.
//!
//! Two places are written in turn, each in one transaction, so that a write cut short leaves the
//! state before it. Each plan has a place of its own besides, under its document's key, and its earlier
//! states stay on the shelf with their times.

use engine::numerics::sort_short;
use engine::plan::{Plan, file};
use idb::{Database, DatabaseEvent, ObjectStoreParams, Transaction, TransactionMode, TransactionResult};
use js_sys::Promise;
use serde::{Deserialize, Serialize};
use std::cell::{Cell, RefCell};
use std::future::{Future, IntoFuture};
use std::rc::Rc;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::DomException;

const NAME: &str = "evenrise";
const VERSION: u32 = 2;
const DRAFTS: &str = "drafts";
const PLANS: &str = "plans";
const SHELF: &str = "shelf";
/// Earlier states kept of one plan; the oldest go first.
const STATES_OF_ONE: usize = 20;
/// Earlier states kept of all plans.
const STATES: usize = 100;
/// At most one earlier state is kept in this time, ms.
const STATE_EVERY_MS: u64 = 60_000;

/// A plan in storage.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Kept {
    sequence: u64,
    /// The plan document as it would stand in a file.
    plan: String,
    /// Key of the document it is a state of; 0 where that was not written yet.
    #[serde(default)]
    document: u64,
}

/// A state of a plan in storage.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    /// When it was kept, ms since 1970; no two are equal.
    pub sequence: u64,
    /// Key of its document.
    pub document: u64,
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
    /// Key of each document that was open on this page, by its number in the session.
    keys: RefCell<Vec<(u64, u64)>>,
    /// The key that the next new document has already.
    expected: Cell<Option<u64>>,
    /// When the last earlier state was put on the shelf, and of which document.
    shelved: Cell<(u64, u64)>,
    /// The browser has been asked to keep what is stored.
    asked: Cell<bool>,
}

#[wasm_bindgen]
extern "C" {
    type Navigator;
    #[wasm_bindgen(method, getter)]
    fn storage(this: &Navigator) -> Manager;

    type Manager;
    // There is none where the page came without a certificate.
    #[wasm_bindgen(method, catch)]
    fn persist(this: &Manager) -> Result<Promise, JsValue>;
}

impl PartialEq for Store {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.0, &other.0)
    }
}

impl Default for Store {
    /// A store that opens when it is first used.
    fn default() -> Self {
        Self(Rc::new(Inner {
            database: RefCell::new(None),
            sequence: Cell::new(0),
            draft: Cell::new(0),
            keys: RefCell::new(Vec::new()),
            expected: Cell::new(None),
            shelved: Cell::new((0, 0)),
            asked: Cell::new(false),
        }))
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
        let found = drafts.iter().rev().find_map(|kept| Some((kept.document, file::read(&kept.plan).ok()?)));
        if let Some((key, _)) = found.as_ref().filter(|(key, _)| *key > 0) {
            self.0.keys.borrow_mut().push((0, *key));
        }
        Ok(found.map(|(_, plan)| plan))
    }

    /// The key under which the session's document of this number is kept.
    pub fn key(&self, document: u64) -> u64 {
        let known = self.0.keys.borrow().iter().find(|(number, _)| *number == document).map(|(_, key)| *key);
        known.unwrap_or_else(|| {
            let key = self.0.expected.take().unwrap_or_else(|| self.next_sequence());
            self.0.keys.borrow_mut().push((document, key));
            key
        })
    }

    /// The next new document of the session is the one kept under `key`.
    pub fn expect(&self, key: u64) {
        self.0.expected.set(Some(key));
    }

    /// Keeps `plan`, the session's document of this number, in its place.
    pub async fn put_plan(&self, document: u64, plan: &Plan) -> Result<(), String> {
        let key = self.key(document);
        // The plan itself comes first: without room for its earlier state that one is lost.
        let _ = self.shelve_before(key).await;
        self.put(PLANS, &(key as f64).into(), self.next_sequence(), key, plan).await
    }

    /// What stands in a plan's place may be another tab's: the next write puts it on the shelf, whenever the last was.
    pub fn take_over(&self) {
        self.0.shelved.set((0, 0));
    }

    /// Before a plan's place is written over, what stands there goes on the shelf, once in a while.
    async fn shelve_before(&self, key: u64) -> Result<(), String> {
        let now = js_sys::Date::now() as u64;
        let (last, whose) = self.0.shelved.get();
        if whose == key && now < last + STATE_EVERY_MS {
            return Ok(());
        }
        self.0.shelved.set((now, key));
        let before = self.all(PLANS).await?.into_iter().find(|kept| kept.document == key);
        match before {
            Some(before) => self.shelve(before).await,
            None => Ok(()),
        }
    }

    /// Keeps `plan` as the draft, and in the place of its document; done when both are written.
    pub async fn keep(&self, document: u64, plan: &Plan) -> Result<(), String> {
        // The place of the draft before last is the one to write over.
        let mut sequence = self.next_sequence();
        sequence += u64::from(sequence % 2 == self.0.draft.get() % 2);
        self.0.draft.set(sequence);
        self.0.sequence.set(sequence);
        let place = if sequence.is_multiple_of(2) { "even" } else { "odd" };
        self.put(DRAFTS, &place.into(), sequence, self.key(document), plan).await?;
        self.put_plan(document, plan).await?;
        let navigator: JsValue = gloo::utils::window().navigator().into();
        // Where that is refused the browser may clear plans out to make room for others.
        if !self.0.asked.replace(true)
            && let Ok(asked) = navigator.unchecked_into::<Navigator>().storage().persist()
        {
            spawn_local(async move { drop(JsFuture::from(asked).await) });
        }
        Ok(())
    }

    /// Puts a state on the shelf; the oldest make room.
    async fn shelve(&self, kept: Kept) -> Result<(), String> {
        let document = kept.document;
        self.put_kept(SHELF, &(kept.sequence as f64).into(), &kept).await?;
        let shelf = self.newest_first(SHELF).await?;
        let of_this = shelf.iter().filter(|kept| kept.document == document).skip(STATES_OF_ONE);
        for old in of_this.chain(shelf.iter().skip(STATES)) {
            self.delete(SHELF, &(old.sequence as f64).into()).await?;
        }
        Ok(())
    }

    /// Every plan, the newest first.
    pub async fn plans(&self) -> Result<Vec<Stored>, String> {
        Ok(self.newest_first(PLANS).await?.iter().filter_map(stored).collect())
    }

    /// Earlier states of all plans, the newest first.
    pub async fn shelf(&self) -> Result<Vec<Stored>, String> {
        Ok(self.newest_first(SHELF).await?.iter().filter_map(stored).collect())
    }

    /// Takes a plan off the list; its last state stays on the shelf.
    pub async fn remove(&self, plan: &Stored) -> Result<(), String> {
        let Stored { sequence, document, plan } = plan;
        // A plan can go without that: where storage is full nothing else makes room.
        let _ = self.shelve(Kept { sequence: *sequence, document: *document, plan: file::write(plan) }).await;
        self.delete(PLANS, &(*document as f64).into()).await
    }

    /// Puts a plan that was taken off the list back on it.
    pub async fn put_back(&self, plan: &Stored) -> Result<(), String> {
        self.put(PLANS, &(plan.document as f64).into(), plan.sequence, plan.document, &plan.plan).await
    }

    async fn newest_first(&self, store: &str) -> Result<Vec<Kept>, String> {
        let mut all = self.all(store).await?;
        sort_short(&mut all, |a, b| b.sequence.cmp(&a.sequence));
        Ok(all)
    }

    fn next_sequence(&self) -> u64 {
        // Time keeps the order right between tabs; the step keeps it right within a millisecond.
        let now = js_sys::Date::now() as u64;
        let next = now.max(self.0.sequence.get() + 1);
        self.0.sequence.set(next);
        next
    }

    async fn put(
        &self,
        store: &str,
        key: &JsValue,
        sequence: u64,
        document: u64,
        plan: &Plan,
    ) -> Result<(), String> {
        self.put_kept(store, key, &Kept { sequence, document, plan: file::write(plan) }).await
    }

    async fn put_kept(&self, store: &str, key: &JsValue, kept: &Kept) -> Result<(), String> {
        let value: JsValue = serde_json::to_string(kept).map_err(|e| e.to_string())?.into();
        loop {
            match self.write(store, key, Some(&value)).await {
                Err(failure) if failure.is_full() && self.make_room().await => {}
                done => return done.map_err(|failure| failure.explain()),
            }
        }
    }

    /// Takes the older half of the earlier states off the shelf; whether there were any.
    async fn make_room(&self) -> bool {
        let shelf = self.newest_first(SHELF).await.unwrap_or_default();
        let mut any = false;
        for old in &shelf[shelf.len() / 2..] {
            any |= self.delete(SHELF, &(old.sequence as f64).into()).await.is_ok();
        }
        any
    }

    async fn delete(&self, store: &str, key: &JsValue) -> Result<(), String> {
        self.write(store, key, None).await.map_err(|failure| failure.explain())
    }

    /// Puts `value` in its place, or takes away what stands there.
    async fn write(&self, store: &str, key: &JsValue, value: Option<&JsValue>) -> Result<(), Failure> {
        self.twice(async |database: Rc<Database>| {
            let transaction = database.transaction(&[store], TransactionMode::ReadWrite)?;
            let place = transaction.object_store(store)?;
            match value {
                Some(value) => written(transaction, place.put(value, Some(key))?.into_future()).await,
                None => written(transaction, place.delete(key.clone())?.into_future()).await,
            }
        })
        .await
    }

    async fn all(&self, store: &str) -> Result<Vec<Kept>, String> {
        let values = self
            .twice(async |database: Rc<Database>| {
                let transaction = database.transaction(&[store], TransactionMode::ReadOnly)?;
                Ok(transaction.object_store(store)?.get_all(None, None)?.await?)
            })
            .await
            .map_err(|failure| failure.explain())?;
        let texts = values.iter().filter_map(JsValue::as_string);
        // A record that cannot be read must not hide those that can.
        Ok(texts.filter_map(|text| serde_json::from_str(&text).ok()).collect())
    }

    /// Does `work`; if the connection was lost (a browser may drop it in the background) opens it
    /// once more and tries again, and never more than that.
    async fn twice<T>(&self, work: impl AsyncFn(Rc<Database>) -> Result<T, Failure>) -> Result<T, Failure> {
        match work(self.open().await?).await {
            // A full disk is not helped by opening the connection again.
            Err(failure) if !failure.is_full() => {
                *self.0.database.borrow_mut() = None;
                work(self.open().await?).await
            }
            done => done,
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
            for store in [DRAFTS, SHELF, PLANS] {
                // One that is there already is left as it is; where it fails the first use reports it.
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

fn stored(kept: &Kept) -> Option<Stored> {
    let plan = Rc::new(file::read(&kept.plan).ok()?);
    Some(Stored { sequence: kept.sequence, document: kept.document, plan })
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
            Self::Refused(error) => said(error).is_some_and(|said| said.name() == "QuotaExceededError"),
            Self::Aborted => true,
        }
    }

    fn explain(&self) -> String {
        match self {
            Self::Aborted => {
                "the browser gave the write up, its storage may be full: save to a file".to_owned()
            }
            full if full.is_full() => "the browser's storage is full: save to a file".to_owned(),
            Self::Refused(error) => {
                let said = said(error).map_or_else(|| "no database".to_owned(), |said| said.message());
                format!("this browser stores no plans here ({said}): save to a file")
            }
        }
    }
}

/// What the browser said; the library's own words for every error would be in the download.
fn said(error: &idb::Error) -> Option<&DomException> {
    match error {
        idb::Error::DomException(said) => Some(said),
        idb::Error::IndexedDbOpenFailed(said)
        | idb::Error::TransactionOpenFailed(said)
        | idb::Error::UpdateFailed(said) => said.dyn_ref(),
        _ => None,
    }
}
