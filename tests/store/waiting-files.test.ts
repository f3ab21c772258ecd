/** Files that wait for their import, over both engines and several nodes of one plant. */
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import { restoreBackup } from '../../api/backup/restore-backup.ts';
import { takeBackup } from '../../api/backup/take-backup.ts';
import type { FileBytes } from '../../api/imports/file-bytes.ts';
import { FILE_LIFETIME, MAX_FILE_BYTES, MAX_WAITING_FILES } from '../../api/imports/import-bounds.ts';
import { createWaitingFiles } from '../../api/imports/waiting-files.ts';
import { movePlant } from '../../api/move/move-plant.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';
import { morning, refusal } from '../api/test-plant.ts';
import { emptyDatabase } from '../postgres/databases.ts';
import { databasesOf, type TestDatabase } from './engines.ts';

const minute = 60_000;
const content = Buffer.alloc(600_000, 'a,b\n1.25,2.5\n');

async function whole(parts: AsyncIterable<Buffer>): Promise<Buffer> {
  const all: Buffer[] = [];
  for await (const part of parts) all.push(part);
  return Buffer.concat(all);
}

function bodyOf(bytes: Buffer, sizes: readonly number[] = [65_536]): ReadableStream<Uint8Array> {
  let at = 0;
  let sent = 0;
  return new ReadableStream({
    pull(controller) {
      if (at >= bytes.length) return controller.close();
      const size = sizes[sent++ % sizes.length]!;
      controller.enqueue(new Uint8Array(bytes.subarray(at, at + size)));
      at += size;
    },
  });
}

describe.each(['sqlite', 'postgres'] as const)('files that wait, in %s', async (engine) => {
  const newDatabase = await databasesOf(engine);
  let database: TestDatabase;
  let stores: Store[];
  let clock: { time: number; now: () => number };
  beforeEach(() => {
    database = newDatabase();
    stores = [];
    clock = { time: morning, now: () => clock.time };
  });
  afterEach(async () => {
    for (const store of stores) await store.close();
    database.remove();
  });
  /** One more process on the plant. */
  const node = (alone = false) => {
    const store = database.open();
    stores.push(store);
    return createWaitingFiles({ store, clock, alone });
  };
  type Node = ReturnType<typeof node>;
  const receive = (
    at: Node,
    body: ReadableStream<Uint8Array> | null = bodyOf(content),
    look: (id: string, file: FileBytes) => Promise<string> = async (id) => id,
  ): Promise<string> => at.receive(body, { fileName: 'a.csv', bytes: 0, personId: 'tech' }, look);
  const rows = () =>
    stores[0]!.sql.all<{ id: string; state: string; claim: string | null; claimedUntil: number | null }>(
      'select id, state, claim, claimed_until as "claimedUntil" from import_files order by no',
    );
  const piecesLeft = async (): Promise<number> =>
    Number(
      (await stores[0]!.sql.one<{ count: number }>('select count(*) as count from import_file_pieces'))!
        .count,
    );
  const stored = (
    claim: { finish: (sql: Store['sql']) => Promise<void> },
    store = stores[0]!,
  ): Promise<void> => store.transaction(({ sql }) => claim.finish(sql), []);

  it('property: come back byte by byte at another node, whole or any part, however they were sent', async () => {
    const [one, other] = [node(), node()];
    await fc.assert(
      fc.asyncProperty(
        fc.oneof(fc.nat(40), fc.integer({ min: 262_142, max: 262_146 }), fc.nat(800_000)),
        fc.array(fc.integer({ min: 1, max: 400_000 }), { minLength: 1, maxLength: 4 }),
        fc.array(fc.tuple(fc.nat(800_000), fc.nat(800_000)), { maxLength: 5 }),
        async (length, sizes, parts) => {
          const bytes = Buffer.from(Array.from({ length }, (_, index) => 33 + ((index * 7919) % 90)));
          // Many tiny pieces take long to send, and say nothing more.
          const slow = Math.min(...sizes) < length / 200;
          const id = await receive(one, bodyOf(bytes, slow ? [40_000] : sizes));
          const file = await other.find(id);
          expect(file).toMatchObject({ bytes: length, fileName: 'a.csv', busy: false });
          expect((await whole(file.read())).equals(bytes)).toBe(true);
          for (const [from, to] of parts)
            expect((await whole(file.read(from, to))).equals(bytes.subarray(from, to))).toBe(true);
          const claim = await other.claim(id, () => 0);
          await stored(claim!);
          await claim!.release();
          clock.time += FILE_LIFETIME + 1;
          await one.sweep();
        },
      ),
      { numRuns: 8 },
    );
    expect(await rows()).toEqual([]);
    expect(await piecesLeft()).toBe(0);
  });

  it('are held piece by piece, whatever their size', async () => {
    const one = node();
    let most = 0;
    let sent = 0;
    const body = new ReadableStream<Uint8Array>({
      async pull(controller) {
        // What was taken from here and is not yet in the database is held in memory.
        const row = await stores[0]!.sql.one<{ bytes: number }>('select bytes from import_files');
        most = Math.max(most, sent - (row?.bytes ?? 0));
        if (sent >= MAX_FILE_BYTES) return controller.close();
        controller.enqueue(new Uint8Array(65_536).fill(49));
        sent += 65_536;
      },
    });
    await receive(one, body);
    expect(sent).toBe(MAX_FILE_BYTES);
    expect(most).toBeLessThanOrEqual(512 * 1024);
  });

  it('leave nothing where they are refused or break off', async () => {
    const one = node();
    const endless = bodyOf(Buffer.alloc(MAX_FILE_BYTES + 1, 49), [1_000_000]);
    await refusal(receive(one, endless), 413, 'body');
    const broken = new ReadableStream<Uint8Array>({
      async pull(controller) {
        if ((await piecesLeft()) < 2) return controller.enqueue(new Uint8Array(100_000).fill(49));
        controller.error(new Error('the line is gone'));
      },
    });
    await expect(receive(one, broken)).rejects.toThrow('the line is gone');
    await expect(
      receive(one, bodyOf(content), () => Promise.reject(new Error('nothing in it'))),
    ).rejects.toThrow('nothing in it');
    expect(await rows()).toEqual([]);
    expect(await piecesLeft()).toBe(0);
  });

  it('are claimed by one of many', async () => {
    const [one, other] = [node(), node()];
    const id = await receive(one);
    const claims = await Promise.all([one, other, one, other].map((at) => at.claim(id, () => 0)));
    const [got, ...more] = claims.filter((claim) => claim !== null);
    expect(more).toEqual([]);
    expect((await other.find(id)).busy).toBe(true);
    await got!.release();
    expect(await other.find(id)).toMatchObject({ busy: false, progress: { state: 'uploaded' } });
    const again = await other.claim(id, () => 0);
    await again!.start(5);
    expect((await one.find(id)).progress).toMatchObject({ state: 'running', done: 0, total: 5 });
    await again!.release('Because.');
    expect((await one.find(id)).progress).toMatchObject({ state: 'failed', done: 0, problem: 'Because.' });
    const last = await one.claim(id, () => 0);
    await last!.start(5);
    await stored(last!);
    const done = { state: 'done', done: 5, total: 5, problem: null };
    expect(await other.find(id)).toMatchObject({ busy: false, progress: done });
    expect(await piecesLeft()).toBe(0);
    expect(await other.claim(id, () => 0)).toBeNull();
    // Somebody tells late that it went wrong: what is stored is stored.
    await last!.release('The connection broke.');
    expect((await one.find(id)).progress).toMatchObject(done);
  });

  it('say that nothing was stored where their node died, and it can do nothing any more', async () => {
    const [one, other] = [node(), node()];
    const [running, checked] = [await receive(one), await receive(one)];
    const slow = await one.claim(running, () => 3);
    await slow!.start(9);
    const checking = await one.claim(checked, () => 0);
    expect((await other.find(running)).progress).toMatchObject({ state: 'running', total: 9 });
    // Its claim runs out: it has not said for a minute that it lives.
    clock.time += minute + 1;
    expect(await other.find(running)).toMatchObject({
      busy: false,
      progress: {
        state: 'failed',
        done: 0,
        problem: expect.stringMatching(/^Nothing of the file was stored/),
      },
    });
    expect(await other.find(checked)).toMatchObject({ busy: false, progress: { state: 'uploaded' } });
    // It was not dead but slow, and comes with its samples.
    await refusal(
      stores[0]!.transaction(
        async (transaction) => {
          await transaction.addMissedSample({
            streamId: 'width',
            dueAt: morning,
            reason: 'x',
            personId: 'tech',
            at: morning,
          });
          await slow!.finish(transaction.sql);
        },
        ['width'],
      ),
      409,
      'id',
    );
    expect(await stores[0]!.missedSample('width', morning)).toBeNull();
    await refusal(checking!.start(1), 409, 'id');
    for (const claim of [slow, checking]) await claim!.release();
    const again = await other.claim(running, () => 0);
    await again!.start(9);
    await stored(again!, stores[1]!);
    await again!.release();
    expect((await one.find(running)).progress).toMatchObject({ state: 'done', done: 9 });
  });

  it('stay with whoever says that it lives, and tell others how far it is', async () => {
    const [one, other] = [node(), node()];
    const id = await receive(one);
    const claim = await one.claim(id, () => 7);
    await claim!.start(9);
    clock.time += minute - 1;
    await expect.poll(async () => (await other.find(id)).progress.done, { timeout: 20_000 }).toBe(7);
    clock.time += minute - 1;
    expect((await other.find(id)).progress).toMatchObject({ state: 'running', done: 7 });
    await claim!.release();
  });

  it('are few at any moment over all nodes: the oldest gives way, but none that is worked on', async () => {
    const nodes = [node(), node()];
    const at = (index: number): Node => nodes[index % 2]!;
    const tiny = (): ReadableStream<Uint8Array> => bodyOf(Buffer.from('a,b\n1,2\n'));
    const ids: string[] = [];
    for (let index = 0; index < MAX_WAITING_FILES; index++) ids.push(await receive(at(index), tiny()));
    const held = await at(0).claim(ids[0]!, () => 0);
    const next = await receive(at(1), tiny());
    expect((await rows()).map(({ id }) => id)).toEqual([ids[0], ...ids.slice(2), next]);
    const claims = [held];
    for (const id of [...ids.slice(2), next]) claims.push(await at(1).claim(id, () => 0));
    await refusal(receive(at(0), tiny()), 503, undefined);
    for (const claim of claims) await claim!.release();
    await receive(at(0), tiny());
    expect(await rows()).toHaveLength(MAX_WAITING_FILES);
    clock.time += FILE_LIFETIME + 1;
    await at(1).sweep();
    expect(await rows()).toEqual([]);
    expect(await piecesLeft()).toBe(0);
  });

  it('that were arriving at a node that died are swept', async () => {
    const [one, other] = [node(), node()];
    let arrived = (): void => {};
    const halfway = new Promise<void>((done) => {
      arrived = done;
    });
    let end = (): void => {};
    const body = new ReadableStream<Uint8Array>({
      start(controller) {
        controller.enqueue(new Uint8Array(600_000).fill(49));
        end = () => controller.close();
      },
      pull: () => arrived(),
    });
    const arriving = receive(one, body);
    await halfway;
    await expect.poll(piecesLeft).toBe(2);
    const { id } = (await rows())[0]!;
    await refusal(other.find(id), 404, 'id');
    clock.time += minute + 1;
    await other.sweep();
    expect(await rows()).toEqual([]);
    expect(await piecesLeft()).toBe(0);
    end();
    await refusal(arriving, 409, 'id');
    expect(await piecesLeft()).toBe(0);
  });

  it('are settled at once where the only server begins anew', async () => {
    const before = node(true);
    const [running, waits] = [await receive(before), await receive(before)];
    const claim = await before.claim(running, () => 0);
    await claim!.start(9);
    const next = node(true);
    await next.begin();
    expect((await next.find(running)).progress.state).toBe('failed');
    expect((await next.find(waits)).progress.state).toBe('uploaded');
    await claim!.release();
  });

  it('are no part of a backup', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'runtrue-waiting-'));
    afterAll(() => rmSync(folder, { recursive: true, force: true }));
    const marked = Buffer.alloc(600_000, 'marked-for-the-search;');
    await receive(node(), bodyOf(marked));
    const { address, file } = database;
    const databaseAddress = address === null ? undefined : `${address.address}?plant=${address.plant}`;
    const taken = await takeBackup({ databaseAddress, file }, folder, clock.time);
    expect(Object.keys(taken.manifest.tables)).toContain('samples');
    expect(Object.keys(taken.manifest.tables).filter((name) => name.startsWith('import_'))).toEqual([]);
    expect(readFileSync(taken.file).includes('marked-for-the-search')).toBe(false);
    await restoreBackup(taken.file, join(folder, 'restored'), 'plant.sqlite');
    const restored = openSqliteStore(join(folder, 'restored', 'plant.sqlite'));
    stores.push(restored);
    expect(await restored.sql.all('select id from import_files')).toEqual([]);
    expect(await piecesLeft()).toBe(3);
    // They are found so where they are.
    const plant = [file, `${file}-wal`].filter((name) => existsSync(name));
    if (engine === 'sqlite')
      expect(plant.some((name) => readFileSync(name).includes('marked-for-the-search'))).toBe(true);
  });
});

it('files that wait are not moved with a plant', async () => {
  const database = (await databasesOf('sqlite'))();
  const store = database.open();
  const files = createWaitingFiles({ store, clock: { now: () => morning }, alone: true });
  await files.receive(bodyOf(content), { fileName: 'a.csv', bytes: 0, personId: null }, async () => '');
  await store.close();
  const to = { address: await emptyDatabase(), plant: 1 };
  const moved = await movePlant(database.file, to);
  expect(moved.map(({ name }) => name).filter((name) => name.startsWith('import_'))).toEqual([]);
  const arrived = await openPostgresStore(to);
  expect(await arrived.sql.all('select id from import_files')).toEqual([]);
  await arrived.close();
  database.remove();
});
