/** The log of the demo plant: coils, changeovers, tools, adjustments and gauge checks, as events. */
import type { EventKind } from '../api/schemas.ts';
import { type StreamKey, streamId } from './generator/baselines.ts';
import {
  dayOfIndex,
  type Line,
  LOT_LENGTH,
  lotName,
  lotOf,
  modelOn,
  PRODUCTION_DAYS,
  SAMPLE_COUNT,
  SAMPLES_PER_DAY,
  sampleTime,
  timeOf,
} from './generator/calendar.ts';
import { checkStandardReadings, gaugeStudy, restartDiscs } from './generator/gauge-data.ts';
import type { GeneratedSample, GenerateOptions } from './generator/generate-stream.ts';
import { stationOf } from './plant.ts';

export interface LoggedEvent {
  readonly lineId: Line;
  readonly key: StreamKey | null;
  readonly kind: EventKind;
  readonly at: number;
  readonly modelId: string | null;
  readonly lot: string | null;
  readonly text: string;
}

const MINUTE = 60_000;
const lines: readonly Line[] = ['R1', 'R2', 'P1', 'A1', 'A2'];
const onLine = (
  lineId: Line,
  at: number,
  kind: EventKind,
  text: string,
  more: Partial<LoggedEvent> = {},
): LoggedEvent => ({ lineId, key: null, kind, at, modelId: null, lot: null, text, ...more });

/** Samples are due half an hour after a coil or a day begins. */
const beginningOf = (index: number): number => sampleTime(index) - 30 * MINUTE;

function coils(lineId: Line): LoggedEvent[] {
  const feeds = lineId === 'A1' || lineId === 'A2';
  return Array.from({ length: SAMPLE_COUNT / LOT_LENGTH }, (_, number) => {
    const index = number * LOT_LENGTH;
    const lot = lotName(lineId, lotOf(index));
    return onLine(
      lineId,
      beginningOf(index),
      'coil',
      feeds ? `Rims of coil ${lot} arrive.` : `Coil ${lot}.`,
      {
        lot,
      },
    );
  });
}

function changeovers(lineId: Line): LoggedEvent[] {
  let running: string | null = null;
  return Array.from({ length: PRODUCTION_DAYS }, (_, ordinal) => ordinal * SAMPLES_PER_DAY).flatMap(
    (index) => {
      const modelId = modelOn(lineId, dayOfIndex(index));
      if (modelId === running) return [];
      running = modelId;
      return [onLine(lineId, beginningOf(index), 'changeover', `Runs ${modelId} from now on.`, { modelId })];
    },
  );
}

const lane = (place: 'A' | 'B', characteristic: StreamKey['characteristic']): Partial<LoggedEvent> => ({
  key: { characteristic, place },
});

/** What was done to tools and rolls; the effects are those of the planted events. */
const tools: readonly LoggedEvent[] = [
  onLine('P1', timeOf(18, '06:00'), 'regrind', 'Pierce punches of both lanes reground by the tool shop.'),
  onLine('P1', timeOf(19, '13:35'), 'adjustment', 'Pilot of lane A tightened by the authorised die setter.'),
  onLine(
    'R2',
    timeOf(26, '14:00'),
    'tool change',
    'Weld electrodes dressed by the authorised welding setter.',
  ),
  onLine(
    'P1',
    timeOf(30, '13:05'),
    'tool change',
    'New pierce insert in lane B, fitted by the authorised die setter.',
    lane('B', 'C8'),
  ),
  onLine('R2', timeOf(32, '06:00'), 'tool change', 'Forming rolls changed by the authorised setter.'),
  // Moves nothing; its first piece still waits at the demo's present.
  onLine('R2', timeOf(41, '19:05'), 'tool change', 'Sizing rolls changed by the authorised setter.'),
  onLine(
    'P1',
    timeOf(22, '19:42'),
    'note',
    'Lubrication nozzle of lane A found blocked, and cleared.',
    lane('A', 'C11'),
  ),
  onLine('R2', timeOf(36, '14:00'), 'note', 'Rims were measured warm, about 45 °C, since 06:30.', {
    key: { characteristic: 'C4', place: 'R2' },
  }),
  onLine(
    'R2',
    timeOf(30, '15:00'),
    'note',
    'Asked: limits of the rim width from days 27 to 30. Not done: the process had shifted by then.',
    { key: { characteristic: 'C5', place: 'R2' } },
  ),
];

function gaugeChecks(key: StreamKey, lineId: Line, options: GenerateOptions): LoggedEvent[] {
  return checkStandardReadings(key, options).flatMap(({ at, reading }) =>
    reading === null
      ? []
      : [
          onLine(
            lineId,
            at,
            'gauge check',
            `Check standard of the tape: ${reading < 0 ? '−' : '+'}${Math.abs(reading).toFixed(2)} mm.`,
            { key },
          ),
        ],
  );
}

/** Coordinates and study readings have no place of their own yet, so the log carries them as text. */
function studies(options: GenerateOptions): LoggedEvent[] {
  const study = gaugeStudy(options);
  const people = [...new Set(study.map(({ person }) => person))];
  const texts = people.map((person) => {
    const parts = [...new Set(study.map(({ part }) => part))];
    const rows = parts.map((part) =>
      study
        .filter((reading) => reading.part === part && reading.person === person)
        .map(({ value }) => value.toFixed(2))
        .join(' '),
    );
    return `Tape study, person ${person + 1} of ${people.length}, readings in mm, rim by rim: ${rows.join('; ')}.`;
  });
  const tape: StreamKey = { characteristic: 'C4', place: 'R1' };
  const restart = (['A', 'B'] as const).map((place) => {
    const key: StreamKey = { characteristic: 'C10', place };
    const discs = restartDiscs(key, options).map((holes) =>
      holes.map(({ x, y }) => `${x.toFixed(3)} ${y.toFixed(3)}`).join(', '),
    );
    return onLine(
      'P1',
      timeOf(18, '06:10'),
      'note',
      `Restart discs of lane ${place}, x and y of each hole from its true place in mm: ${discs.join('; ')}.`,
      { key },
    );
  });
  return [
    ...texts.map((text) => onLine('R1', timeOf(2, '10:00'), 'gauge check', text, { key: tape })),
    ...restart,
  ];
}

/** Where a setter moved the machine after a sample. */
function adjustments(key: StreamKey, lineId: Line, samples: readonly GeneratedSample[]): LoggedEvent[] {
  return samples.flatMap(({ adjustment, takenAt }) =>
    adjustment === null || adjustment === 0
      ? []
      : [
          onLine(
            lineId,
            takenAt + 10 * MINUTE,
            'adjustment',
            `Offset moved by ${adjustment < 0 ? '−' : '+'}${Math.abs(adjustment).toFixed(2)} mm by the setter.`,
            { key },
          ),
        ],
  );
}

/** The whole log, oldest first. */
export function eventLog(
  options: GenerateOptions,
  streams: ReadonlyMap<string, readonly GeneratedSample[]>,
): readonly LoggedEvent[] {
  const offsetA2: StreamKey = { characteristic: 'C12', place: 'A2' };
  return [
    ...lines.flatMap(changeovers),
    ...lines.flatMap(coils),
    ...tools,
    ...gaugeChecks({ characteristic: 'C4', place: 'R1' }, 'R1', options),
    ...gaugeChecks({ characteristic: 'C4', place: 'R2' }, 'R2', options),
    ...studies(options),
    ...adjustments(offsetA2, 'A2', streams.get(streamId(offsetA2)) ?? []),
  ].sort((a, b) => a.at - b.at);
}

export const stationOfEvent = ({ key }: LoggedEvent): string | null => (key === null ? null : stationOf(key));
