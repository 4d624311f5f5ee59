// The review of a day: told in a paragraph, then the air, then each zone with its runs and reasons.

import { airPicture } from '/air.js';
import { clock, dateName, dateOf, dayBefore } from '/clock.js';
import { putStopInReach } from '/stop.js';
import { make, setText } from '/dom.js';
import { garden, read } from '/garden.js';
import { drawDay } from '/strip.js';
import * as words from '/words.js';

const byId = id => document.getElementById(id);

let shown = null; // the day on the page, as the API gave it

function wanted(today) {
  const date = new URLSearchParams(location.search).get('date');
  return date && /^\d{4}-\d{2}-\d{2}$/.test(date) ? date : today;
}
const link = date => `/day.html?date=${date}`;

// A row of days from the first of the season on: a mark for the heat, one for the water.
function showDays(days, date) {
  const most = Math.max(1, ...days.map(day => day.volume_l));
  const items = days.map(day => {
    const said = [
      dateName(day.date),
      day.high_c == null ? 'no weather known' : `up to ${words.temperature(day.high_c)}`,
      day.hot ? 'hot' : '',
      day.runs ? `${day.runs} runs, ${words.volume(day.volume_l)}` : 'no water given',
      day.dry_s ? `too dry for ${words.minutes(day.dry_s)}` : '',
    ];
    const tube = make('span', { class: 'tube', 'aria-hidden': 'true' });
    const fill = make('span', { class: `fill f${Math.round((day.volume_l / most) * 10)}` });
    tube.append(fill);
    return make(
      'a',
      {
        href: link(day.date),
        class: `mark${day.hot ? ' hot' : ''}${day.dry_s ? ' dried' : ''}`,
        'aria-label': said.filter(Boolean).join(', '),
        ...(day.date === date ? { 'aria-current': 'date' } : {}),
      },
      make('span', { class: 'heat', text: day.high_c == null ? '–' : words.degrees(day.high_c) }),
      tube,
      make('span', { class: 'num', text: String(Number(day.date.slice(8))) }),
    );
  });
  byId('days').replaceChildren(...items);
  const current = byId('days').querySelector('[aria-current]');
  if (current) current.scrollIntoView({ block: 'nearest', inline: 'center' });
}

function showAir(day) {
  byId('air').hidden = day.weather.length === 0;
  if (day.weather.length === 0) return;
  airPicture(byId('air-picture'), day, Math.floor(byId('air-picture').parentElement.clientWidth));
  const s = day.summary;
  setText(
    byId('air-sum'),
    `Between ${words.temperature(s.low_c)} and ${words.temperature(s.high_c)}; reference ` +
      `evapotranspiration ${words.depth(s.et_short_mm)}, rain ${words.depth(s.rain_mm)}.`,
  );
  const head = ['Hour', 'Air', 'Humidity', 'Wind', 'Sun', 'Thirst', 'Rain'];
  byId('hours').replaceChildren(
    make('thead', {}, make('tr', {}, ...head.map(text => make('th', { scope: 'col', text })))),
    make(
      'tbody',
      {},
      ...day.weather.map(hour =>
        make(
          'tr',
          {},
          ...[
            clock(Date.parse(hour.time)),
            words.temperature(hour.air_temp_c),
            `${Math.round(hour.rel_humidity_pct)} %`,
            words.speed(hour.wind_2m_m_s),
            `${Math.round(hour.solar_w_m2)} W/m²`,
            words.depth(Math.max(0, hour.et_short_mm)),
            hour.rain_mm > 0 ? words.depth(hour.rain_mm) : '',
          ].map(text => make('td', { text })),
        ),
      ),
    ),
  );
}

const kEnds = {
  completed: '',
  stopped: ' (stopped by hand)',
  interrupted: ' (cut short by a restart)',
  failed: ' (the valve did not obey)',
};

function runs(zone) {
  const item = run =>
    make(
      'li',
      {},
      make('strong', {
        text: `${clock(Date.parse(run.start))}, ${words.minutes(run.run_s)}, ${words.depth(run.depth_mm)}`,
      }),
      `${kEnds[run.outcome] || ''} `,
      make('span', { class: 'quiet', text: words.sentenceOf(run.explanation || words.reason(run.reason)) }),
    );
  return make('ol', { class: 'runs' }, ...zone.given.map(item));
}
function withheld(zone) {
  return make(
    'ul',
    { class: 'withheld' },
    ...zone.withheld.map(decision =>
      make(
        'li',
        {},
        make('strong', { text: `${clock(Date.parse(decision.time))}, not given ` }),
        make('span', { class: 'quiet', text: words.sentenceOf(decision.explanation) }),
      ),
    ),
  );
}

function balance(zone) {
  const lost = zone.evaporation_mm + zone.transpiration_mm;
  const parts = [
    `Got ${words.depth(zone.applied_mm)} from ${zone.runs === 1 ? 'one run' : `${zone.runs} runs`} (${words.volume(zone.volume_l)})`,
    zone.rain_mm > 0.05 ? ` and ${words.depth(zone.rain_mm)} of rain` : '',
    `; lost ${words.depth(Math.max(0, lost))} to the air`,
    zone.drainage_mm > 0.05 ? `, ${words.depth(zone.drainage_mm)} below the roots` : '',
    zone.runoff_mm > 0.05 ? `, ${words.depth(zone.runoff_mm)} ran off` : '',
    '.',
  ];
  return parts.join('');
}
// A bed that was sown on the day is judged from its first water on.
function dryness(zone, from) {
  if (zone.threshold_kpa == null) return 'Its surface may dry: its roots are what counts.';
  const since = Date.parse(zone.judged_from);
  const later = since - from < 3600e3 ? '' : ` from ${clock(since)} on`;
  const lowest = `Driest ${words.kpa(zone.lowest_low_quarter_kpa)} at ${clock(Date.parse(zone.lowest_at))}`;
  return zone.dry_s > 0
    ? `Too dry for ${words.minutes(zone.dry_s)}${later && `, judged${later}`}. ${lowest}, limit ${words.kpa(zone.threshold_kpa)}.`
    : `Never too dry${later}. ${lowest}, limit ${words.kpa(zone.threshold_kpa)}.`;
}

function showZones(day) {
  const from = Date.parse(day.from);
  const to = Date.parse(day.to);
  const sections = day.zones.map(zone => {
    const title = make('h2', { id: `${zone.zone}-title`, text: zone.name });
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    svg.setAttribute('role', 'img');
    svg.setAttribute('aria-label', `${zone.name}: ${dryness(zone, from)} ${balance(zone)}`);
    const figure = make('figure', { class: 'strip' }, svg);
    const past = day.course.zones[zone.zone];
    const alarms = day.notices.filter(n => n.severity === 'alarm' && n.zone === zone.zone);
    new ResizeObserver(() => {
      const width = Math.floor(figure.clientWidth);
      if (width > 100) drawDay(svg, zone, past, alarms, from, to, width);
    }).observe(figure);
    return make(
      'section',
      { class: 'zone-day', 'aria-labelledby': title.id },
      title,
      make('p', { class: zone.dry_s > 0 ? 'sentence dry-said' : 'sentence', text: dryness(zone, from) }),
      figure,
      make('p', { text: balance(zone) }),
      zone.given.length ? runs(zone) : make('p', { class: 'quiet', text: 'No run was given.' }),
      ...(zone.withheld.length ? [withheld(zone)] : []),
    );
  });
  byId('zones').replaceChildren(...sections);
}

function showNotices(day) {
  byId('told-notices').hidden = day.notices.length === 0;
  const lead = { alarm: 'Alarm. ', warning: 'Take care. ', note: '' };
  byId('notice-list').replaceChildren(
    ...day.notices.map(notice =>
      make(
        'li',
        { class: notice.severity },
        make('span', { class: 'quiet', text: `${clock(Date.parse(notice.time))} ` }),
        `${lead[notice.severity] || ''}${words.sentenceOf(notice.text)}`,
      ),
    ),
  );
}

function show(day) {
  shown = day;
  setText(byId('told'), words.sentenceOf(day.text));
  showAir(day);
  showZones(day);
  showNotices(day);
}

async function start() {
  try {
    const status = await read('/api/v1/status');
    words.setPlace(status);
    setText(byId('site'), status.site || 'firstmow');
    const today = dateOf(Date.parse(status.time));
    const date = wanted(today);
    document.title = `${dateName(date)}: ${status.site || 'firstmow'}`;
    setText(byId('date'), date === today ? `Today, ${dateName(date)}` : dateName(date));
    byId('before').href = link(dayBefore(date));
    byId('after').href = link(dayBefore(date, -1));
    byId('after').hidden = date >= today;
    const [day, days] = await Promise.all([
      read(`/api/v1/days/${date}`),
      read('/api/v1/days'),
    ]);
    showDays(days, date);
    show(day);
  } catch {
    if (garden.closed) return location.replace('/'); // where to sign in
    setText(byId('told'), 'The garden does not answer just now. Load the page again in a moment.');
  }
}

new ResizeObserver(() => shown && showAir(shown)).observe(byId('air-picture').parentElement);
putStopInReach();
start();
