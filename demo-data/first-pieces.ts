/** The first piece after each change of a set-up: measured with the samples of the hour, stated, and approved. */
import type { Monitoring } from '../api/monitoring/monitoring.ts';
import { restartDetail } from '../api/restarts/restart-payload.ts';
import type { RestartDetail } from '../api/schemas.ts';
import type { Store } from '../api/store/store.ts';
import type { Agenda } from './agenda.ts';
import { keyedUuid } from './generator/random.ts';
import { engineer, techAt, whenManned } from './shifts.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
/** The samples of half past are in by then; a line that waits is looked at first. */
const LOOKED_AT = 33 * MINUTE;
/** How long the engineer takes to come. */
const WALK = 4 * MINUTE;
/** From the beginning of a day, as whenManned gives it, to the first look. */
const FIRST_LOOK = 23 * MINUTE;

interface FirstPieceParts {
  readonly monitoring: Monitoring;
  readonly store: Store;
  readonly agenda: Agenda;
  readonly seed: number;
  readonly now: () => number;
}

export interface FirstPieces {
  /** To be told of every change of a set-up, with its place among the events. */
  onChange(restartId: string, index: number): void;
}

const isBad = ({ results }: RestartDetail): boolean =>
  results.some(({ state }) => state === 'outside' || state === 'signal');
const isMeasured = ({ results }: RestartDetail): boolean =>
  results.every(({ state }) => state === 'good' || state === 'outside' || state === 'signal');

export function createFirstPieces({ monitoring, store, agenda, seed, now }: FirstPieceParts): FirstPieces {
  const nextLook = (): number => {
    const look = Math.floor((now() - LOOKED_AT) / HOUR + 1) * HOUR + LOOKED_AT;
    return whenManned(look) === look ? look : whenManned(look) + FIRST_LOOK;
  };

  function watch(restartId: string, index: number): void {
    let statements = 0;
    let refusals = 0;
    const newId = (): string =>
      keyedUuid({ seed, purpose: 'statementId', characteristic: 0, place: statements++, index });
    const later = (): void => agenda.add(nextLook(), look);

    async function look(): Promise<void> {
      const detail = await restartDetail(store, restartId, now());
      if (detail.restart.state === 'overtaken') return;
      // What is bad is refused once, so that everybody knows why; from then on it is measured until it is good.
      if (!isMeasured(detail) || (isBad(detail) && refusals > 0)) return later();
      await monitoring.stateFirstPiece(restartId, { id: newId() }, techAt(now()));
      agenda.add(now() + WALK, decide);
    }

    async function decide(): Promise<void> {
      const detail = await restartDetail(store, restartId, now());
      if (detail.restart.state === 'overtaken') return;
      const bad = detail.results.find(({ state }) => state === 'outside' || state === 'signal');
      if (bad === undefined) {
        await monitoring.decideRestart(restartId, { id: newId(), decision: 'approved' }, engineer);
        return;
      }
      refusals += 1;
      const text = bad.sentence;
      await monitoring.decideRestart(restartId, { id: newId(), decision: 'refused', text }, engineer);
      later();
    }

    later();
  }

  return { onChange: watch };
}
