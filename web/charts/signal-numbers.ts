import type { Chart, Plugin } from 'chart.js';

/** A point that carries words: of a signal its numbers, of a point off the chart its value. */
export interface NumberedPoint {
  readonly x: number;
  readonly y: number;
  readonly text: string;
}

/** Words beside a point, and which side of it they stand on where there is room. */
type Side = 'above' | 'beside';
const sides: Readonly<Record<string, Side>> = {
  signals: 'above',
  'off the chart, above': 'beside',
  'off the chart, below': 'beside',
};

/** Writes beside each ringed point the numbers that lead to the list of signals, where there is room. */
export const signalNumbers: Plugin = {
  id: 'signalNumbers',
  afterDatasetsDraw(chart) {
    chart.data.datasets.forEach((dataset, place) => {
      const side = sides[dataset.label ?? ''];
      if (side !== undefined) writeBeside(chart, place, side);
    });
  },
};

function writeBeside(chart: Chart, place: number, side: Side): void {
  const { ctx, chartArea } = chart;
  const { color, font } = chart.options as { color: string; font: { family: string } };
  const points = chart.data.datasets[place]!.data as unknown as NumberedPoint[];
  ctx.save();
  ctx.fillStyle = color;
  ctx.font = `600 13px ${font.family}`;
  ctx.textAlign = 'center';
  let freeFrom = Number.NEGATIVE_INFINITY;
  chart.getDatasetMeta(place).data.forEach((element, index) => {
    const text = points[index]!.text;
    const half = ctx.measureText(text).width / 2;
    const { x, y } = element.getProps(['x', 'y'], true);
    if (side === 'above') {
      if (x - half < freeFrom) return;
      freeFrom = x + half + 3;
      ctx.fillText(text, x, y - 12 < chartArea.top + 10 ? y + 22 : y - 12);
      return;
    }
    // At the right edge the words stand on the left of their mark.
    const middle = x + 14 + 2 * half > chartArea.right ? x - 14 - half : x + 14 + half;
    if (middle - half < freeFrom) return;
    freeFrom = middle + half + 3;
    ctx.fillText(text, middle, y + 4);
  });
  ctx.restore();
}
