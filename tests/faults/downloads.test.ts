/** Clients that go away in the middle of a download or an import, and servers that are killed in one. */
import { once } from 'node:events';
import { existsSync, readdirSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { ImportFile, ImportMapping, ImportProgress } from '../../api/schemas.ts';
import { models, NOMINAL, streamOf } from './plant.ts';
import { LINE, type RunningPlant, runningPlant, widths } from './running-plant.ts';

let plant: RunningPlant;
beforeAll(async () => {
  plant = await runningPlant();
  const record = { id: 'admin', name: 'Administrator', role: 'administrator' };
  const answer = await fetch(`${plant.server.address}/api/people/admin`, {
    method: 'PUT',
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'engineer' },
    body: JSON.stringify({ record }),
  });
  expect(answer.status, await answer.text()).toBe(200);
});
afterAll(() => plant.end());

/** Asks for a path and goes away after so long. */
async function askAndLeave(path: string, milliseconds: number): Promise<void> {
  const { hostname, port } = new URL(plant.server.address!);
  const socket = connect(Number(port), hostname);
  socket.on('error', () => {});
  await once(socket, 'connect');
  socket.write(`GET ${path} HTTP/1.1\r\nHost: 127.0.0.1\r\nRuntrue-Person: admin\r\n\r\n`);
  await wait(milliseconds);
  socket.resetAndDestroy();
}

const takeBackup = (): Promise<Response> =>
  fetch(`${plant.server.address}/api/backup`, { headers: { 'Runtrue-Person': 'admin' } });

it('a backup that nobody waits for is thrown away, and the next one is taken', async () => {
  const folder = join(plant.engine.folder, 'backups');
  for (const milliseconds of [1, 50, 400, 1500]) {
    await askAndLeave('/api/backup', milliseconds);
    for (let waited = 0; ; waited++) {
      const response = await takeBackup();
      if (response.status === 200) {
        expect((await response.arrayBuffer()).byteLength).toBeGreaterThan(10_000);
        break;
      }
      expect(response.status).toBe(409);
      await response.arrayBuffer();
      expect(waited).toBeLessThan(300);
      await wait(100);
    }
  }
  for (let waited = 0; existsSync(folder) && readdirSync(folder).length > 0; waited++) {
    expect(waited).toBeLessThan(300);
    await wait(100);
  }
});

it('exports that are cut off disturb nobody', async () => {
  await Promise.all(Array.from({ length: 100 }, () => plant.request('POST', '/api/samples', widths())));
  const path = `/api/export.csv?streamId=${streamOf(LINE)}&modelId=${models[0]}`;
  await Promise.all(Array.from({ length: 20 }, (_, index) => askAndLeave(path, 2 * index)));
  expect((await plant.request('POST', '/api/samples', widths())).status).toBe(200);
});

/** Uploads a file; gives the request that stores it. */
async function uploaded(lines: readonly string[]): Promise<['POST', string, ImportMapping]> {
  const upload = await fetch(`${plant.server.address}/api/imports`, {
    method: 'POST',
    headers: { 'Runtrue-Person': 'tech', 'Content-Type': 'text/csv', 'File-Name': 'gauge.csv' },
    body: ['at,a,b,c,d,e', ...lines].join('\n'),
  });
  const { id, shape } = (await upload.json()) as ImportFile;
  const mapping: ImportMapping = {
    shape,
    streamId: streamOf(LINE),
    modelId: models[0],
    unit: 'mm',
    layout: { form: 'wide', valueColumns: [1, 2, 3, 4, 5] },
    time: { from: 'column', column: 0, format: 'iso' },
    lotColumn: null,
  };
  return ['POST', `/api/imports/${id}/commit`, mapping];
}

it('an import is stored whole or not at all, whenever the server is killed, and its file is still there', async () => {
  const rows = 500;
  const begin = Date.now() - 40 * 24 * 3_600_000;
  const count = async (): Promise<number> =>
    ((await plant.request('GET', '/api/health')).body as { samples: number }).samples;
  for (const milliseconds of [20, 200]) {
    const lines = Array.from({ length: rows }, (_, row) => {
      const at = new Date(begin + row * 60_000 + milliseconds).toISOString();
      return `${at},${Array.from({ length: 5 }, (_, piece) => (NOMINAL + ((row + piece) % 9) * 0.05 - 0.2).toFixed(2)).join(',')}`;
    });
    const before = await count();
    const first = await uploaded(lines);
    const committing = plant.request(...first).catch(() => null);
    await wait(milliseconds);
    await plant.restart();
    await committing;
    const progress = async (): Promise<ImportProgress> =>
      (await plant.request('GET', first[1].replace('/commit', ''))).body as ImportProgress;
    // The kill came before the commit, in it or after it.
    const { state } = await progress();
    expect(['uploaded', 'failed', 'done']).toContain(state);
    expect((await count()) - before).toBe(state === 'done' ? rows : 0);
    const { status, body } = await plant.request(...first);
    expect(status, JSON.stringify(body)).toBe(state === 'done' ? 409 : 200);
    for (let waited = 0; (await progress()).state === 'running'; waited++) {
      expect(waited).toBeLessThan(600);
      await wait(100);
    }
    expect(await progress()).toMatchObject({ state: 'done', problem: null });
    expect((await count()) - before).toBe(rows);
  }
  plant.server.kill('SIGKILL');
  await plant.server.ended;
  expect(await plant.engine.damage()).toEqual([]);
});
