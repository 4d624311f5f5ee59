// The garden file: what may change of it, as fields; the lines that would change, before they are
// written; and the whole text to take away where this daemon cannot write.

import { make, setText } from '/dom.js';
import { KEYS } from '/form.js';
import { garden, read } from '/garden.js';
import * as orders from '/orders.js';

const kWays = ['precipitation_rate', 'catch_cans', 'flow'];

export class FilePart {
  constructor() {
    this.file = null; // as /api/v1/garden gives it
    this.extra = []; // changes from elsewhere: a catch-can test
    this.fields = [];
    this.choice = make('select', { id: 'file-zone' });
    this.choice.addEventListener('change', () => this.showFields());
    this.ask = make('p', { class: 'quiet' });
    this.trouble = make('p', { class: 'trouble', role: 'alert' });
    this.set = make('fieldset', { class: 'fields' });
    this.look = make('button', { type: 'submit', class: 'go', text: 'Look at the change' });
    this.leave = make('button', { type: 'button', class: 'plain', text: 'Leave it as it is' });
    this.leave.addEventListener('click', () => this.load());
    this.form = make(
      'form',
      { hidden: '', novalidate: '' },
      make(
        'div',
        { class: 'row' },
        make('label', { for: 'file-zone', text: 'Of' }),
        this.choice,
      ),
      this.set,
      make('div', { class: 'row' }, this.look, this.leave),
    );
    this.form.addEventListener('submit', event => {
      event.preventDefault();
      this.preview();
    });
    this.form.addEventListener('input', () => this.marks());
    this.form.addEventListener('change', () => this.marks());
    this.draft = make('div', {
      ...{ class: 'draft', role: 'group', 'aria-label': 'The change', tabindex: '-1', hidden: '' },
    });
    this.node = make('div', {}, this.ask, this.form, this.trouble, this.draft);
  }

  update(status) {
    this.us = status.units === 'us';
    this.names = new Map(status.zones.map(zone => [zone.id, zone.name]));
    if (garden.signedIn && !this.file && !this.loading) this.load();
    if (!garden.signedIn) {
      this.form.hidden = true;
      setText(this.ask, 'What the file says is shown to who is signed in; the button is below.');
    }
  }

  async load() {
    this.loading = true;
    this.set.disabled = true; // what is typed meanwhile would be lost
    this.extra = [];
    this.closeDraft();
    setText(this.trouble, '');
    try {
      this.file = await read('/api/v1/garden');
      setText(
        this.ask,
        this.file.in_force
          ? ''
          : 'The file has been changed by hand and not been read again: what you change here brings all of it into force.',
      );
      this.form.hidden = false;
      this.showChoice();
    } catch {
      if (garden.signedIn) setText(this.ask, 'The garden file cannot be shown just now.');
    }
    this.loading = false;
    this.set.disabled = false;
  }

  showChoice() {
    const chosen = this.choice.value;
    this.choice.replaceChildren(
      make('option', { value: '', text: 'the whole garden' }),
      ...this.file.zones.map(zone =>
        make('option', { value: zone.id, text: this.names.get(zone.id) || zone.id }),
      ),
    );
    const known = this.file.zones.some(zone => zone.id === chosen);
    this.choice.value = known ? chosen : this.file.zones[0].id;
    this.showFields();
  }

  get keys() {
    const zone = this.file.zones.find(one => one.id === this.choice.value);
    return zone ? zone.keys : this.file.garden;
  }

  showFields() {
    this.closeDraft();
    this.fields = [];
    const rows = [];
    for (const [key, said] of Object.entries(this.keys)) {
      if (!this.isWanted(key)) continue;
      const how = KEYS[key];
      const id = `file-${key.replace(/\W/g, '-')}`;
      const row = make('div', { class: how.wide ? 'one span' : 'one' });
      if (said.fixed) {
        row.append(
          make('span', { class: 'label', text: how.label }),
          make('span', { text: said.toml == null ? 'not said' : said.toml }),
          make('span', { class: 'quiet', text: said.fixed }),
        );
      } else {
        const field = how.as(said, id, how, this.us);
        const hint = how.none && how.as !== KEYS.soil.as ? `when left out: ${how.none}` : '';
        row.append(make('label', { for: id, text: how.label }), field.node);
        if (hint) {
          row.append(make('p', { id: `${id}-hint`, class: 'quiet hint', text: hint }));
          field.input.setAttribute('aria-describedby', `${id}-hint`);
        }
        this.fields.push({ key, field, row });
      }
      rows.push(row);
    }
    const legend = this.choice.selectedOptions[0].textContent;
    this.set.replaceChildren(make('legend', { text: `What the file says of ${legend}`, class: 'unseen' }), ...rows);
    this.marks();
  }

  // Of the ways to say a rate the one that is taken, and the rate itself to change over to.
  isWanted(key) {
    if (!KEYS[key]) return false;
    const { keys } = this;
    if (key === 'direct_sun') return keys[key].toml != null;
    if (key === 'sun') return keys.direct_sun.toml == null;
    if (key === 'flow') return keys[key].toml != null;
    if (key === 'precipitation_rate') return keys.flow.toml == null && keys.catch_cans.toml == null;
    return true;
  }

  marks() {
    for (const { field, row } of this.fields) {
      let same = true;
      try {
        same = field.value() === undefined;
      } catch {
        same = false;
      }
      row.classList.toggle('changed', !same);
    }
    this.leave.disabled = !this.fields.some(({ row }) => row.classList.contains('changed'));
  }

  changes() {
    const zone = this.choice.value || null;
    const list = [...this.extra];
    for (const { key, field } of this.fields) {
      const value = field.value();
      if (value !== undefined) list.push({ zone, key, value });
    }
    return list;
  }

  // A catch-can test takes the place of every other word on how fast and how evenly.
  async take({ zone, notes }) {
    if (!garden.signedIn) return orders.refused({ status: 401 });
    await this.load();
    if (!this.file) return;
    this.choice.value = zone;
    this.showFields();
    const { keys } = this;
    this.extra = [...kWays, 'distribution_uniformity']
      .filter(key => key !== 'catch_cans' && keys[key].toml != null)
      .map(key => ({ zone, key, value: null }));
    this.extra.push({ zone, key: 'catch_cans', value: notes });
    this.preview();
  }

  async preview() {
    setText(this.trouble, '');
    let changes;
    try {
      changes = this.changes();
    } catch (wrong) {
      return setText(this.trouble, wrong.message);
    }
    if (changes.length === 0) return setText(this.trouble, 'Nothing has been changed yet.');
    this.look.disabled = true;
    const result = await orders.send('POST', '/api/v1/garden/preview', { changes }, this.match());
    this.look.disabled = false;
    if (!result.ok) return this.complain(result);
    this.showDraft(changes, result.answer);
  }
  match() {
    return { 'If-Match': this.file.etag };
  }

  async complain(result) {
    if (result.status === 401) return orders.refused(result);
    setText(this.trouble, `Not done: ${result.detail}`);
    if (result.status === 412) {
      const told = this.trouble.textContent;
      await this.load();
      setText(this.trouble, told);
    }
  }

  closeDraft() {
    this.draft.hidden = true;
    this.draft.replaceChildren();
    if (this.whole) URL.revokeObjectURL(this.whole);
    this.whole = '';
  }

  showDraft(changes, seen) {
    const line = one =>
      make(
        'li',
        { class: one.comes ? 'comes' : 'goes' },
        make('span', { class: 'n', text: String(one.line) }),
        make('span', { text: one.comes ? '+' : '\u2212', 'aria-label': one.comes ? 'comes' : 'goes' , role: 'img' }),
        make('span', { class: 'text', text: one.text }),
      );
    const effects = [
      ...seen.effects,
      'Every valve is closed for a moment while the garden takes it in.',
      ...seen.cautions.map(text => `Only a guess: ${text}.`),
    ];
    const write = make('button', { type: 'button', class: 'go', text: 'Write it' });
    write.addEventListener('click', () => this.write(write, changes));
    const no = make('button', { type: 'button', class: 'plain', text: 'Do not write it' });
    no.addEventListener('click', () => {
      this.extra = [];
      this.closeDraft();
      this.look.focus();
    });
    this.closeDraft();
    this.whole = URL.createObjectURL(new Blob([seen.text], { type: 'application/toml' }));
    const save = make('a', {
      class: 'button',
      download: 'garden.toml',
      href: this.whole,
      text: 'Save the changed file',
    });
    this.draft.replaceChildren(
      make('h3', { text: seen.lines.length ? 'These lines change' : 'No line changes' }),
      make('ol', { class: 'lines' }, ...seen.lines.map(line)),
      make('ul', {}, ...effects.map(text => make('li', { text }))),
      ...(seen.why_not
        ? [make('p', {}, make('strong', { text: 'It cannot be written from here. ' }), seen.why_not)]
        : []),
      make('div', { class: 'choices' }, ...(seen.why_not ? [save] : [write]), no, ...(seen.why_not ? [] : [save])),
    );
    this.draft.hidden = false;
    this.draft.focus();
  }

  async write(button, changes) {
    button.disabled = true;
    const result = await orders.send('POST', '/api/v1/garden', { changes }, this.match());
    button.disabled = false;
    if (!result.ok) {
      this.closeDraft();
      return this.complain(result);
    }
    await this.load();
    orders.tell('Written: the garden goes on with the changed file. The one before is kept beside it.');
    this.choice.focus();
  }
}
