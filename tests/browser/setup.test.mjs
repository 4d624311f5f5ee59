// Setting up as a person does it: valves that are tried, cans that are written down, a garden file
// that is changed; on the real daemon.
import assert from 'node:assert/strict';
import { chmodSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, beforeEach, test } from 'node:test';
import { checkNoSidewaysScroll, checkRules, kDesk, kNarrow, kPhone, launch } from './look.mjs';
import { World } from './world.mjs';

let world, browser;
let troubles = [];

before(async () => {
  world = await World.make(process.env.FIRSTMOW_BUILD_DIR);
  browser = await launch();
});
after(async () => {
  if (browser) await browser.close();
  if (world) await world.end();
});
beforeEach(async () => {
  troubles = [];
  const headers = { Authorization: `Bearer ${world.key}` };
  await fetch(`${world.url}/api/v1/stop`, { method: 'POST', headers });
});

async function open({ signedIn = true, viewport = kPhone, scheme = 'light' } = {}) {
  const context = await browser.newContext({ viewport, colorScheme: scheme, acceptDownloads: true });
  const page = await context.newPage();
  page.on('pageerror', error => troubles.push(error.message));
  page.on('console', message => {
    // The browser tells of every answer that is a refusal; what is said of it is looked at below.
    if (message.type() === 'error' && !/Failed to load resource/.test(message.text()))
      troubles.push(message.text());
  });
  page.on('request', request => {
    if (!request.url().startsWith(world.url) && !/^(data|blob):/.test(request.url()))
      troubles.push(`asked elsewhere: ${request.url()}`);
  });
  if (signedIn) {
    await page.goto(`${world.url}/#key=${world.key}`);
    await page.getByRole('button', { name: 'Sign in' }).waitFor({ state: 'hidden' });
  }
  await page.goto(`${world.url}/setup.html`);
  await page.locator('#wiring-seconds').waitFor();
  if (signedIn) await page.locator('#file-area').waitFor();
  return page;
}
async function close(page) {
  await page.context().close();
  assert.deepEqual(troubles, []);
}
const said = (page, text) => page.locator('#said').filter({ hasText: text }).waitFor();
const file = () => join(world.folder, 'garden.toml');
const text = () => readFileSync(file(), 'utf8');
const notices = async () => (await world.get('/api/v1/status')).notices.map(one => one.text);

test('the way there, in light and dark, on every width, within the rules', async () => {
  const page = await open();
  await page.goto(world.url);
  await page.getByRole('link', { name: 'Setup', exact: true }).click();
  await page.getByRole('heading', { name: 'Setup' }).waitFor();
  await close(page);
  for (const scheme of ['light', 'dark'])
    for (const viewport of [kPhone, kDesk, kNarrow]) {
      const one = await open({ viewport, scheme });
      await one.locator('#can-entry').fill('14 9 17 12');
      await one.keyboard.press('Enter');
      await one.locator('.figure').waitFor();
      await one.locator('#file-area').fill('91');
      await one.getByRole('button', { name: 'Look at the change' }).click();
      await one.locator('.draft .lines').waitFor();
      await one.getByRole('button', { name: 'Begin with the first valve' }).click();
      await one.locator('.trial').waitFor();
      await checkRules(one, `setting up, ${scheme}, ${viewport.width} px`);
      await checkNoSidewaysScroll(one);
      await close(one);
    }
});

test('the valves are tried one after the other, and what came goes on the record', async () => {
  const page = await open();
  await page.getByText('Mains belongs to an electrician').waitFor();
  await page.getByLabel('Each is open for').selectOption('5');
  await page.getByRole('button', { name: 'Begin with the first valve' }).click();
  await page.getByText('Valve 1 of 2: Front lawn').waitFor();
  assert.equal(await page.getByRole('button', { name: 'Nothing came' }).isVisible(), false);
  await page.getByRole('button', { name: 'Open it for 5 s' }).click();
  await page.getByText('It is open. Look which heads rise.').waitFor();
  assert.equal(world.valveIsOpen(1), true);
  assert.equal(world.valveIsOpen(2), false);
  await page.getByText('It has closed again.').waitFor({ timeout: 15e3 });
  assert.equal(world.valveIsOpen(1), false);
  await page.getByRole('button', { name: 'It was the right one' }).click();
  await page.getByText('Valve 2 of 2: Back lawn').waitFor();
  await page.getByRole('button', { name: 'Open it for 5 s' }).click();
  await page.getByText('It is open. Look which heads rise.').waitFor();
  // Stop is at hand, here and in the bar.
  await page.locator('.trial').getByRole('button', { name: 'Stop', exact: true }).click();
  await page.getByText('It has closed again.').waitFor();
  assert.equal(world.valveIsOpen(2), false);
  await page.getByLabel('Another zone:').selectOption('front');
  await page.getByRole('button', { name: 'That one got the water' }).click();
  await page.locator('.tried').filter({ hasText: 'Back lawn: Front lawn got the water' }).waitFor();
  const told = (await notices()).filter(one => one.startsWith('Wiring:'));
  assert.match(told[0], /valve of Back lawn was opened for a moment, and Front lawn got the water/);
  assert.match(told[1], /valve of Front lawn was opened for a moment, and it was the right one/);
  await close(page);
});

test('cans: written down on the lawn, seen at once, kept over a closed page, accepted', async () => {
  const page = await open();
  await page.getByLabel('Mouth of a can across, mm').fill('112.8');
  const entry = page.locator('#can-entry');
  for (const reading of ['20', '10', '30', '20,0']) {
    await entry.fill(reading);
    await page.keyboard.press('Enter');
  }
  await page.locator('.figure').filter({ hasText: '12.0 mm/h, uniformity 0.50' }).waitFor();
  await page.getByRole('button', { name: 'Can 2: 10 mL, among the driest. Take it away' }).waitFor();
  await page.getByText('4 cans give a first idea').waitFor();
  await page.reload();
  await page.locator('.figure').filter({ hasText: '12.0 mm/h, uniformity 0.50' }).waitFor();
  // Nonsense is told and changes nothing.
  await entry.fill('14 wet');
  await page.keyboard.press('Enter');
  await page.getByText('Numbers such as 14 or 16.5 would be right').waitFor();
  assert.equal(await page.locator('.glass').count(), 4);
  await page.getByRole('button', { name: 'Can 3: 30 mL. Take it away' }).click();
  await page.locator('.figure').filter({ hasText: '10.0 mm/h' }).waitFor();
  await entry.fill('20 21 19 22');
  await page.keyboard.press('Enter');
  await page.locator('.figure').filter({ hasText: 'uniformity' }).waitFor();
  await page.getByRole('button', { name: 'Accept for this zone' }).click();
  await said(page, 'Learned for Front lawn: 7 catch cans.');
  await page.goto(world.url);
  await page.getByText(/Learned .*Catch cans on Front lawn gave/).waitFor();
  await close(page);
});

test('cans in inches, and from there into the garden file', async () => {
  await world.changeGarden(old => old.replace('timezone =', 'units = "us"\ntimezone ='));
  try {
    const page = await open({ viewport: kDesk });
    await page.getByLabel('Zone', { exact: true }).selectOption('back');
    await page.getByRole('radio', { name: 'in', exact: true }).check();
    await page.locator('#can-entry').fill('0.1 0.09 0.08 0.1 0.11 0.1');
    await page.keyboard.press('Enter');
    await page.locator('.figure').filter({ hasText: '0.58 in/h' }).waitFor();
    await page.getByRole('button', { name: 'Write it into the garden file…' }).click();
    const draft = page.locator('.draft');
    await draft.getByText('readings = "0.1 0.09 0.08 0.1 0.11 0.1 in", time = "10 min"').waitFor();
    assert.match(await draft.locator('.goes').textContent(), /precipitation_rate = "12 mm\/h"/);
    await draft.getByRole('button', { name: 'Write it' , exact: true }).click();
    await said(page, 'Written: the garden goes on with the changed file.');
    const back = text().slice(text().indexOf('id = "back"'));
    assert.match(back, /catch_cans = \{ readings = "0\.1 0\.09/);
    assert.doesNotMatch(back, /precipitation_rate/);
    await close(page);
  } finally {
    await world.changeGarden(old =>
      old.replace('units = "us"\n', '').replace(/catch_cans = .*\n/, 'precipitation_rate = "12 mm/h"\n'),
    );
  }
});

test('a change of the file: looked at, written, in force, on the record; the rest untouched', async () => {
  await world.changeGarden(old => old.replace('area = "90 m2"', '  area = "90 m2"   # paced out # twice'));
  chmodSync(file(), 0o640);
  const before = text();
  const page = await open();
  await page.getByLabel('Name').fill('Front "lawn" # <1>');
  await page.getByLabel('Area', { exact: true }).fill('95');
  await page.getByLabel('Lies on the seed').selectOption('straw');
  await page.getByLabel('Longest run', { exact: true }).fill('45');
  await page.getByRole('button', { name: 'Look at the change' }).click();
  const draft = page.locator('.draft');
  await draft.getByText('  area = "95 m2"   # paced out # twice').waitFor();
  assert.equal(text(), before);
  assert.equal(await page.evaluate(() => document.activeElement.className), 'draft');
  await draft.getByRole('button', { name: 'Write it', exact: true }).click();
  await said(page, 'Written: the garden goes on with the changed file.');
  const now = text();
  assert.equal(
    now,
    before
      .replace('name = "Front lawn"', 'name = "Front \\"lawn\\" # <1>"')
      .replace('"90 m2"', '"95 m2"')
      .replace(/(precipitation_rate = "12 mm\/h"\n)/, '$1longest_run = "45 min"\n')
      .replace(/(mix = .*\n)/, '$1cover = "straw"\n'),
  );
  assert.equal(readFileSync(`${file()}.before`, 'utf8'), before);
  assert.equal(statSync(file()).mode & 0o777, 0o640);
  const status = await world.get('/api/v1/status');
  assert.equal(status.zones[0].name, 'Front "lawn" # <1>');
  assert.equal(status.zones[0].area_m2, 95);
  assert.ok((await notices()).some(one => /changed the garden file on the page: .*area of front from "90 m2" to "95 m2"/.test(one)));
  // And back again, by keyboard alone.
  await page.getByLabel('Name').focus();
  await page.keyboard.press('Control+A');
  await page.keyboard.type('Front lawn');
  await page.keyboard.press('Enter');
  await draft.getByText('name = "Front lawn"').waitFor();
  await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  await page.locator('#file legend').filter({ hasText: 'of Front lawn' }).waitFor({ state: 'attached' });
  assert.equal((await world.get('/api/v1/status')).zones[0].name, 'Front lawn');
  assert.match(text(), /name = "Front lawn"/);
  await close(page);
});

test('what would be no garden is told, and what somebody else changed is not overwritten', async () => {
  const page = await open();
  const before = text();
  await page.getByLabel('Rate of the sprinklers', { exact: true }).fill('9000');
  await page.getByRole('button', { name: 'Look at the change' }).click();
  await page.locator('#file .trouble').filter({ hasText: '0.1 to 200 mm/h would be right' }).waitFor();
  await page.getByRole('button', { name: 'Leave it as it is' }).click();
  await page.locator('#file-area').fill('97');
  await page.getByRole('button', { name: 'Look at the change' }).click();
  await page.locator('.draft .lines').waitFor();
  writeFileSync(file(), `${before}# by hand\n`);
  await page.locator('.draft').getByRole('button', { name: 'Write it', exact: true }).click();
  await page.locator('#file .trouble').filter({ hasText: 'has changed since it was looked at' }).waitFor();
  assert.equal(text(), `${before}# by hand\n`);
  await page.getByText('has been changed by hand and not been read again').waitFor();
  await world.changeGarden(() => before);
  await close(page);
});

test('hours and days of the whole garden, and a mix', async () => {
  const page = await open({ viewport: kDesk });
  await page.locator('#file-zone').selectOption('');
  await page.getByLabel('Hours in which water may run: until').fill('09:00');
  await page.getByRole('button', { name: 'Another stretch' }).click();
  await page.getByLabel('Sun', { exact: true }).uncheck();
  await page.getByRole('button', { name: 'Look at the change' }).click();
  const draft = page.locator('.draft');
  await draft.getByText('hours = ["00:00-09:00", "06:00-19:00"]').or(page.locator('#file .trouble')).first().waitFor();
  // The second stretch overlaps the first: the reader's own sentence.
  await page.locator('#file .trouble').filter({ hasText: /hours/ }).waitFor();
  await page.getByLabel('Hours in which water may run: from').nth(1).fill('17:30');
  await page.getByRole('button', { name: 'Look at the change' }).click();
  await draft.getByText('hours = ["00:00-09:00", "17:30-19:00"]').waitFor();
  await draft.getByText('days = ["mon", "tue", "wed", "thu", "fri", "sat"]').waitFor();
  await draft.getByRole('button', { name: 'Do not write it' }).click();
  await page.locator('#file-zone').selectOption('back');
  await page.getByRole('button', { name: 'Another species' }).click();
  await page.getByLabel('Share of the seed in percent').nth(0).fill('70');
  await page.getByLabel('Species', { exact: true }).nth(1).selectOption('tall_fescue');
  await page.getByLabel('Share of the seed in percent').nth(1).fill('30');
  await page.getByRole('button', { name: 'Look at the change' }).click();
  await draft.getByText('{ species = "tall_fescue", share = 0.3 }').waitFor();
  await draft.getByText('The grass of Back lawn begins anew from its first day').waitFor();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    draft.getByRole('link', { name: 'Save the changed file' }).click(),
  ]);
  assert.equal(download.suggestedFilename(), 'garden.toml');
  assert.match(readFileSync(await download.path(), 'utf8'), /share = 0\.7 \}, \{ species = "tall_fescue"/);
  assert.doesNotMatch(text(), /tall_fescue/);
  await close(page);
});

test('who is not signed in may reckon, and neither opens a valve nor sees the file', async () => {
  const page = await open({ signedIn: false });
  await page.locator('#can-entry').fill('20 21 19 22');
  await page.keyboard.press('Enter');
  await page.locator('.figure').waitFor();
  await page.getByRole('button', { name: 'Accept for this zone' }).click();
  await said(page, 'Not done');
  await page.getByRole('button', { name: 'Begin with the first valve' }).click();
  await page.getByRole('button', { name: /^Open it for/ }).click();
  await said(page, 'Not done: the garden takes orders from who is signed in.');
  assert.equal(world.valveIsOpen(1), false);
  assert.equal(await page.locator('#file-area').count(), 0);
  await page.getByText('is shown to who is signed in').waitFor();
  await page.getByLabel('Code or key of this garden').fill(world.key);
  await page.locator('#sign-in').getByRole('button', { name: 'Sign in' }).click();
  await page.locator('#file-area').waitFor();
  await close(page);
});
