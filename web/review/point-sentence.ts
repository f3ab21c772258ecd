import type { Characteristic } from '../../api/schemas.ts';
import { formatDateTime, formatNumber } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import type { Study } from './study.ts';
import { chartNames } from './words.ts';

/** A point in one spoken line, for whoever moves along the chart without seeing it. */
export function pointSentence(study: Study, index: number, characteristic: Characteristic): string {
  const point = study.points[index];
  if (point === undefined) return 'no point';
  const names = chartNames[study.kind];
  const value = (one: number | null): string => formatNumber(one, characteristic.decimals + 1);
  const signals = study.signals.filter((signal) => signal.index === index && !signal.withdrawn);
  return [
    `${formatDateTime(point.time, utcOffsetMinutes.value)}`,
    `${names.locationValue} ${value(point.location.value)}${point.location.beyond ? ', outside its control limits' : ''}`,
    `${names.spreadValue} ${value(point.spread.value)}${point.spread.beyond ? ', outside its control limits' : ''}`,
    ...signals.map((signal) => `signal ${signal.number}: ${signal.sentence}`),
  ].join('; ');
}
