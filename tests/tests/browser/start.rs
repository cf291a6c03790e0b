//! The page comes up.

use tests::browser::{Visit, packed};

use crate::planner::{DEMO, Planner, example};

#[test]
fn the_first_visit_opens_the_demonstration_calculated() {
    Visit::to_dist().run("start", async |page| {
        let planner = Planner::up(page).await;
        planner.shows(&example(DEMO)).await;
        assert_eq!(planner.page.client().title().await.unwrap(), "Garden gate line · Evenrise");
        planner.page.screenshot("up").await;
    });
}

#[test]
fn the_packed_page_works_below_a_path_on_a_plain_host() {
    Visit::to_host(packed(), "/tools/evenrise").run("pack", async |page| {
        let planner = Planner::up(page).await;
        planner.shows(&example(DEMO)).await;
        let policy = planner
            .page
            .eval("return document.querySelector('meta[http-equiv=Content-Security-Policy]').content", &[]);
        assert!(policy.await.as_str().unwrap().contains("default-src 'none'"));
    });
}

#[test]
fn a_page_whose_wasm_is_missing_says_so() {
    let folder = crate::offline::copy_of_dist();
    std::fs::remove_file(folder.path().join("app_bg.wasm")).unwrap();
    Visit::to(folder.path()).tolerating("app_bg.wasm").tolerating("boot.js").run("no_wasm", async |page| {
        page.wait_for_text("#app [role=alert] h1", "Evenrise could not start").await;
        let text = page.text("#app [role=alert] p").await.unwrap();
        assert!(text.contains("404") && text.contains("Firefox 115"), "{text}");
    });
}
