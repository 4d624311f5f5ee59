// A person says when he will mow: the panel of a zone for it.

import { garden } from '/garden.js';
import { make, setText } from '/dom.js';
import * as orders from '/orders.js';
import * as words from '/words.js';

const kHour = 3600e3;

// What the clock on the garden's wall shows at an instant, as a field of the page holds it.
function fieldOf(ms) {
  const parts = new Intl.DateTimeFormat('en-CA', {
    timeZone: garden.status.timezone || 'UTC',
    ...{ year: 'numeric', month: '2-digit', day: '2-digit' },
    ...{ hour: '2-digit', minute: '2-digit', hourCycle: 'h23' },
  }).formatToParts(ms);
  const of = type => parts.find(part => part.type === type).value;
  return `${of('year')}-${of('month')}-${of('day')}T${of('hour')}:${of('minute')}`;
}
// The instant at which that clock shows this; about it where the clocks change.
function instantOf(field) {
  const wanted = Date.parse(`${field}:00Z`);
  let at = wanted;
  for (let i = 0; i < 2; ++i) at += wanted - Date.parse(`${fieldOf(at)}:00Z`);
  return at;
}

export class MowPanel {
  constructor(zone, act) {
    this.said = make('p', {});
    this.field = make('input', { type: 'datetime-local', id: `mow-${zone.id}`, step: '900' });
    this.send = make('button', { type: 'button', class: 'go', text: 'Keep it firm' });
    this.drop = make('button', { type: 'button', class: 'plain', text: 'No mow then' });
    this.send.addEventListener('click', () => {
      if (!this.field.value) return this.field.focus();
      act(this.send, one => orders.planMow(one, instantOf(this.field.value), this.words()));
    });
    this.drop.addEventListener('click', () => act(this.drop, one => orders.dropMow(one)));
    this.node = make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'When I will mow' },
      this.said,
      make('label', { for: this.field.id, text: 'I will mow at' }),
      make('div', { class: 'stepper' }, this.field, this.send, this.drop),
    );
  }

  words() {
    return words.when(instantOf(this.field.value), Date.parse(garden.status.time));
  }

  update(zone, now) {
    const mow = zone.mow_planned;
    const firm = zone.judged_by === 'root_zone' ? 'twelve hours' : 'three hours';
    setText(
      this.said,
      mow
        ? `To be mown ${words.when(Date.parse(mow.at), now)}: no planned water from ` +
            `${words.when(Date.parse(mow.firm_from), now)} until it is done.`
        : `From ${firm} before there is no planned water; what would be due comes sooner. Seed ` +
            'is never let dry for it.',
    );
    this.drop.hidden = !mow;
    this.field.min = fieldOf(now);
    this.field.max = fieldOf(now + 14 * 24 * kHour);
    if (!this.field.value) this.field.value = fieldOf(Math.ceil((now + 24 * kHour) / kHour) * kHour);
  }
}
