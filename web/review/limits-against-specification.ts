import type { Specification } from '../../api/schemas.ts';
import type { ControlLimits } from '../../src/charts/control-chart.ts';

/**
 * What to know before freezing limits that reach beyond the drawing, in sentences; none where they stay within it.
 * Control limits watch the process and the drawing judges the part, but limits as wide as this watch over neither.
 */
export function limitsAgainstSpecification(
  { lowerControlLimit, upperControlLimit }: ControlLimits,
  specification: Pick<Specification, 'lowerSpecificationLimit' | 'upperSpecificationLimit'>,
  /** What the limits are of: mean, value. */
  statistic: string,
  write: (value: number) => string,
): string[] {
  const { lowerSpecificationLimit: lower, upperSpecificationLimit: upper } = specification;
  const below =
    lower !== null &&
    (lowerControlLimit === null || lowerControlLimit < lower) &&
    !(upperControlLimit !== null && upperControlLimit < lower);
  const above =
    upper !== null &&
    (upperControlLimit === null || upperControlLimit > upper) &&
    !(lowerControlLimit !== null && lowerControlLimit > upper);
  const sentences: string[] = [];
  if (below && above) {
    sentences.push(
      `The new control limits of the ${statistic} are wider than the whole specification: even a ${statistic} outside the drawing would raise no signal.`,
    );
  }
  if (lower !== null && below) {
    const where =
      lowerControlLimit === null
        ? `The ${statistic} has no lower control limit, and the lower specification limit is ${write(lower)}`
        : `The lower control limit of the ${statistic}, ${write(lowerControlLimit)}, lies below the lower specification limit, ${write(lower)}`;
    sentences.push(
      above ? `${where}.` : `${where}: a ${statistic} too low for the drawing can pass without a signal.`,
    );
  }
  if (upper !== null && above) {
    const where =
      upperControlLimit === null
        ? `The ${statistic} has no upper control limit, and the upper specification limit is ${write(upper)}`
        : `The upper control limit of the ${statistic}, ${write(upperControlLimit)}, lies above the upper specification limit, ${write(upper)}`;
    sentences.push(
      below ? `${where}.` : `${where}: a ${statistic} too high for the drawing can pass without a signal.`,
    );
  }
  if (lower !== null && upperControlLimit !== null && upperControlLimit < lower) {
    sentences.push(
      `Both control limits of the ${statistic} lie below the lower specification limit, ${write(lower)}: every ${statistic} between them is outside the drawing.`,
    );
  }
  if (upper !== null && lowerControlLimit !== null && lowerControlLimit > upper) {
    sentences.push(
      `Both control limits of the ${statistic} lie above the upper specification limit, ${write(upper)}: every ${statistic} between them is outside the drawing.`,
    );
  }
  return sentences;
}
