import { ProblemError } from '../problem.ts';
import type { SampleAnswer } from '../schemas.ts';
import type { TransactionMemory } from './postgres-memory.ts';
import type { Months } from './postgres-months.ts';
import type { TransactionSql } from './postgres-transaction-sql.ts';
import type { PlantMemory } from './reads.ts';
import type { Sql } from './sql.ts';
import type { EventRow, NewSample, NewSignal } from './store.ts';
import { SqlTransaction } from './transaction.ts';
import { uuidBytes } from './uuid.ts';

const placeSelect = 'select no, taken_at as "takenAt" from sample_ids where id = ?';
const answerSelect = 'select answer from samples where no = ? and taken_at = ?';

/** Mostly there is none, which the narrow table of ids tells at once, however many months there are. */
export async function acceptedAnswer(sql: Sql, id: string): Promise<SampleAnswer | null> {
  const place = await sql.one<{ no: number; takenAt: number }>(placeSelect, uuidBytes(id));
  if (place === null) return null;
  const row = await sql.one<{ answer: string }>(answerSelect, place.no, place.takenAt);
  if (row !== null) return JSON.parse(row.answer);
  const message = `The sample ${id} is stored already, and lies in the archive of its month.`;
  throw new ProblemError(409, 'In the archive', message, [{ field: 'id', message }]);
}

/** Counted along with what is stored. */
export async function sampleCount(sql: Sql): Promise<number> {
  const row = await sql.one<{ count: number }>(
    'select coalesce(sum(samples), 0) as count from sample_counts',
  );
  return row!.count;
}

/** Sample numbers fetched at once, once an import needs more than the few that a transaction begins with. */
const NUMBERS = 200;

const countSamples = `insert into sample_counts (stream_id, samples) values (?, ?)
  on conflict (stream_id) do update set samples = sample_counts.samples + excluded.samples`;

/** What a transaction knows when it begins. */
export interface Begun {
  readonly plantRevision: number;
  /** For the next samples. */
  readonly numbers: readonly number[];
  /** Whether this sample was there, and its answer; null: was not asked. */
  readonly asked: { readonly sampleId: string; readonly answer: SampleAnswer | null } | null;
}

/** Writes over a connection of its own, which holds the locks of what is written. */
export class PostgresTransaction extends SqlTransaction {
  readonly #plantRevision: number;
  readonly #months: Months;
  readonly #added = new Map<string, number>();
  readonly #numbers: number[];
  #asked: Begun['asked'];
  readonly #sql: TransactionSql;

  constructor({
    sql,
    plant,
    memory,
    plantRevision,
    numbers,
    asked,
    months,
  }: Begun & {
    readonly sql: TransactionSql;
    readonly plant: PlantMemory;
    readonly memory: TransactionMemory;
    readonly months: Months;
  }) {
    super(sql, plant, memory);
    this.#sql = sql;
    this.#numbers = [...numbers];
    this.#plantRevision = plantRevision;
    this.#asked = asked;
    this.#months = months;
  }

  get changedPlant(): boolean {
    return this.plantChangedHere;
  }

  override async finish(): Promise<void> {
    await super.finish();
    for (const [streamId, samples] of this.#added) await this.#sql.run(countSamples, streamId, samples);
  }

  // Nobody else changes the plant while this transaction runs.
  override async plantRevision(): Promise<number> {
    return this.plantChangedHere ? super.plantRevision() : this.#plantRevision;
  }

  override sampleCount(): Promise<number> {
    return sampleCount(this.sql);
  }

  override async acceptedAnswer(id: string): Promise<SampleAnswer | null> {
    const asked = this.#asked;
    // What the transaction has written since then it has to ask for.
    this.#asked = null;
    return asked?.sampleId === id ? asked.answer : acceptedAnswer(this.sql, id);
  }

  // Not the highest one so far: another node may have taken the next already.
  override async newSignalIds(count: number): Promise<readonly number[]> {
    const rows = await this.sql.all<{ id: number }>(
      `select nextval('signals_id_seq') as id from generate_series(1, ?)`,
      count,
    );
    return rows.map(({ id }) => id);
  }

  override async addSample(sample: NewSample): Promise<number> {
    await this.#months.make(sample.takenAt);
    // Given out under the lock of the stream, so that its samples are numbered in the order of their arrival.
    if (this.#numbers.length === 0) {
      const rows = await this.sql.all<{ no: number }>(
        `select nextval('samples_no_seq') as no from generate_series(1, ?)`,
        NUMBERS,
      );
      this.#numbers.push(...rows.map((row) => row.no));
    }
    const no = await super.addSample(sample);
    this.#added.set(sample.streamId, (this.#added.get(sample.streamId) ?? 0) + 1);
    return no;
  }

  protected override nextSampleNo(): number | null {
    return this.#numbers.shift() ?? null;
  }

  override async addSignal(signal: NewSignal): Promise<void> {
    await this.#months.make(signal.takenAt);
    await super.addSignal(signal);
  }

  override async addEvent(event: EventRow): Promise<void> {
    await this.#months.make(event.at);
    await super.addEvent(event);
  }
}
