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

// The newest alarms stand on top, one line each and for a day; everything else is told below.
function showNotices(status, now) {
  const zoneName = id => (status.zones.find(zone => zone.id === id) || {}).name || id;
  const text = notice =>
    notice.zone && !notice.text.includes(zoneName(notice.zone))
      ? `${zoneName(notice.zone)}: ${notice.text}`
      : notice.text;
  const time = notice => when(Date.parse(notice.time), now);
  const onTop = status.notices
    .filter(n => n.severity === 'alarm' && now - Date.parse(n.time) < kAlarmStandsMs)
    .slice(0, kAlarmsOnTop);
  const alarmText = onTop.map(notice => `${time(notice)} ${text(notice)}`);
  // Touched only when it changes: a screen reader speaks it each time.
  if (byId('alarms').textContent !== alarmText.join(''))
    byId('alarms').replaceChildren(...alarmText.map(line => make('p', { text: line })));
  const rest = status.notices.filter(notice => !onTop.includes(notice)).slice(0, kNoticesBelow);
  byId('notices').hidden = rest.length === 0;
  const lead = { alarm: 'Alarm. ', warning: 'Take care. ', note: '' };
  byId('notice-list').replaceChildren(
    ...rest.map(notice =>
      make(
        'li',
        { class: notice.severity },
        make('span', { class: 'quiet', text: `${time(notice)} ` }),
        `${lead[notice.severity] || ''}${text(notice)}`,
      ),
    ),
  );
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
  showNotices(status, now);
  for (const zone of status.zones) if (sections.has(zone.id)) sections.get(zone.id).update(zone, now);
  if (sections.size === 0) buildNext();
  else if (sections.size < status.zones.length) inTurn(buildNext);
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
