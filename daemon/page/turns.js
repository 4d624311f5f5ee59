// What can wait is done one piece at a time: between two of them the browser paints and hears a
// thumb, and whatever has arrived meanwhile goes first.

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
// When the frame that comes has been painted and the browser has nothing else to do; a browser that
// always has gets it nevertheless.
const kLongestWait = { timeout: 200 };
const whenIdle = globalThis.requestIdleCallback || (work => setTimeout(work, 20));
function next() {
  if (due || waiting.size === 0) return;
  due = true;
  requestAnimationFrame(() => whenIdle(turn, kLongestWait));
}

// Calls `work` in a turn of its own; once, however often it is asked for until then.
export function inTurn(work) {
  waiting.add(work);
  next();
}
