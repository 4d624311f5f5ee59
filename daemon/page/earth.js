// Earth to its true depth: a section through time, and a spade's cut as it is now.
//
// Depth goes down, the upper centimetres larger than those below. The wetter, the darker and the
// more waved; the drier, the paler and the more dotted; what is drier than it should be is hatched.

import { el, r } from '/svg.js';
import { kpa as sayKpa, soilDepth } from '/words.js';

export const SKY = 58;
export const EARTH = 118;

// 0 at -3 kPa or wetter, 1 at -1500 kPa or drier: the scale of the days that are past.
export function dryness(kpa) {
  const u = (Math.log10(Math.max(1, -kpa)) - 0.477) / (3.176 - 0.477);
  return Math.min(1, Math.max(0, u));
}
// A shade of earth, 0 at -8 kPa and wetter to 7 at -320 kPa and drier: where a seedbed lives. At -100
// kPa the paler, dotted ones begin.
function shade(kpa) {
  const u = (Math.log10(Math.max(1, -kpa)) - 0.778) / (2.6 - 0.778);
  return Math.min(7, Math.max(0, Math.floor(u * 8)));
}
const kMarks = ['wave', 'wave', 'wave', '', '', 'dots', 'dots', 'dots'];

// Seed lies in the first centimetre, roots reach down three hands: both must be seen.
const depthScale = bottom_mm => mm =>
  SKY + Math.pow(Math.min(mm, bottom_mm) / bottom_mm, 0.45) * EARTH;

// Patterns, so that wet and dry differ without colour too. Ids are made unique by `id`.
export function patterns(id) {
  const wave = el(
    'pattern',
    { id: `wave-${id}`, width: 16, height: 9, patternUnits: 'userSpaceOnUse' },
    el('path', { d: 'M0 4.5q4-4 8 0t8 0', class: 'mark-wet' }),
  );
  const dots = el(
    'pattern',
    { id: `dots-${id}`, width: 9, height: 9, patternUnits: 'userSpaceOnUse' },
    el('circle', { cx: 2, cy: 2.5, r: 1, class: 'mark-dry' }),
    el('circle', { cx: 6.5, cy: 7, r: 0.8, class: 'mark-dry' }),
  );
  const hatch = el(
    'pattern',
    { id: `hatch-${id}`, width: 7, height: 7, patternUnits: 'userSpaceOnUse' },
    el('path', { d: 'M-1 8L8-1M-1 1L1-1M6 8L8 6', class: 'mark-toodry' }),
  );
  return el('defs', {}, wave, dots, hatch);
}

// Boxes of earth, gathered by shade: a picture takes as many paths as it has shades, not boxes.
class Boxes {
  constructor() {
    this.slabs = kMarks.map(() => '');
    this.marks = { wave: '', dots: '' };
  }
  add(kind, x, y, width, height) {
    const box = `M${r(x)} ${r(y)}h${r(width)}v${r(height)}h${-r(width)}z`;
    this.slabs[kind] += box;
    if (kMarks[kind]) this.marks[kMarks[kind]] += box;
  }
  putInto(svg, id) {
    this.slabs.forEach((d, kind) => d && svg.append(el('path', { d, class: `slab e${kind + 1}` })));
    for (const [mark, d] of Object.entries(this.marks))
      if (d) svg.append(el('path', { d, fill: `url(#${mark}-${id})` }));
  }
}

// One layer through time: a box for each stretch in which it stays of one kind.
function layer(boxes, points, k, top, height, x, left, right) {
  const kind = point => shade(point.kpa[k]);
  for (let from = 0; from < points.length; ) {
    let to = from + 1;
    while (to < points.length && kind(points[to]) === kind(points[from])) ++to;
    const a = Math.max(left, x(points[from].t));
    const b = Math.min(right, x(to < points.length ? points[to].t : points[to - 1].t + 1800e3));
    if (b > a) boxes.add(kind(points[from]), a, top, b - a, height);
    from = to;
  }
}

// How deep the earth is drier than `limit` from the surface down.
function dryDepth(point, bottom_mm, limit) {
  let depth = 0;
  for (let k = 0; k < bottom_mm.length && point.kpa[k] < limit; ++k) depth = bottom_mm[k];
  return depth;
}

// The section. `line` is the driest quarter's seed zone through time, `threshold_kpa` what it should
// stay above; null: nothing is asked of the surface.
export function section(svg, zone, earth, line, threshold_kpa, now, x, left, right) {
  const bottom = earth.bottom_mm[earth.bottom_mm.length - 1];
  const y = depthScale(bottom);
  const points = earth.points
    .map(point => ({ t: Date.parse(point.time), kpa: point.kpa }))
    .filter(point => x(point.t) > left - 60 && x(point.t) < right);
  if (points.length < 2) return;
  // The half hour before the first point is as good as known.
  if (x(points[0].t - 1800e3) < left) points[0].t -= 1800e3;
  const first = Math.max(left, x(points[0].t));
  const last = Math.min(right, x(points[points.length - 1].t + 1800e3));
  svg.append(el('rect', { x: left, y: SKY, width: right - left, height: EARTH, class: 'unknown' }));
  const boxes = new Boxes();
  earth.bottom_mm.forEach((foot, k) => {
    const top = y(k ? earth.bottom_mm[k - 1] : 0);
    layer(boxes, points, k, top, y(foot) - top, x, left, right);
  });
  boxes.putInto(svg, zone.id);
  if (threshold_kpa != null) {
    tooDry(svg, zone, line, threshold_kpa, y(zone.seed_depth_mm), x, left, right);
    dryFront(svg, points, earth.bottom_mm, threshold_kpa, now, x, y, last);
  }
  if (x(now) < right)
    svg.append(
      el('rect', { x: r(x(now)), y: SKY, width: r(right - x(now)), height: EARTH, class: 'ahead' }),
    );
  depths(svg, zone, threshold_kpa, bottom, y, first, last);
}

// Where the seed zone as a whole was or will be drier than it should: hatched down to the seed.
function tooDry(svg, zone, line, threshold_kpa, foot, x, left, right) {
  let d = '';
  for (let i = 0; i + 1 < line.length; ++i) {
    if (line[i].kpa >= threshold_kpa && line[i + 1].kpa >= threshold_kpa) continue;
    const a = Math.max(left, x(line[i].t));
    const b = Math.min(right, x(line[i + 1].t));
    if (b > a) d += `M${r(a)} ${SKY}H${r(b)}V${r(foot)}H${r(a)}z`;
  }
  if (d)
    svg.append(
      el('path', { d, class: 'toodry' }),
      el('path', { d, fill: `url(#hatch-${zone.id})` }),
    );
}

// The foot of the dry crust: it sinks as the bed dries, and must not come down to the seed.
function dryFront(svg, points, bottom_mm, threshold_kpa, now, x, y, last) {
  const path = list =>
    list.map(p => `${r(Math.min(x(p.t), last))} ${r(y(dryDepth(p, bottom_mm, threshold_kpa)))}`);
  const split = points.findIndex(point => point.t >= now);
  const before = path(split < 0 ? points : points.slice(0, split + 1));
  if (before.length > 1)
    svg.append(
      el('path', { d: `M${before.join('L')}`, class: 'edge-case' }),
      el('path', { d: `M${before.join('L')}`, class: 'edge' }),
    );
  const after = split < 0 ? [] : path(points.slice(split));
  if (after.length > 1) svg.append(el('path', { d: `M${after.join('L')}`, class: 'edge expected' }));
}

// Lines across at the depths that matter, each with its name.
function depths(svg, zone, threshold_kpa, bottom, y, first, last) {
  const across = (mm, kind) =>
    svg.append(el('path', { d: `M${r(first)} ${r(y(mm))}H${r(last)}`, class: kind }));
  const name = (mm, text) =>
    svg.append(el('text', { x: r(first + 4), y: r(y(mm) + 11), class: 'limit-text' }, text));
  if (threshold_kpa != null && zone.seed_depth_mm > 0) {
    across(zone.seed_depth_mm, 'limit-case');
    across(zone.seed_depth_mm, 'limit');
    seeds(svg, first, last, y(zone.seed_depth_mm));
    name(zone.seed_depth_mm, `${soilDepth(zone.seed_depth_mm)}: damp to ${sayKpa(threshold_kpa)}`);
  }
  if (zone.root_depth_mm > 20 && zone.root_depth_mm < bottom - 10) {
    across(zone.root_depth_mm, 'roots-end');
    name(zone.root_depth_mm, `roots to ${soilDepth(zone.root_depth_mm)}`);
  } else if (zone.root_depth_mm >= bottom - 10) {
    svg.append(el('text', { x: r(first + 4), y: SKY + EARTH - 4, class: 'limit-text' }, 'roots below'));
  }
}

function seeds(svg, first, last, at) {
  let d = '';
  for (let cx = first + 16; cx < last - 8; cx += 34) d += ellipse(cx, at - 2.5, 3, 1.8);
  svg.append(el('path', { d, class: 'seed' }));
}
const ellipse = (cx, cy, rx, ry) =>
  `M${r(cx - rx)} ${r(cy)}a${rx} ${ry} 0 1 0 ${2 * rx} 0a${rx} ${ry} 0 1 0 ${-2 * rx} 0z`;

// The spade's cut: layers by true depth (as the strip has it), seed, roots, what stands on top. It is
// cut where the strip is: `earth` tells of that at `now`.
export function core(svg, zone, earth, now, left, width, probes) {
  const layers = cutOf(zone, earth, now);
  if (!layers.length) return;
  const judged = zone.judged_by === 'root_zone';
  const cut = judged ? width - 13 : width;
  const bottom = layers[layers.length - 1].bottom_mm;
  const y = depthScale(bottom);
  const boxes = new Boxes();
  for (const { kpa, top_mm, bottom_mm } of layers)
    if (kpa != null) boxes.add(shade(kpa), left, y(top_mm), cut, y(bottom_mm) - y(top_mm));
  boxes.putInto(svg, zone.id);
  plants(svg, zone, left, cut, y);
  for (const probe of probes) stuckIn(svg, probe, left + cut / 2, y);
  svg.append(el('rect', { x: left, y: SKY, width: cut, height: EARTH, class: 'cut-frame' }));
  if (judged) gauge(svg, zone, left + width, y);
  svg.append(
    el('text', { x: left + width / 2, y: SKY + EARTH + 15, class: 'hour' }, soilDepth(bottom)),
  );
}

function cutOf(zone, earth, now) {
  if (!earth || !earth.points.length) return zone.layers || [];
  const off = point => Math.abs(Date.parse(point.time) - now);
  const at = earth.points.reduce((best, point) => (off(point) < off(best) ? point : best));
  return earth.bottom_mm.map((bottom_mm, k) => ({
    top_mm: k ? earth.bottom_mm[k - 1] : 0,
    bottom_mm,
    kpa: at.kpa[k],
  }));
}

function plants(svg, zone, left, width, y) {
  const young =
    zone.phase === 'pre_germination' || zone.phase === 'emergence' || zone.phase === 'seedling';
  const blades = Math.round((zone.cover_fraction || 0) * 12);
  const tall =
    {
      pre_germination: 12,
      emergence: 10,
      seedling: 24,
      post_first_mow: 18,
      mature: 20,
      rooting: 18,
    }[zone.phase] || 14;
  let leaves = '';
  for (let i = 0; i < blades; ++i) {
    const at = left + 4 + ((width - 8) * (((i * 5) % 12) + 0.5)) / 12;
    const lean = (i % 3) - 1;
    leaves += `M${r(at)} ${SKY}q${lean} ${-tall / 2} ${lean * 3} ${-tall - (i % 4)}`;
  }
  if (leaves) svg.append(el('path', { d: leaves, class: 'blade' }));
  if (zone.root_depth_mm > 0 && blades) {
    const foot = y(zone.root_depth_mm);
    let roots = '';
    for (let i = 0; i < 3; ++i) {
      const at = left + width * (0.25 + 0.25 * i);
      const long = (foot - SKY) * (1 - 0.18 * (i % 2));
      roots += `M${r(at)} ${SKY}q5 ${r(long / 3)} 0 ${r(long * 0.66)}t0 ${r(long * 0.34)}`;
    }
    svg.append(el('path', { d: roots, class: 'root' }));
  }
  if (young && zone.seed_depth_mm > 0) {
    const at = y(zone.seed_depth_mm) - 1;
    const seed = i => ellipse(left + width * (0.14 + 0.24 * i), at, 3.4, 2);
    svg.append(el('path', { d: [0, 1, 2, 3].map(seed).join(''), class: 'seed' }));
  }
}


// A probe at its depth; what it says stands in the text.
function stuckIn(svg, probe, at, y) {
  const depth = r(y(probe.depth_mm || 5));
  svg.append(
    el('path', { d: `M${r(at)} ${SKY - 8}V${depth}`, class: 'probe-stem' }),
    el('circle', { cx: r(at), cy: depth, r: 4.5, class: probe.silent ? 'probe silent' : 'probe' }),
  );
}

// What the roots have left, beside the cut: full down to the roots' end, and the mark at which new
// water is due.
function gauge(svg, zone, right, y) {
  if (zone.depletion == null || zone.allowed_depletion == null) return;
  const foot = y(zone.root_depth_mm || 100);
  const tall = foot - SKY;
  const used = Math.min(1, Math.max(0, zone.depletion)) * tall;
  const due = SKY + Math.min(1, zone.allowed_depletion) * tall;
  const at = right - 9;
  svg.append(
    el('rect', { x: at, y: SKY, width: 9, height: r(tall), class: 'gauge' }),
    el('rect', { x: at, y: r(SKY + used), width: 9, height: r(tall - used), class: 'gauge-full' }),
    el('path', { d: `M${at - 4} ${r(due)}H${at + 9}`, class: 'limit-case' }),
    el('path', { d: `M${at - 4} ${r(due)}H${at + 9}`, class: 'gauge-due' }),
  );
}
