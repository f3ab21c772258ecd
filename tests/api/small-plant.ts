import type { EndpointKey, Sent } from '../../api/contract.ts';

/** Calls an endpoint; throws where it is refused. */
interface Caller {
  call<K extends EndpointKey>(key: K, sent?: Sent<K>, person?: string | null): Promise<unknown>;
}

const hours = { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5] };
const reactionPlan = {
  steps: ['Measure the same wheel again.', 'Call the setter.'],
  cautions: ['Only authorised people open a guard.'],
};

/** Quality signs what needs two signatures. */
export const secondSignature = { personId: 'quinn' };

/** One rim line with a charted width, a charted runout without limits, and welds that are counted. */
export async function setUpPlant({ call }: Caller): Promise<void> {
  await call(
    'PUT /api/people/{id}',
    {
      params: { id: 'kim' },
      body: { record: { id: 'kim', name: 'Kim', role: 'engineer' } },
    },
    null,
  );
  await call('PUT /api/people/{id}', {
    params: { id: 'quinn' },
    body: { record: { id: 'quinn', name: 'Quinn', role: 'quality-manager' } },
  });
  await call('PUT /api/plant', { body: { record: { name: 'Test works', utcOffsetMinutes: 120 } } });
  await call('PUT /api/lines/{id}', {
    params: { id: 'R1' },
    body: { record: { id: 'R1', name: 'Rim line 1', partsPerHour: 310, runningHours: hours } },
  });
  await call('PUT /api/stations/{id}', {
    params: { id: 'R1-end' },
    body: { record: { id: 'R1-end', lineId: 'R1', name: 'End of rim line 1' } },
  });
  for (const id of ['Q10', 'Q12']) {
    await call('PUT /api/models/{id}', { params: { id }, body: { record: { id, name: `Wheel ${id}` } } });
  }
  const characteristics = [
    { id: 'C5', name: 'Rim width', kind: 'variable', lowerNaturalBound: null },
    { id: 'C6', name: 'Runout', kind: 'variable', lowerNaturalBound: 0 },
    { id: 'C3', name: 'Weld faults', kind: 'count', lowerNaturalBound: null },
  ] as const;
  for (const { id, name, kind, lowerNaturalBound } of characteristics) {
    await call('PUT /api/characteristics/{id}', {
      params: { id },
      body: {
        record: {
          id,
          name,
          kind,
          unit: kind === 'count' ? '1' : 'mm',
          decimals: kind === 'count' ? 0 : 2,
          gauge: 'caliper',
          lowerNaturalBound,
          upperNaturalBound: null,
        },
      },
    });
  }
  for (const [modelId, nominal] of [
    ['Q10', 127],
    ['Q12', 152.4],
  ] as const) {
    await call('PUT /api/specifications/{characteristicId}/{modelId}', {
      params: { characteristicId: 'C5', modelId },
      body: {
        record: {
          characteristicId: 'C5',
          modelId,
          nominal,
          lowerSpecificationLimit: nominal - 1,
          upperSpecificationLimit: nominal + 1,
        },
      },
    });
  }
  for (const { id } of characteristics) {
    const streamId = `${id}-R1`;
    await call('PUT /api/streams/{id}', {
      params: { id: streamId },
      body: {
        record: { id: streamId, characteristicId: id, stationId: 'R1-end', name: 'Line 1', kind: 'roll set' },
      },
    });
    const charted = id !== 'C3';
    await call('PUT /api/plans/{id}', {
      params: { id: streamId },
      body: {
        record: {
          streamId,
          sampleSize: charted ? 5 : 50,
          firstSampleAt: '06:30',
          intervalMinutes: 60,
          chart: charted ? 'mean-range' : 'none',
          locationRules: charted ? ['one-beyond-three-sigma', 'run-on-one-side'] : [],
          spreadRules: charted ? ['one-beyond-three-sigma'] : [],
          meanLimitsFrom: 'within-subgroup',
          remark: charted ? '' : 'Counts are stored; their chart comes later.',
          raisesAlarms: charted,
          reactionPlan,
        },
      },
    });
  }
}

/** Rim width of Q10 is watched against a mean of 127 mm from the beginning of the day before. */
export async function setLimits({ call }: Caller): Promise<void> {
  await call('POST /api/limits', {
    body: {
      streamId: 'C5-R1',
      modelId: 'Q10',
      status: 'approved',
      source: { kind: 'given', mean: 127, withinSubgroupStandardDeviation: 0.18 },
      effectiveFrom: '2025-09-02T00:00:00+02:00',
      reason: 'Machine study of August',
      secondSignature,
    },
  });
}
