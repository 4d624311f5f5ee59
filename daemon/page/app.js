// Puts the garden on the page: the headline, a section per zone, notices, and the bar that is
// always in reach.

import { openSignIn, showBar, startBar } from '/bar.js';
import { clock, when } from '/clock.js';
import { make, setText } from '/dom.js';
import { garden, isStale, onChange, start } from '/garden.js';
import * as orders from '/orders.js';
import { inTurn } from '/turns.js';
import * as words from '/words.js';
import { ZoneSection } from '/zone.js';

const byId = id => document.getElementById(id);
const sections = new Map(); // zone id -> its section

const kAlarmsOnTop = 2;
const kAlarmStandsMs = 24 * 3600 * 1000;
const kNoticesBelow = 8;

const kLead = { alarm: 'Alarm. ', warning: 'Take care. ', note: '' };

// The newest alarms stand on top, one line each and for a day; everything else is told below.
function newestAlarms(status, now) {
  return status.notices
    .filter(n => n.severity === 'alarm' && now - Date.parse(n.time) < kAlarmStandsMs)
    .slice(0, kAlarmsOnTop);
}
const saidAt = (notice, now) => `${when(Date.parse(notice.time), now)} `;
function saidOf(notice, status) {
  const zone = status.zones.find(one => one.id === notice.zone);
  const name = zone ? zone.name : notice.zone;
  const text = words.sentenceOf(notice.text);
  return name && !text.includes(name) ? `${name}: ${text}` : text;
}

// Both are touched only when they change: a screen reader speaks an alarm each time, and what a
// finger has marked stays marked.
function showAlarms(status, now) {
  const lines = newestAlarms(status, now).map(one => saidAt(one, now) + saidOf(one, status));
  if (byId('alarms').textContent !== lines.join(''))
    byId('alarms').replaceChildren(...lines.map(text => make('p', { text })));
}
let toldBelow = '';
function showNotices() {
  const status = garden.status;
  if (!status) return;
  const now = Date.parse(status.time);
  const onTop = newestAlarms(status, now);
  const rest = status.notices.filter(notice => !onTop.includes(notice)).slice(0, kNoticesBelow);
  const lines = rest.map(one => [
    one.severity,
    saidAt(one, now),
    `${kLead[one.severity] || ''}${saidOf(one, status)}`,
  ]);
  if (toldBelow === JSON.stringify(lines)) return;
  toldBelow = JSON.stringify(lines);
  byId('notices').hidden = lines.length === 0;
  byId('notice-list').replaceChildren(
    ...lines.map(([kind, time, text]) =>
      make('li', { class: kind }, make('span', { class: 'quiet', text: time }), text),
    ),
  );
}

// A browser takes longer to draw the icon than one would think: not before a thumb can press.
function showIcon() {
  byId('icon').href = '/icon.svg';
}

// The zones that are not on the page yet, one at a time: the first takes a thumb before the last
// stands.
function buildNext() {
  const status = garden.status;
  const zone = status && status.zones.find(one => !sections.has(one.id));
  if (!zone) return;
  const section = new ZoneSection(zone.id);
  sections.set(zone.id, section);
  byId('garden').append(section.node);
  section.update(zone, Date.parse(status.time));
  inTurn(buildNext);
}

function show() {
  const stale = isStale();
  document.body.classList.toggle('stale', stale && garden.status !== null);
  showBar();
  if (garden.closed) return showClosed();
  const status = garden.status;
  if (!status) {
    if (stale && garden.heardMs === 0) setText(byId('headline'), 'Asking the garden…');
    return;
  }
  const now = Date.parse(status.time);
  words.setPlace(status);
  setText(byId('site'), status.site || 'firstmow');
  document.title = status.site ? `${status.site}: firstmow` : 'firstmow';
  setText(byId('weather'), words.air(status));
  setText(byId('headline'), words.headline(status));
  const silence = garden.stalled ? 'The garden has stopped stepping' : 'No word from the garden';
  setText(
    byId('asof'),
    stale ? `${silence}: as of ${when(now, Date.now())}` : `as of ${clock(now)}`,
  );
  showAlarms(status, now);
  for (const zone of status.zones) if (sections.has(zone.id)) sections.get(zone.id).update(zone, now);
  if (sections.size === 0) {
    buildNext();
    inTurn(showIcon);
  }
  else if (sections.size < status.zones.length) inTurn(buildNext);
  inTurn(showNotices);
  for (const [id, section] of sections) {
    if (status.zones.some(zone => zone.id === id)) continue;
    section.node.remove();
    sections.delete(id);
  }
  const stopped = status.stopped;
  if (stopped)
    setText(
      byId('headline'),
      `All water is kept off since ${when(Date.parse(stopped.since), now)}: ${stopped.why}.`,
    );
  else if (!status.clock_trusted)
    setText(byId('headline'), 'The time of the garden is not set yet: planned runs wait for it.');
}

// The garden shows itself only to who is signed in.
function showClosed() {
  for (const section of sections.values()) section.node.remove();
  sections.clear();
  byId('notices').hidden = true;
  toldBelow = '';
  for (const id of ['alarms', 'notice-list']) byId(id).replaceChildren();
  for (const id of ['weather', 'asof']) setText(byId(id), '');
  setText(byId('site'), 'firstmow');
  document.title = 'firstmow';
  setText(byId('headline'), 'Sign in to see this garden.');
  openSignIn(true);
}

startBar();
onChange(show);
// Another page sends here who must sign in first.
if (location.search === '?sign-in') openSignIn(true);
orders.signInFromAddress().then(start);
