import { ProblemError } from './problem.ts';
import type { Person } from './schemas.ts';

export const PERSON_HEADER = 'Runtrue-Person';

const nobody = (message: string): ProblemError =>
  new ProblemError(401, 'Who is acting?', message, [{ field: PERSON_HEADER, message }]);

/**
 * Who acts, for the record. The one seam for sign-in: whatever proves a person's identity later replaces the
 * header's bare id here, and nothing else changes.
 *
 * @throws ProblemError 401 that names the header and the fix.
 */
export function personNamed(id: string | null, people: readonly Person[]): Person {
  if (id === null || id === '') {
    throw nobody(
      `Say who is acting: send the header ${PERSON_HEADER} with the id of a person; GET /api/plant lists them.`,
    );
  }
  const person = people.find((candidate) => candidate.id === id);
  if (person !== undefined) return person;
  throw nobody(
    `The header ${PERSON_HEADER} names ${JSON.stringify(id.slice(0, 64))}, but there is no such person; ` +
      'send the id of one that GET /api/plant lists, or add the person first.',
  );
}
