import { useEffect, useRef } from 'preact/hooks';
import { Refusal } from '../client.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';

export const isUnseen = (error: Error | null): boolean =>
  error instanceof Refusal && error.problem.errors.some(({ field }) => field === 'seen');

/** Something came up while somebody signed: said at the list where it stands, and brought into sight there. */
export function UnseenNotice({ error }: { error: Error | null }) {
  const place = useRef<HTMLDivElement>(null);
  const unseen = isUnseen(error);
  useEffect(() => {
    if (unseen) place.current?.focus();
  }, [error]);
  return unseen ? (
    <div ref={place} tabIndex={-1}>
      <ProblemNotice error={error} />
    </div>
  ) : null;
}
