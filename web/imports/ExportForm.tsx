import { useSignal } from '@preact/signals';
import type { PlantModel } from '../../api/schemas.ts';
import { serverNow } from '../live.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { modelsOfStream } from '../review/models-of-stream.ts';
import { fromLocalField, toLocalField } from '../review/period.ts';
import { decimalMark } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { exportAddress } from './export-address.ts';
import { StreamFields } from './StreamFields.tsx';

const MONTH = 30 * 86_400_000;

/** Takes samples out as CSV: the link is the file. */
export function ExportForm({ plant }: { plant: PlantModel }) {
  const offset = utcOffsetMinutes.value;
  const streamId = useSignal('');
  const modelId = useSignal('');
  const from = useSignal(toLocalField(serverNow() - MONTH, offset));
  const to = useSignal('');
  const form = useSignal<'wide' | 'long'>('wide');
  const mark = useSignal<'.' | ','>(decimalMark.value ?? '.');
  const tried = useSignal(false);

  const begin = fromLocalField(from.value, offset);
  const end = fromLocalField(to.value, offset);
  const reversed = begin !== null && end !== null && begin > end;
  const wrong = (missing: boolean, sentence: string): string | null =>
    tried.value && missing ? sentence : null;

  return (
    <section class="panel" aria-labelledby="export-title">
      <h2 id="export-title">Take samples out</h2>
      <p>
        A CSV file with one stream and part model: what stands there now, with revision, person, lot and
        statistics. It can be imported again.
      </p>
      <form
        class="stack"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          tried.value = true;
          if (streamId.value === '' || modelId.value === '' || reversed) return;
          location.assign(
            exportAddress({
              streamId: streamId.value,
              modelId: modelId.value,
              from: begin,
              to: end,
              form: form.value,
              decimalMark: mark.value,
            }),
          );
        }}
      >
        <div class="row">
          <StreamFields
            plant={plant}
            streamId={streamId.value}
            modelId={modelId.value}
            onStream={(id) => {
              const models = modelsOfStream(plant, id);
              streamId.value = id;
              if (!models.some((model) => model.id === modelId.value)) {
                modelId.value = models.length === 1 ? models[0]!.id : '';
              }
            }}
            onModel={(id) => {
              modelId.value = id;
            }}
            wrongStream={wrong(streamId.value === '', 'Choose a stream.')}
            wrongModel={wrong(modelId.value === '', 'Choose a part model.')}
          />
          <Field label="From (plant time)" hint="Empty: from the first sample on.">
            <input
              type="datetime-local"
              value={from.value}
              onInput={(event) => {
                from.value = event.currentTarget.value;
              }}
            />
          </Field>
          <Field
            label="To (plant time)"
            hint="Empty: until now."
            wrong={reversed ? 'The end has to be later than the beginning.' : null}
          >
            <input
              type="datetime-local"
              value={to.value}
              onInput={(event) => {
                to.value = event.currentTarget.value;
              }}
            />
          </Field>
        </div>
        <div class="row">
          <Field label="Rows">
            <select
              value={form.value}
              onChange={(event) => {
                form.value = event.currentTarget.value as 'wide' | 'long';
              }}
            >
              <option value="wide">one row a sample</option>
              <option value="long">one row a reading</option>
            </select>
          </Field>
          <Field label="Numbers">
            <select
              value={mark.value}
              onChange={(event) => {
                mark.value = event.currentTarget.value as '.' | ',';
              }}
            >
              <option value=".">1.5, columns apart by commas</option>
              <option value=",">1,5, columns apart by semicolons</option>
            </select>
          </Field>
          <button type="submit">Save as CSV</button>
        </div>
      </form>
    </section>
  );
}
