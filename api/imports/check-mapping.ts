import { ProblemError, unacceptable, unknown } from '../problem.ts';
import type { ImportMapping, PlantModel } from '../schemas.ts';

/** The columns that a mapping names, each with its place in the mapping. */
function namedColumns({ layout, time, lotColumn }: ImportMapping): readonly (readonly [string, number])[] {
  const named: [string, number][] = [];
  if (layout.form === 'wide')
    named.push(...layout.valueColumns.map((column): [string, number] => ['layout.valueColumns', column]));
  if (layout.form === 'long')
    named.push(['layout.valueColumn', layout.valueColumn], ['layout.sampleColumn', layout.sampleColumn]);
  if (layout.form === 'count') {
    named.push(
      ['layout.inspectedColumn', layout.inspectedColumn],
      ['layout.nonconformingColumn', layout.nonconformingColumn],
    );
  }
  if (time.from === 'column') named.push(['time.column', time.column]);
  if (lotColumn !== null) named.push(['lotColumn', lotColumn]);
  return named;
}

/** Refuses a mapping that does not fit the plant or the columns of the file; names every field that is wrong. */
export function checkMapping(mapping: ImportMapping, plant: PlantModel, columnCount: number): void {
  const stream = plant.streams.find(({ id }) => id === mapping.streamId);
  if (stream === undefined) throw unknown('stream', mapping.streamId, 'streamId');
  if (!plant.models.some(({ id }) => id === mapping.modelId))
    throw unknown('part model', mapping.modelId, 'modelId');
  const characteristic = plant.characteristics.find(({ id }) => id === stream.characteristicId);
  if (characteristic === undefined) throw unknown('characteristic', stream.characteristicId, 'streamId');

  const errors: { field: string; message: string }[] = [];
  const { layout, unit } = mapping;
  const counted = characteristic.kind === 'count';
  if (counted !== (layout.form === 'count')) {
    const message = counted
      ? `${characteristic.name} is counted: choose the form with parts inspected and parts nonconforming.`
      : `${characteristic.name} is measured, not counted: choose one of the forms with readings.`;
    errors.push({ field: 'layout.form', message });
  }
  if (unit !== characteristic.unit) {
    const message =
      `${characteristic.name} is measured in "${characteristic.unit}", and the file is said to be in "${unit}". ` +
      'Convert the values of the file before importing them.';
    errors.push({ field: 'unit', message });
  }
  const uses = new Map<number, string>();
  for (const [field, column] of namedColumns(mapping)) {
    if (column >= columnCount) {
      errors.push({
        field,
        message: `The file has ${columnCount} columns; there is no column ${column + 1}.`,
      });
    } else if (uses.has(column)) {
      errors.push({ field, message: `Column ${column + 1} is used twice.` });
    }
    uses.set(column, field);
  }
  const [first] = errors;
  if (first === undefined) return;
  if (errors.length === 1) throw unacceptable(first.field, first.message);
  throw new ProblemError(
    422,
    'Not acceptable as it stands',
    errors.map(({ message }) => message).join(' '),
    errors,
  );
}
