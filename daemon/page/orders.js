// What a thumb can order, and what became of it: asked, taken, or refused with the daemon's words.

import { garden, changed, enter, loadSession } from '/garden.js';

let say = () => {};
let askForKey = () => {};

// What the garden must show before an order counts as carried out, and until when that may take.
let awaited = null;
const CONFIRM_MS = 20e3;
function expect(test, text) {
  awaited = { test, text, untilMs: Date.now() + CONFIRM_MS };
}
export function lookForConfirmation() {
  if (!awaited || !garden.status) return;
  if (awaited.test(garden.status.zones)) {
    say(typeof awaited.text === 'function' ? awaited.text(garden.status.zones) : awaited.text);
    awaited = null;
  } else if (Date.now() > awaited.untilMs) {
    awaited = null;
    say('Taken, but the valve has not confirmed it yet. Look at it.', true);
  }
}
// How water comes back after a stop: the garden's own words.
function resume() {
  const last = garden.status.notices.find(notice => notice.code === 'all_stopped');
  return last ? `${last.text.replace(/^A person closed everything; p/, 'P')} Water… brings a zone back sooner.` : '';
}
const zoneIn = (zones, id) => zones.find(zone => zone.id === id) || {};
export function tell(text) {
  taken(null);
  say(text);
}
export function setVoice(sayIt, askKey) {
  say = sayIt;
  askForKey = askKey;
}

// Hears of the zone that an order was taken for which can be undone; null for any other.
let taken = () => {};
export function onTaken(hear) {
  taken = hear;
}

export async function send(method, path, body, headers = {}) {
  const options = { method, headers: { ...headers } };
  if (body !== undefined) {
    options.headers['Content-Type'] = 'application/json';
    options.body = JSON.stringify(body);
  }
  if (AbortSignal.timeout) options.signal = AbortSignal.timeout(15e3);
  let reply;
  try {
    reply = await fetch(path, options);
  } catch {
    return { ok: false, detail: 'The garden does not answer. Nothing is certain until it does.' };
  }
  const answer = await reply.json().catch(() => ({}));
  if (reply.status === 401) {
    garden.signedIn = false;
    changed();
  }
  return { ok: reply.ok, status: reply.status, detail: answer.detail || '', answer };
}

// Says why something was not done, and asks for the key where that is why.
export function refused(result) {
  say(
    result.status === 401
      ? 'Not done: the garden takes orders from who is signed in.'
      : `Not done: ${result.detail}`,
    true,
  );
  if (result.status === 401) askForKey();
}

// Sends an order and says how it went. `asked`, `taken` and `confirmed` are sentences; `test` looks
// at the zones for what the order should bring about. `zone`: the order can be undone there.
async function order(method, path, body, asked, done, test, confirmed, zone = null) {
  taken(zone);
  say(asked);
  const result = await send(method, path, body);
  if (result.ok) {
    say(done);
    if (test) {
      expect(test, confirmed);
      lookForConfirmation();
    }
  } else {
    taken(null);
    refused(result);
  }
  return result.ok;
}

// Whether an order waits for the tap.
const waits = zone => zone.valve !== 'open' && zone.undo != null && zone.undo.what === 'water';
const path = (zone, what) => `/api/v1/zones/${encodeURIComponent(zone.id)}/${what}`;

export function water(zone, minutes) {
  return order(
    'POST',
    path(zone, 'water'),
    { minutes },
    `Asking for ${minutes} min of water on ${zone.name}…`,
    `Taken: ${minutes} min of water on ${zone.name}.`,
    zones => zoneIn(zones, zone.id).valve === 'open' || waits(zoneIn(zones, zone.id)),
    zones =>
      waits(zoneIn(zones, zone.id))
        ? `Confirmed: ${zoneIn(zones, zone.id).undo.text}`
        : `Confirmed: water runs on ${zone.name}.`,
    zone,
  );
}
export function stop(zone) {
  return order(
    'POST',
    path(zone, 'stop'),
    undefined,
    `Asking to close ${zone.name}…`,
    `Taken: ${zone.name} is told to close.`,
    zones => zoneIn(zones, zone.id).valve === 'closed',
    `Confirmed: ${zone.name} is closed.`,
  );
}
export function hold(zone, hours, words) {
  return order(
    'POST',
    path(zone, 'hold'),
    { hours },
    `Asking to hold ${zone.name} for ${words}…`,
    `Taken: no planned water on ${zone.name} for ${words}.`,
    zones => zoneIn(zones, zone.id).hold_until,
    `Confirmed: ${zone.name} is on hold for ${words}.`,
    zone,
  );
}
export function release(zone) {
  return order(
    'DELETE',
    path(zone, 'hold'),
    undefined,
    `Asking to end the hold on ${zone.name}…`,
    `Taken: ${zone.name} follows its plan again.`,
    zones => !zoneIn(zones, zone.id).hold_until,
    `Confirmed: ${zone.name} follows its plan again.`,
    zone,
  );
}
export function observe(zone, kind, words) {
  return order(
    'POST',
    path(zone, 'observations'),
    { kind },
    `Telling the garden: ${words}…`,
    `Noted for ${zone.name}: ${words}.`,
    null,
    '',
    zone,
  );
}
// `zone` as the status shows it: what is undone is what stands there.
export function undo(zone) {
  return order(
    'POST',
    path(zone, 'undo'),
    { number: zone.undo.number },
    'Asking to take that back…',
    `Taken back: ${zone.undo.text}`,
  );
}
// A moment of water, to see where it comes.
export function tryValve(zone, seconds) {
  return order(
    'POST',
    path(zone, 'valve-test'),
    { seconds },
    `Asking to open ${zone.name} for ${seconds} s…`,
    `Taken: ${zone.name} opens for ${seconds} s.`,
  );
}
export function triedValve(zone, result) {
  return order(
    'POST',
    path(zone, 'valve-test/result'),
    result,
    'Telling the garden what came…',
    `Noted for ${zone.name}.`,
  );
}
// Catch cans or a probe: `body` as the observations take it.
export function measured(zone, body, words) {
  return order(
    'POST',
    path(zone, 'observations'),
    body,
    `Telling the garden: ${words}…`,
    `Learned for ${zone.name}: ${words}. On the page of now it can be taken back.`,
  );
}
export function planMow(zone, at, words) {
  return order(
    'POST',
    path(zone, 'mow'),
    { at: new Date(at).toISOString().slice(0, 19) + 'Z' },
    `Telling the garden that ${zone.name} is mown ${words}…`,
    `Noted: ${zone.name} is mown ${words}, on firm ground.`,
    zones => zoneIn(zones, zone.id).mow_planned,
    `Confirmed: water keeps clear of the mow of ${zone.name} ${words}.`,
  );
}
export function dropMow(zone) {
  return order(
    'DELETE',
    path(zone, 'mow'),
    undefined,
    `Asking to forget the mow of ${zone.name}…`,
    `Taken: no mow is planned on ${zone.name}.`,
    zones => !zoneIn(zones, zone.id).mow_planned,
    `Confirmed: ${zone.name} follows its plan again.`,
  );
}
export function takeBack(zone) {
  return order(
    'DELETE',
    path(zone, 'corrections/last'),
    undefined,
    `Asking to take back what was last learned of ${zone.name}…`,
    `Taken back for ${zone.name}.`,
  );
}
export function stopAll() {
  return order(
    'POST',
    '/api/v1/stop',
    undefined,
    'Asking to close every valve…',
    'Taken: every valve is told to close.',
    zones => zones.every(zone => zone.valve === 'closed'),
    () => `Confirmed: every valve is closed. ${resume()}`.trim(),
  );
}

export function keepOff() {
  return order(
    'POST',
    '/api/v1/emergency-stop',
    undefined,
    'Asking to close everything and to keep it closed…',
    'Taken: everything is told to close, and stays closed until you let water run again.',
    zones => zones.every(zone => zone.valve === 'closed'),
    'Confirmed: everything is closed, and stays so.',
  );
}
export function letRun() {
  return order(
    'DELETE',
    '/api/v1/emergency-stop',
    undefined,
    'Asking to let water run again…',
    'Taken: water may run again, by plan and by order.',
  );
}

export async function signIn(key) {
  const result = await send('POST', '/api/v1/session', { token: key });
  say(result.ok ? 'Signed in.' : `Not signed in: ${result.detail}`, !result.ok);
  await loadSession();
  if (result.ok && garden.closed) await enter();
  return result.ok;
}
export async function signOut() {
  await send('DELETE', '/api/v1/session');
  say('Signed out.');
  await loadSession();
  await enter();
}

// `#key=...` from a printed link: used once, and gone from the address bar before anything else.
export async function signInFromAddress() {
  const match = /^#key=(.+)$/.exec(location.hash);
  if (!match) return;
  history.replaceState(null, '', location.pathname);
  let key = match[1];
  try {
    key = decodeURIComponent(key);
  } catch {
    /* as it stands */
  }
  // What the page asked for before it had the key (index.html) is no answer to who has it.
  await fetch('/api/v1/status').catch(() => {});
  await signIn(key);
}
