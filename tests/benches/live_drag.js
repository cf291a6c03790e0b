// The body of a function: drags from a place of the plan, one move at a time, each as soon as the picture of
// the move before is there. Gives back what it measured, in ms.
const [x, y, moves] = arguments;
const board = document.querySelector("[data-testid=board]");
const tally = document.querySelector("[data-testid=tally]");
const box = board.getBoundingClientRect();
const [centreX, centreY, scale] = board.dataset.look.split(" ").map(Number);
const at = [box.left + box.width / 2 + (x - centreX) * scale, box.top + box.height / 2 - (y - centreY) * scale];
const canvas = document.elementFromPoint(...at);
const send = (kind, dx) => {
  const options = { bubbles: true, cancelable: true, composed: true, pointerId: 1, pointerType: "mouse", isPrimary: true,
    button: kind === "pointermove" ? -1 : 0, buttons: kind === "pointerup" ? 0 : 1, clientX: at[0] + dx, clientY: at[1] };
  const start = performance.now();
  window.timed("handler", () => canvas.dispatchEvent(new PointerEvent(kind, options)))();
  return start;
};
const frames = (count) => new Promise((done) => {
  const next = () => (count-- > 0 ? requestAnimationFrame(next) : setTimeout(done, 0));
  next();
});
// Pointer capture wants a pointer that the browser knows.
for (const name of ["setPointerCapture", "releasePointerCapture"]) Element.prototype[name] = () => {};
return (async () => {
  const picture = [];
  for (const kind of Object.keys(window.busy)) window.busy[kind] = [];
  send("pointerdown", 0);
  await frames(2);
  window.noting = true;
  performance.mark("drag-begin");
  let seen = Number(tally.dataset.generation);
  for (let i = 1; i <= moves; i += 1) {
    const start = send("pointermove", (i % 2 ? 1 : 2) * scale * 0.5);
    // The figures that belong to this move, and then the end of the frame that paints them.
    const end = await new Promise((done) => {
      const look = () => {
        const [now, analysed] = [Number(tally.dataset.generation), Number(tally.dataset.analysed)];
        if (now > seen && analysed === now) {
          watch.disconnect();
          seen = now;
          requestAnimationFrame(() => setTimeout(() => done(performance.now()), 0));
        }
      };
      const watch = new MutationObserver(look);
      watch.observe(tally, { attributes: true });
      setTimeout(() => { watch.disconnect(); done(null); }, 1000);
      look();
    });
    if (end !== null) picture.push(end - start);
  }
  window.noting = false;
  performance.mark("drag-end");
  // Back to where it began, for the next script.
  send("pointermove", 0);
  send("pointerup", 0);
  const { handler, frame, message, solve } = window.busy;
  return { moves: picture.length, picture, handler, frame, message, solve, slice: [...handler, ...frame, ...message] };
})();
