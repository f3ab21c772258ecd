/** A server that is told to stop finishes what it has begun. */
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, expect, it } from 'vitest';
import type { SampleAnswer } from '../../api/schemas.ts';
import { openBoard } from './board.ts';
import { type RunningPlant, runningPlant, widths } from './running-plant.ts';

const plants: RunningPlant[] = [];
afterAll(async () => {
  for (const plant of plants) await plant.end();
});

it.each(['SIGTERM', 'SIGINT'] as const)('%s: what was accepted is answered and kept', async (signal) => {
  const plant = await runningPlant();
  plants.push(plant);
  const board = await openBoard(plant.server.address!);
  const acknowledged = new Map<string, SampleAnswer>();
  const clients = Array.from({ length: 30 }, async () => {
    for (;;) {
      const sample = widths();
      try {
        const { status, body } = await plant.request('POST', '/api/samples', sample);
        if (status === 200) acknowledged.set(sample.id, body as SampleAnswer);
        else expect(status, JSON.stringify(body)).toBe(503);
      } catch (error) {
        if (!(error instanceof TypeError)) throw error;
        // Not taken any more.
        return;
      }
    }
  });
  while (acknowledged.size < 60) await wait(5);
  plant.server.kill(signal);
  await Promise.all(clients);
  const { code } = await plant.server.ended;
  expect(code).toBe(0);
  board.close();

  expect(await plant.engine.damage()).toEqual([]);
  const store = await plant.engine.open();
  for (const [id, answer] of acknowledged) expect(await store.acceptedAnswer(id)).toEqual(answer);
  // Nothing was stored whose answer was held back: the server waited until it was given.
  expect(await store.sampleCount()).toBe(acknowledged.size);
  await store.close();
});
