// A person says when he will mow: the panel of a zone for it.

import { fieldOf, instantOf, when } from '/clock.js';
import { make, setText } from '/dom.js';
import { garden } from '/garden.js';
import * as orders from '/orders.js';

const kHour = 3600e3;

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
    return when(instantOf(this.field.value), Date.parse(garden.status.time));
  }

  update(zone, now) {
    const mow = zone.mow_planned;
    const firm = zone.judged_by === 'root_zone' ? 'twelve hours' : 'three hours';
    setText(
      this.said,
      mow
        ? `To be mown ${when(Date.parse(mow.at), now)}: no planned water from ` +
            `${when(Date.parse(mow.firm_from), now)} until it is done.`
        : `From ${firm} before there is no planned water; what would be due comes sooner. Seed ` +
            'is never let dry for it.',
    );
    this.drop.hidden = !mow;
    this.field.min = fieldOf(now);
    this.field.max = fieldOf(now + 14 * 24 * kHour);
    if (!this.field.value) this.field.value = fieldOf(Math.ceil((now + 24 * kHour) / kHour) * kHour);
  }
}
