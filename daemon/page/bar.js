// The bar that is always in reach: what was said of an order, sign-in, stop. Every page that gives
// orders has its elements and calls `startBar` once, `showBar` at each change.

import { setText } from '/dom.js';
import { garden } from '/garden.js';
import * as orders from '/orders.js';

const byId = id => document.getElementById(id);
const kSaidStandsMs = 8000;
const kUndoStandsMs = 20e3;

// Made when it is opened first: a browser looks through every form of a page for what it could fill
// in, before the first zone stands.
function makeSignIn() {
  const template = byId('sign-in-form');
  template.replaceWith(template.content.cloneNode(true));
  byId('key-button').setAttribute('aria-controls', 'sign-in');
  byId('sign-in').addEventListener('submit', async event => {
    event.preventDefault();
    const field = byId('key');
    if (await orders.signIn(field.value.trim())) {
      field.value = '';
      openSignIn(false);
      byId('stop-all').focus();
    } else {
      field.select();
    }
  });
}

export function openSignIn(open) {
  if (!byId('sign-in') && open) makeSignIn();
  const form = byId('sign-in');
  if (!form || form.hidden === !open) return;
  form.hidden = !open;
  byId('key-button').setAttribute('aria-expanded', String(open));
  setText(byId('key-button'), open ? 'Not now' : 'Sign in');
  if (open) byId('key').focus();
}

let quietTimer = 0;
export function say(text, wrong = false) {
  const said = byId('said');
  setText(said, text);
  said.classList.toggle('wrong', wrong);
  clearTimeout(quietTimer);
  if (!wrong) quietTimer = setTimeout(() => setText(said, ''), undoing ? kUndoStandsMs : kSaidStandsMs);
}

// What this browser has just done and can still be undone: the zone, until another word is said.
let undoing = null;
orders.onTaken(zone => {
  undoing = zone ? { id: zone.id, name: zone.name, before: zone.undo ? zone.undo.number : 0 } : null;
  const mine = undoing;
  if (mine)
    setTimeout(() => {
      if (undoing === mine) undoing = null;
      showBar();
    }, kUndoStandsMs);
});
function undoable() {
  const zone = undoing && garden.status && garden.status.zones.find(z => z.id === undoing.id);
  return zone && zone.undo && zone.undo.number > undoing.before ? zone : null;
}

export function showBar() {
  orders.lookForConfirmation();
  byId('key-button').hidden = garden.signedIn;
  if (byId('sign-out')) byId('sign-out').hidden = !garden.signedIn;
  if (garden.signedIn) openSignIn(false);
  byId('stop-all').hidden = garden.closed;
  byId('keep-off').hidden = !garden.signedIn; // the stop goes first where room is short
  const zone = undoable();
  byId('undo').hidden = !zone;
  if (zone) byId('undo').setAttribute('aria-label', `Undo: ${zone.undo.text}`);
  const status = garden.status;
  if (!status) return;
  setText(byId('keep-off'), status.stopped ? 'Let water run again' : 'Keep all water off');
  byId('keep-off').dataset.stopped = status.stopped ? 'yes' : '';
}

async function once(button, what) {
  button.disabled = true;
  await what();
  button.disabled = false;
}

export function startBar() {
  byId('key-button').addEventListener('click', () => openSignIn(!byId('sign-in') || byId('sign-in').hidden));
  if (byId('sign-out')) byId('sign-out').addEventListener('click', orders.signOut);
  byId('stop-all').addEventListener('click', () => once(byId('stop-all'), orders.stopAll));
  byId('keep-off').addEventListener('click', () =>
    once(byId('keep-off'), async () => {
      // To let water run again is a deliberate act: asked once more.
      if (byId('keep-off').dataset.stopped !== 'yes') await orders.keepOff();
      else if (window.confirm('Let water run again, by plan and by order?')) await orders.letRun();
    }),
  );
  byId('undo').addEventListener('click', () => {
    const zone = undoable();
    if (!zone) return;
    undoing = null;
    once(byId('undo'), () => orders.undo(zone));
    byId('stop-all').focus();
  });
  orders.setVoice(say, () => openSignIn(true));
}
