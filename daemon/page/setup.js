// Setting up: are the valves the right ones, what do the sprinklers give, what does the file say.

import { showBar, startBar } from '/bar.js';
import { CanPart } from '/cans.js';
import { setText } from '/dom.js';
import { FilePart } from '/file.js';
import { garden, isStale, onChange, start } from '/garden.js';
import * as orders from '/orders.js';
import { WiringPart } from '/wiring.js';
import * as words from '/words.js';

const byId = id => document.getElementById(id);
let parts = null;

function build() {
  const wiring = new WiringPart();
  const file = new FilePart();
  const cans = new CanPart(change => file.take(change));
  byId('wiring-body').append(wiring.node);
  byId('cans-body').append(cans.node);
  byId('file-body').append(file.node);
  return [wiring, cans, file];
}

function show() {
  showBar();
  if (garden.closed) return location.replace('/'); // where to sign in
  const status = garden.status;
  if (!status || status.zones.length === 0) return;
  words.setPlace(status);
  setText(byId('site'), status.site || 'firstmow');
  document.title = `Setup: ${status.site || 'firstmow'}`;
  const told = isStale()
    ? 'No word from the garden just now; nothing is certain until it answers.'
    : garden.signedIn
      ? 'That every valve is the right one, what the sprinklers give, and what the garden file says of it.'
      : 'You may look around and reckon; to open a valve or to change the file, sign in below.';
  setText(byId('told'), told);
  if (!parts) parts = build();
  for (const part of parts) part.update(status);
}

startBar();
onChange(show);
orders.signInFromAddress().then(start);
