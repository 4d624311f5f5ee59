// The page of the plan, and the panel for a mow, in a real browser on the real daemon.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { after, before, beforeEach, test } from 'node:test';
import { chromium } from 'playwright-core';
import { World } from './world.mjs';

const axeText = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const kPhone = { width: 390, height: 844 };
const kNarrow = { width: 320, height: 640 };
const kDesk = { width: 1280, height: 800 };

let world, browser;
let troubles = []; // what the browser complained of

before(async () => {
  world = await World.make(process.env.FIRSTMOW_BUILD_DIR);
  browser = await chromium.launch({
    executablePath: process.env.FIRSTMOW_CHROMIUM,
    args: [
      ...['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run'],
      ...['--disable-background-networking', '--disable-component-update', '--disable-sync'],
    ],
  });
});
after(async () => {
  if (browser) await browser.close();
  if (world) await world.end();
});
beforeEach(() => (troubles = []));

async function open(path, { viewport = kPhone, scheme = 'light' } = {}) {
  const context = await browser.newContext({ viewport, colorScheme: scheme });
  const page = await context.newPage();
  page.on('pageerror', error => troubles.push(error.message));
  page.on('console', message => message.type() === 'error' && troubles.push(message.text()));
  await page.goto(world.url + path);
  return page;
}
async function openPlan(query = '', options = {}) {
  const page = await open(`/plan.html${query}`, options);
  await page.getByRole('heading', { name: 'Mind' }).waitFor();
  // What a phone keeps folded until it is wanted.
  const folded = page.locator('details:not([open]) > summary');
  while (await folded.count()) await folded.first().click();
  return page;
}
async function close(page, expected = []) {
  await page.context().close();
  assert.deepEqual(troubles.filter(text => !expected.some(part => text.includes(part))), []);
}
const told = (page, text) => page.locator('#told').filter({ hasText: text }).waitFor();
// A slider, as a thumb or a key would move it.
const slide = (page, label, value) =>
  page.getByLabel(label).evaluate((field, to) => {
    field.value = to;
    field.dispatchEvent(new Event('input', { bubbles: true }));
  }, value);

test('the plan shows advice, dates, what to buy, the tap and cautions', async () => {
  const page = await openPlan();
  for (const name of ['When', 'What to buy', 'Can the tap keep it damp?', 'Mind'])
    await page.getByRole('heading', { name, exact: true }).waitFor();
  await page.getByText(/Seed of perennial ryegrass: /).first().waitFor();
  await page.getByText(/The label of the herbicide is the law/).first().waitFor();
  await page.getByText(/Compressed air/).first().waitFor();
  await page.getByText('Say how much grass is worth keeping').waitFor();
  await close(page);
});

test('answers that are tried change the plan and the address, never the garden file', async () => {
  const file = readFileSync(`${world.folder}/garden.toml`, 'utf8');
  const page = await openPlan();
  await slide(page, 'Grass worth keeping', 10);
  await page.locator('.verdict').filter({ hasText: 'Sow anew' }).waitFor();
  await slide(page, 'Grass worth keeping', 60);
  await page.locator('.verdict').filter({ hasText: 'Overseed' }).waitFor();
  await page.getByText('60 % of the ground is grass worth keeping').waitFor();
  await page.getByRole('button', { name: 'Plan to overseed' }).click();
  await told(page, 'overseed on');
  assert.match(page.url(), /grass_left_pct=60/);
  assert.match(page.url(), /method=overseed/);

  await page.getByLabel('A lawn is wanted at once').check();
  await page.locator('.verdict').filter({ hasText: 'Lay sod' }).waitFor();
  await page.getByLabel('Units').selectOption('us');
  await page.getByText('lb/1000 ft2').first().waitFor();
  await page.getByLabel('Month', { exact: true }).selectOption('10');
  await page.getByLabel('Day of the month').fill('7');
  await page.getByText(/First frost: 7 Oct \d{4}, the typical date that was given/).waitFor();

  // The address alone brings the same plan back.
  const again = await openPlan(new URL(page.url()).search);
  assert.equal(await again.getByLabel('Units').inputValue(), 'us');
  assert.equal(await again.locator('#grass_left_pct').inputValue(), '60');
  await again.locator('.verdict').filter({ hasText: 'Lay sod' }).waitFor();
  await again.getByRole('button', { name: 'Back to the garden file' }).click();
  await told(again, 'sow anew on');
  assert.equal(new URL(again.url()).search, '?zone=front');
  await again.context().close();
  assert.equal(readFileSync(`${world.folder}/garden.toml`, 'utf8'), file);
  await close(page);
});

test('another mix and a price of water are tried, and stand in the address', async () => {
  const page = await openPlan('?zone=front');
  await page.locator('#mix-said').filter({ hasText: 'Seed: perennial ryegrass 100 %' }).waitFor();
  await page.getByLabel('tall fescue').fill('300');
  await page.locator('#mix-said').filter({ hasText: 'perennial ryegrass 25 %, tall fescue 75 %' }).waitFor();
  await page.getByText(/Seed of tall fescue: /).waitFor();
  assert.equal(new URL(page.url()).searchParams.get('mix'), 'perennial_ryegrass:100,tall_fescue:300');
  const water = page.getByRole('listitem').filter({ hasText: 'Water until the first mow' });
  assert.doesNotMatch(await water.textContent(), /costs?/);
  await page.getByLabel('Price of a cubic metre of water').fill('3');
  await water.filter({ hasText: /cost/ }).waitFor();

  const again = await openPlan(new URL(page.url()).search);
  assert.equal(await again.getByLabel('tall fescue').inputValue(), '75');
  assert.equal(await again.getByLabel('Price of a cubic metre of water').inputValue(), '3');
  // Something else is changed: the mix that is tried stays.
  await slide(again, 'Slope', 8);
  await again.waitForURL(/slope_pct=8/);
  assert.match(new URL(again.url()).searchParams.get('mix'), /^perennial_ryegrass:25,tall_fescue:75$/);
  await again.getByRole('button', { name: 'Back to the garden file' }).click();
  await again.locator('#mix-said').filter({ hasText: 'Seed: perennial ryegrass 100 %' }).waitFor();
  assert.equal(new URL(again.url()).search, '?zone=front');
  await again.context().close();
  await close(page);
});

test('what was never said looks and reads so, and a press anywhere says it', async () => {
  const page = await openPlan('?zone=front');
  const grass = page.getByLabel('Grass worth keeping');
  assert.equal(await grass.getAttribute('aria-valuetext'), 'not said');
  assert.equal(await page.locator('#grass-said').textContent(), 'not said');
  // No handle stands anywhere.
  assert.equal(await grass.evaluate(field => getComputedStyle(field).appearance), 'none');
  // In the middle, where a press changes no value.
  await grass.click();
  await page.getByText('50 % of the ground is grass worth keeping').waitFor();
  assert.equal(await grass.getAttribute('aria-valuetext'), '50 %');
  assert.notEqual(await grass.evaluate(field => getComputedStyle(field).appearance), 'none');
  await page.getByRole('button', { name: 'Back to the garden file' }).click();
  await page.getByText('Say how much grass is worth keeping').waitFor();
  assert.equal(await grass.getAttribute('aria-valuetext'), 'not said');
  await close(page);
});

test('the calendar of a tried plan is given for download', async () => {
  const page = await openPlan('?zone=front&start=2027-04-20');
  const href = await page.getByRole('link', { name: 'These dates for a calendar program' }).getAttribute('href');
  const reply = await fetch(world.url + href);
  assert.match(reply.headers.get('content-type'), /^text\/calendar/);
  assert.match(reply.headers.get('content-disposition'), /attachment/);
  assert.match(await reply.text(), /DTSTART;VALUE=DATE:20270420/);
  await close(page);
});

test('a zone that the garden does not have, and an answer that cannot be, are said plainly', async () => {
  const page = await open('/plan.html?zone=front&slope_pct=400');
  await told(page, "No plan: 'slope_pct' must be a number from 0 to 100.");
  await page.getByLabel('Slope').waitFor();
  await close(page, ['400']);
});

test('the plan keeps the rules for everybody, at any width, by day and by night', async () => {
  for (const [viewport, scheme] of [
    [kPhone, 'light'],
    [kNarrow, 'light'],
    [kPhone, 'dark'],
    [kDesk, 'light'],
    [kDesk, 'dark'],
  ]) {
    const what = `${viewport.width} ${scheme}`;
    const page = await openPlan('?zone=front&grass_left_pct=20', { viewport, scheme });
    await page.evaluate(axeText);
    const found = await page.evaluate(() =>
      globalThis.axe.run(document, {
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
      }),
    );
    assert.deepEqual(
      found.violations.map(v => `${what}: ${v.id}: ${v.nodes[0].html.slice(0, 120)}`),
      [],
    );
    const [scroll, client] = await page.evaluate(() => [
      document.documentElement.scrollWidth,
      document.documentElement.clientWidth,
    ]);
    assert.ok(scroll <= client, `${what}: ${scroll} px on ${client} px`);
    await close(page);
  }
});

test('the plan is reached from the other pages, and them from it', async () => {
  const page = await open('/season.html');
  await page.getByRole('link', { name: 'Plan', exact: true }).click();
  await page.getByRole('heading', { name: 'Mind' }).waitFor();
  await page.getByRole('link', { name: 'Days', exact: true }).click();
  await page.waitForURL(/day\.html/);
  await close(page);
});

test('a mow that is told keeps the water away, is shown, and is taken back', async () => {
  const context = await browser.newContext({ viewport: kPhone });
  const page = await context.newPage();
  page.on('pageerror', error => troubles.push(error.message));
  await page.goto(`${world.url}/#key=${world.key}`);
  const zone = page.getByRole('region', { name: 'Front lawn' });
  await zone.getByRole('button', { name: 'I mow…' }).click();
  const panel = zone.getByRole('group', { name: 'When I will mow' });
  await panel.getByText('Seed is never let dry for it').waitFor();
  await panel.getByRole('button', { name: 'Keep it firm' }).click();
  await page.locator('#said').filter({ hasText: 'water keeps clear of the mow' }).waitFor();
  const status = await world.get('/api/v1/status');
  const mow = status.zones.find(one => one.id === 'front').mow_planned;
  // The field shows the garden's time; a day from now, on the hour.
  const ahead = Date.parse(mow.at) - Date.now();
  assert.ok(ahead > 23.9 * 3600e3 && ahead < 25.1 * 3600e3, mow.at);
  const calendar = await (await fetch(`${world.url}/calendar.ics`)).text();
  assert.match(calendar.replace(/\r\n /g, ''), /SUMMARY:Front lawn: mow\\, as you said/);
  await zone.getByRole('button', { name: 'I mow…' }).click();
  await panel.getByText(/To be mown .* no planned water from/).waitFor();
  await panel.getByRole('button', { name: 'No mow then' }).click();
  await page.locator('#said').filter({ hasText: 'follows its plan again' }).waitFor();
  const later = await world.get('/api/v1/status');
  assert.equal(later.zones.find(one => one.id === 'front').mow_planned, null);
  await close(page);
});

test('the season draws what has come up and what is expected', async () => {
  const page = await open('/season.html');
  const picture = page.getByRole('img', { name: /Share of the seedlings up since the sowing/ }).first();
  await picture.waitFor();
  await picture.locator('path.been').first().waitFor({ state: 'attached' });
  await picture.locator('path.likely-band').first().waitFor({ state: 'attached' });
  const growth = await world.get('/api/v1/growth');
  for (const one of growth.zones)
    for (const species of one.growth.species) assert.ok(species.past.up.length >= 4);
  await close(page);
});
