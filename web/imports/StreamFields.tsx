import type { PlantModel } from '../../api/schemas.ts';
import { modelsOfStream } from '../review/models-of-stream.ts';
import { Field } from '../ui/Field.tsx';
import { StreamOptions } from '../ui/StreamOptions.tsx';

/** Which stream and which part model: by line and station, by the characteristic's name. */
export function StreamFields({
  plant,
  streamId,
  modelId,
  onStream,
  onModel,
  wrongStream,
  wrongModel,
}: {
  plant: PlantModel;
  streamId: string;
  modelId: string;
  onStream: (streamId: string) => void;
  onModel: (modelId: string) => void;
  wrongStream?: string | null | undefined;
  wrongModel?: string | null | undefined;
}) {
  const models = streamId === '' ? [] : modelsOfStream(plant, streamId);
  return (
    <>
      <Field label="Stream" wrong={wrongStream ?? null}>
        <select value={streamId} onChange={(event) => onStream(event.currentTarget.value)}>
          <option value="" disabled>
            Choose…
          </option>
          <StreamOptions plant={plant} />
        </select>
      </Field>
      <Field label="Part model" wrong={wrongModel ?? null}>
        <select
          value={modelId}
          disabled={streamId === ''}
          onChange={(event) => onModel(event.currentTarget.value)}
        >
          <option value="" disabled={streamId !== ''}>
            {streamId === '' ? 'Choose the stream first' : 'Choose…'}
          </option>
          {models.map((model) => (
            <option key={model.id} value={model.id}>
              {model.name}
            </option>
          ))}
        </select>
      </Field>
    </>
  );
}
