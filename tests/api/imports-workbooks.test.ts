/** Workbooks and JSON lines through the same steps as CSV. The workbooks are written by two independent libraries. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { ImportFile, type ImportMapping } from '../../api/schemas.ts';
import { openApp, problemOf, setUpPlant, type TestApp } from './support.ts';
import { workbookOf, zipOf } from './zip-archive.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
});
afterEach(() => app.close());

const send = (body: Uint8Array | string, type = 'application/octet-stream') =>
  app.fetch(
    new Request('http://127.0.0.1/api/imports', {
      method: 'POST',
      body: body as BodyInit,
      headers: { 'Content-Type': type, 'File-Name': 'widths', 'Runtrue-Person': 'kim' },
    }),
  );
async function upload(body: Uint8Array | string): Promise<ImportFile> {
  const response = await send(body);
  const text = await response.text();
  expect(response.status, text).toBe(200);
  return ImportFile.strict().parse(JSON.parse(text));
}
async function refused(body: Uint8Array | string): Promise<string> {
  const problem = await problemOf(await send(body));
  expect(problem).toMatchObject({ status: 422, errors: [{ field: 'file' }] });
  expect(await app.store.sql.all('select id from import_files')).toEqual([]);
  expect(app.logged).toEqual([]);
  return problem.detail;
}
const workbook = (name: string): Uint8Array => readFileSync(join(import.meta.dirname, 'workbooks', name));
const mapping = (file: ImportFile, part: Partial<ImportMapping> = {}): ImportMapping => ({
  shape: file.shape,
  streamId: 'C5-R1',
  modelId: 'Q10',
  unit: 'mm',
  layout: { form: 'wide', valueColumns: [1, 2] },
  time: { from: 'column', column: 0, format: 'iso' },
  lotColumn: null,
  ...part,
});
const preview = (file: ImportFile, part?: Partial<ImportMapping>) =>
  app.call('POST /api/imports/{id}/preview', { params: { id: file.id }, body: mapping(file, part) });
async function imported(file: ImportFile, part?: Partial<ImportMapping>) {
  const body = mapping(file, part);
  await app.call('POST /api/imports/{id}/commit', { params: { id: file.id }, body });
  for (;;) {
    const progress = await app.call('GET /api/imports/{id}', { params: { id: file.id } });
    if (progress.state !== 'running') break;
    await new Promise((done) => setTimeout(done, 5));
  }
  const rows = await app.store.samples('C5-R1', 'Q10', { from: 0, to: app.clock.time }, 1000);
  return rows.map(({ takenAt, lot, readings }) => [
    new Date(takenAt).toISOString(),
    lot,
    ...(readings ?? []).map(({ value }) => value),
  ]);
}

describe('a workbook', () => {
  it('shows its first sheet that holds a table, and any other that is asked for', async () => {
    const file = await upload(workbook('sheets.xlsx'));
    expect(file).toMatchObject({
      sheets: ['Empty', 'Read me & more', 'Samples'],
      shape: { format: 'workbook', sheet: 'Samples', decimalMark: '.', headerRow: true },
      rows: 4,
      columns: ['time', 'a', 'b', 'c', 'd', 'coil'],
    });
    // 0.1 + 0.2 as its writer meant it, not as binary numbers hold it.
    expect(file.firstRows[1]).toEqual(['2025-09-01 07:30:00', '127.03', '126.85', '', '0.3', 'K 2']);
    const params = { id: file.id };
    const { shape } = file;
    const words = { ...shape, sheet: 'Read me & more', headerRow: false } as ImportFile['shape'];
    expect(await app.call('POST /api/imports/{id}/shape', { params, body: words })).toMatchObject({
      firstRows: [['Measured at the rim line']],
    });
    const none = await app.refused('POST /api/imports/{id}/shape', {
      params,
      body: { ...shape, sheet: 'Nine' },
    });
    expect(none.detail).toContain('it has "Empty", "Read me & more", "Samples"');
    const empty = await app.refused('POST /api/imports/{id}/shape', {
      params,
      body: { ...shape, sheet: 'Empty' },
    });
    expect(empty.detail).toContain('The sheet "Empty" is empty');
  });

  it('is stored as CSV would be, its dates as the local time of the plant', async () => {
    const file = await upload(workbook('sheets.xlsx'));
    const part = { lotColumn: 5, layout: { form: 'wide' as const, valueColumns: [1, 2, 3] } };
    expect(await preview(file, part)).toMatchObject({ samples: 4, badRowCount: 0 });
    expect(await imported(file, part)).toEqual([
      ['2025-09-01T04:30:00.000Z', 'K 1', 127.02, 126.85, 127.1],
      ['2025-09-01T05:30:00.000Z', 'K 2', 127.03, 126.85, null],
      ['2025-09-01T06:30:00.000Z', 'K 3', 127.04, 126.85, 127.1],
      ['2025-09-01T07:30:00.000Z', 'K 4', 127.05, 126.85, 127.1],
    ]);
  });

  it('has its title left out, its head of two rows joined, merged cells filled down, decimal commas read', async () => {
    const file = await upload(workbook('merged.xlsx'));
    expect(file).toMatchObject({
      shape: { format: 'workbook', sheet: 'Width', decimalMark: ',', headerRow: true },
      columns: ['Time', 'Sample', 'Width 1', 'Width 2', 'Coil'],
      rows: 4,
    });
    expect(file.firstRows).toEqual([
      ['2025-09-01 06:30:00', '1', '127,05', '127,02', 'K 1'],
      ['2025-09-01 06:30:00', '1', '128,05', '126,85', 'K 1'],
      ['2025-09-01 07:30:00', '2', '127,15', '127,03', 'K 2'],
      ['2025-09-01 07:30:00', '2', '128,15', '126,85', 'K 2'],
    ]);
    const layout = { form: 'long', valueColumn: 2, sampleColumn: 1 } as const;
    expect(await imported(file, { layout, lotColumn: 4 })).toEqual([
      ['2025-09-01T04:30:00.000Z', 'K 1', 127.05, 128.05],
      ['2025-09-01T05:30:00.000Z', 'K 2', 127.15, 128.15],
    ]);
  });

  it('names the row of a cell that is no number', async () => {
    const file = await upload(workbook('from-1904.xlsx'));
    expect(file.firstRows).toEqual([['2025-09-01 06:30:00', '127.5', 'true', '#DIV/0!', 'two parts']]);
    expect(await preview(file, { layout: { form: 'wide', valueColumns: [1, 3] } })).toMatchObject({
      badRows: [{ line: 2, column: 'broken', text: '#DIV/0!', problem: 'this is not a number' }],
    });
  });

  it('may hold dates as bare numbers', async () => {
    const file = await upload(workbook('serial.xlsx'));
    const time = { from: 'column', column: 0, format: 'serial' } as const;
    expect((await imported(file, { time })).map(([at]) => at)).toEqual([
      '2025-09-01T04:30:00.000Z',
      '2025-09-01T05:30:00.000Z',
      '2025-09-01T06:30:00.000Z',
    ]);
  });
});

const row = (line: number, cells: string): string => `<row r="${line}">${cells}</row>`;
const number = (place: string, value: number | string): string => `<c r="${place}"><v>${value}</v></c>`;
const data = (rows: string): string => `<sheetData>${rows}</sheetData>`;

describe('an archive that no honest program writes', () => {
  it.each<[string, () => Buffer, RegExp]>([
    ['no workbook', () => zipOf([{ name: 'a.txt', bytes: Buffer.from('a') }]), /but not a workbook/],
    ['cut off', () => workbookOf(data(row(1, number('A1', 1)))).subarray(0, -30), /damaged or incomplete/],
    [
      'one byte changed',
      () =>
        Buffer.from(
          workbookOf(data(row(1, number('A1', 1)))).map((byte, at) => (at === 60 ? byte ^ 255 : byte)),
        ),
      /damaged|well-formed|not a workbook/,
    ],
    [
      'more parts than any workbook has',
      () =>
        zipOf(Array.from({ length: 2001 }, (_, index) => ({ name: `p${index}`, bytes: Buffer.alloc(0) }))),
      /more than 2000 parts/,
    ],
    [
      'a sheet of 300 MB in 300 kB',
      () => workbookOf('', [{ name: 'xl/sheet1.xml', bytes: Buffer.alloc(300e6, 32) }]),
      /more than 200 MiB/,
    ],
    [
      'a sheet that inflates to more than it says',
      () => workbookOf('', [{ name: 'xl/sheet1.xml', bytes: Buffer.alloc(50e6, 32), claimedSize: 1000 }]),
      /damaged or incomplete/,
    ],
    [
      'texts of 40 MB',
      () =>
        workbookOf(data(row(1, number('A1', 1))), [
          {
            name: 'xl/_rels/workbook.xml.rels',
            bytes: Buffer.from(
              '<Relationships><Relationship Id="r1" Type="x/worksheet" Target="sheet1.xml"/><Relationship Id="r2" Type="x/sharedStrings" Target="/xl/texts.xml"/></Relationships>',
            ),
          },
          { name: 'xl/texts.xml', bytes: Buffer.alloc(40e6, 32) },
        ]),
      /more than 32 MiB/,
    ],
    [
      'a cell of 2 MB',
      () => workbookOf(data(row(1, `<c r="A1" t="str"><v>${'x'.repeat(2e6)}</v></c>`))),
      /more than 100000 characters/,
    ],
    [
      'entities in entities',
      () =>
        workbookOf('', [
          {
            name: 'xl/sheet1.xml',
            bytes: Buffer.from(
              '<!DOCTYPE a [<!ENTITY b "bbbb"><!ENTITY c "&b;&b;&b;">]><worksheet><sheetData><row><c t="str"><v>&c;</v></c></row></sheetData></worksheet>',
            ),
          },
        ]),
      /not well-formed/,
    ],
    [
      'a column far to the right',
      () => workbookOf(data(row(1, number('ZZZ1', 1)))),
      /more than 1000 columns/,
    ],
    [
      'merged cells without end',
      () =>
        workbookOf(
          `${data(row(1, number('A1', 1)))}<mergeCells>${'<mergeCell ref="A1:A9"/>'.repeat(10_001)}</mergeCells>`,
        ),
      /more than 10000 merged cells/,
    ],
    [
      'no sheet at all',
      () =>
        workbookOf('', [{ name: 'xl/workbook.xml', bytes: Buffer.from('<workbook><sheets/></workbook>') }]),
      /but not a workbook/,
    ],
    [
      'a name that climbs out of the archive',
      () => zipOf([{ name: '../../etc/passwd', bytes: Buffer.from('a') }]),
      /damaged or incomplete/,
    ],
  ])('is refused and leaves nothing behind: %s', async (_, bytes, words) => {
    const before = process.memoryUsage().rss;
    expect(await refused(bytes())).toMatch(words);
    expect(process.memoryUsage().rss - before).toBeLessThan(700e6);
  });

  it('never gets an unforeseen error, whatever byte is changed', async () => {
    const honest = workbook('merged.xlsx');
    const change = fc.tuple(fc.nat(honest.length - 1), fc.nat(255));
    await fc.assert(
      fc.asyncProperty(fc.array(change, { minLength: 1, maxLength: 4 }), async (changes) => {
        const bytes = Buffer.from(honest);
        for (const [at, byte] of changes) bytes[at] = byte;
        const response = await send(bytes);
        expect([200, 422]).toContain(response.status);
        if (response.status === 422) await problemOf(response);
      }),
      { numRuns: 150 },
    );
    expect(app.logged).toEqual([]);
  });
});

describe('JSON lines', () => {
  const lines =
    '{"time":"2025-09-01T06:30:00+02:00","readings":[127.01,126.9],"coil":{"id":"K 1"}}\n\n' +
    '{"readings":[127.2,null,127.3],"time":"2025-09-01T07:30:00+02:00"}\n';

  it('become columns by name, whatever their order, with lists and objects taken apart', async () => {
    const file = await upload(lines);
    expect(file).toMatchObject({
      shape: { format: 'json-lines', decimalMark: '.' },
      columns: ['time', 'readings.1', 'readings.2', 'coil.id', 'readings.3'],
      rows: 2,
    });
    const part = { layout: { form: 'wide' as const, valueColumns: [1, 2, 4] }, lotColumn: 3 };
    expect(await imported(file, part)).toEqual([
      ['2025-09-01T04:30:00.000Z', 'K 1', 127.01, 126.9, null],
      ['2025-09-01T05:30:00.000Z', null, 127.2, null, 127.3],
    ]);
  });

  it.each([
    ['cut off', '{"a":1}\n{"a":', /Line 2 cannot be read as JSON/],
    ['a name given twice', '{"a":1}\n{"a":1,"a":2}\n', /Line 2 .*given twice/],
    ['a bare number', '{"a":1}\n17\n', /Line 2 is neither an object nor a list/],
    ['a line too long', `{"a":1}\n{"a":"${'x'.repeat(100_001)}"}\n`, /longer than 100000 characters/],
    [
      'too many names',
      `{"a":1}\n${Array.from({ length: 20 }, (_, line) => JSON.stringify(Object.fromEntries(Array.from({ length: 60 }, (_, at) => [`k${line}-${at}`, 1])))).join('\n')}`,
      /more than 1000 names/,
    ],
    ['a number too large', '{"a":1}\n{"a":1e999}\n', /too large/],
  ])('are refused by line: %s', async (_, text, words) => {
    expect(await refused(text)).toMatch(words);
  });

  it('keep numbers exactly', async () => {
    const values = [5e-7, 127.123456789012, -0.1, 1e11];
    const file = await upload(values.map((a) => JSON.stringify({ a })).join('\n'));
    const time = { from: 'sequence', first: '2025-09-01T06:30:00Z', stepMinutes: 10 } as const;
    const samples = await preview(file, { time, layout: { form: 'wide', valueColumns: [0] } });
    expect(samples.firstSamples.map(({ readings }) => readings[0])).toEqual(values);
  });
});
