/** How the text of a file becomes rows, numbers, times and samples. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createEncodingDetector } from '../../api/imports/detect-encoding.ts';
import type { FileBytes } from '../../api/imports/file-bytes.ts';
import { guessShape } from '../../api/imports/guess-shape.ts';
import { MAX_BAD_ROWS, MAX_SAMPLES } from '../../api/imports/import-bounds.ts';
import { readNumber } from '../../api/imports/read-number.ts';
import { parseRows, readRows } from '../../api/imports/read-rows.ts';
import { readSamples } from '../../api/imports/read-samples.ts';
import { readTime } from '../../api/imports/read-time.ts';
import { guardText, unguardText } from '../../api/imports/text-guard.ts';
import type { CsvShape, DateFormat, ImportMapping } from '../../api/schemas.ts';

const fileOf = (content: Buffer | string): FileBytes => {
  const bytes = Buffer.from(content);
  return {
    bytes: bytes.length,
    async *read(from, to) {
      yield bytes.subarray(from, to);
    },
  };
};

async function* pieces(...texts: string[]): AsyncGenerator<string> {
  yield* texts;
}
const collect = async <T>(list: AsyncIterable<T>): Promise<T[]> => {
  const all: T[] = [];
  for await (const item of list) all.push(item);
  return all;
};
const rowsOf = async (text: string, delimiter: CsvShape['delimiter'] = ',') =>
  (await collect(parseRows(pieces(text), delimiter))).map(({ line, cells }) => [line, ...cells]);

const encodingOf = (...chunks: (Uint8Array | string)[]) => {
  const detector = createEncodingDetector();
  for (const chunk of chunks) detector.add(typeof chunk === 'string' ? Buffer.from(chunk) : chunk);
  return detector.finish();
};

describe('encoding', () => {
  it('is UTF-8 where every byte fits, with or without a mark, cut anywhere', () => {
    expect(encodingOf('Höhe;1,5')).toBe('utf-8');
    expect(encodingOf('\ufeffHöhe;1,5')).toBe('utf-8');
    const bytes = Buffer.from('aé€😀b');
    for (let at = 0; at <= bytes.length; at += 1) {
      expect(encodingOf(bytes.subarray(0, at), bytes.subarray(at))).toBe('utf-8');
    }
    expect(encodingOf('1')).toBe('utf-8');
  });

  it('is windows-1252 where UTF-8 does not fit, even in the last byte', () => {
    expect(encodingOf(Buffer.from('Höhe', 'latin1'))).toBe('windows-1252');
    expect(encodingOf(Buffer.from('1;2;µ', 'latin1'))).toBe('windows-1252');
    expect(encodingOf(Buffer.concat([Buffer.from('x'.repeat(70_000)), Buffer.of(0xe4)]))).toBe(
      'windows-1252',
    );
  });

  it('is UTF-16 by its mark', () => {
    expect(encodingOf(Buffer.from('\ufeffa;b', 'utf16le'))).toBe('utf-16le');
  });

  it.each([
    ['an old workbook', Buffer.of(0xd0, 0xcf, 0x11, 0xe0, 0xa1)],
    ['bytes with zeros', Buffer.from('abc\0def')],
    ['a late zero', Buffer.concat([Buffer.alloc(70_000, 65), Buffer.of(0)])],
    ['UTF-16 with the high byte first', Buffer.of(0xfe, 0xff, 0, 65)],
    ['UTF-32', Buffer.of(0xff, 0xfe, 0, 0, 65, 0, 0, 0)],
    ['a zero in UTF-16', Buffer.from('\ufeffa;b\0', 'utf16le')],
    ['broken UTF-16', Buffer.of(0xff, 0xfe, 0x00, 0xd8, 0x41, 0x00)],
  ])('is refused for %s, with what to do', (_, bytes) => {
    expect(() => encodingOf(bytes)).toThrow(/or as CSV/);
  });

  it('reads windows-1252 as the standard says, the signs between 0x80 and 0x9f included', async () => {
    const file = fileOf(Buffer.of(0x80, 0x2c, 0x96, 0x2c, 0xb5, 0x2c, 0x9c));
    const shape = { delimiter: ',', decimalMark: '.', encoding: 'windows-1252', headerRow: false } as const;
    expect((await collect(readRows(file, shape)))[0]?.cells).toEqual(['€', '–', 'µ', 'œ']);
  });
});

describe('rows', () => {
  it('are numbered by the line they begin in', async () => {
    const file = fileOf('a,b\r\n\r\n"x\r\ny",2\r\n3,"4\r\n5"\r6,7\n , \n8,9');
    const shape = { delimiter: ',', decimalMark: '.', encoding: 'utf-8', headerRow: false } as const;
    const rows = await collect(readRows(file, shape));
    expect(rows).toEqual([
      { line: 1, cells: ['a', 'b'] },
      { line: 3, cells: ['x\ny', '2'] },
      { line: 5, cells: ['3', '4\n5'] },
      { line: 7, cells: ['6', '7'] },
      { line: 9, cells: ['8', '9'] },
    ]);
  });

  it('stand apart by any run of blanks', async () => {
    expect(await rowsOf('  Y   BATCH\n 1.006\t  1  \n\n"a b"  ""\n', ' ')).toEqual([
      [1, 'Y', 'BATCH'],
      [2, '1.006', '1'],
      [4, 'a b', ''],
    ]);
  });

  it('survive a stray quotation mark', async () => {
    expect(await rowsOf('a,b\n5" pipe,2\n"x"y,3\n')).toEqual([
      [1, 'a', 'b'],
      [2, '5" pipe', '2'],
      [3, '"x"y', '3'],
    ]);
  });

  it.each([
    ['an unclosed quotation mark', 'a,b\n1,2\n3,"4\n5,6\n', /From line 3 on: a quotation mark/],
    ['a million columns', `a,b\n${'1,'.repeat(1_000_000)}\n`, /From line 2 on: a row is longer/],
    ['a cell without end', `a,b\n1,${'9'.repeat(200_000)}\n`, /From line 2 on: a row is longer/],
    ['an unclosed quotation mark in a long file', `a,b\n1,"${'9,9\n'.repeat(100_000)}`, /From line 2 on/],
    ['too many columns', `${'1,'.repeat(1001)}\n`, /Line 1 has 1002 columns/],
  ])('end where they cannot be read further: %s', async (_, text, message) => {
    await expect(rowsOf(text)).rejects.toThrow(message);
  });

  it('are refused in an encoding that does not fit', async () => {
    const file = fileOf(Buffer.from('Höhe,1', 'latin1'));
    const shape = { delimiter: ',', decimalMark: '.', encoding: 'utf-8', headerRow: false } as const;
    await expect(collect(readRows(file, shape))).rejects.toThrow(/not written in UTF-8/);
  });

  it('property: any table, written in any supported shape, reads back the same', async () => {
    const anyCell = fc
      .string({ unit: 'binary', maxLength: 12 })
      .map((text) => text.replace(/[\0\r\ufeff]/g, '_'));
    const latinCell = fc.string({ unit: fc.constantFrom(...'aZ09 .,;|\t"\n-=µ€äÿŠ'), maxLength: 12 });
    const table = (cell: fc.Arbitrary<string>) =>
      fc
        .integer({ min: 1, max: 6 })
        .chain((width) =>
          fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 12 }),
        )
        .filter((rows) => rows.every((row) => row.some((text) => text.trim() !== '')));
    const shapes = fc.record({
      delimiter: fc.constantFrom<CsvShape['delimiter'][]>(',', ';', '\t', '|', ' '),
      lineEnd: fc.constantFrom('\n', '\r\n', '\r'),
      lastLineEnds: fc.boolean(),
      alwaysQuoted: fc.boolean(),
      blanks: fc.constantFrom(' ', '   ', '\t', ' \t '),
    });
    const written = fc.oneof(
      fc.record({ rows: table(anyCell), as: fc.constantFrom('utf-8', 'utf-8 with mark', 'utf-16le') }),
      fc.record({ rows: table(latinCell), as: fc.constant('windows-1252') }),
    );
    const toLatin: Readonly<Record<string, number>> = { '€': 0x80, Š: 0x8a };
    await fc.assert(
      fc.asyncProperty(written, shapes, async ({ rows, as }, shape) => {
        const { delimiter, lineEnd } = shape;
        const write = (text: string): string =>
          shape.alwaysQuoted ||
          text.includes(delimiter) ||
          /["\n]/.test(text) ||
          (delimiter === ' ' && (text === '' || text.includes('\t')))
            ? `"${text.replaceAll('"', '""').replaceAll('\n', lineEnd)}"`
            : text;
        const between = delimiter === ' ' ? shape.blanks : delimiter;
        const text =
          rows.map((row) => row.map(write).join(between)).join(lineEnd) + (shape.lastLineEnds ? lineEnd : '');
        const bytes =
          as === 'windows-1252'
            ? Buffer.from([...text].map((character) => toLatin[character] ?? character.charCodeAt(0)))
            : as === 'utf-16le'
              ? Buffer.from(`\ufeff${text}`, 'utf16le')
              : Buffer.from(as === 'utf-8' ? text : `\ufeff${text}`);
        const file = fileOf(bytes);
        const encoding = as === 'utf-8 with mark' ? 'utf-8' : (as as CsvShape['encoding']);
        const read = await collect(
          readRows(file, { delimiter, decimalMark: '.', encoding, headerRow: false }),
        );
        expect(read.map(({ cells }) => cells)).toEqual(rows);
      }),
      { numRuns: 400 },
    );
  });
});

describe('the guess', () => {
  const guess = (text: string) => guessShape(text, 'utf-8');
  it.each<[string, string, Omit<CsvShape, 'encoding'>]>([
    ['commas', 'diameter,batch\n1.006,1\n0.996,1\n', { delimiter: ',', decimalMark: '.', headerRow: true }],
    ['semicolons', 'd;b\n1,006;1\n0,996;1\n', { delimiter: ';', decimalMark: ',', headerRow: true }],
    ['no header', '1,006;1,5\n0,996;1,5\n', { delimiter: ';', decimalMark: ',', headerRow: false }],
    ['tabs', 'a\tb c\n1.5\tx y\n1.6\tz\n', { delimiter: '\t', decimalMark: '.', headerRow: true }],
    ['bars', 'a|b\n1.5|2\n', { delimiter: '|', decimalMark: '.', headerRow: true }],
    [
      'blanks',
      ' Y   BATCH\n 1.006   1.0\n 0.996  10.0\n',
      { delimiter: ' ', decimalMark: '.', headerRow: true },
    ],
    ['one column', 'diameter\n1.006\n0.996\n', { delimiter: ',', decimalMark: '.', headerRow: true }],
    ['one column, comma', 'diameter\n1,006\n0,996\n', { delimiter: ';', decimalMark: ',', headerRow: true }],
    [
      'times',
      'time;lot;r1;r2\n01.09.2025 06:30;K 1, left;2,31;2,3\n01.09.2025 07:30;K 1;2,29;2,32\n',
      { delimiter: ';', decimalMark: ',', headerRow: true },
    ],
    ['quoted commas', '"a","b"\n"1,5","2,5"\n', { delimiter: ',', decimalMark: ',', headerRow: true }],
    ['one ragged row', 'a,b\n1.5,2\n1.5\n1.6,2\n', { delimiter: ',', decimalMark: '.', headerRow: true }],
    ['an unclosed mark', 'a,b\n1.5,2\n1.5,"2\n', { delimiter: ',', decimalMark: '.', headerRow: true }],
  ])('finds %s', async (_, text, shape) => {
    expect(await guess(text)).toEqual({ ...shape, encoding: 'utf-8' });
  });

  it('property: finds the shape of any table of decimal numbers under a header', async () => {
    const shapes = fc.constantFrom<[CsvShape['delimiter'], '.' | ','][]>(
      [',', '.'],
      [';', ','],
      [';', '.'],
      ['\t', ','],
      ['\t', '.'],
      ['|', ','],
      [' ', '.'],
      [' ', ','],
    );
    const tables = fc.integer({ min: 2, max: 8 }).chain((width) =>
      fc.array(fc.array(fc.integer({ min: -99_999, max: 99_999 }), { minLength: width, maxLength: width }), {
        minLength: 2,
        maxLength: 20,
      }),
    );
    await fc.assert(
      fc.asyncProperty(shapes, tables, async ([delimiter, decimalMark], table) => {
        const header = table[0]!.map((_, index) => `r${index + 1}`);
        const lines = table.map((row) =>
          row.map((value) => (value / 100).toFixed(2).replace('.', decimalMark)),
        );
        const text = [header, ...lines].map((row) => row.join(delimiter)).join('\n');
        expect(await guess(text)).toEqual({ delimiter, decimalMark, encoding: 'utf-8', headerRow: true });
      }),
    );
  });
});

describe('numbers and times', () => {
  it('reads a number with its mark only, and says what is wrong', () => {
    expect(readNumber(' -1,5 ', ',')).toBe(-1.5);
    expect(readNumber('\u22121.5', '.')).toBe(-1.5);
    expect(readNumber('1.5e-3', '.')).toBe(0.0015);
    expect(readNumber('.5', '.')).toBe(0.5);
    for (const [text, mark, problem] of [
      ['1.5', ',', /decimal point/],
      ['1,5', '.', /decimal comma/],
      ['1.234,5', ',', /not a number/],
      ['1 234', '.', /not a number/],
      ['2.3 mm', '.', /not a number/],
      ['NaN', '.', /not a number/],
      ['Infinity', '.', /not a number/],
      ['0x10', '.', /not a number/],
      ['1e400', '.', /too large/],
      ['1e13', '.', /too large/],
    ] as const) {
      expect(readNumber(text, mark)).toMatchObject({ problem: expect.stringMatching(problem) });
    }
  });

  it.each<[string, DateFormat, string]>([
    ['2025-09-01T06:30:00+02:00', 'iso', '2025-09-01T04:30:00.000Z'],
    ['2025-09-01T06:30:00.250Z', 'iso', '2025-09-01T06:30:00.250Z'],
    ['2025-09-01 06:30', 'iso', '2025-09-01T04:30:00.000Z'],
    ['2025-09-01 06:30', 'yyyy-MM-dd HH:mm', '2025-09-01T04:30:00.000Z'],
    ['1.9.2025 6:30', 'dd.MM.yyyy HH:mm', '2025-09-01T04:30:00.000Z'],
    ['01.09.2025 06:30:15', 'dd.MM.yyyy HH:mm', '2025-09-01T04:30:15.000Z'],
    ['02/09/2025 06:30', 'dd/MM/yyyy HH:mm', '2025-09-02T04:30:00.000Z'],
    ['09/02/2025 06:30', 'MM/dd/yyyy HH:mm', '2025-09-02T04:30:00.000Z'],
    ['29.02.2024 00:00', 'dd.MM.yyyy HH:mm', '2024-02-28T22:00:00.000Z'],
    // A night on which clocks of many countries spring forward; the plant's do not.
    ['30.03.2025 02:30', 'dd.MM.yyyy HH:mm', '2025-03-30T00:30:00.000Z'],
  ])('reads %s as %s in plant time', (text, format, utc) => {
    expect(new Date(readTime(text, format, 120) as number).toISOString()).toBe(utc);
  });

  it.each<[string, DateFormat, RegExp]>([
    ['31.02.2025 06:30', 'dd.MM.yyyy HH:mm', /no such date/],
    ['29.02.2025 06:30', 'dd.MM.yyyy HH:mm', /no such date/],
    ['13/31/2025 06:30', 'MM/dd/yyyy HH:mm', /no such date/],
    ['2025-09-01 24:00', 'iso', /no such date/],
    ['2025-09-01 06:60', 'iso', /no such date/],
    ['01.09.25 06:30', 'dd.MM.yyyy HH:mm', /not a time written like/],
    ['01.09.2025', 'dd.MM.yyyy HH:mm', /not a time written like/],
    ['09/01/2025 06:30', 'dd.MM.yyyy HH:mm', /not a time written like/],
    ['  ', 'iso', /empty/],
  ])('refuses %s as %s', (text, format, problem) => {
    expect(readTime(text, format, 120)).toMatchObject({ problem: expect.stringMatching(problem) });
  });
});

it('property: guarding text and taking the guard off gives the text, and no guarded text runs', () => {
  fc.assert(
    fc.property(fc.string({ unit: fc.constantFrom(...`='"+-@\t\r\n＝＋－＠1a `), maxLength: 8 }), (text) => {
      expect(unguardText(guardText(text))).toBe(text);
      expect(guardText(text)).not.toMatch(/^[=+\-@\t\r\n＝＋－＠]/);
    }),
  );
});

it.each([
  // Days counted by an independent spreadsheet library: openpyxl.utils.datetime.from_excel, version 3.1.5.
  ['45901.270833333336', '2025-09-01T06:30:00.000Z'],
  ['45901,25', '2025-09-01T06:00:00.000Z'],
  ['61', '1900-03-01T00:00:00.000Z'],
  ['2958465', '9999-12-31T00:00:00.000Z'],
])('the bare number %s is the date %s', (text, time) => {
  expect(readTime(text, 'serial', 0)).toBe(Date.parse(time));
  expect(readTime(text, 'serial', 120)).toBe(Date.parse(time) - 120 * 60_000);
});
it.each(['60', '0', '-1', '2958466', '1e5', '45901.', 'x', ''])('%j is no date as a bare number', (text) => {
  expect(readTime(text, 'serial', 0)).toMatchObject({ problem: expect.stringContaining('time') });
});

describe('samples', () => {
  const now = Date.parse('2025-09-03T08:00:00Z');
  const mapping = (part: Partial<ImportMapping>): ImportMapping => ({
    shape: { delimiter: ',', decimalMark: '.', encoding: 'utf-8', headerRow: true },
    streamId: 'C5-R1',
    modelId: 'Q10',
    unit: 'mm',
    layout: { form: 'long', valueColumn: 0, sampleColumn: 1 },
    time: { from: 'sequence', first: '2025-09-01T00:00:00Z', stepMinutes: 60 },
    lotColumn: null,
    ...part,
  });
  const read = async (
    text: string,
    part: Partial<ImportMapping> = {},
    plannedReadings: number | null = null,
  ) => {
    const { samples, readings, badRows } = await readSamples(parseRows(pieces(text), ','), mapping(part), {
      utcOffsetMinutes: 120,
      now,
      plannedReadings,
    });
    return { samples, readings, bad: badRows.rows, count: badRows.count() };
  };
  const wide: Pick<ImportMapping, 'layout'> = { layout: { form: 'wide', valueColumns: [1, 2] } };
  const timed = { time: { from: 'column', column: 0, format: 'iso' } } as const;

  it('of the long form are held together by their text, apart or not, in order of appearance', async () => {
    const { samples, readings, bad } = await read('d,b\n1,x\n2,y\n3,x\n,y\n4,10\n5,2\n');
    expect(bad).toEqual([]);
    expect(readings).toBe(5);
    expect(samples.map(({ values }) => values)).toEqual([[1, 3], [2, null], [4], [5]]);
    expect(samples.map(({ takenAt }) => new Date(takenAt).getUTCHours())).toEqual([0, 1, 2, 3]);
  });

  it('of the wide form are one row each, an empty cell a missing reading', async () => {
    const text = 't,a,b\n2025-09-01 06:30,1.5,\n2025-09-01 07:30,1.6,1.7\n';
    const { samples, bad } = await read(text, { ...wide, ...timed });
    expect(bad).toEqual([]);
    expect(samples.map(({ values }) => values)).toEqual([
      [1.5, null],
      [1.6, 1.7],
    ]);
  });

  it('of counted parts are one row each', async () => {
    const count = { layout: { form: 'count', inspectedColumn: 1, nonconformingColumn: 2 } } as const;
    const rows = ['310,0', '310,311', '0,0', '310,', '310,1.5', '310,-1', '9999999,1'];
    const text = `t,n,x\n${rows.map((row, index) => `2025-09-01 0${index}:30,${row}`).join('\n')}\n`;
    const { samples, bad } = await read(text, { ...count, ...timed });
    expect(samples[0]?.count).toEqual({ inspected: 310, nonconforming: 0 });
    expect(bad.map(({ line, column, text: cell, problem }) => [line, column, cell, problem])).toEqual([
      [3, 'x', '311', 'more parts than were inspected (310)'],
      [4, 'n', '0', 'at least one part must have been inspected'],
      [5, 'x', '', 'the count is empty'],
      [6, 'x', '1.5', 'a count is a whole number, 0 or more'],
      [7, 'x', '-1', 'a count is a whole number, 0 or more'],
      [8, 'n', '9999999', 'a count is at most 1000000'],
    ]);
  });

  it('names every bad row by line, column, text and problem', async () => {
    const text = [
      't,a,b',
      '2025-09-01 06:30,1.5,1.6',
      '2025-09-01 07:30,1.5',
      '2025-09-01 08:30,"1,5",x',
      ',1.5,1.6',
      '2025-09-04 06:30,1.5,1.6',
      '1999-09-01 06:30,1.5,1.6',
      '2025-02-31 06:30,1.5,1.6',
      '2025-09-01 09:30,,',
      '2025-09-01 10:30,1.5,1e13',
      '2025-09-01 11:30,1.5,1.6,1.7',
    ].join('\n');
    const { bad, count, samples } = await read(text, { ...wide, ...timed });
    expect(bad.map(({ line, column, text: cell }) => [line, column, cell])).toEqual([
      [3, null, '2025-09-01 07:30 | 1.5'],
      [4, 'a', '1,5'],
      [4, 'b', 'x'],
      [5, 't', ''],
      [6, 't', '2025-09-04 06:30'],
      [7, 't', '1999-09-01 06:30'],
      [8, 't', '2025-02-31 06:30'],
      [9, null, '2025-09-01 09:30 |  | '],
      [10, 'b', '1e13'],
      [11, null, '2025-09-01 11:30 | 1.5 | 1.6 | 1.7'],
    ]);
    for (const [index, problem] of [
      'has 2 cells where the first row has 3',
      'decimal comma',
      'not a number',
      'empty',
      'in the future',
      'before the year 2000',
      'no such date',
      'no reading',
      'too large',
      'has 4 cells where the first row has 3',
    ].entries()) {
      expect(bad[index]?.problem).toContain(problem);
    }
    expect(count).toBe(10);
    expect(samples[0]?.values).toEqual([1.5, 1.6]);
  });

  it('of one text must agree on time and lot', async () => {
    const text = [
      't,b,d,lot',
      '2025-09-01 06:30,x,1,K1',
      '2025-09-01 06:31,x,1,K1',
      '2025-09-01 06:30,x,1,K2',
      '2025-09-01 06:30,,1,K1',
    ].join('\n');
    const { bad } = await read(text, {
      ...timed,
      layout: { form: 'long', valueColumn: 2, sampleColumn: 1 },
      lotColumn: 3,
    });
    expect(bad.map(({ line, column, problem }) => [line, column, problem])).toEqual([
      [3, 't', 'sample x began in line 2 with another time'],
      [4, 'lot', 'sample x began in line 2 with another lot'],
      [5, 'b', 'this row does not say which sample it belongs to'],
    ]);
  });

  it('have no more readings than the plan asks for, and no more than a sample can hold', async () => {
    const text = `d,b\n${'1,x\n'.repeat(7)}2,y\n`;
    expect((await read(text, {}, 7)).count).toBe(0);
    const planned = await read(text, {}, 5);
    expect(planned.bad).toMatchObject([{ line: 7, column: 'b' }]);
    expect(planned.bad[0]?.problem).toContain('5 that the sampling plan asks for');
    expect((await read(`d,b\n${'1,x\n'.repeat(500)}`)).bad).toMatchObject([{ line: 102 }]);

    const table = 't,a,b\n2025-09-01 06:30,1,\n2025-09-01 07:30,1,2\n2025-09-01 08:30,,2\n';
    const narrow = await read(table, { ...wide, ...timed }, 1);
    expect(narrow.samples[0]?.values).toEqual([1]);
    expect(narrow.bad.map(({ line }) => line)).toEqual([3, 4]);
  });

  it('are counted on in time, and not into the future', async () => {
    const late = { time: { from: 'sequence', first: '2025-09-03T07:00:00Z', stepMinutes: 60 } } as const;
    const { bad } = await read('d,b\n1,1\n2,2\n3,3\n', late);
    expect(bad).toMatchObject([{ line: 4, column: null, text: '2025-09-03T09:00:00.000Z' }]);
  });

  it('are bounded, and bad rows are counted beyond those shown', async () => {
    const many = await read(`d,b\n${'x,1\n'.repeat(700)}`, { layout: { form: 'wide', valueColumns: [0] } });
    expect(many.bad).toHaveLength(MAX_BAD_ROWS);
    // One more: a time for each of 700 hours leads into the future.
    expect(many.count).toBe(701);
    const minutes = { time: { from: 'sequence', first: '2020-01-01T00:00:00Z', stepMinutes: 1 } } as const;
    const huge = await read(`d,b\n${'1,1\n'.repeat(MAX_SAMPLES + 5)}`, {
      ...minutes,
      layout: { form: 'wide', valueColumns: [0] },
    });
    expect(huge.bad).toMatchObject([{ line: MAX_SAMPLES + 2, problem: expect.stringContaining('split it') }]);
  });

  it('show long text cut short', async () => {
    const { bad } = await read(`d,b\n${'x'.repeat(5000)},1\n`);
    expect(bad[0]?.text.length).toBeLessThan(130);
  });

  it('end with the row from which the file cannot be read', async () => {
    const { bad } = await read('d,b\n1,1\n"2,2\n3,3\n');
    expect(bad).toMatchObject([{ line: 3, column: null }]);
  });
});
