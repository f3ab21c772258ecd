/**
 * The way back where every administrator has lost what they sign in with: whoever can run a program in the server's
 * place, on its database, could do anything to it. Here it is done in order, and stays on record.
 */
import { CommandProblem } from '../console/command-problem.ts';
import { savePlantRecord } from '../monitoring/save-plant-record.ts';
import { Person } from '../schemas.ts';
import type { Store, StoreTransaction } from '../store/store.ts';
import { forgetAttempts } from './attempts.ts';
import { keepToken, LINK_LASTS } from './one-time-tokens.ts';
import { dropSecondFactor } from './second-factor.ts';
import { endSessionsOf } from './sessions.ts';
import { newToken } from './tokens.ts';

/** Nobody was let in; the message is the one sentence that the person at the terminal reads. */
export class NotLetIn extends CommandProblem {
  override readonly name = 'NotLetIn';
}

export interface AtConsole {
  readonly personId: string;
  /** null: it has to be somebody who is an administrator. */
  readonly name: string | null;
  /** Who runs the program, as the machine knows them. */
  readonly account: string;
}

/** Adds the person where they are new. @returns whether they were. */
async function addAdministrator(
  transaction: StoreTransaction,
  { personId, name }: AtConsole,
  now: number,
): Promise<boolean> {
  const plant = await transaction.plantModel();
  const there = plant.people.find(({ id }) => id === personId);
  if (there?.role === 'administrator') return false;
  if (there !== undefined)
    throw new NotLetIn(
      `"${personId}" is a person with another role (${there.role}), which stays as it is; name an administrator, or choose another short name for a new one.`,
    );
  if (name === null)
    throw new NotLetIn(
      `There is no person "${personId}"; name an administrator, or give the whole name of a new one after the short name.`,
    );
  const { data: record, error } = Person.safeParse({ id: personId, name, role: 'administrator' });
  if (record === undefined) {
    const [issue] = error.issues;
    const what = issue?.path[0] === 'id' ? 'short name' : 'name';
    throw new NotLetIn(`The ${what} is refused: ${issue?.message}.`);
  }
  const by = { personId, door: 'api', how: 'named' } as const;
  const reason = "Added at the server's console";
  return savePlantRecord(transaction, plant, { kind: 'people', record }, reason, by, now);
}

/**
 * Gives the token of a link with which an administrator chooses a password. Until then nothing of theirs opens
 * anything: password, PIN, second factor and sessions are gone, for they may be in other hands.
 */
export async function letAdministratorIn(store: Store, who: AtConsole, now: number): Promise<string> {
  const { personId, account } = who;
  const token = newToken();
  // Alone in the plant, for a person may be added.
  await store.transaction(async (transaction) => {
    const { sql } = transaction;
    const newAdministrator = await addAdministrator(transaction, who, now);
    await sql.run('delete from accounts where person_id = ?', personId);
    await dropSecondFactor(sql, personId);
    await endSessionsOf(sql, personId, now);
    await forgetAttempts(sql, personId);
    const purpose = { purpose: 'choose secrets', subjectId: personId, madeBy: null } as const;
    await keepToken(sql, token, purpose, now + LINK_LASTS);
    await transaction.addNote({
      at: now,
      personId: null,
      what: "let in again at the server's console",
      about: personId,
      detail: { newAdministrator, account },
    });
  });
  return token;
}
