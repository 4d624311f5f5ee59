// Cans as what they are: a row of glasses with the water that stood in them, the driest quarter
// marked by a line, a word and a pattern of dashes; another line of dashes is the mean of all.

import { make } from '/dom.js';

export function canPicture(list, readings, unit, told, takeAway) {
  const most = Math.max(...readings, 1e-9);
  const driest = new Set(told ? told.driest : []);
  const items = readings.map((reading, index) => {
    const level = make('span', { class: 'level' });
    level.style.height = `${Math.round((reading / most) * 100)}%`;
    const mean = make('span', { class: 'mean' });
    mean.hidden = !told;
    if (told) mean.style.bottom = `${Math.round((told.mean_mm / Math.max(...told.depths_mm)) * 100)}%`;
    const dry = driest.has(index);
    const button = make(
      'button',
      {
        type: 'button',
        class: dry ? 'glass driest' : 'glass',
        'aria-label': `Can ${index + 1}: ${reading} ${unit}${dry ? ', among the driest' : ''}. Take it away`,
        click: () => takeAway(index),
      },
      make('span', { class: 'tub', 'aria-hidden': 'true' }, level, mean),
      make('span', { class: 'reading', 'aria-hidden': 'true', text: String(reading) }),
      make('span', { class: 'which', 'aria-hidden': 'true', text: dry ? 'driest' : `can ${index + 1}` }),
    );
    return make('li', {}, button);
  });
  // Only what changed, so that the focus stays where it is.
  const state = JSON.stringify([readings, unit, told && told.mean_mm]);
  if (list.dataset.state === state) return;
  list.dataset.state = state;
  list.replaceChildren(...items);
}
