// What every test of the page needs: a browser, its sizes, the rules of accessibility.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const axeText = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
export const kPhone = { width: 390, height: 844 };
export const kDesk = { width: 1280, height: 800 };
export const kNarrow = { width: 320, height: 640 };

export function launch() {
  return chromium.launch({
    executablePath: process.env.FIRSTMOW_CHROMIUM,
    args: [
      ...['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run'],
      ...['--disable-background-networking', '--disable-component-update', '--disable-sync'],
    ],
  });
}

export async function checkRules(page, what) {
  await page.evaluate(axeText);
  const found = await page.evaluate(() =>
    globalThis.axe.run(document, {
      runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
    }),
  );
  const bad = found.violations.filter(v => v.impact === 'serious' || v.impact === 'critical');
  assert.deepEqual(
    bad.map(v => `${what}: ${v.id}: ${v.nodes[0].html.slice(0, 120)}`),
    [],
  );
}
export async function checkNoSidewaysScroll(page) {
  const [scroll, client] = await page.evaluate(() => [
    document.documentElement.scrollWidth,
    document.documentElement.clientWidth,
  ]);
  assert.ok(scroll <= client, `the page is ${scroll} px wide on ${client} px`);
}
