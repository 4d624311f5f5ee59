// What can wait is done one piece at a time: between two of them the browser paints and hears a
// thumb.

const waiting = new Set();
let due = false;

function turn() {
  due = false;
  const [work] = waiting;
  waiting.delete(work);
  try {
    work();
  } finally {
    next();
  }
}
// When the frame that comes has been painted.
function next() {
  if (due || waiting.size === 0) return;
  due = true;
  requestAnimationFrame(() => setTimeout(turn));
}

// Calls `work` in a turn of its own; once, however often it is asked for until then.
export function inTurn(work) {
  waiting.add(work);
  next();
}
