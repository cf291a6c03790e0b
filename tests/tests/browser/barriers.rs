//! Nothing on the page shuts people out, as far as a program can tell; every screen at a desk is in `screens`.

use tests::axe::barriers;
use tests::browser::Visit;

use crate::planner::Planner;

/// Looks at the screen as it is; what is found goes on the list.
async fn look(planner: &Planner<'_>, screen: &str, found: &mut Vec<String>) {
    found.extend(barriers(planner.page).await.into_iter().map(|line| format!("{screen}: {line}")));
}

fn assert_none(found: Vec<String>) {
    assert!(found.is_empty(), "{} barriers:\n{}", found.len(), found.join("\n"));
}

#[test]
fn a_barrier_is_found() {
    Visit::to_dist().run("barrier", async |page| {
        let planner = Planner::up(page).await;
        let bad = "const image = document.createElement('img'); image.src = 'icon.svg'; \
            const pale = document.createElement('p'); pale.textContent = 'pale'; pale.className = 'pale'; \
            pale.setAttribute('style', 'color: #ccc; background: #fff'); document.querySelector('main').append(image, pale);";
        planner.page.eval(bad, &[]).await;
        let found = barriers(planner.page).await;
        let has = |rule: &str| found.iter().any(|line| line.contains(rule));
        assert!(has("image-alt") && has("color-contrast"), "{found:?}");
    });
}

#[test]
fn there_are_no_barriers_on_a_tablet() {
    Visit::to_dist().sized(820, 1180).run("barriers_tablet", async |page| {
        let planner = Planner::up(page).await;
        let mut found = Vec::new();
        for theme in ["light", "dark"] {
            planner.theme(theme).await;
            look(&planner, &format!("tablet, {theme}"), &mut found).await;
        }
        assert_none(found);
    });
}
