// A zone as a strip of earth through time, and a spade's cut of it as it is now. SVG, drawn to
// the width that is there.
//
// Across: a day back to a day ahead. Down: sky, the surface, then earth to its true depth
// (earth.js). Of days that are long past only the driest quarter's potential is kept: there the edge
// between pale dry and dark wet earth is it, on a logarithmic scale, wet at the surface (-3 kPa),
// dry at the foot (-1500 kPa).

import { clock, hourLabel, localHour } from '/clock.js';
import { EARTH, SKY, core, dryness, patterns, section } from '/earth.js';
import { el, r } from '/svg.js';

const DAY_MS = 86400e3;
const AXIS = 20;
export const HEIGHT = SKY + EARTH + AXIS;

const yOf = kpa => SKY + 5 + dryness(kpa) * (EARTH - 9);

// Time and driest quarter, oldest first: what was, what is, what is expected.
function series(zone, past, now) {
  const points = (past || [])
    .map(p => ({ t: Date.parse(p.time) + 1800e3, kpa: p.low_quarter_kpa }))
    .filter(p => p.kpa != null && p.t < now - 600e3);
  if (zone.low_quarter_kpa != null) points.push({ t: now, kpa: zone.low_quarter_kpa });
  const outlook = zone.outlook;
  if (outlook) {
    const start = Date.parse(outlook.start);
    outlook.low_quarter_kpa.forEach((kpa, i) => {
      const t = start + i * outlook.step_s * 1000;
      if (kpa != null && t > now && t <= now + DAY_MS) points.push({ t, kpa });
    });
  }
  return points;
}

// Slanting lines over [t, t + length), more of them the more it rains.
function rain(layer, x, t, length, mm, kind) {
  const strokes = Math.min(6, Math.max(1, Math.round(mm * 2)));
  const left = x(t);
  const width = x(t + length) - left;
  let d = '';
  for (let i = 0; i < strokes; ++i) {
    const at = left + (width * (i + 0.7)) / strokes;
    const top = 19 + ((i * 13) % 13);
    d += `M${r(at + 4)} ${top}L${r(at - 4)} ${SKY - 3}`;
  }
  layer.append(el('path', { d, class: kind }));
}

function fallen(layer, past, x) {
  for (const slot of past || [])
    if (slot.rain_mm >= 0.05) rain(layer, x, Date.parse(slot.time), 1800e3, slot.rain_mm, 'rain');
}

// What is still to come: rain as forecast, and every run that is to be expected.
function coming(layer, zone, rainAhead, now, x, nearness) {
  for (const hour of rainAhead || []) {
    const start = Math.max(now, Date.parse(hour.start));
    const end = Math.min(now + DAY_MS, Date.parse(hour.start) + 3600e3);
    if (end > start)
      rain(layer, x, start, end - start, hour.rain_mm, hour.probability < 0.6 ? 'rain unsure' : 'rain');
  }
  if (zone.valve === 'open') bar(layer, x(now), Math.max(6, nearness(420)), 1.5, 'run running');
  const held = zone.hold_until ? Date.parse(zone.hold_until) : 0;
  const planned = (zone.planned || []).length ? zone.planned : zone.next ? [zone.next] : [];
  let labelled = zone.valve === 'open';
  for (const run of planned) {
    const start = Date.parse(run.start);
    if (start <= now || start >= now + DAY_MS || start < held) continue;
    bar(layer, x(start), nearness(run.run_s), 1.2, 'run planned');
    // The next one only: the others stand in the list.
    if (!labelled)
      layer.append(
        el('text', { x: r(Math.max(x(start), x(now) + 34)), y: 11, class: 'run-time' }, clock(start)),
      );
    labelled = true;
  }
}

function given(layer, cycles, from, to, x, nearness) {
  for (const cycle of cycles) {
    const start = Date.parse(cycle.start);
    if (start < from || start > to) continue;
    bar(layer, x(start), nearness(cycle.run_s), cycle.depth_mm, 'run');
  }
}

// Water that comes down from the top and goes a little into the earth, further the more it is.
function bar(layer, at, width, depth_mm, kind) {
  const foot = SKY + Math.min(16, 3 + depth_mm * 2.5);
  const half = width / 2;
  layer.append(
    el('path', {
      d: `M${r(at - half)} 18V${r(foot - half)}a${r(half)} ${r(half)} 0 0 0 ${r(width)} 0V18z`,
      class: kind,
    }),
  );
}

// An alarm stands in the sky at its time; its words are among the notices.
function alarmed(layer, alarms, from, to, x) {
  for (const alarm of alarms || []) {
    const t = Date.parse(alarm.time);
    if (t < from || t > to) continue;
    const at = r(x(t));
    layer.append(
      el('path', { d: `M${at} 16l9 16h-18z`, class: 'alarm' }),
      el('text', { x: at, y: 30, class: 'alarm-mark' }, '!'),
    );
  }
}

function axis(layer, from, to, x, left, right) {
  const every = (to - from) / (right - left) < DAY_MS / 310 ? 3 : 6;
  let grid = '';
  for (let t = Math.ceil(from / 3600e3) * 3600e3; t <= to; t += 3600e3) {
    const { hour, minute } = localHour(t);
    if (minute !== 0 || hour % every !== 0) continue;
    const at = x(t);
    grid += `M${r(at)} ${SKY}v${EARTH}`;
    if (at > left + 8 && at < right - 8)
      layer.append(el('text', { x: r(at), y: SKY + EARTH + 15, class: 'hour' }, hourLabel(hour)));
  }
  layer.append(el('path', { d: grid, class: 'grid' }));
}

// The earth under `points` (oldest first); what lies after `now` is expected. `threshold_kpa` null:
// nothing is asked of the surface; it counts from `since` on.
function earth(svg, id, points, threshold_kpa, since, now, x, left, right) {
  const box = { x: left, y: SKY, width: right - left, height: EARTH };
  svg.append(
    el('rect', { ...box, class: 'wet' }),
    el('rect', { ...box, fill: `url(#wave-${id})` }),
  );
  const judged = threshold_kpa != null;
  const limit = judged ? yOf(threshold_kpa) : SKY + EARTH + 1;
  if (points.length > 1) {
    const line = points.map(p => `${r(x(p.t))} ${r(yOf(p.kpa))}`);
    const first = r(x(points[0].t));
    const last = r(x(points[points.length - 1].t));
    const dry = `M${first} ${SKY}L${line.join('L')}L${last} ${SKY}z`;
    svg.append(
      el('path', { d: dry, class: 'dry' }),
      el('path', { d: dry, fill: `url(#dots-${id})` }),
    );
    const counted = points.filter(p => p.t >= since);
    if (judged && counted.some(p => p.kpa < threshold_kpa)) {
      const below = counted.map(p => `${r(x(p.t))} ${r(Math.max(limit, yOf(p.kpa)))}`);
      const tooDry = `M${r(x(counted[0].t))} ${r(limit)}L${below.join('L')}L${last} ${r(limit)}z`;
      svg.append(
        el('path', { d: tooDry, class: 'toodry' }),
        el('path', { d: tooDry, fill: `url(#hatch-${id})` }),
      );
    }
    const split = points.findIndex(p => p.t >= now);
    const before = line.slice(0, split < 0 ? line.length : split + 1);
    svg.append(el('path', { d: `M${before.join('L')}`, class: 'edge' }));
    if (first > left + 1) unknown(svg, left, first);
    if (last < right - 1) unknown(svg, last, right);
    if (x(now) < right)
      svg.append(el('rect', { ...box, x: r(x(now)), width: r(right - x(now)), class: 'ahead' }));
    if (split >= 0)
      svg.append(el('path', { d: `M${line.slice(split).join('L')}`, class: 'edge expected' }));
  } else {
    unknown(svg, left, right);
  }
  if (limit > SKY + EARTH) return;
  const counts = r(Math.max(left, x(since)));
  svg.append(
    el('path', { d: `M${counts} ${r(limit)}H${right}`, class: 'limit-case' }),
    el('path', { d: `M${counts} ${r(limit)}H${right}`, class: 'limit' }),
    el('text', { x: counts + 4, y: r(limit) + 11, class: 'limit-text' }, 'dry limit'),
  );
}

function unknown(svg, from, to) {
  svg.append(el('rect', { x: from, y: SKY, width: r(to - from), height: EARTH, class: 'unknown' }));
  if (to - from > 90)
    svg.append(
      el('text', { x: r((from + to) / 2), y: SKY + EARTH / 2, class: 'unknown-text' }, 'not known'),
    );
}

function begin(svg, id, width) {
  svg.replaceChildren(patterns(id));
  svg.setAttribute('viewBox', `0 0 ${width} ${HEIGHT}`);
  svg.setAttribute('height', HEIGHT);
}
const nearnessOn = x => run_s => Math.min(18, Math.max(4, x(run_s * 1000) - x(0)));

// Replaces what is in `svg` by a day back and a day ahead of `now` (ms). `told` of this zone only:
// past (half hours), cycles, earth (layers through time; nothing yet when missing), rainAhead.
export function drawStrip(svg, zone, told, now, width) {
  begin(svg, zone.id, width);
  const coreWidth = width < 500 ? 46 : 64;
  const left = 0;
  const right = width - coreWidth - 12;
  const x = t => left + ((t - (now - DAY_MS)) / (2 * DAY_MS)) * (right - left);
  const nearness = nearnessOn(x);
  // Grown turf has no limit at the surface; its roots are judged.
  const threshold_kpa = zone.judged_by === 'root_zone' ? null : zone.threshold_kpa;
  const points = series(zone, told.past, now);
  if (told.earth && told.earth.points.length > 1)
    section(svg, zone, told.earth, points, threshold_kpa, now, x, left, right);
  else earth(svg, zone.id, points, threshold_kpa, now - DAY_MS, now, x, left, right);
  axis(svg, now - DAY_MS, now + DAY_MS, x, left, right);
  fallen(svg, told.past, x);
  given(svg, told.cycles, now - DAY_MS, now, x, nearness);
  coming(svg, zone, told.rainAhead, now, x, nearness);
  alarmed(svg, told.alarms, now - DAY_MS, now, x);
  const at = r(x(now));
  svg.append(
    el('path', { d: `M${left} ${SKY}H${right}`, class: 'surface' }),
    el('path', { d: `M${at} 15V${SKY + EARTH}`, class: 'now-case' }),
    el('path', { d: `M${at} 15V${SKY + EARTH}`, class: 'now' }),
    el('text', { x: at, y: 11, class: 'now-text' }, 'now'),
  );
  core(svg, zone, told.earth, now, right + 12, coreWidth, told.probes || []);
  svg.append(el('path', { d: `M${right + 12} ${SKY}H${width}`, class: 'surface' }));
}

// Replaces what is in `svg` by one day, `from` to `to` (ms), as it was: `day` of a zone has zone,
// threshold_kpa, judged_from and given.
export function drawDay(svg, day, past, alarms, from, to, width) {
  begin(svg, day.zone, width);
  const x = t => ((t - from) / (to - from)) * width;
  const points = (past || [])
    .map(p => ({ t: Date.parse(p.time) + 1800e3, kpa: p.low_quarter_kpa }))
    .filter(p => p.kpa != null);
  // The first half hour is known by its end only.
  if (points.length && points[0].t <= from + 1800e3) points.unshift({ t: from, kpa: points[0].kpa });
  earth(svg, day.zone, points, day.threshold_kpa, Date.parse(day.judged_from), to, x, 0, width);
  axis(svg, from, to, x, 0, width);
  fallen(svg, past, x);
  given(svg, day.given, from, to, x, nearnessOn(x));
  alarmed(svg, alarms, from, to, x);
  svg.append(el('path', { d: `M0 ${SKY}H${width}`, class: 'surface' }));
}
