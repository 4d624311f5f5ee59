// The catch-can helper: readings are written down can by can and seen at once as what they come to.
// All of the reckoning is the daemon's.

import { make, setText } from '/dom.js';
import { garden } from '/garden.js';
import * as orders from '/orders.js';
import { canPicture } from '/glasses.js';
import * as words from '/words.js';

const kInch = 25.4;
const kUnits = { ml: 'mL', mm: 'mm', in: 'in' };

// "14 16,5 17": numbers with blanks between; a decimal comma is one.
function numbersOf(text) {
  const parts = text.split(/[\s;]+/).filter(part => part !== '');
  const numbers = parts.map(part => Number(part.replace(',', '.')));
  return numbers.every(n => Number.isFinite(n) && n >= 0) ? numbers : null;
}

export class CanPart {
  // `offer` takes a change of the garden file.
  constructor(offer) {
    this.offer = offer;
    this.readings = [];
    this.told = null; // what the daemon made of them
    this.zoneChoice = make('select', { id: 'can-zone' });
    this.zoneChoice.addEventListener('change', () => this.takeUp());
    this.minutes = this.field('can-minutes', '10', '0.5', '240');
    this.mouth = this.field('can-mouth', '', '0.4', '800');
    this.run = make('button', { type: 'button', class: 'plain' });
    this.run.addEventListener('click', () => this.runTest());
    this.units = make('div', { class: 'pick', role: 'radiogroup', 'aria-label': 'Readings in' });
    this.entry = make('input', {
      id: 'can-entry',
      inputmode: 'decimal',
      autocomplete: 'off',
      'aria-describedby': 'can-entry-help',
    });
    this.add = make('button', { type: 'submit', class: 'go', text: 'Add' });
    this.trouble = make('p', { class: 'trouble', role: 'alert' });
    this.picture = make('ol', { class: 'glasses', 'aria-label': 'Cans' });
    this.result = make('div', { class: 'found', role: 'status', hidden: '' });
    this.accept = make('button', { type: 'button', class: 'go', text: 'Accept for this zone' });
    this.accept.addEventListener('click', () => this.accepted());
    this.write = make('button', { type: 'button', class: 'plain', text: 'Write it into the garden file…' });
    this.write.addEventListener('click', () => this.offered());
    this.clear = make('button', { type: 'button', class: 'plain', text: 'Begin anew' });
    this.clear.addEventListener('click', () => {
      this.readings = [];
      this.changed();
      this.entry.focus();
    });
    this.ends = make('div', { class: 'choices', hidden: '' }, this.accept, this.write, this.clear);
    this.form = make(
      'form',
      { class: 'row entry' },
      make('label', { for: 'can-entry', id: 'can-entry-label' }),
      this.entry,
      this.add,
    );
    this.form.addEventListener('submit', event => {
      event.preventDefault();
      this.enter();
    });
    this.mouthRow = make(
      'div',
      { class: 'row' },
      make('label', { for: 'can-mouth', id: 'can-mouth-label' }),
      this.mouth,
    );
    this.node = make(
      'div',
      {},
      make(
        'div',
        { class: 'row' },
        make('label', { for: 'can-zone', text: 'Zone' }),
        this.zoneChoice,
        make('label', { for: 'can-minutes', text: 'Minutes open' }),
        this.minutes,
        this.run,
      ),
      this.units,
      this.mouthRow,
      this.form,
      make('p', {
        id: 'can-entry-help',
        class: 'quiet',
        text: 'One after the other with Enter, or several with blanks between. Press a can to take it away.',
      }),
      this.trouble,
      this.picture,
      this.result,
      this.ends,
    );
    for (const field of [this.minutes, this.mouth]) field.addEventListener('input', () => this.changed());
  }

  field(id, value, min, max) {
    return make('input', {
      ...{ id, value, min, max, type: 'number', step: 'any', inputmode: 'decimal', class: 'short' },
    });
  }

  update(status) {
    this.zones = status.zones;
    this.us = status.units === 'us';
    const ids = this.zones.map(zone => `${zone.id} ${zone.name}`).join();
    if (this.zoneChoice.dataset.ids === ids) return this.showRun();
    const chosen = this.zoneChoice.value;
    this.zoneChoice.dataset.ids = ids;
    this.zoneChoice.replaceChildren(
      ...this.zones.map(zone => make('option', { value: zone.id, text: zone.name })),
    );
    if (this.zones.some(zone => zone.id === chosen)) this.zoneChoice.value = chosen;
    else this.takeUp();
    this.showRun();
  }
  get zone() {
    return this.zones.find(zone => zone.id === this.zoneChoice.value) || this.zones[0];
  }
  showRun() {
    setText(this.run, this.zone.valve === 'open' ? `Stop ${this.zone.name}` : `Run it ${this.minutes.value} min`);
    this.run.className = this.zone.valve === 'open' ? 'stop' : 'plain';
    this.run.disabled = this.zone.valve !== 'open' && !(Number(this.minutes.value) >= 1);
  }
  async runTest() {
    this.run.disabled = true;
    if (this.zone.valve === 'open') await orders.stop(this.zone);
    else await orders.water(this.zone, Number(this.minutes.value));
    this.run.disabled = false;
  }

  // What was written down for this zone on this device, for a page that was closed on the lawn.
  takeUp() {
    let kept = {};
    try {
      kept = JSON.parse(localStorage.getItem(`cans:${this.zoneChoice.value}`)) || {};
    } catch {
      /* nothing kept */
    }
    this.readings = Array.isArray(kept.readings) ? kept.readings : [];
    this.unit = kUnits[kept.unit] ? kept.unit : this.us ? 'in' : 'ml';
    this.minutes.value = kept.minutes || '10';
    this.mouth.value = kept.mouth || (this.us ? '4.5' : '115');
    this.units.replaceChildren(
      ...Object.entries(kUnits).map(([unit, name]) => {
        const radio = make('input', { type: 'radio', name: 'can-unit', id: `can-unit-${unit}`, value: unit });
        radio.checked = unit === this.unit;
        radio.addEventListener('change', () => {
          this.unit = unit;
          this.changed();
        });
        return make('label', { for: `can-unit-${unit}` }, radio, make('span', { text: name }));
      }),
    );
    this.changed();
  }
  keep() {
    try {
      const { readings, unit } = this;
      const kept = { readings, unit, minutes: this.minutes.value, mouth: this.mouth.value };
      localStorage.setItem(`cans:${this.zoneChoice.value}`, JSON.stringify(kept));
    } catch {
      /* a private window keeps nothing */
    }
  }

  enter() {
    const numbers = numbersOf(this.entry.value);
    if (!numbers || numbers.length === 0) {
      setText(this.trouble, 'Numbers such as 14 or 16.5 would be right, with blanks between them.');
      return;
    }
    this.readings.push(...numbers);
    this.entry.value = '';
    this.changed();
    this.entry.focus();
  }

  // As the daemon takes them.
  notes() {
    const notes = {
      minutes: Number(this.minutes.value),
      unit: this.unit,
      readings: this.readings,
    };
    if (this.unit === 'ml') notes.diameter_mm = Math.round(Number(this.mouth.value) * (this.us ? kInch : 1) * 10) / 10;
    return notes;
  }

  changed() {
    this.keep();
    this.showRun();
    this.mouthRow.hidden = this.unit !== 'ml';
    setText(this.mouthRow.firstChild, this.us ? 'Mouth of a can across, in' : 'Mouth of a can across, mm');
    setText(this.form.firstChild, `Can ${this.readings.length + 1}, ${kUnits[this.unit]}`);
    setText(this.trouble, '');
    this.told = null;
    clearTimeout(this.asking);
    if (this.readings.length > 0) this.asking = setTimeout(() => this.ask(), 120);
    this.show();
  }
  async ask() {
    const turn = (this.turn = (this.turn || 0) + 1);
    const reply = await orders.send('POST', '/api/v1/catch-cans', this.notes());
    if (turn !== this.turn) return;
    this.told = reply.ok ? reply.answer : null;
    setText(this.trouble, reply.ok ? '' : `${reply.detail.replace(/^./, c => c.toUpperCase())}.`);
    this.show();
  }

  show() {
    canPicture(this.picture, this.readings, kUnits[this.unit], this.told, index => {
      this.readings.splice(index, 1);
      this.changed();
      this.entry.focus();
    });
    this.result.hidden = !this.told;
    this.ends.hidden = this.readings.length === 0;
    this.accept.disabled = this.write.disabled = !this.told;
    if (!this.told) return;
    const { rate_mm_per_h: rate, uniformity, worth, meaning } = this.told;
    const even = uniformity == null ? '' : `, uniformity ${uniformity.toFixed(2)}`;
    const now = this.zone;
    this.result.replaceChildren(
      make('p', { class: 'figure', text: `${words.rate(rate)}${even}` }),
      make('p', { text: `${worth} ${meaning}`.trim() }),
      make('p', {
        class: 'quiet',
        text:
          `Now ${now.name} is reckoned with ${words.rate(now.rate_mm_per_h)} and ` +
          `${now.low_quarter_uniformity.toFixed(2)}.`,
      }),
    );
  }

  async accepted() {
    this.accept.disabled = true;
    const { zone } = this;
    const body = { kind: 'catch_cans', minutes: this.notes().minutes, readings_mm: this.told.depths_mm };
    await orders.measured(zone, body, `${this.readings.length} catch cans`);
    this.accept.disabled = false;
  }
  offered() {
    this.offer({ zone: this.zone.id, notes: this.notes() });
  }
}
