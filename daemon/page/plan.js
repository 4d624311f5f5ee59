// The plan: what is advised and why, when what is to be done, what to buy, whether the tap can do
// it. Answers that the owner tries stand in the address of the page and go no further.

import { dateOf, dayBefore, kMonths, shortDateName } from '/clock.js';
import { make, setText } from '/dom.js';
import { garden, read } from '/garden.js';
import { putStopInReach } from '/stop.js';
import * as words from '/words.js';

const byId = id => document.getElementById(id);
const kDay = 86400e3;
const kWays = { seed: 'sow anew', overseed: 'overseed', sod: 'lay sod' };
const kOfZone = ['grass_left_pct', 'slope_pct', 'traffic', 'instant', 'method', 'start'];

let today = '';
let tried = new URLSearchParams(location.search); // the answers in place of the file's
let asFile = null; // the plan without any
let overIsOpen = false; // the steps that are over are shown

const part = (title, ...children) =>
  make('section', { class: 'part' }, make('h2', { text: title }), ...children);
const list = (kind, texts) =>
  make('ul', { class: kind }, ...texts.map(text => make('li', { text: words.sentenceOf(text) })));
const sentence = text => text.charAt(0).toUpperCase() + text.slice(1);

// With the year where it is another than this one.
function dayName(date) {
  const year = date.slice(0, 4);
  return shortDateName(date) + (year === today.slice(0, 4) ? '' : ` ${year}`);
}
function howFar(date, days) {
  const from = Math.round((Date.parse(date) - Date.parse(today)) / kDay);
  if (from > 1) return `in ${from} days`;
  if (from === 1) return 'tomorrow';
  if (from === 0) return 'today';
  if (from + days > 0) return 'now';
  return from === -1 ? 'yesterday' : `${-from} days ago`;
}

// What the zone's answers are, by the file or tried.
const answersOf = plan => plan.answers.find(one => one.id === byId('zone').value) || plan.answers[0];

function advice(zone) {
  if (!zone.advice)
    return part(
      'Overseed, sow anew or lay sod?',
      make('p', { text: 'Say how much grass is worth keeping, or that a lawn is wanted at once.' }),
    );
  const { method, reasons, ways } = zone.advice;
  const cost = ways.some(way => way.water_cost != null);
  const cells = way => [
    sentence(kWays[way.method]),
    words.volume(way.water_l),
    ...(cost ? [way.water_cost == null ? '' : way.water_cost.toFixed(2)] : []),
    way.weeks_to_first_mow == null ? 'not within a year' : `${way.weeks_to_first_mow.toFixed(1)} weeks`,
  ];
  const head = ['Way', 'Water', ...(cost ? ['Cost'] : []), 'To the first mow'];
  const same = method === zone.method;
  const parts = [
    make('p', {
      class: 'verdict',
      text: `${sentence(kWays[method])}.${same ? '' : ` Planned below is: ${kWays[zone.method]}.`}`,
    }),
    list('said', reasons),
    make(
      'div',
      { class: 'tables ways' },
      make(
        'table',
        {},
        make('caption', { text: 'Until the first mow, without rain' }),
        make('thead', {}, make('tr', {}, ...head.map(text => make('th', { scope: 'col', text })))),
        make(
          'tbody',
          {},
          ...ways.map(way =>
            make(
              'tr',
              way.method === method ? { class: 'advised' } : {},
              ...cells(way).map((text, i) =>
                make(i === 0 ? 'th' : 'td', i === 0 ? { scope: 'row', text } : { text }),
              ),
            ),
          ),
        ),
      ),
    ),
  ];
  if (!same) {
    const button = make('button', { type: 'button', class: 'plain', text: `Plan to ${kWays[method]}` });
    button.addEventListener('click', () => {
      byId('method').value = method;
      answered();
    });
    parts.push(make('p', {}, button));
  }
  return part('Overseed, sow anew or lay sod?', ...parts);
}

function dates(plan, zone) {
  const events = plan.events.filter(event => event.zone == null || event.zone === zone.id);
  const own = `${zone.name}: `;
  const item = event => {
    const title = event.title.startsWith(own) ? event.title.slice(own.length) : event.title;
    const last = dayBefore(event.day, 1 - event.days);
    const span =
      dayName(event.day) + (event.days > 1 ? ` to ${dayName(last)}` : '');
    return make(
      'li',
      {},
      make('strong', { text: `${span}: ${title} ` }),
      make('span', { class: 'far', text: `(${howFar(event.day, event.days)})` }),
      make('span', { class: 'quiet block', text: event.text }),
    );
  };
  const link = make('a', { text: 'These dates for a calendar program', download: 'plan.ics' });
  link.href = `/api/v1/plan.ics?${tried}`;
  // What is over by now is not what is asked for; it stays at hand.
  const over = events.filter(event => dayBefore(event.day, 1 - event.days) < today);
  const ahead = events.filter(event => !over.includes(event));
  const count = over.length === 1 ? 'One step is over' : `${over.length} steps are over`;
  const behind = make(
    'details',
    { class: 'behind', ...(ahead.length && !overIsOpen ? {} : { open: '' }) },
    make('summary', { text: count }),
    make('ol', { class: 'due' }, ...over.map(item)),
  );
  behind.addEventListener('toggle', () => (overIsOpen = behind.open));
  return part(
    'When',
    ...(zone.under_way
      ? [make('p', { class: 'quiet', text: 'Under way: what is expected follows the season.' })]
      : []),
    ...(over.length ? [behind] : []),
    make('ol', { class: 'due', start: over.length + 1 }, ...ahead.map(item)),
    make('p', {}, link),
  );
}

function tap(plan) {
  if (!plan.tap) return [];
  return [
    part(
      'Can the tap keep it damp?',
      make('p', { text: words.sentenceOf(plan.tap.demand) }),
      list('said', plan.tap.zones),
      make('p', {
        class: plan.feasibility.as_is.holds ? 'verdict' : 'verdict not',
        text: words.sentenceOf(plan.tap.verdict),
      }),
      ...(plan.tap.remedies.length ? [list('said', plan.tap.remedies)] : []),
    ),
  ];
}

function show(plan) {
  const chosen = answersOf(plan);
  const zone = plan.zones.find(one => one.id === chosen.id);
  if (!zone) {
    setText(byId('told'), `${chosen.name} is a grown-in lawn: choose a day to plan for.`);
    byId('plan').replaceChildren();
    return;
  }
  const [first, ...more] = zone.timing.sentences;
  setText(
    byId('told'),
    `${zone.name}, ${kWays[zone.method]} on ${dayName(zone.start)}. ${first || ''}`,
  );
  byId('plan').replaceChildren(
    ...(more.length ? [list('said', more)] : []),
    list('said', plan.frost),
    advice(zone),
    dates(plan, zone),
    part('What to buy', list('buy', zone.to_buy)),
    ...tap(plan),
    part('Mind', list('said', plan.cautions)),
  );
}

// --- the form --------------------------------------------------------------------------------
function saySliders() {
  const grass = byId('grass_left_pct');
  const grassText = grass.dataset.said ? `${grass.value} %` : 'not said';
  setText(byId('grass-said'), grassText);
  grass.setAttribute('aria-valuetext', grassText);
  setText(byId('slope-said'), `${byId('slope_pct').value} %`);
}

// The grasses of the form with their parts, those that have some.
const partFields = () => [...byId('mix').querySelectorAll('input')];
function mixInForm() {
  return partFields()
    .filter(field => Number(field.value) > 0)
    .map(field => ({ species: field.name, parts: Number(field.value) }));
}
function sayMix() {
  const mix = mixInForm();
  const sum = mix.reduce((all, part) => all + part.parts, 0);
  const name = key => asFile.species.find(one => one.key === key).name;
  const said = mix.map(part => `${name(part.species)} ${Math.round((part.parts / sum) * 100)} %`);
  setText(byId('mix-said'), `Seed: ${said.join(', ') || 'not said'}`);
}

function fill(plan) {
  const zone = answersOf(plan);
  for (const field of partFields()) {
    const part = zone.mix.find(one => one.species === field.name);
    field.value = part ? String(Math.round(part.share_pct * 10) / 10) : '';
  }
  byId('water_price').value = plan.water_price_per_m3 ?? '';
  const grass = byId('grass_left_pct');
  grass.dataset.said = zone.grass_left_pct == null ? '' : 'yes';
  grass.value = zone.grass_left_pct ?? 50;
  byId('slope_pct').value = zone.slope_pct;
  byId('traffic').value = zone.traffic || '';
  byId('instant').checked = zone.instant === true;
  byId('method').value = zone.method === 'none' ? 'seed' : zone.method;
  byId('start').value = zone.start || '';
  const [month, day] = plan.first_frost ? plan.first_frost.split('-') : ['', ''];
  byId('frost-month').value = month;
  byId('frost-day').value = day ? Number(day) : '';
  byId('units').value = plan.units;
  saySliders();
  sayMix();
}

// A mix that is sown otherwise than the file's, as the address says it.
function triedMix(file) {
  if (!partFields().some(field => field.dataset.touched) && !tried.has('mix')) return '';
  const mix = mixInForm();
  const sum = mix.reduce((all, part) => all + part.parts, 0);
  const share = key => (file.mix.find(one => one.species === key) || { share_pct: 0 }).share_pct;
  const same =
    mix.length === file.mix.length &&
    mix.every(part => Math.abs((part.parts / sum) * 100 - share(part.species)) < 0.06);
  return same ? '' : mix.map(part => `${part.species}:${part.parts}`).join(',');
}

// What is said otherwise than in the file.
function readForm() {
  const file = answersOf(asFile);
  const said = {
    grass_left_pct: byId('grass_left_pct').dataset.said ? byId('grass_left_pct').value : '',
    slope_pct: byId('slope_pct').value,
    traffic: byId('traffic').value,
    instant: String(byId('instant').checked),
    method: byId('method').value,
    start: byId('start').value,
  };
  const query = new URLSearchParams();
  query.set('zone', file.id);
  for (const key of kOfZone) {
    const before = key === 'instant' ? String(file.instant === true) : String(file[key] ?? '');
    // The slider has whole steps: what it cannot show is no change.
    const close = key.endsWith('_pct') && before !== '' && Math.abs(said[key] - before) < 2.6;
    const touched = byId(key).dataset.touched;
    if (said[key] !== '' && said[key] !== before && (touched || !close)) query.set(key, said[key]);
  }
  const mix = triedMix(file);
  if (mix) query.set('mix', mix);
  const price = byId('water_price').value;
  if (price !== '' && Number(price) !== asFile.water_price_per_m3)
    query.set('water_price_per_m3', price);
  if (file.method === 'none' && !query.has('start')) query.delete('method');
  const month = byId('frost-month').value;
  const day = byId('frost-day').value;
  const frost = month && day ? `${month}-${String(day).padStart(2, '0')}` : '';
  if (frost && frost !== asFile.first_frost) query.set('first_frost', frost);
  if (byId('units').value !== asFile.units) query.set('units', byId('units').value);
  return query;
}

let asking = 0;
async function ask() {
  const mine = ++asking;
  const planned = document.querySelector('.planned');
  planned.classList.add('old');
  byId('as-file').disabled = [...tried.keys()].every(key => key === 'zone');
  try {
    const reply = await fetch(`/api/v1/plan?${tried}`, { cache: 'no-store' });
    const answer = await reply.json();
    if (mine !== asking) return null;
    if (!reply.ok) {
      setText(byId('told'), `No plan: ${answer.detail}.`);
      byId('plan').replaceChildren();
      return null;
    }
    words.setUnits(answer.units);
    show(answer);
    return answer;
  } catch {
    if (mine === asking)
      setText(byId('told'), 'The garden does not answer just now. Load the page again in a moment.');
    return null;
  } finally {
    if (mine === asking) planned.classList.remove('old');
  }
}

let waiting = 0;
function answered() {
  saySliders();
  sayMix();
  tried = readForm();
  history.replaceState(null, '', `?${tried}`);
  clearTimeout(waiting);
  waiting = setTimeout(ask, 350);
}

function prepare() {
  const zones = byId('zone');
  zones.replaceChildren(
    ...asFile.answers.map(one => make('option', { value: one.id, text: one.name })),
  );
  byId('zone-field').hidden = asFile.answers.length < 2;
  byId('mix').append(
    ...asFile.species.map(({ key, name }) => {
      const field = make('input', {
        ...{ id: `part-${key}`, name: key, type: 'number', min: '0', max: '1000', step: 'any' },
        inputmode: 'decimal',
      });
      return make('p', { class: 'field' }, make('label', { for: field.id, text: name }), field);
    }),
  );
  byId('frost-month').replaceChildren(
    make('option', { value: '', text: 'not said' }),
    ...kMonths.map((text, i) => make('option', { value: String(i + 1).padStart(2, '0'), text })),
  );
  const wanted = tried.get('zone') || (asFile.zones[0] || asFile.answers[0]).id;
  zones.value = asFile.answers.some(one => one.id === wanted) ? wanted : asFile.answers[0].id;
  zones.addEventListener('change', () => {
    // Another zone begins with the file's answers.
    tried = new URLSearchParams({ zone: zones.value });
    history.replaceState(null, '', `?${tried}`);
    fill(asFile);
    ask();
  });
  const form = byId('answers');
  form.addEventListener('submit', event => event.preventDefault());
  form.addEventListener('input', event => {
    if (event.target.id === 'zone') return;
    event.target.dataset.touched = 'yes';
    if (event.target.id === 'grass_left_pct') event.target.dataset.said = 'yes';
    answered();
  });
  // A press just where the hidden handle stands changes no value.
  byId('grass_left_pct').addEventListener('click', event => {
    if (event.target.dataset.said) return;
    event.target.dataset.said = 'yes';
    answered();
  });
  byId('as-file').addEventListener('click', () => {
    tried = new URLSearchParams({ zone: zones.value });
    history.replaceState(null, '', `?${tried}`);
    for (const field of form.elements) delete field.dataset.touched;
    fill(asFile);
    ask();
  });
  form.hidden = false;
  byId('tries').open =
    matchMedia('(min-width: 60rem)').matches || [...tried.keys()].some(key => key !== 'zone');
}

async function start() {
  try {
    const status = await read('/api/v1/status');
    words.setPlace(status);
    setText(byId('site'), status.site || 'firstmow');
    document.title = `Plan: ${status.site || 'firstmow'}`;
    today = dateOf(Date.parse(status.time));
    asFile = await read('/api/v1/plan');
    prepare();
    fill(asFile);
    const plan = await ask();
    if (plan) fill(plan);
  } catch {
    if (garden.closed) return location.replace('/'); // where to sign in
    setText(byId('told'), 'The garden does not answer just now. Load the page again in a moment.');
  }
}

putStopInReach();
start();
