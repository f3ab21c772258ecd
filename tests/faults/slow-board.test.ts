/** A board that falls behind is cut off, comes back as a page does, and then shows everything. */
import { setTimeout as wait } from 'node:timers/promises';
import { expect, it } from 'vitest';
import type { Review } from '../../api/schemas.ts';
import { openBoard } from './board.ts';
import { passingFolder } from './engine.ts';
import { models, streamOf } from './plant.ts';
import { LINE, runningPlant, widths } from './running-plant.ts';
import { openSlowBoard } from './slow-board.ts';

/** More changes than may wait for one reader (event-stream.ts): 256 kB, of a hundred bytes each. */
const MOST = 4_000;
const AT_ONCE = 64;

it('a board that does not read is cut off, the others hear everything, and it misses nothing once it is back', async (test) => {
  const plant = await runningPlant({}, passingFolder());
  const slow = await openSlowBoard(plant.server.address!);
  if (slow === null) {
    await plant.end();
    return test.skip('no perl on this machine, which Node.js needs for small socket buffers');
  }
  const quick = await openBoard(plant.server.address!, true);
  const readers = async (): Promise<number> => {
    const text = await (await fetch(`${plant.server.address}/metrics`)).text();
    return Number(/^runtrue_event_stream_readers (\d+)$/m.exec(text)![1]);
  };
  const sent: string[] = [];
  const sendMany = async (): Promise<void> => {
    const samples = Array.from({ length: AT_ONCE }, () => widths());
    const answers = await Promise.all(samples.map((sample) => plant.request('POST', '/api/samples', sample)));
    for (const { status, body } of answers) expect(status, JSON.stringify(body)).toBe(200);
    sent.push(...samples.map(({ id }) => id));
  };
  expect(await readers()).toBe(2);
  while (sent.length < MOST && (await readers()) === 2) await sendMany();
  expect(await readers()).toBe(1);
  await sendMany();

  // What it still hears ends before the last changes; the connection has ended.
  const heard = await slow.readToTheEnd();
  const missed = sent.filter((id) => !heard.includes(id));
  expect(missed.length).toBeGreaterThanOrEqual(AT_ONCE);
  const hears = async (board: typeof quick, ids: readonly string[]): Promise<void> => {
    for (let waited = 0; ; waited++) {
      const text = board.lines().join('\n');
      if (ids.every((id) => text.includes(id))) return;
      expect(waited, 'a board hears of every sample').toBeLessThan(1_500);
      await wait(20);
    }
  };
  await hears(quick, sent);

  // It comes back as a page does: it listens again, and then fetches what it shows.
  const back = await openBoard(plant.server.address!, true);
  const shown = 8 * AT_ONCE;
  const path = `/api/review?streamId=${streamOf(LINE)}&modelId=${models[0]}&limit=${shown}`;
  const newest = ((await plant.request('GET', path)).body as Review).samples.map(({ id }) => id);
  expect(new Set(newest)).toEqual(new Set(sent.slice(-shown)));
  expect(missed).toContain(newest.at(-1));
  const health = await plant.request('GET', '/api/health');
  expect(health.body).toMatchObject({ samples: sent.length });
  const before = sent.length;
  await sendMany();
  await hears(back, sent.slice(before));
  for (const board of [quick, back]) board.close();
  await plant.end();
}, 180_000);
