import type { OpenMatter } from '../../api/schemas.ts';
import { severityWords } from '../floor/words.ts';
import { formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';

const time = (at: string): string => formatDateTime(at, utcOffsetMinutes.value);

/** Where it is worked on; null where there is no one place. */
const addressOf = ({ alarmId, restartId }: OpenMatter): string | null =>
  alarmId !== null
    ? `/floor?alarm=${alarmId}`
    : restartId !== undefined
      ? `/floor?restart=${encodeURIComponent(restartId)}`
      : null;

/** Open things, one below the other: what, where, who has it, since when, and what to do next. */
export function MatterList({
  matters,
  isNew = () => false,
}: {
  matters: readonly OpenMatter[];
  isNew?: (matter: OpenMatter) => boolean;
}) {
  return (
    <ul class="matters">
      {matters.map((matter) => {
        const { key, title, where, severity, who, since, until, sentence, next, alarmId } = matter;
        const address = addressOf(matter);
        return (
          <li key={key} class={severity === null ? '' : `matter-${severity}`}>
            <h3>
              {isNew(matter) && <span class="matter-new">New </span>}
              {address === null ? (
                title
              ) : (
                <a href={address}>
                  {title}
                  {alarmId !== null && <span class="visually-hidden">, alarm {alarmId}</span>}
                </a>
              )}
            </h3>
            <p>
              {severity !== null && <strong>{severityWords[severity]}. </strong>}
              {sentence}
            </p>
            <p class="matter-facts">
              {[
                where,
                alarmId === null ? '' : `alarm ${alarmId}`,
                since === null ? '' : `since ${time(since)}`,
                until === null ? '' : `until ${time(until)}`,
                who === null ? (severity === null ? '' : 'nobody has it') : who,
              ]
                .filter((fact) => fact !== '')
                .join(' · ')}
            </p>
            <p>
              <span aria-hidden="true">→ </span>
              {next}
            </p>
          </li>
        );
      })}
    </ul>
  );
}
