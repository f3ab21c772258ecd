/** An attack drawn from the server's own OpenAPI document. Needs the build, for the calculations. */
import { randomInt } from 'node:crypto';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { answerClientErrors } from '../../api/http/client-errors.ts';
import { attack, growthOf } from './attack.ts';
import { operationsOf } from './operations.ts';
import { appUnderAttack, inProcess, sendTo } from './targets.ts';

const asked = process.env.PROPERTY_SEED ?? '20261125';
const seed = asked === 'random' ? randomInt(2 ** 31) : Number(asked);
const built = new URL('../../dist', import.meta.url).pathname;

let app: Awaited<ReturnType<typeof appUnderAttack>>;
beforeAll(async () => {
  app = await appUnderAttack(built);
});
afterAll(() => app.close());

describe('an attack drawn from the OpenAPI document', () => {
  it('finds no unforeseen error, no answer outside its schema, no refusal without its field', async () => {
    const { faults, statuses, reached, heap } = await attack(inProcess(app), { requests: 2100, seed });
    expect(faults).toEqual([]);
    // The attack is worth something only if much of it gets behind the first check.
    const operations = operationsOf(app.document);
    expect(reached.size).toBeGreaterThan(operations.length / 2);
    expect(statuses.get(200)).toBeGreaterThan(250);
    expect(statuses.get(422)).toBeGreaterThan(250);
    expect(growthOf([...heap, heap.at(-1)!, heap.at(-1)!])).toBeLessThan(32 * 1024 * 1024);
  });

  it('finds none either through a socket', async () => {
    const server = createAdaptorServer({ fetch: app.parts.app.fetch }) as Server;
    answerClientErrors(server, app.parts.log);
    await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
    try {
      const send = sendTo((server.address() as AddressInfo).port);
      const result = await attack({ ...inProcess(app), send }, { requests: 300, seed: seed + 1 });
      expect(result.faults).toEqual([]);
      expect(result.statuses.get(200)).toBeGreaterThan(30);
    } finally {
      server.closeAllConnections();
      server.close();
    }
  });
});
