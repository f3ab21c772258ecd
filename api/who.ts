import { ProblemError } from './problem.ts';
import type { Person } from './schemas.ts';

export const PERSON_HEADER = 'Runtrue-Person';

const nobody = (message: string): ProblemError =>
  new ProblemError(401, 'Who is acting?', message, [{ field: PERSON_HEADER, message }]);

/**
 * Who acts, for the record. The one seam for sign-in: whatever proves a person's identity later replaces the
 * reading of the header here, and nothing else changes.
 */
export async function whoActs(
  headers: Headers,
  findPerson: (id: string) => Promise<Person | null>,
): Promise<Person> {
  const id = headers.get(PERSON_HEADER);
  if (id === null || id === '') {
    throw nobody(
      `Say who is acting: send the header ${PERSON_HEADER} with the id of a person of this plant.`,
    );
  }
  const person = await findPerson(id);
  if (person !== null) return person;
  const shown = JSON.stringify(id.slice(0, 64));
  throw nobody(
    `The header ${PERSON_HEADER} names ${shown}, but there is no such person; pick one of GET /api/plant or add them in Setup.`,
  );
}
