// Times as people read them, on the garden's own clocks. The garden tells by how much they differ
// from UTC: a browser may not know its time zone, and takes long to look one up.

const kDay = 86400e3;
const kWeekdays = ['Sunday', 'Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday'];
export const kMonths = [
  ...['January', 'February', 'March', 'April', 'May', 'June', 'July'],
  ...['August', 'September', 'October', 'November', 'December'],
];

let offsets = [{ from: 0, ms: 0 }]; // from when on, sorted; ms ahead of UTC
let twelve = false; // "1:20 pm" in place of "13:20"

// As the status has them: from, utc_offset_s.
export function setClock(told, twelveHours) {
  twelve = twelveHours;
  offsets = told.map(one => ({ from: Date.parse(one.from), ms: one.utc_offset_s * 1000 }));
}

// What the garden's clocks show, in the UTC fields of a Date.
function shown(ms) {
  let now = offsets[0];
  for (const one of offsets) if (one.from <= ms) now = one;
  return new Date(ms + (now ? now.ms : 0));
}
const two = number => String(number).padStart(2, '0');

export function clock(ms) {
  const at = shown(ms);
  const hour = at.getUTCHours();
  const minute = two(at.getUTCMinutes());
  if (!twelve) return `${two(hour)}:${minute}`;
  return `${hour % 12 || 12}:${minute} ${hour < 12 ? 'am' : 'pm'}`;
}

const dayMonthOf = at => `${at.getUTCDate()} ${kMonths[at.getUTCMonth()].slice(0, 3)}`;
const weekdayOf = at => kWeekdays[at.getUTCDay()];

// The day of an instant: "Sat 12 Sep", and "12 Sep" where room is short.
export function dayOf(ms) {
  const at = shown(ms);
  return `${weekdayOf(at).slice(0, 3)} ${dayMonthOf(at)}`;
}
export function dayMonth(ms) {
  return dayMonthOf(shown(ms));
}

// "13:20", "tomorrow 06:10" or "Wed 2 Sep 06:10", seen from `nowMs`.
export function when(ms, nowMs) {
  const day = dateOf(ms);
  const today = dateOf(nowMs);
  if (day === today) return clock(ms);
  if (day === dayBefore(today, -1)) return `tomorrow ${clock(ms)}`;
  if (day === dayBefore(today)) return `yesterday ${clock(ms)}`;
  return `${dayOf(ms)} ${clock(ms)}`;
}

// Dates as the API writes them ("2026-09-12"): of an instant, and some days before one.
export function dateOf(ms) {
  return shown(ms).toISOString().slice(0, 10);
}
export function dayBefore(date, days = 1) {
  return new Date(Date.parse(`${date}T00:00:00Z`) - days * kDay).toISOString().slice(0, 10);
}
// "Saturday 12 September", and "Sat 12 Sep".
export function dateName(date) {
  const at = new Date(`${date}T00:00:00Z`);
  return `${weekdayOf(at)} ${at.getUTCDate()} ${kMonths[at.getUTCMonth()]}`;
}
export function shortDateName(date) {
  const at = new Date(`${date}T00:00:00Z`);
  return `${weekdayOf(at).slice(0, 3)} ${dayMonthOf(at)}`;
}

// For an axis of hours.
export function localHour(ms) {
  const at = shown(ms);
  return { hour: at.getUTCHours(), minute: at.getUTCMinutes() };
}
export function hourLabel(hour) {
  if (!twelve) return two(hour);
  if (hour === 0) return '12a';
  if (hour === 12) return 'noon';
  return hour < 12 ? `${hour}a` : `${hour - 12}p`;
}

// As a field of date and time holds it ("2026-09-12T13:20"), and the instant that it means: about
// it where the clocks change.
export function fieldOf(ms) {
  return shown(ms).toISOString().slice(0, 16);
}
export function instantOf(field) {
  const wanted = Date.parse(`${field}:00Z`);
  let at = wanted;
  for (let i = 0; i < 2; ++i) at += wanted - Date.parse(`${fieldOf(at)}:00Z`);
  return at;
}
