/** Entry of `npm run administrator-link`. */
import { existsSync } from 'node:fs';
import { hostname, userInfo } from 'node:os';
import { join, resolve } from 'node:path';
import { adoptRecords } from '../audit/adopt-records.ts';
import { runCommand } from '../console/run-command.ts';
import { holdFolder } from '../hold-folder.ts';
import { originOf, outsideOf } from '../http/outside.ts';
import { openPostgresStore } from '../store/postgres.ts';
import { readAddress } from '../store/postgres-connection.ts';
import { openSqliteStore } from '../store/sqlite.ts';
import type { Store } from '../store/store.ts';
import { letAdministratorIn, NotLetIn } from './let-administrator-in.ts';

const help = `Lets an administrator in again who has lost password, authenticator and recovery codes.

  npm run administrator-link -- kim               of somebody who is an administrator
  npm run administrator-link -- kim "Kim Berg"    or a new one, where there is nobody of this short name

Prints a link that works once, within 24 hours; with it they choose a new password. Their password, PIN, second
factor and sessions are gone at once, and the record says that it was done here, and by which account of this machine.
It works on the plant in DATA_DIR (or data/), whose server has to be stopped meanwhile, or at DATABASE_URL, where
servers may go on. Give it the PUBLIC_URL, HOST and PORT of the server: the link begins with them.
`;

/** Where nobody of this number is named, as in some containers, the number. */
function accountHere(): string {
  try {
    return `${userInfo().username}@${hostname()}`;
  } catch {
    return `${process.getuid?.()}@${hostname()}`;
  }
}

async function open(): Promise<{ readonly store: Store; readonly letGo: () => void }> {
  const { DATABASE_URL: address, DATA_DIR } = process.env;
  if (address) return { store: await openPostgresStore(readAddress(address)), letGo: () => {} };
  const folder = resolve(DATA_DIR || 'data');
  const file = join(folder, 'plant.sqlite');
  if (!existsSync(file))
    throw new NotLetIn(`There is no plant in ${folder}; say with DATA_DIR or DATABASE_URL where it is.`);
  const letGo = holdFolder(folder);
  if (letGo === null)
    throw new NotLetIn(
      `A server works in ${folder}; stop it, run this again, then start it and open the link.`,
    );
  return { store: openSqliteStore(file), letGo };
}

await runCommand(
  {
    name: 'administrator-link',
    help,
    options: {},
    words: { least: 1, most: 2 },
    undone: 'No link was made',
    undoneCode: 1,
  },
  async (_, [personId, name = null]) => {
    const { HOST, PORT } = process.env;
    const origin = originOf(outsideOf(process.env), HOST || '127.0.0.1', PORT || '8080');
    const { store, letGo } = await open();
    try {
      await adoptRecords(store);
      const who = { personId: personId!, name, account: accountHere() };
      const token = await letAdministratorIn(store, who, Date.now());
      process.stdout.write(
        `Whoever opens this address within 24 hours is "${personId}", an administrator; it works once:\n${origin}/sign-in#link=${token}\n`,
      );
    } finally {
      await store.close();
      letGo();
    }
  },
);
