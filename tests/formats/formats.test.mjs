// What the daemon gives out, before judges that are not ours: the description of the API and the
// answers it promises, the calendar, the metrics.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { after, before, test } from 'node:test';
import { Validator } from '@seriousme/openapi-schema-validator';
import Ajv2020 from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import ICAL from 'ical.js';
import { World } from './world.mjs';

let world, description;
before(async () => {
  world = await World.make(process.env.FIRSTMOW_BUILD_DIR);
  description = await world.get('/api/v1/openapi.json');
});
after(async () => {
  if (world) await world.end();
});

test('the description is OpenAPI 3.1', async () => {
  const result = await new Validator().validate(structuredClone(description));
  assert.equal(result.valid, true, JSON.stringify(result.errors, null, 1));
  const broken = structuredClone(description);
  delete broken.info.title;
  assert.equal((await new Validator().validate(broken)).valid, false);
});

// What an operation promises for a status, as a schema that may be compiled.
function promise(ajv, operation, status) {
  let reply = operation.responses[status];
  if (reply?.$ref) reply = description.components.responses[reply.$ref.split('/').pop()];
  const content = reply?.content || {};
  const schema = (content['application/json'] || content['application/problem+json'])?.schema;
  if (!schema) return null;
  return ajv.compile({ components: description.components, allOf: [schema] });
}

test('answers are what the description promises', async () => {
  const ajv = new Ajv2020({ strict: false, allErrors: true });
  addFormats(ajv);
  const check = (name, operation, status, body) => {
    const valid = promise(ajv, operation, status);
    assert.ok(valid, `${name}: ${status} is not described`);
    assert.ok(valid(body), `${name}: ${JSON.stringify(valid.errors?.slice(0, 3))}`);
  };
  let checked = 0;
  for (const [path, operations] of Object.entries(description.paths)) {
    if (!operations.get || /stream$|station|^\/calendar\//.test(path)) continue;
    let url = path.replace('{id}', 'front').replace('{date}', world.hotDay);
    if (path.endsWith('/foresight')) url += '?minutes=8';
    const key = operations.get.security ? { Authorization: `Bearer ${world.key}` } : {};
    const headers = { Accept: 'application/json', ...key };
    let reply = await fetch(world.url + url, { headers });
    // The earth is looked at for a moment before it can be told of.
    for (let tries = 0; reply.status === 503 && tries < 100; ++tries) {
      await new Promise(resolve => setTimeout(resolve, 200));
      reply = await fetch(world.url + url, { headers });
    }
    assert.equal(reply.status, 200, `${url}: ${reply.status}`);
    if (!/^application\/json/.test(reply.headers.get('content-type'))) continue;
    if (path === '/api/v1/openapi.json') continue;
    check(`GET ${url}`, operations.get, 200, await reply.json());
    ++checked;
  }
  assert.ok(checked >= 9, `${checked} answers were checked`);

  const headers = { Authorization: `Bearer ${world.key}`, 'Content-Type': 'application/json' };
  const orders = [
    ['POST', '/api/v1/zones/{id}/water', { minutes: 2 }],
    ['POST', '/api/v1/zones/{id}/stop'],
    ['POST', '/api/v1/zones/{id}/hold', { hours: 2 }],
    ['DELETE', '/api/v1/zones/{id}/hold'],
    ['POST', '/api/v1/zones/{id}/mow', { at: new Date(Date.now() + 864e5).toISOString().slice(0, 19) + 'Z' }],
    ['DELETE', '/api/v1/zones/{id}/mow'],
    ['POST', '/api/v1/zones/{id}/observations', { kind: 'surface_dry' }],
    ['POST', '/api/v1/zones/{id}/valve-test', { seconds: 3 }],
    ['POST', '/api/v1/zones/{id}/valve-test/result', { came: 'right' }],
    [
      'POST',
      '/api/v1/garden/preview',
      { changes: [{ zone: 'front', key: 'area', value: '88 m2' }] },
    ],
    ['POST', '/api/v1/stop'],
    ['POST', '/api/v1/calendar-address'],
    ['DELETE', '/api/v1/calendar-address'],
    ['POST', '/api/v1/session', { token: world.key }],
  ];
  for (const [method, path, body] of orders) {
    const operation = description.paths[path][method.toLowerCase()];
    const url = world.url + path.replace('{id}', 'front');
    const text = body && JSON.stringify(body);
    const done = await fetch(url, { method, headers, body: text });
    assert.equal(done.status, 200, `${method} ${path}: ${done.status}`);
    check(`${method} ${path}`, operation, 200, await done.json());
    if (path.endsWith('session')) continue;
    const refused = await fetch(url, { method, headers: { 'Content-Type': 'application/json' }, body: text });
    assert.equal(refused.status, 401);
    check(`${method} ${path} without a key`, operation, 401, await refused.json());
  }
});

for (const path of [
  '/calendar.ics',
  '/api/v1/plan.ics?zone=front&method=overseed&units=us',
  '/api/v1/plan.ics?zone=back&method=sod&start=2027-09-05',
])
  test(`the calendar is iCalendar: ${path}`, async () => {
    const reply = await fetch(world.url + path);
    assert.equal(reply.status, 200);
    const text = await reply.text();
    const calendar = new ICAL.Component(ICAL.parse(text));
    assert.equal(calendar.getFirstPropertyValue('version'), '2.0');
    assert.ok(calendar.getFirstPropertyValue('prodid'));
    const events = calendar.getAllSubcomponents('vevent');
    assert.ok(events.length > 0);
    const uids = new Set();
    for (const event of events) {
      const read = new ICAL.Event(event);
      assert.ok(read.summary);
      assert.ok(event.getFirstPropertyValue('dtstamp'));
      assert.ok(read.startDate.isDate || read.startDate.zone);
      assert.ok(read.endDate.compare(read.startDate) >= 0, read.summary);
      uids.add(read.uid);
    }
    assert.equal(uids.size, events.length);
    for (const line of text.split('\r\n')) assert.ok(Buffer.byteLength(line) <= 75, line);
    assert.ok(text.endsWith('END:VCALENDAR\r\n'));
  });

test('the metrics are OpenMetrics, and Prometheus text', async t => {
  const here = spawnSync('/usr/bin/python3', ['-c', 'import prometheus_client']);
  if (here.status !== 0) return t.skip('no python3-prometheus-client here');
  for (const [format, accept] of [
    ['openmetrics', 'application/openmetrics-text; version=1.0.0'],
    ['text', 'text/plain'],
  ]) {
    const reply = await fetch(`${world.url}/metrics`, { headers: { Accept: accept } });
    assert.equal(reply.status, 200);
    const text = await reply.text();
    const judge = spawnSync('/usr/bin/python3', ['openmetrics.py', format], { input: text });
    assert.equal(judge.status, 0, `${format}: ${judge.stderr}`);
    assert.ok(judge.stdout.toString().split('\n').length > 5, judge.stdout.toString());
  }
});
