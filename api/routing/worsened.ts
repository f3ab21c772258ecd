/**
 * When a shelved alarm is worse than when it was shelved, so that it must call again. The one place that says what
 * "worse" means:
 *
 * 1. It is more severe: safety before product before process.
 * 2. A signal of another kind has joined it: on the other chart, or to the other side.
 * 3. A sample is at least twice as bad as any that the person who shelved it could know: twice the share of pieces
 *    outside the drawing, a piece twice as far outside it, or a point twice as far from its center line (and from
 *    the center line twice as far as its control limit).
 *
 * Samples of a process that stays where it is differ by chance, and that must not count: so "twice", not "more". After
 * one mean on its control limit about one mean in sixty lies twice as far out by chance (their difference has √2
 * standard errors, and 3 are asked for).
 */
import type { PlantModel, SampleAnswer, Severity } from '../schemas.ts';
import type { AlarmRow, MeasuredValues, StoreReads } from '../store/store.ts';
import { isWorse } from './severity.ts';
import type { ShelvedRow } from './shelf.ts';

/** More of an alarm's samples are not looked at; they are its newest. */
const MOST_SAMPLES = 200;
const TIMES = 2;

type Measure = 'share' | 'distance' | 'location' | 'spread';
type Badness = Readonly<Record<Measure, number>>;

const words: Record<Measure, string> = {
  share: 'a sample has at least twice the share of pieces outside the drawing',
  distance: 'a piece is at least twice as far outside the drawing',
  location: 'the location of a sample is at least twice as far from its center line',
  spread: 'the spread of a sample is at least twice as far from its center line',
};
/** What counts as no worse in any case: on the charts, all up to the control limit. */
const floors: Badness = { share: 0, distance: 0, location: 1, spread: 1 };
const measures = Object.keys(words) as Measure[];

/** One sentence that says in what it has worsened; null: it has not. */
export async function worsened(
  store: StoreReads,
  plant: PlantModel,
  alarm: AlarmRow,
  severity: { readonly before: Severity; readonly now: Severity },
  shelved: ShelvedRow,
): Promise<string | null> {
  const because = (what: string) => `It has become worse than when it was shelved: ${what}.`;
  if (isWorse(severity.now, severity.before)) return because('it is more severe');
  const kinds = await signalKinds(store, alarm.id, shelved.since);
  if ([...kinds.after].some((kind) => !kinds.before.has(kind))) {
    return because('a signal of another kind has joined it');
  }
  const { before, after } = await badnessOf(store, plant, alarm, shelved.since);
  const worse = measures.find(
    (measure) => after[measure] > 0 && after[measure] >= TIMES * Math.max(before[measure], floors[measure]),
  );
  return worse === undefined ? null : because(`${words[worse]} than any before`);
}

async function signalKinds(store: StoreReads, alarmId: number, since: number) {
  const rows = await store.sql.all<{ chart: string; side: string; at: number; withdrawnAt: number | null }>(
    'select chart, side, at, withdrawn_at as "withdrawnAt" from signals where alarm_id = ?',
    alarmId,
  );
  const of = (signals: typeof rows) => new Set(signals.map(({ chart, side }) => `${chart} ${side}`));
  return {
    before: of(rows.filter(({ at }) => at <= since)),
    after: of(rows.filter(({ at, withdrawnAt }) => at > since && withdrawnAt === null)),
  };
}

/** The worst of the alarm's samples, as they read when it was shelved, and as those read that came or changed since. */
async function badnessOf(store: StoreReads, plant: PlantModel, alarm: AlarmRow, since: number) {
  const samples = await store.sql.all<{ no: number; isOutside: number }>(
    `select no, max("isOutside") as "isOutside" from (
       select sample_no as no, 0 as "isOutside" from signals where alarm_id = ? and withdrawn_at is null
       union all select sample_no as no, 1 as "isOutside" from outside_samples where alarm_id = ?
     ) as of_alarm group by no order by no desc limit ?`,
    alarm.id,
    alarm.id,
    MOST_SAMPLES,
  );
  const ids = await store.sampleIds(samples.map(({ no }) => no));
  const before: Badness[] = [];
  const after: Badness[] = [];
  for (const [index, id] of ids.entries()) {
    const revisions = await store.revisions(id);
    const newest = revisions.at(-1);
    const [first, last] = [await store.acceptedAnswer(id), await store.newestAnswer(id)];
    if (newest === undefined || first === null || last === null) continue;
    const isOutside = samples[index]!.isOutside === 1;
    const badness = (values: MeasuredValues, answer: SampleAnswer) => ({
      ...onCharts(answer),
      ...(isOutside ? outsideDrawing(plant, alarm, values) : { share: 0, distance: 0 }),
    });
    const known = revisions.filter(({ at }) => at <= since).at(-1);
    if (known !== undefined) before.push(badness(known, known === newest ? last : first));
    if (newest.at > since) after.push(badness(newest, last));
  }
  return { before: worst(before), after: worst(after) };
}

const worst = (list: readonly Badness[]): Badness =>
  Object.fromEntries(
    measures.map((measure) => [measure, Math.max(0, ...list.map((one) => one[measure]))]),
  ) as unknown as Badness;

/** How far each point lies from its center line; 1: on its control limit. */
function onCharts({ location, spread }: SampleAnswer): Pick<Badness, 'location' | 'spread'> {
  const excursion = ({ value, limits }: SampleAnswer['location']): number => {
    if (value === null || limits === null) return 0;
    const { centerLine, lowerControlLimit, upperControlLimit } = limits;
    const limit = value > centerLine ? upperControlLimit : lowerControlLimit;
    const width = limit === null ? 0 : Math.abs(limit - centerLine);
    return width === 0 ? 0 : Math.abs(value - centerLine) / width;
  };
  return { location: excursion(location), spread: excursion(spread) };
}

function outsideDrawing(
  { streams, specifications }: PlantModel,
  { streamId, modelId }: AlarmRow,
  { count, readings, outsideSpecification, size }: MeasuredValues,
): Pick<Badness, 'share' | 'distance'> {
  if (count !== null) return { share: count.nonconforming / count.inspected, distance: 0 };
  const characteristicId = streams.find(({ id }) => id === streamId)?.characteristicId;
  const specification = specifications.find(
    (one) => one.characteristicId === characteristicId && one.modelId === modelId,
  );
  const beyond = outsideSpecification.map((position) => {
    const value = readings?.[position]?.value ?? null;
    if (value === null) return 0;
    const { lowerSpecificationLimit: lower = null, upperSpecificationLimit: upper = null } =
      specification ?? {};
    return Math.max(0, lower === null ? 0 : lower - value, upper === null ? 0 : value - upper);
  });
  return { share: size === 0 ? 0 : outsideSpecification.length / size, distance: Math.max(0, ...beyond) };
}
