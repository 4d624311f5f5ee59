// Puts the garden on the page: one section per zone, built once and brought up to date in place,
// so that an open panel or the focus stays where a thumb left it. Names are set as text only.

import { garden, isStale, onChange, start } from '/garden.js';
import * as orders from '/orders.js';
import { drawStrip } from '/strip.js';
import * as words from '/words.js';

const byId = id => document.getElementById(id);
const sections = new Map(); // zone id -> its section

function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === 'text') node.textContent = value;
    else if (key === 'click') node.addEventListener('click', value);
    else node.setAttribute(key, value);
  }
  node.append(...children);
  return node;
}

// Only when it differs: a live region speaks at every change.
function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

const OBSERVATIONS = {
  seedlings_seen: 'I see seedlings',
  first_mow: 'Mown for the first time',
  rooted: 'Sod resists a tug',
  surface_dry: 'Surface looks dry',
  puddling: 'Water stands',
};
const TO_REPORT = {
  rooting: ['rooted', 'surface_dry', 'puddling'],
  post_first_mow: ['surface_dry', 'puddling'],
  mature: ['surface_dry', 'puddling'],
};
const HOLDS = [[4, '4 hours'], [24, '1 day'], [72, '3 days']];

class ZoneSection {
  constructor(id) {
    this.id = id;
    this.minutes = 0;
    this.title = make('h2');
    this.phase = make('p', { class: 'phase' });
    this.sentence = make('p', { class: 'sentence' });
    this.comes = make('p', { class: 'comes' });
    this.why = make('p', { class: 'why' });
    this.today = make('p', { class: 'quiet' });
    this.svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    this.svg.setAttribute('role', 'img');
    this.figure = make('figure', { class: 'strip' }, this.svg);
    this.stop = make('button', { type: 'button', class: 'stop', text: 'Stop', hidden: '', click: () => this.act(this.stop, zone => orders.stop(zone)) });
    this.actions = make('div', { class: 'actions' }, this.stop);
    this.panels = make('div', { class: 'panels' });
    this.buttons = [];
    this.addPanel('Water…', this.waterPanel());
    this.addPanel('Hold…', this.holdPanel());
    this.addPanel('I see…', this.seePanel());
    this.table = make('tbody');
    this.layers = make('tbody');
    this.title.id = `${id}-title`;
    this.node = make('section', { class: 'zone', id: `zone-${id}`, 'aria-labelledby': this.title.id },
      make('div', { class: 'telling' }, this.title, this.phase, this.sentence, this.comes),
      this.figure,
      make('div', { class: 'reasons' }, this.why, this.today),
      make('div', { class: 'doing' }, this.actions, this.panels),
      this.numbers());
    new ResizeObserver(() => this.draw()).observe(this.figure);
  }

  addPanel(label, panel) {
    const panelId = `${this.id}-panel-${this.buttons.length}`;
    panel.id = panelId;
    panel.hidden = true;
    const button = make('button', { type: 'button', class: 'plain', text: label, 'aria-expanded': 'false', 'aria-controls': panelId });
    button.addEventListener('click', () => {
      const open = panel.hidden;
      this.fold();
      panel.hidden = !open;
      button.setAttribute('aria-expanded', String(open));
    });
    this.buttons.push({ button, panel });
    this.actions.append(button);
    this.panels.append(panel);
  }
  fold() {
    for (const { button, panel } of this.buttons) {
      panel.hidden = true;
      button.setAttribute('aria-expanded', 'false');
    }
  }

  // The button is off until the garden has answered: no order goes twice.
  async act(button, what) {
    button.disabled = true;
    const done = await what(this.zone);
    button.disabled = false;
    if (done && !this.stop.contains(button)) {
      const open = this.buttons.find(({ panel }) => !panel.hidden);
      this.fold();
      if (open) open.button.focus();
    }
  }

  waterPanel() {
    const change = by => () => {
      const step = this.minutes + (by > 0 ? 0.5 : -0.5) < 10 ? 1 : 5;
      const next = step === 5 ? Math.round(this.minutes / 5) * 5 + by * 5 : this.minutes + by;
      this.minutes = Math.min(240, Math.max(1, next));
      this.showMinutes();
    };
    this.amount = make('output', { class: 'amount', 'aria-live': 'polite' });
    this.meaning = make('p', { class: 'quiet meaning' });
    this.go = make('button', { type: 'button', class: 'go', click: () => this.act(this.go, zone => orders.water(zone, this.minutes)) });
    return make('div', { class: 'panel', role: 'group', 'aria-label': 'Water now' },
      make('div', { class: 'stepper' },
        make('button', { type: 'button', class: 'plain step', text: '\u2212', 'aria-label': 'Less', click: change(-1) }),
        this.amount,
        make('button', { type: 'button', class: 'plain step', text: '+', 'aria-label': 'More', click: change(1) }),
        this.go),
      this.meaning);
  }
  showMinutes() {
    setText(this.amount, `${this.minutes} min`);
    setText(this.go, `Water ${this.minutes} min`);
    const { rate_mm_per_h: rate, area_m2: area } = this.zone;
    if (rate == null) return setText(this.meaning, '');
    const mm = rate * this.minutes / 60;
    const litres = area == null ? '' : `, about ${words.volume(mm * area)}`;
    setText(this.meaning, `Brings ${words.depth(mm)}${litres} over the zone.`);
  }

  holdPanel() {
    this.holdText = make('p', { class: 'quiet' });
    const buttons = HOLDS.map(([hours, text]) => {
      const button = make('button', { type: 'button', class: 'plain', text });
      button.addEventListener('click', () => this.act(button, zone => orders.hold(zone, hours, text)));
      return button;
    });
    this.release = make('button', { type: 'button', class: 'go', text: 'End the hold', click: () => this.act(this.release, zone => orders.release(zone)) });
    return make('div', { class: 'panel', role: 'group', 'aria-label': 'Hold' }, this.holdText,
      make('div', { class: 'choices' }, ...buttons, this.release));
  }

  seePanel() {
    this.choices = make('div', { class: 'choices' });
    return make('div', { class: 'panel', role: 'group', 'aria-label': 'What I see on this zone' }, this.choices);
  }
  showChoices() {
    const kinds = TO_REPORT[this.zone.phase] || ['seedlings_seen', 'first_mow', 'surface_dry', 'puddling'];
    if (this.kinds === kinds.join()) return;
    this.kinds = kinds.join();
    this.choices.replaceChildren(...kinds.map(kind => {
      const text = OBSERVATIONS[kind];
      const button = make('button', { type: 'button', class: 'plain', text });
      button.addEventListener('click', () => this.act(button, zone => orders.observe(zone, kind, text)));
      return button;
    }));
  }

  numbers() {
    const head = (...names) => make('thead', {}, make('tr', {}, ...names.map(text => make('th', { scope: 'col', text }))));
    return make('details', { class: 'numbers' }, make('summary', { text: 'In numbers' }),
      make('div', { class: 'tables' },
        make('table', {}, make('caption', { text: 'The cut, now' }), head('Depth', 'Pull', 'Water'), this.layers),
        make('table', {}, make('caption', { text: 'Driest quarter by time' }), head('Time', 'Pull', 'Came down'), this.table)));
  }
  showNumbers(now) {
    const row = (...cells) => make('tr', {}, ...cells.map(text => make('td', { text })));
    this.layers.replaceChildren(...(this.zone.layers || []).map(layer => row(
      `${words.soilDepth(layer.top_mm)} to ${words.soilDepth(layer.bottom_mm)}`, words.kpa(layer.kpa),
      layer.water_fraction == null ? '' : `${Math.round(layer.water_fraction * 100)} %`)));
    const rows = [];
    const past = garden.course[this.id] || [];
    for (let i = 0; i < past.length; i += 6) {
      const slots = past.slice(i, i + 6);
      const down = slots.reduce((sum, slot) => sum + slot.rain_mm + slot.applied_mm, 0);
      rows.push(row(words.when(Date.parse(slots[0].time), now), words.kpa(slots[0].low_quarter_kpa),
        down > 0.005 ? words.depth(down) : ''));
    }
    rows.push(row('now', words.kpa(this.zone.low_quarter_kpa), ''));
    const outlook = this.zone.outlook;
    if (outlook)
      for (let i = 5; i < outlook.low_quarter_kpa.length; i += 6)
        rows.push(row(words.when(Date.parse(outlook.start) + i * outlook.step_s * 1000, now),
          words.kpa(outlook.low_quarter_kpa[i]), 'expected'));
    this.table.replaceChildren(...rows);
  }

  update(zone, now) {
    this.zone = zone;
    this.now = now;
    setText(this.title, zone.name);
    setText(this.phase, words.phase(zone));
    setText(this.sentence, words.sentence(zone));
    this.sentence.dataset.feel = words.feel(zone);
    setText(this.comes, words.comes(zone, now));
    setText(this.why, words.why(zone));
    setText(this.today, zone.today_mm > 0
      ? `Today so far ${words.depth(zone.today_mm)}, ${words.volume(zone.today_l)}.` : 'No water given today.');
    const open = zone.valve === 'open';
    this.node.classList.toggle('open', open);
    this.stop.hidden = !open;
    this.stop.setAttribute('aria-label', `Stop ${zone.name}`);
    if (!this.minutes) this.minutes = zone.next ? Math.max(1, Math.round(zone.next.run_s / 60)) : 8;
    this.showMinutes();
    setText(this.holdText, zone.hold_until
      ? `On hold until ${words.when(Date.parse(zone.hold_until), now)}. Hold from now for:`
      : 'No planned water for:');
    this.release.hidden = !zone.hold_until;
    this.showChoices();
    this.showNumbers(now);
    this.svg.setAttribute('aria-label',
      `${zone.name}. ${words.sentence(zone)} ${words.comes(zone, now)} The numbers are in the table below.`);
    this.draw();
  }
  draw() {
    const width = Math.floor(this.figure.clientWidth);
    if (!this.zone || width < 100) return;
    drawStrip(this.svg, this.zone, garden.course[this.id],
      garden.cycles.filter(cycle => cycle.zone === this.id), this.now, width);
  }
}

function showNotices(status, now) {
  const alarms = status.notices.filter(notice => notice.severity === 'alarm');
  const zoneName = id => (status.zones.find(zone => zone.id === id) || {}).name;
  const text = notice => `${notice.zone ? `${zoneName(notice.zone) || notice.zone}: ` : ''}${notice.text}`;
  const alarmText = alarms.map(text).join(' ');
  if (byId('alarms').textContent !== alarmText) byId('alarms').textContent = alarmText;
  const rest = status.notices.filter(notice => notice.severity !== 'alarm').slice(0, 8);
  byId('notices').hidden = rest.length === 0;
  byId('notice-list').replaceChildren(...rest.map(notice => make('li', { class: notice.severity },
    make('span', { class: 'quiet', text: `${words.when(Date.parse(notice.time), now)} ` }),
    `${notice.severity === 'warning' ? 'Take care. ' : ''}${text(notice)}`)));
}

function show() {
  const stale = isStale();
  document.body.classList.toggle('stale', stale && garden.status !== null);
  showSession();
  orders.lookForConfirmation();
  const status = garden.status;
  if (!status) {
    if (stale && garden.heardMs === 0) setText(byId('headline'), 'Asking the garden…');
    return;
  }
  const now = Date.parse(status.time);
  words.setPlace(status.timezone, status.units);
  setText(byId('site'), status.site || 'firstmow');
  document.title = status.site ? `${status.site}: firstmow` : 'firstmow';
  setText(byId('weather'), status.air_temp_c == null ? ''
    : `${words.temperature(status.air_temp_c)}; the air takes ${words.depth(status.et_short_mm_per_h)} of water an hour`);
  setText(byId('headline'), words.headline(status));
  setText(byId('asof'), stale
    ? `${garden.stalled ? 'The garden has stopped stepping' : 'No word from the garden'}: as of ${words.when(now, Date.now())}`
    : `as of ${words.clock(now)}`);
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
  setText(byId('stop-all'), status.zones.some(zone => zone.valve === 'open') ? 'Stop all water now' : 'Stop all water');
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

orders.setVoice(say, () => openSignIn(true));
onChange(show);
orders.signInFromAddress().then(start);
