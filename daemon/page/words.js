// Numbers and sentences: everything that people read, in their units and on the garden's clocks.

import { clock, setClock, when } from '/clock.js';

const MINUS = '\u2212';

let units = 'metric';

// As the status has them.
export function setPlace(status) {
  setUnits(status.units);
  setClock(status.clock_offsets, units === 'us');
}
export function setUnits(name) {
  units = name === 'us' ? 'us' : 'metric';
}

// With a minus as it is set in print; what rounds to nothing has none.
export function number(value, digits = 0) {
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? MINUS + text : text;
}

export function kpa(value) {
  if (value == null) return 'not known';
  if (value <= -9999) return 'bone dry';
  return `${number(value, Math.abs(value) < 9.95 ? 1 : 0)}\u00a0kPa`;
}

// A sentence of the daemon, which writes plain letters, as the page sets its own. A name may end in
// "3 C": a temperature is what a word for one comes before.
export function sentenceOf(text) {
  return text
    .replace(/(^|[\s(])-(?=\d)/g, `$1${MINUS}`)
    .replace(/\b(to|of|at|below|above|and) (\S?\d+) ([CF])\b/gi, '$1 $2 °$3');
}

export function depth(mm) {
  if (mm == null) return 'not known';
  if (units === 'us') return `${number(mm / 25.4, 2)}\u00a0in`;
  return `${number(mm, 1)}\u00a0mm`;
}

export function rate(mm_per_h) {
  if (units === 'us') return `${(mm_per_h / 25.4).toFixed(2)}\u00a0in/h`;
  return `${mm_per_h.toFixed(1)}\u00a0mm/h`;
}

export function soilDepth(mm) {
  if (units !== 'us') return `${Math.round(mm)} mm`;
  const inches = mm / 25.4;
  return `${inches < 1 ? inches.toFixed(1) : String(Math.round(inches * 10) / 10)} in`;
}

// The same of a thin layer's edge, which whole millimetres would not tell from the next.
export function layerEdge(mm) {
  if (units !== 'us') return `${Number(mm.toFixed(mm < 10 ? 1 : 0))} mm`;
  return `${Number((mm / 25.4).toFixed(mm < 25.4 ? 2 : 1))} in`;
}

export function volume(litres) {
  if (units === 'us') return `${Math.round(litres / 3.78541)}\u00a0gal`;
  // A season's water is read as cubic metres: so it stands on the bill.
  if (litres >= 10000) return `${(litres / 1000).toFixed(1)}\u00a0m³`;
  return `${Math.round(litres)}\u00a0L`;
}

export function temperature(celsius) {
  if (celsius == null) return 'not known';
  const value = units === 'us' ? celsius * 1.8 + 32 : celsius;
  return `${number(value)} °${units === 'us' ? 'F' : 'C'}`;
}

// The bare number, where the unit is said elsewhere.
export function degrees(celsius) {
  const value = units === 'us' ? celsius * 1.8 + 32 : celsius;
  return number(value);
}

export function speed(m_s) {
  return units === 'us' ? `${Math.round(m_s * 2.23694)} mph` : `${m_s.toFixed(1)} m/s`;
}

const REASONS = {
  seed_zone_drying: 'The seed zone was drying.',
  root_zone_used: 'The roots had used their share.',
  longest_gap: 'It had been long without water.',
  reported_dry: 'Somebody saw it dry on top.',
  first_soak: 'The new bed was wetted through.',
  rest_of_run: 'The rest of a run that was split.',
  person: 'Somebody ordered it.',
  mow_planned: 'It came before a mow, for firm ground.',
};
export function reason(code) {
  return REASONS[code] || '';
}

export function minutes(seconds) {
  if (seconds < 90) return `${Math.round(seconds)} s`;
  const m = Math.round(seconds / 60);
  return m < 120 ? `${m}\u00a0min` : `${Math.round(m / 6) / 10} h`;
}

// Grown turf may dry at the surface: what its roots have used counts.
function feelOfRoots(zone) {
  if (zone.depletion == null) return 'Not known';
  if (zone.sinks_until) return 'Sinking in';
  if (zone.depletion > zone.allowed_depletion * 1.1) return 'Too dry';
  if (zone.depletion > zone.allowed_depletion * 0.8) return 'Drying';
  return 'Damp';
}

// One word for how the driest quarter stands.
export function feel(zone) {
  if (zone.judged_by === 'root_zone') return feelOfRoots(zone);
  const low = zone.low_quarter_kpa;
  if (low == null) return 'Not known';
  if (low < zone.threshold_kpa) return 'Too dry';
  if (low < zone.threshold_kpa * 0.7) return 'Drying';
  if (low > -6) return 'Wet';
  return 'Damp';
}

const PHASE_WORDS = {
  pre_germination: 'seed is drinking',
  emergence: 'coming up',
  seedling: 'all up, not mown yet',
  post_first_mow: 'mown, rooting down',
  mature: 'grown',
  rooting: 'sod, knitting roots',
};

export function phase(zone) {
  const words = PHASE_WORDS[zone.phase] || zone.phase_name || zone.phase;
  const way = zone.progress_pct;
  const underway = zone.phase === 'pre_germination' || zone.phase === 'emergence';
  return underway && way != null ? `${words}, ${Math.round(way)} % of the way up` : words;
}

// The sentence under a zone's name: the same that the picture says.
export function sentence(zone) {
  if (zone.judged_by === 'root_zone') {
    const percent = share =>
      share == null ? 'an unknown part' : `${Math.round(share * 100)}\u00a0%`;
    const used = `${feel(zone)}: the roots have used ${percent(zone.depletion)} of their water`;
    if (zone.sinks_until)
      return `${used}; more is sinking to them until ${clock(Date.parse(zone.sinks_until))}.`;
    return `${used}; new water is due at ${percent(zone.allowed_depletion)}.`;
  }
  const limit = `should stay above ${kpa(zone.threshold_kpa)}`;
  return `${feel(zone)}: ${kpa(zone.low_quarter_kpa)} in the driest quarter, ${limit}.`;
}

export function comes(zone, nowMs) {
  if (zone.valve === 'open') {
    return zone.closes_at
      ? `Water is running until ${clock(Date.parse(zone.closes_at))}.`
      : 'Water is running.';
  }
  const held = zone.hold_until ? `On hold until ${when(Date.parse(zone.hold_until), nowMs)}. ` : '';
  // What a hold forbids is not announced.
  const next = zone.next && !(zone.hold_until && zone.next.start < zone.hold_until);
  if (!next) return `${held}No water is planned.`;
  const start = when(Date.parse(zone.next.start), nowMs);
  return `${held}Next water ${start} for ${minutes(zone.next.run_s)}.`;
}

// The runs to be expected behind the next one, within a day.
export function later(zone, nowMs) {
  const held = zone.hold_until ? Date.parse(zone.hold_until) : 0;
  const runs = (zone.planned || []).filter(
    run => Date.parse(run.start) > Math.max(nowMs, held) && !(zone.next && run.start === zone.next.start),
  );
  if (runs.length === 0) return '';
  const shown = runs.slice(0, 6).map(run => clock(Date.parse(run.start)));
  const more = runs.length > shown.length ? ` and ${runs.length - shown.length} more` : '';
  return `If the weather comes as expected, then within a day also at ${shown.join(', ')}${more}.`;
}

// What a foreseen order comes to.
export function lasts(seen, nowMs) {
  if (seen.lasts_until)
    return `That would last until about ${when(Date.parse(seen.lasts_until), nowMs)}.`;
  return 'That would last for a day and more.';
}
export function wouldDry(seen, nowMs) {
  return seen.dry_from
    ? `Held for a day it would be too dry from about ${when(Date.parse(seen.dry_from), nowMs)}.`
    : 'Held for a day it would stay damp enough.';
}

export function why(zone) {
  if (zone.valve !== 'open' && zone.next && zone.next.explanation)
    return sentenceOf(zone.next.explanation);
  return sentenceOf(zone.explanation || '');
}

// What stands in the ground of a zone, and what it says.
export function sensed(sensors, zone, nowMs) {
  const said = sensors
    .filter(one => one.zone === zone.id && one.heard)
    .map(one => {
      const what =
        one.kind === 'soil_probe'
          ? `${one.depth_mm > 0 ? `The probe at ${soilDepth(one.depth_mm)}` : 'The probe'} says ` +
            (one.unit === 'kPa' ? kpa(one.value) : `${Math.round(one.value)}\u00a0% water`)
          : `${one.id} says ${temperature(one.value)}`;
      const late = one.silent ? ', and has been silent since' : '';
      return `${what} (${when(Date.parse(one.heard), nowMs)}${late}).`;
    });
  return said.join(' ');
}

// What the garden learned last of a zone, and from what.
export function learned(zone, nowMs) {
  if (!zone.correction) return '';
  return `Learned ${when(Date.parse(zone.correction.time), nowMs)}: ${zone.correction.why}`;
}

export function air(status) {
  if (status.air_temp_c == null) return '';
  const thirst = depth(status.et_short_mm_per_h);
  const sentence = `${temperature(status.air_temp_c)}; the air takes ${thirst} of water an hour`;
  return status.weather_note ? `${sentence}. ${status.weather_note}` : sentence;
}

// One line for the whole garden.
export function headline(status) {
  const now = Date.parse(status.time);
  const zones = status.zones;
  if (zones.length === 0)
    return 'Nothing to show yet: the garden waits for its first hour of weather.';
  const list = names =>
    names.length < 3
      ? names.join(' and ')
      : `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;
  const named = test => zones.filter(test).map(zone => zone.name);
  const running = named(zone => zone.valve === 'open');
  const dry = named(zone => feel(zone) === 'Too dry');
  const sinking = named(zone => feel(zone) === 'Sinking in');
  const said = [];
  const next = zones
    .filter(zone => zone.next && zone.valve !== 'open' && !zone.hold_until)
    .sort((a, b) => Date.parse(a.next.start) - Date.parse(b.next.start))[0];
  const start = next && when(Date.parse(next.next.start), now);
  const dryIsNext = next && dry.length === 1 && dry[0] === next.name;
  if (dryIsNext) said.push(`Too dry: ${next.name}; water comes ${start}.`);
  else if (dry.length) said.push(`Too dry: ${list(dry)}.`);
  else if (sinking.length) said.push(`Water is sinking in on ${list(sinking)}.`);
  else said.push(zones.length === 1 ? 'Damp enough.' : 'Everything is damp enough.');
  if (running.length) said.push(`Water runs on ${list(running)}.`);
  if (next && !dryIsNext) said.push(`Next: ${next.name}, ${start}.`);
  else if (!next && !running.length) said.push('No water is planned.');
  return said.join(' ');
}
