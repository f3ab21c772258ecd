/** Entry of `npm run restore`. */
import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { shownArchive } from '../archive/archives-away.ts';
import { runCommand } from '../console/run-command.ts';
import { restoreBackup } from './restore-backup.ts';
import { aboutTheKey } from './sealed-secrets.ts';

const help = `Restores a backup into an empty folder, after comparing its content with its manifest.

  npm run restore -- /mnt/backups/runtrue-20260301T120000Z.sqlite /srv/runtrue
  DATA_DIR=/srv/runtrue npm start

The key of sealed secrets is in no backup: put secrets.key beside the restored file before the server starts.
`;

await runCommand(
  {
    name: 'restore',
    help,
    options: {},
    words: { least: 2, most: 2 },
    undone: 'Nothing was restored',
    undoneCode: 1,
  },
  async (_, [file, into]) => {
    const folder = resolve(into!);
    const { manifest, sealed } = await restoreBackup(resolve(file!), folder, 'plant.sqlite');
    const { takenAt, tables, archives = [] } = manifest;
    const rows = Object.values(tables).reduce((sum, table) => sum + table.rows, 0);
    process.stdout.write(
      `Restored the plant of ${takenAt} into ${folder}: ${rows} rows in ${Object.keys(tables).length} tables, all as the manifest says.\n` +
        'Everybody signs in anew. People, passwords and keys are as they were then: look through them before others reach the server.\n',
    );
    const keyFile = process.env.SECRETS_KEY_FILE || join(folder, 'secrets.key');
    const aboutKey = existsSync(keyFile) ? null : aboutTheKey(sealed, join(folder, 'secrets.key'));
    if (aboutKey !== null) process.stdout.write(`${aboutKey}\n`);
    for (const archive of archives) {
      process.stdout.write(
        `Not in the backup: ${shownArchive(archive)}. Before the server starts, read them back from where that archive is now:\n` +
          `  DATA_DIR=${folder} npm run archive -- --read ${archive.folder}\n`,
      );
    }
  },
);
