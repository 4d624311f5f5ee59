// What the daemon says: the newest status, live; the course of the last day; and how fresh it is.

import { inTurn } from '/turns.js';

const listeners = new Set();

export const garden = {
  status: null, // of /api/v1/status
  drawable: false, // what the pictures show has been asked for, and has come or will not
  course: {}, // zone id -> half hours of the last day
  cycles: [], // of the last day
  earth: {}, // zone id -> its layers from a day behind to a day ahead
  signedIn: false,
  heardMs: 0, // when the daemon last spoke (this browser's clock)
  closed: false, // it shows itself only to who is signed in, and this browser is not
  stalled: false, // it speaks, but its control loop does not step
};

export function onChange(listener) {
  listeners.add(listener);
}
export function changed() {
  for (const listener of listeners) listener();
}

// Silence longer than this is shown as such; the daemon speaks every 20 s at least.
const SILENT_MS = 45e3;
export function isStale() {
  return garden.stalled || Date.now() - garden.heardMs > SILENT_MS;
}

export async function read(path) {
  const reply = await fetch(path, { headers: { Accept: 'application/json' }, cache: 'no-store' });
  if (reply.status === 401 && !garden.closed) shut();
  if (!reply.ok) throw new Error(`${path}: ${reply.status}`);
  return reply.json();
}

// Nothing of the garden stays on the screen, and nobody asks on, until somebody signs in.
function shut() {
  garden.closed = true;
  garden.status = null;
  if (source) source.close();
  clearTimeout(pollTimer);
  pollTimer = 0;
  changed();
}

function takeStatus(status) {
  const openBefore = garden.status && garden.status.zones.map(zone => zone.valve).join();
  garden.status = status;
  garden.heardMs = Date.now();
  // What was expected of the earth is looked at anew a moment after a valve has moved.
  if (openBefore && openBefore !== status.zones.map(zone => zone.valve).join())
    loadPast().then(() => setTimeout(loadEarth, 3000));
  changed();
}

async function askEarth() {
  try {
    garden.earth = (await read('/api/v1/earth')).zones;
  } catch {
    /* the picture does without */
  }
}
// Looked at by the garden a moment after each change, so asked for a little later.
async function loadEarth() {
  await askEarth();
  changed();
}

let loadingPast = false;
export async function loadPast() {
  if (loadingPast || garden.closed) return;
  loadingPast = true;
  try {
    const now = garden.status ? Date.parse(garden.status.time) : Date.now();
    const from = new Date(now - 86400e3).toISOString().slice(0, 19) + 'Z';
    const [course, cycles] = await Promise.all([
      read('/api/v1/course'),
      read(`/api/v1/cycles?from=${from}`),
      askEarth(),
    ]);
    garden.course = course.zones;
    garden.cycles = cycles;
  } catch {
    // The picture keeps what it has; the next turn asks again.
  } finally {
    loadingPast = false;
    garden.drawable = true;
    changed();
  }
}

// What would come of an order; null when the garden cannot say just now.
export async function whatWouldBe(zone, query) {
  try {
    return await read(`/api/v1/zones/${encodeURIComponent(zone)}/foresight?${query}`);
  } catch {
    return null;
  }
}

export async function loadSession() {
  try {
    garden.signedIn = (await read('/api/v1/session')).signed_in;
    changed();
  } catch {
    /* stays as it was */
  }
}

let source = null;
let pollTimer = 0;
let pollMs = 5000;

async function poll() {
  pollTimer = 0;
  if (garden.closed) return;
  try {
    takeStatus(await read('/api/v1/status'));
    garden.stalled = false;
    pollMs = 5000;
  } catch {
    pollMs = Math.min(pollMs * 2, 30e3);
    changed();
  }
  if (!document.hidden && (!source || source.readyState !== EventSource.OPEN)) pollLater();
}

function pollLater() {
  if (!pollTimer && !garden.closed) pollTimer = setTimeout(poll, pollMs);
}

function listen() {
  if (source) source.close();
  if (garden.closed) return;
  source = new EventSource('/api/v1/stream');
  source.addEventListener('status', event => {
    garden.stalled = false;
    takeStatus(JSON.parse(event.data));
  });
  source.addEventListener('tick', event => {
    const tick = JSON.parse(event.data);
    garden.stalled = !tick.ok;
    garden.heardMs = Date.now();
    changed();
  });
  source.onopen = () => {
    loadSession();
  };
  source.onerror = () => {
    // Closed for good (all streams taken): ask now and then, and try again later.
    if (source.readyState === EventSource.CLOSED)
      setTimeout(() => !document.hidden && listen(), 30e3);
    pollLater();
  };
}

// Asks for everything; also when somebody has signed in or out. What the status tells stands before
// the rest is asked for.
export async function enter() {
  garden.closed = false;
  try {
    const status = await read('/api/v1/status');
    inTurn(listen);
    inTurn(loadPast);
    takeStatus(status);
  } catch {
    pollLater();
    listen();
  }
}

export function start() {
  document.addEventListener('visibilitychange', () => {
    if (document.hidden) {
      if (source) source.close();
      clearTimeout(pollTimer);
      pollTimer = 0;
    } else {
      listen();
      poll();
      loadPast();
    }
  });
  enter();
  setInterval(() => {
    if (!document.hidden) loadPast();
  }, 600e3);
  setInterval(changed, 15e3); // staleness grows without an event
}
