// The calendar's secret address, for who is signed in: a calendar program cannot sign in, so its
// address is its key. It is shown when it is made and never again.

import { dayOf } from '/clock.js';
import { make, setText } from '/dom.js';
import { read } from '/garden.js';

const kPath = '/api/v1/calendar-address';

async function ask(method) {
  try {
    const reply = await fetch(kPath, { method });
    const answer = await reply.json();
    return reply.ok ? answer : { wrong: answer.detail };
  } catch {
    return { wrong: 'the garden does not answer' };
  }
}

// Fills `node`, which stays empty for who may not order.
export async function showFeed(node) {
  let now;
  try {
    if (!(await read('/api/v1/session')).signed_in) return;
    now = await read(kPath);
  } catch {
    return;
  }
  const told = make('p', { role: 'status', id: 'feed-told' });
  const address = make('input', {
    type: 'text',
    readonly: '',
    hidden: '',
    class: 'address',
    'aria-label': 'Secret address of the calendar',
  });
  address.addEventListener('focus', () => address.select());
  const button = text => make('button', { type: 'button', class: 'plain', text });
  const fresh = button('Make a secret address');
  const end = button('End it');
  const tell = () => {
    end.hidden = !now.made;
    setText(fresh, now.made ? 'Make another, and end this one' : 'Make a secret address');
    setText(
      told,
      now.path
        ? 'Give it to your calendar program now: it is not shown again. Whoever knows it sees these dates, and nothing else.'
        : now.made
          ? `A secret address for calendar programs is good since ${dayOf(Date.parse(now.made))}.`
          : 'A calendar program that cannot sign in can be given a secret address.',
    );
    address.hidden = !now.path;
    if (now.path) address.value = location.origin + now.path;
  };
  const act = (which, method) => async () => {
    which.disabled = true;
    const answer = await ask(method);
    which.disabled = false;
    if (answer.wrong) return setText(told, `Not done: ${answer.wrong}.`);
    now = answer;
    tell();
    if (now.path) address.focus();
  };
  fresh.addEventListener('click', act(fresh, 'POST'));
  end.addEventListener('click', act(end, 'DELETE'));
  tell();
  node.replaceChildren(told, address, make('p', { class: 'pair' }, fresh, end));
}
