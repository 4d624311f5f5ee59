// The panel of a zone for no planned water until later.

import { when } from '/clock.js';
import { make, setText } from '/dom.js';
import * as orders from '/orders.js';

const kHolds = [
  [4, '4 hours'],
  [24, '1 day'],
  [72, '3 days'],
];

export class HoldPanel {
  constructor(_zone, act) {
    this.said = make('p', { class: 'quiet' });
    const button = (kind, text, order) => {
      const node = make('button', { type: 'button', class: kind, text });
      node.addEventListener('click', () => act(node, order));
      return node;
    };
    this.release = button('go', 'End the hold', zone => orders.release(zone));
    this.node = make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'Hold' },
      this.said,
      make(
        'div',
        { class: 'choices' },
        ...kHolds.map(([hours, text]) => button('plain', text, zone => orders.hold(zone, hours, text))),
        this.release,
      ),
    );
  }

  update(zone, now) {
    setText(
      this.said,
      zone.hold_until
        ? `On hold until ${when(Date.parse(zone.hold_until), now)}. Hold from now for:`
        : 'No planned water for:',
    );
    this.release.hidden = !zone.hold_until && !zone.locked;
  }
}
