import type { ChartConfiguration } from 'chart.js';
import type { AnnotationOptions } from 'chartjs-plugin-annotation';
import type { Histogram } from '../../src/samples/histogram.ts';
import type { ChartColours } from './chart-colours.ts';

/** The values and what they are held against. Specification limits come from the drawing, never from the process. */
export interface DistributionPicture {
  readonly histogram: Histogram;
  readonly unit: string;
  readonly lowerSpecificationLimit: number | null;
  readonly upperSpecificationLimit: number | null;
  readonly nominal: number | null;
  readonly lowerNaturalBound: number | null;
  readonly upperNaturalBound: number | null;
  /** Expected readings a bin, where a curve may be drawn; places are in the unit of the values. */
  readonly curve: readonly { readonly x: number; readonly y: number }[] | null;
}

interface Place {
  x: number;
  y: number;
}
type Configuration = ChartConfiguration<'bar' | 'line', Place[]>;

/** Everything that Chart.js draws of a distribution against its specification, from data alone. */
export function histogramConfiguration(
  picture: DistributionPicture,
  { width }: { readonly width: number },
  words: { readonly value: (value: number) => string },
  colours: ChartColours,
): Configuration {
  const { histogram, curve } = picture;
  const axis = valueAxis(picture);
  // An empty bar on either side: the width of a bar is taken from its neighbours.
  const { binWidth, bins } = histogram;
  const middles = bins.map((bin) => ({ x: (bin.from + bin.to) / 2, y: bin.count }));
  const bars = [{ x: middles[0]!.x - binWidth, y: 0 }, ...middles, { x: middles.at(-1)!.x + binWidth, y: 0 }];
  const highest = Math.max(...bins.map((bin) => bin.count), ...(curve ?? []).map((place) => place.y));
  return {
    type: 'bar',
    data: {
      datasets: [
        ...(curve === null
          ? []
          : [
              {
                type: 'line' as const,
                label: 'normal curve',
                data: curve.map((place) => ({ ...place })),
                borderColor: colours.ink,
                borderWidth: 2,
                pointRadius: 0,
              },
            ]),
        {
          type: 'bar' as const,
          label: 'readings',
          data: bars,
          barThickness: 'flex' as const,
          barPercentage: 1,
          categoryPercentage: 1,
          backgroundColor: colours.processSoft,
          borderColor: colours.process,
          borderWidth: 1,
        },
      ],
    },
    options: {
      animation: false,
      responsive: false,
      maintainAspectRatio: false,
      parsing: false,
      normalized: true,
      events: [],
      font: { family: colours.font, size: 14 },
      layout: { padding: { top: 6, right: 12 } },
      scales: {
        x: {
          type: 'linear',
          offset: false,
          ...axis,
          title: { display: true, text: `Value [${picture.unit}]`, color: colours.ink },
          grid: { display: false },
          ticks: {
            color: colours.inkSoft,
            maxRotation: 0,
            maxTicksLimit: Math.max(3, Math.floor(width / 110)),
            includeBounds: false,
            callback: (value) => words.value(Number(value)),
          },
        },
        y: {
          type: 'linear',
          min: 0,
          // The names of the drawing's limits stand above the bars.
          max: highest * 1.3,
          title: { display: true, text: 'Readings', color: colours.ink },
          grid: { color: colours.grid },
          border: { display: false },
          ticks: {
            color: colours.inkSoft,
            precision: 0,
            maxTicksLimit: 6,
            includeBounds: false,
          },
        },
      },
      plugins: { annotation: { animations: {}, annotations: drawingMarks(picture, axis, words, colours) } },
    },
  };
}

/** Wide enough for the bars and for a strip beyond each specification limit. */
function valueAxis(picture: DistributionPicture): { min: number; max: number } {
  const { bins } = picture.histogram;
  const places = [bins[0]!.from, bins.at(-1)!.to];
  for (const limit of [
    picture.lowerSpecificationLimit,
    picture.upperSpecificationLimit,
    picture.lowerNaturalBound,
    picture.upperNaturalBound,
    picture.nominal,
  ]) {
    if (limit !== null) places.push(limit);
  }
  const min = Math.min(...places);
  const max = Math.max(...places);
  const room = (max - min) * 0.12;
  return {
    min: picture.lowerNaturalBound === min ? min - room / 4 : min - room,
    max: picture.upperNaturalBound === max ? max + room / 4 : max + room,
  };
}

function drawingMarks(
  picture: DistributionPicture,
  axis: { min: number; max: number },
  words: { readonly value: (value: number) => string },
  colours: ChartColours,
): AnnotationOptions[] {
  const { lowerSpecificationLimit: lower, upperSpecificationLimit: upper } = picture;
  const label = (content: string[]) => ({
    display: true,
    content,
    color: colours.drawing,
    font: { family: colours.font, size: 13, weight: 'normal' as const },
    padding: 2,
  });
  const outside = (xMin: number, xMax: number): AnnotationOptions => ({
    type: 'box',
    xMin,
    xMax,
    backgroundColor: colours.drawingHatch as string,
    borderWidth: 0,
    drawTime: 'beforeDatasetsDraw',
  });
  const mark = (
    value: number,
    content: string[],
    style: { dash?: number[]; width: number; colour: string },
    side: 'left' | 'right' | 'middle',
  ): AnnotationOptions => ({
    type: 'line',
    scaleID: 'x',
    value,
    borderColor: style.colour,
    borderWidth: style.width,
    borderDash: style.dash ?? [],
    drawTime: 'beforeDatasetsDraw',
    label: {
      ...label(content),
      color: style.colour,
      backgroundColor: colours.surface,
      borderRadius: 0,
      position: 'start',
      rotation: 0,
      xAdjust: side === 'middle' ? 0 : side === 'left' ? 52 : -52,
    },
  });
  const drawing = { width: 4, colour: colours.drawing };
  const marks: AnnotationOptions[] = [];
  if (lower !== null) {
    marks.push(outside(axis.min, lower));
    marks.push(mark(lower, ['specification', `≥ ${words.value(lower)}`], drawing, 'left'));
  }
  if (upper !== null) {
    marks.push(outside(upper, axis.max));
    marks.push(mark(upper, ['specification', `≤ ${words.value(upper)}`], drawing, 'right'));
  }
  if (picture.nominal !== null && picture.nominal !== lower && picture.nominal !== upper) {
    const style = { width: 2, dash: [8, 6], colour: colours.drawing };
    marks.push(mark(picture.nominal, ['nominal', words.value(picture.nominal)], style, 'middle'));
  }
  for (const bound of [picture.lowerNaturalBound, picture.upperNaturalBound]) {
    if (bound === null) continue;
    const style = { width: 2, dash: [2, 3], colour: colours.inkSoft };
    const side = bound === picture.lowerNaturalBound ? 'left' : 'right';
    marks.push(mark(bound, ['natural bound', words.value(bound)], style, side));
  }
  return marks;
}
