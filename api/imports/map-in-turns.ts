import { setImmediate } from 'node:timers/promises';

/** Items between two turns of other requests. */
const TURN = 256;

/** Maps a long list without keeping other requests waiting. */
export async function mapInTurns<Item, Result>(
  items: readonly Item[],
  map: (item: Item) => Result,
): Promise<Result[]> {
  const results: Result[] = [];
  for (const item of items) {
    if (results.length % TURN === TURN - 1) await setImmediate();
    results.push(map(item));
  }
  return results;
}
