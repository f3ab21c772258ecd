/** Entry of `npm run archive`. */
import { join } from 'node:path';
import { Misused, runCommand } from '../console/run-command.ts';
import { openReadSql, requirePlant } from '../store/open-read-sql.ts';
import { openPostgresStore } from '../store/postgres.ts';
import { readAddress } from '../store/postgres-connection.ts';
import { openSqliteStore } from '../store/sqlite.ts';
import { type ArchivedFile, ArchiveProblem } from './archive-files.ts';
import { readArchive, releaseArchive, writeArchive } from './archive-plant.ts';

const help = `Writes old months of a plant (samples, corrections, signals, events) into files, and reads them back.

  npm run archive -- --before 2025-09-01 /mnt/archive/2025-08   writes whole months before this day (UTC)
  npm run archive -- --release /mnt/archive/2025-08             takes them out of the database afterwards
  npm run archive -- --read /mnt/archive/2025-08                puts them back, and compares

The plant is the one at DATABASE_URL, or in DATA_DIR (or data/). Files are read back and compared before anything
else happens. Only from PostgreSQL months can be taken out; of a plant in a file an archive is a copy. While months are
taken out, give the folder to "npm run verify" as well (--archive), and keep it with the backups, which name it.
`;

const address = process.env.DATABASE_URL || undefined;
const plantFile = join(process.env.DATA_DIR || 'data', 'plant.sqlite');
const tell =
  (what: string) =>
  ({ file: name, rows, digest }: ArchivedFile): void => {
    process.stdout.write(`${what} ${name.padEnd(36)} ${String(rows).padStart(9)} rows  sha256 ${digest}\n`);
  };

async function write(file: string, day: string, folder: string): Promise<void> {
  const before = Date.parse(`${day}T00:00:00Z`);
  if (!/^\d{4}-\d{2}-\d{2}$/.test(day) || Number.isNaN(before)) {
    throw new ArchiveProblem(`--before must be a day such as 2025-09-01, not ${JSON.stringify(day)}.`);
  }
  const plant = address === undefined ? 1 : readAddress(address).plant;
  const { sql, close } = await openReadSql(address, file);
  try {
    const files = await writeArchive(sql, { folder, before, plant, now: Date.now() }, tell('wrote'));
    process.stdout.write(
      files.length === 0
        ? `No whole month lies before ${day}.\n`
        : `${files.length} files and manifest.json are in ${folder}, and were read back.\n`,
    );
  } finally {
    await close();
  }
}

async function release(folder: string): Promise<void> {
  if (address === undefined) {
    throw new ArchiveProblem('Months are taken out of PostgreSQL only; a plant in a file keeps all of them.');
  }
  const to = readAddress(address);
  const store = await openPostgresStore(to);
  try {
    await releaseArchive(store, to.plant, folder, { now: Date.now(), onFile: tell('released') });
  } finally {
    await store.close();
  }
  process.stdout.write('Keep this folder with the backups: the plant is whole only with it.\n');
}

async function read(file: string, folder: string): Promise<void> {
  const to = address === undefined ? null : readAddress(address);
  if (to === null) requirePlant(file);
  const store = to === null ? openSqliteStore(file) : await openPostgresStore(to);
  try {
    await readArchive(store, folder, to, { now: Date.now(), onFile: tell('read') });
  } finally {
    await store.close();
  }
}

await runCommand(
  {
    name: 'archive',
    help,
    options: {
      before: { type: 'string' },
      release: { type: 'string' },
      read: { type: 'string' },
      file: { type: 'string' },
    },
    words: { least: 0, most: 1 },
    undoneCode: 1,
  },
  async (values, [folder]) => {
    const file = values.file ?? plantFile;
    if (values.before !== undefined && folder !== undefined) await write(file, values.before, folder);
    else if (values.release !== undefined) await release(values.release);
    else if (values.read !== undefined) await read(file, values.read);
    else throw new Misused();
  },
);
