import type { ChartSeries, LimitName } from '../charts/control-chart-configuration.ts';
import { type Level, levelsOf } from '../charts/stepped-line.ts';
import { gapIndex } from './gap-line.ts';
import type { Study } from './study.ts';
import { capitalised, chartNames } from './words.ts';

/** Points before which planned samples are missing. */
function gapsBefore(study: Study): number[] {
  const times = study.points.map((point) => point.time);
  return [...new Set(study.gaps.map((gap) => gapIndex(gap, times)))].filter((index) => index < times.length);
}

/** One of the two charts of a study, as the shared chart code wants it. */
export function chartSeries(study: Study, chart: 'location' | 'spread', unit: string): ChartSeries {
  const names = chartNames[study.kind];
  const numbers = new Map<number, string>();
  for (const signal of study.signals) {
    if (signal.chart !== chart || signal.withdrawn) continue;
    const others = numbers.get(signal.index);
    numbers.set(signal.index, others === undefined ? String(signal.number) : `${others}, ${signal.number}`);
  }
  const name = chart === 'location' ? names.locationValue : names.spreadValue;
  const line = (limit: LimitName): Level[] =>
    levelsOf(study.points.map((point) => point[chart].limits?.[limit] ?? null));
  return {
    title: `${capitalised(name)} [${unit}]`,
    values: study.points.map((point) => point[chart].value),
    limits: study.points.map((point) => point[chart].limits),
    lines: {
      lowerControlLimit: line('lowerControlLimit'),
      centerLine: line('centerLine'),
      upperControlLimit: line('upperControlLimit'),
    },
    beyond: study.points.map((point) => point[chart].beyond),
    signalNumbers: numbers,
    versionStarts: study.versionStarts.map(({ index, version }) => ({
      index,
      label: version === null ? 'no limits' : `version ${version}`,
    })),
    gapsBefore: gapsBefore(study),
    frozen: study.limitsFrom !== 'period',
  };
}
