/** The reference page: finding a calculation, and running one with arguments of one's own. */
import '../ui/tokens.css';
import '../ui/base.css';
import './reference.css';
import { plainJson } from './plain-json.ts';

const filter = document.querySelector<HTMLInputElement>('#filter')!;
const found = document.querySelector<HTMLElement>('#found')!;
const calculations = [...document.querySelectorAll<HTMLDetailsElement>('details.calculation')];
const groups = [...document.querySelectorAll<HTMLElement>('section.group')];
const contents = document.querySelector<HTMLElement>('.contents')!;
/** Over-dispersed and overdispersed are one word to whoever looks for it. */
const spelled = (text: string): string => text.toLowerCase().replace(/(?<=\w{3})-(?=\w)/g, '');
const searched = calculations.map((one) => spelled(one.dataset.words!));
const wholeWords = calculations.map((one) => new Set(spelled(one.dataset.words!).split(/[^\p{L}\p{N}]+/u)));
/** One letter alone is a word of its own, as in "p chart": it is in nearly every longer one. */
const holds = (place: number, word: string): boolean =>
  word.length === 1 ? wholeWords[place]!.has(word) : searched[place]!.includes(word);

function showFound(): void {
  const words = spelled(filter.value).split(/\s+/).filter(Boolean);
  // What was found stands right below the field.
  contents.hidden = words.length > 0;
  let count = 0;
  calculations.forEach((one, place) => {
    one.hidden = !words.every((word) => holds(place, word));
    if (!one.hidden) count += 1;
  });
  for (const group of groups)
    group.hidden = group.querySelector('details.calculation:not([hidden])') === null;
  found.textContent =
    count === 0
      ? 'No calculation has these words. Try fewer.'
      : `${count} ${count === 1 ? 'calculation' : 'calculations'}`;
}

/** Opens the calculation that the address names. */
function openNamed(): void {
  const named = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!(named instanceof HTMLDetailsElement)) return;
  named.open = true;
  named.hidden = false;
  named.scrollIntoView();
  named.querySelector('summary')!.focus();
}

filter.addEventListener('input', showFound);
filter.addEventListener('keydown', (event) => {
  const left = calculations.filter((one) => !one.hidden);
  const written = filter.value.trim().toLowerCase();
  // A name that begins as written is meant before one that only holds the words.
  const first = left.find(({ id }) => id.toLowerCase().startsWith(written)) ?? left[0];
  if (event.key === 'Enter' && first !== undefined) {
    event.preventDefault();
    first.open = true;
    first.querySelector('summary')!.focus();
  }
});
document.addEventListener('keydown', (event) => {
  const writing = event.target instanceof HTMLElement && event.target.matches('input, textarea');
  if (event.key !== '/' || writing || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  filter.focus();
  filter.select();
});
addEventListener('hashchange', openNamed);

interface Refusal {
  readonly title: string;
  readonly detail: string;
}

async function run(form: HTMLFormElement): Promise<void> {
  const shown = form.querySelector<HTMLElement>('output')!;
  const show = (kind: 'fine' | 'ask', heading: string, text: string) => {
    const words = document.createElement('p');
    words.textContent = heading;
    const answer = document.createElement('pre');
    answer.textContent = text;
    answer.tabIndex = 0;
    answer.setAttribute('role', 'region');
    answer.setAttribute('aria-label', heading);
    shown.className = `notice ${kind}`;
    shown.replaceChildren(words, answer);
  };
  try {
    const began = performance.now();
    const response = await fetch(form.action, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: form.querySelector('textarea')!.value,
    });
    const answer: unknown = await response.json();
    const took = `${Math.max(1, Math.round(performance.now() - began))} ms`;
    if (response.ok) show('fine', `Result, after ${took}`, plainJson(answer));
    else show('ask', (answer as Refusal).title, (answer as Refusal).detail);
  } catch {
    show('ask', 'No answer', 'The server cannot be reached. Check that it is running, then run again.');
  }
}

for (const form of document.querySelectorAll<HTMLFormElement>('form.run')) {
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    void run(form);
  });
  form.querySelector('textarea')!.addEventListener('keydown', (event) => {
    if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) form.requestSubmit();
  });
}

openNamed();
