/** A disk that is full or may not be written: nothing accepted is lost, and the server says in words what it cannot do. */
import { execFileSync } from 'node:child_process';
import { chmodSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, describe, expect, it } from 'vitest';
import type { Problem, SampleAnswer } from '../../api/schemas.ts';
import { openBoard } from './board.ts';
import { passingFolder } from './engine.ts';
import { type RunningPlant, runningPlant, widths } from './running-plant.ts';
import { startProcess } from './server-process.ts';
import { smallFileSystem, works } from './small-file-system.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-disk-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const mounted = smallFileSystem(folder, 3);
const readOnly = smallFileSystem(folder, 3);
afterAll(() => {
  mounted?.end();
  readOnly?.end();
});
const canLiftLimits = works('prlimit', '--version');

/** Writes until nothing more is taken, then frees the space: every answer that was given must stay true. */
async function fillAndFree(plant: RunningPlant, free: () => void): Promise<void> {
  const acknowledged = new Map<string, SampleAnswer>();
  const send = async (sample = widths()) => {
    const { status, body } = await plant.request('POST', '/api/samples', sample);
    if (status === 200) acknowledged.set(sample.id, body as SampleAnswer);
    return { status, body, sample };
  };
  let refused: Awaited<ReturnType<typeof send>> | null = null;
  for (let sent = 0; sent < 20_000 && refused === null; sent++) {
    const sending = await Promise.all(Array.from({ length: 8 }, () => send()));
    refused = sending.find(({ status }) => status !== 200) ?? null;
  }
  expect(refused?.status).toBe(503);
  expect((refused!.body as Problem).detail).toMatch(/could not write .* nothing was stored\. .*disk/);
  expect(acknowledged.size).toBeGreaterThan(20);
  // Looking goes on, and so does saying no, though a sample alone may still find room where eight at once did not.
  for (let again = 0, refusals = 0; refusals < 20; again++) {
    expect(again).toBeLessThan(5_000);
    const { status } = await send();
    if (status !== 200) {
      expect(status).toBe(503);
      refusals += 1;
    }
  }
  expect((await plant.request('GET', '/api/health')).status).toBe(200);
  expect((await plant.request('GET', '/api/floor')).status).toBe(200);
  const [known] = acknowledged.keys();
  expect((await plant.request('GET', `/api/samples/${known}`)).status).toBe(200);

  free();
  // The same sample is sent again, as the station does.
  expect((await send(refused!.sample)).status).toBe(200);
  for (let more = 0; more < 20; more++) expect((await send()).status).toBe(200);

  plant.server.kill('SIGKILL');
  await plant.server.ended;
  expect(await plant.engine.damage()).toEqual([]);
  const store = await plant.engine.open();
  expect(await store.sampleCount()).toBe(acknowledged.size);
  for (const [id, answer] of acknowledged) expect(await store.acceptedAnswer(id)).toEqual(answer);
  await store.close();
}

describe('a full disk', () => {
  it.skipIf(mounted === null)('of a small file system', async () => {
    const ballast = join(mounted!.at, 'ballast');
    writeFileSync(ballast, Buffer.alloc(1_500_000));
    const data = join(mounted!.at, 'data');
    const plant = await runningPlant({}, data);
    await fillAndFree(plant, () => rmSync(ballast));
    await plant.end();
  });

  it.skipIf(!canLiftLimits)('as a limit of file sizes', async () => {
    const plant = await runningPlant({ shell: 'ulimit -Sf 1000; exec "$@"' }, passingFolder());
    await fillAndFree(plant, () => {
      execFileSync('prlimit', ['--pid', String(plant.server.pid), '--fsize=unlimited:unlimited']);
    });
    await plant.end();
  });

  it('where the server is started: it says so and ends', async () => {
    const server = startProcess({
      shell: 'ulimit -Sf 8; exec "$@"',
      environment: { DATA_DIR: mkdtempSync(join(folder, 'full-')) },
    });
    const { code } = await server.ended;
    expect(server.printed()).toMatch(/^Cannot open .*plant\.sqlite: .+$/m);
    expect(server.printed()).not.toContain('    at ');
    expect(code).toBe(1);
  });
});

/** Files that nobody may write, not even who has them open already; null where this user or file system cannot. */
function freezer(
  at: string,
): { readonly freeze: (files: string[]) => void; readonly thaw: () => void } | null {
  const trial = join(at, 'trial');
  writeFileSync(trial, '');
  if (!works('chattr', '+i', trial)) return null;
  const keeps = !works('bash', '-c', `echo > ${trial}`);
  works('chattr', '-i', trial);
  rmSync(trial);
  if (!keeps) return null;
  let frozen: string[] = [];
  return {
    freeze(files) {
      frozen = files;
      execFileSync('chattr', ['+i', ...files]);
    },
    thaw() {
      execFileSync('chattr', ['-i', ...frozen]);
      frozen = [];
    },
  };
}

describe('files that turn read-only while the server runs', () => {
  const freezes = freezer(folder);
  it.skipIf(freezes === null)(
    'are told in words; nothing is lost, and writing goes on when it may',
    async () => {
      const data = join(folder, 'frozen');
      const plant = await runningPlant({}, data);
      const board = await openBoard(plant.server.address!, true);
      const first = widths();
      expect((await plant.request('POST', '/api/samples', first)).status).toBe(200);
      const refused = widths();
      // Not its index in memory (-shm): Linux ends a process that touches the map of a file that turned immutable.
      freezes!.freeze(['', '-wal'].map((ending) => `${plant.engine.file}${ending}`));
      try {
        for (let again = 0; again < 3; again++) {
          const { status, body } = await plant.request('POST', '/api/samples', refused);
          expect(status).toBe(503);
          expect((body as Problem).detail).toMatch(/could not write .* nothing was stored\. .*disk/);
        }
        // Boards go on showing what is stored, and hear of nothing that is not.
        expect((await plant.request('GET', '/api/health')).status).toBe(200);
        expect((await plant.request('GET', '/api/floor')).status).toBe(200);
        expect((await plant.request('GET', `/api/samples/${first.id}`)).status).toBe(200);
      } finally {
        freezes!.thaw();
      }
      expect((await plant.request('POST', '/api/samples', refused)).status).toBe(200);
      const heard = (id: string): number => board.lines().filter((line) => line.includes(id)).length;
      for (let waited = 0; heard(refused.id) === 0; waited++) {
        expect(waited).toBeLessThan(1500);
        await wait(20);
      }
      expect([heard(first.id), heard(refused.id)]).toEqual([1, 1]);
      board.close();
      plant.server.kill('SIGKILL');
      await plant.server.ended;
      expect(await plant.engine.damage()).toEqual([]);
      const store = await plant.engine.open();
      expect(await store.sampleCount()).toBe(2);
      await store.close();
      await plant.end();
    },
  );
});

describe('a folder that may only be read', () => {
  const root = process.getuid?.() === 0;
  it.skipIf(root && readOnly === null)('says so and ends', async () => {
    const data = root ? readOnly!.at : mkdtempSync(join(folder, 'read-only-'));
    // Root may write whatever the rights say, but not on a file system that is mounted so.
    if (root) execFileSync('mount', ['-o', 'remount,ro', data]);
    else chmodSync(data, 0o555);
    const server = startProcess({ environment: { DATA_DIR: data } });
    const { code } = await server.ended;
    expect(server.printed()).toMatch(
      /^The data folder .* cannot be written \(E\w+\); choose another with DATA_DIR or change its rights\.$/m,
    );
    expect(code).toBe(1);
  });
});
