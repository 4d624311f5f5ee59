// The season of a zone as a strip of ground: bare earth, the first green, a closing sward; dates that
// are still to come have the range that they will most likely fall into.

import { dayMonth } from '/clock.js';
import { el, r } from '/svg.js';

const kDay = 86400e3;
const HEIGHT = 104;
const TOP = 34;
const GROUND = 68;

const time = when => (when && when.likely ? Date.parse(when.likely) : null);

// Blades of grass from `from` to `to`, thicker and taller the further it has come.
function blades(svg, from, to, apart, tall) {
  let d = '';
  for (let i = 0, at = from + apart / 2; at < to - 1; at += apart, ++i) {
    const lean = ((i * 7) % 5) - 2;
    d += `M${r(at)} ${GROUND}q${lean / 2} ${-tall / 2} ${lean} ${r(-tall * (0.8 + ((i * 3) % 4) / 15))}`;
  }
  if (d) svg.append(el('path', { d, class: 'blade' }));
}

export function bandPicture(svg, growth, start, now, width) {
  svg.replaceChildren();
  svg.setAttribute('viewBox', `0 0 ${width} ${HEIGHT}`);
  svg.setAttribute('height', HEIGHT);
  const ends = ['grown_in', 'first_mow', 'rooted', 'all_up']
    .map(key => growth[key] && Date.parse(growth[key].late || growth[key].likely || growth[key].early))
    .filter(t => t);
  const to = Math.max(now + 5 * kDay, ...ends) + 2 * kDay;
  const from = Math.min(start, now);
  const x = t => ((t - from) / (to - from)) * width;
  svg.append(
    el('rect', { x: 0, y: GROUND, width, height: 16, class: 'ground' }),
    el('path', { d: `M0 ${GROUND}H${width}`, class: 'surface' }),
  );
  // What grows between two milestones; sod is green from the first day.
  const steps = [
    [growth.species.length ? time(growth.first_green) : from, 13, 7],
    [time(growth.all_up), 6, 18],
    [time(growth.first_mow) || time(growth.rooted), 4.5, 16],
    [time(growth.grown_in), 3.5, 18],
  ].filter(([t]) => t != null);
  steps.forEach(([t, apart, tall], i) =>
    blades(svg, Math.max(0, x(t)), i + 1 < steps.length ? x(steps[i + 1][0]) : width, apart, tall),
  );
  svg.append(el('rect', { x: r(x(now)), y: TOP - 12, width: r(width - x(now)), height: GROUND - TOP + 28, class: 'ahead' }));
  for (const key of ['first_green', 'all_up', 'rooted', 'first_mow', 'grown_in']) {
    const when = growth[key];
    if (!when || !when.likely) continue;
    const at = x(Date.parse(when.likely));
    const a = x(Date.parse(when.early));
    const b = when.late ? x(Date.parse(when.late)) : width;
    if (b - a > 3) svg.append(el('path', { d: `M${r(a)} ${GROUND + 8}H${r(b)}`, class: 'range' }));
    svg.append(el('circle', { cx: r(at), cy: GROUND + 8, r: 4, class: 'milestone' }));
  }
  const atNow = r(x(now));
  svg.append(
    el('path', { d: `M${atNow} 16V${GROUND + 16}`, class: 'now-case' }),
    el('path', { d: `M${atNow} 16V${GROUND + 16}`, class: 'now' }),
    el('text', { x: Math.min(width - 18, Math.max(18, atNow)), y: 11, class: 'now-text' }, 'now'),
  );
  const weeks = (to - from) / (7 * kDay);
  const every = Math.max(1, Math.ceil(weeks / (width / 72)));
  for (let t = from, i = 0; t < to; t += 7 * kDay, ++i) {
    if (i % every !== 0) continue;
    const at = Math.max(20, x(t));
    if (at < width - 20) svg.append(el('text', { x: r(at), y: HEIGHT - 3, class: 'hour' }, dayMonth(t)));
  }
}

// Share up of each species: what has come up since the sowing, then lines with the band that holds
// eight of ten futures.
const CURVE = 120;
const FOOT = 96;
export const hasCurve = one => one.curve.likely.length > 1 || (one.past && one.past.up.length > 1);
export function curvePicture(svg, growth, now, width) {
  svg.replaceChildren();
  svg.setAttribute('viewBox', `0 0 ${width} ${CURVE}`);
  svg.setAttribute('height', CURVE);
  const shown = growth.species.filter(hasCurve);
  const from = Math.min(now, ...shown.filter(one => one.past).map(one => Date.parse(one.past.start)));
  const to = Math.max(now + kDay, ...shown.map(one => now + one.curve.likely.length * kDay));
  const left = 42;
  const x = t => left + ((t - from) / (to - from)) * (width - left - 6);
  const y = share => FOOT - share * (FOOT - 12);
  const at = (t, share) => `${r(x(t))} ${r(y(share))}`;
  for (const share of [0, 0.5, 1])
    svg.append(
      el('path', { d: `M${left} ${r(y(share))}H${width}`, class: 'grid' }),
      el('text', { x: left - 5, y: r(y(share) + 4), class: 'scale' }, `${share * 100} %`),
    );
  const ahead = (one, shares) => [one.up, ...shares].map((share, day) => [now + day * kDay, share]);
  const behind = one => {
    if (!one.past) return [];
    const start = Date.parse(one.past.start);
    const days = one.past.up.map((share, i) => [start + (i + 1) * one.past.step_s * 1000, share]);
    return [[start, 0], ...days.filter(([t]) => t < now), [now, one.up]];
  };
  shown.forEach((one, i) => {
    const path = points => `M${points.map(([t, share]) => at(t, share)).join('L')}`;
    const past = behind(one);
    const likely = ahead(one, one.curve.likely);
    if (one.curve.likely.length > 1) {
      const low = ahead(one, one.curve.low);
      const high = ahead(one, one.curve.high).reverse();
      svg.append(
        el('path', { d: `${path([...low, ...high])}z`, class: 'likely-band' }),
        el('path', { d: path(likely), class: `likely k${i % 4}` }),
      );
    }
    if (past.length > 1) svg.append(el('path', { d: path(past), class: `been k${i % 4}` }));
    // Its name where its line is halfway up.
    const all = [...past, ...likely];
    const half = all.find(([, share]) => share >= 0.5) || all[all.length - 1];
    const room = width - 7 * one.name.length - 4;
    svg.append(
      el(
        'text',
        { x: r(Math.max(left + 4, Math.min(room, x(half[0]) + 6))), y: r(y(0.5) + 14 + i * 14), class: 'kind' },
        one.name,
      ),
    );
  });
  const atNow = r(x(now));
  svg.append(
    el('path', { d: `M${atNow} 10V${FOOT}`, class: 'now-case' }),
    el('path', { d: `M${atNow} 10V${FOOT}`, class: 'now' }),
  );
  const days = (to - from) / kDay;
  const every = Math.max(1, Math.ceil(days / ((width - left) / 62)));
  for (let day = 0; day <= days; day += every) {
    const place = x(from + day * kDay);
    if (place < width - 20)
      svg.append(
        el('text', { x: r(Math.max(left + 4, place)), y: CURVE - 6, class: 'hour' }, dayMonth(from + day * kDay)),
      );
  }
}
