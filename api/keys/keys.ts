import type { Clock } from '../clock.ts';
import { once } from '../idempotency/idempotency.ts';
import type { By } from '../monitoring/by.ts';
import { isoTime, isoTimeOrNull } from '../monitoring/payloads.ts';
import { lineOf, streamOf } from '../plant-lookup.ts';
import { conflict, unacceptable, unknown } from '../problem.ts';
import type { ApiKey, KeyReach, KeyScope, NewApiKey } from '../schemas.ts';
import { valuesOf } from '../store/sql.ts';
import { NO_STREAM, type Store } from '../store/store.ts';
import { keyIdOf } from './key-name.ts';
import { digestOf, newSecret } from './secret.ts';

/** A key as its request finds it. */
interface FoundKey {
  readonly id: string;
  readonly scopes: readonly KeyScope[];
  readonly reach: KeyReach | null;
  readonly expiresAt: number | null;
  readonly revokedAt: number | null;
  readonly lastUsedOn: string | null;
}

export interface Keys {
  list(): Promise<ApiKey[]>;
  /** The secret is in this answer and nowhere else. */
  make(wanted: NewApiKey, personId: string): Promise<{ key: ApiKey; secret: string }>;
  /** In force for the next request, on every node. */
  revoke(id: string, reason: string, by: Pick<By, 'personId' | 'key'>): Promise<ApiKey>;
  find(secret: string): Promise<FoundKey | null>;
  /** Notes the day. */
  used(key: FoundKey): Promise<void>;
}

interface KeyRow {
  readonly id: string;
  readonly name: string;
  readonly scopes: string;
  readonly reach: string | null;
  readonly madeBy: string;
  readonly madeAt: number;
  readonly expiresAt: number | null;
  readonly revokedAt: number | null;
  readonly revokedBy: string | null;
  readonly lastUsedOn: string | null;
}

const columns = `id, name, scopes, reach, made_by as "madeBy", made_at as "madeAt", expires_at as "expiresAt",
  revoked_at as "revokedAt", revoked_by as "revokedBy", last_used_on as "lastUsedOn"`;
const selectAll = `select ${columns} from api_keys order by made_at, id`;
const selectById = `select ${columns} from api_keys where id = ?`;
const selectByDigest = `select ${columns} from api_keys where digest = ?`;
const insert = `insert into api_keys ${valuesOf('id, name, digest, scopes, reach, made_by, made_at, expires_at')}
  on conflict (id) do nothing returning id`;
const revoke = 'update api_keys set revoked_at = ?, revoked_by = ? where id = ? and revoked_at is null';
const noteUse =
  'update api_keys set last_used_on = ? where id = ? and (last_used_on is null or last_used_on < ?)';

const reachOf = (row: KeyRow): KeyReach | null => (row.reach === null ? null : JSON.parse(row.reach));

const payload = (row: KeyRow): ApiKey => ({
  id: row.id,
  name: row.name,
  scopes: JSON.parse(row.scopes),
  reach: reachOf(row),
  madeBy: row.madeBy,
  madeAt: isoTime(row.madeAt),
  expiresAt: isoTimeOrNull(row.expiresAt),
  revokedAt: isoTimeOrNull(row.revokedAt),
  revokedBy: row.revokedBy,
  lastUsedOn: row.lastUsedOn,
});

/** Keys for programs that measure, import or read. */
export function createKeys({ store, clock }: { readonly store: Store; readonly clock: Clock }): Keys {
  const today = async (): Promise<string> => {
    const { utcOffsetMinutes } = (await store.plantModel()).plant;
    return new Date(clock.now() + utcOffsetMinutes * 60_000).toISOString().slice(0, 10);
  };

  return {
    async list() {
      return (await store.sql.all<KeyRow>(selectAll)).map(payload);
    },

    async make({ id: shortName, name, scopes, reach, expiresAt }, personId) {
      const id = keyIdOf(shortName);
      const now = clock.now();
      const expires = expiresAt === null ? null : Date.parse(expiresAt);
      if (expires !== null && expires <= now) throw unacceptable('expiresAt', 'must be in the future.');
      const plant = await store.plantModel();
      reach?.lines.forEach((line, no) => {
        lineOf(plant, line, `reach.lines.${no}`);
      });
      reach?.streams.forEach((stream, no) => {
        streamOf(plant, stream, `reach.streams.${no}`);
      });
      const secret = newSecret();
      const row: KeyRow = {
        id,
        name,
        scopes: JSON.stringify(scopes),
        reach: reach === null ? null : JSON.stringify(reach),
        madeBy: personId,
        madeAt: now,
        expiresAt: expires,
        revokedAt: null,
        revokedBy: null,
        lastUsedOn: null,
      };
      await store.transaction(
        async (transaction) => {
          const made = await transaction.sql.one(
            insert,
            id,
            name,
            digestOf(secret),
            row.scopes,
            row.reach,
            personId,
            now,
            expires,
          );
          if (made === null)
            throw conflict(
              'id',
              `There is a key ${id} already; choose another name. Names are not used again, for records carry them.`,
            );
          const detail = { name, scopes, reach, expiresAt };
          await transaction.addNote({ at: now, personId, what: 'key made', about: id, detail });
        },
        [NO_STREAM],
      );
      return { key: payload(row), secret };
    },

    revoke: (id, reason, { personId, key }) =>
      store.transaction(
        (transaction) =>
          once(transaction.sql, key, async () => {
            const now = clock.now();
            const before = await transaction.sql.one<KeyRow>(selectById, id);
            if (before === null) throw unknown('key', id, 'id');
            if (before.revokedAt !== null) return payload(before);
            await transaction.sql.run(revoke, now, personId, id);
            const note = { at: now, personId, what: 'key revoked', about: id, detail: { reason } };
            await transaction.addNote(note);
            return payload({ ...before, revokedAt: now, revokedBy: personId });
          }),
        [NO_STREAM],
      ),

    async find(secret) {
      const row = await store.sql.one<KeyRow>(selectByDigest, digestOf(secret));
      if (row === null) return null;
      const { id, expiresAt, revokedAt, lastUsedOn } = row;
      return { id, scopes: JSON.parse(row.scopes), reach: reachOf(row), expiresAt, revokedAt, lastUsedOn };
    },

    async used({ id, lastUsedOn }) {
      const day = await today();
      if (lastUsedOn !== null && lastUsedOn >= day) return;
      await store.transaction((transaction) => transaction.sql.run(noteUse, day, id, day), []);
    },
  };
}
