import { randomUUID } from 'node:crypto';
import type { Clock } from '../clock.ts';
import { conflict, ProblemError, unknown } from '../problem.ts';
import type { ImportProgress } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import type { Store } from '../store/store.ts';
import { createEncodingDetector, type FileContent } from './detect-encoding.ts';
import type { FileBytes } from './file-bytes.ts';
import { FILE_LIFETIME, MAX_FILE_BYTES, MAX_WAITING_FILES } from './import-bounds.ts';

/** One row and one transaction: short enough that no sample waits for it. Files that wait were written with it. */
const PIECE_BYTES = 256 * 1024;
/** Whoever works on a file says so this often, and counts as dead when it has said nothing for so long. */
const SAY_EVERY = 1_000;
const CLAIM_MILLISECONDS = 60_000;

const DIED = 'Nothing of the file was stored. The server stopped in the middle; import it once more.';

const tooLarge = (): ProblemError => {
  const message = `The file is larger than ${MAX_FILE_BYTES / 1024 / 1024} MiB. Split it into parts and import them one by one.`;
  return new ProblemError(413, 'File too large', message, [{ field: 'body', message }]);
};
const tooMany = (): ProblemError =>
  new ProblemError(
    503,
    'Not taken in',
    `${MAX_WAITING_FILES} files are being uploaded or imported at this moment; try again in a minute.`,
  );
const lost = (): ProblemError =>
  conflict('id', 'Another server took over this file, because this one did not answer; nothing was stored.');

export interface ReceivedFile extends FileBytes {
  readonly content: FileContent;
}

export interface WaitingFile extends FileBytes {
  readonly id: string;
  readonly fileName: string;
  /** Somebody works on it. */
  readonly busy: boolean;
  readonly progress: ImportProgress;
}

interface FileRow {
  readonly name: string;
  readonly state: ImportProgress['state'] | 'arriving';
  readonly bytes: number;
  readonly done: number;
  readonly total: number;
  readonly problem: string | null;
  readonly claim: string | null;
  readonly claimedUntil: number | null;
}

/** The right to work on a file, which one process has at a time. */
export interface Claim {
  /** From now on it is being stored. */
  start(total: number): Promise<void>;
  /** In the transaction that stores the samples: either both are durable or neither. */
  finish(sql: Sql): Promise<void>;
  /** At the end, however it came; `problem`: why nothing was stored. What is stored stays `done`. */
  release(problem?: string | null): Promise<void>;
}

/**
 * Files that were uploaded and wait for their import, in the database, so that any node works with them. `alone`: no
 * other process does, so what is claimed when this one begins was left by one that died.
 */
export function createWaitingFiles({
  store,
  clock,
  alone,
}: {
  readonly store: Store;
  readonly clock: Clock;
  readonly alone: boolean;
}) {
  const write = <T>(work: (sql: Sql) => Promise<T>): Promise<T> =>
    store.transaction(({ sql }) => work(sql), []);

  /** What a process left when it died. Its own transaction fails from now on, should it only have been slow. */
  async function takeFromDead(sql: Sql, now: number): Promise<void> {
    await sql.run(`delete from import_files where state = 'arriving' and claimed_until < ?`, now);
    await sql.run(
      `update import_files set claim = null, claimed_until = null, done = 0,
         problem = case when state = 'running' then ? else problem end,
         state = case when state = 'running' then 'failed' else state end
       where claim is not null and claimed_until < ?`,
      DIED,
      now,
    );
  }

  /** Lets go of files that waited too long, and of the oldest where there are more than `most`. */
  async function sweep(sql: Sql, most: number): Promise<void> {
    const now = clock.now();
    await takeFromDead(sql, now);
    await sql.run('delete from import_files where claim is null and at < ?', now - FILE_LIFETIME);
    const rows = await sql.all<{ id: string; claim: string | null }>(
      'select id, claim from import_files order by no',
    );
    const idle = rows.filter(({ claim }) => claim === null);
    for (const { id } of idle.slice(0, Math.max(0, rows.length - most)))
      await sql.run('delete from import_files where id = ? and claim is null', id);
  }

  /** Keeps a claim for as long as this process lives; gives the function that stops. */
  function keepSaying(claim: string, done: () => number): () => void {
    let saying = false;
    const timer = setInterval(async () => {
      // Behind an import in SQLite all others wait.
      if (saying) return;
      saying = true;
      await write((sql) =>
        sql.run(
          'update import_files set claimed_until = ?, done = ? where claim = ?',
          clock.now() + CLAIM_MILLISECONDS,
          done(),
          claim,
        ),
      ).catch(() => {});
      saying = false;
    }, SAY_EVERY);
    timer.unref();
    return () => clearInterval(timer);
  }

  /** @throws where the claim was lost */
  async function changeClaimed(sql: Sql, change: string, ...parameters: unknown[]): Promise<void> {
    const changed = await sql.one(
      `update import_files set ${change} where claim = ? returning id`,
      ...parameters,
    );
    if (changed === null) throw lost();
  }

  function bytesOf(id: string, bytes: number): FileBytes {
    // Whoever reads an archive comes back to the same piece again and again.
    let newest: { readonly no: number; readonly bytes: Buffer } | null = null;
    const piece = async (no: number): Promise<Buffer> => {
      if (newest?.no !== no) {
        const row = await store.sql.one<{ bytes: Buffer }>(
          'select bytes from import_file_pieces where file_id = ? and no = ?',
          id,
          no,
        );
        if (row === null) throw unknown('uploaded file', id, 'id');
        newest = { no, bytes: row.bytes };
      }
      return newest!.bytes;
    };
    return {
      bytes,
      async *read(from = 0, to = bytes) {
        let at = from;
        while (at < Math.min(to, bytes)) {
          const no = Math.floor(at / PIECE_BYTES);
          const begin = at - no * PIECE_BYTES;
          const part = (await piece(no)).subarray(begin, begin + to - at);
          if (part.length === 0) throw new Error(`Piece ${no} of the uploaded file ${id} is too short.`);
          yield part;
          at += part.length;
        }
      },
    };
  }

  const rowOf = (id: string): Promise<FileRow | null> =>
    store.sql.one<FileRow>(
      `select name, state, bytes, done, total, problem, claim, claimed_until as "claimedUntil"
         from import_files where id = ?`,
      id,
    );

  async function receivePieces(
    id: string,
    claim: string,
    body: ReadableStream<Uint8Array> | null,
  ): Promise<ReceivedFile> {
    const reader = body?.getReader();
    const detector = createEncodingDetector();
    const piece = Buffer.allocUnsafe(PIECE_BYTES);
    let held = 0;
    let bytes = 0;
    let no = 0;
    const keep = async (): Promise<void> => {
      await write(async (sql) => {
        await changeClaimed(sql, 'bytes = ?', bytes, claim);
        await sql.run(
          'insert into import_file_pieces (file_id, no, bytes) values (?, ?, ?)',
          id,
          no,
          piece.subarray(0, held),
        );
      });
      no += 1;
      held = 0;
    };
    try {
      for (;;) {
        const sent = await reader?.read();
        if (sent === undefined || sent.done) break;
        bytes += sent.value.byteLength;
        if (bytes > MAX_FILE_BYTES) throw tooLarge();
        detector.add(sent.value);
        for (let taken = 0; taken < sent.value.byteLength; ) {
          const part = sent.value.subarray(taken, taken + PIECE_BYTES - held);
          piece.set(part, held);
          held += part.byteLength;
          taken += part.byteLength;
          if (held === PIECE_BYTES) await keep();
        }
      }
      const content = detector.finish();
      if (held > 0) await keep();
      return { content, ...bytesOf(id, bytes) };
    } catch (error) {
      // Not awaited: a sender that never ends would never let the cancel end either.
      reader?.cancel().catch(() => {});
      throw error;
    }
  }

  return {
    /**
     * Takes in a file while it arrives, and keeps it if `look` finds nothing wrong with it. Refused in the middle, it
     * leaves nothing behind.
     */
    async receive<T>(
      body: ReadableStream<Uint8Array> | null,
      sent: { readonly fileName: string; readonly bytes: number; readonly personId: string | null },
      look: (id: string, received: ReceivedFile) => Promise<T>,
    ): Promise<T> {
      if (sent.bytes > MAX_FILE_BYTES) throw tooLarge();
      const id = randomUUID();
      const claim = randomUUID();
      await write(async (sql) => {
        await sweep(sql, MAX_WAITING_FILES - 1);
        const count = await sql.one<{ count: number }>('select count(*) as count from import_files');
        if (Number(count?.count) >= MAX_WAITING_FILES) throw tooMany();
        await sql.run(
          `insert into import_files (id, name, person_id, at, state, bytes, done, total, claim, claimed_until)
             values (?, ?, ?, ?, 'arriving', 0, 0, 0, ?, ?)`,
          id,
          sent.fileName,
          sent.personId,
          clock.now(),
          claim,
          clock.now() + CLAIM_MILLISECONDS,
        );
      });
      const stopSaying = keepSaying(claim, () => 0);
      try {
        const received = await receivePieces(id, claim, body);
        const found = await look(id, received);
        await write((sql) =>
          changeClaimed(
            sql,
            `state = 'uploaded', content = ?, claim = null, claimed_until = null`,
            received.content,
            claim,
          ),
        );
        return found;
      } catch (error) {
        // Where this fails as well it is swept later.
        await write((sql) => sql.run('delete from import_files where claim = ?', claim)).catch(() => {});
        throw error;
      } finally {
        stopSaying();
      }
    },

    /** @throws ProblemError 404 */
    async find(id: string): Promise<WaitingFile> {
      let row = await rowOf(id);
      if (row !== null && row.claim !== null && row.claimedUntil! < clock.now()) {
        await write((sql) => takeFromDead(sql, clock.now()));
        row = await rowOf(id);
      }
      if (row === null || row.state === 'arriving') throw unknown('uploaded file', id, 'id');
      const { state, done, total, problem } = row;
      return {
        id,
        fileName: row.name,
        busy: row.claim !== null,
        progress: { id, state, done, total, problem },
        ...bytesOf(id, row.bytes),
      };
    },

    /** null: somebody else has it. `done`: how many samples are stored so far, for those who ask another node. */
    async claim(id: string, done: () => number): Promise<Claim | null> {
      const claim = randomUUID();
      const claimed = await write((sql) =>
        sql.one(
          `update import_files set claim = ?, claimed_until = ?
             where id = ? and claim is null and state in ('uploaded', 'failed') returning id`,
          claim,
          clock.now() + CLAIM_MILLISECONDS,
          id,
        ),
      );
      if (claimed === null) return null;
      const stopSaying = keepSaying(claim, done);
      return {
        start: (total) =>
          write((sql) =>
            changeClaimed(sql, `state = 'running', done = 0, total = ?, problem = null`, total, claim),
          ),
        async finish(sql) {
          await changeClaimed(
            sql,
            `state = 'done', done = total, problem = null, claim = null, claimed_until = null`,
            claim,
          );
          await sql.run('delete from import_file_pieces where file_id = ?', id);
        },
        async release(problem = null) {
          stopSaying();
          await write((sql) =>
            sql.run(
              `update import_files set claim = null, claimed_until = null, done = 0, problem = coalesce(?, problem),
                 state = case when state = 'running' then 'failed' else state end where claim = ?`,
              problem,
              claim,
            ),
          );
        },
      };
    },

    /** Looks for what nobody needs any more. */
    sweep: (): Promise<void> => write((sql) => sweep(sql, MAX_WAITING_FILES)),

    /** Before the first request: what an earlier run left in the middle. */
    begin: (): Promise<void> =>
      write(async (sql) => {
        if (alone) await takeFromDead(sql, Number.MAX_SAFE_INTEGER);
        await sweep(sql, MAX_WAITING_FILES);
      }),
  };
}
