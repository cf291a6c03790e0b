//! After one visit the page needs no network; a new version waits for a yes.

use std::fs;

use launch::offline::write_service_worker;
use launch::page::Mode;
use tempfile::TempDir;
use tests::browser::{Visit, dist};
use tests::golden::in_repository;

use crate::planner::{CALCULATED, DEMO, Planner, example};

/// A copy that a test may change.
pub fn copy_of_dist() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(dist()).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), folder.path().join(entry.file_name())).unwrap();
    }
    folder
}

#[test]
fn after_one_visit_the_page_needs_no_network() {
    // The browser looks for a newer sw.js and says that there is no network.
    Visit::to_dist().tolerating("sw.js").run("offline", async |page| {
        page.wait_until("document.documentElement.dataset.offline === 'ready'").await;
        page.stop_server();
        page.reload().await;
        let planner = Planner::up(page).await;
        planner.shows(&example(DEMO)).await;
        planner.compute("even-out", "Even out").await;
        planner.page.screenshot("without_network").await;
    });
}

#[test]
fn a_new_version_waits_until_the_user_agrees() {
    let folder = copy_of_dist();
    let index = folder.path().join("index.html");
    Visit::to(folder.path()).run("update", async |page| {
        page.wait_until("document.documentElement.dataset.offline === 'ready'").await;
        // Under the service worker from here on.
        page.reload().await;
        page.wait_until("navigator.serviceWorker.controller").await;

        let newer = fs::read_to_string(&index).unwrap().replace("<title>", "<meta name=\"second\"><title>");
        fs::write(&index, newer).unwrap();
        fs::copy(in_repository("app/static/sw.js"), folder.path().join("sw.js")).unwrap();
        write_service_worker(folder.path(), Mode::Serve).unwrap();
        page.eval("navigator.serviceWorker.getRegistration().then((r) => r.update())", &[]).await;
        page.wait_until("document.documentElement.dataset.update === 'ready'").await;

        page.reload().await;
        page.wait_until(CALCULATED).await;
        let switched = "return document.querySelector('meta[name=second]') !== null";
        assert_eq!(page.eval(switched, &[]).await, false, "a reload alone must not switch");
        page.wait_until("document.documentElement.dataset.update === 'ready'").await;

        // The draft goes along, though its half second of rest may not be over.
        let planner = Planner::up(page).await;
        planner.set("fan-speed", "1290", 1290.0).await;
        planner.click("update").await;
        planner.page.wait_until("document.querySelector('meta[name=second]')").await;
        planner.calculated().await;
        assert_eq!(planner.number("fan-speed").await, Some(1290.0));
    });
}
