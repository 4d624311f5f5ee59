// What the picture of a zone shows, as tables. Made only while somebody looks at them.

import { when } from '/clock.js';
import { make } from '/dom.js';
import { garden } from '/garden.js';
import * as words from '/words.js';

const kEvery = 6; // half hours: a row for each three hours

const row = (...cells) => make('tr', {}, ...cells.map(text => make('td', { text })));

function layers(zone) {
  return (zone.layers || []).map(layer =>
    row(
      `${words.layerEdge(layer.top_mm)} to ${words.layerEdge(layer.bottom_mm)}`,
      words.kpa(layer.kpa),
      layer.water_fraction == null ? '' : `${Math.round(layer.water_fraction * 100)} %`,
    ),
  );
}

function course(zone, now) {
  const rows = [];
  const past = garden.course[zone.id] || [];
  for (let i = 0; i < past.length; i += kEvery) {
    const slots = past.slice(i, i + kEvery);
    const down = slots.reduce((sum, slot) => sum + slot.rain_mm + slot.applied_mm, 0);
    rows.push(
      row(
        when(Date.parse(slots[0].time), now),
        words.kpa(slots[0].low_quarter_kpa),
        down > 0.005 ? words.depth(down) : '',
      ),
    );
  }
  rows.push(row('now', words.kpa(zone.low_quarter_kpa), ''));
  const outlook = zone.outlook;
  if (outlook)
    for (let i = kEvery - 1; i < outlook.low_quarter_kpa.length; i += kEvery)
      rows.push(
        row(
          when(Date.parse(outlook.start) + i * outlook.step_s * 1000, now),
          words.kpa(outlook.low_quarter_kpa[i]),
          'expected',
        ),
      );
  return rows;
}

export class Numbers {
  constructor() {
    this.tables = make('div', { class: 'tables' });
    this.node = make('details', { class: 'numbers' }, make('summary', { text: 'In numbers' }), this.tables);
    this.node.addEventListener('toggle', () => this.show());
  }
  update(zone, now) {
    this.zone = zone;
    this.now = now;
    this.show();
  }
  show() {
    if (!this.node.open || !this.zone) return;
    const table = (caption, names, rows) =>
      make(
        'table',
        {},
        make('caption', { text: caption }),
        make('thead', {}, make('tr', {}, ...names.map(text => make('th', { scope: 'col', text })))),
        make('tbody', {}, ...rows),
      );
    this.tables.replaceChildren(
      table('The cut, now', ['Depth', 'Pull', 'Water'], layers(this.zone)),
      table('Driest quarter by time', ['Time', 'Pull', 'Came down'], course(this.zone, this.now)),
    );
  }
}
