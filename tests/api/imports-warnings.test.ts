/** Looking for warnings stays bounded in a file as large as one may be, whatever stands in it. */
import { expect, it } from 'vitest';
import { findWarnings } from '../../api/imports/find-warnings.ts';
import { MAX_FILE_READINGS, MAX_SAMPLES, MAX_WARNINGS } from '../../api/imports/import-bounds.ts';
import type { FileSample } from '../../api/imports/read-samples.ts';
import type { StreamContext } from '../../api/monitoring/stream-context.ts';

const readingsEach = MAX_FILE_READINGS / MAX_SAMPLES;
const context: StreamContext = {
  plant: { name: 'Test works', utcOffsetMinutes: 120 },
  line: {
    id: 'R1',
    name: 'Rim line 1',
    partsPerHour: 310,
    runningHours: { start: '06:00', end: '22:00', weekdays: [1] },
  },
  stream: { id: 'C5-R1', characteristicId: 'C5', stationId: 'R1-end', name: 'Line 1', kind: 'roll set' },
  modelId: 'Q10',
  characteristic: {
    id: 'C5',
    name: 'Rim width',
    kind: 'variable',
    unit: 'mm',
    decimals: 2,
    gauge: 'caliper',
    lowerNaturalBound: 0,
    upperNaturalBound: null,
  },
  plan: null,
  specification: {
    characteristicId: 'C5',
    modelId: 'Q10',
    nominal: 127,
    lowerSpecificationLimit: 126,
    upperSpecificationLimit: 128,
  },
  specifiedModels: ['Q10', 'Q12'],
  otherModels: [{ modelId: 'Q12', name: 'Wheel Q12', nominal: 152.4 }],
  settings: null,
};
const fileOf = (length: number, value: (index: number) => number, oneTime: boolean): FileSample[] =>
  Array.from({ length }, (_, index) => ({
    line: index + 2,
    takenAt: Date.UTC(2025, 0, 1) + (oneTime ? 0 : index * 60_000),
    lot: null,
    count: null,
    valueLines: null,
    filled: readingsEach,
    values: Array.from({ length: readingsEach }, (_, place) => value(index * readingsEach + place)),
  }));

it.each<[string, number, (index: number) => number, boolean]>([
  ['nothing to warn of', MAX_SAMPLES, (index) => 126.5 + (index % 97) / 100, false],
  ['every value unlikely', MAX_SAMPLES, (index) => 4.5 + (index % 97) / 100, false],
  // A tenth, because explaining each takes long: what must not happen is that others wait for it.
  ['every value unlikely and unlike the others', MAX_SAMPLES / 10, (index) => 4.5 + index / 1e7, true],
])('%s', { timeout: 120_000 }, async (_, length, value, oneTime) => {
  const samples = fileOf(length, value, oneTime);
  const unlikely = value(0) < 100;
  const warningCount = (unlikely ? length * readingsEach : 0) + (oneTime ? length - 1 : 0);
  const before = process.memoryUsage().rss;
  const cpuBefore = process.cpuUsage();
  let turns = 0;
  const watching = setInterval(() => {
    turns += 1;
  }, 1);
  const found = await findWarnings(samples, () => true, { context, limitsVersions: [], decimalMark: '.' });
  clearInterval(watching);
  const { user, system } = process.cpuUsage(cpuBefore);
  const grownMegabytes = (process.memoryUsage().rss - before) / 1024 ** 2;
  expect(found.warningCount).toBe(warningCount);
  expect(found.samplesWithWarnings).toBe(unlikely ? length : 0);
  expect(found.warnings.length).toBe(Math.min(warningCount, MAX_WARNINGS));
  // Others get a turn at least every 20 ms of computing.
  expect(turns).toBeGreaterThan((user + system) / 1000 / 20 / 2);
  expect(grownMegabytes).toBeLessThan(200);
});
