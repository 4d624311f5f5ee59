// The page as a person uses it, in a real browser on the real daemon.
import assert from 'node:assert/strict';
import { after, before, beforeEach, test } from 'node:test';
import { checkNoSidewaysScroll, checkRules, kDesk, kNarrow, kPhone, launch } from './look.mjs';
import { World } from './world.mjs';

let world, browser;
let troubles = []; // what the browser complained of

before(async () => {
  world = await World.make(process.env.FIRSTMOW_BUILD_DIR);
  browser = await launch();
});
after(async () => {
  if (browser) await browser.close();
  if (world) await world.end();
});
beforeEach(async () => {
  // Each begins with closed valves and no hold.
  troubles = [];
  const headers = { Authorization: `Bearer ${world.key}` };
  await fetch(`${world.url}/api/v1/stop`, { method: 'POST', headers });
  for (const zone of ['front', 'back'])
    await fetch(`${world.url}/api/v1/zones/${zone}/hold`, { method: 'DELETE', headers });
});

async function open(path = '/', { signedIn = true, viewport = kPhone, scheme = 'light' } = {}) {
  const context = await browser.newContext({ viewport, colorScheme: scheme });
  const page = await context.newPage();
  page.on('pageerror', error => troubles.push(error.message));
  page.on('request', request => {
    if (!request.url().startsWith(world.url) && !request.url().startsWith('data:'))
      troubles.push(`asked elsewhere: ${request.url()}`);
  });
  await page.goto(world.url + (signedIn ? `/#key=${world.key}` : '/'));
  await page.getByRole('heading', { name: 'Front lawn' }).waitFor();
  if (signedIn) await page.getByRole('button', { name: 'Sign in' }).waitFor({ state: 'hidden' });
  if (path !== '/') await page.goto(world.url + path);
  return page;
}
async function close(page) {
  await page.context().close();
  assert.deepEqual(troubles, []);
}
const zone = (page, name) => page.getByRole('region', { name });
const said = (page, text) => page.locator('#said').filter({ hasText: text }).waitFor();

test('a first visit shows the garden, its zones and what comes', async () => {
  for (const viewport of [kPhone, kDesk]) {
    const page = await open('/', { signedIn: false, viewport });
    // A name with marks of HTML in it is text.
    assert.equal(await page.locator('#site').textContent(), 'Trial <b>garden</b>');
    assert.match(await page.locator('#headline').textContent(), /damp|dry|water/i);
    const front = zone(page, 'Front lawn');
    await front.getByRole('img').waitFor();
    assert.match(await front.textContent(), /kPa in the driest quarter/);
    await page.getByRole('button', { name: 'Stop all water' }).waitFor();
    await close(page);
  }
});

test('signing in with a wrong key fails, with the right one it works and is kept', async () => {
  const page = await open('/', { signedIn: false });
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.getByLabel('Code or key of this garden').fill('not-the-key');
  await page.locator('#sign-in').getByRole('button', { name: 'Sign in' }).click();
  await said(page, 'Not signed in');
  await page.getByLabel('Code or key of this garden').fill(world.key);
  await page.locator('#sign-in').getByRole('button', { name: 'Sign in' }).click();
  await said(page, 'Signed in.');
  await page.reload();
  await page.getByRole('button', { name: 'Sign out on this browser' }).waitFor();
  await close(page);
});

test('a phone is paired with a code, and stays so when the daemon starts anew', async () => {
  const page = await open('/', { signedIn: false });
  await page.getByRole('button', { name: 'Sign in' }).click();
  const field = page.getByLabel('Code or key of this garden');
  const form = page.locator('#sign-in').getByRole('button', { name: 'Sign in' });
  const code = world.pair();
  await field.fill(code === 'AAAA-AAAA' ? 'CCCC-CCCC' : 'AAAA-AAAA');
  await form.click();
  await said(page, 'Not signed in: the code is wrong');
  await checkRules(page, 'signing in');
  await checkNoSidewaysScroll(page);
  await field.fill(code.toLowerCase().replace('-', ' '));
  await form.click();
  await said(page, 'Signed in.');
  await world.stop();
  await world.start();
  await page.reload();
  await page.getByRole('button', { name: 'Sign out on this browser' }).waitFor();
  await page.getByRole('button', { name: 'Stop all water' }).click();
  await said(page, 'Confirmed: every valve is closed.');
  troubles = troubles.filter(text => !/fetch/i.test(text));
  await close(page);
});

test('a garden with closed reads shows itself to who signs in', async () => {
  await world.changeGarden(text => `[access]\nreads = "signed_in"\n${text}`);
  try {
    const context = await browser.newContext({ viewport: kPhone });
    const page = await context.newPage();
    await page.goto(world.url + '/day.html');
    await page.locator('#headline').filter({ hasText: 'Sign in to see this garden.' }).waitFor();
    assert.equal(await page.getByRole('heading', { name: 'Front lawn' }).count(), 0);
    await checkRules(page, 'closed');
    await page.getByLabel('Code or key of this garden').fill(world.pair());
    await page.locator('#sign-in').getByRole('button', { name: 'Sign in' }).click();
    await page.getByRole('heading', { name: 'Front lawn' }).waitFor();
    await page.getByRole('button', { name: 'Sign out on this browser' }).click();
    await page.locator('#headline').filter({ hasText: 'Sign in to see this garden.' }).waitFor();
    assert.equal(await page.getByRole('heading', { name: 'Front lawn' }).count(), 0);
    assert.doesNotMatch(await page.locator('body').textContent(), /Front lawn|Trial/);
    // A printed address signs in by itself: what the page had asked before was refused.
    await page.goto('about:blank');
    await page.goto(`${world.url}/#key=${world.key}`);
    await page.getByRole('heading', { name: 'Front lawn' }).waitFor();
    await context.close();
  } finally {
    await world.changeGarden(text => text.replace('[access]\nreads = "signed_in"\n', ''));
  }
});

test('who is not signed in is asked for the key, and no valve moves', async () => {
  const page = await open('/', { signedIn: false });
  const front = zone(page, 'Front lawn');
  await front.getByRole('button', { name: 'Water…' }).click();
  await front.getByRole('button', { name: /^Water \d+ min$/ }).click();
  await said(page, 'Not done');
  await page.getByLabel('Code or key of this garden').waitFor();
  assert.equal(world.valveIsOpen(1), false);
  await close(page);
});

test('a thumb waters a zone, learns how long it lasts, and stops all', async () => {
  const page = await open();
  const front = zone(page, 'Front lawn');
  await front.getByRole('button', { name: 'Water…' }).click();
  await front.getByText(/That would last/).waitFor();
  await front.getByRole('button', { name: 'More' }).click();
  await front.getByRole('button', { name: /^Water \d+ min$/ }).click();
  await said(page, 'Confirmed: water runs on Front lawn.');
  assert.equal(world.valveIsOpen(1), true);
  await front.getByText(/Water is running until/).waitFor();
  await page.getByRole('button', { name: 'Stop all water' }).click();
  // A stop is not undone; how water comes back is told.
  await said(page, /Confirmed: every valve is closed\. Planned runs go on after .* Water… brings/);
  assert.equal(await page.locator('#undo').isVisible(), false);
  assert.equal(world.valveIsOpen(1), false);
  await close(page);
});

test('a hold is set and ended', async () => {
  const page = await open();
  const back = zone(page, 'Back lawn');
  await back.getByRole('button', { name: 'Hold…' }).click();
  await back.getByRole('button', { name: '1 day' }).click();
  await said(page, 'Confirmed: Back lawn is on hold for 1 day.');
  await back.getByText(/^On hold until/).first().waitFor();
  await back.getByRole('button', { name: 'Hold…' }).click();
  await back.getByRole('button', { name: 'End the hold' }).click();
  await said(page, 'follows its plan again');
  await close(page);
});

test('a slip of the thumb is undone, and both phones see it', async () => {
  const one = await open();
  const other = await open('/', { viewport: kDesk });
  const back = zone(one, 'Back lawn');
  await back.getByRole('button', { name: 'Hold…' }).click();
  await back.getByRole('button', { name: '3 days' }).click();
  await said(one, 'Confirmed: Back lawn is on hold for 3 days.');
  // The other phone has not given the order: it is told of it in the zone.
  await zone(other, 'Back lawn').getByRole('button', { name: /^Undo: Back lawn is held/ }).waitFor();
  assert.equal(await other.locator('#undo').isVisible(), false);
  await one.locator('#undo').click();
  await said(one, 'Taken back: Back lawn is held until');
  for (const page of [one, other]) {
    await zone(page, 'Back lawn').getByText(/^On hold until/).first().waitFor({ state: 'hidden' });
    await zone(page, 'Back lawn').getByRole('button', { name: /^Undo/ }).waitFor({ state: 'hidden' });
  }
  await one.getByText(/A person took back: Back lawn is held/).waitFor();
  // A report, undone from the other phone by keyboard.
  await back.getByRole('button', { name: 'I see…' }).click();
  await back.getByRole('button', { name: 'Water stands' }).click();
  await said(one, 'Noted for Back lawn');
  const undo = zone(other, 'Back lawn').getByRole('button', { name: 'Undo: water stands on Back lawn.' });
  await undo.focus();
  await other.keyboard.press('Enter');
  await said(other, 'Taken back: water stands on Back lawn.');
  await one.locator('#undo').waitFor({ state: 'hidden' });
  await checkRules(one, 'after an undo');
  await other.context().close();
  await close(one);
});

test('water that waits for the tap is called off', async () => {
  await world.changeGarden(text => text.replace('flow = "40 L/min"', 'flow = "19 L/min"'));
  try {
    const page = await open();
    const order = async name => {
      await zone(page, name).getByRole('button', { name: 'Water…' }).click();
      await zone(page, name).getByRole('button', { name: /^Water \d+ min$/ }).click();
    };
    await order('Front lawn');
    await said(page, 'Confirmed: water runs on Front lawn.');
    await order('Back lawn');
    await said(page, /Confirmed: \d+ min of water for Back lawn wait for the tap/);
    await page.locator('#undo').click();
    await said(page, /Taken back: \d+ min of water for Back lawn/);
    await page.getByRole('button', { name: 'Stop Front lawn' }).click();
    await said(page, 'Confirmed: Front lawn is closed.');
    await new Promise(resolve => setTimeout(resolve, 1000));
    assert.equal(world.valveIsOpen(2), false);
    await close(page);
  } finally {
    await world.changeGarden(text => text.replace('flow = "19 L/min"', 'flow = "40 L/min"'));
  }
});

test('what a person sees goes on the record', async () => {
  const page = await open();
  const front = zone(page, 'Front lawn');
  await front.getByRole('button', { name: 'I see…' }).click();
  await front.getByRole('button', { name: 'Surface looks dry' }).click();
  await said(page, 'Noted for Front lawn: Surface looks dry.');
  await close(page);
});

test('two phones at once stay of one mind', async () => {
  const one = await open();
  const other = await open('/', { viewport: kDesk });
  await zone(one, 'Back lawn').getByRole('button', { name: 'Water…' }).click();
  await zone(one, 'Back lawn')
    .getByRole('button', { name: /^Water \d+ min$/ })
    .click();
  await zone(other, 'Back lawn')
    .getByText(/Water is running/)
    .waitFor();
  await zone(other, 'Back lawn').getByRole('button', { name: 'Stop Back lawn' }).click();
  await zone(one, 'Back lawn')
    .getByText(/Water is running/)
    .waitFor({ state: 'hidden' });
  assert.equal(world.valveIsOpen(2), false);
  await other.context().close();
  await close(one);
});

test('the review of a hot day tells what ran and why', async () => {
  const page = await open();
  await page.getByRole('link', { name: 'Days', exact: true }).click();
  const hot = page.locator('#days a.hot').first();
  await hot.waitFor();
  assert.match(await hot.getAttribute('aria-label'), /hot/);
  await page.goto(`${world.url}/day.html?date=${world.hotDay}`);
  await page.locator('#told').filter({ hasText: 'A hot day' }).waitFor();
  const told = await page.locator('#told').textContent();
  assert.match(told, /runs brought [\d.]+\s(L|m³)/);
  const front = zone(page, 'Front lawn');
  assert.ok((await front.locator('.runs li').count()) >= 3);
  assert.match(await front.locator('.runs li').first().textContent(), /Runs \d+ min/);
  assert.match(await front.textContent(), /limit −\d+\skPa/);
  await checkRules(page, 'the day');
  await checkNoSidewaysScroll(page);
  await page.getByRole('link', { name: 'The day before' }).click();
  await page.locator('#told').filter({ hasText: 'Up to' }).or(page.locator('#told').filter({ hasText: 'hot day' })).waitFor();
  await close(page);
});

test('the season tells what is to be expected and what there is to do', async () => {
  const page = await open();
  await page.getByRole('link', { name: 'Season', exact: true }).click();
  await page.locator('#told').filter({ hasText: 'runs brought' }).waitFor();
  const back = zone(page, 'Back lawn');
  assert.match(await back.locator('.dates').textContent(), /First green.*All up.*First mow/);
  assert.match(await back.locator('.species').textContent(), /Kentucky bluegrass \(100 % of the mix\)/);
  assert.ok((await page.locator('#due-list li').count()) >= 3);
  for (const viewport of [kPhone, kDesk, kNarrow]) {
    await page.setViewportSize(viewport);
    await checkNoSidewaysScroll(page);
  }
  await checkRules(page, 'the season');
  await close(page);
});

test('a page that stays open outlives a restart of the daemon', async () => {
  const page = await open();
  await world.stop();
  await zone(page, 'Front lawn').getByRole('button', { name: 'Hold…' }).click();
  await zone(page, 'Front lawn').getByRole('button', { name: '4 hours' }).click();
  await said(page, 'The garden does not answer');
  await world.start();
  await page.locator('body:not(.stale)').waitFor();
  await zone(page, 'Front lawn').getByRole('button', { name: 'Hold…' }).waitFor();
  await page.waitForResponse(reply => reply.url().includes('/api/v1/stream') || reply.ok(), {
    timeout: 60e3,
  });
  troubles = troubles.filter(text => !/fetch/i.test(text));
  await close(page);
});

test('the keyboard alone is enough', async () => {
  const page = await open();
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.textContent), 'To the garden');
  const reach = async label => {
    for (let i = 0; i < 60; ++i) {
      await page.keyboard.press('Tab');
      const at = await page.evaluate(() => {
        const e = document.activeElement;
        return { text: e.textContent.trim(), ring: getComputedStyle(e).outlineStyle };
      });
      if (at.text === label) {
        assert.notEqual(at.ring, 'none', `${label} shows that it has the focus`);
        return;
      }
    }
    assert.fail(`${label} was not reached by Tab`);
  };
  await reach('Hold…');
  await page.keyboard.press('Enter');
  await reach('4 hours');
  await page.keyboard.press('Enter');
  await said(page, 'on hold for 4 hours');
  await reach('Stop all water');
  await close(page);
});

test('dark and light, on a phone, a desk and a narrow screen, nothing breaks a rule', async () => {
  for (const scheme of ['light', 'dark'])
    for (const viewport of [kPhone, kDesk, kNarrow]) {
      const page = await open('/', { viewport, scheme });
      await zone(page, 'Front lawn').getByRole('button', { name: 'Water…' }).click();
      await checkRules(page, `now, ${scheme}, ${viewport.width} px`);
      await checkNoSidewaysScroll(page);
      const paper = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
      const dark = Number(/\d+/.exec(paper)[0]) < 128;
      assert.equal(dark, scheme === 'dark');
      await close(page);
    }
});

test('every page is a line of links away, on the narrowest screen too', async () => {
  const page = await open('/', { viewport: kNarrow });
  for (const path of ['/', '/day.html', '/season.html', '/plan.html', '/setup.html']) {
    await page.goto(world.url + path);
    const links = page.getByRole('navigation', { name: 'Pages' }).getByRole('link');
    const boxes = await Promise.all((await links.all()).map(link => link.boundingBox()));
    assert.equal(boxes.length, 5);
    assert.equal(new Set(boxes.map(box => box.y)).size, 1, path);
    assert.equal(await links.and(page.locator('[aria-current]')).getAttribute('href'), path);
  }
  await close(page);
});

test('all water is stopped from the review and the season too, or the way to sign in is shown', async () => {
  for (const path of ['/day.html', '/season.html']) {
    const page = await open(path);
    await fetch(`${world.url}/api/v1/zones/front/water`, {
      method: 'POST',
      headers: { Authorization: `Bearer ${world.key}`, 'Content-Type': 'application/json' },
      body: '{"minutes": 5}',
    });
    await page.getByRole('button', { name: 'Stop all water' }).click();
    await said(page, 'Confirmed: every valve is closed.');
    assert.equal(world.valveIsOpen(1), false);
    await close(page);
  }
  const page = await open('/', { signedIn: false });
  await page.goto(`${world.url}/season.html`);
  await page.getByRole('button', { name: 'Stop all water' }).click();
  await page.getByLabel('Code or key of this garden').waitFor();
  await close(page);
});

test('the owner of a closed garden gives a calendar program its secret address, and ends it', async () => {
  await world.changeGarden(text => `[access]\nreads = "signed_in"\n${text}`);
  try {
    const page = await open('/season.html');
    await page.getByRole('button', { name: 'Make a secret address' }).click();
    const field = page.getByLabel('Secret address of the calendar');
    await field.waitFor();
    const address = await field.inputValue();
    assert.ok(address.startsWith(`${world.url}/calendar/`), address);
    const calendar = await fetch(address);
    assert.equal(calendar.status, 200);
    assert.match(await calendar.text(), /^BEGIN:VCALENDAR/);
    assert.equal((await fetch(`${world.url}/calendar.ics`)).status, 401);
    await checkRules(page, 'the address');
    await checkNoSidewaysScroll(page);
    await page.reload();
    await page.getByText('is good since').waitFor();
    await page.getByRole('button', { name: 'End it' }).click();
    await page.getByText('can be given a secret address').waitFor();
    assert.equal((await fetch(address)).status, 404);
    await close(page);
  } finally {
    await world.changeGarden(text => text.replace('[access]\nreads = "signed_in"\n', ''));
  }
});

test('an order is confirmed on the page as soon as it is given', async t => {
  const page = await open();
  const ms = [];
  for (let i = 0; i < 5; ++i) {
    await zone(page, 'Back lawn').getByRole('button', { name: 'I see…' }).click();
    ms.push(
      await page.evaluate(async () => {
        const said = document.getElementById('said');
        const button = [...document.querySelectorAll('#zone-back button')].find(
          one => one.textContent === 'Nothing to see yet',
        );
        const begun = performance.now();
        button.click();
        while (!said.textContent.startsWith('Noted')) await new Promise(requestAnimationFrame);
        return performance.now() - begun;
      }),
    );
    await page.evaluate(() => (document.getElementById('said').textContent = ''));
  }
  t.diagnostic(`confirmed after ${ms.map(one => one.toFixed(0)).join(', ')} ms`);
  await close(page);
});

test('a first visit loads at most 150 kB, and asks at once for all that its first zone needs', async t => {
  const context = await browser.newContext({ viewport: kPhone });
  const page = await context.newPage();
  const cdp = await context.newCDPSession(page);
  let bytes = 0; // as they went over the wire, heads too
  const asked = []; // by whom, for what, in this order
  await cdp.send('Network.enable');
  cdp.on('Network.requestWillBeSent', ({ request, initiator }) =>
    asked.push(`${initiator.type} ${request.url.replace(world.url, '')}`),
  );
  cdp.on('Network.dataReceived', data => (bytes += data.encodedDataLength));
  await cdp.send('Emulation.setCPUThrottlingRate', { rate: 6 });
  await page.addInitScript(() => {
    // What had arrived when the first zone stood with its buttons, and how much had been built; and
    // when the browser was through with what it had to do.
    const look = () => {
      if (globalThis.first || !document.querySelector('.zone .actions button')) return;
      const now = () => ({
        ms: performance.now(),
        arrived: performance.getEntriesByType('resource').map(one => new URL(one.name).pathname),
        elements: document.getElementsByTagName('*').length,
        drawn: document.querySelectorAll('.zone svg *').length,
      });
      globalThis.first = now();
      requestAnimationFrame(() => setTimeout(() => (globalThis.ready = now())));
    };
    new MutationObserver(look).observe(document, { childList: true, subtree: true });
    globalThis.longest = 0;
    const tasks = list => {
      for (const task of list.getEntries())
        globalThis.longest = Math.max(globalThis.longest, task.duration);
    };
    new PerformanceObserver(tasks).observe({ type: 'longtask', buffered: true });
  });
  await page.goto(world.url);
  while (!(await page.evaluate(() => globalThis.ready))) await page.waitForTimeout(50);
  await page.getByRole('button', { name: 'Water…' }).first().click();
  await page.getByRole('button', { name: /^Water \d+ min$/ }).first().waitFor();
  await page.locator('.zone svg .slab').first().waitFor();
  await page.waitForTimeout(500); // whatever else is still to come
  const { first, ready, longest } = await page.evaluate(() => ({
    first: globalThis.first,
    ready: globalThis.ready,
    longest: globalThis.longest,
  }));
  t.diagnostic(`${asked.length} files, ${(bytes / 1e3).toFixed(1)} kB over the wire`);
  t.diagnostic(
    `takes a thumb after ${ready.ms.toFixed(0)} ms with the processor slowed down six times; the ` +
      `longest task took ${longest.toFixed(0)} ms, ${first.elements} elements stood`,
  );
  assert.ok(bytes > 10e3 && bytes <= 150e3, `${bytes} bytes`);
  // The page itself asks for all that the first zone needs: nothing has to arrive to ask for more.
  const needed = ['/app.css', '/app.js', '/api/v1/status'];
  assert.deepEqual(first.arrived.filter(path => !needed.includes(path)), []);
  for (const path of needed)
    assert.deepEqual(asked.filter(line => line.endsWith(path)), [`parser ${path}`]);
  // The picture and the other zones come later, and of its panels those that are opened.
  assert.ok(first.elements < 140, `${first.elements} elements`);
  assert.equal(first.drawn, 0);
  assert.equal(ready.drawn, 0, 'a thumb goes before the picture');
  await context.close();
});

test('times are those of the garden, wherever the phone is', async () => {
  await world.changeGarden(text => text.replace('"Etc/UTC"', '"America/St_Johns"'));
  try {
    const context = await browser.newContext({ viewport: kPhone, timezoneId: 'Asia/Tokyo' });
    const page = await context.newPage();
    await page.goto(world.url);
    const { time } = await world.get('/api/v1/status');
    const there = ms =>
      new Intl.DateTimeFormat('en-GB', {
        ...{ timeZone: 'America/St_Johns', hour: '2-digit', minute: '2-digit', hourCycle: 'h23' },
      }).format(ms);
    const near = [-1, 0, 1, 2].map(min => `as of ${there(Date.parse(time) + min * 60e3)}`);
    await page.locator('#asof').filter({ hasText: /as of/ }).waitFor();
    const told = await page.locator('#asof').textContent();
    assert.ok(near.includes(told), `${told}, not one of ${near.join(', ')}`);
    await context.close();
  } finally {
    await world.changeGarden(text => text.replace('"America/St_Johns"', '"Etc/UTC"'));
  }
});
