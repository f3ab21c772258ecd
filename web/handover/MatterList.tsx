import type { OpenMatter } from '../../api/schemas.ts';
import { severityWords } from '../floor/words.ts';
import { formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';

const time = (at: string): string => formatDateTime(at, utcOffsetMinutes.value);

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
        return (
          <li key={key} class={severity === null ? '' : `matter-${severity}`}>
            <h3>
              {isNew(matter) && <span class="matter-new">New </span>}
              {alarmId === null ? (
                title
              ) : (
                <a href={`/floor?alarm=${alarmId}`}>
                  {title}
                  <span class="visually-hidden">, alarm {alarmId}</span>
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
