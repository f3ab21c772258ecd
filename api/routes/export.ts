import type { AppParts } from '../app-parts.ts';
import { type App, readQuery } from '../http/handle.ts';
import { validate } from '../http/validate.ts';
import { exportSamples } from '../imports/export-samples.ts';
import { modelOf, periodOf, streamOf } from '../plant-lookup.ts';
import { unacceptable } from '../problem.ts';
import { ExportQuery } from '../schemas.ts';
import type { Admit } from '../who.ts';

const EARLIEST = '1970-01-01T00:00:00Z';

/** Sends text as it is made, no faster than it is read; `onError` hears why a file ended early. */
function streamed(
  text: AsyncGenerator<string>,
  onError: (error: unknown) => void,
): ReadableStream<Uint8Array> {
  const encoder = new TextEncoder();
  let hasReader = true;
  return new ReadableStream({
    async pull(controller) {
      try {
        const { done, value } = await text.next();
        // Whoever read may have gone while this was made.
        if (!hasReader) return;
        if (done) controller.close();
        else controller.enqueue(encoder.encode(value));
      } catch (error) {
        onError(error);
        controller.error(error);
      }
    },
    async cancel() {
      hasReader = false;
      await text.return(undefined);
    },
  });
}

export function exportRoutes(app: App, admit: Admit, { store, clock, log }: AppParts): void {
  app.get('/api/export.csv', async (context) => {
    const acting = await admit(context.req.raw, 'read', 'asked later');
    const query = validate(ExportQuery, readQuery(context, Object.keys(ExportQuery.shape)), 'query');
    acting.within?.(query);
    const { streamId, modelId, form = 'wide', decimalMark = '.' } = query;
    const delimiter = query.delimiter ?? (decimalMark === ',' ? ';' : ',');
    if (delimiter === decimalMark) {
      throw unacceptable(
        'delimiter',
        'must differ from the decimal mark; use a semicolon with a decimal comma',
      );
    }
    const plant = await store.plantModel();
    const stream = streamOf(plant, streamId, 'streamId');
    modelOf(plant, modelId, 'modelId');
    const characteristic = plant.characteristics.find(({ id }) => id === stream.characteristicId);
    const now = new Date(clock.now()).toISOString();
    const text = exportSamples(store, {
      streamId,
      modelId,
      period: periodOf(query.from ?? EARLIEST, query.to ?? now),
      form,
      delimiter,
      decimalMark,
      counted: characteristic?.kind === 'count',
      utcOffsetMinutes: plant.plant.utcOffsetMinutes,
    });
    return new Response(
      streamed(text, (error) => log.error({ err: error, streamId, modelId }, 'an export ended early')),
      {
        headers: {
          'Content-Type': `text/csv; charset=utf-8; header=present`,
          // Ids hold nothing that would need escaping here.
          'Content-Disposition': `attachment; filename="${streamId}_${modelId}.csv"`,
          'Cache-Control': 'no-store',
        },
      },
    );
  });
}
