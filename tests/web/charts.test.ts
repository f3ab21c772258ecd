import { describe, expect, it } from 'vitest';
import { histogram } from '../../src/samples/histogram.ts';
import type { ChartColours } from '../../web/charts/chart-colours.ts';
import {
  type ChartSeries,
  controlChartConfiguration,
  timeTicks,
} from '../../web/charts/control-chart-configuration.ts';
import { histogramConfiguration } from '../../web/charts/histogram-configuration.ts';
import { levelsOf, steppedLine } from '../../web/charts/stepped-line.ts';
import { thinForWidth } from '../../web/charts/thin-for-width.ts';
import { valueAxis } from '../../web/charts/value-axis.ts';
import { between, moved, showing, wholeRange, zoomed } from '../../web/charts/visible-range.ts';

const colours: ChartColours = {
  ink: 'ink',
  inkSoft: 'inkSoft',
  surface: 'surface',
  grid: 'grid',
  process: 'process',
  processSoft: 'processSoft',
  drawing: 'drawing',
  drawingHatch: 'hatch',
  call: 'call',
  focus: 'focus',
  font: 'sans-serif',
};

/** Repeatable values without a random source. */
const wave = (count: number): number[] =>
  Array.from({ length: count }, (_, index) => Math.sin(index * 1.7) + Math.sin(index * 0.013));

describe('thinning a series for its width', () => {
  it('draws every point where there is room', () => {
    const drawn = thinForWidth(wave(100), { first: 10, last: 60, columns: 40, keep: () => false });
    expect(drawn).toEqual(Array.from({ length: 51 }, (_, step) => 10 + step));
  });

  it('keeps the extremes of each pixel, the marked points and the ends, in order', () => {
    const values = wave(20_000);
    const marked = new Set([777, 778, 12_345]);
    const columns = 500;
    const drawn = thinForWidth(values, {
      first: 0,
      last: 19_999,
      columns,
      keep: (index) => marked.has(index),
    });
    expect(drawn.length).toBeLessThanOrEqual(4 * columns + marked.size);
    expect(drawn).toEqual([...new Set(drawn)].sort((a, b) => a - b));
    const kept = new Set(drawn);
    for (const index of [...marked, 0, 19_999]) expect(kept.has(index)).toBe(true);
    for (let column = 0; column < columns; column++) {
      const part = values.slice(column * 40, column * 40 + 40);
      expect(kept.has(column * 40 + part.indexOf(Math.max(...part)))).toBe(true);
      expect(kept.has(column * 40 + part.indexOf(Math.min(...part)))).toBe(true);
    }
  });

  it('passes over missing points and empty ranges', () => {
    const values = Array.from({ length: 1000 }, (_, index) => (index % 2 === 0 ? index : null));
    expect(thinForWidth(values, { first: 0, last: 999, columns: 10, keep: () => false })).toContain(998);
    expect(thinForWidth([], { first: 0, last: -1, columns: 10, keep: () => false })).toEqual([]);
  });

  it('is quick enough for a zoom step at 20 000 points', () => {
    const values = wave(20_000);
    const space = { first: 0, last: 19_999, columns: 1000, keep: () => false };
    thinForWidth(values, space);
    const before = process.cpuUsage();
    for (let step = 0; step < 20; step++) thinForWidth(values, space);
    const { user, system } = process.cpuUsage(before);
    expect((user + system) / 1000 / 20).toBeLessThan(16);
  });
});

describe('the visible range', () => {
  it('zooms about a point and stays inside', () => {
    expect(zoomed({ first: 0, last: 99 }, 0.5, 50, 100)).toEqual({ first: 25, last: 74 });
    expect(zoomed({ first: 0, last: 99 }, 0.5, 0, 100)).toEqual({ first: 0, last: 49 });
    expect(zoomed({ first: 40, last: 59 }, 100, 50, 100)).toEqual(wholeRange(100));
    expect(zoomed({ first: 0, last: 9 }, 0.01, 5, 100)).toMatchObject({ first: 3, last: 7 });
    expect(zoomed(wholeRange(0), 0.5, 0, 0)).toEqual(wholeRange(0));
  });

  it('moves, selects and follows a point', () => {
    expect(moved({ first: 0, last: 9 }, 0.5, 100)).toEqual({ first: 5, last: 14 });
    expect(moved({ first: 0, last: 9 }, -0.5, 100)).toEqual({ first: 0, last: 9 });
    expect(moved({ first: 85, last: 94 }, 1, 100)).toEqual({ first: 90, last: 99 });
    expect(between(70, 30, 100)).toEqual({ first: 30, last: 70 });
    expect(between(2, 2, 3)).toEqual({ first: 0, last: 2 });
    expect(showing({ first: 10, last: 19 }, 15, 100)).toEqual({ first: 10, last: 19 });
    expect(showing({ first: 10, last: 19 }, 5, 100)).toEqual({ first: 5, last: 14 });
    expect(showing({ first: 10, last: 19 }, 30, 100)).toEqual({ first: 21, last: 30 });
  });
});

describe('stepped lines', () => {
  it('hold each limit half-way to the neighbours and break where there is none', () => {
    const levels = levelsOf([null, null, 5, 5, 7]);
    expect(levels).toEqual([
      { first: 0, value: null },
      { first: 2, value: 5 },
      { first: 4, value: 7 },
    ]);
    expect(steppedLine(levels, { first: 1, last: 4 }, 100)).toEqual([
      { x: 0.5, y: Number.NaN },
      { x: 1.5, y: Number.NaN },
      { x: 1.5, y: 5 },
      { x: 3.5, y: 5 },
      { x: 3.5, y: 7 },
      { x: 4.5, y: 7 },
    ]);
    expect(steppedLine(levelsOf([null, null]), { first: 0, last: 1 }, 100)).toEqual([]);
  });
});

function series(values: (number | null)[], change: Partial<ChartSeries> = {}): ChartSeries {
  const limits = values.map(() => ({
    centerLine: 10,
    lowerControlLimit: 9,
    upperControlLimit: 11,
    standardDeviation: 1 / 3,
  }));
  return {
    title: 'Mean [mm]',
    values,
    limits,
    lines: {
      lowerControlLimit: levelsOf(limits.map((one) => one.lowerControlLimit)),
      centerLine: levelsOf(limits.map((one) => one.centerLine)),
      upperControlLimit: levelsOf(limits.map((one) => one.upperControlLimit)),
    },
    beyond: values.map((value) => value !== null && Math.abs(value - 10) > 1),
    signalNumbers: new Map(),
    versionStarts: [],
    gapsBefore: [],
    frozen: true,
    ...change,
  };
}

describe('the configuration of a control chart', () => {
  const words = { value: (value: number) => value.toFixed(2), time: (index: number) => [`t${index}`] };
  const view = { range: { first: 0, last: 3 }, chosen: null, width: 1000, height: 300 };
  const dataset = (configuration: ReturnType<typeof controlChartConfiguration>, label: string) =>
    configuration.data.datasets.find((one) => one.label === label)!;

  it('draws points, limits, points outside and numbered signals', () => {
    const chart = controlChartConfiguration(
      series([10, 12, null, 9.5], { signalNumbers: new Map([[1, '1, 2']]) }),
      view,
      words,
      colours,
    );
    expect(dataset(chart, 'points').data.map((place) => place.y)).toEqual([10, 12, Number.NaN, 9.5]);
    expect(dataset(chart, 'outside the control limits').data).toEqual([{ x: 1, y: 12 }]);
    expect(dataset(chart, 'signals').data).toEqual([{ x: 1, y: 12, text: '1, 2' }]);
    expect(dataset(chart, 'upper control limit').data).toEqual([
      { x: -0.5, y: 11 },
      { x: 3.5, y: 11 },
    ]);
    expect(chart.options?.scales?.x).toMatchObject({ min: -0.5, max: 3.5 });
  });

  it('marks a point far off at the edge, in words, and keeps the limits apart', () => {
    const values = [10, 10.2, 9.8, 10.1, 9.9, 1904, 10.3, 9.7, -500];
    const chart = controlChartConfiguration(
      series(values, { signalNumbers: new Map([[5, '1']]) }),
      { ...view, range: wholeRange(values.length) },
      words,
      colours,
    );
    const { min, max } = chart.options!.scales!.y as { min: number; max: number };
    // The limits 9 and 11 fill most of the height.
    expect(2 / (max - min)).toBeGreaterThan(0.5);
    const [high] = dataset(chart, 'off the chart, above').data as { x: number; y: number; text: string }[];
    expect(high).toMatchObject({ x: 5, text: 'off the chart: 1904.00' });
    expect(high!.y).toBeGreaterThan(11);
    expect(high!.y).toBeLessThan(max);
    const [low] = dataset(chart, 'off the chart, below').data as { x: number; y: number; text: string }[];
    expect(low).toMatchObject({ x: 8, text: 'off the chart: -500.00' });
    expect(low!.y).toBeGreaterThan(min);
    expect(low!.y).toBeLessThan(9);
    expect(dataset(chart, 'signals').data).toEqual([{ x: 5, y: high!.y, text: '1' }]);
    expect(dataset(chart, 'outside the control limits').data).toEqual([]);
  });

  it('draws points outside the limits where they are, as far as the scale can bear them', () => {
    const outside = valueAxis(series([10, 10.1, 9.9, 10, 12.5, 8]), wholeRange(6));
    expect(outside.offChart).toEqual([]);
    expect(outside.max).toBeGreaterThan(12.5);
    expect(outside.min).toBeLessThan(8);
    // A shift that half of the points share is no outlier, and a series without variation has none.
    const shifted = Array.from({ length: 40 }, (_, index) => (index < 20 ? 10 : 30) + (index % 3) / 10);
    expect(valueAxis(series(shifted), wholeRange(40)).offChart).toEqual([]);
    const bare = { limits: [], lines: series([]).lines };
    expect(valueAxis(series([5, 5, 5, 5, 9], bare), wholeRange(5)).offChart).toEqual([]);
  });

  it('breaks the line where planned samples are missing', () => {
    const chart = controlChartConfiguration(
      series([10, 10.1, 10.2, 10.3], { gapsBefore: [2] }),
      view,
      words,
      colours,
    );
    expect(dataset(chart, 'points').data).toEqual([
      { x: 0, y: 10 },
      { x: 1, y: 10.1 },
      { x: 1.5, y: Number.NaN },
      { x: 2, y: 10.2 },
      { x: 3, y: 10.3 },
    ]);
    const { annotations } = chart.options!.plugins!.annotation as unknown as {
      annotations: { value?: number }[];
    };
    expect(annotations.map(({ value }) => value)).toContain(1.5);
  });

  it('hides no point: each is inside the axis or marked at the edge', () => {
    for (const factor of [1, 3, 10, 100, 1e6]) {
      const values = wave(500).map((value, index) => 10 + value * (index % 97 === 0 ? factor : 0.3));
      const given = series(values);
      const { min, max, offChart } = valueAxis(given, wholeRange(500));
      const inside = values.flatMap((value, index) => (value >= min && value <= max ? [index] : []));
      expect([...inside, ...offChart].sort((a, b) => a - b)).toEqual(values.map((_, index) => index));
    }
  });

  it('draws limits that nobody has frozen dashed', () => {
    const frozen = controlChartConfiguration(series([10, 10]), view, words, colours);
    const own = controlChartConfiguration(series([10, 10], { frozen: false }), view, words, colours);
    expect(dataset(frozen, 'upper control limit').borderDash).toEqual([]);
    expect(dataset(own, 'upper control limit').borderDash).toEqual([7, 5]);
  });

  it('names the lines in the margin where there is one, and marks versions inside the view only', () => {
    const changed = series([10, 10, 10, 10], {
      versionStarts: [
        { index: 0, label: 'limits version 1' },
        { index: 2, label: 'limits version 2' },
      ],
    });
    const contents = (width: number): unknown[] => {
      const { annotations } = controlChartConfiguration(changed, { ...view, width }, words, colours).options!
        .plugins!.annotation as unknown as {
        annotations: { content?: string; label?: { content: string } }[];
      };
      return annotations.map((one) => one.content ?? one.label?.content);
    };
    expect(contents(1000)).toEqual([
      'limits version 2',
      'upper control limit 11.00',
      'lower control limit 9.00',
      'center line 10.00',
    ]);
    expect(contents(360)).toEqual(['limits version 2']);
  });

  it('never loses a signal among 20 000 points', () => {
    const values = wave(20_000).map((value) => 10 + value / 10);
    const signalNumbers = new Map([3, 4, 19_998].map((index, place) => [index, String(place + 1)]));
    const chart = controlChartConfiguration(
      series(values, { signalNumbers }),
      { ...view, range: wholeRange(20_000) },
      words,
      colours,
    );
    expect(dataset(chart, 'signals').data.map((place) => place.x)).toEqual([3, 4, 19_998]);
    expect(dataset(chart, 'points').data.length).toBeLessThan(4000);
  });

  it('keeps the axis of a spread from going below 0, and stands without any value', () => {
    const spread = series([0.1, 0.3], { limits: [null, null], lines: series([]).lines });
    expect(controlChartConfiguration(spread, view, words, colours).options?.scales?.y).toMatchObject({
      min: 0,
    });
    const empty = series([null], { limits: [null], lines: series([]).lines });
    expect(controlChartConfiguration(empty, view, words, colours).options?.scales?.y).toMatchObject({
      min: 0,
      max: 1,
    });
  });

  it('labels even steps of samples', () => {
    expect(timeTicks({ first: 0, last: 9 }, 1200)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect(timeTicks({ first: 0, last: 99 }, 600)).toEqual([10, 30, 50, 70, 90]);
  });
});

describe('the configuration of a histogram', () => {
  const picture = {
    histogram: histogram([9.9, 10, 10, 10.1, 10.2], { resolution: 0.1 }),
    unit: 'mm',
    lowerSpecificationLimit: 9,
    upperSpecificationLimit: 11,
    nominal: 10,
    lowerNaturalBound: null,
    upperNaturalBound: null,
    curve: null,
  };
  const words = { value: (value: number) => value.toFixed(1) };
  const annotationsOf = (
    one: typeof picture | (Omit<typeof picture, 'lowerNaturalBound'> & { lowerNaturalBound: number }),
  ) =>
    (
      histogramConfiguration(one, { width: 500 }, words, colours).options!.plugins!.annotation as unknown as {
        annotations: {
          type: string;
          xMin?: number;
          xMax?: number;
          value?: number;
          label?: { content: string[] };
        }[];
      }
    ).annotations;

  it('hatches only what lies outside the specification and names its limits as the drawing', () => {
    const marks = annotationsOf(picture);
    const boxes = marks.filter((mark) => mark.type === 'box');
    expect(boxes.map((box) => [box.xMin! < 9, box.xMax])).toEqual([
      [true, 9],
      [false, boxes[1]!.xMax],
    ]);
    expect(boxes[1]!.xMin).toBe(11);
    const names = marks.filter((mark) => mark.label).map((mark) => mark.label!.content.join(' '));
    expect(names).toEqual(['specification ≥ 9.0', 'specification ≤ 11.0', 'nominal 10.0']);
  });

  it('marks a natural bound, and draws nothing for a missing limit', () => {
    const marks = annotationsOf({ ...picture, lowerNaturalBound: 0 });
    expect(marks.some((mark) => mark.label?.content[0] === 'natural bound' && mark.value === 0)).toBe(true);
    const none = histogramConfiguration(
      { ...picture, lowerSpecificationLimit: null, upperSpecificationLimit: null, nominal: null },
      { width: 500 },
      words,
      colours,
    );
    expect(none.options!.plugins!.annotation).toMatchObject({ annotations: [] });
  });

  it('draws a curve only where there is one', () => {
    const labels = (curve: { x: number; y: number }[] | null) =>
      histogramConfiguration({ ...picture, curve }, { width: 500 }, words, colours).data.datasets.map(
        (one) => one.label,
      );
    expect(labels(null)).toEqual(['readings']);
    expect(labels([{ x: 10, y: 2 }])).toEqual(['normal curve', 'readings']);
  });
});
