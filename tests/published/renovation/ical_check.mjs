// Reads a calendar file with ical.js from the npm registry, strictly; check_calendar runs it.
// By hand: npm install ical.js, and node ical_check.mjs plan.ics, in a folder with a copy of this
// file. Prints what it read; exits 1 at the first fault.
import { readFileSync } from "node:fs";
import ICAL from "ical.js";

const bytes = readFileSync(process.argv[2]);
const text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
const fail = (what) => {
    console.error(`ical_check: ${what}`);
    process.exit(1);
};

if (!text.endsWith("\r\n")) fail("the file does not end with CRLF");
for (const line of text.slice(0, -2).split("\r\n")) {
    if (/[\r\n]/.test(line)) fail("a bare CR or LF");
    if (Buffer.byteLength(line) > 75) fail(`a line of more than 75 octets: ${line}`);
}

ICAL.design.strict = true;
const calendar = new ICAL.Component(ICAL.parse(text));
if (calendar.name !== "vcalendar") fail("no VCALENDAR");
if (calendar.getFirstPropertyValue("version") !== "2.0") fail("VERSION is not 2.0");
if (!calendar.getFirstPropertyValue("prodid")) fail("no PRODID");

const seen = new Set();
const events = calendar.getAllSubcomponents("vevent").map((part) => new ICAL.Event(part));
if (events.length === 0) fail("no event");
for (const event of events) {
    const stamp = event.component.getFirstPropertyValue("dtstamp");
    if (!event.uid || seen.has(event.uid)) fail(`UID missing or twice: ${event.uid}`);
    seen.add(event.uid);
    if (!stamp || stamp.zone !== ICAL.Timezone.utcTimezone) fail(`DTSTAMP not UTC: ${event.uid}`);
    if (!event.startDate.isDate || !event.endDate.isDate) fail(`not all-day: ${event.uid}`);
    if (event.endDate.compare(event.startDate) <= 0) fail(`ends before it starts: ${event.uid}`);
    if (!event.summary) fail(`no SUMMARY: ${event.uid}`);
}
// What is written out again must say the same.
const again = new ICAL.Component(ICAL.parse(calendar.toString()));
if (again.toString() !== calendar.toString()) fail("does not survive a round trip");
console.log(`good: ${events.length} events, first ${events[0].startDate}: ${events[0].summary}`);
