// One zone on the page: its sentences, its strip of earth, and what a thumb can do. Built once and
// brought up to date in place, so that an open panel or the focus stays where it was left.

import { clock } from '/clock.js';
import { make, setText } from '/dom.js';
import { garden } from '/garden.js';
import { HoldPanel } from '/hold.js';
import { MowPanel } from '/mow.js';
import { Numbers } from '/numbers.js';
import * as orders from '/orders.js';
import { SeePanel } from '/see.js';
import { HEIGHT, drawStrip } from '/strip.js';
import { el } from '/svg.js';
import { inTurn } from '/turns.js';
import { WaterPanel } from '/water.js';
import * as words from '/words.js';

const kPanels = [
  ['Water…', WaterPanel],
  ['Hold…', HoldPanel],
  ['I see…', SeePanel],
  ['I mow…', MowPanel],
];

export class ZoneSection {
  constructor(id) {
    this.id = id;
    const line = (kind = '') => make('p', { class: kind });
    const button = (kind, text, order) => {
      const node = make('button', { type: 'button', class: kind, text });
      node.addEventListener('click', () => this.act(node, order));
      return node;
    };
    this.title = make('h2', { id: `${id}-title` });
    this.phase = line('phase');
    this.sentence = line('sentence');
    this.comes = line('comes');
    this.growth = line('quiet');
    this.why = line('why');
    this.shortfall = line('warning');
    this.later = line('quiet');
    this.today = line('quiet');
    this.sensed = line('quiet');
    this.learned = line('quiet');
    const forget = button('plain', 'Take that back', zone => orders.takeBack(zone));
    this.correction = make('div', {}, this.learned, forget);
    this.said = line('quiet');
    this.undo = button('plain', 'Undo', zone => orders.undo(zone));
    this.lastWord = make('div', { class: 'last-word' }, this.said, this.undo);
    // As high as it will be: nothing moves under a thumb when it is drawn.
    this.svg = el('svg', { role: 'img', height: HEIGHT });
    this.figure = make('figure', { class: 'strip' }, this.svg);
    this.stop = button('stop', 'Stop', zone => orders.stop(zone));
    this.panels = make('div', { class: 'panels' });
    this.folds = kPanels.map(([text, Panel], i) => this.fold(text, Panel, `${id}-panel-${i}`));
    this.numbers = new Numbers();
    this.node = make(
      'section',
      { class: 'zone', id: `zone-${id}`, 'aria-labelledby': this.title.id },
      make('div', { class: 'telling' }, this.title, this.phase, this.sentence, this.comes, this.growth),
      this.figure,
      make(
        'div',
        { class: 'doing' },
        make('div', { class: 'actions' }, this.stop, ...this.folds.map(one => one.button)),
        this.panels,
        this.lastWord,
      ),
      make('div', { class: 'reasons' }, this.why, this.shortfall, this.later, this.today, this.sensed,
        this.correction),
      this.numbers.node,
    );
    this.draw = this.draw.bind(this);
    new ResizeObserver(() => inTurn(this.draw)).observe(this.figure);
  }

  // A button, and the panel that it opens: made when it is opened first.
  fold(text, Panel, panelId) {
    const button = make('button', { type: 'button', class: 'plain', text, 'aria-expanded': 'false' });
    const one = { button, panel: null };
    button.addEventListener('click', () => {
      const open = !one.panel || one.panel.node.hidden;
      this.foldAll();
      if (!open) return;
      if (!one.panel) {
        one.panel = new Panel(this.zone, (pressed, order) => this.act(pressed, order));
        one.panel.node.id = panelId;
        button.setAttribute('aria-controls', panelId);
        this.panels.append(one.panel.node);
      }
      one.panel.node.hidden = false;
      button.setAttribute('aria-expanded', 'true');
      if (one.panel.opened) one.panel.opened();
      one.panel.update(this.zone, this.now);
    });
    return one;
  }
  foldAll() {
    for (const { button, panel } of this.folds) {
      if (panel) panel.node.hidden = true;
      button.setAttribute('aria-expanded', 'false');
    }
  }

  // The button is off until the garden has answered: no order goes twice.
  async act(button, order) {
    button.disabled = true;
    const done = await order(this.zone);
    button.disabled = false;
    if (!done || button === this.stop) return;
    const open = this.folds.find(({ panel }) => panel && !panel.node.hidden);
    this.foldAll();
    if (open) open.button.focus();
  }

  update(zone, now) {
    this.zone = zone;
    this.now = now;
    const tell = (node, text) => {
      setText(node, text);
      node.hidden = !text;
    };
    setText(this.title, zone.name);
    setText(this.phase, words.phase(zone));
    setText(this.sentence, words.sentence(zone));
    this.sentence.dataset.feel = words.feel(zone);
    setText(this.comes, words.comes(zone, now));
    tell(this.growth, zone.growth ? words.sentenceOf(zone.growth.text) : '');
    tell(this.why, words.why(zone));
    tell(this.later, words.later(zone, now));
    const short = (garden.status.shortfalls || []).find(one => one.zone === this.id);
    tell(this.shortfall, short ? words.sentenceOf(short.text) : '');
    setText(
      this.today,
      zone.today_mm > 0
        ? `Today so far ${words.depth(zone.today_mm)}, ${words.volume(zone.today_l)}.`
        : 'No water given today.',
    );
    tell(this.sensed, words.sensed(garden.status.sensors || [], zone, now));
    this.correction.hidden = !zone.correction;
    setText(this.learned, words.learned(zone, now));
    this.lastWord.hidden = !zone.undo;
    if (zone.undo) {
      setText(this.said, `${clock(Date.parse(zone.undo.at))} ${zone.undo.text}`);
      this.undo.setAttribute('aria-label', `Undo: ${zone.undo.text}`);
    }
    const open = zone.valve === 'open';
    this.node.classList.toggle('open', open);
    this.stop.hidden = !open;
    this.stop.setAttribute('aria-label', `Stop ${zone.name}`);
    for (const { panel } of this.folds) if (panel && !panel.node.hidden) panel.update(zone, now);
    this.numbers.update(zone, now);
    const said = `${zone.name}. ${words.sentence(zone)} ${words.comes(zone, now)}`;
    this.svg.setAttribute('aria-label', `${said} The numbers are in the table below.`);
    inTurn(this.draw);
  }

  draw() {
    const width = Math.floor(this.figure.clientWidth);
    if (!this.zone || !garden.drawable || width < 100) return;
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
