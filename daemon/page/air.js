// The air of a day as a picture: what it could take from wet ground as bars that rise, rain as bars
// that fall, the temperature as a line over both.

import { hourLabel, localHour } from '/clock.js';
import { el, r } from '/svg.js';
import { degrees, depth, temperature } from '/words.js';

const HEIGHT = 150;
const TOP = 26;
const GROUND = 118; // where the bars stand
const RAIN_FROM = TOP - 4;

export function airPicture(svg, day, width) {
  if (width < 100) return;
  const from = Date.parse(day.from);
  const to = Date.parse(day.to);
  const x = t => ((t - from) / (to - from)) * width;
  const wide = Math.max(3, (x(from + 3600e3) - x(from)) * 0.66);
  const temps = day.weather.map(hour => hour.air_temp_c);
  const high = Math.max(...temps);
  const low = Math.min(...temps);
  const span = Math.max(6, high - low);
  const yTemp = c => TOP + ((high - c) / span) * (GROUND - TOP - 22);
  // One scale for all days: a thirst of 1 mm an hour is a full bar.
  const tall = mm => Math.min(1, Math.max(0, mm)) * (GROUND - TOP);
  svg.replaceChildren();
  svg.setAttribute('viewBox', `0 0 ${width} ${HEIGHT}`);
  svg.setAttribute('height', HEIGHT);
  const s = day.summary;
  svg.setAttribute(
    'aria-label',
    `Between ${temperature(s.low_c)} and ${temperature(s.high_c)}. The air could take ` +
      `${depth(s.et_short_mm)} of water, most of it around midday; rain ${depth(s.rain_mm)}.`,
  );
  for (const hour of day.weather) {
    const mid = x(Date.parse(hour.time) + 1800e3);
    const h = tall(hour.et_short_mm);
    if (h > 0.5)
      svg.append(
        el('rect', { x: r(mid - wide / 2), y: r(GROUND - h), width: r(wide), height: r(h), class: 'thirst' }),
      );
    if (hour.rain_mm >= 0.1) {
      const deep = Math.min(60, 6 + hour.rain_mm * 6);
      svg.append(
        el('rect', { x: r(mid - wide / 4), y: RAIN_FROM, width: r(wide / 2), height: r(deep), class: 'run' }),
      );
    }
  }
  svg.append(el('path', { d: `M0 ${GROUND}H${width}`, class: 'surface' }));
  const line = day.weather.map(
    hour => `${r(x(Date.parse(hour.time) + 1800e3))} ${r(yTemp(hour.air_temp_c))}`,
  );
  svg.append(
    el('path', { d: `M${line.join('L')}`, class: 'warmth-case' }),
    el('path', { d: `M${line.join('L')}`, class: 'warmth' }),
  );
  const hottest = day.weather[temps.indexOf(high)];
  const at = Math.min(width - 24, Math.max(24, x(Date.parse(hottest.time) + 1800e3)));
  svg.append(el('text', { x: r(at), y: TOP - 9, class: 'peak' }, `${degrees(high)}°`));
  const every = width > 310 ? 3 : 6;
  for (const hour of day.weather) {
    const { hour: h, minute } = localHour(Date.parse(hour.time));
    if (minute !== 0 || h % every !== 0) continue;
    const tick = x(Date.parse(hour.time));
    if (tick > 8 && tick < width - 8)
      svg.append(el('text', { x: r(tick), y: GROUND + 16, class: 'hour' }, hourLabel(h)));
  }
}
