// How the page writes numbers: with the minus of print, and none before what rounds to nothing.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';

const source = name => readFileSync(join(process.env.FIRSTMOW_PAGE, name), 'utf8');
const asModule = text => `data:text/javascript,${encodeURIComponent(text)}`;
const words = await import(
  asModule(source('words.js').replace("'/clock.js'", JSON.stringify(asModule(source('clock.js')))))
);

test('a minus is the one of print, and nothing is never less than nothing', () => {
  words.setUnits('metric');
  assert.equal(words.kpa(-104.4), '−104\u00a0kPa');
  assert.equal(words.kpa(-9.94), '−9.9\u00a0kPa');
  assert.equal(words.kpa(-9.96), '−10\u00a0kPa');
  assert.equal(words.kpa(-0.04), '0.0\u00a0kPa');
  assert.equal(words.depth(-0.04), '0.0\u00a0mm');
  assert.equal(words.depth(-0.06), '−0.1\u00a0mm');
  assert.equal(words.depth(4), '4.0\u00a0mm');
  assert.equal(words.temperature(-0.4), '0 °C');
  assert.equal(words.temperature(-3), '−3 °C');
  assert.equal(words.degrees(-3.6), '−4');
  words.setUnits('us');
  assert.equal(words.depth(-0.1), '0.00\u00a0in');
  assert.equal(words.depth(-2.54), '−0.10\u00a0in');
  assert.equal(words.temperature(-20), '−4 °F');
  words.setUnits('metric');
});

test('the edges of thin layers are told apart', () => {
  words.setUnits('metric');
  assert.deepEqual([0, 0.5, 1, 1.43, 4.72, 150].map(words.layerEdge), [
    ...['0 mm', '0.5 mm', '1 mm', '1.4 mm', '4.7 mm', '150 mm'],
  ]);
  words.setUnits('us');
  assert.deepEqual([0, 0.5, 1, 38.1].map(words.layerEdge), ['0 in', '0.02 in', '0.04 in', '1.5 in']);
  words.setUnits('metric');
});

test("a sentence of the daemon's plain letters is set the same way", () => {
  assert.equal(
    words.sentenceOf('Down to -100 kPa (-3 to 8 C): 13-16 days.'),
    'Down to −100 kPa (−3 to 8 °C): 13-16 days.',
  );
});
