//! Several plans, earlier states, links, a second tab, files dropped on the page.

use engine::plan::{Plan, file};
use serde_json::{Value, json};
use tests::browser::{PATIENCE, Visit};

use crate::planner::{DEMO, Planner, css, example};

/// Names the open plan and waits until it is kept.
async fn name(planner: &Planner<'_>, name: &str) {
    planner.enter("plan-name", name).await;
    planner.page.wait_until(&format!("document.title === '{name} · Evenrise'")).await;
    planner.says("saved", &["kept in this browser"]).await;
}

/// Opens the menu and waits until it lists plans of these names, in any order.
async fn menu_lists(planner: &Planner<'_>, names: &[&str]) {
    planner.click("file-menu").await;
    planner
        .page
        .wait_for(&format!("{names:?} are listed"), PATIENCE, async || {
            let list = planner.text("plans").await;
            names.iter().all(|name| list.contains(name))
        })
        .await;
}

/// Presses the button of the open menu that begins with `text`, in the list `testid`.
async fn press_line(planner: &Planner<'_>, list: &str, text: &str) {
    let script = "const line = [...document.querySelectorAll(arguments[0] + ' button')] \
        .find((button) => button.textContent.startsWith(arguments[1])); line.click(); return true;";
    planner.page.eval(script, &[css(list).into(), text.into()]).await;
}

#[test]
fn plans_are_listed_duplicated_gone_to_and_deleted_with_undo() {
    Visit::to_dist().run("plans", async |page| {
        let planner = Planner::up(page).await;
        name(&planner, "First line").await;
        let first = planner.saved_text().await;
        planner.click("file-menu").await;
        planner.click("file-duplicate").await;
        planner.page.wait_until("document.title === 'First line (copy) · Evenrise'").await;
        name(&planner, "Second line").await;
        planner.set("fan-speed", "1300", 1300.0).await;
        planner.says("saved", &["kept in this browser"]).await;
        menu_lists(&planner, &["First line", "Second line"]).await;
        planner.page.screenshot("menu").await;

        press_line(&planner, "plans", "First line").await;
        planner.page.wait_until("document.title === 'First line · Evenrise'").await;
        planner.calculated().await;
        assert_eq!(planner.saved_text().await, first);
        // Undo goes back to the other plan, and what is done there is kept there.
        planner.click("undo").await;
        planner.page.wait_until("document.title === 'Second line · Evenrise'").await;
        planner.set("fan-speed", "1350", 1350.0).await;
        planner.says("saved", &["kept in this browser"]).await;
        menu_lists(&planner, &["First line", "Second line"]).await;
        press_line(&planner, "plans", "First line").await;
        planner.page.wait_until("document.title === 'First line · Evenrise'").await;
        assert_eq!(planner.saved_text().await, first);

        // Deleted, and brought back.
        menu_lists(&planner, &["First line", "Second line"]).await;
        let delete = "document.querySelector('[aria-label=\"Delete Second line\"]').click(); return true;";
        planner.page.eval(delete, &[]).await;
        planner.page.wait_until("document.querySelector('[data-testid=undelete]')").await;
        assert!(!planner.text("plans").await.contains("Second line"));
        planner.click("undelete").await;
        planner.says("plans", &["First line", "Second line"]).await;
        press_line(&planner, "plans", "Second line").await;
        planner.page.wait_until("document.title === 'Second line · Evenrise'").await;
        assert_eq!(planner.plan().await.heater.fan.speed_rpm, 1350.0);
    });
}

#[test]
fn an_earlier_state_can_be_gone_back_to_after_a_reload() {
    Visit::to_dist().run("states", async |page| {
        let planner = Planner::up(page).await;
        name(&planner, "Line").await;
        let early = planner.saved_text().await;
        planner.page.reload().await;
        planner.calculated().await;
        // What was stored before this visit is kept as an earlier state when it is first written over.
        planner.set("fan-speed", "1300", 1300.0).await;
        planner.says("saved", &["kept in this browser"]).await;
        menu_lists(&planner, &["Line"]).await;
        planner.page.find("[data-testid=states] summary").await.click().await.unwrap();
        planner.says("states", &["Line"]).await;
        press_line(&planner, "states", "Line").await;
        planner.can_undo(Some("Go back to Line")).await;
        planner.calculated().await;
        assert_eq!(planner.saved_text().await, early);
        // It is the same plan still: one line in the list.
        planner.says("saved", &["saved to file"]).await;
        planner.set("fan-speed", "1250", 1250.0).await;
        planner.says("saved", &["kept in this browser"]).await;
        menu_lists(&planner, &["Line"]).await;
        let lines = "return document.querySelectorAll('[data-testid=plans] li').length;";
        assert_eq!(planner.page.eval(lines, &[]).await, 1);

        // In a storage that is full earlier states make room for the plan.
        let fill = "const full = (name) => window.full && name !== 'shelf'; window.full = true; \
            const { put, delete: remove } = IDBObjectStore.prototype; \
            IDBObjectStore.prototype.put = function (...all) { \
                if (full(this.name)) throw new DOMException('full', 'QuotaExceededError'); \
                return put.apply(this, all); }; \
            IDBObjectStore.prototype.delete = function (...all) { \
                if (this.name === 'shelf') window.full = false; return remove.apply(this, all); }; return true;";
        planner.page.eval(fill, &[]).await;
        planner.set("fan-speed", "1350", 1350.0).await;
        planner.says("saved", &["kept in this browser"]).await;
        assert_eq!(planner.page.eval("return window.full;", &[]).await, false);
    });
}

#[test]
fn a_link_carries_the_plan_and_asks_before_it_takes_the_place_of_another() {
    Visit::to_dist().run("link", async |page| {
        let planner = Planner::up(page).await;
        planner.click("file-menu").await;
        planner.click("file-link").await;
        planner.page.wait_until("document.querySelector('[data-testid=link]')").await;
        let link = planner.page.eval("return document.querySelector('[data-testid=link]').value", &[]).await;
        let fragment = link.as_str().unwrap().split_once('#').unwrap().1.to_owned();
        assert!(fragment.starts_with("plan=") && fragment.len() < 6000, "{} letters", fragment.len());
        planner.page.wait_until("document.querySelector('[data-testid=qr],[data-testid=qr-refused]')").await;
        planner.page.screenshot("menu").await;
        planner.click("file-menu").await;

        // Over an open plan it only asks.
        let set = "location.hash = arguments[0]; return true;";
        planner.page.eval(set, &[Value::from(fragment.as_str())]).await;
        planner.says("alert", &["The link holds the plan", &example(DEMO).name]).await;
        planner.click("dismiss").await;
        planner.page.wait_until("location.hash === ''").await;
        name(&planner, "Mine").await;
        planner.page.eval(set, &[Value::from(fragment.as_str())]).await;
        planner.says("alert", &["The link holds the plan"]).await;
        // Until it is answered, a reload asks again, and a change does not take the offer away.
        planner.page.reload().await;
        planner.says("alert", &["The link holds the plan", &example(DEMO).name]).await;
        planner.set("fan-speed", "1300", 1300.0).await;
        planner.says("saved", &["kept in this browser"]).await;
        planner.says("open-anyway", &["from a link"]).await;
        let mine = planner.plan().await;
        assert_eq!(mine.name, "Mine");
        planner.click("open-anyway").await;
        planner.calculated().await;
        assert_eq!(planner.plan().await, example(DEMO));
        planner.click("undo").await;
        planner.page.wait_until("document.title === 'Mine · Evenrise'").await;

        planner.page.eval(set, &[Value::from(&fragment[..fragment.len() / 2])]).await;
        planner.says("alert", &["The link was not opened", "not whole"]).await;
        assert_eq!(planner.plan().await, mine);
        // A short one that would unpack to more than any plan.
        let flood = "return (async () => { \
            const stream = new Blob([' '.repeat(6e6)]).stream().pipeThrough(new CompressionStream('deflate-raw')); \
            const bytes = new Uint8Array(await new Response(stream).arrayBuffer()); \
            location.hash = 'plan=' + btoa(String.fromCharCode(...bytes)).replace(/[+]/g, '-').replace(/[/]/g, '_'); \
            return true; })();";
        planner.page.eval(flood, &[]).await;
        planner.says("alert", &["The link was not opened", "not whole"]).await;
        planner.page.wait_until("location.hash === ''").await;

        // Where there is no clipboard the field has the link ready.
        planner.page.eval("Object.defineProperty(navigator, 'clipboard', { value: undefined }); return true;", &[]).await;
        planner.click("file-menu").await;
        planner.click("file-link").await;
        planner.click("link-copy").await;
        planner.page.wait_until("document.activeElement.dataset.testid === 'link'").await;
    });
}

#[test]
fn the_page_opened_by_a_link_shows_its_plan() {
    Visit::to_dist().tolerating("favicon.ico").run("linked", async |page| {
        let planner = Planner::up(page).await;
        name(&planner, "Linked").await;
        planner.click("file-menu").await;
        planner.click("file-link").await;
        planner.page.wait_until("document.querySelector('[data-testid=link]')").await;
        let link = planner.page.eval("return document.querySelector('[data-testid=link]').value", &[]).await;
        let fragment = link.as_str().unwrap().split_once('#').unwrap().1.to_owned();
        // Somebody else's browser, where nothing is kept.
        planner.page.open("icon.svg").await;
        let forget = "return new Promise((done) => { indexedDB.deleteDatabase('evenrise').onsuccess = () => done(true); });";
        planner.page.eval(forget, &[]).await;
        planner.page.open(&format!("#{fragment}")).await;
        planner.calculated().await;
        planner.page.wait_until("location.hash === ''").await;
        // Nothing of the user's was open: it needs no question.
        assert_eq!(planner.text("alert").await, "");
        planner.says("saved", &["kept in this browser"]).await;
        planner.page.reload().await;
        planner.calculated().await;
        assert_eq!(planner.plan().await, Plan { name: "Linked".into(), ..example(DEMO) });
    });
}

#[test]
fn a_file_dropped_on_the_page_is_opened() {
    Visit::to_dist().run("drop", async |page| {
        let planner = Planner::up(page).await;
        let mut plan = example(DEMO);
        plan.name = "Dropped".into();
        let drop = "const data = new DataTransfer(); \
            data.items.add(new File([arguments[0]], 'dropped.evenrise.json', { type: 'application/json' })); \
            const event = new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }); \
            document.querySelector('[data-testid=board]').dispatchEvent(event); return event.defaultPrevented;";
        assert_eq!(planner.page.eval(drop, &[file::write(&plan).into()]).await, true);
        planner.says("status", &["Opened dropped.evenrise.json"]).await;
        assert_eq!(planner.plan().await, plan);
    });
}

#[test]
fn a_second_tab_does_not_write_over_the_first_unless_told_to() {
    Visit::to_dist().run("tabs", async |page| {
        let planner = Planner::up(page).await;
        name(&planner, "Line").await;
        let client = planner.page.client().clone();
        let first = client.window().await.unwrap();
        let second = client.new_window(true).await.unwrap().handle;
        client.switch_to_window(second.clone()).await.unwrap();
        planner.page.open("").await;
        planner.calculated().await;
        planner.page.wait_until("document.title === 'Line · Evenrise'").await;
        name(&planner, "Line, second tab").await;

        client.switch_to_window(first.clone()).await.unwrap();
        planner.says("saved", &["open in another tab, not kept here"]).await;
        planner.set("fan-speed", "1300", 1300.0).await;
        // A file is another place: it does not make the draft this tab's.
        planner.saved_text().await;
        planner.says("saved", &["saved to file; open in another tab"]).await;
        planner.click("take-over").await;
        planner.says("saved", &["kept in this browser"]).await;
        // What the second tab made of it is an earlier state now, not gone.
        planner.click("file-menu").await;
        planner.page.find("[data-testid=states] summary").await.click().await.unwrap();
        planner.says("states", &["Line, second tab"]).await;
        planner.page.reload().await;
        planner.calculated().await;
        assert_eq!(planner.plan().await.heater.fan.speed_rpm, 1300.0);

        // A tab that closes gives the draft up.
        client.switch_to_window(second.clone()).await.unwrap();
        planner.says("saved", &["open in another tab, not kept here"]).await;
        client.switch_to_window(first).await.unwrap();
        client.close_window().await.unwrap();
        client.switch_to_window(second).await.unwrap();
        planner.says("saved", &["the other tab is closed"]).await;
        planner.set("fan-speed", "1250", 1250.0).await;
        planner.says("saved", &["kept in this browser"]).await;
    });
}

#[test]
fn an_old_draft_of_the_first_layout_of_storage_is_still_there() {
    Visit::to_dist().tolerating("favicon.ico").run("old_storage", async |page| {
        let planner = Planner::up(page).await;
        let mut plan = example(DEMO);
        plan.name = "Kept long ago".into();
        // As the first version of the page wrote it.
        planner.page.open("icon.svg").await;
        let kept = json!({ "sequence": 1_700_000_000_000_u64, "plan": file::write(&plan) }).to_string();
        let write = "return new Promise((done) => { \
            const gone = indexedDB.deleteDatabase('evenrise'); \
            gone.onsuccess = () => { const open = indexedDB.open('evenrise', 1); \
            open.onupgradeneeded = () => ['drafts', 'shelf'].map((name) => open.result.createObjectStore(name)); \
            open.onsuccess = () => { const all = open.result.transaction('drafts', 'readwrite'); \
                all.objectStore('drafts').put(arguments[0], 'even'); \
                all.oncomplete = () => { open.result.close(); done(true); }; }; }; });";
        planner.page.eval(write, &[kept.into()]).await;
        planner.page.open("").await;
        planner.calculated().await;
        planner.page.wait_until("document.title === 'Kept long ago · Evenrise'").await;
        assert_eq!(planner.plan().await, plan);
    });
}
