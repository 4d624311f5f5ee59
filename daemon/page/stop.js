// "Stop all water" on the pages that have nothing else to order: reachable at once from anywhere.

import { make, setText } from '/dom.js';
import { garden, read } from '/garden.js';
import * as orders from '/orders.js';

const kLookMs = 500;
const kLookTimes = 40;

// What the valves say of it; the page of now hears of that by itself, these ask.
async function lookAtValves() {
  for (let i = 0; i < kLookTimes; ++i) {
    garden.status = await read('/api/v1/status').catch(() => garden.status);
    orders.lookForConfirmation();
    if (garden.status && garden.status.zones.every(zone => zone.valve === 'closed')) return;
    await new Promise(resolve => setTimeout(resolve, kLookMs));
  }
}

export function putStopInReach() {
  const said = make('p', { id: 'said', role: 'status' });
  const stop = make('button', { type: 'button', class: 'stop', text: 'Stop all water' });
  stop.addEventListener('click', async () => {
    stop.disabled = true;
    if (await orders.stopAll()) await lookAtValves();
    stop.disabled = false;
  });
  orders.setVoice(
    (text, wrong = false) => {
      setText(said, text);
      said.classList.toggle('wrong', wrong);
    },
    () => location.assign('/?sign-in'),
  );
  document.body.append(
    make(
      'div',
      { class: 'bar', role: 'region', 'aria-label': 'At once' },
      said,
      make('div', { class: 'bar-row' }, stop),
    ),
  );
}
