/** What the import page proposes for a file, and the mapping that its choices make. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  type Characteristic,
  ExportQuery,
  type ImportFile,
  ImportMapping,
  type SamplingPlan,
} from '../../api/schemas.ts';
import { guessColumns } from '../../web/imports/column-guess.ts';
import { exportAddress } from '../../web/imports/export-address.ts';
import { type MappingDraft, mappingFrom, startDraft, withStream } from '../../web/imports/mapping-draft.ts';
import { storeButton } from '../../web/imports/preview-words.ts';

const fileOf = (columns: string[], ...firstRows: string[][]): ImportFile => ({
  id: '0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c11',
  fileName: 'file.csv',
  bytes: 1000,
  rows: 100,
  shape: { delimiter: ',', decimalMark: '.', encoding: 'utf-8', headerRow: true },
  columns,
  firstRows,
});
const width: Characteristic = {
  id: 'C5',
  name: 'Rim width',
  kind: 'variable',
  unit: 'mm',
  decimals: 2,
  gauge: '',
  lowerNaturalBound: null,
  upperNaturalBound: null,
};
const gear = (): ImportFile => {
  const [header, ...rows] = readFileSync(new URL('../reference/gear.csv', import.meta.url), 'utf8')
    .trimEnd()
    .split('\n')
    .map((line) => line.split(','));
  return fileOf(header!, ...rows.slice(0, 20));
};
const now = Date.parse('2025-09-03T08:05:00Z');

describe('the guess', () => {
  it('takes the gear diameters as one row a reading, held together by batch', () => {
    expect(guessColumns(gear())).toMatchObject({
      form: 'long',
      valueColumns: [0],
      sampleColumn: 1,
      timeColumn: null,
      lotColumn: null,
    });
  });

  it('takes bare numbers as dates only in a column that is named so', () => {
    const row = ['45901.2708', '45901', '127.1'];
    expect(guessColumns(fileOf(['date', 'force', 'width'], row))).toMatchObject({
      timeColumn: 0,
      timeFormat: 'serial',
      valueColumns: [1, 2],
    });
    expect(guessColumns(fileOf(['a', 'force', 'width'], row))).toMatchObject({ timeColumn: null });
  });

  it('takes a table of readings as one row a sample', () => {
    const file = fileOf(
      ['time', 'lot', 'a', 'b', 'mean', 'remark'],
      ['01.09.2025 06:30', '4711', '2,31', '', '2,31', 'ok'],
      ['01.09.2025 07:30', '4711', '2,31', '2,30', '2,305', ''],
    );
    expect(guessColumns(file)).toMatchObject({
      form: 'wide',
      valueColumns: [2, 3],
      timeColumn: 0,
      timeFormat: 'dd.MM.yyyy HH:mm',
      lotColumn: 1,
    });
  });

  it('knows a file that was exported here again, in either form', () => {
    const about = ['takenAt', 'sampleId', 'revision', 'person', 'lot'];
    const row = ['2025-09-01T06:30:00+02:00', '9bf51693-221d-85e3-baa3-b115f7e3cd52', '1', 'kim', ''];
    const statistics = ['127', '0.4', '0.16'];
    expect(
      guessColumns(
        fileOf(
          [...about, 'reading1', 'reading2', 'mean', 'range', 'standardDeviation'],
          [...row, '127.2', '126.8', ...statistics],
        ),
      ),
    ).toMatchObject({ form: 'wide', valueColumns: [5, 6], timeColumn: 0, timeFormat: 'iso', lotColumn: 4 });
    const names = [...about, 'position', 'reading', 'mean', 'range', 'standardDeviation'];
    expect(
      guessColumns(
        fileOf(names, [...row, '1', '127.2', ...statistics], [...row, '2', '126.8', ...statistics]),
      ),
    ).toMatchObject({ form: 'long', valueColumns: [6], sampleColumn: 1, timeColumn: 0, lotColumn: 4 });
  });

  it('does not leave out a column for a bad cell in it, which the preview then names', () => {
    const rows = [
      ['2025-09-01 06:30', '22,1', '22,2', 'ok', ''],
      ['yesterday', 'abc', '22,0', '3', '22,1'],
      ['31/02', '', '22,1', 'ok', 'x'],
      ['2025-09-01 09:30', '22,3', '22,1', 'ok', 'y'],
    ];
    expect(guessColumns(fileOf(['time', 'M1', 'M2', 'remark', 'M3'], ...rows))).toMatchObject({
      form: 'wide',
      valueColumns: [1, 2],
      timeColumn: 0,
      timeFormat: 'iso',
    });
    const late = [
      ['gone', '1'],
      ['31/01/2025 06:30', 'x'],
      ['01/02/2025 06:30', '2'],
    ];
    expect(guessColumns(fileOf(['t', 'x'], ...late))).toMatchObject({
      valueColumns: [1],
      timeColumn: 0,
      timeFormat: 'dd/MM/yyyy HH:mm',
    });
  });

  it('finds counted parts', () => {
    const file = fileOf(['t', 'inspected', 'nonconforming'], ['2025-09-01 06:30', '310', '1']);
    expect(guessColumns(file)).toMatchObject({ inspectedColumn: 1, nonconformingColumn: 2 });
  });

  it.each([
    ['2025-09-01 06:30', 'iso'],
    ['31/01/2025 06:30', 'dd/MM/yyyy HH:mm'],
    ['01/31/2025 06:30', 'MM/dd/yyyy HH:mm'],
    ['01/02/2025 06:30', 'dd/MM/yyyy HH:mm'],
  ])('reads %s as %s', (text, format) => {
    expect(guessColumns(fileOf(['t', 'x'], [text, '1'])).timeFormat).toBe(format);
  });

  it('claims nothing of columns that are empty or text', () => {
    expect(guessColumns(fileOf(['a', 'b'], ['', 'x'], ['', 'y']))).toMatchObject({
      valueColumns: [],
      timeColumn: null,
      sampleColumn: null,
    });
  });
});

describe('the choices', () => {
  const started = startDraft(gear(), now, 120);
  const complete = withStream(started, { id: 'C5-R1', modelIds: ['Q10'] }, width, undefined);
  const mapped = (draft: MappingDraft) => mappingFrom(draft, gear().shape, 120);

  it('of a clean file need nothing but the stream', () => {
    const answer = mapped(complete);
    expect(answer).toEqual({
      mapping: {
        shape: gear().shape,
        streamId: 'C5-R1',
        modelId: 'Q10',
        unit: 'mm',
        layout: { form: 'long', valueColumn: 0, sampleColumn: 1 },
        time: { from: 'sequence', first: '2025-08-30T04:00:00.000Z', stepMinutes: 60 },
        lotColumn: null,
      },
    });
    expect(ImportMapping.safeParse('mapping' in answer && answer.mapping).error).toBeUndefined();
  });

  it('begin so early that no sample lies in the future', () => {
    const first = Date.parse(`${started.first}Z`) - 120 * 60_000;
    expect(first + (gear().rows - 1) * 60 * 60_000).toBeLessThan(now);
    expect(startDraft({ ...gear(), rows: 100_000_000 }, now, 0).first).toBe('2000-01-02T00:00');
  });

  it('say what is missing', () => {
    expect(mapped(started)).toEqual({
      problems: {
        streamId: expect.any(String),
        modelId: expect.any(String),
        unit: expect.any(String),
      },
    });
    const broken: MappingDraft = { ...complete, sampleColumn: null, first: '', stepMinutes: 'often' };
    expect(Object.keys((mapped(broken) as { problems: object }).problems).sort()).toEqual([
      'first',
      'sampleColumn',
      'stepMinutes',
    ]);
    expect(mapped({ ...complete, form: 'wide', valueColumns: [] })).toHaveProperty('problems.valueColumns');
    expect(mapped({ ...complete, form: 'count' })).toHaveProperty('problems.inspectedColumn');
    expect(mapped({ ...complete, timeFrom: 'column' })).toHaveProperty('problems.timeColumn');
    for (const stepMinutes of ['0', '-5', '100001']) {
      expect(mapped({ ...complete, stepMinutes })).toHaveProperty('problems.stepMinutes');
    }
    expect(mapped({ ...complete, stepMinutes: '7,5' })).toHaveProperty('mapping.time.stepMinutes', 7.5);
  });

  it('follow the stream: its unit, its form, its only model', () => {
    const count: Characteristic = { ...width, id: 'C3', kind: 'count', unit: '1' };
    const two = { id: 'C3-R1', modelIds: ['Q10', 'Q12'] };
    const counted = withStream(complete, two, count, undefined);
    expect(counted).toMatchObject({ form: 'count', unit: '1', modelId: 'Q10' });
    expect(withStream(started, two, count, undefined).modelId).toBe('');
    expect(withStream(counted, { id: 'C5-R1', modelIds: ['Q12', 'Q14'] }, width, undefined)).toMatchObject({
      form: 'wide',
      unit: 'mm',
      modelId: '',
    });
    const individuals = { sampleSize: 1 } as SamplingPlan;
    expect(withStream(complete, { id: 'X', modelIds: ['Q10'] }, width, individuals).form).toBe('wide');
  });
});

it('the button says how many samples it stores and how many have warnings', () => {
  const button = (samples: number, alreadyStored: number, samplesWithWarnings: number) =>
    storeButton({ samples, alreadyStored, samplesWithWarnings });
  expect(button(10, 0, 0)).toBe('Store 10 samples');
  expect(button(51, 1, 3)).toBe('Store 50 samples, 3 with warnings');
  expect(button(1, 0, 1)).toBe('Store 1 sample, 1 with a warning');
});

it('the address of an export is one that the API takes', () => {
  const choice = { streamId: 'C5-R1', modelId: 'Q10', form: 'long', decimalMark: ',' } as const;
  const address = exportAddress({ ...choice, from: '2025-09-01T04:00:00.000Z', to: null });
  const query = Object.fromEntries(new URL(address, 'http://127.0.0.1').searchParams);
  expect(ExportQuery.strict().parse(query)).toEqual({ ...choice, from: '2025-09-01T04:00:00.000Z' });
});
