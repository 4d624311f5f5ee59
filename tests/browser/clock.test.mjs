// The page's own reckoning of times, beside the one of the language (Intl) as judge.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';

const text = readFileSync(join(process.env.FIRSTMOW_PAGE, 'clock.js'), 'utf8');
const page = await import(`data:text/javascript,${encodeURIComponent(text)}`);

const kHour = 3600e3;
const kDay = 24 * kHour;
const kFrom = Date.UTC(2024, 0, 1);
const kTo = Date.UTC(2027, 6, 1);
const kZones = [
  ...['Etc/UTC', 'America/Chicago', 'America/St_Johns', 'Europe/Berlin', 'Asia/Kathmandu'],
  ...['Australia/Lord_Howe', 'Pacific/Kiritimati', 'America/Sao_Paulo'],
];

// What a clock there shows, field by field.
function judge(zone) {
  const format = new Intl.DateTimeFormat('en-GB', {
    ...{ timeZone: zone, weekday: 'long', hourCycle: 'h23' },
    ...{ year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit' },
  });
  const month = new Intl.DateTimeFormat('en-GB', { timeZone: zone, month: 'long' });
  return ms => {
    const parts = format.formatToParts(ms).map(part => [part.type, part.value]);
    return { ...Object.fromEntries(parts), monthName: month.format(ms) };
  };
}
// The offsets as the status has them, found by trying each quarter of an hour.
function offsetsOf(shows) {
  const offset = ms => {
    const at = shows(ms);
    return (Date.parse(`${at.year}-${at.month}-${at.day}T${at.hour}:${at.minute}:00Z`) - ms) / 1000;
  };
  const told = [{ from: '1990-01-01T00:00:00Z', utc_offset_s: offset(kFrom) }];
  for (let day = kFrom; day < kTo; day += kDay) {
    if (offset(day) === offset(day + kDay)) continue;
    let ms = day;
    while (offset(ms) === offset(day)) ms += kHour / 4;
    told.push({ from: new Date(ms).toISOString(), utc_offset_s: offset(ms) });
  }
  return told;
}

test('times read as the clocks of the garden show them', () => {
  for (const zone of kZones) {
    const shows = judge(zone);
    const offsets = offsetsOf(shows);
    page.setClock(offsets, false);
    for (let ms = kFrom; ms < kTo; ms += 11.25 * kHour) {
      const at = shows(ms);
      const date = `${at.year}-${at.month}-${at.day}`;
      const day = `${at.weekday.slice(0, 3)} ${Number(at.day)} ${at.monthName.slice(0, 3)}`;
      assert.equal(page.clock(ms), `${at.hour}:${at.minute}`, zone);
      assert.equal(page.dateOf(ms), date);
      assert.equal(page.dayOf(ms), day);
      assert.equal(page.shortDateName(date), day);
      assert.equal(page.dateName(date), `${at.weekday} ${Number(at.day)} ${at.monthName}`);
      assert.equal(page.fieldOf(ms), `${date}T${at.hour}:${at.minute}`);
      assert.equal(page.fieldOf(page.instantOf(page.fieldOf(ms))), page.fieldOf(ms));
      assert.deepEqual(page.localHour(ms), { hour: Number(at.hour), minute: Number(at.minute) });
    }
  }
});

test('what is near is told by its nearness, also where a day has 23 or 25 hours', () => {
  page.setClock(
    [
      { from: '2026-03-08T08:00:00Z', utc_offset_s: -5 * 3600 },
      { from: '2026-11-01T07:00:00Z', utc_offset_s: -6 * 3600 },
    ],
    false,
  );
  const at = text => Date.parse(`2026-${text}:00Z`);
  const now = at('10-31T17:00'); // noon of the day before the long one
  assert.equal(page.when(at('11-01T04:30'), now), '23:30');
  assert.equal(page.when(at('11-01T05:00'), now), 'tomorrow 00:00');
  assert.equal(page.when(at('11-02T05:59'), now), 'tomorrow 23:59');
  assert.equal(page.when(at('11-02T06:00'), now), 'Mon 2 Nov 00:00');
  assert.equal(page.when(at('10-31T04:59'), now), 'yesterday 23:59');
  assert.equal(page.dayBefore('2026-03-01'), '2026-02-28');
  assert.equal(page.dayBefore('2026-12-31', -1), '2027-01-01');
});

test('twelve hours, where they are wished', () => {
  page.setClock([{ from: '2026-01-01T00:00:00Z', utc_offset_s: 0 }], true);
  const at = text => Date.parse(`2026-09-12T${text}:00Z`);
  assert.equal(page.clock(at('00:05')), '12:05 am');
  assert.equal(page.clock(at('09:30')), '9:30 am');
  assert.equal(page.clock(at('12:00')), '12:00 pm');
  assert.equal(page.clock(at('23:59')), '11:59 pm');
  assert.deepEqual([0, 6, 12, 18].map(page.hourLabel), ['12a', '6a', 'noon', '6p']);
});
