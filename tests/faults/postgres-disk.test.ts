/**
 * The disk of the database server is full: where its tables find no room it refuses, where its log finds none it ends
 * by itself. Nothing accepted is lost either way.
 */
import { chmodSync, closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, expect, it } from 'vitest';
import type { Problem, SampleAnswer, SampleSubmission } from '../../api/schemas.ts';
import { postgresEngine } from './engine.ts';
import { startPostgres } from './postgres-node.ts';
import { runningPlantOn, widths } from './running-plant.ts';
import { smallFileSystem } from './small-file-system.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-full-'));
// PostgreSQL runs as another user where the tests run as root.
chmodSync(folder, 0o755);
const disk = smallFileSystem(folder, 160);
if (disk === null) console.log('No full disk for PostgreSQL: this user may not mount a small file system.');
afterAll(() => {
  disk?.end();
  rmSync(folder, { recursive: true, force: true });
});

/** Writes until the disk takes nothing more. */
function fill(ballast: string): void {
  const file = openSync(ballast, 'a');
  try {
    for (const piece of [Buffer.alloc(1024 * 1024), Buffer.alloc(4096)]) {
      try {
        for (;;) if (writeSync(file, piece) < piece.length) break;
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code !== 'ENOSPC') throw error;
      }
    }
  } finally {
    closeSync(file);
  }
}

it.skipIf(disk === null)(
  'PostgreSQL on a full disk: refused in words, nothing lost, and it goes on',
  async () => {
    const postgres = await startPostgres(
      ['shared_buffers=4MB', 'min_wal_size=32MB', 'max_wal_size=32MB'],
      mkdtempSync(join(disk!.at, 'postgres-')),
    );
    const plant = await runningPlantOn(await postgresEngine(postgres));
    const acknowledged = new Map<string, SampleAnswer>();
    const refusals: Problem[] = [];
    /** Whatever is refused is refused in words; null where it was taken. */
    const send = async (sample: SampleSubmission): Promise<SampleSubmission | null> => {
      const { status, body } = await plant.request('POST', '/api/samples', sample);
      if (status === 200) {
        acknowledged.set(sample.id, body as SampleAnswer);
        return null;
      }
      expect(status, JSON.stringify(body)).toBe(503);
      refusals.push(body as Problem);
      return sample;
    };
    const sendMany = async (): Promise<SampleSubmission[]> =>
      (await Promise.all(Array.from({ length: 8 }, () => send(widths())))).filter(
        (sample) => sample !== null,
      );
    const looksOn = async (): Promise<void> => {
      const [known] = acknowledged.keys();
      for (const path of ['/api/health', '/api/floor', `/api/samples/${known}`])
        expect((await plant.request('GET', path)).status, path).toBe(200);
    };
    const ballast = join(disk!.at, 'ballast');
    expect(await sendMany()).toEqual([]);

    // The tables find no room.
    fill(ballast);
    const refused: SampleSubmission[] = [];
    for (let sent = 0; sent < 2_000 && refused.length < 20; sent += 8) refused.push(...(await sendMany()));
    expect(refused.length).toBeGreaterThanOrEqual(20);
    for (const { detail } of refusals)
      expect(detail).toMatch(/could not write \(53100\); nothing was stored\./);
    await looksOn();
    expect(postgres.ended()).toBe(false);

    rmSync(ballast);
    // The same samples are sent again, as the station does.
    for (const sample of refused) expect(await send(sample)).toBeNull();
    expect(await sendMany()).toEqual([]);

    // The log finds no room: PostgreSQL ends by itself, as its manual says, and Runtrue does not.
    fill(ballast);
    for (let waited = 0; !postgres.ended(); waited++) {
      expect(waited, 'PostgreSQL ends').toBeLessThan(1_000);
      // Something into the log, and on to a new file of it.
      await postgres
        .query(`select pg_logical_emit_message(false, 'fill', 'up'); select pg_switch_wal()`)
        .catch(() => {});
      await wait(20);
    }
    refusals.length = 0;
    const meanwhile = widths();
    expect(await send(meanwhile)).toEqual(meanwhile);
    expect(refusals[0]!.detail).toMatch(/database/);
    expect(plant.server.child.exitCode).toBeNull();

    rmSync(ballast);
    await postgres.start();
    for (let waited = 0; (await send(meanwhile)) !== null; waited++) {
      expect(waited, 'storing goes on').toBeLessThan(1_000);
      await wait(20);
    }
    expect(await sendMany()).toEqual([]);
    await looksOn();

    plant.server.kill('SIGKILL');
    await plant.server.ended;
    expect(await plant.engine.damage()).toEqual([]);
    const store = await plant.engine.open();
    expect(await store.sampleCount()).toBe(acknowledged.size);
    for (const [id, answer] of acknowledged) expect(await store.acceptedAnswer(id)).toEqual(answer);
    await store.close();
    await plant.end();
  },
  120_000,
);
