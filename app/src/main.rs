//! Runs when the module starts, in the page and again in its worker.

fn main() {
    app::start();
}
