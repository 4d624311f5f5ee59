// The season: how far each zone has come and what is to be expected when, what water it took, and
// what the owner has to do.

import { putStopInReach } from '/stop.js';
import { bandPicture, curvePicture, hasCurve } from '/bands.js';
import { dayOf, shortDateName } from '/clock.js';
import { make, setText } from '/dom.js';
import { showFeed } from '/feed.js';
import { garden, read } from '/garden.js';
import { dueFrom } from '/ics.js';
import * as words from '/words.js';

const byId = id => document.getElementById(id);
const kDay = 86400e3;

const kMilestones = [
  ['first_green', 'First green'],
  ['half_up', 'Half up'],
  ['all_up', 'All up'],
  ['rooted', 'Resists a tug'],
  ['first_mow', 'First mow'],
  ['grown_in', 'Waters like a lawn'],
];

// A date with its range, as one says it.
function sayWhen(when, now) {
  const day = t => dayOf(Date.parse(t));
  const likely = when.likely ? Date.parse(when.likely) : null;
  if (when.early === when.late && likely != null && likely <= now) return `on ${day(when.likely)}`;
  if (likely == null) return `not before ${day(when.early)}`;
  const range = when.late
    ? `between ${day(when.early)} and ${day(when.late)}`
    : `from ${day(when.early)} on, perhaps much later`;
  return day(when.early) === (when.late && day(when.late))
    ? `about ${day(when.likely)}`
    : `about ${day(when.likely)}, ${range}`;
}

function dates(growth, now) {
  const list = make('dl', { class: 'dates' });
  for (const [key, name] of kMilestones) {
    const when = growth[key];
    if (!when) continue;
    const past = when.likely && Date.parse(when.likely) <= now;
    list.append(
      make('dt', { text: name }),
      make('dd', { class: past ? 'past' : '', text: sayWhen(when, now) }),
    );
  }
  return list;
}

function species(growth) {
  const item = one => {
    const share = Math.round(one.share * 100);
    const up = one.up >= 0.995 ? 'all up' : `${Math.round(one.up * 100)} % up`;
    const lost = one.stand < 0.985 ? `, ${Math.round((1 - one.stand) * 100)} % lost to drying` : '';
    return make('li', { text: `${one.name} (${share} % of the mix): ${up}${lost}` });
  };
  return make('ul', { class: 'species' }, ...growth.species.map(item));
}

function mow(growth) {
  if (growth.mow.due === 'none') return [];
  const kind = growth.mow.due === 'first' ? 'The first mow is due' : 'The standing turf is due for a cut';
  return [
    make('p', {
      class: 'comes',
      text:
        `${kind}: when it is ${words.soilDepth(growth.mow.when_tall_mm)} tall, down to ` +
        `${words.soilDepth(growth.mow.cut_to_mm)}. Firm ground, a light mower, few turns.`,
    }),
  ];
}

function picture(draw, label) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', label);
  const figure = make('figure', {}, svg);
  new ResizeObserver(() => {
    const width = Math.floor(figure.clientWidth);
    if (width > 100) draw(svg, width);
  }).observe(figure);
  return figure;
}

function zoneSection(zone, growth, start, now) {
  const title = make('h2', { id: `${zone.id}-title`, text: zone.name });
  const parts = [title, make('p', { class: 'phase', text: words.phase(zone) })];
  if (growth) {
    parts.push(make('p', { text: words.sentenceOf(growth.text) }));
    parts.push(
      picture(
        (svg, width) => bandPicture(svg, growth, start, now, width),
        `${zone.name} through the season; the dates follow as text.`,
      ),
      dates(growth, now),
      ...mow(growth),
    );
    if (growth.keep_off_until)
      parts.push(make('p', { text: `Keep off it until ${dayOf(Date.parse(growth.keep_off_until))}.` }));
    if (growth.species.length) parts.push(species(growth));
    if (growth.species.some(hasCurve))
      parts.push(
        picture(
          (svg, width) => curvePicture(svg, growth, now, width),
          `Share of the seedlings up since the sowing and in the days to come: ${growth.species
            .map(one => `${one.name} now ${Math.round(one.up * 100)} %`)
            .join(', ')}.`,
        ),
        make('p', {
          class: 'quiet',
          text:
            'Share of the seedlings up: what has come up, by the model, until now; then the likely ' +
            'line and the band that holds eight of ten.',
        }),
      );
  } else {
    parts.push(make('p', { class: 'quiet', text: 'Nothing is being established here.' }));
  }
  return make('section', { class: 'part', 'aria-labelledby': title.id }, ...parts);
}

function toDate(days) {
  const known = days.filter(day => day.hours > 0);
  const litres = days.reduce((sum, day) => sum + day.volume_l, 0);
  const runs = days.reduce((sum, day) => sum + day.runs, 0);
  const rain = known.reduce((sum, day) => sum + day.rain_mm, 0);
  const thirst = known.reduce((sum, day) => sum + day.et_short_mm, 0);
  const hot = known.filter(day => day.hot).length;
  const dry = days.filter(day => day.dry_s > 0);
  const longest = words.minutes(Math.max(...dry.map(day => day.dry_s)));
  const priced = days.filter(day => day.cost != null);
  const cost = priced.length
    ? `, which cost ${priced.reduce((sum, day) => sum + day.cost, 0).toFixed(2)}`
    : '';
  return (
    `In ${days.length} days ${runs} runs brought ${words.volume(litres)}${cost}; ` +
    `${words.depth(rain)} of rain fell, and the air could take ${words.depth(thirst)}. ` +
    `${hot === 0 ? 'No day was hot' : hot === 1 ? 'One day was hot' : `${hot} days were hot`}; ` +
    (dry.length === 0
      ? 'no seedbed was too dry on any of them.'
      : dry.length === 1
        ? `on one day a seedbed was too dry, for ${longest}.`
        : `on ${dry.length} days a seedbed was too dry, for ${longest} at most.`)
  );
}

async function showDue(now) {
  let text;
  try {
    const reply = await fetch('/calendar.ics');
    if (!reply.ok) return;
    text = await reply.text();
  } catch {
    return;
  }
  const ahead = dueFrom(text).filter(event => event.end > now - kDay).slice(0, 14);
  byId('due').hidden = ahead.length === 0;
  byId('due-list').replaceChildren(
    ...ahead.map(event =>
      make(
        'li',
        {},
        make('strong', { text: `${shortDateName(event.date)} ` }),
        words.sentenceOf(event.summary),
        ...(event.description
          ? [make('span', { class: 'quiet block', text: words.sentenceOf(event.description) })]
          : []),
      ),
    ),
  );
}

async function start() {
  try {
    const status = await read('/api/v1/status');
    words.setPlace(status);
    setText(byId('site'), status.site || 'firstmow');
    document.title = `Season: ${status.site || 'firstmow'}`;
    const now = Date.parse(status.time);
    const [growth, days] = await Promise.all([read('/api/v1/growth'), read('/api/v1/days')]);
    setText(byId('told'), toDate(days));
    byId('zones').replaceChildren(
      ...status.zones.map(zone => {
        const one = growth.zones.find(other => other.id === zone.id);
        const begun = zone.start ? Date.parse(`${zone.start}T00:00:00Z`) : now;
        return zoneSection(zone, one && one.growth, begun, now);
      }),
    );
    await showDue(now);
    await showFeed(byId('feed'));
  } catch {
    if (garden.closed) return location.replace('/'); // where to sign in
    setText(byId('told'), 'The garden does not answer just now. Load the page again in a moment.');
  }
}

putStopInReach();
start();
