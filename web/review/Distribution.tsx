import { useMemo } from 'preact/hooks';
import type { Characteristic, Specification } from '../../api/schemas.ts';
import { normalCurve } from '../../src/distribution-fit/normal-curve.ts';
import { type Histogram, histogram } from '../../src/samples/histogram.ts';
import { ChartCanvas } from '../charts/ChartCanvas.tsx';
import { type DistributionPicture, histogramConfiguration } from '../charts/histogram-configuration.ts';
import { formatCount, formatNumber } from '../format.ts';
import type { Assessment } from './assessment.ts';
import { shapeInWords } from './shape-in-words.ts';

/** Places at which the curve is drawn. */
const CURVE_PLACES = 160;

/** The single values against the drawing. Control limits have no place here: they belong to means. */
export function Distribution({
  assessment,
  characteristic,
  specification,
}: {
  assessment: Assessment;
  characteristic: Characteristic;
  specification: Specification | null;
}) {
  const { readings, shape, nearNormal } = assessment;
  const picture = useMemo((): DistributionPicture | null => {
    if (readings.length === 0) return null;
    const counted = histogram(readings, { resolution: 10 ** -characteristic.decimals });
    return {
      histogram: counted,
      unit: characteristic.unit,
      lowerSpecificationLimit: specification?.lowerSpecificationLimit ?? null,
      upperSpecificationLimit: specification?.upperSpecificationLimit ?? null,
      nominal: specification?.nominal ?? null,
      lowerNaturalBound: characteristic.lowerNaturalBound,
      upperNaturalBound: characteristic.upperNaturalBound,
      curve: shape.available && nearNormal === true ? expectedCounts(counted, readings.length, shape) : null,
    };
  }, [assessment, characteristic, specification]);
  const value = (one: number | null): string => formatNumber(one, characteristic.decimals);

  return (
    <section class="panel" aria-labelledby="distribution-title">
      <h2 id="distribution-title">What shape is it?</h2>
      {picture === null ? (
        <p>The period holds no reading.</p>
      ) : (
        <>
          <ChartCanvas
            description={describe(picture, readings.length, value)}
            height={280}
            configuration={({ colours, width }) =>
              histogramConfiguration(picture, { width }, { value }, colours)
            }
          />
          <p class="chart-note">
            {formatCount(readings.length)} readings.{' '}
            {picture.histogram.rule === 'resolution'
              ? 'Bins as wide as one step of the gauge, because half of all readings are alike.'
              : 'Width of the bins after Freedman and Diaconis (1981), rounded to whole steps of the gauge.'}{' '}
            {(picture.lowerSpecificationLimit !== null || picture.upperSpecificationLimit !== null) &&
              'Hatched: outside the specification (drawing).'}{' '}
            {picture.curve !== null && 'Line: normal curve of the overall mean and standard deviation.'}
          </p>
          <FarOut picture={picture} value={value} />
        </>
      )}
      <p>{shapeInWords(assessment)}</p>
    </section>
  );
}

function FarOut({ picture, value }: { picture: DistributionPicture; value: (one: number) => string }) {
  const { farBelow, farAbove } = picture.histogram;
  const far = [...farBelow, ...farAbove];
  if (far.length === 0) return null;
  return (
    <p>
      <strong>
        {far.length === 1 ? 'One reading lies' : `${formatCount(far.length)} readings lie`} too far out for
        the picture
      </strong>
      : {far.slice(0, 6).map(value).join('  ')}
      {far.length > 6 && ' …'} {picture.unit}. All numbers on this page count{' '}
      {far.length === 1 ? 'it' : 'them'}.
    </p>
  );
}

/** Readings that a normal distribution would put into a bin around each place. */
function expectedCounts(
  { bins, binWidth }: Histogram,
  readings: number,
  normal: { mean: number; standardDeviation: number },
) {
  const from = bins[0]!.from - binWidth;
  const to = bins.at(-1)!.to + binWidth;
  return Array.from({ length: CURVE_PLACES + 1 }, (_, place) => {
    const x = from + ((to - from) * place) / CURVE_PLACES;
    return { x, y: readings * binWidth * normalCurve(x, normal) };
  });
}

function describe(
  picture: DistributionPicture,
  readings: number,
  value: (one: number | null) => string,
): string {
  const { bins, farBelow, farAbove } = picture.histogram;
  const tallest = bins.reduce((most, bin) => (bin.count > most.count ? bin : most));
  return [
    `Histogram of ${readings} readings in ${bins.length} bins from ${value(bins[0]!.from)} to ${value(bins.at(-1)!.to)} ${picture.unit}`,
    `most readings between ${value(tallest.from)} and ${value(tallest.to)}`,
    `specification from the drawing: lower ${picture.lowerSpecificationLimit === null ? 'none' : value(picture.lowerSpecificationLimit)}, upper ${picture.upperSpecificationLimit === null ? 'none' : value(picture.upperSpecificationLimit)}`,
    farBelow.length + farAbove.length > 0
      ? `${farBelow.length + farAbove.length} readings outside the picture`
      : '',
  ]
    .filter(Boolean)
    .join('; ');
}
