/** A CSV file through the real app: upload, shape, preview, commit, and out again. */
import { readFileSync } from 'node:fs';
import { createServer, request as httpRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import { getRequestListener } from '@hono/node-server';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Answer } from '../../api/contract.ts';
import { FILE_LIFETIME, MAX_FILE_BYTES } from '../../api/imports/import-bounds.ts';
import { createImports } from '../../api/imports/imports.ts';
import {
  type Change,
  type CsvShape,
  ImportFile,
  type ImportMapping,
  type ImportProgress,
} from '../../api/schemas.ts';
import { gearPlant } from '../browser/plant.ts';
import gearExpected from '../reference/gear-expected.json' with { type: 'json' };
import {
  openApp,
  problemOf,
  secondSignature,
  setLimits,
  setUpPlant,
  type TestApp,
  widths,
} from './support.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
});
afterEach(() => app.close());

/** The files that are kept, the oldest first; and whose pieces are. */
const keptNow = async (): Promise<{ files: string[]; pieces: string[] }> => {
  const idsOf = (sql: string) => app.store.sql.all<{ id: string }>(sql);
  const files = await idsOf('select id from import_files order by no');
  const pieces = await idsOf('select distinct file_id as id from import_file_pieces');
  return { files: files.map(({ id }) => id), pieces: pieces.map(({ id }) => id) };
};
const nothing = { files: [], pieces: [] };

const uploadRequest = (body: BodyInit, headers: Record<string, string> = {}): Request =>
  new Request('http://127.0.0.1/api/imports', {
    method: 'POST',
    body,
    headers: { 'Content-Type': 'text/csv', 'File-Name': 'widths.csv', ...headers },
    ...(body instanceof ReadableStream && { duplex: 'half' as const }),
  } as RequestInit);

async function upload(body: string | Uint8Array<ArrayBuffer>): Promise<ImportFile> {
  const response = await app.fetch(uploadRequest(body));
  const text = await response.text();
  expect(response.status, text).toBe(200);
  return ImportFile.strict().parse(JSON.parse(text));
}
const uploadRefused = async (body: BodyInit, headers?: Record<string, string>) =>
  problemOf(await app.fetch(uploadRequest(body, headers)));

const wide =
  't;a;b;c;d;e;lot\n01.09.2025 06:30;126,9;127,0;127,1;126,8;127,2;K 1\n01.09.2025 07:30;127,3;;126,9;127,1;127,0;K 2\n';
const mappingFor = (file: ImportFile, part: Partial<ImportMapping> = {}): ImportMapping => ({
  shape: file.shape,
  streamId: 'C5-R1',
  modelId: 'Q10',
  unit: 'mm',
  layout: { form: 'wide', valueColumns: [1, 2, 3, 4, 5] },
  time: { from: 'column', column: 0, format: 'dd.MM.yyyy HH:mm' },
  lotColumn: 6,
  ...part,
});
const preview = (file: ImportFile, part?: Partial<ImportMapping>) =>
  app.call('POST /api/imports/{id}/preview', { params: { id: file.id }, body: mappingFor(file, part) });
const commit = (file: ImportFile, part?: Partial<ImportMapping>) =>
  app.call('POST /api/imports/{id}/commit', { params: { id: file.id }, body: mappingFor(file, part) });
async function finished(id: string): Promise<ImportProgress> {
  for (;;) {
    const progress = await app.call('GET /api/imports/{id}', { params: { id } });
    if (progress.state !== 'running') return progress;
    await new Promise((done) => setTimeout(done, 5));
  }
}
async function importAll(file: ImportFile, part?: Partial<ImportMapping>): Promise<ImportProgress> {
  await commit(file, part);
  return finished(file.id);
}
const stored = (streamId = 'C5-R1', modelId = 'Q10') =>
  app.store.samples(streamId, modelId, { from: 0, to: app.clock.time }, 1_000_000);
const valuesOf = (rows: Awaited<ReturnType<typeof stored>>) =>
  rows.map(({ readings }) => readings?.map(({ value }) => value));

describe('a file that is uploaded', () => {
  it('is looked at: shape, columns, rows, first rows', async () => {
    const file = await upload(wide);
    expect(file).toMatchObject({
      fileName: 'widths.csv',
      bytes: Buffer.byteLength(wide),
      rows: 2,
      shape: { delimiter: ';', decimalMark: ',', encoding: 'utf-8', headerRow: true },
      columns: ['t', 'a', 'b', 'c', 'd', 'e', 'lot'],
    });
    expect(file.firstRows[1]).toEqual(['01.09.2025 07:30', '127,3', '', '126,9', '127,1', '127,0', 'K 2']);
    expect(await app.call('GET /api/imports/{id}', { params: { id: file.id } })).toMatchObject({
      state: 'uploaded',
      problem: null,
    });
  });

  it('may have a name in any script, percent-encoded', async () => {
    const response = await app.fetch(uploadRequest(wide, { 'File-Name': encodeURIComponent('Maß 幅.csv') }));
    expect((await response.json()).fileName).toBe('Maß 幅.csv');
    expect((await uploadRefused(wide, { 'File-Name': '%E4' })).errors[0]?.field).toBe('File-Name');
    expect((await uploadRefused(wide, { 'File-Name': '' })).errors[0]?.field).toBe('File-Name');
  });

  it('is read again in another shape', async () => {
    const file = await upload(Buffer.from('größe,b\n1;5,2\n', 'latin1'));
    expect(file.shape).toMatchObject({ encoding: 'windows-1252' });
    const shape: CsvShape = { ...(file.shape as CsvShape), delimiter: ';', headerRow: false };
    const again = await app.call('POST /api/imports/{id}/shape', { params: { id: file.id }, body: shape });
    expect(again).toMatchObject({ id: file.id, shape, rows: 2, columns: ['Column 1'] });
    const problem = await app.refused('POST /api/imports/{id}/shape', {
      params: { id: file.id },
      body: { ...shape, encoding: 'utf-8' },
    });
    expect(problem).toMatchObject({ status: 422, detail: expect.stringContaining('not written in UTF-8') });
    expect((await keptNow()).files).toEqual([file.id]);
  });

  it.each([
    ['an empty file', '', /empty/],
    ['nothing but blanks', ' \n\n  \n', /empty/],
    ['a header alone', 'diameter,batch\n', /no row of data/],
    ['an unclosed quotation mark', 'a,b\n1,2\n3,"4\n', /From line 3 on/],
    ['a million columns', `a,b\n${'1,'.repeat(1_000_000)}\n`, /longer than 100000 characters/],
    ['a broken workbook', 'PK\x03\x04\x14\0', /damaged or incomplete/],
    ['bytes', 'a,b\n1,\0\n', /not a text file/],
  ])('is refused and leaves nothing behind: %s', async (_, text, message) => {
    const problem = await uploadRefused(text);
    expect(problem.status).toBe(422);
    expect(problem.detail).toMatch(message);
    expect(await keptNow()).toEqual(nothing);
  });

  it('must be sent as what it is', async () => {
    expect(await uploadRefused('{}', { 'Content-Type': 'application/json' })).toMatchObject({ status: 415 });
  });

  it('must not be larger than the limit, whatever its length says', async () => {
    let sent = 0;
    const endless = new ReadableStream({
      pull(controller) {
        sent += 65_536;
        controller.enqueue(new Uint8Array(65_536).fill(49));
        if (sent > 100 * 1024 * 1024) controller.close();
      },
    });
    expect(await uploadRefused(endless)).toMatchObject({ status: 413, title: 'File too large' });
    expect(sent).toBeLessThan(MAX_FILE_BYTES + 1024 * 1024);
    expect(await keptNow()).toEqual(nothing);
    const announced = await uploadRefused('a', { 'Content-Length': String(100 * 1024 * 1024) });
    expect(announced.status).toBe(413);
  });

  it('is refused early through a socket too, in bounded memory', async () => {
    const server = createServer(getRequestListener((request) => app.fetch(request)));
    await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
    try {
      const before = process.memoryUsage().rss;
      let most = 0;
      let sent = 0;
      const status = await new Promise<number>((done) => {
        const request = httpRequest({
          port: (server.address() as AddressInfo).port,
          method: 'POST',
          path: '/api/imports',
          headers: { 'Content-Type': 'text/csv', 'File-Name': 'big.csv' },
        });
        let open = true;
        request.on('response', (response) => {
          open = false;
          response.resume();
          done(response.statusCode ?? 0);
        });
        request.on('error', () => {});
        const piece = Buffer.alloc(256 * 1024, '1.234,5\n');
        const send = (): void => {
          most = Math.max(most, process.memoryUsage().rss);
          if (!open) return;
          sent += piece.length;
          if (sent >= 100 * 1024 * 1024) request.end();
          else if (request.write(piece)) setImmediate(send);
          else request.once('drain', send);
        };
        send();
      });
      expect(status).toBe(413);
      expect(sent).toBeLessThan(60 * 1024 * 1024);
      expect(most - before).toBeLessThan(120 * 1024 * 1024);
      expect(await keptNow()).toEqual(nothing);
    } finally {
      server.closeAllConnections();
      server.close();
    }
  });

  it('that breaks off leaves nothing behind', async () => {
    const broken = new ReadableStream({
      start(controller) {
        controller.enqueue(Buffer.from('a,b\n'));
        controller.error(new Error('the line is gone'));
      },
    });
    expect((await app.fetch(uploadRequest(broken))).status).toBe(500);
    expect(await keptNow()).toEqual(nothing);
  });

  it('is gone after a day, and the oldest gives way when there are many', async () => {
    const old = await upload(wide);
    app.clock.time += FILE_LIFETIME + 1;
    const young = await upload(wide);
    expect((await app.refused('GET /api/imports/{id}', { params: { id: old.id } })).status).toBe(404);
    expect(await keptNow()).toEqual({ files: [young.id], pieces: [young.id] });
    for (let more = 0; more < 20; more += 1) await upload(wide);
    expect((await app.refused('GET /api/imports/{id}', { params: { id: young.id } })).status).toBe(404);
    const { files, pieces } = await keptNow();
    expect(files).toHaveLength(20);
    expect(pieces.sort()).toEqual(files.sort());
  });

  it('waits over a restart of the server, but what was still arriving is removed', async () => {
    const file = await upload(wide);
    let send: ReadableStreamDefaultController<Uint8Array> | null = null;
    const halfway = new ReadableStream<Uint8Array>({
      start(controller) {
        send = controller;
        controller.enqueue(Buffer.alloc(300_000, '127,1;127,2\n'));
      },
    });
    const arriving = app.fetch(uploadRequest(halfway));
    await expect.poll(async () => (await keptNow()).pieces.length).toBe(2);
    // As the process that starts after a kill: nothing else works on the only server's database.
    const { store, monitoring, clock, feed, log } = app;
    const next = createImports({ store, monitoring, clock, feed, log });
    await next.begin();
    expect(await keptNow()).toEqual({ files: [file.id], pieces: [file.id] });
    expect(await next.preview(file.id, mappingFor(file))).toMatchObject({ samples: 2 });
    await next.end();
    // The first one was only slow: what it still writes is refused.
    send!.enqueue(Buffer.alloc(300_000, '127,1;127,2\n'));
    send!.close();
    expect((await arriving).status).toBe(409);
    expect(await keptNow()).toEqual({ files: [file.id], pieces: [file.id] });
  });
});

describe('the preview', () => {
  it('says what would be stored', async () => {
    expect(await preview(await upload(wide))).toEqual({
      samples: 2,
      readings: 9,
      firstTakenAt: '2025-09-01T04:30:00.000Z',
      lastTakenAt: '2025-09-01T05:30:00.000Z',
      alreadyStored: 0,
      firstSamples: [
        { takenAt: '2025-09-01T04:30:00.000Z', readings: [126.9, 127, 127.1, 126.8, 127.2] },
        { takenAt: '2025-09-01T05:30:00.000Z', readings: [127.3, null, 126.9, 127.1, 127] },
      ],
      badRows: [],
      badRowCount: 0,
      warnings: [
        {
          kind: 'fewer-readings',
          line: 3,
          text: '127,3 | – | 126,9 | 127,1 | 127',
          sentence: 'This sample has 4 readings, the plan asks for 5.',
        },
      ],
      warningCount: 1,
      samplesWithWarnings: 1,
    });
  });

  it('warns of values that the station would ask about, of those outside the specification, and of both', async () => {
    const row = (hour: number, ...values: string[]) => `01.09.2025 ${hour}:30;${values.join(';')};K\n`;
    const file = await upload(
      `t;a;b;c;d;e;lot\n${row(10, '127,0', '12,7', '127,1', '126,9', '127,0')}${row(
        11,
        '128,2',
        '127,0',
        '127,1',
        '126,9',
        '125,75',
      )}${row(12, '127,1', '127,0', '127,1', '126,9', '152,4')}`,
    );
    const { warnings, warningCount, samplesWithWarnings, badRowCount } = await preview(file);
    expect(badRowCount).toBe(0);
    expect(warnings).toEqual([
      {
        kind: 'questioned',
        line: 2,
        text: '12,7',
        sentence: expect.stringMatching(
          /Did you mean 127\.00 mm\? 12\.7 mm is below the lower specification limit of 126 mm\.$/,
        ),
      },
      {
        kind: 'outside-specification',
        line: 3,
        text: '128,2',
        sentence: '128.2 mm is above the upper specification limit of 128 mm.',
      },
      {
        kind: 'outside-specification',
        line: 3,
        text: '125,75',
        sentence: '125.75 mm is below the lower specification limit of 126 mm.',
      },
      {
        kind: 'questioned',
        line: 4,
        text: '152,4',
        sentence: expect.stringContaining('Is this piece a Wheel Q12?'),
      },
    ]);
    expect({ warningCount, samplesWithWarnings }).toEqual({ warningCount: 4, samplesWithWarnings: 3 });
    await importAll(file);
    expect((await stored()).map(({ questions }) => questions.length)).toEqual([1, 0, 1]);
  });

  it('asks by the limits in force when the sample was taken', async () => {
    await setLimits(app);
    // 125.8 is beyond six standard deviations of the limits from 2 September on; the drawing alone allows it.
    const values = '127,0;127,0;125,8;127,0;127,0;K';
    const file = await upload(`t;a;b;c;d;e;lot\n01.09.2025 06:30;${values}\n02.09.2025 06:30;${values}\n`);
    expect((await preview(file)).warnings.map(({ kind, line }) => [kind, line])).toEqual([
      ['outside-specification', 2],
      ['questioned', 3],
    ]);
  });

  it('warns of samples of one time, equal or not, and only of those that are not stored yet', async () => {
    const row = (value: string, minute = 30) =>
      `01.09.2025 06:${minute};${value};127,0;127,0;127,0;127,0;K\n`;
    const twice = `t;a;b;c;d;e;lot\n${row('126,9')}${row('127,1')}`;
    const file = await upload(`${twice}${row('127,1')}${row('127,1', 31)}`);
    expect(await preview(file)).toMatchObject({
      warnings: [
        {
          kind: 'same-time',
          line: 3,
          text: '2025-09-01 06:30',
          sentence: 'The sample of line 2 has the same time.',
        },
        {
          kind: 'same-time',
          line: 4,
          sentence: expect.stringMatching(/line 3 has the same time and the same readings\. Is it the same/),
        },
      ],
      warningCount: 2,
      samplesWithWarnings: 2,
    });
    await importAll(await upload(twice));
    expect((await preview(file)).warnings.map(({ line }) => line)).toEqual([4]);
  });

  it('says once, in words, when all samples have fewer readings than planned', async () => {
    const file = await upload(wide);
    expect(await preview(file, { layout: { form: 'wide', valueColumns: [1, 3] } })).toMatchObject({
      warnings: [
        {
          kind: 'fewer-readings',
          line: 2,
          text: '126,9 | 127,1',
          sentence: '2 readings a sample, the plan asks for 5. Is every column with readings chosen?',
        },
      ],
      warningCount: 1,
      samplesWithWarnings: 2,
    });
  });

  it('does not call a reading missing that is only written wrongly', async () => {
    const file = await upload('t;a;b;c;d;e;lot\n01.09.2025 06:30;abc;127,0;127,1;126,9;127,0;K\n');
    expect(await preview(file)).toMatchObject({ badRowCount: 1, warnings: [], warningCount: 0 });
  });

  it('names the line of the reading where each has a row of its own', async () => {
    const rows = [127, 12.7, 127, 127, 127].map((value) => `1,${value}`);
    const file = await upload(`sample,x\n${rows.join('\n')}\n`);
    const { warnings } = await preview(file, {
      layout: { form: 'long', valueColumn: 1, sampleColumn: 0 },
      time: { from: 'sequence', first: '2025-09-01T06:00:00+02:00', stepMinutes: 60 },
      lotColumn: null,
    });
    expect(warnings.map(({ kind, line }) => [kind, line])).toEqual([['questioned', 3]]);
  });

  it('counts all warnings, and shows some of every kind', async () => {
    const rows = Array.from({ length: 300 }, (_, index) => {
      const hour = `${String(index % 24).padStart(2, '0')}:00`;
      const day = String(1 + Math.floor(index / 24)).padStart(2, '0');
      return `${day}.08.2025 ${hour};12,7;12,7;12,7;12,7;12,7;K`;
    });
    const last = '31.08.2025 06:30;127,0;127,0;;127,0;127,0;K';
    const found = await preview(await upload(`t;a;b;c;d;e;lot\n${rows.join('\n')}\n${last}\n`));
    expect(found).toMatchObject({ warningCount: 1501, samplesWithWarnings: 301 });
    expect(found.warnings).toHaveLength(200);
    expect(found.warnings.at(-1)).toMatchObject({ kind: 'fewer-readings', line: 302 });
  });

  it('of counted parts warns of the same time', async () => {
    const row = '2025-09-01 06:30;50;1\n';
    const file = await upload(`t;inspected;nonconforming\n${row}${row}`);
    const found = await preview(file, {
      streamId: 'C3-R1',
      unit: '1',
      layout: { form: 'count', inspectedColumn: 1, nonconformingColumn: 2 },
      time: { from: 'column', column: 0, format: 'iso' },
      lotColumn: null,
    });
    expect(found.warnings.map(({ kind, sentence }) => [kind, sentence])).toEqual([
      ['same-time', expect.stringContaining('the same counts')],
    ]);
  });

  it('names what is wrong in the file', async () => {
    const file = await upload(`${wide}31.02.2025 08:30;1,5;1.5;x;;;\n`);
    const { badRows, badRowCount } = await preview(file);
    expect(badRows.map(({ line, column, text }) => [line, column, text])).toEqual([
      [4, 't', '31.02.2025 08:30'],
      [4, 'b', '1.5'],
      [4, 'c', 'x'],
    ]);
    expect(badRowCount).toBe(3);
  });

  it.each<[string, Partial<ImportMapping>, number, string]>([
    ['an unknown stream', { streamId: 'nowhere' }, 404, 'streamId'],
    ['an unknown model', { modelId: 'nothing' }, 404, 'modelId'],
    ['another unit', { unit: 'in' }, 422, 'unit'],
    [
      'a form that does not fit',
      { layout: { form: 'count', inspectedColumn: 1, nonconformingColumn: 2 } },
      422,
      'layout.form',
    ],
    ['a counted stream', { streamId: 'C3-R1', unit: '1' }, 422, 'layout.form'],
    ['a column that is not there', { lotColumn: 7 }, 422, 'lotColumn'],
    ['a column used twice', { lotColumn: 0 }, 422, 'lotColumn'],
  ])('is refused for %s', async (_, part, status, field) => {
    const file = await upload(wide);
    const problem = await app.refused('POST /api/imports/{id}/preview', {
      params: { id: file.id },
      body: mappingFor(file, part),
    });
    expect(problem.status).toBe(status);
    expect(problem.errors.map((error) => error.field)).toContain(field);
  });
});

describe('the commit', () => {
  it('stores every sample through the one path, signed, and tells how far it is', async () => {
    await setLimits(app);
    const changes: Change[] = [];
    app.feed.subscribe((change) => changes.push(change));
    const file = await upload(wide.replaceAll('01.09.', '02.09.').replace('127,3;;', '130,3;;'));
    expect(await commit(file)).toEqual({ id: file.id, state: 'running', done: 0, total: 2, problem: null });
    expect(await finished(file.id)).toEqual({ id: file.id, state: 'done', done: 2, total: 2, problem: null });
    const rows = await stored();
    expect(rows).toMatchObject([
      { door: 'import', personId: 'kim', lot: 'K 1', takenAt: Date.parse('2025-09-02T06:30:00+02:00') },
      { door: 'import', personId: 'kim', lot: 'K 2' },
    ]);
    expect(valuesOf(rows)[1]).toEqual([130.3, null, 126.9, 127.1, 127]);
    expect(changes.at(-1)).toEqual({ kind: 'import', importId: file.id, done: 2, total: 2 });
    expect(changes).toContainEqual({ kind: 'sample', streamId: 'C5-R1', sampleId: rows[1]!.id });
    const { signals } = await app.call('GET /api/samples/{id}', { params: { id: rows[1]!.id } });
    expect(signals.length).toBeGreaterThan(0);
    expect(await keptNow()).toEqual({ files: [file.id], pieces: [] });
  });

  it('is refused while there is a bad row, and nothing is stored', async () => {
    const file = await upload(`${wide}01.09.2025 08:30;127,0;x;127,0;127,0;127,0;\n`);
    const problem = await app.refused('POST /api/imports/{id}/commit', {
      params: { id: file.id },
      body: mappingFor(file),
    });
    expect(problem.status).toBe(422);
    expect(problem.detail).toContain('1 problem. It is in line 4, column b, "x": this is not a number');
    expect(await stored()).toEqual([]);
    expect((await app.call('GET /api/imports/{id}', { params: { id: file.id } })).state).toBe('uploaded');
  });

  it('asks who acts', async () => {
    const file = await upload(wide);
    const sent = { params: { id: file.id }, body: mappingFor(file) };
    expect((await app.refused('POST /api/imports/{id}/commit', sent, null)).status).toBe(401);
  });

  it('of the same file stores nothing twice, and of a longer one only what is new', async () => {
    await importAll(await upload(wide));
    const again = await upload(wide);
    expect(await preview(again)).toMatchObject({ samples: 2, alreadyStored: 2 });
    expect(await importAll(again)).toMatchObject({ state: 'done', total: 0 });
    const longer = await upload(wide.replace('\n', '\n31.08.2025 06:30;127,0;127,0;127,0;127,0;127,0;K 0\n'));
    expect(await preview(longer)).toMatchObject({ samples: 3, alreadyStored: 2 });
    await importAll(longer);
    expect(await stored()).toHaveLength(3);
  });

  it('keeps equal rows of one file apart', async () => {
    const row = '01.09.2025 06:30;127;127;127;127;127;K\n';
    const twice = `t;a;b;c;d;e;lot\n${row}${row}`;
    await importAll(await upload(twice));
    expect(await stored()).toHaveLength(2);
    expect(await preview(await upload(`${twice}${row}`))).toMatchObject({ samples: 3, alreadyStored: 2 });
  });

  it('leaves a sample that was corrected since as it is', async () => {
    await importAll(await upload(wide));
    const [first] = await stored();
    await app.call('POST /api/samples/{id}/corrections', {
      params: { id: first!.id },
      body: {
        id: '0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c11',
        revision: 1,
        readings: [126, 127, 127.1, 126.8, 127.2].map((value) => ({ value })),
        reason: 'Read wrongly',
      },
    });
    expect(await preview(await upload(wide))).toMatchObject({ alreadyStored: 2 });
  });

  it('is all or nothing when storing fails in the middle, and says why', async () => {
    const file = await upload(wide);
    const original = app.store.transaction.bind(app.store);
    app.store.transaction = (work, streams) =>
      original(async (transaction) => {
        if (!streams?.includes('C5-R1')) return work(transaction);
        const add = transaction.addSample.bind(transaction);
        let added = 0;
        transaction.addSample = async (sample) => {
          added += 1;
          if (added === 2) throw new Error('disk full');
          return add(sample);
        };
        return work(transaction);
      }, streams);
    await app.imports.commit(file.id, mappingFor(file), { personId: 'kim', door: 'page', how: 'named' });
    await expect.poll(async () => (await app.imports.progress(file.id)).state).toBe('failed');
    const progress = await app.imports.progress(file.id);
    expect(progress.done).toBe(0);
    expect(progress.problem).toContain('Nothing of the file was stored');
    expect(await stored()).toEqual([]);
    expect(app.logged).toHaveLength(1);
    app.store.transaction = original;
    expect(await importAll(file)).toMatchObject({ state: 'done', total: 2 });
  });

  it('runs once, and not again', async () => {
    const file = await upload(wide);
    const sent = { params: { id: file.id }, body: mappingFor(file) };
    const [one, two] = await Promise.all([commit(file), app.refused('POST /api/imports/{id}/commit', sent)]);
    expect(one.state).toBe('running');
    expect(two.status).toBe(409);
    await finished(file.id);
    expect((await app.refused('POST /api/imports/{id}/commit', sent)).status).toBe(409);
    expect((await app.refused('POST /api/imports/{id}/preview', sent)).status).toBe(409);
    expect(await stored()).toHaveLength(2);
  });

  it('stores rows that are not in order of time as if they were', async () => {
    const [head, first, second] = wide.split('\n');
    await importAll(await upload([head, second, first, ''].join('\n')));
    const rows = await stored();
    expect(rows.map(({ no }) => no)).toEqual([...rows.map(({ no }) => no)].sort((a, b) => a - b));
  });
});

it('the gear diameters of the NIST/SEMATECH e-Handbook come in as ten samples of ten', async () => {
  const plant = await app.call('GET /api/plant');
  const plan = plant.plans.find(({ streamId }) => streamId === 'C5-R1')!;
  await app.call('PUT /api/plans/{id}', {
    params: { id: 'C5-R1' },
    body: { record: { ...plan, sampleSize: 10 }, reason: 'Batches of ten', secondSignature },
  });
  const file = await upload(readFileSync(new URL('../reference/gear.csv', import.meta.url), 'utf8'));
  expect(file).toMatchObject({ rows: 100, columns: ['diameter', 'batch'] });
  const mapping = {
    layout: { form: 'long', valueColumn: 0, sampleColumn: 1 },
    time: { from: 'sequence', first: '2025-09-02T06:00:00+02:00', stepMinutes: 60 },
    lotColumn: null,
  } as const;
  expect(await preview(file, mapping)).toMatchObject({ samples: 10, readings: 100, badRowCount: 0 });
  await importAll(file, mapping);
  const expected = JSON.parse(
    readFileSync(new URL('../reference/gear-expected.json', import.meta.url), 'utf8'),
  ).expected;
  const rows = await stored();
  for (const [index, row] of rows.entries()) {
    expect(row.mean).toBeCloseTo(expected.subgroupMeans[index], 12);
    expect(row.range).toBeCloseTo(expected.subgroupRanges[index], 12);
  }
  expect(rows).toHaveLength(10);
});

it('the gear diameters give no warning where gears are made', async () => {
  const works = openApp();
  try {
    for (const [path, record] of gearPlant(gearExpected.specification)) {
      const response = await works.fetch(
        new Request(`http://127.0.0.1/api/${path}`, {
          method: 'PUT',
          headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'engineer' },
          body: JSON.stringify({ record }),
        }),
      );
      expect(response.status, path).toBe(200);
    }
    const gear = readFileSync(new URL('../reference/gear.csv', import.meta.url), 'utf8');
    const { id, shape }: ImportFile = await (await works.fetch(uploadRequest(gear))).json();
    const body: ImportMapping = {
      shape,
      streamId: 'diameter-1',
      modelId: 'G1',
      unit: '1',
      layout: { form: 'long', valueColumn: 0, sampleColumn: 1 },
      time: { from: 'sequence', first: '2025-09-02T06:00:00Z', stepMinutes: 60 },
      lotColumn: null,
    };
    const found = await works.call('POST /api/imports/{id}/preview', { params: { id }, body }, 'engineer');
    expect(found).toMatchObject({ samples: 10, badRowCount: 0, warnings: [], samplesWithWarnings: 0 });
  } finally {
    await works.close();
  }
});

describe('the export', () => {
  const fetchExport = (query: Record<string, string>): Promise<Response> =>
    app.fetch(
      new Request(
        `http://127.0.0.1/api/export.csv?${new URLSearchParams({ streamId: 'C5-R1', modelId: 'Q10', ...query })}`,
      ),
    );
  const exported = async (query: Record<string, string> = {}): Promise<string> => {
    const response = await fetchExport(query);
    const text = await response.text();
    expect(response.status, text).toBe(200);
    expect(response.headers.get('content-type')).toContain('text/csv');
    return text;
  };

  it('writes one row a sample, with its statistics, oldest first', async () => {
    await importAll(await upload(wide));
    const [header, first, second, end] = (await exported()).split('\r\n');
    expect(header).toBe(
      'takenAt,sampleId,revision,person,lot,reading1,reading2,reading3,reading4,reading5,mean,range,standardDeviation',
    );
    expect(first).toMatch(
      /^2025-09-01T06:30:00\+02:00,[0-9a-f-]{36},1,kim,K 1,126\.9,127,127\.1,126\.8,127\.2,127,0\.4\d*,0\.158\d+$/,
    );
    expect(second).toMatch(/,K 2,127\.3,,126\.9,127\.1,127,127\.075,/);
    expect(end).toBe('');
  });

  it('writes one row a reading, with semicolons and decimal commas', async () => {
    await importAll(await upload(wide));
    const rows = (await exported({ form: 'long', decimalMark: ',' })).split('\r\n');
    expect(rows[0]).toBe(
      'takenAt;sampleId;revision;person;lot;position;reading;mean;range;standardDeviation',
    );
    expect(rows).toHaveLength(12);
    expect(rows[7]).toMatch(/^2025-09-01T07:30:00\+02:00;[^;]+;1;kim;K 2;2;;127,075;/);
  });

  it('writes counted parts', async () => {
    await app.call('POST /api/samples', {
      body: {
        id: '0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c11',
        streamId: 'C3-R1',
        modelId: 'Q10',
        takenAt: '2025-09-02T06:30:00+02:00',
        unit: '1',
        count: { inspected: 50, nonconforming: 2 },
      },
    });
    const text = await exported({ streamId: 'C3-R1' });
    expect(text).toContain('inspected,nonconforming,fractionNonconforming\r\n');
    expect(text).toMatch(/,kim,,50,2,0\.04\r\n$/);
    const file = await upload(text);
    const part: Partial<ImportMapping> = {
      streamId: 'C3-R1',
      unit: '1',
      layout: { form: 'count', inspectedColumn: 5, nonconformingColumn: 6 },
      time: { from: 'column', column: 0, format: 'iso' },
      lotColumn: 4,
    };
    expect(await preview(file, part)).toMatchObject({ samples: 1, alreadyStored: 1, badRowCount: 0 });
    expect((await preview(file, { ...part, modelId: 'Q12' })).alreadyStored).toBe(0);
  });

  it('keeps to the period and the model', async () => {
    await importAll(await upload(wide));
    expect((await exported({ modelId: 'Q12' })).split('\r\n')).toHaveLength(2);
    const late = await exported({ from: '2025-09-01T07:00:00+02:00', to: '2025-09-01T07:30:00+02:00' });
    expect(late.split('\r\n')).toHaveLength(3);
    expect(late).toContain('K 2');
  });

  it('writes no cell that a spreadsheet would run', async () => {
    const lots = ['=1+1', '+1', '-1', '@x', "'=1", 'a"b;c', '\u00e4, "x"'];
    for (const [index, lot] of lots.entries()) {
      const sample = { ...widths(127 + index / 100), takenAt: `2025-09-02T0${index}:30:00+02:00`, lot };
      await app.call('POST /api/samples', { body: sample });
    }
    const text = await exported();
    for (const cell of [`'=1+1`, `'+1`, `'-1`, `'@x`, `''=1`, '"a""b;c"'])
      expect(text).toContain(`,${cell},`);
    const file = await upload(text);
    await importAll(file, {
      modelId: 'Q12',
      layout: { form: 'wide', valueColumns: [5, 6, 7, 8, 9] },
      time: { from: 'column', column: 0, format: 'iso' },
      lotColumn: 4,
    });
    expect((await stored('C5-R1', 'Q12')).map(({ lot }) => lot)).toEqual(lots);
  });

  it('goes through many samples page by page, ties of time included', async () => {
    const submissions = Array.from({ length: 1203 }, (_, index) =>
      widths(127 + (index % 7) / 100, {
        takenAt: Date.parse('2025-08-01T00:00:00Z') + Math.floor(index / 3) * 60_000,
      }),
    );
    await app.monitoring.acceptAll(submissions, { personId: 'kim', door: 'import', how: 'named' });
    const rows = (await exported()).trimEnd().split('\r\n').slice(1);
    expect(rows).toHaveLength(1203);
    expect(new Set(rows.map((row) => row.split(',')[1])).size).toBe(1203);
    const times = rows.map((row) => row.split(',')[0]!);
    expect(times).toEqual([...times].sort());
  });

  it.each<[string, Record<string, string>, number, string]>([
    ['an unknown stream', { streamId: 'nowhere' }, 404, 'streamId'],
    ['an unknown model', { modelId: 'nothing' }, 404, 'modelId'],
    ['a comma for both', { delimiter: ',', decimalMark: ',' }, 422, 'delimiter'],
    ['a time that is none', { from: 'yesterday' }, 422, 'from'],
    ['a period reversed', { from: '2025-09-02T00:00:00Z', to: '2025-09-01T00:00:00Z' }, 422, 'to'],
    ['an unknown parameter', { format: 'x' }, 422, 'format'],
  ])('is refused for %s', async (_, query, status, field) => {
    const problem = await problemOf(await fetchExport(query));
    expect(problem).toMatchObject({ status, errors: [{ field }] });
  });

  it('property: what was exported comes back with the same readings, and into the same stream nothing twice', async () => {
    const value = fc.option(
      fc.double({ min: -1e12, max: 1e12, noNaN: true }).map((x) => (Object.is(x, -0) ? 0 : x)),
      { freq: 6 },
    );
    const sample = fc
      .array(value, { minLength: 1, maxLength: 5 })
      .filter((values) => values.some((reading) => reading !== null));
    const shapes = fc.constantFrom(
      { form: 'wide', delimiter: ',', decimalMark: '.' },
      { form: 'wide', delimiter: ';', decimalMark: ',' },
      { form: 'wide', delimiter: ' ', decimalMark: '.' },
      { form: 'long', delimiter: '\t', decimalMark: ',' },
      { form: 'long', delimiter: '|', decimalMark: '.' },
      { form: 'long', delimiter: ' ', decimalMark: ',' },
    );
    let day = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(sample, { minLength: 1, maxLength: 8 }), shapes, async (samples, shape) => {
        day += 1;
        const from = Date.parse('2024-01-01T00:00:00Z') + day * 86_400_000;
        const submissions = samples.map((values, index) => ({
          ...widths(0, { takenAt: from + index * 60_001 }),
          readings: values.map((reading) => ({ value: reading })),
          lot: `lot ${index}`,
        }));
        await app.monitoring.acceptAll(submissions, { personId: 'kim', door: 'api', how: 'named' });
        const period = { from: new Date(from).toISOString(), to: new Date(from + 86_399_999).toISOString() };
        const { form, ...written } = shape;
        const file = await upload(await exported({ ...period, ...shape }));
        const columns = file.columns.flatMap((name, index) => (/^reading\d/.test(name) ? [index] : []));
        const part: Partial<ImportMapping> = {
          shape: { ...written, encoding: 'utf-8', headerRow: true } as CsvShape,
          layout:
            form === 'wide'
              ? { form: 'wide', valueColumns: columns }
              : { form: 'long', valueColumn: 6, sampleColumn: 1 },
          time: { from: 'column', column: 0, format: 'iso' },
          lotColumn: 4,
        };
        expect(file.shape).toMatchObject({ delimiter: shape.delimiter });
        const same: Answer<'POST /api/imports/{id}/preview'> = await preview(file, part);
        expect(same).toMatchObject({
          samples: samples.length,
          alreadyStored: samples.length,
          badRowCount: 0,
        });
        expect(await importAll(file, { ...part, modelId: 'Q12' })).toMatchObject({ state: 'done' });
        const back = await app.store.samples('C5-R1', 'Q12', { from, to: from + 86_399_999 }, 1000);
        const longest = Math.max(...samples.map(({ length }) => length));
        expect(valuesOf(back)).toEqual(
          // A table has an empty cell at the end of a shorter row.
          shape.form === 'long'
            ? samples
            : samples.map((values) => Array.from({ length: longest }, (_, index) => values[index] ?? null)),
        );
        expect(back.map(({ takenAt, lot }) => [takenAt, lot])).toEqual(
          submissions.map(({ takenAt, lot }) => [Date.parse(takenAt), lot]),
        );
      }),
      { numRuns: 60 },
    );
  });
});
