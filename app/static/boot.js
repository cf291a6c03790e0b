// Starts the page. An external file, so that the content-security policy needs no inline script.
//
// `init` compiles app_bg.wasm once; the app hands that same compiled module to its worker
// (`wasm_bindgen::module()` in Rust), so the worker downloads no wasm of its own.

const START_FAILED = "Evenrise could not start";
const MINIMUM = "It needs Chrome or Edge 111, Firefox 115, Safari 16.4, or newer.";

// The policy demands trusted script addresses; exactly these two are ever used.
if (window.trustedTypes) {
  const address = (path) => new URL(path, document.baseURI).href;
  const allowed = ["worker.js", "sw.js"].map(address);
  window.trustedTypes.createPolicy("default", {
    createScriptURL: (path) => (allowed.includes(address(path)) ? path : null),
  });
}

// Until the page knows better, light or dark is as the system has it.
const dark = window.matchMedia("(prefers-color-scheme: dark)").matches;
document.documentElement.dataset.shade = dark ? "dark" : "light";

function explain(reason) {
  const heading = document.createElement("h1");
  heading.textContent = START_FAILED;
  const text = document.createElement("p");
  text.textContent = `${reason} ${MINIMUM} Nothing that you saved is lost.`;
  const boot = document.createElement("div");
  boot.className = "boot";
  boot.setAttribute("role", "alert");
  boot.append(heading, text);
  document.getElementById("app").replaceChildren(boot);
}

async function start() {
  if (typeof WebAssembly !== "object") {
    explain("WebAssembly is missing or switched off in this browser.");
    return;
  }
  try {
    const { default: init } = await import("./app.js");
    await init({ module_or_path: new URL("app_bg.wasm", import.meta.url) });
  } catch (error) {
    console.error(error);
    explain(`The reason given: ${error}.`);
    return;
  }
  const { keepOffline } = await import("./offline.js");
  await keepOffline();
}

start();
