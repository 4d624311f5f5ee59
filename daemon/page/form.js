// One key of the garden file as a field: reads what the file says, gives what it should say.
//
// A field is { node, value() }: `value` is what the API takes, undefined while it is as it was,
// null where the key is to go, and throws a sentence where nothing can be made of it.

import { make } from '/dom.js';

const SOILS = [
  ...['sand', 'loamy_sand', 'sandy_loam', 'loam', 'silt_loam', 'silt', 'sandy_clay_loam'],
  ...['clay_loam', 'silty_clay_loam', 'sandy_clay', 'silty_clay', 'clay'],
];
const SPECIES = {
  kentucky_bluegrass: 'Kentucky bluegrass',
  perennial_ryegrass: 'Perennial ryegrass',
  tall_fescue: 'Tall fescue',
  fine_fescue: 'Fine fescue',
  creeping_bentgrass: 'Creeping bentgrass',
  bermudagrass: 'Bermudagrass',
  zoysiagrass: 'Zoysiagrass',
  buffalograss: 'Buffalograss',
};
const plain = word => word.replace(/_/g, ' ').replace(/^./, c => c.toUpperCase());
const DAYS = { mon: 'Mon', tue: 'Tue', wed: 'Wed', thu: 'Thu', fri: 'Fri', sat: 'Sat', sun: 'Sun' };

// What each key is called, and how it is entered. Units: the metric one, then the US one.
export const KEYS = {
  'supply.hours': { label: 'Hours in which water may run', as: hours },
  'supply.days': { label: 'Days on which water may run', as: days },
  name: { label: 'Name', as: text },
  area: { label: 'Area', as: quantity, units: ['m2', 'ft2'] },
  soil: { label: 'Soil', as: word, words: Object.fromEntries(SOILS.map(soil => [soil, plain(soil)])) },
  slope: { label: 'Slope', as: quantity, units: ['%'], none: 'level' },
  precipitation_rate: { label: 'Rate of the sprinklers', as: quantity, units: ['mm/h', 'in/h'] },
  flow: { label: 'Flow of the zone', as: quantity, units: ['L/min', 'gal/min'] },
  heads: {
    label: 'Kind of sprinklers',
    as: word,
    none: 'not said',
    words: Object.fromEntries(
      ['spray', 'rotor', 'multi_stream', 'impact', 'oscillating'].map(kind => [kind, plain(kind)]),
    ),
  },
  distribution_uniformity: { label: 'Uniformity, driest quarter over mean', as: share, none: 'as the cans or the heads say' },
  sun: {
    label: 'Direct sun',
    as: word,
    none: 'full, or as said in hours',
    words: { full: 'Full, six hours and more', part_shade: 'Part shade, three to six', shade: 'Shade, less than three' },
  },
  direct_sun: { label: 'Direct sun, in hours', as: quantity, units: ['h'], none: 'not measured' },
  shortest_run: { label: 'Shortest run', as: quantity, units: ['min', 's'], none: '2 min' },
  longest_run: { label: 'Longest run', as: quantity, units: ['min', 'h'], none: '60 min' },
  'establishment.cover': {
    label: 'Lies on the seed',
    as: word,
    none: 'nothing',
    words: { none: 'Nothing', straw: 'Straw', blanket: 'A germination blanket' },
  },
  'establishment.mix': { label: 'Seed mix, by weight', as: mix, wide: true },
};

function text(said, id) {
  const input = make('input', { id, maxlength: '80', value: said.value || '' });
  return {
    input,
    node: input,
    value: () => {
      const now = input.value.trim();
      if (now === (said.value || '')) return undefined;
      return now === '' ? null : now;
    },
  };
}

function word(said, id, key) {
  const select = make('select', { id });
  if (said.value == null) select.append(make('option', { value: '', text: key.none || 'not said' }));
  const known = { ...key.words };
  if (said.value != null && !(said.value in known)) known[said.value] = said.value;
  for (const [value, name] of Object.entries(known)) select.append(make('option', { value, text: name }));
  if (said.value != null && key.none) select.append(make('option', { value: '', text: `Leave it out (${key.none})` }));
  select.value = said.value || '';
  return {
    input: select,
    node: select,
    value: () => (select.value === (said.value || '') ? undefined : select.value || null),
  };
}

function quantity(said, id, key, us) {
  const [, number = '', unit = ''] = /^\s*(-?[\d.]+)\s*(.*?)\s*$/.exec(said.value || '') || [];
  const input = make('input', {
    ...{ id, value: number, type: 'number', step: 'any', inputmode: 'decimal', class: 'short' },
  });
  const units = make('select', { 'aria-label': `${key.label}: unit` });
  const offered = key.units.includes(unit) || !unit ? key.units : [...key.units, unit];
  for (const one of offered) units.append(make('option', { value: one, text: one.replace('2', '\u00b2') }));
  units.value = unit || (us && key.units.length > 1 && key.units[0] !== 'min' ? key.units[1] : key.units[0]);
  const was = said.value == null ? '' : `${number} ${unit}`;
  return {
    input,
    node: make('div', { class: 'pair' }, input, ...(offered.length > 1 ? [units] : [make('span', { text: offered[0] })])),
    value: () => {
      if (input.validity.badInput) throw new Error(`${key.label} is no number; 12.5 would be right.`);
      const now = input.value.trim();
      if (now === '') return said.value == null ? undefined : null;
      const text = `${now} ${units.value}`;
      return text === was ? undefined : text;
    },
  };
}

function share(said, id, key) {
  const input = make('input', {
    ...{ id, type: 'number', step: '0.01', min: '0.1', max: '1', inputmode: 'decimal', class: 'short' },
    value: said.value ?? '',
  });
  return {
    input,
    node: input,
    value: () => {
      if (input.validity.badInput) throw new Error(`${key.label} is no number; 0.65 would be right.`);
      const now = input.value.trim();
      if (now === '') return said.value == null ? undefined : null;
      return Number(now) === said.value ? undefined : Number(now);
    },
  };
}

// Lines that can be added and taken away.
function rows(make_row, first, id, more, less) {
  const list = make('div', { class: 'one' });
  const all = [];
  const add = given => {
    const row = make_row(given, all.length === 0 ? id : `${id}-${all.length}`);
    const away = make('button', { type: 'button', class: 'plain step', text: '\u2212', 'aria-label': less });
    away.addEventListener('click', () => {
      if (all.length < 2) return;
      all.splice(all.indexOf(row), 1);
      line.remove();
      all[0].input.focus();
      list.dispatchEvent(new Event('change', { bubbles: true }));
    });
    const line = make('div', { class: 'pair' }, ...row.parts, away);
    all.push(row);
    button.before(line);
  };
  const button = make('button', { type: 'button', class: 'plain', text: more });
  button.addEventListener('click', () => {
    add(null);
    all[all.length - 1].input.focus();
  });
  list.append(button);
  for (const one of first) add(one);
  return { list, all };
}

function hours(said, id, key) {
  const given = said.value || [];
  const { list, all } = rows(
    (one, rowId) => {
      // An evening that ends at midnight is 24:00 there, which no time field can hold.
      const [from = '06:00', to = '19:00'] = (one || '').split('-');
      const begin = make('input', { id: rowId, type: 'time', value: from, 'aria-label': `${key.label}: from` });
      const end = make('input', { type: 'time', value: to === '24:00' ? '00:00' : to, 'aria-label': `${key.label}: until` });
      return {
        input: begin,
        parts: [begin, make('span', { text: 'until' }), end],
        value: () => `${begin.value}-${end.value === '00:00' ? '24:00' : end.value}`,
      };
    },
    given.length ? given : [null],
    id,
    'Another stretch',
    'Take this stretch away',
  );
  return {
    input: all[0].input,
    node: list,
    value: () => {
      const now = all.map(row => row.value());
      if (now.some(one => !/^\d\d:\d\d-\d\d:\d\d$/.test(one))) throw new Error('A stretch of hours lacks a time.');
      return now.join() === given.join() ? undefined : now;
    },
  };
}

function days(said, id) {
  const given = said.value;
  const boxes = Object.entries(DAYS).map(([day, name], i) => {
    const box = make('input', { type: 'checkbox', value: day, ...(i === 0 ? { id } : {}) });
    box.checked = !given || given.includes(day);
    return { box, node: make('label', {}, box, name) };
  });
  return {
    input: boxes[0].box,
    node: make('div', { class: 'days' }, ...boxes.map(one => one.node)),
    value: () => {
      const now = boxes.filter(one => one.box.checked).map(one => one.box.value);
      const was = given || Object.keys(DAYS);
      if (now.length === was.length && now.every(day => was.includes(day))) return undefined;
      if (now.length === 0) throw new Error('On no day at all nothing would be watered; at least one would be right.');
      return now.length === 7 ? null : now;
    },
  };
}

function mix(said, id) {
  const given = said.value || [];
  const { list, all } = rows(
    (part, rowId) => {
      const select = make('select', { id: rowId, 'aria-label': 'Species' });
      for (const [value, name] of Object.entries(SPECIES)) select.append(make('option', { value, text: name }));
      if (part) select.value = part.species;
      const percent = make('input', {
        ...{ type: 'number', min: '1', max: '100', step: 'any', inputmode: 'decimal', class: 'short' },
        ...{ 'aria-label': 'Share of the seed in percent', value: part ? Math.round(part.share * 1000) / 10 : '' },
      });
      return {
        input: select,
        parts: [select, percent, make('span', { text: '%' })],
        value: () => ({ species: select.value, share: Math.round(Number(percent.value) * 10) / 1000 }),
      };
    },
    given.length ? given : [null],
    id,
    'Another species',
    'Take this species away',
  );
  return {
    input: all[0].input,
    node: list,
    value: () => {
      const now = all.map(row => row.value());
      if (JSON.stringify(now) === JSON.stringify(given)) return undefined;
      if (now.some(part => !(part.share > 0))) throw new Error('A species of the mix lacks its share.');
      return now;
    },
  };
}
