// The garden's calendar file as a list: date, summary, description of each event (RFC 5545).

const unescape = text =>
  text.replace(/\\([\\;,nN])/g, (_, c) => (c === 'n' || c === 'N' ? ' ' : c));

export function dueFrom(text) {
  const lines = text.replace(/\r?\n[ \t]/g, '').split(/\r?\n/);
  const events = [];
  let event = null;
  for (const line of lines) {
    const colon = line.indexOf(':');
    const name = line.slice(0, colon).split(';')[0];
    const value = line.slice(colon + 1);
    if (line === 'BEGIN:VEVENT') event = { summary: '', description: '' };
    else if (line === 'END:VEVENT') {
      if (event && event.date) events.push(event);
      event = null;
    } else if (!event) continue;
    else if (name === 'SUMMARY') event.summary = unescape(value);
    else if (name === 'DESCRIPTION') event.description = unescape(value);
    else if (name === 'DTSTART' || name === 'DTEND') {
      const [, y, m, d] = /^(\d{4})(\d{2})(\d{2})/.exec(value) || [];
      if (!y) continue;
      const at = Date.parse(`${y}-${m}-${d}T12:00:00Z`);
      if (name === 'DTSTART') {
        event.date = `${y}-${m}-${d}`;
        event.end = event.end || at;
      } else event.end = at;
    }
  }
  return events.sort((a, b) => (a.date < b.date ? -1 : a.date > b.date ? 1 : 0));
}
