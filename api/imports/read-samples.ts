import { type CountedParts, type ImportMapping, MAX_READINGS } from '../schemas.ts';
import { type BadRows, createBadRows } from './bad-rows.ts';
import { columnNames } from './column-names.ts';
import { MAX_FILE_READINGS, MAX_SAMPLES } from './import-bounds.ts';
import { readNumber } from './read-number.ts';
import type { Row } from './read-rows.ts';
import { readTime } from './read-time.ts';
import { unguardText } from './text-guard.ts';
import { UnreadableFile } from './unreadable-file.ts';

/** A sample as the file has it. */
export interface FileSample {
  /** Where it begins in the file. */
  readonly line: number;
  readonly takenAt: number;
  readonly values: readonly (number | null)[] | null;
  /** Where each of the values stands; null where all stand in one row. */
  readonly valueLines: readonly number[] | null;
  /** Cells with a reading, also those that cannot be read. */
  readonly filled: number;
  readonly count: CountedParts | null;
  readonly lot: string | null;
}

export interface ReadFile {
  /** In the order of the file. Complete only when there are no bad rows. */
  readonly samples: readonly FileSample[];
  readonly readings: number;
  readonly badRows: BadRows;
}

interface Surroundings {
  readonly utcOffsetMinutes: number;
  readonly now: number;
  /** Readings that the sampling plan asks for; null where the stream has none. */
  readonly plannedReadings: number | null;
}

const EARLIEST = Date.UTC(2000, 0, 1);
const MAX_COUNT = 1_000_000;
const MAX_LOT = 64;

interface OpenSample {
  readonly line: number;
  readonly takenAt: number | null;
  readonly lot: string | null;
  readonly values: (number | null)[];
  readonly valueLines: number[];
  filled: number;
}

/** Reads one row after the other as the mapping says; each thing that is wrong becomes a bad row. */
class SampleReader {
  readonly badRows = createBadRows();
  readonly samples: FileSample[] = [];
  readings = 0;
  private readonly names: readonly string[];
  private readonly mapping: ImportMapping;
  private readonly surroundings: Surroundings;
  /** Samples of a long form, by the text that holds their rows together, in order of appearance. */
  private readonly open = new Map<string, OpenSample>();
  private samplesBegun = 0;
  private sequenceIsWrong = false;
  private readonly mostReadings: number;

  constructor(names: readonly string[], mapping: ImportMapping, surroundings: Surroundings) {
    this.names = names;
    this.mapping = mapping;
    this.surroundings = surroundings;
    this.mostReadings = Math.min(MAX_READINGS, surroundings.plannedReadings ?? MAX_READINGS);
  }

  add(row: Row): void {
    if (row.cells.length !== this.names.length) {
      const has = row.cells.length === 1 ? '1 cell' : `${row.cells.length} cells`;
      this.badRows.add(
        row.line,
        null,
        row.cells.join(' | '),
        `this row has ${has} where the first row has ${this.names.length}`,
      );
      return;
    }
    const { layout } = this.mapping;
    if (layout.form === 'long') this.addReading(row, layout.valueColumn, layout.sampleColumn);
    else {
      const sample = this.begin(row);
      if (layout.form === 'wide') this.addWide(row, sample, layout.valueColumns);
      else this.addCount(row, sample, layout.inspectedColumn, layout.nonconformingColumn);
    }
  }

  finish(): void {
    for (const { line, takenAt, lot, ...measured } of this.open.values()) {
      if (measured.filled === 0)
        this.badRows.add(line, null, '', 'there is no reading in the rows of this sample');
      this.store({ line, takenAt, lot }, { ...measured, count: null });
    }
  }

  private problem(row: Row, column: number, problem: string): void {
    this.badRows.add(row.line, this.names[column]!, row.cells[column]!.trim(), problem);
  }

  private tooMany(): string {
    return this.surroundings.plannedReadings === this.mostReadings
      ? `this sample has more readings than the ${this.mostReadings} that the sampling plan asks for`
      : `this sample has more than ${this.mostReadings} readings`;
  }

  private begin(row: Row): { line: number; takenAt: number | null; lot: string | null } {
    this.samplesBegun += 1;
    if (this.samplesBegun > MAX_SAMPLES) {
      throw new UnreadableFile(
        `The file has more than ${MAX_SAMPLES} samples; split it into parts.`,
        row.line,
      );
    }
    return { line: row.line, takenAt: this.takenAt(row), lot: this.lot(row) };
  }

  private takenAt(row: Row): number | null {
    const { time } = this.mapping;
    if (time.from === 'sequence') {
      const takenAt =
        Date.parse(time.first) + Math.round((this.samplesBegun - 1) * time.stepMinutes * 60_000);
      const problem = this.timeProblem(takenAt);
      if (problem === null) return takenAt;
      // All further ones are as wrong as the first.
      if (!this.sequenceIsWrong) {
        const counted = `sample ${this.samplesBegun}, counted on from the first time`;
        this.badRows.add(row.line, null, new Date(takenAt).toISOString(), `${counted}: ${problem}`);
      }
      this.sequenceIsWrong = true;
      return null;
    }
    const takenAt = readTime(row.cells[time.column]!, time.format, this.surroundings.utcOffsetMinutes);
    const problem = typeof takenAt === 'number' ? this.timeProblem(takenAt) : takenAt.problem;
    if (problem === null) return takenAt as number;
    this.problem(row, time.column, problem);
    return null;
  }

  private timeProblem(takenAt: number): string | null {
    if (takenAt > this.surroundings.now) return 'this time lies in the future';
    return takenAt < EARLIEST ? 'this time lies before the year 2000' : null;
  }

  private lot(row: Row): string | null {
    const { lotColumn } = this.mapping;
    if (lotColumn === null) return null;
    const lot = unguardText(row.cells[lotColumn]!.trim());
    if (lot.length > MAX_LOT) this.problem(row, lotColumn, `a lot has at most ${MAX_LOT} characters`);
    return lot === '' ? null : lot;
  }

  /** undefined: there is something, but no number; it is named as a bad row. */
  private value(row: Row, column: number): number | null | undefined {
    const text = row.cells[column]!;
    if (text.trim() === '') return null;
    const value = readNumber(text, this.mapping.shape.decimalMark);
    if (typeof value === 'number') return value;
    this.problem(row, column, value.problem);
    return undefined;
  }

  private reading(row: Row, column: number): number | null | undefined {
    const value = this.value(row, column);
    if (typeof value === 'number') this.readings += 1;
    if (this.readings > MAX_FILE_READINGS) {
      throw new UnreadableFile(
        `The file has more than ${MAX_FILE_READINGS} readings; split it into parts.`,
        row.line,
      );
    }
    return value;
  }

  private addWide(row: Row, sample: ReturnType<SampleReader['begin']>, columns: readonly number[]): void {
    const values = columns.map((column) => this.reading(row, column));
    const filled = values.filter((value) => value !== null).length;
    if (filled === 0) {
      this.badRows.add(row.line, null, row.cells.join(' | '), 'there is no reading in this row');
    }
    // Where another row of the table has more readings, this one ends in empty cells.
    while (values.length > this.mostReadings && values.at(-1) === null) values.pop();
    if (values.length > this.mostReadings) {
      this.badRows.add(row.line, null, row.cells.join(' | '), this.tooMany());
    }
    this.store(sample, {
      values: values.map((value) => value ?? null),
      valueLines: null,
      filled,
      count: null,
    });
  }

  private addReading(row: Row, valueColumn: number, sampleColumn: number): void {
    const key = row.cells[sampleColumn]!.trim();
    if (key === '') {
      this.problem(row, sampleColumn, 'this row does not say which sample it belongs to');
      return;
    }
    let sample = this.open.get(key);
    if (sample === undefined) {
      sample = { ...this.begin(row), values: [], valueLines: [], filled: 0 };
      this.open.set(key, sample);
    } else this.compare(row, sample, key);
    const value = this.reading(row, valueColumn);
    if (value !== null) sample.filled += 1;
    // One more is kept, so that it is named once and the others of that sample are not.
    if (sample.values.length > this.mostReadings) return;
    sample.values.push(value ?? null);
    sample.valueLines.push(row.line);
    if (sample.values.length > this.mostReadings) this.problem(row, sampleColumn, this.tooMany());
  }

  /** Rows of one sample must agree on what they say of the sample. */
  private compare(row: Row, sample: OpenSample, key: string): void {
    const { time, lotColumn } = this.mapping;
    const shownKey = key.length > 40 ? `${key.slice(0, 40)}…` : key;
    const first = `sample ${shownKey} began in line ${sample.line}`;
    if (time.from === 'column') {
      const takenAt = this.takenAt(row);
      if (takenAt !== null && sample.takenAt !== null && takenAt !== sample.takenAt) {
        this.problem(row, time.column, `${first} with another time`);
      }
    }
    if (lotColumn !== null && this.lot(row) !== sample.lot) {
      this.problem(row, lotColumn, `${first} with another lot`);
    }
  }

  private addCount(
    row: Row,
    sample: ReturnType<SampleReader['begin']>,
    inspectedColumn: number,
    nonconformingColumn: number,
  ): void {
    const inspected = this.parts(row, inspectedColumn);
    const nonconforming = this.parts(row, nonconformingColumn);
    if (inspected === 0) this.problem(row, inspectedColumn, 'at least one part must have been inspected');
    else if (inspected !== null && nonconforming !== null) {
      if (nonconforming > inspected) {
        this.problem(row, nonconformingColumn, `more parts than were inspected (${inspected})`);
      }
      this.store(sample, {
        values: null,
        valueLines: null,
        filled: 0,
        count: { inspected, nonconforming },
      });
    }
  }

  private parts(row: Row, column: number): number | null {
    const value = this.value(row, column);
    if (value === undefined) return null;
    if (value === null) this.problem(row, column, 'the count is empty');
    else if (!Number.isInteger(value) || value < 0)
      this.problem(row, column, 'a count is a whole number, 0 or more');
    else if (value > MAX_COUNT) this.problem(row, column, `a count is at most ${MAX_COUNT}`);
    else return value;
    return null;
  }

  private store(
    sample: ReturnType<SampleReader['begin']>,
    measured: Pick<FileSample, 'values' | 'valueLines' | 'filled' | 'count'>,
  ): void {
    const { line, takenAt, lot } = sample;
    if (takenAt !== null) this.samples.push({ line, takenAt, lot, ...measured });
  }
}

/** The samples of a file, read as the mapping says, and every row that cannot be read so. */
export async function readSamples(
  rows: AsyncIterable<Row>,
  mapping: ImportMapping,
  surroundings: Surroundings,
): Promise<ReadFile> {
  let reader: SampleReader | null = null;
  const ready = (first: Row): SampleReader =>
    new SampleReader(columnNames(first.cells, mapping.shape.headerRow), mapping, surroundings);
  try {
    for await (const row of rows) {
      if (reader !== null) reader.add(row);
      else {
        reader = ready(row);
        if (!mapping.shape.headerRow) reader.add(row);
      }
    }
    reader?.finish();
  } catch (error) {
    if (!(error instanceof UnreadableFile)) throw error;
    reader ??= ready({ line: 1, cells: [] });
    reader.badRows.add(error.line ?? 1, null, '', error.message);
  }
  reader ??= ready({ line: 1, cells: [] });
  const { samples, readings, badRows } = reader;
  return { samples, readings, badRows };
}
