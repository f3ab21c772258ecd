import { signal } from '@preact/signals';
import type { RestartDetail } from '../../api/schemas.ts';

/** Streams that a first piece of the line shown still waits for: they are due now, whatever the sampling plan says. */
export const firstPieceDue = signal<ReadonlySet<string>>(new Set());

const undone: ReadonlySet<string> = new Set(['not-measured', 'too-few', 'in-doubt']);

/** Of the restarts of a line, whichever of them asks for it. */
export const dueStreams = (details: readonly Pick<RestartDetail, 'results'>[]): ReadonlySet<string> =>
  new Set(
    details.flatMap(({ results }) =>
      results.filter(({ state }) => undone.has(state)).map(({ streamId }) => streamId),
    ),
  );
