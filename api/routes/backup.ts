import { createReadStream, statSync } from 'node:fs';
import { basename } from 'node:path';
import { Readable } from 'node:stream';
import type { AppParts } from '../app-parts.ts';
import { type App, readQuery } from '../http/handle.ts';
import { NO_STREAM } from '../store/store.ts';
import type { Admit } from '../who.ts';

/** The whole plant as one file, as `npm run backup` takes it. It is noted who took it. */
export function backupRoutes(app: App, admit: Admit, { backups, store, clock }: AppParts): void {
  app.get('/api/backup', async (context) => {
    const { person } = await admit(context.req.raw, 'take a backup');
    readQuery(context, []);
    const { file, done } = await backups.take();
    const note = { at: clock.now(), personId: person?.id ?? null, about: '', detail: basename(file) };
    try {
      await store.transaction(
        (transaction) => transaction.addNote({ ...note, what: 'backup taken' }),
        [NO_STREAM],
      );
    } catch (error) {
      done();
      throw error;
    }
    const content = createReadStream(file);
    content.once('close', done);
    return new Response(Readable.toWeb(content) as ReadableStream<Uint8Array>, {
      headers: {
        'Content-Type': 'application/vnd.sqlite3',
        'Content-Length': String(statSync(file).size),
        'Content-Disposition': `attachment; filename="${basename(file)}"`,
        'Cache-Control': 'no-store',
      },
    });
  });
}
