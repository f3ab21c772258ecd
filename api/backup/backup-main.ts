/** Entry of `npm run backup`. */
import { join, resolve } from 'node:path';
import { shownArchive } from '../archive/archives-away.ts';
import { runCommand } from '../console/run-command.ts';
import { takeBackup } from './take-backup.ts';

const help = `Takes a backup while the server goes on writing.

  npm run backup -- /mnt/backups      of the plant in DATA_DIR (or data/), or at DATABASE_URL

The backup is one file. It holds everything, the digests of passwords and keys as well: keep it where only
administrators can read it. Files that were uploaded and not yet imported are not part of it.
`;

await runCommand(
  {
    name: 'backup',
    help,
    options: { file: { type: 'string' }, json: { type: 'boolean' } },
    words: { least: 1, most: 1 },
    undone: 'No backup was taken',
    undoneCode: 1,
  },
  async (values, [folder]) => {
    const source = {
      databaseAddress: process.env.DATABASE_URL || undefined,
      file: values.file ?? join(process.env.DATA_DIR || 'data', 'plant.sqlite'),
    };
    const { file, manifest } = await takeBackup(source, resolve(folder!), Date.now());
    if (values.json) {
      process.stdout.write(`${JSON.stringify({ file })}\n`);
      return;
    }
    const tables = Object.entries(manifest.tables).filter(([, { rows }]) => rows > 0);
    for (const [name, { rows, digest }] of tables)
      process.stdout.write(`  ${name}: ${rows} rows, ${digest}\n`);
    process.stdout.write(`The backup is ${file}, compared with the plant row by row.\n`);
    for (const archive of manifest.archives ?? [])
      process.stdout.write(`Not in it: ${shownArchive(archive)}. Keep that archive with the backup.\n`);
  },
);
