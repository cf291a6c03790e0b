// The body of a function: a hand that moves on the page, each move in the frame after the picture of the move before:
// browsers hand a pointer's moves on at the beginning of a frame. Gives back what it measured, in ms.
const [hand, x, y, moves] = arguments;
const board = document.querySelector("[data-testid=board]");
const strip = document.querySelector("[data-testid=strip-canvas]");
const tally = document.querySelector("[data-testid=tally]");
const frames = (count) => new Promise((done) => {
  const next = () => (count-- > 0 ? requestAnimationFrame(next) : done());
  next();
});
// Where the hand goes down, and how far it is from there at its i-th move.
const place = () => {
  const on = strip && (hand === "slot" || hand === "height") ? strip : board;
  const box = on.getBoundingClientRect();
  const free = box.height - 41;
  const duct = Math.min(Math.max(free * 0.24, 34), 84);
  const middle = box.top + 19 + (free - duct - 42) * 0.54 + duct / 2;
  const [centreX, centreY, scale] = board.dataset.look.split(" ").map(Number);
  return {
    end: [box.left + box.width / 2 + (x - centreX) * scale, box.top + box.height / 2 - (y - centreY) * scale,
      (i) => [(i % 2 ? 1 : 2) * scale * 0.5, 0]],
    slot: [box.left + 62 + (box.width - 154) * 0.43, middle, (i) => [0, i % 2 ? 15 : 25]],
    height: [box.right - 72, middle, (i) => [0, i % 2 ? 15 : 25]],
    pan: [box.left + 60, box.bottom - 60, (i) => [i % 2 ? 30 : 60, i % 2 ? -20 : -40]],
    zoom: [box.left + box.width / 2, box.top + box.height / 2, () => [0, 0]],
  }[hand];
};
const [left, top, shift] = place();
const target = document.elementFromPoint(left, top);
const send = (kind, [dx, dy]) => {
  const start = performance.now();
  const seen = { bubbles: true, cancelable: true, composed: true, clientX: left + dx, clientY: top + dy };
  const event = kind === "wheel"
    ? new WheelEvent(kind, { ...seen, deltaY: dx ? 100 : -100 })
    : new PointerEvent(kind, { ...seen, pointerId: 1, pointerType: "mouse", isPrimary: true,
        button: kind === "pointermove" ? -1 : 0, buttons: kind === "pointerup" ? 0 : 1 });
  window.timed("handler", () => target.dispatchEvent(event))();
  return start;
};
// How often the strip has been painted: every time with its frame first, as an image.
window.stripPaints ??= 0;
if (!window.drawImage) {
  window.drawImage = CanvasRenderingContext2D.prototype.drawImage;
  CanvasRenderingContext2D.prototype.drawImage = function (...args) {
    if (this.canvas.dataset.testid === "strip-canvas") window.stripPaints += 1;
    return window.drawImage.apply(this, args);
  };
}
// Pointer capture wants a pointer that the browser knows.
for (const name of ["setPointerCapture", "releasePointerCapture"]) Element.prototype[name] = () => {};
// Whether the picture of the last move is on its way: the figures that belong to it, or the look of the board.
const edits = hand === "end" || hand === "slot" || hand === "height";
const state = () => (edits ? Number(tally.dataset.generation) : board.dataset.look);
const ready = (seen) => state() !== seen && (!edits || tally.dataset.generation === tally.dataset.analysed);
return (async () => {
  const picture = [];
  for (const kind of Object.keys(window.busy)) window.busy[kind] = [];
  if (hand === "slot") {
    // The first press only selects.
    send("pointerdown", [0, 0]);
    send("pointerup", [0, 0]);
    await frames(4);
  }
  if (hand !== "zoom") send("pointerdown", [0, 0]);
  await frames(2);
  if (hand !== "zoom") {
    send("pointermove", shift(0));
    await frames(4);
  }
  window.noting = true;
  performance.mark("drag-begin");
  let begun = frames(1);
  for (let i = 1; i <= moves; i += 1) {
    await begun;
    const seen = state();
    const start = hand === "zoom" ? send("wheel", [i % 2, 0]) : send("pointermove", shift(i));
    // The figures that belong to this move, and then the end of the frame that paints them.
    const end = await new Promise((done) => {
      const painted = () => { watch.disconnect(); done(performance.now()); };
      const look = () => {
        if (!ready(seen)) return;
        watch.disconnect();
        const paints = window.stripPaints;
        const next = () => {
          // Asked for now, it is the first of the next frame's callbacks, where browsers hand on what the hand did.
          begun = frames(1);
          // Right after the frame, before what the page does between two frames.
          scheduler.postTask(() => {
            if (hand === "end" || window.stripPaints > paints) painted(); else requestAnimationFrame(next);
          }, { priority: "user-blocking" });
        };
        if (edits) requestAnimationFrame(next); else setTimeout(() => { begun = frames(1); painted(); }, 0);
      };
      const watch = new MutationObserver(look);
      watch.observe(edits ? tally : board, { attributes: true });
      setTimeout(() => { watch.disconnect(); begun = frames(1); done(null); }, 1000);
      look();
    });
    if (end !== null) picture.push(end - start);
  }
  window.noting = false;
  performance.mark("drag-end");
  // Back to where it began, for the next script.
  if (hand !== "zoom") {
    send("pointermove", [0, 0]);
    send("pointerup", [0, 0]);
  }
  await frames(2);
  const { handler, frame, message, solve } = window.busy;
  return { moves: picture.length, picture, handler, frame, message, solve, slice: [...handler, ...frame, ...message] };
})();
