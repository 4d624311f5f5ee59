// The panel of a zone for water at once: so many minutes, what they bring and how long that lasts.

import { make, setText } from '/dom.js';
import { whatWouldBe } from '/garden.js';
import * as orders from '/orders.js';
import * as words from '/words.js';

const kRestMs = 250; // asked when the thumb has come to rest
const kMostMin = 240;

export class WaterPanel {
  constructor(zone, act) {
    this.minutes = zone.next ? Math.max(1, Math.round(zone.next.run_s / 60)) : 8;
    this.amount = make('output', { class: 'amount', 'aria-live': 'polite' });
    this.meaning = make('p', { class: 'quiet meaning' });
    this.go = make('button', { type: 'button', class: 'go' });
    this.go.addEventListener('click', () =>
      act(this.go, one => orders.water(one, this.minutes)),
    );
    const step = (text, label, by) =>
      make('button', {
        type: 'button',
        class: 'plain step',
        text,
        'aria-label': label,
        click: () => this.change(by),
      });
    this.node = make(
      'div',
      { class: 'panel', role: 'group', 'aria-label': 'Water now' },
      make(
        'div',
        { class: 'stepper' },
        step('\u2212', 'Less', -1),
        this.amount,
        step('+', 'More', 1),
        this.go,
      ),
      this.meaning,
    );
  }

  // What was foreseen a while ago may have changed.
  opened() {
    this.foreseen = null;
  }
  update(zone, now) {
    this.zone = zone;
    this.now = now;
    this.show();
  }

  // Single minutes up to ten, then by five.
  change(by) {
    const fine = this.minutes + by / 2 < 10;
    const next = fine ? this.minutes + by : (Math.round(this.minutes / 5) + by) * 5;
    this.minutes = Math.min(kMostMin, Math.max(1, next));
    this.show();
  }

  show() {
    setText(this.amount, `${this.minutes} min`);
    setText(this.go, `Water ${this.minutes} min`);
    const { rate_mm_per_h: rate, area_m2: area } = this.zone;
    if (rate == null) return setText(this.meaning, '');
    const mm = (rate * this.minutes) / 60;
    const litres = area == null ? '' : `, about ${words.volume(mm * area)}`;
    const brings = `Brings ${words.depth(mm)}${litres} over the zone.`;
    const known = this.foreseen && this.foreseen.minutes === this.minutes;
    if (!known) this.askWhatWouldBe();
    setText(this.meaning, known ? `${brings} ${this.foreseen.text}` : brings);
  }
  askWhatWouldBe() {
    clearTimeout(this.asking);
    this.asking = setTimeout(async () => {
      if (this.node.hidden || document.hidden) return;
      const minutes = this.minutes;
      const seen = await whatWouldBe(this.zone.id, `minutes=${minutes}`);
      if (!seen || minutes !== this.minutes) return;
      this.foreseen = { minutes, text: words.lasts(seen, this.now) };
      this.show();
    }, kRestMs);
  }
}
