// The panel of a zone for what a person sees there.

import { make } from '/dom.js';
import * as orders from '/orders.js';

const kSights = {
  seedlings_seen: 'I see seedlings',
  nothing_yet: 'Nothing to see yet',
  mown: 'Mown',
  first_mow: 'Mown for the first time',
  rooted: 'Sod resists a tug',
  surface_dry: 'Surface looks dry',
  puddling: 'Water stands',
};
const kOfPhase = {
  rooting: ['rooted', 'surface_dry', 'puddling'],
  seedling: ['first_mow', 'surface_dry', 'puddling'],
  post_first_mow: ['mown', 'surface_dry', 'puddling'],
  mature: ['mown', 'surface_dry', 'puddling'],
};
const kElse = ['seedlings_seen', 'nothing_yet', 'mown', 'surface_dry', 'puddling'];

export class SeePanel {
  constructor(_zone, act) {
    this.act = act;
    this.choices = make('div', { class: 'choices' });
    this.node = make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'What I see on this zone' },
      this.choices,
    );
  }

  update(zone) {
    if (this.phase === zone.phase) return;
    this.phase = zone.phase;
    this.choices.replaceChildren(
      ...(kOfPhase[zone.phase] || kElse).map(kind => {
        const text = kSights[kind];
        const button = make('button', { type: 'button', class: 'plain', text });
        button.addEventListener('click', () =>
          this.act(button, one => orders.observe(one, kind, text)),
        );
        return button;
      }),
    );
  }
}
