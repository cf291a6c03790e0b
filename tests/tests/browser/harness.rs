//! The harness sees what it is meant to see.

use std::fs;

use tests::browser::Visit;

#[test]
fn a_console_error_is_a_complaint() {
    Visit::to_dist().run("console_error", async |page| {
        page.eval("console.error('on purpose')", &[]).await;
        let complaints = page.complaints().await;
        assert!(complaints.iter().any(|complaint| complaint.contains("on purpose")), "{complaints:?}");
    });
}

#[test]
fn a_breach_of_the_policy_is_a_complaint() {
    Visit::to_dist().run("breach", async |page| {
        page.eval("return fetch('http://127.0.0.1:9/').catch(() => null)", &[]).await;
        let complaints = page.complaints().await;
        assert!(
            complaints.iter().any(|complaint| complaint.contains("Content Security Policy")),
            "{complaints:?}"
        );
        assert!(!complaints.iter().any(|complaint| complaint.contains("another origin")), "{complaints:?}");
    });
}

#[test]
fn a_script_address_other_than_our_two_is_refused() {
    Visit::to_dist().run("script_address", async |page| {
        let refused = "try { new Worker('elsewhere.js'); return false; } catch { return true; }";
        assert_eq!(page.eval(refused, &[]).await, true);
        assert!(!page.complaints().await.is_empty());
    });
}

#[test]
fn a_request_to_another_origin_is_a_complaint() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("index.html"), "<link rel=\"icon\" href=\"data:,\">").unwrap();
    Visit::to_host(folder.path(), "/bare").run("other_origin", async |page| {
        page.eval("return fetch('http://127.0.0.1:9/', { mode: 'no-cors' }).catch(() => null)", &[]).await;
        let complaints = page.complaints().await;
        assert!(complaints.iter().any(|complaint| complaint.contains("another origin")), "{complaints:?}");
    });
}

#[test]
#[should_panic(expected = "waited 0 s in vain: the moon is cheese")]
fn waiting_in_vain_says_for_what() {
    Visit::to_dist().run("in_vain", async |page| {
        page.wait_for("the moon is cheese", std::time::Duration::ZERO, async || false).await;
    });
}
