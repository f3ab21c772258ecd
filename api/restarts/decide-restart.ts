/** What people state about a restart: the technician that the first piece is done, the engineer whether it may go on. */
import type { By } from '../monitoring/by.ts';
import { requirePerson } from '../monitoring/stream-context.ts';
import { plantTime } from '../plant-time.ts';
import { conflict, unknown } from '../problem.ts';
import type {
  FirstPieceResult,
  FirstPieceSubmission,
  Person,
  PlantModel,
  RestartDecision,
} from '../schemas.ts';
import { requireSecondSignature } from '../second-signatures.ts';
import type { StoreTransaction } from '../store/store.ts';
import { overtakeIfChangedSince } from './begin-restart.ts';
import { firstPieceResults } from './first-piece-results.ts';
import { inWords, isBad, isUndone } from './restart-payload.ts';
import {
  addRestartEntry,
  type RestartEntryRow,
  type RestartRow,
  restartEntries,
  restartEntry,
  restartOf,
} from './restart-records.ts';

export interface Stated {
  readonly restart: RestartRow;
  /** false: this very statement was stored before. */
  readonly isNew: boolean;
}

type Statement = Pick<RestartEntryRow, 'id' | 'kind' | 'text'>;

/** The technician: everything planned is measured, and waits for the engineer. */
export function stateFirstPiece(
  store: StoreTransaction,
  restartId: string,
  { id, text = '' }: FirstPieceSubmission,
  by: By,
  now: number,
): Promise<Stated> {
  return state(store, restartId, { id, kind: 'stated', text }, by, now, ({ plant, last, results }) => {
    if (last?.kind === 'stated') {
      throw conflict(
        'id',
        `${said(plant, last)}; an engineer decides now. Whoever finds a mistake has the engineer refuse it, with the reason.`,
      );
    }
    if (last?.kind === 'approved')
      throw conflict('id', `${said(plant, last)}; there is nothing left to state.`);
    refuseUndone(plant, results);
  });
}

/** The engineer: approved, or refused with a reason; refusing takes back an approval as well. */
export async function decideRestart(
  store: StoreTransaction,
  restartId: string,
  { id, decision, text = '' }: RestartDecision,
  by: By,
  now: number,
): Promise<Stated> {
  const statement = { id, kind: decision, text };
  const stated = await state(store, restartId, statement, by, now, ({ plant, last, results, signers }) => {
    if (last === undefined || last.kind === 'refused') {
      throw conflict(
        'decision',
        'The first piece is not stated as done yet: the technician measures what is planned and states it, then you decide.',
      );
    }
    if (decision === 'refused') return;
    if (last.kind === 'approved') throw conflict('decision', `${said(plant, last)} already.`);
    const together = { ...by, secondPersonId: last.personId };
    requireSecondSignature(signers, together, 'approval of a first piece', 'Runtrue-Person');
    refuseUndone(plant, results, 'decision');
    const bad = results.filter(isBad);
    if (bad.length === 0) return;
    throw conflict(
      'decision',
      `The first piece cannot be approved. ${inWords(plant, bad)} Refuse it with this reason, keep the parts apart, and have the authorised setter put it right; then it is measured again.`,
    );
  });
  // An approval may turn out wrong when the set-up has long been changed again; then nothing waits for it any more.
  if (stated.isNew && decision === 'refused')
    await overtakeIfChangedSince(store, await store.plantModel(), stated.restart, now);
  return stated;
}

interface Grounds {
  readonly plant: PlantModel;
  readonly last: RestartEntryRow | undefined;
  readonly results: readonly FirstPieceResult[];
  /** Everybody with the role of now, but whoever made the last statement with that of then. */
  readonly signers: readonly Person[];
}

/** Stores a statement that `check` does not refuse, with what was measured by then. Said again it stays as it is. */
async function state(
  store: StoreTransaction,
  restartId: string,
  statement: Statement,
  by: By,
  now: number,
  check: (grounds: Grounds) => void,
): Promise<Stated> {
  const plant = await store.plantModel();
  requirePerson(plant, by.personId);
  const restart = await restartOf(store.sql, restartId);
  if (restart === null) throw unknown('restart', restartId, 'id');
  const id = statement.id.toLowerCase();
  const stored = await restartEntry(store.sql, id);
  if (stored !== null) {
    const same =
      stored.restartNo === restart.no && stored.kind === statement.kind && stored.text === statement.text;
    if (same && stored.personId === by.personId) return { restart, isNew: false };
    throw conflict('id', `Another statement with the id ${id} is stored; give each an id of its own.`);
  }
  const last = (await restartEntries(store.sql, restart.no)).at(-1);
  if (last?.kind === 'overtaken')
    throw conflict('id', `${last.text} That change has a first piece of its own.`);
  const results = await firstPieceResults(store, plant, restart);
  check({ plant, last, results, signers: await signersAt(store, plant.people, last) });
  const { kind, text } = statement;
  const entry = { restartNo: restart.no, id, kind, at: now, personId: by.personId, text, results };
  await addRestartEntry(store, restart, entry);
  return { restart, isNew: true };
}

/** A signature counts by the role at its moment: who is promoted afterwards has signed as what they were. */
async function signersAt(
  store: StoreTransaction,
  people: readonly Person[],
  last: RestartEntryRow | undefined,
): Promise<readonly Person[]> {
  if (last === undefined) return people;
  const changes = await store.plantChanges('people', last.personId);
  // The next change holds what stood until then; without one, what stands now stood then.
  const then = changes.find(({ at }) => at > last.at)?.before as Person | null | undefined;
  return then == null ? people : people.map((person) => (person.id === last.personId ? then : person));
}

function refuseUndone(plant: PlantModel, results: readonly FirstPieceResult[], field = 'id'): void {
  const undone = results.filter(isUndone);
  if (undone.length === 0) return;
  throw conflict(
    field,
    `The first piece is not done. ${inWords(plant, undone)} Measure it at the station first; samples taken before the change, or before it was last refused or adjusted, do not count.`,
  );
}

/** "Kim approved the first piece at 2025-09-03 14:05". */
function said({ people, plant }: PlantModel, { personId, kind, at }: RestartEntryRow): string {
  const name = people.find(({ id }) => id === personId)?.name ?? personId;
  const what = kind === 'approved' ? 'approved the first piece' : 'stated the first piece as done';
  return `${name} ${what} at ${plantTime(at, plant.utcOffsetMinutes)}`;
}

/** What a decision looks at must not change under it. */
export const streamsOf = (restart: RestartRow | null): readonly string[] =>
  restart === null ? [] : restart.plan.map(({ streamId }) => streamId);
