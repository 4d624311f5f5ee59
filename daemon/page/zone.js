// One zone on the page: its sentences, its strip of earth, and what a thumb can do. Built once and
// brought up to date in place, so that an open panel or the focus stays where it was left.

import { make, setText } from '/dom.js';
import { garden, whatWouldBe } from '/garden.js';
import { MowPanel } from '/mow.js';
import * as orders from '/orders.js';
import { drawStrip } from '/strip.js';
import * as words from '/words.js';

const OBSERVATIONS = {
  seedlings_seen: 'I see seedlings',
  nothing_yet: 'Nothing to see yet',
  mown: 'Mown',
  first_mow: 'Mown for the first time',
  rooted: 'Sod resists a tug',
  surface_dry: 'Surface looks dry',
  puddling: 'Water stands',
};
const TO_REPORT = {
  rooting: ['rooted', 'surface_dry', 'puddling'],
  seedling: ['first_mow', 'surface_dry', 'puddling'],
  post_first_mow: ['mown', 'surface_dry', 'puddling'],
  mature: ['mown', 'surface_dry', 'puddling'],
};
const HOLDS = [
  [4, '4 hours'],
  [24, '1 day'],
  [72, '3 days'],
];

// Pictures to be drawn: one a frame, however much has come in, so that sentences and buttons stand
// before them and a thumb is heard between them.
const waiting = new Set();
function drawNext() {
  const [first] = waiting;
  if (!first) return;
  waiting.delete(first);
  try {
    first.draw();
  } finally {
    if (waiting.size > 0) requestAnimationFrame(drawNext);
  }
}

export class ZoneSection {
  constructor(id) {
    this.id = id;
    this.minutes = 0;
    this.title = make('h2');
    this.phase = make('p', { class: 'phase' });
    this.sentence = make('p', { class: 'sentence' });
    this.comes = make('p', { class: 'comes' });
    this.growth = make('p', { class: 'quiet' });
    this.why = make('p', { class: 'why' });
    this.later = make('p', { class: 'quiet' });
    this.today = make('p', { class: 'quiet' });
    this.sensed = make('p', { class: 'quiet' });
    this.learned = make('p', { class: 'quiet' });
    this.shortfall = make('p', { class: 'warning', hidden: '' });
    this.forget = make('button', {
      type: 'button',
      class: 'plain',
      text: 'Take that back',
      click: () => this.act(this.forget, zone => orders.takeBack(zone)),
    });
    this.correction = make('div', { hidden: '' }, this.learned, this.forget);
    this.said = make('p', { class: 'quiet' });
    this.undo = make('button', {
      type: 'button',
      class: 'plain',
      text: 'Undo',
      click: () => this.act(this.undo, zone => orders.undo(zone)),
    });
    this.lastWord = make('div', { class: 'last-word', hidden: '' }, this.said, this.undo);
    this.svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    this.svg.setAttribute('role', 'img');
    this.figure = make('figure', { class: 'strip' }, this.svg);
    this.stop = make('button', {
      type: 'button',
      class: 'stop',
      text: 'Stop',
      hidden: '',
      click: () => this.act(this.stop, zone => orders.stop(zone)),
    });
    this.actions = make('div', { class: 'actions' }, this.stop);
    this.panels = make('div', { class: 'panels' });
    this.buttons = [];
    this.waterPart = this.waterPanel();
    this.addPanel('Water…', this.waterPart);
    this.addPanel('Hold…', this.holdPanel());
    this.addPanel('I see…', this.seePanel());
    this.mow = new MowPanel({ id }, (button, what) => this.act(button, what));
    this.addPanel('I mow…', this.mow.node);
    this.table = make('tbody');
    this.layers = make('tbody');
    this.title.id = `${id}-title`;
    this.node = make(
      'section',
      { class: 'zone', id: `zone-${id}`, 'aria-labelledby': this.title.id },
      make('div', { class: 'telling' }, this.title, this.phase, this.sentence, this.comes, this.growth),
      this.figure,
      make('div', { class: 'reasons' }, this.why, this.shortfall, this.later, this.today, this.sensed,
        this.correction),
      make('div', { class: 'doing' }, this.actions, this.panels, this.lastWord),
      this.numbers(),
    );
    new ResizeObserver(() => this.drawSoon()).observe(this.figure);
  }

  addPanel(label, panel) {
    const panelId = `${this.id}-panel-${this.buttons.length}`;
    panel.id = panelId;
    panel.hidden = true;
    const button = make('button', {
      type: 'button',
      class: 'plain',
      text: label,
      'aria-expanded': 'false',
      'aria-controls': panelId,
    });
    button.addEventListener('click', () => {
      const open = panel.hidden;
      this.fold();
      panel.hidden = !open;
      button.setAttribute('aria-expanded', String(open));
      // What was foreseen a while ago may have changed.
      this.foreseen = null;
      if (open && panel === this.waterPart) this.showMinutes();
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
    this.go = make('button', {
      type: 'button',
      class: 'go',
      click: () => this.act(this.go, zone => orders.water(zone, this.minutes)),
    });
    return make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'Water now' },
      make(
        'div',
        { class: 'stepper' },
        make('button', {
          type: 'button',
          class: 'plain step',
          text: '\u2212',
          'aria-label': 'Less',
          click: change(-1),
        }),
        this.amount,
        make('button', {
          type: 'button',
          class: 'plain step',
          text: '+',
          'aria-label': 'More',
          click: change(1),
        }),
        this.go,
      ),
      this.meaning,
    );
  }
  showMinutes() {
    setText(this.amount, `${this.minutes} min`);
    setText(this.go, `Water ${this.minutes} min`);
    const { rate_mm_per_h: rate, area_m2: area } = this.zone;
    if (rate == null) return setText(this.meaning, '');
    const mm = (rate * this.minutes) / 60;
    const litres = area == null ? '' : `, about ${words.volume(mm * area)}`;
    const brings = `Brings ${words.depth(mm)}${litres} over the zone.`;
    if (!this.foreseen || this.foreseen.minutes !== this.minutes) this.askWhatWouldBe();
    const lasts = this.foreseen && this.foreseen.minutes === this.minutes ? this.foreseen.text : '';
    setText(this.meaning, lasts ? `${brings} ${lasts}` : brings);
  }
  // Asked a moment after the thumb has come to rest, and only while the panel is open.
  askWhatWouldBe() {
    clearTimeout(this.asking);
    this.asking = setTimeout(async () => {
      if (this.waterPart.hidden || document.hidden) return;
      const minutes = this.minutes;
      const seen = await whatWouldBe(this.id, `minutes=${minutes}`);
      if (!seen || minutes !== this.minutes) return;
      this.foreseen = { minutes, text: words.lasts(seen, this.now) };
      this.showMinutes();
    }, 250);
  }

  holdPanel() {
    this.holdText = make('p', { class: 'quiet' });
    const buttons = HOLDS.map(([hours, text]) => {
      const button = make('button', { type: 'button', class: 'plain', text });
      button.addEventListener('click', () =>
        this.act(button, zone => orders.hold(zone, hours, text)),
      );
      return button;
    });
    this.release = make('button', {
      type: 'button',
      class: 'go',
      text: 'End the hold',
      click: () => this.act(this.release, zone => orders.release(zone)),
    });
    return make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'Hold' },
      this.holdText,
      make('div', { class: 'choices' }, ...buttons, this.release),
    );
  }

  seePanel() {
    this.choices = make('div', { class: 'choices' });
    return make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'What I see on this zone' },
      this.choices,
    );
  }
  showChoices() {
    const kinds = TO_REPORT[this.zone.phase] || [
      'seedlings_seen',
      'nothing_yet',
      'mown',
      'surface_dry',
      'puddling',
    ];
    if (this.kinds === kinds.join()) return;
    this.kinds = kinds.join();
    this.choices.replaceChildren(
      ...kinds.map(kind => {
        const text = OBSERVATIONS[kind];
        const button = make('button', { type: 'button', class: 'plain', text });
        button.addEventListener('click', () =>
          this.act(button, zone => orders.observe(zone, kind, text)),
        );
        return button;
      }),
    );
  }

  numbers() {
    const head = (...names) =>
      make('thead', {}, make('tr', {}, ...names.map(text => make('th', { scope: 'col', text }))));
    const details = make(
      'details',
      { class: 'numbers' },
      make('summary', { text: 'In numbers' }),
      make(
        'div',
        { class: 'tables' },
        make(
          'table',
          {},
          make('caption', { text: 'The cut, now' }),
          head('Depth', 'Pull', 'Water'),
          this.layers,
        ),
        make(
          'table',
          {},
          make('caption', { text: 'Driest quarter by time' }),
          head('Time', 'Pull', 'Came down'),
          this.table,
        ),
      ),
    );
    details.addEventListener('toggle', () => this.showNumbers());
    this.details = details;
    return details;
  }
  // Made only while somebody looks at them: most of the work of a first visit would be this.
  showNumbers() {
    if (!this.details.open || !this.zone) return;
    const now = this.now;
    const row = (...cells) => make('tr', {}, ...cells.map(text => make('td', { text })));
    this.layers.replaceChildren(
      ...(this.zone.layers || []).map(layer =>
        row(
          `${words.soilDepth(layer.top_mm)} to ${words.soilDepth(layer.bottom_mm)}`,
          words.kpa(layer.kpa),
          layer.water_fraction == null ? '' : `${Math.round(layer.water_fraction * 100)} %`,
        ),
      ),
    );
    const rows = [];
    const past = garden.course[this.id] || [];
    for (let i = 0; i < past.length; i += 6) {
      const slots = past.slice(i, i + 6);
      const down = slots.reduce((sum, slot) => sum + slot.rain_mm + slot.applied_mm, 0);
      rows.push(
        row(
          words.when(Date.parse(slots[0].time), now),
          words.kpa(slots[0].low_quarter_kpa),
          down > 0.005 ? words.depth(down) : '',
        ),
      );
    }
    rows.push(row('now', words.kpa(this.zone.low_quarter_kpa), ''));
    const outlook = this.zone.outlook;
    if (outlook)
      for (let i = 5; i < outlook.low_quarter_kpa.length; i += 6)
        rows.push(
          row(
            words.when(Date.parse(outlook.start) + i * outlook.step_s * 1000, now),
            words.kpa(outlook.low_quarter_kpa[i]),
            'expected',
          ),
        );
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
    setText(this.growth, zone.growth ? zone.growth.text : '');
    this.growth.hidden = !zone.growth;
    setText(this.why, words.why(zone));
    setText(this.later, words.later(zone, now));
    const short = (garden.status.shortfalls || []).find(one => one.zone === this.id);
    setText(this.shortfall, short ? short.text : '');
    this.shortfall.hidden = !short;
    setText(
      this.today,
      zone.today_mm > 0
        ? `Today so far ${words.depth(zone.today_mm)}, ${words.volume(zone.today_l)}.`
        : 'No water given today.',
    );
    setText(this.sensed, words.sensed(garden.status.sensors || [], zone, now));
    this.correction.hidden = !zone.correction;
    setText(this.learned, words.learned(zone, now));
    this.lastWord.hidden = !zone.undo;
    if (zone.undo) {
      setText(this.said, `${words.clock(Date.parse(zone.undo.at))} ${zone.undo.text}`);
      this.undo.setAttribute('aria-label', `Undo: ${zone.undo.text}`);
    }
    const open = zone.valve === 'open';
    this.node.classList.toggle('open', open);
    this.stop.hidden = !open;
    this.stop.setAttribute('aria-label', `Stop ${zone.name}`);
    if (!this.minutes) this.minutes = zone.next ? Math.max(1, Math.round(zone.next.run_s / 60)) : 8;
    this.showMinutes();
    setText(
      this.holdText,
      zone.hold_until
        ? `On hold until ${words.when(Date.parse(zone.hold_until), now)}. Hold from now for:`
        : 'No planned water for:',
    );
    this.release.hidden = !zone.hold_until && !zone.locked;
    this.showChoices();
    this.mow.update(zone, now);
    this.showNumbers();
    const said = `${zone.name}. ${words.sentence(zone)} ${words.comes(zone, now)}`;
    this.svg.setAttribute('aria-label', `${said} The numbers are in the table below.`);
    this.drawSoon();
  }
  drawSoon() {
    if (waiting.size === 0) requestAnimationFrame(drawNext);
    waiting.add(this);
  }
  draw() {
    const width = Math.floor(this.figure.clientWidth);
    if (!this.zone || width < 100) return;
    const told = {
      past: garden.course[this.id],
      cycles: garden.cycles.filter(cycle => cycle.zone === this.id),
      earth: garden.earth[this.id],
      rainAhead: garden.status.rain_ahead,
      alarms: garden.status.notices.filter(n => n.severity === 'alarm' && n.zone === this.id),
      probes: (garden.status.sensors || []).filter(
        one => one.kind === 'soil_probe' && one.zone === this.id && one.heard,
      ),
    };
    drawStrip(this.svg, this.zone, told, this.now, width);
  }
}
