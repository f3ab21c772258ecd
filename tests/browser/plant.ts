/** A small plant, set up through the API in the order that its references ask for. */
export async function setUpPlant(
  address: string,
  records: readonly [path: string, record: object][],
): Promise<void> {
  for (const [path, record] of records) {
    const response = await fetch(`${address}/api/${path}`, {
      method: 'PUT',
      headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'engineer' },
      body: JSON.stringify({ record }),
    });
    if (!response.ok) throw new Error(`${path}: ${response.status} ${await response.text()}`);
  }
}

/** One line that runs day and night, with one bench where gear diameters are measured. */
export const gearPlant = (specification: {
  nominal: number;
  lowerSpecificationLimit: number;
  upperSpecificationLimit: number;
}): readonly [string, object][] => [
  ['people/engineer', { id: 'engineer', name: 'Engineer', role: 'engineer' }],
  ['people/tech', { id: 'tech', name: 'Tech', role: 'tech' }],
  ['people/supervisor', { id: 'supervisor', name: 'Supervisor', role: 'supervisor' }],
  ['people/quality', { id: 'quality', name: 'Quality manager', role: 'quality-manager' }],
  [
    'lines/L1',
    {
      id: 'L1',
      name: 'Line 1',
      partsPerHour: 310,
      runningHours: { start: '00:00', end: '24:00', weekdays: [1, 2, 3, 4, 5, 6, 7] },
    },
  ],
  ['stations/B1', { id: 'B1', lineId: 'L1', name: 'Bench 1' }],
  ['models/G1', { id: 'G1', name: 'Gear' }],
  [
    'characteristics/diameter',
    {
      id: 'diameter',
      name: 'Gear diameter',
      kind: 'variable',
      unit: '1',
      decimals: 3,
      gauge: 'not named by the source',
      lowerNaturalBound: 0,
      upperNaturalBound: null,
    },
  ],
  ['specifications/diameter/G1', { characteristicId: 'diameter', modelId: 'G1', ...specification }],
  [
    'streams/diameter-1',
    { id: 'diameter-1', characteristicId: 'diameter', stationId: 'B1', name: 'head 1', kind: 'other' },
  ],
  [
    'plans/diameter-1',
    {
      streamId: 'diameter-1',
      sampleSize: 10,
      firstSampleAt: '00:00',
      intervalMinutes: 60,
      chart: 'mean-range',
      locationRules: ['one-beyond-three-sigma'],
      spreadRules: ['one-beyond-three-sigma'],
      meanLimitsFrom: 'within-subgroup',
      remark: '',
      raisesAlarms: true,
      reactionPlan: {
        steps: ['Measure the same piece again.', 'Call the supervisor and segregate.'],
        cautions: ['Never reach into the running machine.'],
      },
    },
  ],
];
