import type { OpenMatter, OpenWork } from '../../api/schemas.ts';
import { MatterList } from './MatterList.tsx';
import { sectionWords } from './matter-words.ts';

/** Everything that is open, and in one line what is not: an empty place could also be forgotten. */
export function OpenWorkSheet({ open, isNew }: { open: OpenWork; isNew?: (matter: OpenMatter) => boolean }) {
  const full = open.sections.filter(({ matters }) => matters.length > 0);
  const empty = open.sections.filter(({ matters }) => matters.length === 0);
  const none = empty.map(({ of }) => sectionWords[of].none).join(', ');
  return (
    <>
      <div class="open-work">
        {full.map(({ of, matters }) => (
          <section key={of} aria-label={sectionWords[of].title}>
            <h2>
              {sectionWords[of].title} <span class="matter-count">{matters.length}</span>
            </h2>
            <MatterList matters={matters} {...(isNew && { isNew })} />
          </section>
        ))}
      </div>
      {none !== '' && (
        <p>
          <span aria-hidden="true">✓ </span>
          {none[0]!.toUpperCase()}
          {none.slice(1)}.
        </p>
      )}
    </>
  );
}
