import { engines } from '../package.json' with { type: 'json' };

/** One sentence where this Node.js is too old for package.json, else null. Uses nothing that an old one lacks. */
export function nodeVersionProblem(have: string): string | null {
  const needed = engines.node.replace('>=', '').split('.').map(Number);
  const parts = have.split('.').map(Number);
  for (let place = 0; place < needed.length; place += 1) {
    const difference = (parts[place] ?? 0) - (needed[place] ?? 0);
    if (difference > 0) break;
    if (difference < 0) return `Runtrue needs Node.js ${needed.join('.')} or newer; this is ${have}.`;
  }
  return null;
}
