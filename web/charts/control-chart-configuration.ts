import type { ChartConfiguration, ChartDataset } from 'chart.js';
import type { AnnotationOptions } from 'chartjs-plugin-annotation';
import type { ControlLimits } from '../../src/charts/control-chart.ts';
import type { ChartColours } from './chart-colours.ts';
import type { NumberedPoint } from './signal-numbers.ts';
import { type Level, steppedLine } from './stepped-line.ts';
import { thinForWidth } from './thin-for-width.ts';
import { valueAxis } from './value-axis.ts';
import type { VisibleRange } from './visible-range.ts';

const limitNames = ['lowerControlLimit', 'centerLine', 'upperControlLimit'] as const;
export type LimitName = (typeof limitNames)[number];

/** One chart's points, in sample order; every list has one entry a point. */
export interface ChartSeries {
  /** Axis title, with the unit. */
  readonly title: string;
  readonly values: readonly (number | null)[];
  readonly limits: readonly (ControlLimits | null)[];
  /** The same limits line by line, so that a zoom step need not take them apart again. */
  readonly lines: Readonly<Record<LimitName, readonly Level[]>>;
  /** Strictly outside the control limits. */
  readonly beyond: readonly boolean[];
  /** Numbers that lead from a point to the list of signals. */
  readonly signalNumbers: ReadonlyMap<number, string>;
  /** Where another version of the limits begins. */
  readonly versionStarts: readonly { readonly index: number; readonly label: string }[];
  /** Points before which planned samples are missing: no line joins them to the point before. */
  readonly gapsBefore: readonly number[];
  /** false: the limits were computed from the period shown and nobody has frozen them. */
  readonly frozen: boolean;
}

/** How much is shown, and where. */
export interface ChartView {
  readonly range: VisibleRange;
  readonly chosen: number | null;
  readonly width: number;
  readonly height: number;
}

export interface ChartWords {
  readonly value: (value: number) => string;
  /** Lines of a time label. */
  readonly time: (index: number) => string[];
}

interface Place {
  x: number;
  y: number;
}
type Dataset = ChartDataset<'line', Place[]>;
export type LineConfiguration = ChartConfiguration<'line', Place[]>;

/** Both charts leave the same room at the left, so that a point stands under its point. */
export const LEFT = 76;
/** Room at the right for the names of the lines; a narrow screen names them below the charts instead. */
export const marginForNames = (width: number): number => (width < 640 ? 12 : 188);

/** A mark on the last point is drawn whole, though half of it lies outside the plot. */
const MARK_MAY_OVERHANG = 12;
/** Where the names of the limits are written, unless two would touch. */
const NAME_HEIGHT = 18;
/** Half the width of a letter, with some air. */
const NAME_CHARACTER = 4;

/** Everything that Chart.js draws of one control chart, from data alone. */
export function controlChartConfiguration(
  series: ChartSeries,
  view: ChartView,
  words: ChartWords,
  colours: ChartColours,
): LineConfiguration {
  const { range } = view;
  const right = marginForNames(view.width);
  const columns = Math.max(40, Math.floor(view.width - LEFT - right));
  const axis = valueAxis(series, range);
  const offChart = new Set(axis.offChart);
  const gaps = new Set(series.gapsBefore);
  const drawn = thinForWidth(series.values, {
    ...range,
    columns,
    keep: (index) =>
      series.beyond[index] === true ||
      series.signalNumbers.has(index) ||
      offChart.has(index) ||
      gaps.has(index) ||
      index === view.chosen,
  });
  const limitLines = limitNames.map((name) => steppedLine(series.lines[name], range, columns));
  const bounds = { min: axis.min, max: axis.max };
  const place = (index: number): Place => {
    const value = series.values[index] ?? Number.NaN;
    if (!offChart.has(index)) return { x: index, y: value };
    return { x: index, y: value < axis.min ? axis.lowEdge : axis.highEdge };
  };
  const joined = (index: number): Place[] =>
    gaps.has(index) ? [{ x: index - 0.5, y: Number.NaN }, place(index)] : [place(index)];
  const offChartPoint = (index: number): NumberedPoint => ({
    ...place(index),
    text: `off the chart: ${words.value(series.values[index]!)}`,
  });
  const isHigh = (index: number): boolean => series.values[index]! > axis.max;

  const isBeyondOnChart = (index: number): boolean => series.beyond[index] === true && !offChart.has(index);

  const line = (label: string, data: Place[], style: Partial<Dataset>): Dataset => ({
    label,
    data,
    pointRadius: 0,
    borderWidth: 2,
    borderColor: colours.process,
    ...style,
  });
  const dash = series.frozen ? [] : [7, 5];
  const dense = drawn.length > columns / 3;
  const datasets: Dataset[] = [
    line('lower control limit', limitLines[0]!, { borderDash: dash }),
    line('center line', limitLines[1]!, { borderWidth: 1, borderColor: colours.inkSoft, borderDash: dash }),
    line('upper control limit', limitLines[2]!, { borderDash: dash }),
    line('points', drawn.flatMap(joined), {
      borderWidth: 1,
      borderColor: colours.inkSoft,
      pointRadius: dense ? 0 : 3,
      pointBackgroundColor: colours.ink,
      pointBorderWidth: 0,
    }),
    line('outside the control limits', drawn.filter(isBeyondOnChart).map(place), {
      showLine: false,
      clip: MARK_MAY_OVERHANG,
      pointStyle: 'rectRot',
      pointRadius: 5,
      pointBackgroundColor: colours.call,
      pointBorderColor: colours.surface,
    }),
    line(
      'signals',
      drawn
        .filter((index) => series.signalNumbers.has(index) && series.values[index] !== null)
        .map((index): NumberedPoint => ({ ...place(index), text: series.signalNumbers.get(index)! })),
      {
        showLine: false,
        clip: MARK_MAY_OVERHANG,
        pointRadius: 8,
        pointBorderWidth: 2,
        pointBorderColor: colours.call,
        pointBackgroundColor: 'transparent',
      },
    ),
    ...[true, false].map((high) =>
      line(
        high ? 'off the chart, above' : 'off the chart, below',
        axis.offChart.filter((index) => isHigh(index) === high).map(offChartPoint),
        {
          showLine: false,
          clip: MARK_MAY_OVERHANG,
          pointStyle: 'triangle',
          pointRotation: high ? 0 : 180,
          pointRadius: 7,
          pointBackgroundColor: colours.surface,
          pointBorderColor: colours.call,
          pointBorderWidth: 2,
        },
      ),
    ),
    line('chosen point', view.chosen === null ? [] : [place(view.chosen)], {
      showLine: false,
      clip: MARK_MAY_OVERHANG,
      pointStyle: 'rect',
      pointRadius: 11,
      pointBorderWidth: 3,
      pointBorderColor: colours.focus,
      pointBackgroundColor: 'transparent',
    }),
  ];

  return {
    type: 'line',
    data: { datasets },
    options: {
      animation: false,
      responsive: false,
      maintainAspectRatio: false,
      normalized: true,
      parsing: false,
      spanGaps: false,
      events: [],
      color: colours.ink,
      font: { family: colours.font, size: 14 },
      layout: { padding: { top: 24, right } },
      scales: {
        x: {
          type: 'linear',
          min: range.first - 0.5,
          max: range.last + 0.5,
          grid: { display: false },
          border: { color: colours.grid },
          afterBuildTicks: (axis) => {
            axis.ticks = timeTicks(range, columns).map((value) => ({ value }));
          },
          ticks: {
            color: colours.inkSoft,
            autoSkip: false,
            maxRotation: 0,
            callback: (value) => words.time(Number(value)),
          },
        },
        y: {
          type: 'linear',
          ...bounds,
          title: { display: true, text: series.title, color: colours.ink },
          grid: { color: colours.grid },
          border: { display: false },
          ticks: {
            color: colours.inkSoft,
            autoSkip: false,
            maxTicksLimit: 7,
            includeBounds: false,
            callback: (value) => words.value(Number(value)),
          },
          afterFit: (axis) => {
            axis.width = LEFT;
          },
        },
      },
      plugins: {
        annotation: {
          clip: false,
          animations: {},
          annotations: [
            ...gapLines(series, range, columns, colours),
            ...versionLines(series, range, columns, colours),
            ...chosenLine(view, colours),
            ...(right > 100 ? lineNames(series, view, bounds, words, colours) : []),
          ],
        },
      },
    },
  };
}

/** Places of the time labels: even steps of samples, as many as fit. */
export function timeTicks(range: VisibleRange, columns: number): number[] {
  const fit = Math.max(2, Math.floor(columns / 120));
  const step = Math.max(1, Math.ceil((range.last - range.first + 1) / fit));
  const ticks: number[] = [];
  for (let index = range.first + Math.floor(step / 2); index <= range.last; index += step) ticks.push(index);
  return ticks;
}

/** Where planned samples are missing; the words for it stand under the chart. */
function gapLines(
  series: ChartSeries,
  { first, last }: VisibleRange,
  columns: number,
  colours: ChartColours,
): AnnotationOptions[] {
  const closest = (6 * (last - first + 1)) / columns;
  let previous = Number.NEGATIVE_INFINITY;
  return series.gapsBefore.flatMap((index): AnnotationOptions[] => {
    if (index < first || index > last || index - previous < closest) return [];
    previous = index;
    return [
      {
        type: 'line',
        scaleID: 'x',
        value: index - 0.5,
        borderColor: colours.inkSoft,
        borderWidth: 3,
        borderDash: [1, 5],
        drawTime: 'beforeDatasetsDraw',
      },
    ];
  });
}

/** Where the limits change; each change is named above the plot, as far as the names have room side by side. */
function versionLines(
  series: ChartSeries,
  { first, last }: VisibleRange,
  columns: number,
  colours: ChartColours,
): AnnotationOptions[] {
  const perPoint = columns / (last - first + 1);
  let freeFrom = Number.NEGATIVE_INFINITY;
  return series.versionStarts
    .filter(({ index }) => index > first && index <= last)
    .map(({ index, label }) => {
      const centre = (index - first) * perPoint;
      const half = label.length * NAME_CHARACTER;
      const named = centre - half >= freeFrom;
      if (named) freeFrom = centre + half;
      return {
        type: 'line' as const,
        scaleID: 'x',
        value: index - 0.5,
        borderColor: colours.process,
        borderWidth: 1,
        borderDash: [2, 4],
        label: {
          display: named,
          content: label,
          position: 'start' as const,
          // Above the plot, where it hides no point.
          yAdjust: -22,
          rotation: 0,
          padding: 3,
          borderRadius: 0,
          backgroundColor: colours.processSoft,
          color: colours.ink,
          font: { family: colours.font, size: 13, weight: 'normal' as const },
        },
      };
    });
}

function chosenLine(view: ChartView, colours: ChartColours): AnnotationOptions[] {
  const { chosen, range } = view;
  if (chosen === null || chosen < range.first || chosen > range.last) return [];
  return [
    {
      type: 'line',
      scaleID: 'x',
      value: chosen,
      borderColor: colours.focus,
      borderWidth: 1,
      drawTime: 'beforeDatasetsDraw',
    },
  ];
}

/** Names and values of the newest visible limits, in the margin where nothing hides them. */
function lineNames(
  series: ChartSeries,
  view: ChartView,
  bounds: { min: number; max: number },
  words: ChartWords,
  colours: ChartColours,
): AnnotationOptions[] {
  const limits = series.limits[view.range.last];
  if (limits === null || limits === undefined) return [];
  const pixelsPerUnit = (view.height - 60) / (bounds.max - bounds.min);
  const written: number[] = [];
  const names: AnnotationOptions[] = [];
  for (const [name, value] of [
    ['upper control limit', limits.upperControlLimit],
    ['lower control limit', limits.lowerControlLimit],
    ['center line', limits.centerLine],
  ] as const) {
    if (value === null) continue;
    if (written.some((other) => Math.abs(other - value) * pixelsPerUnit < NAME_HEIGHT)) continue;
    written.push(value);
    names.push({
      type: 'label',
      xValue: view.range.last + 0.5,
      yValue: value,
      position: { x: 'start', y: 'center' },
      content: `${name} ${words.value(value)}`,
      color: name === 'center line' ? colours.inkSoft : colours.process,
      font: { family: colours.font, size: 13 },
      padding: 3,
      xAdjust: 2,
    });
  }
  return names;
}
