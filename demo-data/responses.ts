/** What the people of the demo plant make of an alarm, where something was really wrong. */
import type { AlarmDecision } from '../api/schemas.ts';
import { burr, hubBore, type StreamKey } from './generator/baselines.ts';
import { timeOf } from './generator/calendar.ts';
import { strokesAt } from './generator/generate-stream.ts';
import { effectsOn, type PlantedEvent } from './generator/planted-events.ts';

export interface Response {
  readonly decision: AlarmDecision;
  readonly decisionText: string;
  readonly cause: string;
  readonly action: string;
  /** Nobody knew the cause before. */
  readonly causeKnownAt?: number;
  /** The last decision fell later; until then this one held: keep running, and why. */
  readonly decidedAt?: number;
  readonly interim?: string;
  /** The parts made in the window were counted and set apart. */
  readonly quarantine?: string;
  /** It will come again with the next strokes, so it stays open until the end of the shift. */
  readonly closesWithShift?: true;
}

const onPlanted: Readonly<Record<string, Response>> = {
  E2: {
    decision: 'keep-running',
    decisionText: 'Widths are inside the drawing. Rims of this coil go on trolleys of their own.',
    cause: 'Coil R1-10 is thicker and springs back more.',
    action: 'Certificate of the coil compared; supplier informed. No change of the setting for one coil.',
  },
  E3: {
    decision: 'keep-running',
    decisionText: 'Beads are inside the drawing; leak test stays at every rim.',
    cause: 'Weld electrodes of R2 wearing.',
    action: 'Dressing booked with the authorised welding setter for day 26, 14:00.',
  },
  E4: {
    decision: 'keep-running',
    decisionText: 'C5, C6 and rim line 2 show nothing: gauge suspected, rims segregated until it is checked.',
    cause: 'The tape of R1 reads 0.45 mm long: check standard +0.46 at the start of shift on day 13.',
    action: 'Tape withdrawn; results of R1 since 14:00 on day 12 judged again with the spare tape.',
    causeKnownAt: timeOf(13, '06:20'),
  },
  E5: {
    decision: 'keep-running',
    decisionText: 'Cell goes on; the trolley is held.',
    cause: 'A Q12 wheel lay among the Q10 wheels.',
    action: 'Trolley and its neighbours searched; one Q12 wheel found and taken out.',
    quarantine: 'Trolley and neighbours held for the search, then released by quality.',
  },
  E10: {
    decision: 'keep-running',
    decisionText: 'Widths are inside the drawing; sampling stays hourly.',
    cause: 'Forming rolls of R2 wearing.',
    action: 'Roll change booked for day 32, 06:00.',
  },
  E12: {
    decision: 'keep-running',
    decisionText: 'Positions are inside the drawing; discs of lane A go on trolleys of their own.',
    cause: 'Pilot of lane A loose after the regrind.',
    action: 'Pilot tightened by the authorised die setter on day 19 after the sample of 13:30.',
    causeKnownAt: timeOf(19, '13:45'),
  },
  E13: {
    decision: 'stop-and-quarantine',
    decisionText:
      'Burr confirmed on fresh discs of lane B, lane A is as before. Press stopped by the normal control.',
    cause: 'Pierce insert of lane B chipped at about 10:10.',
    action:
      'New insert fitted by the authorised die setter; every fragment accounted for before the restart.',
    interim: 'Discs of lane B segregated from now on; authorised die setter and tool shop called.',
    decidedAt: timeOf(30, '13:00'),
    causeKnownAt: timeOf(30, '13:20'),
    quarantine:
      'Lane-B discs since the last good sample found in store and at the cells, set apart for sorting.',
  },
  E14: {
    decision: 'stop-and-quarantine',
    decisionText: 'Lane A thin on fresh discs too; no necking seen. Press stopped by the normal control.',
    cause: 'Lubrication nozzle of lane A blocked.',
    action: 'Nozzle cleared by the authorised die setter; draw radius inspected for necking.',
    interim:
      'Discs of lane A segregated from now on and inspected for necking; authorised die setter called.',
    decidedAt: timeOf(22, '19:35'),
    causeKnownAt: timeOf(22, '19:45'),
    quarantine: 'Lane-A discs since the last good sample set apart for inspection.',
  },
  E16: {
    decision: 'keep-running',
    decisionText: 'Rims feel warm; measured again after cooling.',
    cause: 'Rims were warm, about 45 °C, when they were measured.',
    action: 'Rims cool for half an hour before they are measured.',
  },
  E18: {
    decision: 'keep-running',
    decisionText: 'Offsets are inside the drawing.',
    cause: 'The setting had been moved after the sample before.',
    action: 'Adjustments are logged; question passed to the process engineer.',
  },
  E19: {
    decision: 'keep-running',
    decisionText: 'Runout is inside the drawing; five fresh rims measured.',
    cause: 'Clamp jaw of rim line 2 askew.',
    action: 'Jaw reset by the authorised setter at the end of day 34.',
    causeKnownAt: timeOf(34, '22:00'),
  },
};

const typingError: Response = {
  decision: 'keep-running',
  decisionText: 'The value was typed wrongly; the piece is as expected.',
  cause: 'Typing error, corrected by a new record.',
  action: 'Sample corrected with the value of the gauge.',
};

const wear: Response = {
  decision: 'keep-running',
  decisionText: 'Discs are inside the drawing; fresh discs of both lanes agree.',
  cause: 'Wear of the pierce punch with its strokes.',
  action: 'Strokes until the next regrind checked with the tool shop.',
  closesWithShift: true,
};

const sharpened: Response = {
  decision: 'keep-running',
  decisionText: 'The change is the one that was made.',
  cause: 'Tool newly sharpened: the limits still describe the worn one.',
  action: 'New limits asked of the process engineer.',
  closesWithShift: true,
};

export const nothingFound: Response = {
  decision: 'keep-running',
  decisionText: 'Same piece, check standard and fresh pieces are as before.',
  cause: 'Nothing found; within the expected rate of false alarms.',
  action: 'None: no adjustment without a cause.',
};

/** Of one standard deviation of a mean: from here on wear explains a signal better than chance. */
const WEAR_SHOWS = 1;

/** How far wear has moved the mean of a stream since its baseline, in standard deviations of a mean of three. */
function wearShift(
  key: StreamKey,
  at: number,
  baselineMiddle: number,
  events: readonly PlantedEvent[],
): number {
  const effects = effectsOn(key, events);
  const [before, now] = [strokesAt(baselineMiddle, effects), strokesAt(at, effects)];
  if (key.characteristic === 'C8') {
    const level = (strokes: number) => Math.log(burr.median + burr.perThousandStrokes * strokes);
    return ((level(now) - level(before)) / burr.logStandardDeviation) * Math.sqrt(3);
  }
  if (key.characteristic === 'C9')
    return ((hubBore.perThousandStrokes * (now - before)) / hubBore.standardDeviation) * Math.sqrt(3);
  return 0;
}

/** What people find behind an alarm that a sample raised. */
export function responseTo(
  key: StreamKey,
  at: number,
  typedWrongly: boolean,
  baselineMiddle: number | null,
  events: readonly PlantedEvent[],
): Response {
  if (typedWrongly) return typingError;
  const planted = events.find(
    (event) =>
      onPlanted[event.id] &&
      effectsOn(key, [event]).some(
        ({ kind, window }) => kind !== 'strokes-reset' && window.from <= at && at <= window.to,
      ),
  );
  if (planted) return onPlanted[planted.id]!;
  const shift = baselineMiddle === null ? 0 : wearShift(key, at, baselineMiddle, events);
  const growing = key.characteristic === 'C9' ? -shift : shift;
  if (growing > WEAR_SHOWS) return wear;
  if (growing < -WEAR_SHOWS) return sharpened;
  return nothingFound;
}
