import type { Characteristic } from '../../api/schemas.ts';
import { modelName } from '../names.ts';
import { specificationFor } from '../plant.ts';
import { roundedWithUnit } from './names.ts';

/** What the drawing asks of the part. Says nothing about the process: control limits look and are named differently. */
export function DrawingPanel({
  characteristic,
  modelId,
}: {
  characteristic: Characteristic;
  modelId: string;
}) {
  const specification = specificationFor(characteristic.id, modelId);
  return (
    <section class="station-drawing" aria-label={`Drawing of ${modelName(modelId)}`}>
      <h2>Drawing</h2>
      {specification === null ? (
        <p>asks nothing of {modelName(modelId)} here</p>
      ) : (
        <dl>
          {specification.nominal !== null && (
            <div>
              <dt>Nominal</dt>
              <dd>{roundedWithUnit(specification.nominal, characteristic)}</dd>
            </div>
          )}
          {specification.lowerSpecificationLimit !== null && (
            <div>
              <dt>At least</dt>
              <dd>{roundedWithUnit(specification.lowerSpecificationLimit, characteristic)}</dd>
            </div>
          )}
          {specification.upperSpecificationLimit !== null && (
            <div>
              <dt>At most</dt>
              <dd>{roundedWithUnit(specification.upperSpecificationLimit, characteristic)}</dd>
            </div>
          )}
        </dl>
      )}
    </section>
  );
}
