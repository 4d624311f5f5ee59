// Puts the garden on the page: the headline, a section per zone, notices, and the bar that is
// always in reach.

import { make, setText } from '/dom.js';
import { garden, isStale, onChange, start } from '/garden.js';
import * as orders from '/orders.js';
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
  const time = notice => words.when(Date.parse(notice.time), now);
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

function show() {
  const stale = isStale();
  document.body.classList.toggle('stale', stale && garden.status !== null);
  showSession();
  orders.lookForConfirmation();
  byId('stop-all').hidden = garden.closed;
  if (garden.closed) return showClosed();
  const status = garden.status;
  if (!status) {
    if (stale && garden.heardMs === 0) setText(byId('headline'), 'Asking the garden…');
    return;
  }
  const now = Date.parse(status.time);
  words.setPlace(status.timezone, status.units);
  setText(byId('site'), status.site || 'firstmow');
  document.title = status.site ? `${status.site}: firstmow` : 'firstmow';
  setText(byId('weather'), words.air(status));
  setText(byId('headline'), words.headline(status));
  const silence = garden.stalled ? 'The garden has stopped stepping' : 'No word from the garden';
  setText(
    byId('asof'),
    stale ? `${silence}: as of ${words.when(now, Date.now())}` : `as of ${words.clock(now)}`,
  );
  showNotices(status, now);
  for (const zone of status.zones) {
    if (!sections.has(zone.id)) {
      sections.set(zone.id, new ZoneSection(zone.id));
      byId('garden').append(sections.get(zone.id).node);
    }
    sections.get(zone.id).update(zone, now);
  }
  for (const [id, section] of sections) {
    if (status.zones.some(zone => zone.id === id)) continue;
    section.node.remove();
    sections.delete(id);
  }
  const stopped = status.stopped;
  setText(byId('keep-off'), stopped ? 'Let water run again' : 'Keep all water off');
  byId('keep-off').dataset.stopped = stopped ? 'yes' : '';
  if (stopped)
    setText(
      byId('headline'),
      `All water is kept off since ${words.when(Date.parse(stopped.since), now)}: ${stopped.why}.`,
    );
  else if (!status.clock_trusted)
    setText(byId('headline'), 'The time of the garden is not set yet: planned runs wait for it.');
  setText(
    byId('stop-all'),
    status.zones.some(zone => zone.valve === 'open') ? 'Stop all water now' : 'Stop all water',
  );
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
  if (byId('sign-in').hidden) openSignIn(true);
}

function showSession() {
  byId('key-button').hidden = garden.signedIn;
  byId('sign-out').hidden = !garden.signedIn;
  if (garden.signedIn && !byId('sign-in').hidden) openSignIn(false);
}
function openSignIn(open) {
  byId('sign-in').hidden = !open;
  byId('key-button').setAttribute('aria-expanded', String(open));
  setText(byId('key-button'), open ? 'Not now' : 'Sign in');
  if (open) byId('key').focus();
}

let quietTimer = 0;
function say(text, wrong = false) {
  const said = byId('said');
  setText(said, text);
  said.classList.toggle('wrong', wrong);
  clearTimeout(quietTimer);
  if (!wrong) quietTimer = setTimeout(() => setText(said, ''), 8000);
}

byId('key-button').addEventListener('click', () => openSignIn(byId('sign-in').hidden));
byId('sign-out').addEventListener('click', orders.signOut);
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
byId('stop-all').addEventListener('click', async () => {
  byId('stop-all').disabled = true;
  await orders.stopAll();
  byId('stop-all').disabled = false;
});

byId('keep-off').addEventListener('click', async () => {
  const button = byId('keep-off');
  button.disabled = true;
  // To let water run again is a deliberate act: asked once more.
  if (button.dataset.stopped !== 'yes') await orders.keepOff();
  else if (window.confirm('Let water run again, by plan and by order?')) await orders.letRun();
  button.disabled = false;
});

orders.setVoice(say, () => openSignIn(true));
onChange(show);
orders.signInFromAddress().then(start);
