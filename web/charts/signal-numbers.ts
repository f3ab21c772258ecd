import type { Plugin } from 'chart.js';

/** A point of the dataset that carries signals: what is written beside its ring. */
export interface NumberedPoint {
  readonly x: number;
  readonly y: number;
  readonly text: string;
}

/** Writes beside each ringed point the numbers that lead to the list of signals, where there is room. */
export const signalNumbers: Plugin = {
  id: 'signalNumbers',
  afterDatasetsDraw(chart) {
    const place = chart.data.datasets.findIndex((dataset) => dataset.label === 'signals');
    if (place < 0) return;
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
      if (x - half < freeFrom) return;
      freeFrom = x + half + 3;
      ctx.fillText(text, x, y - 12 < chartArea.top + 10 ? y + 22 : y - 12);
    });
    ctx.restore();
  },
};
