// The engine's worker. The first message is the page's compiled WebAssembly.Module: the worker
// fetches no wasm (Firefox does not let a worker's fetch reach the service worker), and page and
// worker can never be of different builds. Starting is synchronous, so the Rust side has its own
// message handler in place before the next message is delivered.
import { initSync } from "./app.js";

self.addEventListener("message", ({ data }) => initSync({ module: data }), { once: true });
