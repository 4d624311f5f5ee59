// The wiring test: one zone after the other opens for a moment, a person looks and says what came.

import { make, setText } from '/dom.js';
import * as orders from '/orders.js';

const kSeconds = [5, 10, 20, 40];
const kWaitsMs = 12e3; // longer than any valve takes to open when nothing is in the way

export class WiringPart {
  constructor() {
    this.at = -1; // zone under test; -1: not begun
    this.results = new Map(); // id -> sentence
    this.step = make('p', { class: 'step-name', tabindex: '-1' });
    this.state = make('p', { class: 'comes', role: 'status' });
    this.open = make('button', { type: 'button', class: 'go', click: () => this.tryIt() });
    this.shut = make('button', {
      type: 'button',
      class: 'stop',
      text: 'Stop',
      click: () => this.act(this.shut, () => orders.stop(this.zone)),
    });
    this.seconds = make('select', { id: 'wiring-seconds' });
    for (const s of kSeconds) this.seconds.append(make('option', { value: s, text: `${s} s` }));
    this.seconds.value = '10';
    this.begin = make('button', {
      type: 'button',
      class: 'go',
      text: 'Begin with the first valve',
      click: () => this.goTo(0),
    });
    this.answer = this.answerPanel();
    this.skip = make('button', {
      type: 'button',
      class: 'plain',
      text: 'Leave it out',
      click: () => this.next('left out'),
    });
    this.list = make('ol', { class: 'tried', hidden: '' });
    this.trial = make(
      'div',
      { class: 'trial', role: 'group', 'aria-label': 'Valve under test', hidden: '' },
      this.step,
      this.state,
      make('div', { class: 'choices' }, this.open, this.shut, this.skip),
      this.answer,
    );
    this.node = make(
      'div',
      {},
      make(
        'div',
        { class: 'row' },
        make('label', { for: 'wiring-seconds', text: 'Each is open for' }),
        this.seconds,
        this.begin,
      ),
      this.trial,
      this.list,
    );
  }

  answerPanel() {
    const button = (text, result, sentence) => {
      const node = make('button', { type: 'button', class: 'plain', text });
      node.addEventListener('click', () => this.say(node, result, sentence));
      return node;
    };
    this.other = make('select', { id: 'wiring-other' });
    const another = make('button', { type: 'button', class: 'plain', text: 'That one got the water' });
    another.addEventListener('click', () => {
      const id = this.other.value;
      const name = this.other.selectedOptions[0].textContent;
      this.say(
        another,
        id ? { came: 'other', other: id } : { came: 'other' },
        id ? `${name} got the water` : 'another zone got the water',
      );
    });
    return make(
      'fieldset',
      { class: 'answer', hidden: '' },
      make('legend', { text: 'What came?' }),
      make(
        'div',
        { class: 'choices' },
        button('It was the right one', { came: 'right' }, 'the right one'),
        button('Nothing came', { came: 'nothing' }, 'nothing came'),
      ),
      make(
        'div',
        { class: 'row' },
        make('label', { for: 'wiring-other', text: 'Another zone:' }),
        this.other,
        another,
      ),
    );
  }

  async act(button, what) {
    button.disabled = true;
    const done = await what();
    button.disabled = false;
    return done;
  }

  async tryIt() {
    const seconds = Number(this.seconds.value);
    if (!(await this.act(this.open, () => orders.tryValve(this.zone, seconds)))) return;
    this.asked = Date.now();
    this.opened = false;
    this.tried = true;
    this.show();
  }

  async say(button, result, sentence) {
    if (this.zone.valve === 'open') await orders.stop(this.zone);
    if (await this.act(button, () => orders.triedValve(this.zone, result))) this.next(sentence);
  }

  next(sentence) {
    // What still waits for the tap shall not come when nobody looks any more.
    if (this.asked && !this.opened) orders.stop(this.zone);
    this.results.set(this.zone.id, sentence);
    this.goTo(this.at + 1);
  }

  goTo(at) {
    this.at = at;
    this.asked = 0;
    this.opened = false;
    this.tried = false;
    this.show();
    if (at < this.zones.length) this.step.focus();
    else this.begin.focus();
  }

  update(status) {
    this.zones = status.zones;
    this.show();
  }

  stateWords() {
    if (this.zone.valve === 'open')
      return this.tried
        ? 'It is open. Look which heads rise.'
        : 'Water runs on it already. Look which heads are up, or stop it first.';
    if (!this.tried) return 'Go where you can see the heads, then open it.';
    if (this.opened) return 'It has closed again.';
    return Date.now() - this.asked > kWaitsMs
      ? 'It has not opened. The tap may be busy, or the valve does not answer; see the notices.'
      : 'It is told to open…';
  }

  show() {
    const done = this.at >= this.zones.length;
    const running = this.at >= 0 && !done;
    this.trial.hidden = !running;
    this.begin.hidden = running;
    setText(this.begin, this.at < 0 ? 'Begin with the first valve' : 'Begin again');
    this.list.hidden = this.results.size === 0;
    const lines = this.zones
      .filter(zone => this.results.has(zone.id))
      .map(zone => `${zone.name}: ${this.results.get(zone.id)}`);
    if (this.list.dataset.told !== lines.join('|')) {
      this.list.dataset.told = lines.join('|');
      this.list.replaceChildren(...lines.map(text => make('li', { text })));
    }
    if (!running) return;
    this.zone = this.zones[this.at];
    if (this.zone.valve === 'open' && this.asked) this.opened = true;
    setText(this.step, `Valve ${this.at + 1} of ${this.zones.length}: ${this.zone.name}`);
    setText(this.state, this.stateWords());
    setText(this.open, this.tried ? 'Open it again' : `Open it for ${this.seconds.value} s`);
    const open = this.zone.valve === 'open';
    this.open.hidden = open;
    this.shut.hidden = !open && !(this.tried && !this.opened);
    this.answer.hidden = !this.tried && !open;
    const others = this.zones.filter(zone => zone.id !== this.zone.id);
    const ids = others.map(zone => zone.id).join();
    if (this.other.dataset.ids !== ids) {
      this.other.dataset.ids = ids;
      this.other.replaceChildren(
        ...others.map(zone => make('option', { value: zone.id, text: zone.name })),
        make('option', { value: '', text: 'one that I cannot name' }),
      );
    }
  }
}
