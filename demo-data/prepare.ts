/** Gives the demo server its plant and its time. */
import { clockStartingAt } from '../api/clock.ts';
import type { Store } from '../api/store/store.ts';
import { type DemoParts, demoState, loadDemoPlant, newestTime } from './load.ts';

export const DEMO_DATABASE = 'demo.sqlite';

const say = (text: string): void => {
  process.stdout.write(`${text}\n`);
};

function refuse(text: string): never {
  process.stderr.write(`${text}\n`);
  process.exit(1);
}

/** Nobody can have entered anything yet: the server takes no request before the demo is loaded. */
export const isUnfinishedDemo = async (store: Store): Promise<boolean> =>
  (await demoState(store)) === 'incomplete';

/** Loads the demo plant into an empty database, leaves a loaded one as it is, and sets the clock of the plant. */
export async function prepareDemo(parts: DemoParts): Promise<void> {
  const state = await demoState(parts.store);
  if (state === 'other plant')
    refuse(`${DEMO_DATABASE} in the data folder holds another plant; choose another folder with DATA_DIR.`);
  if (state === 'loaded') say('The demo plant is loaded already; nothing is loaded twice.');
  else await load(parts);
  parts.setClock(clockStartingAt(await newestTime(parts.store)));
}

async function load(parts: DemoParts): Promise<void> {
  say('Loading the demo plant, Quillmere Works (made up): 41 days of samples.');
  const started = performance.now();
  const summary = await loadDemoPlant(parts, {
    onProgress: (day, samples) => {
      if (day % 7 === 6) say(`  day ${day}: ${samples} samples`);
    },
  });
  const seconds = ((performance.now() - started) / 1000).toFixed(1);
  say(
    `Loaded ${summary.samples} samples, ${summary.events} events and ${summary.alarms} alarms (${summary.openAlarms} open) in ${seconds} s.`,
  );
}
