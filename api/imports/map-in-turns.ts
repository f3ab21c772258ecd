import { setImmediate } from 'node:timers/promises';

/** How long other requests wait at most for their turn, in milliseconds, when one item takes no longer. */
const TURN = 10;

/** Maps a long list without keeping other requests waiting. */
export async function mapInTurns<Item, Result>(
  items: readonly Item[],
  map: (item: Item) => Result,
): Promise<Result[]> {
  const results: Result[] = [];
  let begun = performance.now();
  for (const item of items) {
    if (performance.now() - begun > TURN) {
      await setImmediate();
      begun = performance.now();
    }
    results.push(map(item));
  }
  return results;
}
