// Keeps the page usable without a network, and never swaps it under the user's hands.
//
// What the app sees, all on the page's own objects:
//   <html data-offline>  "ready" (works without a network from the next visit on), "off" (refused or not offered here)
//   <html data-update>   "ready" (a new version waits), "replaced" (another tab has switched to it)
//   window event "evenrise:update"         sent whenever data-update changes
//   window event "evenrise:update-accept"  the app sends it, once its draft is saved: switch and reload

const page = document.documentElement.dataset;

function announce(state) {
  page.update = state;
  window.dispatchEvent(new Event("evenrise:update"));
}

export async function keepOffline() {
  const offered = !document.querySelector('meta[name="offline"][content="off"]');
  if (!offered || !("serviceWorker" in navigator)) {
    page.offline = "off";
    return;
  }
  const container = navigator.serviceWorker;
  let registration;
  try {
    registration = await container.register("sw.js");
  } catch (error) {
    // Private windows and plain-http hosts refuse; the page works all the same.
    console.info(`offline use is not available here: ${error}`);
    page.offline = "off";
    return;
  }

  let accepted = false;
  const controlled = container.controller !== null;
  window.addEventListener("evenrise:update-accept", () => {
    accepted = true;
    // Looked up now: a handle kept from earlier goes stale when a second update arrives.
    registration.waiting?.postMessage("skip-waiting");
  });
  container.addEventListener("controllerchange", () => {
    if (accepted) {
      window.location.reload();
    } else if (controlled) {
      announce("replaced");
    }
  });

  const watch = (worker) => {
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && container.controller) announce("ready");
      if (worker.state === "activated") page.offline = "ready";
    });
  };
  if (registration.waiting && container.controller) announce("ready");
  if (registration.active) page.offline = "ready";
  watch(registration.installing);
  registration.addEventListener("updatefound", () => watch(registration.installing));
}
